//! Phases, what the gas is, how a phase ended and why it was given up: which text each has.

use valvewright_core::input::Broken;
use valvewright_core::job::{GasVerdict, GiveUp, Outcome, PhaseKind};
use valvewright_core::units::Milligram;

use super::message::{Arg, Message};
use crate::display::Amount;

/// Id of a phase's name.
pub const fn phase(kind: PhaseKind) -> &'static str {
    match kind {
        PhaseKind::Purge => "phase-purge",
        PhaseKind::Identify => "phase-identify",
        PhaseKind::Recover => "phase-recover",
        PhaseKind::DrainOil => "phase-drain_oil",
        PhaseKind::PressureTest => "phase-pressure_test",
        PhaseKind::Evacuate => "phase-evacuate",
        PhaseKind::LeakCheck => "phase-leak_check",
        PhaseKind::InjectOil => "phase-inject_oil",
        PhaseKind::Charge => "phase-charge",
        PhaseKind::Verify => "phase-verify",
        PhaseKind::ClearHoses => "phase-clear_hoses",
        PhaseKind::Upkeep => "phase-upkeep",
    }
}

/// Id of what a gas verdict means.
pub const fn gas(verdict: GasVerdict) -> &'static str {
    match verdict {
        GasVerdict::Unknown => "gas-unknown",
        GasVerdict::Pure => "gas-pure",
        GasVerdict::Air => "gas-air",
        GasVerdict::Foreign => "gas-foreign",
        GasVerdict::FlammableForeign => "gas-flammable",
        GasVerdict::Inconclusive => "gas-inconclusive",
    }
}

/// Id of why a reading is bad.
pub const fn broken(why: Broken) -> &'static str {
    match why {
        Broken::Under => "broken-under",
        Broken::Over => "broken-over",
        Broken::Frozen => "broken-frozen",
        Broken::Rail => "broken-rail",
        Broken::Noisy => "broken-noisy",
        Broken::Old => "broken-old",
        Broken::Contradicted => "broken-contradicted",
    }
}

/// How a phase ended.
pub fn outcome(of: Outcome) -> Message {
    match of {
        Outcome::Done => "outcome-done".into(),
        Outcome::Skipped(why) => Message::from("outcome-skipped").with("why", reason(why)),
        Outcome::Failed(why) => reason(why),
        Outcome::Aborted => "outcome-aborted".into(),
    }
}

/// Why something was given up, and how to clear it.
pub fn reason(why: GiveUp) -> Message {
    let told = Message::from(id(why));
    match why {
        GiveUp::GasRefused(of) | GiveUp::RefusalStands(of) => told.with("gas", Message::from(gas(of))),
        GiveUp::HoldsRefrigerant(m) | GiveUp::FlushShort(m) => told.with("mass", m),
        GiveUp::NotReleased(p)
        | GiveUp::TestPressure(p)
        | GiveUp::TooShallow(p)
        | GiveUp::SeparatorPressure(p)
        | GiveUp::LineLoaded(p)
        | GiveUp::NotEvacuated(p)
        | GiveUp::CylinderFull(p)
        | GiveUp::PumpShallow(p) => told.with("pressure", p),
        GiveUp::WeightOff(off) => told
            .with("off", Milligram(off.0.saturating_abs()))
            .with("side", Arg::Choice(if off.0 < 0 { "less" } else { "more" }, &["less", "more"])),
        GiveUp::NoReturn(off) => told.with("off", Milligram(off.0.saturating_abs())),
        GiveUp::PressureFalls(fall) => told.with("fall", Amount::Difference(f64::from(fall.0))),
        GiveUp::NotReached(kind) => told.with("phase", Message::from(phase(kind))),
        GiveUp::VesselLow { gives, needs } => told.with("gives", gives).with("needs", needs),
        GiveUp::NoRoom { room, needs } => told.with("room", room).with("needs", needs),
        GiveUp::HosesDisagree(low, high) => told.with("low", low).with("high", high),
        GiveUp::Overcharged(by) | GiveUp::Undercharged(by) => told.with("mass", by),
        _ => told,
    }
}

const fn id(why: GiveUp) -> &'static str {
    match why {
        GiveUp::NotCoupled => "reason-not_coupled",
        GiveUp::ReadingBad => "reason-reading_bad",
        GiveUp::ScaleUnsteady => "reason-scale_unsteady",
        GiveUp::PressureTooLow => "reason-pressure_too_low",
        GiveUp::PressureTooHigh => "reason-pressure_too_high",
        GiveUp::SampleFilterOily => "reason-sample_filter_oily",
        GiveUp::IdentifierUnsure => "reason-identifier_unsure",
        GiveUp::GasRefused(_) => "reason-gas_refused",
        GiveUp::RefusalStands(_) => "reason-refusal_stands",
        GiveUp::NoIdentity => "reason-no_identity",
        GiveUp::VesselFull => "reason-vessel_full",
        GiveUp::RecoveryTimeout => "reason-recovery_timeout",
        GiveUp::NothingToRecover => "reason-nothing_to_recover",
        GiveUp::DrawsAir => "reason-draws_air",
        GiveUp::KeepsRising => "reason-keeps_rising",
        GiveUp::PressureForVacuum => "reason-pressure_for_vacuum",
        GiveUp::NotRecovered => "reason-not_recovered",
        GiveUp::HoldsRefrigerant(_) => "reason-holds_refrigerant",
        GiveUp::NotReleased(_) => "reason-not_released",
        GiveUp::TestPressure(_) => "reason-test_pressure",
        GiveUp::PressureFalls(_) => "reason-pressure_falls",
        GiveUp::NoVacuum => "reason-no_vacuum",
        GiveUp::GaugeNotLive => "reason-gauge_not_live",
        GiveUp::Leaks => "reason-leaks",
        GiveUp::LeakStands => "reason-leak_stands",
        GiveUp::StillWet => "reason-still_wet",
        GiveUp::TooShallow(_) => "reason-too_shallow",
        GiveUp::NoLeakVerdict => "reason-no_leak_verdict",
        GiveUp::NotReached(_) => "reason-not_reached",
        GiveUp::VesselLow { .. } => "reason-vessel_low",
        GiveUp::NoRoom { .. } => "reason-no_room",
        GiveUp::ChargeStalled => "reason-charge_stalled",
        GiveUp::Declined => "reason-declined",
        GiveUp::Blocked => "reason-blocked",
        GiveUp::NotRested => "reason-not_rested",
        GiveUp::NothingToPurge => "reason-nothing_to_purge",
        GiveUp::PurgeLossLimit => "reason-purge_loss_limit",
        GiveUp::PulsesSpent => "reason-pulses_spent",
        GiveUp::NotOrdered => "reason-not_ordered",
        GiveUp::HighVoltage => "reason-high_voltage",
        GiveUp::NoOil => "reason-no_oil",
        GiveUp::OilBottleFull => "reason-oil_bottle_full",
        GiveUp::SeparatorPressure(_) => "reason-separator_pressure",
        GiveUp::GaugesDisagree => "reason-gauges_disagree",
        GiveUp::HosesDisagree(..) => "reason-hoses_disagree",
        GiveUp::PressureImplausible => "reason-pressure_implausible",
        GiveUp::NoAnswer => "reason-no_answer",
        GiveUp::TookTooLong => "reason-took_too_long",
        GiveUp::TripsAgain => "reason-trips_again",
        GiveUp::ScaleDisagrees => "reason-scale_disagrees",
        GiveUp::Overcharged(_) => "reason-overcharged",
        GiveUp::Undercharged(_) => "reason-undercharged",
        GiveUp::CouplersMoved => "reason-couplers_moved",
        GiveUp::PumpShallow(_) => "reason-pump_shallow",
        GiveUp::LineLoaded(_) => "reason-line_loaded",
        GiveUp::WeightOff(_) => "reason-weight_off",
        GiveUp::NoReturn(_) => "reason-no_return",
        GiveUp::NotProven => "reason-not_proven",
        GiveUp::NotStored => "reason-not_stored",
        GiveUp::RecordSound => "reason-record_sound",
        GiveUp::NotEvacuated(_) => "reason-not_evacuated",
        GiveUp::FlushShort(_) => "reason-flush_short",
        GiveUp::CylinderFull(_) => "reason-cylinder_full",
    }
}
