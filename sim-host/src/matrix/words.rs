//! English words for the interlock table: what a condition looks at, its set points and latches. Trips use the same words.

use valvewright_core::frame::{Actuator, Actuators, Feed, Feeds};
use valvewright_core::interlock::Watch;
use valvewright_core::interlock::table::{Condition, Hazard, Latch, Level, Role, Row, Side};
use valvewright_core::units::Millis;

use crate::display::{Amount, Sentence};
use crate::say;

/// What a cause looks at, or the condition that it says, with its tag.
pub fn watch(of: Watch) -> Sentence {
    say![named(of)]
}

const fn named(of: Watch) -> &'static str {
    match of {
        Watch::CabinetGas => "cabinet gas (AT-2)",
        Watch::VesselFill => "vessel mass (WT-1)",
        Watch::VesselPressure => "vessel pressure (PT-1)",
        Watch::DischargeSwitch => "the discharge pressure switch (PSH-1) is open",
        Watch::Identity => "no valid identification on this connection",
        Watch::PurgeLeave => "no rested, steady vessel with air in it",
        Watch::ChargeFlow => "the charge rate does not fit its model",
        Watch::ChargeScale => "the vessel scale (WT-1) is shaken or bad",
        Watch::LateScan => "a scan came late",
        Watch::SeparatorLevel => "the separator level switch (LS-2) is open: liquid is high",
        Watch::PumpAdmission | Watch::PumpInlet => "higher hose pressure (PT-2, PT-3)",
        Watch::Unrecovered => "nothing says that the circuit holds no refrigerant",
        Watch::HosesRise => "the hose pressures (PT-2, PT-3) have not stood for a minute",
        Watch::HeaterCover => "vessel mass over the heater (WT-1)",
        Watch::HeaterSkin => "heater skin (TT-3)",
        Watch::HeaterEffect => "the vessel wall (TT-1) does not warm under the heater",
        Watch::DischargeTemperature => "discharge temperature (TT-2)",
        Watch::Suction => "lower hose pressure (PT-2, PT-3)",
        Watch::MotorCurrent => "motor current of C-1 (IT-1)",
        Watch::LeakVerdict => "no tight leak verdict on this connection",
        Watch::Effect => "current, pressure or mass did not follow a command",
        Watch::ScaleCreep => "the vessel scale (WT-1) moved with every way shut",
        Watch::ScaleLost => "the vessel scale (WT-1) is lost",
        Watch::SeparatorPressure => "separator pressure (PT-5)",
        Watch::OilBottle => "the used-oil bottle switch (LS-1) is open: the bottle is full",
        Watch::BridgesApart => "difference of the vessel scale's bridges (WT-1A, WT-1B)",
        Watch::FanSpeed => "speed of the cabinet fan (ST-1)",
        Watch::HeaterWelded => "the heater (TT-3) warms with one contactor (H-1, H-2) off",
        Watch::PumpInletSwitch => "the pressure switch at the inlet of P-1 (PSH-2) is open",
        Watch::PumpValveStuck => "XV-6 did not shut: PSH-2 behind it is open",
        Watch::AirFlow => "the air flow switch (FSL-1) is open: no air flow",
        Watch::Door => "the service door (ZS-1) is open",
        Watch::AirProof => "air flow is not proven yet",
        Watch::LineLocked => "XV-1 and XV-2 are shut on a charge line that may hold liquid",
        Watch::DrawsAir => "the recovery drew air in",
        Watch::ChargeUnconfirmed => "a charge out of the usual is not confirmed a second time",
        Watch::ChargeBeyond => "the vessel (WT-1) has given more than was ordered",
        Watch::OilVoltage => "nothing says that the vehicle has no high-voltage compressor",
        Watch::IdentifierUnsound => "the identifier (AT-1) is not known to be sound",
        Watch::PurgeSpent => "the purge valve (XV-7) has had its time of this day",
        Watch::PurgeLoss => "the vessel (WT-1) lost more than 20 g by one opening of XV-7",
        Watch::ReliefNear => "vessel pressure (PT-1) near its relief valve",
        Watch::VesselLoses => "the vessel (WT-1) goes on losing mass with every way shut",
        Watch::HoseFalls => "a hose (PT-2, PT-3) falls faster than 1 bar/s with nothing drawing from it",
        Watch::CouplersOff => "a coupler came off (ZS-2) in the work or with pressure in the hoses (PT-2, PT-3)",
        Watch::StopPressed => "the emergency stop (HS-1) is pressed",
        Watch::StopDisagrees => "the channels of the emergency stop (HS-1) disagree",
        Watch::Coils => "coils carry other current than was ordered",
        Watch::SpanMoved => "the span of the vessel scale is not the one on record",
        Watch::Upkeep => "the filter-drier (WQI-1) or the pump oil (KQI-1) is at its limit",
        Watch::Unlocking => "a replacement was broken off between its code and its new life",
        Watch::StoreLost => "the record store (NV-1) gives nothing that can be believed",
        Watch::WallClock => "the wall clock (KT-1) jumped, went back or stands",
        Watch::Restarted => "the controller stalled or was restarted by its watchdog",
        Watch::TickRate => "the tick (KT-2) and the other oscillator differ by more than 2.5 %",
        Watch::SelfCheck => "a self-check of the board failed, or the rail did not follow its relay at power-on",
        Watch::StaleImage => "the inputs are those of an earlier scan",
        Watch::ProofDue => "a proof test is overdue",
        Watch::SupplyLow => "supply (ET-1)",
        Watch::RailLow => "valve rail (ET-2)",
        Watch::StartsAgain => "three starts with less than a minute between them",
    }
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
    match level {
        Level::Pressure(p) => say![p],
        Level::OverBarometer(p) => say![Amount::OverBarometer(f64::from(p.0))],
        Level::Temperature(t) => say![t],
        Level::Gas(share) => say![format!("{:.1} % LFL", f64::from(share.0) / 10.0)],
        Level::FillShare(share) => say![format!("{:.1} % of the fill limit", f64::from(share.0) / 10.0)],
        Level::Mass(m) if m.0 < 100_000 => say![m],
        Level::Mass(m) => say![Amount::Weight(f64::from(m.0) / 1e6)],
        Level::Current(i) => say![format!("{:.1} A", f64::from(i.0) / 1e3)],
        Level::Speed(v) => say![format!("{} rpm", v.0)],
        Level::Voltage(v) => say![format!("{:.1} V", f64::from(v.0) / 1e3)],
        Level::State => Sentence::default(),
    }
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
    std::iter::once(row.hazard).chain(row.also.iter().copied())
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
