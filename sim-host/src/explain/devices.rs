//! What outputs are for people, and what happens to them, in words.

use valvewright_core::drive::PUMP_LEAD;
use valvewright_core::frame::{Actuator, Actuators, Feeds};
use valvewright_core::interlock::table::Row;

use crate::display::Sentence;
use crate::matrix::words as table;
use crate::say;

/// What it is.
const fn name(one: Actuator) -> &'static str {
    match one {
        Actuator::Xv1 => "low-side service valve",
        Actuator::Xv2 => "high-side service valve",
        Actuator::Xv3 => "recovery valve, hoses to separator",
        Actuator::Xv4 => "valve from the compressor to the vessel",
        Actuator::Xv5 => "charge valve",
        Actuator::Xv6 => "valve to the vacuum pump",
        Actuator::Xv7 => "purge valve, vessel to the open",
        Actuator::Xv8 => "used-oil drain",
        Actuator::Xv9 => "new-oil valve",
        Actuator::Xv10 => "liquid valve of the vessel",
        Actuator::C1 => "recovery compressor",
        Actuator::P1 => "vacuum pump",
        Actuator::H1 => "first contactor of the vessel heater",
        Actuator::H2 => "second contactor of the vessel heater",
        Actuator::K1 => "cabinet fan",
    }
}

fn each(set: Actuators) -> impl Iterator<Item = Actuator> {
    Actuator::ALL.into_iter().filter(move |one| set.has(*one))
}

/// Parts as a list in a sentence.
pub fn joined(parts: &[String]) -> String {
    match parts {
        [] => "nothing".to_owned(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// Outputs with what they are: `XV-5 (charge valve) and C-1 (recovery compressor)`.
pub fn named(set: Actuators) -> String {
    joined(&each(set).map(|one| format!("{} ({})", one.tag(), name(one))).collect::<Vec<_>>())
}

/// Tags alone.
fn tags(set: Actuators) -> String {
    if set == Actuators::ALL.without(Actuators::SAFE) {
        return "everything but the fan".to_owned();
    }
    joined(&table::tags(set).map(str::to_owned).collect::<Vec<_>>())
}

/// Switching these off, in the words of what they are; empty where there are none.
pub fn off(set: Actuators) -> String {
    let kinds = [
        ("shut ", set.and(Actuators::VALVES)),
        ("stopped ", set.and(Actuators::of(&[Actuator::C1, Actuator::P1, Actuator::K1]))),
        ("switched off ", set.and(Actuators::HEATER)),
    ];
    let parts = kinds.iter().filter(|(_, of)| !of.is_empty()).map(|(verb, of)| format!("{verb}{}", named(*of)));
    parts.collect::<Vec<_>>().join("; ")
}

/// What a row that trips does to the outputs that were on.
pub fn done(row: &Row, before: Actuators) -> Vec<Sentence> {
    let trip = &row.trip;
    let mut did: Vec<Sentence> = Vec::new();
    let (now, kept) = (trip.inhibits.and(before), trip.inhibits.without(before));
    if !now.is_empty() {
        did.push(say![off(now)]);
    }
    if trip.stops.and(before).has(Actuator::P1) {
        let lead = PUMP_LEAD.to_secs();
        did.push(say![format!(
            "stops P-1 (vacuum pump) once XV-6 has been shut for {lead} s, so that its oil does not run back"
        )]);
    }
    if !trip.drops.is_empty() {
        did.push(say![format!(
            "opened the {}, so no valve or motor behind it gets current, whatever the outputs say",
            relays(trip.drops)
        )]);
    }
    if trip.inhibits.is_empty() && trip.stops.is_empty() {
        did.push("held nothing: it says so and lets the work go on".into());
    } else if now.is_empty() {
        did.push(say![format!("nothing that it holds off was on any more; it keeps off {}", tags(kept))]);
    } else if !kept.is_empty() {
        did.push(say![format!("keeps off what was off: {}", tags(kept))]);
    }
    if trip.forces.has(Actuator::K1) {
        did.push("keeps the cabinet fan K-1 on".into());
    }
    did
}

fn relays(set: Feeds) -> String {
    joined(&table::relays(set).map(str::to_owned).collect::<Vec<_>>())
}

/// Outputs that are on, for a sentence.
pub fn still_on(on: Actuators) -> Sentence {
    match (on.without(Actuators::SAFE), on.has(Actuator::K1)) {
        (rest, true) if rest.is_empty() => "everything is shut and off, and the cabinet fan K-1 runs".into(),
        (rest, false) if rest.is_empty() => "everything is shut and off, the cabinet fan K-1 too".into(),
        _ => say![format!("on are {}", named(on))],
    }
}
