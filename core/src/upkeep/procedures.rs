//! Every procedure of upkeep, step by step. Times and limits are own choices where no source stands beside them.

use super::steps::{Gauge, Level, Step, Until};
use crate::frame::{Actuator, Actuators};
use crate::kept::{Hoses, Proof};
use crate::order::{PROCEDURE_COUNT, Procedure, Task};
use crate::token::Part;
use Actuator::*;

/// A person's work: twenty minutes, as for any question that means work by hand.
const HANDS: u16 = 20 * 60;
/// A platform that is not at rest by then is leant on.
const REST: u16 = 120;
/// Nothing but the fan.
const AIR_ONLY: Actuators = Actuators::SAFE;
/// The station's own line to the vessel: the hoses stay shut, whatever hangs on them.
const LINE: Actuators = Actuators::of(&[Xv3, Xv4, C1, K1]);
/// From the hoses to the vessel.
const DRAW: Actuators = Actuators::of(&[Xv1, Xv2, Xv3, Xv4, C1, K1]);
/// Hoses and manifold to the vacuum pump.
const EVACUATE: Actuators = Actuators::of(&[Xv1, Xv2, Xv6, P1, K1]);
/// Liquid from the vessel into the high hose.
const RINSE: Actuators = Actuators::of(&[Xv2, Xv5, Xv10, K1]);
/// And back through the low one.
const RETURN: Actuators = Actuators::of(&[Xv1, Xv3, Xv4, C1, K1]);
/// Liquid from the vessel into both hoses.
const RINSE_BOTH: Actuators = Actuators::of(&[Xv1, Xv2, Xv5, Xv10, K1]);
/// What was let into the hoses boils and runs off into the cylinder in this time (own choice).
const RUNS_OFF: u16 = 30;
/// P-1 on the shut manifold.
const PUMP: Actuators = Actuators::of(&[Xv6, P1, K1]);
/// P-1 on nothing, to warm its oil.
const WARM: Actuators = Actuators::of(&[P1, K1]);
/// Hoses open to the shut manifold.
const HOSES_OPEN: Actuators = Actuators::of(&[Xv1, Xv2, K1]);
/// Hoses, manifold and separator as one, with nothing that moves gas: their gauges show the same, or one of them does not follow.
const EVEN: Actuators = Actuators::of(&[Xv1, Xv2, Xv3, K1]);
/// What boiled in the hoses has left liquid as cold as its pressure: it warms for so long before it is drawn once more (own choice).
const WARMS: u16 = 180;
const fn step(on: Actuators, until: Until, within: u16) -> Step {
    Step { on, until, within }
}
const fn done(task: Task) -> Step {
    step(AIR_ONLY, Until::Done(task), HANDS)
}
/// What is kept was read back: some seconds more than a store that works takes.
const STORED: Step = step(AIR_ONLY, Until::Stored, 5);
/// At once or not at all.
const NOW: u16 = 0;

/// The line is drawn down and told before it is opened, and proven tight after.
const FILTER_DRIER: &[Step] = &[
    done(Task::ParkCouplers),
    step(AIR_ONLY, Until::Below(Gauge::Hoses, Level::NotLoaded), NOW),
    step(LINE, Until::Below(Gauge::Separator, Level::Drawn), 300),
    // PT-5 alone is not believed: a line that is loaded after all presses into the hoses.
    step(EVEN, Until::Passed, 10),
    step(AIR_ONLY, Until::Below(Gauge::Hoses, Level::Opened), NOW),
    step(AIR_ONLY, Until::Rests(Gauge::Separator, Level::Stirs), 120),
    step(AIR_ONLY, Until::Below(Gauge::Separator, Level::Opened), NOW),
    step(AIR_ONLY, Until::Told, NOW),
    step(AIR_ONLY, Until::Owed(Proof::InternalLeak), NOW),
    STORED,
    done(Task::ChangeDrier),
    step(AIR_ONLY, Until::Life(Part::FilterDrier), HANDS),
    step(LINE, Until::Below(Gauge::Separator, Level::Drawn), 300),
    step(AIR_ONLY, Until::Rests(Gauge::Separator, Level::Stirs), 120),
    step(AIR_ONLY, Until::LeakCheck, NOW),
];

/// Warm oil runs out better; the new one shows by the depth that P-1 reaches.
const PUMP_OIL: &[Step] = &[
    step(WARM, Until::Passed, 300),
    done(Task::ChangePumpOil),
    step(AIR_ONLY, Until::Life(Part::PumpOil), HANDS),
    step(AIR_ONLY, Until::Below(Gauge::Hoses, Level::NotLoaded), NOW),
    step(PUMP, Until::Below(Gauge::Vacuum, Level::Deep), 600),
];

/// Under vacuum 15 min, under the vessel's own pressure 10 min: the class of half an hour (common practice, no source).
const INTERNAL_LEAK: &[Step] = &[
    done(Task::ParkCouplers),
    step(AIR_ONLY, Until::Below(Gauge::Hoses, Level::NotLoaded), NOW),
    // Hoses and manifold take half a minute; a vehicle that was left on them would take much longer.
    step(EVACUATE, Until::Below(Gauge::Vacuum, Level::Deep), 180),
    step(HOSES_OPEN, Until::Passed, 60),
    step(HOSES_OPEN, Until::Rests(Gauge::Vacuum, Level::Tight), 900),
    step(AIR_ONLY, Until::Keeps(Gauge::Vessel, Level::Loses), 600),
    step(AIR_ONLY, Until::Below(Gauge::CabinetGas, Level::Clean), NOW),
    // A gauge that was stuck in vacuum all the while has proven nothing.
    step(EVEN, Until::Above(Gauge::Vacuum, Level::Woken), 30),
    step(AIR_ONLY, Until::Proven(Proof::InternalLeak), NOW),
    STORED,
];

/// Before, with the weight, after: only then is anything adjusted, where the procedure is to adjust. The weight was shown right by it, so that it is a
/// check too, where it is about the scale that the proof by weight is about.
const WEIGH: &[Step] = &[
    done(Task::FreePlatform),
    step(AIR_ONLY, Until::Zero, REST),
    done(Task::PutWeight),
    step(AIR_ONLY, Until::Span, REST),
    done(Task::TakeWeight),
    step(AIR_ONLY, Until::Return, REST),
    step(AIR_ONLY, Until::Adjusted, NOW),
    step(AIR_ONLY, Until::Weighs, NOW),
    STORED,
];

/// Identified, weighed, drawn in, shut, emptied, weighed.
const FILL_VESSEL: &[Step] = &[
    step(AIR_ONLY, Until::Identified, NOW),
    step(AIR_ONLY, Until::Room, REST),
    // 30 kg of a bus yard's station at some 10 g/s.
    step(DRAW, Until::Taken, 3_600),
    done(Task::ShutCylinder),
    step(DRAW, Until::Below(Gauge::Hoses, Level::Drawn), 1_800),
    step(AIR_ONLY, Until::Weighed, REST),
];

/// The identification that comes first is the trial.
const IDENTIFIER: &[Step] =
    &[step(AIR_ONLY, Until::Identified, NOW), step(AIR_ONLY, Until::Proven(Proof::Identifier), NOW), STORED];

/// A person does it; its count begins anew.
const SAMPLE_FILTER: &[Step] = &[done(Task::ChangeSampleFilter), step(AIR_ONLY, Until::FreshFilter, NOW), STORED];

/// The 30 s in which AT-2 has to show test gas are the response time that catalytic and infrared heads keep (from memory).
const GAS_DETECTOR: &[Step] = &[
    step(AIR_ONLY, Until::Below(Gauge::CabinetGas, Level::Clean), 60),
    done(Task::GiveTestGas),
    step(AIR_ONLY, Until::Above(Gauge::CabinetGas, Level::Seen), 30),
    done(Task::TakeTestGas),
    step(AIR_ONLY, Until::Below(Gauge::CabinetGas, Level::Clean), 300),
    step(AIR_ONLY, Until::Proven(Proof::GasDetector), NOW),
    STORED,
];

/// It has to open and to close again.
const PRESSURE_SWITCH: &[Step] = &[
    step(AIR_ONLY, Until::Switch { open: false }, NOW),
    done(Task::PumpUpSwitch),
    step(AIR_ONLY, Until::Switch { open: true }, 30),
    done(Task::EaseSwitch),
    step(AIR_ONLY, Until::Switch { open: false }, 30),
    step(AIR_ONLY, Until::Proven(Proof::PressureSwitch), NOW),
    STORED,
];

/// A person does it; its date is kept.
const RELIEF_VALVE: &[Step] =
    &[done(Task::ChangeReliefValve), step(AIR_ONLY, Until::Proven(Proof::ReliefValve), NOW), STORED];

/// What goes with the old vessel and what comes with the new one is told. Both sides of the line that was open are held: the vessel's under
/// its own vacuum, for nothing in it could be weighed as it leaks, and the rest by the internal leak check. Its scale is to be tried.
const VESSEL: &[Step] = &[
    done(Task::ParkCouplers),
    step(AIR_ONLY, Until::Below(Gauge::Hoses, Level::NotLoaded), NOW),
    step(LINE, Until::Below(Gauge::Separator, Level::Drawn), 300),
    step(EVEN, Until::Passed, 10),
    step(AIR_ONLY, Until::Below(Gauge::Hoses, Level::Opened), NOW),
    step(AIR_ONLY, Until::Rests(Gauge::Separator, Level::Stirs), 120),
    step(AIR_ONLY, Until::Below(Gauge::Separator, Level::Opened), NOW),
    step(AIR_ONLY, Until::Told, NOW),
    step(AIR_ONLY, Until::Holds, REST),
    step(AIR_ONLY, Until::Owed(Proof::InternalLeak), NOW),
    step(AIR_ONLY, Until::Owed(Proof::CheckWeight), NOW),
    STORED,
    done(Task::ChangeVessel),
    step(AIR_ONLY, Until::Holds, REST),
    step(AIR_ONLY, Until::Below(Gauge::VesselPressure, Level::Evacuated), REST),
    step(AIR_ONLY, Until::Proven(Proof::ReliefValve), NOW),
    STORED,
    step(AIR_ONLY, Until::Rests(Gauge::VesselPressure, Level::Inflow), 600),
    step(AIR_ONLY, Until::LeakCheck, NOW),
];

/// Emptied and proven tight on the port; then liquid from the vessel through the high hose, the port and the low hose, back through the separator,
/// where its oil stays: three times, each weighed
/// (own choice: each leaves a part of what was there, as any rinse).
const FLUSH: &[Step] = &[
    step(AIR_ONLY, Until::OnPort, NOW),
    // As a flush that was broken off leaves them. Empty ones go to the pump, and not to the vessel: nobody asked what they hold.
    step(DRAW, Until::Below(Gauge::Hoses, Level::Drawn), 3_600),
    step(EVACUATE, Until::Below(Gauge::Vacuum, Level::Deep), 300),
    step(HOSES_OPEN, Until::Passed, 60),
    step(HOSES_OPEN, Until::Rests(Gauge::Vacuum, Level::Tight), 120),
    step(EVEN, Until::Above(Gauge::Vacuum, Level::Woken), 30),
    step(AIR_ONLY, Until::Zero, REST),
    step(RINSE, Until::Gone(Level::Rinse), 120),
    step(RETURN, Until::Below(Gauge::Hoses, Level::Drawn), 3_600),
    step(AIR_ONLY, Until::Passed, WARMS),
    step(RETURN, Until::Below(Gauge::Hoses, Level::Drawn), 3_600),
    step(AIR_ONLY, Until::CameBack, REST),
    step(DRAW, Until::Below(Gauge::Hoses, Level::Drawn), 1_800),
    step(AIR_ONLY, Until::Fit(Hoses::Flushed), NOW),
    STORED,
];

/// What stood in hoses and manifold expands into an evacuated cylinder, then the station's own liquid goes after it three times, each time run
/// off before the next. With the cylinder shut, what is left in the hoses is the station's own, as the identifier has to say: the identification
/// begins the procedure anew, and what was rinsed is not rinsed again. Only then is it drawn in.
const DECONTAMINATE: &[Step] = &[
    step(AIR_ONLY, Until::Rinsed, NOW),
    done(Task::HangCylinder),
    step(HOSES_OPEN, Until::Below(Gauge::Hoses, Level::Spread), 120),
    step(AIR_ONLY, Until::Counts, REST),
    step(RINSE_BOTH, Until::Gone(Level::RinseOnce), 120),
    step(HOSES_OPEN, Until::Passed, RUNS_OFF),
    step(RINSE_BOTH, Until::Gone(Level::RinseTwice), 120),
    step(HOSES_OPEN, Until::Passed, RUNS_OFF),
    step(RINSE_BOTH, Until::Gone(Level::RinseThrice), 120),
    done(Task::ShutMixed),
    step(AIR_ONLY, Until::Identified, NOW),
    step(AIR_ONLY, Until::Counts, REST),
    step(DRAW, Until::Below(Gauge::Hoses, Level::Drawn), 1_800),
    step(AIR_ONLY, Until::Weighed, REST),
    step(AIR_ONLY, Until::Fit(Hoses::Used), NOW),
    STORED,
];

/// How many steps of it [`Until::Rinsed`] passes over.
pub const RINSING: u8 = 9;
const _: () = assert!(matches!(DECONTAMINATE[RINSING as usize + 1].until, Until::Identified));

/// A person takes the loss on, and the release stands for it in the log.
const RESTORE_RECORD: &[Step] =
    &[step(AIR_ONLY, Until::Lost, NOW), done(Task::AcceptLoss), step(AIR_ONLY, Until::Life(Part::Record), HANDS)];

/// The steps of a procedure.
pub const fn steps(of: Procedure) -> &'static [Step] {
    match of {
        Procedure::FilterDrier => FILTER_DRIER,
        Procedure::PumpOil => PUMP_OIL,
        Procedure::InternalLeak => INTERNAL_LEAK,
        Procedure::VesselScale | Procedure::UsedOilScale | Procedure::NewOilScale | Procedure::CheckWeight => WEIGH,
        Procedure::FillVessel => FILL_VESSEL,
        Procedure::Identifier => IDENTIFIER,
        Procedure::SampleFilter => SAMPLE_FILTER,
        Procedure::GasDetector => GAS_DETECTOR,
        Procedure::PressureSwitch => PRESSURE_SWITCH,
        Procedure::ReliefValve => RELIEF_VALVE,
        Procedure::RestoreRecord => RESTORE_RECORD,
        Procedure::Vessel => VESSEL,
        Procedure::Flush => FLUSH,
        Procedure::Decontaminate => DECONTAMINATE,
    }
}

/// Everything that a procedure turns on: a latched row that takes none of it does not hold the procedure, for some of them trip a row to
/// see that it trips.
pub fn needs(of: Procedure) -> Actuators {
    NEEDS.get(of as usize).copied().unwrap_or(Actuators::ALL)
}

/// Looked at in every scan of a procedure: its steps are gone through once, by the compiler.
const NEEDS: [Actuators; PROCEDURE_COUNT] = {
    let mut all = [Actuators::NONE; PROCEDURE_COUNT];
    let mut at = 0;
    while at < PROCEDURE_COUNT {
        let of = Procedure::ALL[at];
        assert!(of as usize == at, "in the order of their numbers");
        all[at] = match of {
            Procedure::FilterDrier | Procedure::Vessel => on(steps(of)).or(on(INTERNAL_LEAK)),
            of => on(steps(of)),
        };
        at += 1;
    }
    all
};

const fn on(table: &[Step]) -> Actuators {
    let (mut all, mut at) = (Actuators::NONE, 0);
    while at < table.len() {
        all = all.or(table[at].on.without(AIR_ONLY));
        at += 1;
    }
    all
}
