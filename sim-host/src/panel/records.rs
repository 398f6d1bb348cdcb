//! What the record store of the run holds at this moment, for a page: counters, calibrations, codes, services, events, what is due.
//!
//! Promises: it is read from a copy of the part as a start would read it, not from the controller's mind and not from the plant; what cannot be
//! believed is said to be lost. Looking changes nothing.

use serde_json::{Value, json};
use valvewright_core::frame::Scale;
use valvewright_core::kept::{Hoses, Kept};
use valvewright_core::record::event::What;
use valvewright_core::record::meter::Meter;
use valvewright_core::record::workshop::Item;
use valvewright_core::token::{Kind, Used};

use super::session::Session;
use crate::run::Simulation;
use crate::shop::history::{self, Entry};
use crate::shop::opened::{Shop, when};
use crate::shop::{Trouble, due, events};

/// Most services and events that are shown of each, the newest.
const MOST: usize = 60;
/// Serial numbers of a kind of code that are shown, the newest.
const SERIALS: usize = 8;

/// What changes when the store does: a page asks anew when it has.
pub fn stamp(run: &Simulation) -> u64 {
    run.store().chip().counts().steps
}

impl Session {
    /// What the record store holds, as JSON.
    ///
    /// # Errors
    /// It cannot be believed, and what to do.
    pub fn records(&self) -> Result<Value, String> {
        of(self.run()).map_err(|wrong| format!("{}: {}", wrong.why, wrong.help))
    }
}

fn of(run: &Simulation) -> Result<Value, Trouble> {
    let none = || Trouble::new("this run keeps no records", "begin it anew");
    let (store, memory, now) = run.records().ok_or_else(none)?;
    let shop = Shop::new(store, memory, now);
    let services = history::entries(&shop)?;
    let happened = events::entries(&shop)?;
    let (found, holding) = (shop.look(|all| all.found()), history::holding(&shop)?);
    let facts = due::facts(&shop)?;
    let running = shop.look(|all| all.running()).ok();
    Ok(json!({
        "stamp": stamp(run), "t": run.time(), "clock": when(shop.clock()),
        "found": events::found(found), "damaged": shop.damaged(), "unpowered": run.store().is_off(),
        "counters": counters(&shop),
        "calibrations": calibrations(&shop)?,
        "codes": shop.kept().map_or_else(Vec::new, codes),
        "running": if let Some(Item::Sound(service)) = running { Some(format!("The service of order {} is under way; it goes into the log when it ends.", service.order)) } else { None },
        "services_in_all": services.len(), "services_room": holding.room,
        "services": services.iter().rev().take(MOST).map(|one| json!({ "number": one.number, "text": service(one) })).collect::<Vec<_>>(),
        "events_in_all": happened.len(),
        "events": happened.iter().rev().take(MOST).collect::<Vec<_>>(),
        "due": due::items(&facts).into_iter().map(|one| json!({ "name": one.name, "level": one.level.word(), "used": one.used, "left": one.left })).collect::<Vec<_>>(),
    }))
}

fn hours(seconds: u32) -> String {
    format!("{:.2} h", f64::from(seconds) / 3_600.0)
}

fn counters(shop: &Shop) -> Vec<(&'static str, String)> {
    let mut all = match shop.kept() {
        None => vec![("what the controller keeps", "lost: every limit counts as expired".to_owned())],
        Some(kept) => of_controller(kept),
    };
    let meter = shop.look(|all| all.meter()).map_or((Meter::default(), true), |item| item.or(Meter::default()));
    if let (meter, false) = meter {
        all.extend([
            ("starts", meter.starts.to_string()),
            ("under power", hours(meter.powered)),
            ("recovery compressor C-1", hours(meter.compressor)),
            ("vacuum pump P-1, with all its oils", hours(meter.pump)),
            ("cabinet fan K-1", hours(meter.fan)),
            ("vessel heater", hours(meter.heater)),
        ]);
    }
    all
}

fn of_controller(kept: &Kept) -> Vec<(&'static str, String)> {
    let latched: Vec<&str> = kept.latched.iter().map(|row| row.as_str()).collect();
    let none_or = |text: String| if text.is_empty() { "none".to_owned() } else { text };
    let order = if kept.order == 0 {
        String::new()
    } else {
        format!("order {}, {:.1} g charged by then", kept.order, f64::from(kept.charged.0) * 1e-3)
    };
    let hoses = match kept.hoses {
        Hoses::Used => "open to vehicles of any kind since they were flushed",
        Hoses::Flushed => "flushed, and open to no vehicle without high voltage since",
        Hoses::Foreign => "foreign gas stands in them",
    };
    vec![
        ("refrigerant through the filter-drier F-1", format!("{:.3} kg", f64::from(kept.drier.0) * 1e-6)),
        ("running time of the pump's oil", hours(kept.pump_oil)),
        ("samples since the identifier's filter was new", kept.samples.to_string()),
        ("rows that wait for a reset", none_or(latched.join(", "))),
        ("order under way", none_or(order)),
        ("hoses", hoses.to_owned()),
        ("state number", kept.number.to_string()),
    ]
}

fn calibrations(shop: &Shop) -> Result<Vec<(&'static str, String)>, Trouble> {
    let all = events::events(shop)?;
    let last = |scale: u8| {
        let made = all.iter().rev().filter_map(|(_, event)| event.as_ref());
        made.clone()
            .find(|event| matches!(event.what, What::Calibrated(one, _) if one == scale))
            .map(|event| when(event.clock))
    };
    let one = |at: u8| {
        let gain = shop.kept().and_then(|kept| kept.span.get(usize::from(at)).copied()).filter(|gain| *gain != 0);
        let text = match (gain, last(at)) {
            (Some(gain), Some(when)) => format!("gain {gain}, adjusted {when}"),
            (Some(gain), None) => format!("gain {gain}; no adjustment is on record"),
            (None, Some(when)) => format!("none is kept, though one was made {when}"),
            (None, None) => "none is on record: what the station's file says holds".to_owned(),
        };
        (events::scale(at), text)
    };
    Ok((0..Scale::ALL.len() as u8).map(one).collect())
}

/// Codes that were used up, by kind.
fn codes(kept: &Kept) -> Vec<(String, String)> {
    let serials = |used: Used| {
        let [newest, below] = used.to_words();
        let earlier =
            (0..Used::WINDOW).filter(|place| below >> place & 1 == 1).map(|place| newest.saturating_sub(place + 1));
        let mut burnt: Vec<String> = std::iter::once(newest)
            .chain(earlier)
            .filter(|serial| *serial > 0)
            .map(|serial| serial.to_string())
            .collect();
        if burnt.len() > SERIALS {
            burnt.truncate(SERIALS);
            burnt.push("and earlier ones".to_owned());
        }
        if burnt.is_empty() { "none was used".to_owned() } else { format!("used: serial number {}", burnt.join(", ")) }
    };
    let mut all: Vec<(String, String)> = Kind::ALL
        .into_iter()
        .zip(kept.used_codes)
        .map(|(kind, used)| (format!("code for {}", kind.name().replace('_', " ")), serials(used)))
        .collect();
    all.push(("wrong codes since the last that was taken".to_owned(), kept.wrong_codes.to_string()));
    if let Some(part) = kept.unlocking {
        let what = "its code is used up, and its new life not yet given";
        all.push((part.name().replace('_', " "), what.to_owned()));
    }
    all
}

/// A service in words.
fn service(of: &Entry) -> String {
    if of.lost {
        return "can't be believed any more".to_owned();
    }
    let mass = |what: &str, g: Option<f64>| g.map(|g| format!("{what} {g:.1} g"));
    let ending = match of.ending {
        "met" => "done as ordered",
        "not_met" => "ended, not done as ordered",
        "interrupted" => "interrupted",
        other => other,
    };
    let said = [
        Some(format!("{} to {}: {ending}", of.begun, of.ended)),
        mass("ordered", of.ordered_g),
        mass("recovered", of.recovered_g),
        mass("charged", of.charged_g),
        mass("not accounted for", of.unknown_g),
        Some(format!("leak check {}", of.leak.replace('_', " "))),
        of.trip.map(|row| format!("first trip {row}, {} in all", of.trips)),
    ];
    let phases: Vec<String> =
        of.phases.iter().map(|one| format!("{} {}", one.name.replace('_', " "), one.end)).collect();
    let said = said.into_iter().flatten().collect::<Vec<_>>().join(", ");
    if phases.is_empty() { said } else { format!("{said}; phases: {}", phases.join(", ")) }
}
