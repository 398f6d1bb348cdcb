//! The elements that the simulator looks for by name, and names that were meant to be one of them.

use valvewright_core::frame::{Actuator, Actuators};

use super::names::follows;
use crate::scenario::diagnostic::nearest;

/// Which names count as an element that is looked for.
#[derive(Clone, Copy, PartialEq)]
enum Counts {
    /// All that follow the same actuators.
    Tags,
    /// All that begin so.
    Beginning,
    /// The name itself, and what has `/` behind it.
    Ways,
    /// The name itself alone: that is what is moved.
    Alone,
}

/// Elements that each station has: name, what counts as it, what it is for.
const ELEMENTS: [(&str, Counts, &str); 15] = [
    ("XV-1", Counts::Tags, "the way from `hose_low` to the manifold"),
    ("XV-2", Counts::Tags, "the way from `hose_high` to the manifold"),
    ("XV-5+XV-10+XV-1", Counts::Tags, "the charge from `vessel` to `hose_low`"),
    ("XV-5+XV-10+XV-2", Counts::Tags, "the charge from `vessel` to `hose_high`"),
    ("XV-9+XV-1", Counts::Tags, "new oil to `hose_low`"),
    ("XV-9+XV-2", Counts::Tags, "new oil to `hose_high`"),
    ("coupler_low", Counts::Beginning, "hose and coupler between `vehicle_low` and `hose_low`"),
    ("coupler_high", Counts::Beginning, "hose and coupler between `vehicle_high` and `hose_high`"),
    ("expansion", Counts::Ways, "the vehicle's way from `vehicle_high` to `vehicle_low`"),
    ("suction", Counts::Ways, "the vehicle's way from `vehicle_low` to `accumulator`"),
    ("vehicle_compressor", Counts::Alone, "the vehicle's own drive, from `accumulator` to `vehicle_high`"),
    ("leak", Counts::Alone, "the scenario's hole in the vehicle"),
    ("release", Counts::Alone, "what the operator opens to let gas out of the vehicle"),
    ("nitrogen", Counts::Alone, "what the operator opens to let nitrogen in from `nitrogen_bottle`"),
    (HEATER, Counts::Alone, "the heater behind its two contactors in series"),
];

/// The heater's one name.
const HEATER: &str = "H-1+H-2";

/// The name before `/`.
fn base(name: &str) -> &str {
    name.split('/').next().unwrap_or(name)
}

fn counts(name: &str, (wanted, counts, _): &(&str, Counts, &str)) -> bool {
    match counts {
        Counts::Tags => follows(name).is_some() && follows(name) == follows(wanted),
        Counts::Beginning => name.starts_with(wanted),
        Counts::Ways => base(name) == *wanted,
        Counts::Alone => name == *wanted,
    }
}

/// A name as a table's head has it.
fn quoted(name: &str) -> String {
    if name.contains(['+', '/']) || name.starts_with(|c: char| c.is_ascii_uppercase()) {
        format!("\"{name}\"")
    } else {
        name.to_owned()
    }
}

/// What no element of these names is, each with what it is for; devices that are not built in need none.
pub(super) fn missing(names: &[String], without: Actuators) -> Vec<String> {
    let heated = without.is_empty() && !unmoved(names).iter().any(|one| Actuators::HEATER.has(*one));
    let wanted = |name: &str| name != HEATER || heated;
    let lacking = ELEMENTS.iter().filter(|one| wanted(one.0) && !names.iter().any(|name| counts(name, one)));
    lacking.map(|(name, _, what)| format!("[element.{}], {what}", quoted(name))).collect()
}

/// Actuators that no element follows; a network without a fan has a cabinet that nobody airs.
pub(super) fn unmoved(names: &[String]) -> Vec<Actuator> {
    let all = names.iter().filter_map(|name| follows(name)).fold(Actuators::NONE, Actuators::or);
    Actuator::ALL.into_iter().filter(|a| !all.has(*a) && *a != Actuator::K1).collect()
}

/// A name that moves with nothing, and was meant to.
pub(super) struct Slip {
    /// What is wrong with it.
    pub what: String,
    /// The name that is looked for.
    pub meant: String,
}

/// Whether a name is one that is looked for, spelt otherwise. Names that only describe are free.
pub(super) fn slip(name: &str) -> Option<Slip> {
    if follows(name).is_some() && name.split('/').next() != Some(HEATER) {
        return None;
    }
    if let Some(found) = ELEMENTS.iter().find(|one| base(name) == one.0 || counts(name, one)) {
        let alone = found.1 == Counts::Alone && name != found.0;
        let what = format!("`{name}` moves with nothing: `{}` is one element, without `/`", found.0);
        return alone.then(|| Slip { what, meant: found.0.to_owned() });
    }
    let (own, way) = name.split_at(base(name).len());
    if let Some((part, meant)) = no_tag(own) {
        let what = match own == part && way.is_empty() {
            true => format!("there is no actuator `{name}`"),
            false => format!("`{name}` names `{part}`, and there is no such actuator"),
        };
        return Some(Slip { what, meant: format!("{meant}{way}") });
    }
    let far = |one: &str| strsim::osa_distance(&own.to_lowercase(), one);
    let words = ELEMENTS.iter().filter(|one| one.1 != Counts::Tags && one.0 != HEATER);
    let (apart, meant) = words.map(|one| (far(one.0), one.0)).min()?;
    // In a word of four letters two others leave half of it.
    let near = apart <= if meant.len() > 4 { 2 } else { 1 };
    let what = format!("`{name}` is no name that the simulator looks for");
    near.then(|| Slip { what, meant: format!("{meant}{way}") })
}

/// The first part that looks like an actuator's tag and is none, and the name with the nearest tags in place of such parts.
fn no_tag(own: &str) -> Option<(&str, String)> {
    let tag = |part: &str| Actuator::ALL.into_iter().any(|one| one.tag() == part);
    let series = own.contains('+') && own.split('+').any(tag);
    let wrong = |part: &&str| !tag(part) && (series || like_tag(part));
    let first = own.split('+').find(wrong)?;
    let near = |part| nearest(part, Actuator::ALL.map(Actuator::tag)).unwrap_or("XV-1");
    let meant = own.split('+').map(|part| if tag(part) { part } else { near(part) });
    Some((first, meant.collect::<Vec<_>>().join("+")))
}

/// Letters of an actuator's tag, perhaps a dash, digits. Other devices have other letters: `NRV-1` is a free name.
fn like_tag(part: &str) -> bool {
    let letters = part.trim_end_matches(|c: char| c.is_ascii_digit());
    let prefix = letters.strip_suffix(['-', '_']).unwrap_or(letters);
    let valve = ["XV", "VX"].iter().any(|one| prefix.eq_ignore_ascii_case(one));
    letters.len() < part.len()
        && (valve || Actuator::ALL.into_iter().any(|one| one.tag().split('-').next() == Some(prefix)))
}
