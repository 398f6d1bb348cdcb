//! English words for what the core says: notices, refusals, reasons. Kept outside the core, so that other languages are other files.

use valvewright_core::input::Broken;
use valvewright_core::interlock::table::{Condition, Level, Side};
use valvewright_core::interlock::{FirstOut, RowId, Watch};
use valvewright_core::job::{LeakResult, LeakVerdict, Outcome};
use valvewright_core::order::Field;
use valvewright_core::talk::{Notice, Question, Refusal};
use valvewright_core::units::{AbsPa, CentiKelvin, Milliamp, Milligram, Millivolt, Permille, PermilleLfl, Rpm};

pub use super::reasons::{code, gas, part, phase, reason};
use crate::display::{Amount, Sentence};
use crate::matrix::words as table;
use crate::say;

/// Word of a leak verdict in results.
pub const fn leak(verdict: LeakVerdict) -> &'static str {
    match verdict {
        LeakVerdict::Unknown => "not_checked",
        LeakVerdict::Tight => "pass",
        LeakVerdict::Leak => "leak",
        LeakVerdict::Moisture => "moisture",
    }
}

fn field(of: Field) -> &'static str {
    match of {
        Field::Charge => "charge",
        Field::Evacuate => "evacuation time",
        Field::Depth => "evacuation depth",
        Field::LeakHold => "leak hold time",
        Field::Circuit => "circuit volume",
        Field::TestOver => "test pressure",
        Field::TestHold => "test time",
        Field::OilExtra => "extra oil",
    }
}

/// Why a command was refused.
pub fn refusal(why: Refusal) -> String {
    match why {
        Refusal::Busy => "an order is running; abort it or wait".to_owned(),
        Refusal::RepeatedId => "this start was given before; it is not done twice".to_owned(),
        Refusal::NothingOrdered => "the order names no phase".to_owned(),
        Refusal::OutOfRange(f) => format!("the {} is outside its range", field(f)),
        Refusal::Tripped(row) => format!("interlock {} stands; clear its cause, then press reset", row.as_str()),
        Refusal::NotPaused => "nothing is paused".to_owned(),
        Refusal::NotRunning => "nothing is running".to_owned(),
        Refusal::NoQuestion => "no question is open".to_owned(),
        Refusal::QuestionClosed => "the question this answers is closed; read the one that is open now".to_owned(),
        Refusal::NothingToReset => "nothing is latched".to_owned(),
    }
}

/// A question in words.
pub const fn question(q: Question) -> &'static str {
    match q {
        Question::Purge => "Purge the vessel at that cost?",
        Question::SampleFilterClean => "Is the sample filter free of oil?",
        Question::CircuitOpened => {
            "The circuit was not recovered. Was it opened, so that it holds no refrigerant, and may it be evacuated?"
        }
        Question::FillNitrogen => {
            "Fill the circuit at the vehicle with dry nitrogen to the ordered pressure, through a regulator, and shut the bottle. Done?"
        }
        Question::ReleaseByHand => {
            "The circuit holds air or nitrogen under pressure. Let it out slowly by hand at the vehicle, away from faces and flames. Done?"
        }
        Question::RunVehicleCompressor => {
            "Charge flow has stopped. Start the vehicle's A/C; the charge goes to the low side only?"
        }
        Question::DrawIn => {
            "Shut the high-side coupler and run the vehicle's A/C, so that it draws in what the hoses hold. Done?"
        }
        Question::ShutCouplers => "Shut both couplers at the vehicle by hand, stop its A/C, then confirm.",
        Question::UnusualCharge => "Compare this charge with the vehicle's label. Charge so much all the same?",
    }
}

/// Stable id of a question, for scenario files.
pub const fn question_id(q: Question) -> &'static str {
    match q {
        Question::Purge => "ask_purge",
        Question::SampleFilterClean => "ask_sample_filter",
        Question::CircuitOpened => "ask_circuit_opened",
        Question::FillNitrogen => "ask_fill_nitrogen",
        Question::ReleaseByHand => "ask_release_by_hand",
        Question::RunVehicleCompressor => "ask_vehicle_compressor",
        Question::DrawIn => "ask_draw_in",
        Question::ShutCouplers => "ask_shut_couplers",
        Question::UnusualCharge => "ask_unusual_charge",
    }
}

/// An outcome in words.
pub fn outcome(o: Outcome) -> Sentence {
    match o {
        Outcome::Done => "done".into(),
        Outcome::Skipped(why) => say!["skipped: ", reason(why)],
        Outcome::Failed(why) => reason(why),
        Outcome::Aborted => "ended by the operator".into(),
    }
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

/// The condition of a row that looks at `of`.
pub fn condition(row: RowId, of: Watch) -> Option<&'static Condition> {
    row.row()?.causes.iter().find(|one| one.watch == of)
}

/// The set point of one cause of a row, in words.
fn set_point(row: RowId, of: Watch) -> Sentence {
    let side = if of.side() == Side::High { "at or above " } else { "below " };
    condition(row, of).map_or_else(Sentence::default, |one| match one.trip {
        trip @ Level::OverBarometer(_) => say![", trips ", table::level(trip)],
        trip => say![", trips ", side, table::level(trip)],
    })
}

/// What made a row trip: the reading with its unit, its set point and its quality, or the condition that stands.
pub fn first_reading(first: Option<FirstOut>) -> Sentence {
    let Some(FirstOut { row, watch: of, value, bad, .. }) = first else {
        return "latched from before, its cause is gone".into();
    };
    let (name, figure) = (table::watch(of), table::level(read(of, value)));
    match (figure.is_empty(), of.side()) {
        (true, _) if bad => say![name, ": the input is bad"],
        _ if bad => say![name, ": the input is bad, last good value ", figure],
        (true, _) => name,
        (false, Side::State) => say![name, ", reading ", figure],
        (false, _) => say![name, " ", figure, set_point(row, of)],
    }
}

/// What a tripped row waits for: the end of its cause, and a press of reset where it latches.
pub fn waits_for(row: RowId, first: Option<FirstOut>) -> Sentence {
    let Some(latch) = row.row().map(|row| row.latch) else { return Sentence::default() };
    match first.and_then(|first| condition(row, first.watch)) {
        None => "a fresh press of reset".into(),
        Some(one) if one.watch.side() == Side::State => {
            say!["the end of this", table::hold(one.clear_hold), table::then(latch)]
        }
        Some(one) => say![table::watch(one.watch), " ", table::clears(one), table::then(latch)],
    }
}

/// A trip in words: which row, what it read, and what clears it.
fn tripped(row: RowId, first: Option<FirstOut>) -> Sentence {
    let clear = row.row().map_or("", |row| row.reset);
    say!["Interlock ", row.as_str(), " tripped: ", first_reading(first), ". To clear: ", clear, "."]
}

/// Every id a notice can have.
pub const IDS: &[&str] = &[
    "order_started",
    "interrupted",
    "refused",
    "proving_air",
    "air_proven",
    "air_not_proven",
    "phase_started",
    "phase_ended",
    "order_ended",
    "paused",
    "resumed",
    "ask_purge",
    "ask_sample_filter",
    "ask_circuit_opened",
    "ask_fill_nitrogen",
    "ask_release_by_hand",
    "ask_vehicle_compressor",
    "ask_draw_in",
    "ask_shut_couplers",
    "ask_unusual_charge",
    "unusual_charge",
    "drawn_in",
    "tripped",
    "cleared",
    "low_sample_pressure",
    "sampled",
    "gas",
    "recovery_hold",
    "recovery_restart",
    "recovered",
    "air_taken",
    "oil_drained",
    "pressure_test",
    "nitrogen_left",
    "moisture_plateau",
    "vacuum",
    "leak",
    "drying_again",
    "oil_injected",
    "warming_vessel",
    "charge_stall",
    "charged",
    "vessel_excess",
    "purge_costs",
    "purged",
    "static_pressure",
    "hoses_cleared",
    "hoses_hold",
    "vehicle_holds",
    "release",
    "late_scan",
    "unsound",
    "sound",
    "code_refused",
    "exchanged",
    "not_stored",
];

/// Result of a vacuum hold.
fn held(r: LeakResult) -> Sentence {
    let loss = |milligram: i64| Amount::Loss(milligram as f64 * 1e-6);
    if r.verdict == LeakVerdict::Tight {
        return say![
            format!(
                "Vacuum hold: no leak above the limit; air inflow below {:.2e} Pa m3/s, which stands for a refrigerant loss below ",
                f64::from(r.below_micro()) * 1e-6
            ),
            loss(r.below_milligram_per_year()),
            ". This hold could not have seen less than ",
            loss(r.smallest_milligram_per_year()),
            ": hold longer, or search under pressure with a detector."
        ];
    }
    let shape = match r.verdict {
        LeakVerdict::Tight => "no leak above the limit",
        LeakVerdict::Leak => "a straight rise, a leak",
        LeakVerdict::Moisture => "a rise that flattens, moisture or oil",
        LeakVerdict::Unknown => "not judged",
    };
    say!["Vacuum hold: ", shape, format!(", {:.2e} Pa m3/s in its last third.", f64::from(r.micro_pa_m3_per_s) * 1e-6)]
}

/// Why a reading is bad, as the rest of a sentence.
pub fn broken(why: Broken) -> &'static str {
    match why {
        Broken::Under => "its current is below 3.6 mA, as of a broken wire",
        Broken::Over => "its current is above 21 mA, as of a short circuit",
        Broken::Frozen => "it stands still where a live one would move",
        Broken::Rail => "its converter is at the end of its range",
        Broken::Noisy => "it has been too rough for seconds to measure anything",
        Broken::Old => "no value has come for half a second",
        Broken::Contradicted => "other readings contradict it",
    }
}

/// Id and English text of a notice.
pub fn notice(n: &Notice) -> (&'static str, Sentence) {
    match *n {
        Notice::OrderStarted(id) => ("order_started", say![format!("Order {id} accepted.")]),
        Notice::Interrupted(id, charged) => (
            "interrupted",
            say![
                format!(
                    "Order {id} was interrupted by a loss of power or a restart; nothing of it goes on. It had charged about "
                ),
                charged,
                "."
            ],
        ),
        Notice::Refused(why) => ("refused", say!["Refused: ", refusal(why), "."]),
        Notice::ProvingAir => {
            ("proving_air", "Flow switch seen open; flushing the cabinet with five air changes.".into())
        }
        Notice::AirProven => ("air_proven", "Cabinet air flow is proven.".into()),
        Notice::AirNotProven => {
            ("air_not_proven", "Air flow could not be proven: check fan K-1 and switch FSL-1.".into())
        }
        Notice::PhaseStarted(kind) => ("phase_started", say!["Phase begins: ", phase(kind), "."]),
        Notice::PhaseEnded(kind, o) => ("phase_ended", say!["Phase ended: ", phase(kind), ": ", outcome(o), "."]),
        Notice::OrderEnded(true) => ("order_ended", "Order done.".into()),
        Notice::OrderEnded(false) => ("order_ended", "Order ended before its plan was met.".into()),
        Notice::Paused => ("paused", "Paused: everything is shut.".into()),
        Notice::Resumed => ("resumed", "Going on.".into()),
        Notice::Asked(asked) => (question_id(asked.question), question(asked.question).into()),
        Notice::Tripped(row, first) => ("tripped", tripped(row, first)),
        Notice::Cleared(row) => ("cleared", say!["Interlock ", row.as_str(), " released."]),
        Notice::LowSamplePressure(p) => {
            ("low_sample_pressure", say!["Only ", p, " at the hoses: waiting before the gas sample."])
        }
        Notice::Sampled(named, air) => (
            "sampled",
            say![format!(
                "Sample: {:.1} % of the declared refrigerant, {:.1} % air.",
                f64::from(named.0) / 10.0,
                f64::from(air.0) / 10.0
            )],
        ),
        Notice::Gas(v) => ("gas", say!["The gas is ", gas(v), "."]),
        Notice::RecoveryHold(p) => ("recovery_hold", say![p, " reached: holding to see whether pressure comes back."]),
        Notice::RecoveryRestart(p) => ("recovery_restart", say!["Pressure is back at ", p, ": recovering again."]),
        Notice::Recovered(m) => ("recovered", say!["Recovered ", m, "."]),
        Notice::AirTaken(m) => (
            "air_taken",
            say!["Some ", m, " of what came is air, by the vessel's pressure: let the vessel rest, then purge it."],
        ),
        Notice::OilDrained(m) => ("oil_drained", say!["Used oil drained: ", m, "."]),
        Notice::MoisturePlateau(p) => {
            ("moisture_plateau", say!["Vacuum stands at ", p, ": evacuating longer, water may be boiling."])
        }
        Notice::PressureTest(fall, least) => (
            "pressure_test",
            say![
                "Pressure test: the pressure fell by ",
                Amount::Difference(f64::from(fall.0)),
                " beyond what its temperature explains; less than ",
                Amount::Difference(f64::from(least.0)),
                " beyond it says nothing."
            ],
        ),
        Notice::NitrogenLeft => (
            "nitrogen_left",
            "The circuit may still stand under nitrogen: let it out by hand before a coupler or fitting is opened."
                .into(),
        ),
        Notice::Vacuum(p) => ("vacuum", say!["Evacuation ends at ", p, "."]),
        Notice::Leak(r) => ("leak", held(r)),
        Notice::DryingAgain => ("drying_again", "The circuit is wet, not leaking: evacuating again.".into()),
        Notice::OilInjected(m) => ("oil_injected", say!["New oil injected: ", m, "."]),
        Notice::WarmingVessel => ("warming_vessel", "Warming the vessel to have pressure for the charge.".into()),
        Notice::ChargeStall(m) => ("charge_stall", say!["Charge flow has stopped, ", m, " are missing."]),
        Notice::Charged(m) => ("charged", say!["Charged ", m, ", hose content taken off."]),
        Notice::VesselExcess(p) => {
            ("vessel_excess", say!["Vessel stands ", Amount::Difference(f64::from(p.0)), " above saturation."])
        }
        Notice::PurgeCosts(m) => ("purge_costs", say!["A purge will vent some ", m, " with the air."]),
        Notice::Purged(m) => ("purged", say!["Purged: ", m, " vented."]),
        Notice::StaticPressure(low, high) => {
            ("static_pressure", say!["Static pressures: low side ", low, ", high side ", high, "."])
        }
        Notice::DrawnIn(p) => ("drawn_in", say!["The vehicle has drawn the hoses down to ", p, "."]),
        Notice::HosesCleared(m) => ("hoses_cleared", say!["The hoses held ", m, "."]),
        Notice::HosesHold(m) => (
            "hoses_hold",
            say![
                "Hoses and manifold may hold up to ",
                m,
                ": shut both couplers, and order a hose clearing before they come off."
            ],
        ),
        Notice::VehicleHolds(m, off) => (
            "vehicle_holds",
            say![
                "The vehicle got ",
                m,
                ", ",
                Milligram(off.0.saturating_abs()),
                if off.0 < 0 { " less" } else { " more" },
                " than ordered."
            ],
        ),
        Notice::UnusualCharge(ordered, usual) => (
            "unusual_charge",
            say![
                "The order charges ",
                ordered,
                "; for this circuit and after what was recovered ",
                if usual > ordered { "from " } else { "up to " },
                usual,
                if usual > ordered { " on is usual." } else { " is usual." }
            ],
        ),
        Notice::Release => ("release", "The couplers may be taken off.".into()),
        Notice::LateScan(by) => ("late_scan", say![format!("Late: up to {} ms between two scans.", by.0)]),
        Notice::Unsound(input, why) => ("unsound", say![input.tag(), " is not to be believed: ", broken(why), "."]),
        Notice::Sound(input) => ("sound", say![input.tag(), " can be believed again."]),
        Notice::CodeRefused(of, why) => {
            ("code_refused", say!["The code for the ", part(of), " is not taken: ", code(why), ". Its life stays as it was."])
        }
        Notice::Exchanged(of, false) => {
            ("exchanged", say!["The ", part(of), " is new; its code is used up, and both are on record."])
        }
        Notice::Exchanged(of, true) => (
            "exchanged",
            say!["The ", part(of), " is new by a supervisor's release, which is used up; both are on record."],
        ),
        Notice::NotStored => (
            "not_stored",
            "The record store does not take what it is given: mend it before the next order. What happens now may be lost with the power."
                .into(),
        ),
    }
}
