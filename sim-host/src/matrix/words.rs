//! English words for the interlock table: what a condition looks at, its set points and latches. Trips use the same words.

use valvewright_core::frame::{Actuator, Actuators, Feed, Feeds};
use valvewright_core::interlock::Watch;
use valvewright_core::interlock::table::{Condition, Hazard, Latch, Level, Role, Row, Side};
use valvewright_core::units::Millis;

use crate::display::Sentence;
use crate::{language, say};

/// What a cause looks at, or the condition that it says, with its tag.
pub fn watch(of: Watch) -> Sentence {
    say![language::text(language::watch(of))]
}

/// When a cause is looked at, or what its words leave out; empty where it always counts.
const fn circumstance(of: Watch) -> &'static str {
    match of {
        Watch::PumpInlet => " while XV-6 is open",
        Watch::PumpValveStuck => ", while XV-6 is off",
        Watch::PumpAdmission => ", for XV-6 to open",
        Watch::HeaterCover => " while the heater is on or wanted",
        Watch::HeaterEffect => " in 120 s",
        Watch::Suction => " while C-1 runs with XV-3 open",
        Watch::AirFlow => ", while anything but the fan is on or wanted",
        Watch::Unrecovered => ": not recovered, not well below the barometer, not opened to air",
        Watch::SeparatorPressure => ", for XV-8 to open",
        Watch::FanSpeed => ", while anything but the fan is on or wanted",
        Watch::AirProof => ": five air changes and a test of FSL-1 before a start",
        Watch::StopPressed => ": a channel is open",
        Watch::DrawsAir => ": by its suction and by what the vessel's pressure shows over saturation",
        Watch::ChargeUnconfirmed => {
            ": more than the class of its circuit, less than half or more than one and a half times what was recovered"
        }
        Watch::ChargeBeyond => ", by more than the tolerance of 15 g",
        Watch::OilVoltage => ": no order does, or one on this connection says it has",
        Watch::IdentifierUnsound => ": flow and self-check in their bands in its last two samples",
        Watch::PurgeSpent => ": 200 s in 24 h from its first opening",
        Watch::VesselLoses => ": three times 10 s or more in a row, 10 g in all",
        Watch::HoseFalls => ", while XV-1, XV-2 or XV-5 is on",
        Watch::Upkeep | Watch::ProofDue => ", looked at when an order begins",
        Watch::RailLow => " while its relay is closed",
        Watch::Restarted => ", because its outputs were not renewed",
        _ => "",
    }
}

/// A stable id of a cause for programs: `pump_inlet`.
pub fn watch_id(of: Watch) -> String {
    let mut id = String::new();
    for letter in format!("{of:?}").chars() {
        if letter.is_ascii_uppercase() && !id.is_empty() {
            id.push('_');
        }
        id.push(letter.to_ascii_lowercase());
    }
    id
}

/// A set point with its unit; nothing for a state.
pub fn level(level: Level) -> Sentence {
    language::level(level).map_or_else(Sentence::default, |figure| figure.sentence())
}

/// How long something must last; nothing where it acts at once.
pub fn hold(time: Millis) -> Sentence {
    match time.0 {
        0 => Sentence::default(),
        ms => say![format!(" for {} s", f64::from(ms) / 1e3)],
    }
}

/// What makes a cause act: the reading, its set point, how long.
pub fn acts(one: &Condition) -> Sentence {
    let (what, when) = (watch(one.watch), circumstance(one.watch));
    match one.watch.side() {
        Side::State => say![what, hold(one.hold), when],
        Side::High => say![what, when, " at or above ", level(one.trip), hold(one.hold)],
        Side::Low => say![what, when, " below ", level(one.trip), hold(one.hold)],
    }
}

/// What a cause waits for until it counts as gone: the other set point, how long.
pub fn clears(one: &Condition) -> Sentence {
    match one.watch.side() {
        Side::State => say!["when it is gone", hold(one.clear_hold)],
        Side::High => say!["below ", level(one.clear), hold(one.clear_hold)],
        Side::Low => say!["at or above ", level(one.clear), hold(one.clear_hold)],
    }
}

/// Both on one line, as the book prints them.
pub fn cause(one: &Condition) -> Sentence {
    let role = if one.role == Role::Permit { " *(permission)*" } else { "" };
    match one.watch.side() {
        Side::State if one.clear_hold.0 == 0 => say![acts(one), role],
        _ => say![acts(one), "; clear ", clears(one), role],
    }
}

/// Word of a latch in the table.
pub const fn latch(latch: Latch) -> &'static str {
    match latch {
        Latch::None => "none",
        Latch::Phase => "phase",
        Latch::After(_) => "repeated",
        Latch::Connection => "connection",
        Latch::Latched => "latched",
    }
}

/// What a latch means.
pub const fn latch_sentence(latch: Latch) -> &'static str {
    match latch {
        Latch::None => "clears by itself once its cause is gone",
        Latch::Phase => "stays until reset, or until the next phase begins with the cause gone",
        Latch::After(_) => "clears by itself; where it comes up again and again in one phase, stays until reset",
        Latch::Connection => "a permission ends when the couplers move, and must be earned anew",
        Latch::Latched => "stays until the cause is gone and reset is pressed afresh",
    }
}

/// What must still come once the cause of a trip is gone.
pub const fn then(latch: Latch) -> &'static str {
    match latch {
        Latch::None | Latch::After(_) | Latch::Connection => "",
        Latch::Phase => ", then a fresh press of reset or the next phase",
        Latch::Latched => ", then a fresh press of reset",
    }
}

/// The hazards that a row answers, the first one first.
pub fn hazards(row: &Row) -> impl Iterator<Item = Hazard> {
    std::iter::once(row.hazard).chain(row.also.all().iter().copied())
}

/// Tags of a set of outputs, in their order.
pub fn tags(set: Actuators) -> impl Iterator<Item = &'static str> {
    Actuator::ALL.into_iter().filter(move |one| set.has(*one)).map(Actuator::tag)
}

/// Names of common relays.
pub fn relays(set: Feeds) -> impl Iterator<Item = &'static str> {
    let name = |one| match one {
        Feed::Valves => "valve rail relay",
        Feed::Motors => "motor and heater contactor",
    };
    Feed::ALL.into_iter().filter(move |one| set.has(*one)).map(name)
}

/// What a row does, in words, each with the tags or names of what it does it to; what it does not do is left out.
pub fn effects(row: &Row) -> impl Iterator<Item = (&'static str, Vec<&'static str>)> {
    let all = [
        ("Holds off", tags(row.trip.inhibits).collect::<Vec<_>>()),
        ("Stops behind its valve", tags(row.trip.stops).collect()),
        ("Opens", relays(row.trip.drops).collect()),
        ("Forces on", tags(row.trip.forces).collect()),
        ("Withholds", tags(row.withholds).collect()),
    ];
    all.into_iter().filter(|(_, list)| !list.is_empty())
}
