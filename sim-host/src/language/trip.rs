//! Trips: what a cause looks at, what it read, its set point and what clears the row.

use valvewright_core::interlock::table::{Condition, Level, Side};
use valvewright_core::interlock::{FirstOut, RowId, Watch};
use valvewright_core::units::{AbsPa, CentiKelvin, Milliamp, Milligram, Millivolt, Permille, PermilleLfl, Rpm};

use super::message::{Arg, Message};
use crate::display::Amount;

/// Thousandths as a percentage with one decimal.
pub fn permille(of: i32) -> Arg {
    Arg::Number(f64::from(of) / 10.0, 1)
}

/// A trip: which row, what it read, and what clears it.
pub fn tripped(row: RowId, first: Option<FirstOut>) -> Message {
    let clear = row.row().map_or("", |row| row.reset.text());
    Message::from("tripped")
        .with("row", Arg::Tag(row.as_str()))
        .with("reading", reading(first))
        .with("clear", Arg::Core(format!("row-{}", row.as_str()), clear))
}

/// What made a row trip: the reading with its unit, its set point and its quality, or the condition that stands.
pub fn reading(first: Option<FirstOut>) -> Message {
    let Some(FirstOut { row, watch: of, value, bad, .. }) = first else { return "trip-latched".into() };
    let told = |id: &'static str| Message::from(id).with("what", Message::from(watch(of)));
    match (level(read(of, value)), of.side()) {
        (None, _) if bad => told("trip-bad"),
        (None, _) => told("trip-state"),
        (Some(last), _) if bad => told("trip-bad_last").with("value", last),
        (Some(value), Side::State) => told("trip-standing").with("value", value),
        (Some(value), side) => {
            let trip = condition(row, of).map(|one| one.trip);
            let id = match (trip, side) {
                (None, _) => "trip-reading",
                (Some(Level::OverBarometer(_)), _) => "trip-over",
                (Some(_), Side::High) => "trip-high",
                (Some(_), _) => "trip-low",
            };
            let told = told(id).with("value", value);
            trip.and_then(level).into_iter().fold(told, |told, limit| told.with("limit", limit))
        }
    }
}

/// The condition of a row that looks at `of`.
pub fn condition(row: RowId, of: Watch) -> Option<&'static Condition> {
    row.row()?.causes.iter().find(|one| one.watch == of)
}

/// What a cause read, in the unit of its input; a state for a contact or a verdict. A pressure that is held against the barometer is
/// read from vacuum like any other.
pub fn read(of: Watch, value: i32) -> Level {
    match of {
        Watch::CabinetGas => Level::Gas(PermilleLfl(value)),
        Watch::VesselFill => Level::FillShare(Permille(value)),
        Watch::VesselPressure | Watch::PumpAdmission | Watch::PumpInlet | Watch::Suction | Watch::SeparatorPressure => {
            Level::Pressure(AbsPa(value))
        }
        Watch::ReliefNear | Watch::HoseFalls | Watch::CouplersOff => Level::Pressure(AbsPa(value)),
        Watch::ChargeBeyond | Watch::PurgeLoss | Watch::VesselLoses => Level::Mass(Milligram(value)),
        Watch::HeaterSkin | Watch::DischargeTemperature | Watch::HeaterEffect | Watch::HeaterWelded => {
            Level::Temperature(CentiKelvin(value))
        }
        Watch::HeaterCover | Watch::ChargeScale | Watch::ScaleCreep | Watch::ScaleLost | Watch::BridgesApart => {
            Level::Mass(Milligram(value))
        }
        Watch::MotorCurrent => Level::Current(Milliamp(value)),
        Watch::FanSpeed => Level::Speed(Rpm(value)),
        Watch::SupplyLow | Watch::RailLow => Level::Voltage(Millivolt(value)),
        _ => Level::State,
    }
}

/// A set point or reading with its unit; nothing for a state.
pub fn level(of: Level) -> Option<Arg> {
    let thousandth = |value: i32| Arg::Number(f64::from(value) / 1e3, 1);
    Some(match of {
        Level::Pressure(p) => p.into(),
        Level::OverBarometer(p) => Amount::OverBarometer(f64::from(p.0)).into(),
        Level::Temperature(t) => t.into(),
        Level::Gas(share) => Message::from("level-gas").with("share", permille(share.0)).into(),
        Level::FillShare(share) => Message::from("level-fill").with("share", permille(share.0)).into(),
        Level::Mass(m) if m.0 < 100_000 => m.into(),
        Level::Mass(m) => Amount::Weight(f64::from(m.0) / 1e6).into(),
        Level::Current(i) => Message::from("level-current").with("value", thousandth(i.0)).into(),
        Level::Speed(v) => Message::from("level-speed").with("value", Arg::Whole(v.0.into())).into(),
        Level::Voltage(v) => Message::from("level-voltage").with("value", thousandth(v.0)).into(),
        Level::State => return None,
    })
}

/// Id of what a cause looks at, or of the condition that it says, with its tag.
pub const fn watch(of: Watch) -> &'static str {
    match of {
        Watch::CabinetGas => "watch-cabinet_gas",
        Watch::VesselFill => "watch-vessel_fill",
        Watch::VesselPressure => "watch-vessel_pressure",
        Watch::DischargeSwitch => "watch-discharge_switch",
        Watch::Identity => "watch-identity",
        Watch::PurgeLeave => "watch-purge_leave",
        Watch::ChargeFlow => "watch-charge_flow",
        Watch::ChargeScale => "watch-charge_scale",
        Watch::LateScan => "watch-late_scan",
        Watch::SeparatorLevel => "watch-separator_level",
        Watch::PumpAdmission | Watch::PumpInlet => "watch-pump_admission",
        Watch::Unrecovered => "watch-unrecovered",
        Watch::HosesRise => "watch-hoses_rise",
        Watch::HeaterCover => "watch-heater_cover",
        Watch::HeaterSkin => "watch-heater_skin",
        Watch::HeaterEffect => "watch-heater_effect",
        Watch::DischargeTemperature => "watch-discharge_temperature",
        Watch::Suction => "watch-suction",
        Watch::MotorCurrent => "watch-motor_current",
        Watch::LeakVerdict => "watch-leak_verdict",
        Watch::Effect => "watch-effect",
        Watch::ScaleCreep => "watch-scale_creep",
        Watch::ScaleLost => "watch-scale_lost",
        Watch::SeparatorPressure => "watch-separator_pressure",
        Watch::OilBottle => "watch-oil_bottle",
        Watch::BridgesApart => "watch-bridges_apart",
        Watch::FanSpeed => "watch-fan_speed",
        Watch::HeaterWelded => "watch-heater_welded",
        Watch::PumpInletSwitch => "watch-pump_inlet_switch",
        Watch::PumpValveStuck => "watch-pump_valve_stuck",
        Watch::AirFlow => "watch-air_flow",
        Watch::Door => "watch-door",
        Watch::AirProof => "watch-air_proof",
        Watch::LineLocked => "watch-line_locked",
        Watch::DrawsAir => "watch-draws_air",
        Watch::ChargeUnconfirmed => "watch-charge_unconfirmed",
        Watch::ChargeBeyond => "watch-charge_beyond",
        Watch::OilVoltage => "watch-oil_voltage",
        Watch::IdentifierUnsound => "watch-identifier_unsound",
        Watch::PurgeSpent => "watch-purge_spent",
        Watch::PurgeLoss => "watch-purge_loss",
        Watch::ReliefNear => "watch-relief_near",
        Watch::VesselLoses => "watch-vessel_loses",
        Watch::HoseFalls => "watch-hose_falls",
        Watch::CouplersOff => "watch-couplers_off",
        Watch::StopPressed => "watch-stop_pressed",
        Watch::StopDisagrees => "watch-stop_disagrees",
        Watch::Coils => "watch-coils",
        Watch::SpanMoved => "watch-span_moved",
        Watch::Upkeep => "watch-upkeep",
        Watch::Unlocking => "watch-unlocking",
        Watch::StoreLost => "watch-store_lost",
        Watch::WallClock => "watch-wall_clock",
        Watch::Restarted => "watch-restarted",
        Watch::TickRate => "watch-tick_rate",
        Watch::SelfCheck => "watch-self_check",
        Watch::StaleImage => "watch-stale_image",
        Watch::ProofDue => "watch-proof_due",
        Watch::SupplyLow => "watch-supply_low",
        Watch::RailLow => "watch-rail_low",
        Watch::StartsAgain => "watch-starts_again",
    }
}
