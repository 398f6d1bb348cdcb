//! What is due: parts by their limits with a forecast from the services that are on record, proof tests and calibrations by date, exports, the flash.
//!
//! Promises: warned from 80 % of a limit on, due from 100 % on, reckoned in whole numbers; what is not known is said to be unknown and never good.

use serde::Serialize;
use valvewright_core::kept::{Kept, Limits, OWED, Proof};
use valvewright_core::record::event::What;
use valvewright_core::record::meter::Meter;
use valvewright_core::record::service::Mass;

use super::opened::{Shop, when};
use super::{Trouble, events, history};

/// From which share of a limit on to warn, percent (own choice).
const SOON: u64 = 80;
/// How old a calibration of a scale may be, s: a year (common practice, no source).
pub const CALIBRATION: u32 = 365 * 86_400;
/// A proof test whose last one is not on record is warned of so long before its date, s: thirty days (own choice).
const BEFORE: u32 = 30 * 86_400;
/// Erases that a page of the flash is rated for (a common rating, from memory of data sheets).
pub const RATING: u32 = 10_000;

/// How it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    /// Below 80 % of its limit.
    Good,
    /// From 80 % on.
    Soon,
    /// From 100 % on.
    Due,
    /// Nothing is on record that would tell.
    Unknown,
}

impl Level {
    /// The word for people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Soon => "due soon",
            Self::Due => "DUE",
            Self::Unknown => "not known",
        }
    }

    /// Of so much used of a limit.
    pub const fn of(used: u64, limit: u64) -> Self {
        if used >= limit {
            Self::Due
        } else if used.saturating_mul(100) >= limit.saturating_mul(SOON) {
            Self::Soon
        } else {
            Self::Good
        }
    }
}

/// A line of the list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Item {
    /// For programs.
    pub id: String,
    /// What.
    pub name: String,
    /// How it stands.
    pub level: Level,
    /// Share of the limit that is used; none where it is not known.
    pub share: Option<f64>,
    /// Used of the limit, in words.
    pub used: String,
    /// What is left, in words.
    pub left: String,
}

/// Mean consumption of a service, by the services on record.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Mean {
    /// How many services it is made of.
    pub services: u32,
    /// Refrigerant recovered, g.
    pub recovered_g: Option<f64>,
    /// Running time of P-1, s.
    pub pump_s: Option<f64>,
}

/// All that is looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// What the controller keeps; none where it is lost.
    pub kept: Option<Kept>,
    /// KT-1; 0 where it is not set.
    pub clock: u32,
    /// Of a service.
    pub mean: Mean,
    /// When each proof test was made last, in the order of [`Proof::ALL`].
    pub proved: [Option<u32>; Proof::ALL.len()],
    /// When each scale was adjusted last, in the order of the bridges.
    pub calibrated: [Option<u32>; 4],
    /// Services that were not exported, and room for them.
    pub exports: Option<(u32, u32)>,
    /// Most erases of a page.
    pub wear: u32,
}

/// What a store says.
///
/// # Errors
/// The store can't be believed.
pub fn facts(shop: &Shop) -> Result<Facts, Trouble> {
    let holding = history::holding(shop)?;
    let (mut proved, mut calibrated) = ([None; Proof::ALL.len()], [None; 4]);
    for event in events::events(shop)?.into_iter().filter_map(|(_, event)| event) {
        match event.what {
            What::Proved(which, _) => proved[which as usize] = Some(event.clock),
            What::Calibrated(scale, _) => {
                if let Some(place) = calibrated.get_mut(usize::from(scale)) {
                    *place = Some(event.clock);
                }
            }
            _ => {}
        }
    }
    let services: Vec<_> = history::services(shop)?.into_iter().filter_map(|(_, one)| one).collect();
    let masses: Vec<f64> = services.iter().filter_map(|one| history::grams(one, Mass::Recovered)).collect();
    let mean = |all: &[f64]| (!all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64);
    let meter = shop.look(|all| all.meter()).map(|item| item.or(Meter::default())).unwrap_or_default();
    let made = holding.next.saturating_sub(1);
    let pump_s = (made > 0 && !meter.1).then(|| f64::from(meter.0.pump) / f64::from(made));
    let open = holding.next.saturating_sub(holding.exported.max(holding.oldest.saturating_sub(1)) + 1);
    let health = shop.look(|all| all.health());
    Ok(Facts {
        kept: shop.kept().cloned(),
        clock: shop.clock(),
        mean: Mean { services: services.len() as u32, recovered_g: mean(&masses), pump_s },
        proved,
        calibrated,
        exports: Some((open, holding.capacity)),
        wear: health.wear.max(health.log_wear),
    })
}

/// What is due, in a fixed order.
pub fn items(of: &Facts) -> Vec<Item> {
    let mut all = vec![drier(of), pump_oil(of)];
    all.extend(Proof::ALL.into_iter().map(|proof| proof_test(of, proof)));
    all.extend((0..4).map(|scale| calibration(of, scale)));
    all.extend(of.exports.map(|(open, room)| exports(open, room)));
    all.push(flash(of.wear));
    all
}

/// The worst of them.
pub fn worst(items: &[Item]) -> Level {
    let has = |level| items.iter().any(|one| one.level == level);
    [Level::Due, Level::Soon, Level::Unknown].into_iter().find(|level| has(*level)).unwrap_or(Level::Good)
}

fn item(id: &str, name: &str, used: u64, limit: u64, words: String, left: String) -> Item {
    let share = Some(used as f64 / limit.max(1) as f64);
    Item { id: id.to_owned(), name: name.to_owned(), level: Level::of(used, limit), share, used: words, left }
}

fn unknown(id: &str, name: &str, why: &str) -> Item {
    let (used, left) = (why.to_owned(), String::new());
    Item { id: id.to_owned(), name: name.to_owned(), level: Level::Unknown, share: None, used, left }
}

/// How many more services, each using so much.
fn forecast(left: f64, each: Option<f64>, services: u32) -> String {
    match each.filter(|each| *each > 0.0) {
        _ if left <= 0.0 => "nothing is left".to_owned(),
        Some(each) => format!("about {} more services, by the mean of {services}", (left / each).floor()),
        None => "no forecast: no service on record used any".to_owned(),
    }
}

const LOST: &str = "the controller's state is lost: it counts as expired";

fn expired(id: &str, name: &str) -> Item {
    Item { level: Level::Due, ..unknown(id, name, LOST) }
}

fn drier(of: &Facts) -> Item {
    let (id, name) = ("filter_drier", "filter-drier F-1");
    let Some(kept) = &of.kept else { return expired(id, name) };
    let (used, limit) = (kept.drier.0.max(0), Limits::USUAL.drier.0);
    let kg = |mg: i32| f64::from(mg) * 1e-6;
    let left = forecast(kg(limit - used) * 1e3, of.mean.recovered_g, of.mean.services);
    let words = format!("{:.2} kg of {:.0} kg of refrigerant", kg(used), kg(limit));
    item(id, name, u64::from(used.unsigned_abs()), u64::from(limit.unsigned_abs()), words, left)
}

fn pump_oil(of: &Facts) -> Item {
    let (id, name) = ("pump_oil", "oil of the vacuum pump P-1");
    let Some(kept) = &of.kept else { return expired(id, name) };
    let (used, limit) = (kept.pump_oil, Limits::USUAL.pump_oil);
    let hours = |s: u32| f64::from(s) / 3_600.0;
    let left = forecast(f64::from(limit.saturating_sub(used)), of.mean.pump_s, of.mean.services);
    let words = format!("{:.2} h of {:.0} h of running", hours(used), hours(limit));
    item(id, name, u64::from(used), u64::from(limit), words, left)
}

/// Days, in words.
fn days(seconds: u32) -> String {
    match seconds / 86_400 {
        1 => "1 day".to_owned(),
        days => format!("{days} days"),
    }
}

fn proof_test(of: &Facts, proof: Proof) -> Item {
    let (id, name) = (events::proof(proof), format!("proof test: {}", events::proof(proof).replace('_', " ")));
    let Some(kept) = &of.kept else {
        return unknown(id, &name, "the controller's state is lost, and the date with it");
    };
    let due = kept.due[proof as usize];
    if due == 0 {
        return unknown(id, &name, "no date is set");
    }
    if due == OWED {
        return item(id, &name, 1, 1, "owed: pipes were opened, and it was not passed since".to_owned(), String::new());
    }
    if of.clock == 0 {
        return unknown(id, &name, &format!("due {}, and the station's clock is not set", when(due)));
    }
    let last = of.proved[proof as usize].filter(|last| *last != 0 && *last < due);
    let begun = last.unwrap_or_else(|| due.saturating_sub(BEFORE / (100 - SOON as u32) * 100));
    let left = match due.checked_sub(of.clock) {
        Some(left) if left > 0 => format!("{} left", days(left)),
        _ => format!("{} late", days(of.clock - due)),
    };
    let words = match last {
        Some(last) => format!("made {}, due {}", when(last), when(due)),
        None => format!("due {}; the last one is not on record", when(due)),
    };
    item(id, &name, u64::from(of.clock.saturating_sub(begun)), u64::from(due - begun), words, left)
}

fn calibration(of: &Facts, scale: u8) -> Item {
    let name = format!("calibration of {}", events::scale(scale));
    let id = format!("calibration_{}", events::scale(scale).to_lowercase().replace('-', "_"));
    let Some(last) = of.calibrated[usize::from(scale)] else {
        return unknown(&id, &name, "none is on record");
    };
    if of.clock == 0 || last == 0 {
        return unknown(&id, &name, "the station's clock was not set");
    }
    let age = of.clock.saturating_sub(last);
    let left = if age >= CALIBRATION { "to be made".to_owned() } else { format!("{} left", days(CALIBRATION - age)) };
    let words = format!("made {}, {} of {}", when(last), days(age), days(CALIBRATION));
    item(&id, &name, u64::from(age), u64::from(CALIBRATION), words, left)
}

fn exports(open: u32, room: u32) -> Item {
    let left = format!("{} more services before the next is refused", room.saturating_sub(open));
    let words = format!("{open} services were not exported, of {room} that are kept for certain");
    item("export", "export of services", u64::from(open), u64::from(room), words, left)
}

fn flash(wear: u32) -> Item {
    let left = format!("{} more", RATING.saturating_sub(wear));
    let words = format!("{wear} erases of {RATING} of its most worn page");
    item("flash", "flash of the store", u64::from(wear), u64::from(RATING), words, left)
}

/// For a terminal.
pub fn text(items: &[Item]) -> String {
    let line = |one: &Item| {
        let share = one.share.map_or_else(|| "   -".to_owned(), |share| format!("{:>4.0}", (share * 100.0).floor()));
        let bar = one.share.map_or(0, |share| (share * 20.0).clamp(0.0, 20.0) as usize);
        let left = if one.left.is_empty() { String::new() } else { format!("\n{:34}{}", "", one.left) };
        format!(
            "{:<9} {share} % [{:<20}]  {}\n{:34}{}{left}\n",
            one.level.word(),
            "#".repeat(bar),
            one.name,
            "",
            one.used
        )
    };
    items.iter().map(line).collect::<String>().replace("   - %", "     -")
}
