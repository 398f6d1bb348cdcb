//! Who drove the station, each order of a run, and what the plant knows of them.

use serde::Serialize;

use super::{Charged, ExpectationResult, LeakResult, PhaseResult, PropertyResult, ShownTrue, Verdict};

/// Who drove the station.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ControllerResult {
    /// What it calls itself.
    pub name: String,
    /// How it was joined: `built in`, `program`, `serial`, `semihosting`, `uart`.
    pub joined: String,
    /// It is the core, or was held against it in every scan. Of any other, this result says only what it told and what was true.
    pub core: bool,
    /// How it was lost, where it was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fault: Option<BoardFault>,
}

/// A station by its file.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct StationName {
    /// The name of a shipped one, or the path of its file.
    pub name: String,
    /// One line for people; empty where the file has none.
    pub title: String,
}

/// How far the plant came, in truth.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Reached {
    /// Largest share of the vessel that was full of liquid, 1.
    pub vessel_level: f64,
    /// Most refrigerant in the vessel, g.
    pub vessel_g: f64,
    /// Highest pressure in the vessel, bar absolute.
    pub vessel_bar: f64,
    /// Refrigerant that went into the air, from the station and through leaks of a vehicle, g.
    pub escaped_g: f64,
}

/// One order on one vehicle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct JobResult {
    /// What the vehicle is, for readers.
    pub vehicle: String,
    /// Simulated time at which the order was given, s.
    pub start_s: f64,
    /// Simulated time at which it was over, s.
    pub end_s: f64,
    /// How it ended.
    pub verdict: Verdict,
    /// It was expected not to end, but to stand under a trip until the scenario's time limit, and no job comes after it.
    #[serde(skip)]
    pub may_stand: bool,
    /// The phases in the order they ran.
    pub phases: Vec<PhaseResult>,
    /// Refrigerant taken from the vehicle, g.
    pub recovered_g: ShownTrue,
    /// Refrigerant given to the vehicle, g.
    pub charged_g: Charged,
    /// Oil drained from the separator by the station's scale, mL; absent where the controller did not say.
    pub oil_drained_ml: Option<f64>,
    /// Oil drained in truth, mL.
    pub oil_drained_ml_true: f64,
    /// The leak check.
    pub leak: LeakResult,
    /// Rows that tripped, each once.
    pub trips: Vec<String>,
    /// How far the plant came in this job.
    pub reached: Reached,
    /// Hazards that came to their accident level in this job, in truth.
    pub accidents: Vec<String>,
    /// What was expected of it.
    pub expectations: Vec<ExpectationResult>,
    /// Its properties. Each that was judged stands among the expectations too.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub properties: Vec<PropertyResult>,
}

impl JobResult {
    /// How long it took, s.
    pub fn seconds(&self) -> f64 {
        self.end_s - self.start_s
    }
}

/// Refrigerant in the station over the whole run, in truth, g.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct StationLedger {
    /// In it at the start: vessel, pipes, hoses, oil.
    pub start_g: f64,
    /// Came from vehicles, less what went into them and what they lost on their own.
    pub from_vehicles_g: f64,
    /// In vessels that were put in, less what those that were taken out held.
    #[serde(skip_serializing_if = "is_none")]
    pub with_vessels_g: f64,
    /// Went into the air, from station and vehicles.
    pub escaped_g: f64,
    /// In it at the end.
    pub end_g: f64,
    /// Unaccounted for.
    pub error_g: f64,
}

/// A board in place of the built-in core. Its outputs, notices and state were those of the host in every scan it answered.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BoardResult {
    /// How it was joined: `semihosting` or `uart`.
    pub line: String,
    /// How it was lost, where it was.
    pub fault: Option<BoardFault>,
}

/// The end of a board's line.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BoardFault {
    /// Simulated time, s.
    pub t_s: f64,
    /// What was wrong, as the board says.
    pub why: String,
    /// Tags of what the board then had on.
    pub on: Vec<String>,
}

/// Nothing was exchanged.
#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks so")]
fn is_none(mass: &f64) -> bool {
    *mass == 0.0
}
