//! Notices, questions and refusals: which text each has, and with which arguments.

use valvewright_core::order::{Field, Task};
use valvewright_core::talk::{Notice, Question, Refusal};
use valvewright_core::token::{CodeFault, Kind, Part};
use valvewright_core::units::{AbsPa, Milligram};
use valvewright_core::verdict::{LeakResult, LeakVerdict};

use super::message::{Arg, Message};
use super::reason::{broken, gas, outcome, phase};
use super::trip;
use crate::display::Amount;

/// Stable id of a notice, for scenario files: the id of its text, up to the hyphen.
pub fn notice_id(of: &Notice) -> &'static str {
    let id = notice(of).id;
    id.split_once('-').map_or(id, |(id, _)| id)
}

/// A notice.
pub fn notice(of: &Notice) -> Message {
    let told = Message::from;
    match *of {
        Notice::OrderStarted(id) => told("order_started").with("order", Arg::Whole(id.into())),
        Notice::Interrupted(id, charged) => {
            told("interrupted").with("order", Arg::Whole(id.into())).with("charged", charged)
        }
        Notice::Refused(why) => told("refused").with("why", refusal(why)),
        Notice::ProvingAir => told("proving_air"),
        Notice::AirProven => told("air_proven"),
        Notice::AirNotProven => told("air_not_proven"),
        Notice::PhaseStarted(kind) => told("phase_started").with("phase", told(phase(kind))),
        Notice::PhaseEnded(kind, how) => {
            told("phase_ended").with("phase", told(phase(kind))).with("outcome", outcome(how))
        }
        Notice::OrderEnded(done) => {
            told("order_ended").with("plan", Arg::Choice(if done { "met" } else { "missed" }, &["met", "missed"]))
        }
        Notice::Paused => told("paused"),
        Notice::Resumed => told("resumed"),
        Notice::Asked(asked) => told(question(asked.question)),
        Notice::Tripped(row, first) => trip::tripped(row, first),
        Notice::Cleared(row) => told("cleared").with("row", Arg::Tag(row.as_str())),
        Notice::LowSamplePressure(p) => told("low_sample_pressure").with("pressure", p),
        Notice::Sampled(named, air) => {
            told("sampled").with("declared", trip::permille(named.0)).with("air", trip::permille(air.0))
        }
        Notice::Gas(of) => told("gas").with("gas", told(gas(of))),
        Notice::RecoveryHold(p) => told("recovery_hold").with("pressure", p),
        Notice::RecoveryRestart(p) => told("recovery_restart").with("pressure", p),
        Notice::Recovered(m) => told("recovered").with("mass", m),
        Notice::AirTaken(m) => told("air_taken").with("mass", m),
        Notice::OilDrained(m) => told("oil_drained").with("mass", m),
        Notice::MoisturePlateau(p) => told("moisture_plateau").with("pressure", p),
        Notice::PressureTest(fall, least) => {
            told("pressure_test").with("fall", difference(fall)).with("least", difference(least))
        }
        Notice::NitrogenLeft => told("nitrogen_left"),
        Notice::Vacuum(p) => told("vacuum").with("pressure", p),
        Notice::Leak(result) => leak(result),
        Notice::DryingAgain => told("drying_again"),
        Notice::OilInjected(m) => told("oil_injected").with("mass", m),
        Notice::WarmingVessel => told("warming_vessel"),
        Notice::ChargeStall(m) => told("charge_stall").with("mass", m),
        Notice::Charged(m) => told("charged").with("mass", m),
        Notice::VesselExcess(p) => told("vessel_excess").with("excess", difference(p)),
        Notice::PurgeCosts(m) => told("purge_costs").with("mass", m),
        Notice::Purged(m) => told("purged").with("mass", m),
        Notice::StaticPressure(low, high) => told("static_pressure").with("low", low).with("high", high),
        Notice::DrawnIn(p) => told("drawn_in").with("pressure", p),
        Notice::HosesCleared(m) => told("hoses_cleared").with("mass", m),
        Notice::HosesHold(m) => told("hoses_hold").with("mass", m),
        Notice::VehicleHolds(m, off) => told("vehicle_holds")
            .with("mass", m)
            .with("off", Milligram(off.0.saturating_abs()))
            .with("side", Arg::Choice(if off.0 < 0 { "less" } else { "more" }, &["less", "more"])),
        Notice::UnusualCharge(ordered, usual) => told("unusual_charge")
            .with("ordered", ordered)
            .with("usual", usual)
            .with("side", Arg::Choice(if usual > ordered { "low" } else { "high" }, &["low", "high"])),
        Notice::Release => told("release"),
        Notice::LateScan(by) => told("late_scan").with("time", Arg::Whole(by.0.into())),
        Notice::Unsound(input, why) => {
            told("unsound").with("input", Arg::Tag(input.tag())).with("why", told(broken(why)))
        }
        Notice::Sound(input) => told("sound").with("input", Arg::Tag(input.tag())),
        Notice::CodeRefused(of, why) => told("code_refused").with("part", part(of)).with("why", code(why)),
        Notice::Exchanged(of, release) => told("exchanged")
            .with("part", part(of))
            .with("by", Arg::Choice(if release { "release" } else { "code" }, &["code", "release"])),
        Notice::NotStored => told("not_stored"),
        Notice::LineStands(p) => told("line_stands").with("pressure", p),
        Notice::CodeAwaited(of) => told("code_awaited").with("part", part(of)),
        Notice::WeightOff(off) => told("weight_off")
            .with("off", Milligram(off.0.saturating_abs()))
            .with("side", Arg::Choice(if off.0 < 0 { "less" } else { "more" }, &["less", "more"])),
        Notice::Filled(m) if m < Milligram(0) => told("given_away").with("mass", Milligram(0).minus(m)),
        Notice::Filled(m) => told("filled").with("mass", m),
        Notice::VesselHolds(m) => told("vessel_holds").with("mass", m),
        Notice::Worn(of, share) => told("worn").with("part", wears(of)).with("share", trip::permille(share.0)),
    }
}

fn difference(of: AbsPa) -> Amount {
    Amount::Difference(f64::from(of.0))
}

/// Result of a vacuum hold.
fn leak(of: LeakResult) -> Message {
    let loss = |milligram: i64| Amount::Loss(milligram as f64 * 1e-6);
    let inflow = |micro: i32| Arg::Power(f64::from(micro) * 1e-6, 2);
    let shape = match of.verdict {
        LeakVerdict::Tight => {
            return Message::from("leak-tight")
                .with("inflow", inflow(of.below_micro()))
                .with("loss", loss(of.below_milligram_per_year()))
                .with("least", loss(of.smallest_milligram_per_year()));
        }
        LeakVerdict::Leak => "leak",
        LeakVerdict::Moisture => "moisture",
        LeakVerdict::Unknown => "unknown",
    };
    Message::from("leak-found")
        .with("shape", Arg::Choice(shape, &["leak", "moisture", "unknown"]))
        .with("inflow", inflow(of.micro_pa_m3_per_s))
}

/// Stable id of a question, for scenario files, and of its text.
pub const fn question(of: Question) -> &'static str {
    match of {
        Question::Purge => "ask_purge",
        Question::SampleFilterClean => "ask_sample_filter",
        Question::CircuitOpened => "ask_circuit_opened",
        Question::FillNitrogen => "ask_fill_nitrogen",
        Question::ReleaseByHand => "ask_release_by_hand",
        Question::RunVehicleCompressor => "ask_vehicle_compressor",
        Question::DrawIn => "ask_draw_in",
        Question::ShutCouplers => "ask_shut_couplers",
        Question::UnusualCharge => "ask_unusual_charge",
        Question::Task(of) => task(of),
    }
}

const fn task(of: Task) -> &'static str {
    match of {
        Task::ParkCouplers => "ask_park_couplers",
        Task::ChangeDrier => "ask_change_drier",
        Task::ChangePumpOil => "ask_change_pump_oil",
        Task::FreePlatform => "ask_free_platform",
        Task::PutWeight => "ask_put_weight",
        Task::TakeWeight => "ask_take_weight",
        Task::ShutCylinder => "ask_shut_cylinder",
        Task::ChangeSampleFilter => "ask_change_sample_filter",
        Task::GiveTestGas => "ask_give_test_gas",
        Task::TakeTestGas => "ask_take_test_gas",
        Task::PumpUpSwitch => "ask_pump_up_switch",
        Task::EaseSwitch => "ask_ease_switch",
        Task::ChangeReliefValve => "ask_change_relief_valve",
        Task::AcceptLoss => "ask_accept_loss",
        Task::ChangeVessel => "ask_change_vessel",
        Task::HangCylinder => "ask_hang_cylinder",
        Task::ShutMixed => "ask_shut_mixed",
    }
}

const fn field(of: Field) -> &'static str {
    match of {
        Field::Charge => "field-charge",
        Field::Evacuate => "field-evacuate",
        Field::Depth => "field-depth",
        Field::LeakHold => "field-leak_hold",
        Field::Circuit => "field-circuit",
        Field::TestOver => "field-test_over",
        Field::TestHold => "field-test_hold",
        Field::OilExtra => "field-oil_extra",
        Field::Mass => "field-mass",
        Field::Phases => "field-phases",
    }
}

/// Why a command was refused.
pub fn refusal(why: Refusal) -> Message {
    let told = Message::from;
    match why {
        Refusal::Busy => told("refusal-busy"),
        Refusal::RepeatedId => told("refusal-repeated_id"),
        Refusal::NothingOrdered => told("refusal-nothing_ordered"),
        Refusal::OutOfRange(of) => told("refusal-out_of_range").with("field", told(field(of))),
        Refusal::Tripped(row) => told("refusal-tripped").with("row", Arg::Tag(row.as_str())),
        Refusal::NotPaused => told("refusal-not_paused"),
        Refusal::NotRunning => told("refusal-not_running"),
        Refusal::NoQuestion => told("refusal-no_question"),
        Refusal::QuestionClosed => told("refusal-question_closed"),
        Refusal::NothingToReset => told("refusal-nothing_to_reset"),
        Refusal::OnFlushPort => told("refusal-on_flush_port"),
        Refusal::NotOnFlushPort => told("refusal-not_on_flush_port"),
        Refusal::NotFlushed => told("refusal-not_flushed"),
        Refusal::HosesForeign => told("refusal-hoses_foreign"),
    }
}

/// A part that wears.
fn wears(of: Part) -> Arg {
    Arg::Choice(if of == Part::FilterDrier { "drier" } else { "oil" }, &["drier", "oil"])
}

/// What a code is typed for.
fn part(of: Part) -> Arg {
    let word = match of {
        Part::FilterDrier => "drier",
        Part::PumpOil => "oil",
        Part::Record => "record",
    };
    Arg::Choice(word, &["drier", "oil", "record"])
}

/// Why a code is not taken.
pub fn code(why: CodeFault) -> Message {
    let told = Message::from;
    match why {
        CodeFault::Mistyped => told("code-mistyped"),
        CodeFault::OtherVersion => told("code-other_version"),
        CodeFault::NotOurs => told("code-not_ours"),
        CodeFault::OtherKind(Kind::FilterDrier) => told("code-of_drier"),
        CodeFault::OtherKind(Kind::PumpOil) => told("code-of_oil"),
        CodeFault::OtherKind(Kind::Release) => told("code-is_release"),
        CodeFault::UsedBefore => told("code-used_before"),
        CodeFault::TooOld => told("code-too_old"),
        CodeFault::Wait(left) => told("code-wait").with("time", Arg::Whole(left.0.div_ceil(1_000).into())),
        CodeFault::NotStored => told("code-not_stored"),
    }
}
