//! English words for what the core says: notices, refusals, reasons. Kept outside the core, so that other languages are other files.

use valvewright_core::interlock::table::{Level, Side};
use valvewright_core::interlock::{FirstOut, RowId, Watch};
use valvewright_core::job::{GasVerdict, GiveUp, LeakVerdict, Outcome, PhaseKind};
use valvewright_core::order::Field;
use valvewright_core::talk::{Notice, Question, Refusal};
use valvewright_core::units::{AbsPa, Milligram};

fn bar(p: AbsPa) -> String {
    if p.0 < 20_000 {
        format!("{:.2} mbar", f64::from(p.0) / 100.0)
    } else {
        format!("{:.2} bar", f64::from(p.0) / 1e5)
    }
}

fn gram(m: Milligram) -> String {
    format!("{:.1} g", f64::from(m.0) / 1e3)
}

/// Word of a phase for readers.
pub fn phase(kind: PhaseKind) -> &'static str {
    match kind {
        PhaseKind::Purge => "vessel air check",
        PhaseKind::Identify => "identification",
        PhaseKind::Recover => "recovery",
        PhaseKind::DrainOil => "oil drain",
        PhaseKind::Evacuate => "evacuation",
        PhaseKind::LeakCheck => "leak check",
        PhaseKind::InjectOil => "oil injection",
        PhaseKind::Charge => "charge",
        PhaseKind::Verify => "verification",
        PhaseKind::ClearHoses => "hose clearing",
    }
}

/// What a gas verdict means.
pub const fn gas(verdict: GasVerdict) -> &'static str {
    match verdict {
        GasVerdict::Unknown => "not identified",
        GasVerdict::Pure => "pure",
        GasVerdict::Air => "mixed with too much air",
        GasVerdict::Foreign => "a foreign gas",
        GasVerdict::FlammableForeign => "foreign and flammable (hydrocarbon)",
        GasVerdict::Inconclusive => "inconclusive",
    }
}

/// Word of a leak verdict in results.
pub const fn leak(verdict: LeakVerdict) -> &'static str {
    match verdict {
        LeakVerdict::Unknown => "not_checked",
        LeakVerdict::Tight => "pass",
        LeakVerdict::Leak => "leak",
        LeakVerdict::Moisture => "moisture",
    }
}

/// Why something was given up, and how to clear it.
pub fn reason(why: GiveUp) -> String {
    let text = match why {
        GiveUp::NotCoupled => "the couplers are not on the vehicle; connect both",
        GiveUp::ReadingBad => "a reading it cannot do without is bad; see the input list and mend the transmitter",
        GiveUp::ScaleUnsteady => "the vessel scale did not come to rest; keep hands and hoses off the platform",
        GiveUp::PressureTooLow => "too little pressure to take a gas sample; run the A/C or warm the vehicle",
        GiveUp::PressureTooHigh => "hose pressure is too high; let the circuit cool or recover first",
        GiveUp::SampleFilterOily => "oil in the sample filter; change it and drain the sample line",
        GiveUp::IdentifierUnsure => "the identifier gave no two samples that agree; check its filter and connection",
        GiveUp::GasRefused(v) => {
            return format!("the gas is {}; it must not go into the vessel, use a separate cylinder", gas(v));
        }
        GiveUp::RefusalStands(v) => {
            return format!(
                "earlier samples on this connection were {}; take the couplers off, find out why, and begin anew",
                gas(v)
            );
        }
        GiveUp::NoIdentity => "no valid identification for this connection in the last ten minutes; identify first",
        GiveUp::VesselFull => "the vessel is at its fill limit; move refrigerant to another cylinder",
        GiveUp::RecoveryTimeout => "end pressure was not reached in time; look for a shut coupler or a worn compressor",
        GiveUp::DrawsAir => {
            "air is drawn in as fast as gas is taken out: the circuit is open or leaks grossly, find the leak"
        }
        GiveUp::KeepsRising => "pressure keeps coming back; liquid or oil still gives off gas, or a coupler leaks by",
        GiveUp::PressureForVacuum => {
            "hose pressure is too high for the vacuum pump; recover first, or release air or nitrogen by hand"
        }
        GiveUp::NotRecovered => {
            "the circuit may hold refrigerant, which the vacuum pump would blow out; identify and recover first"
        }
        GiveUp::NoVacuum => "vacuum cannot be reached; the circuit is open or leaks grossly, find the leak",
        GiveUp::GaugeNotLive => "the vacuum gauge did not move when it had to; check PT-4",
        GiveUp::Leaks => "the pressure rises straight; find and mend the leak before charging",
        GiveUp::LeakStands => {
            "an earlier hold on this connection found a leak; mend it, then evacuate before the next leak check"
        }
        GiveUp::StillWet => {
            "the pressure rises and flattens: moisture, or refrigerant leaving oil; evacuate longer or warmer"
        }
        GiveUp::NoLeakVerdict => "no passed leak check for this connection in the last thirty minutes",
        GiveUp::VesselLow { gives, needs } => {
            return format!(
                "the vessel can give {} of the {} this charge needs; fill the vessel",
                gram(gives),
                gram(needs)
            );
        }
        GiveUp::SeparatorPressure(p) => {
            return format!(
                "the separator (PT-5) stands at {} abs, above the 1.3 bar abs at which its drain may open; recover or clear the hoses first",
                bar(p)
            );
        }
        GiveUp::GaugesDisagree => {
            "the separator (PT-5) reads higher than the hoses (PT-2, PT-3) that feed it; compare the gauges and mend the one that is off"
        }
        GiveUp::NoRoom { room, needs } => {
            return format!(
                "the vessel has room for {}, the vehicle may hold {}; move refrigerant to another cylinder",
                gram(room),
                gram(needs)
            );
        }
        GiveUp::ChargeStalled => "charge flow stopped and nothing brought it back; cool the vehicle or warm the vessel",
        GiveUp::Declined => "the operator said no",
        GiveUp::Blocked => {
            "an interlock or permissive withheld it for ten minutes; see the matrix for what it waits for"
        }
        GiveUp::NotRested => "the vessel has not rested four hours with wall and air within 2 K",
        GiveUp::NothingToPurge => "no air worth a purge",
        GiveUp::PurgeLossLimit => {
            "purging stopped at its limit, of refrigerant lost or of pulses; rest the vessel in a cold place and repeat"
        }
        GiveUp::NotOrdered => "nothing ordered",
        GiveUp::HighVoltage => "no oil into a high-voltage compressor without a flush record",
        GiveUp::NoOil => "the new-oil bottle gives nothing; fill it and check its line",
        GiveUp::OilBottleFull => "the used-oil bottle is full; empty it",
        GiveUp::PressureImplausible => {
            "static pressures do not fit the ambient temperature; check the charge and the gauges"
        }
        GiveUp::NoAnswer => "no answer came in time",
        GiveUp::TookTooLong => "it ran longer than such a phase may; see its notices for what it waited for",
        GiveUp::TripsAgain => {
            "interlocks tripped and let go again and again; see which in the list of trips, and remove the cause"
        }
        GiveUp::ScaleDisagrees => {
            "the vessel scale shows what cannot be; free its platform, check it with a weight, and recover and weigh this charge"
        }
        GiveUp::Overcharged(by) => {
            return format!("the vehicle holds {} more than ordered; recover it and charge again", gram(by));
        }
        GiveUp::Undercharged(by) => {
            return format!("the vehicle holds {} less than ordered; recover it and charge again", gram(by));
        }
        GiveUp::CouplersMoved => {
            "the couplers were moved, or not watched for ten seconds: what was known of the vehicle is gone; \
             the hoses may still hold refrigerant, connect and begin anew"
        }
    };
    text.to_owned()
}

fn field(of: Field) -> &'static str {
    match of {
        Field::Charge => "charge",
        Field::Evacuate => "evacuation time",
        Field::Depth => "evacuation depth",
        Field::LeakHold => "leak hold time",
        Field::Circuit => "circuit volume",
        Field::OilExtra => "extra oil",
    }
}

fn refusal(why: Refusal) -> String {
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
        Question::RunVehicleCompressor => {
            "Charge flow has stopped. Start the vehicle's A/C; the charge goes to the low side only?"
        }
        Question::DrawIn => {
            "Shut the high-side coupler and run the vehicle's A/C, so that it draws in what the hoses hold. Done?"
        }
        Question::ShutCouplers => "Shut both couplers at the vehicle by hand, stop its A/C, then confirm.",
    }
}

/// Stable id of a question, for scenario files.
pub const fn question_id(q: Question) -> &'static str {
    match q {
        Question::Purge => "ask_purge",
        Question::SampleFilterClean => "ask_sample_filter",
        Question::CircuitOpened => "ask_circuit_opened",
        Question::RunVehicleCompressor => "ask_vehicle_compressor",
        Question::DrawIn => "ask_draw_in",
        Question::ShutCouplers => "ask_shut_couplers",
    }
}

/// An outcome in words.
pub fn outcome(o: Outcome) -> String {
    match o {
        Outcome::Done => "done".to_owned(),
        Outcome::Skipped(why) => format!("skipped: {}", reason(why)),
        Outcome::Failed(why) => reason(why),
        Outcome::Aborted => "ended by the operator".to_owned(),
    }
}

/// What a cause looks at, or the condition it says, as a technician would name it.
const fn watch(of: Watch) -> &'static str {
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
        Watch::AirFlow => "the air flow switch (FSL-1) is open: no air flow",
        Watch::Door => "the service door (ZS-1) is open",
        Watch::AirProof => "air flow is not proven yet",
        Watch::StopPressed => "the emergency stop (HS-1) is pressed",
        Watch::StopDisagrees => "the channels of the emergency stop (HS-1) disagree",
    }
}

/// The figure of a cause with its unit; empty for a contact or a verdict.
fn figure(of: Watch, value: i32) -> String {
    match of {
        Watch::CabinetGas => format!("{:.1} % LFL", f64::from(value) / 10.0),
        Watch::VesselFill => format!("{:.1} % of the fill limit", f64::from(value) / 10.0),
        Watch::VesselPressure | Watch::PumpAdmission | Watch::PumpInlet | Watch::Suction | Watch::SeparatorPressure => {
            format!("{} abs", bar(AbsPa(value)))
        }
        Watch::HeaterSkin | Watch::DischargeTemperature | Watch::HeaterEffect | Watch::HeaterWelded => {
            format!("{:.1} degC", f64::from(value) / 100.0 - 273.15)
        }
        Watch::HeaterCover | Watch::ChargeScale | Watch::ScaleCreep | Watch::ScaleLost => {
            format!("{:.3} kg", f64::from(value) / 1e6)
        }
        Watch::MotorCurrent => format!("{:.1} A", f64::from(value) / 1e3),
        Watch::BridgesApart => format!("{:.1} g", f64::from(value) / 1e3),
        Watch::FanSpeed => format!("{value} rpm"),
        _ => String::new(),
    }
}

/// The set point of one cause of a row, in words.
fn set_point(row: RowId, of: Watch) -> String {
    let cause = row.row().and_then(|row| row.causes.iter().find(|c| c.watch == of));
    let side = if of.side() == Side::High { "at or above" } else { "below" };
    cause.map_or_else(String::new, |c| match c.trip {
        Level::OverBarometer(over) => format!(", trips {} mbar over the barometer", over.0 / 100),
        trip => format!(", trips {side} {}", figure(of, trip.number())),
    })
}

/// What made a row trip: the reading with its unit, its set point and its quality, or the condition that stands.
pub fn first_reading(first: Option<FirstOut>) -> String {
    let Some(FirstOut { row, watch: of, value, bad, .. }) = first else {
        return "latched from before, its cause is gone".to_owned();
    };
    let (name, figure) = (watch(of), figure(of, value));
    if bad {
        return format!("{name}: the input is bad, last good value {figure}");
    }
    match (figure.is_empty(), of.side()) {
        (true, _) => name.to_owned(),
        (false, Side::State) => format!("{name}, reading {figure}"),
        (false, _) => format!("{name} {figure}{}", set_point(row, of)),
    }
}

/// A trip in words: which row, what it read, and what clears it.
fn tripped(row: RowId, first: Option<FirstOut>) -> String {
    let clear = row.row().map_or("", |row| row.reset);
    format!("Interlock {row} tripped: {}. To clear: {clear}.", first_reading(first))
}

/// Every id a notice can have.
pub const IDS: &[&str] = &[
    "order_started",
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
    "ask_vehicle_compressor",
    "ask_draw_in",
    "ask_shut_couplers",
    "drawn_in",
    "tripped",
    "cleared",
    "low_sample_pressure",
    "sampled",
    "gas",
    "recovery_hold",
    "recovery_restart",
    "recovered",
    "oil_drained",
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
];

/// Id and English text of a notice.
pub fn notice(n: &Notice) -> (&'static str, String) {
    match *n {
        Notice::OrderStarted(id) => ("order_started", format!("Order {id} accepted.")),
        Notice::Refused(why) => ("refused", format!("Refused: {}.", refusal(why))),
        Notice::ProvingAir => {
            ("proving_air", "Flow switch seen open; flushing the cabinet with five air changes.".to_owned())
        }
        Notice::AirProven => ("air_proven", "Cabinet air flow is proven.".to_owned()),
        Notice::AirNotProven => {
            ("air_not_proven", "Air flow could not be proven: check fan K-1 and switch FSL-1.".to_owned())
        }
        Notice::PhaseStarted(kind) => ("phase_started", format!("Phase begins: {}.", phase(kind))),
        Notice::PhaseEnded(kind, o) => ("phase_ended", format!("Phase ended: {}: {}.", phase(kind), outcome(o))),
        Notice::OrderEnded(true) => ("order_ended", "Order done.".to_owned()),
        Notice::OrderEnded(false) => ("order_ended", "Order ended before its plan was met.".to_owned()),
        Notice::Paused => ("paused", "Paused: everything is shut.".to_owned()),
        Notice::Resumed => ("resumed", "Going on.".to_owned()),
        Notice::Asked(asked) => (question_id(asked.question), question(asked.question).to_owned()),
        Notice::Tripped(row, first) => ("tripped", tripped(row, first)),
        Notice::Cleared(row) => ("cleared", format!("Interlock {} released.", row.as_str())),
        Notice::LowSamplePressure(p) => {
            ("low_sample_pressure", format!("Only {} at the hoses: waiting before the gas sample.", bar(p)))
        }
        Notice::Sampled(named, air) => (
            "sampled",
            format!(
                "Sample: {:.1} % of the declared refrigerant, {:.1} % air.",
                f64::from(named.0) / 10.0,
                f64::from(air.0) / 10.0
            ),
        ),
        Notice::Gas(v) => ("gas", format!("The gas is {}.", gas(v))),
        Notice::RecoveryHold(p) => {
            ("recovery_hold", format!("{} reached: holding to see whether pressure comes back.", bar(p)))
        }
        Notice::RecoveryRestart(p) => {
            ("recovery_restart", format!("Pressure is back at {}: recovering again.", bar(p)))
        }
        Notice::Recovered(m) => ("recovered", format!("Recovered {}.", gram(m))),
        Notice::OilDrained(m) => ("oil_drained", format!("Used oil drained: {}.", gram(m))),
        Notice::MoisturePlateau(p) => {
            ("moisture_plateau", format!("Vacuum stands at {}: evacuating longer, water may be boiling.", bar(p)))
        }
        Notice::Vacuum(p) => ("vacuum", format!("Evacuation ends at {}.", bar(p))),
        Notice::Leak(r) if r.verdict == LeakVerdict::Tight => (
            "leak",
            format!(
                "Vacuum hold: no leak above the limit; air inflow below {:.2e} Pa m3/s, which stands for a refrigerant loss below {:.0} g/year. \
                 This hold could not have seen less than {:.0} g/year: hold longer, or search under pressure with a detector.",
                f64::from(r.below_micro()) * 1e-6,
                r.below_milligram_per_year() as f64 * 1e-3,
                r.smallest_milligram_per_year() as f64 * 1e-3
            ),
        ),
        Notice::Leak(r) => (
            "leak",
            format!(
                "Vacuum hold: {}, {:.2e} Pa m3/s in its last third.",
                match r.verdict {
                    LeakVerdict::Tight => "no leak above the limit",
                    LeakVerdict::Leak => "a straight rise, a leak",
                    LeakVerdict::Moisture => "a rise that flattens, moisture or oil",
                    LeakVerdict::Unknown => "not judged",
                },
                f64::from(r.micro_pa_m3_per_s) * 1e-6
            ),
        ),
        Notice::DryingAgain => ("drying_again", "The circuit is wet, not leaking: evacuating again.".to_owned()),
        Notice::OilInjected(m) => ("oil_injected", format!("New oil injected: {}.", gram(m))),
        Notice::WarmingVessel => ("warming_vessel", "Warming the vessel to have pressure for the charge.".to_owned()),
        Notice::ChargeStall(m) => ("charge_stall", format!("Charge flow has stopped, {} are missing.", gram(m))),
        Notice::Charged(m) => ("charged", format!("Charged {}, hose content taken off.", gram(m))),
        Notice::VesselExcess(p) => {
            ("vessel_excess", format!("Vessel stands {:.1} kPa above saturation.", f64::from(p.0) / 1e3))
        }
        Notice::PurgeCosts(m) => ("purge_costs", format!("A purge will vent some {} with the air.", gram(m))),
        Notice::Purged(m) => ("purged", format!("Purged: {} vented.", gram(m))),
        Notice::StaticPressure(low, high) => {
            ("static_pressure", format!("Static pressures: low side {}, high side {}.", bar(low), bar(high)))
        }
        Notice::DrawnIn(p) => ("drawn_in", format!("The vehicle has drawn the hoses down to {}.", bar(p))),
        Notice::HosesCleared(m) => ("hoses_cleared", format!("The hoses held {}.", gram(m))),
        Notice::HosesHold(m) => (
            "hoses_hold",
            format!(
                "Hoses and manifold may hold up to {}: shut both couplers, and order a hose clearing before they come off.",
                gram(m)
            ),
        ),
        Notice::VehicleHolds(m, off) => (
            "vehicle_holds",
            format!(
                "The vehicle got {}, {} {} than ordered.",
                gram(m),
                gram(Milligram(off.0.saturating_abs())),
                if off.0 < 0 { "less" } else { "more" }
            ),
        ),
        Notice::Release => ("release", "The couplers may be taken off.".to_owned()),
        Notice::LateScan(by) => ("late_scan", format!("Late: up to {} ms between two scans.", by.0)),
    }
}
