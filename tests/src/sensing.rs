//! Faults of single instruments in whole jobs, with what must be said of each and in which time: the catalogue's numbers and budgets.

use valvewright_core::frame::{Analog, Scale, Switches};
use valvewright_core::job::PhaseKind::{Charge, Evacuate, Recover};
use valvewright_sim::instrument::{ContactHealth, LoopHealth, ScaleHealth};

use crate::harms::{Harm, Ill, When};

/// One fault and what must come of it.
#[derive(Debug)]
pub struct Fault {
    /// What breaks, named after its number in the catalogue.
    pub harm: Harm,
    /// Words that must be told after it broke: the tag of the row that trips, or of what is not to be believed.
    pub told: &'static [&'static str],
    /// Within so many seconds since it broke.
    pub within: f64,
}

const JOB: &str = "mild_hatchback";

const fn fault(
    name: &'static str,
    ills: &'static [Ill],
    when: When,
    told: &'static [&'static str],
    within: f64,
) -> Fault {
    Fault { harm: Harm { name, job: JOB, edits: &[], ills, when }, told, within }
}
const fn one(input: Analog, health: LoopHealth) -> Ill {
    Ill::Loop(input, health)
}
/// A sensor that stands and rustles as a healthy one does.
const fn lively(at: f64, noise: f64) -> LoopHealth {
    LoopHealth::Stuck { at, noise }
}
const fn both(health: ScaleHealth) -> [Ill; 2] {
    [Ill::Bridge(Scale::Wt1A, health), Ill::Bridge(Scale::Wt1B, health)]
}

const PULLING: When = When::Since(Recover, 260.0);
const STILL: &str = "it stands still";
const OTHERS: &str = "other readings contradict it";
const IN_A_CHARGE: When = When::Since(Charge, 40.0);

/// All of them; where the time is more than the budget, the comment says why that is enough.
pub const FAULTS: &[Fault] = &[
    fault("F001", &[one(Analog::Pt1, LoopHealth::Open)], PULLING, &["I03"], 1.0),
    fault("F002", &[one(Analog::Pt1, LoopHealth::Short)], PULLING, &["I03"], 1.0),
    fault("F003", &[one(Analog::Pt1, LoopHealth::Frozen)], PULLING, &["I03", STILL], 8.0),
    fault("F004_low", &[one(Analog::Pt1, LoopHealth::Offset(-3e4))], When::From(0.0), &["PT-1", OTHERS], 660.0),
    fault("F006", &[one(Analog::Pt1, lively(7e5, 2e4))], PULLING, &["I03", "too rough"], 6.0),
    fault("F009", &[one(Analog::Pt2, LoopHealth::Frozen)], PULLING, &["PT-2", STILL], 8.0),
    fault("F009_lively", &[one(Analog::Pt2, lively(3e5, 100.0))], PULLING, &["PT-2", OTHERS], 12.0),
    fault("F011", &[one(Analog::Pt3, LoopHealth::Offset(-2e4))], When::Since(Recover, 0.0), &["PT-3", OTHERS], 330.0),
    fault("F013", &[one(Analog::Pt4, lively(50.0, 1.0))], When::Since(Recover, 0.0), &["PT-4", OTHERS], 360.0),
    fault("F013_frozen", &[one(Analog::Pt4, LoopHealth::Frozen)], When::Since(Evacuate, 300.0), &["PT-4", STILL], 8.0),
    fault("F014", &[one(Analog::Pt4, LoopHealth::Open)], When::Since(Evacuate, 300.0), &["evacuation: a reading"], 1.0),
    fault("F015", &[one(Analog::Tt1, LoopHealth::Open)], PULLING, &["TT-1", "3.6 mA"], 2.0),
    fault("F016", &[one(Analog::Tt1, LoopHealth::Short)], PULLING, &["TT-1", "21 mA"], 2.0),
    fault("F018", &[one(Analog::Tt2, lively(313.0, 0.02))], When::Since(Recover, 0.0), &["I13", STILL], 330.0),
    fault("F018_frozen", &[one(Analog::Tt2, LoopHealth::Frozen)], PULLING, &["I13", STILL], 8.0),
    fault("F019", &[one(Analog::Tt3, LoopHealth::Offset(-20.0))], When::From(0.0), &["TT-3", OTHERS], 960.0),
    fault("F021", &[Ill::Wt1(ScaleHealth::Open)], PULLING, &["I20"], 3.0),
    fault("F024", &[Ill::Wt1(ScaleHealth::Step(50.0))], PULLING, &["I20"], 5.0),
    fault("F026", &both(ScaleHealth::Step(60.0)), IN_A_CHARGE, &["charge:"], 10.0),
    fault("F028", &[Ill::Wt1(ScaleHealth::Gain(0.75))], PULLING, &["I20"], 5.0),
    // Both cells at once is none of the catalogue's faults: no second bridge tells, but the compressor does.
    fault("F028_both", &both(ScaleHealth::Gain(0.5)), When::Since(Recover, 0.0), &["I19"], 360.0),
    fault("F029", &[Ill::Wt1(ScaleHealth::Frozen)], PULLING, &["I20"], 3.0),
    fault("F039", &[one(Analog::At2, LoopHealth::Open)], PULLING, &["I01"], 1.0),
    fault("F044", &[Ill::Contact(Switches::PSH1_HEALTHY, ContactHealth::StuckOpen)], PULLING, &["I03", "PSH-1"], 1.0),
    fault("F133", &[Ill::Bridge(Scale::Wt1B, ScaleHealth::Span(0.05))], PULLING, &["I20"], 5.0),
    fault("F134", &[one(Analog::Pt5, LoopHealth::Frozen)], PULLING, &["PT-5", STILL], 8.0),
    fault("F134_lively", &[one(Analog::Pt5, lively(1e5, 100.0))], PULLING, &["PT-5", OTHERS], 30.0),
    fault("F136", &[one(Analog::St1, lively(2_800.0, 5.0))], When::From(0.0), &["ST-1", OTHERS], 5.0),
];
