//! One fault at one moment: forked from the healthy job, run on until it is decided, and what became of it.

use serde::Serialize;
use valvewright_core::frame::Actuators;
use valvewright_core::job::flow::JobState;

use super::moments::Moment;
use crate::fault::{Begins, Planned};
use crate::report::data::{HazardLevel, Verdict};
use crate::run::{RunError, Simulation, Stand};
use crate::scenario::model::Order;

/// A run is decided when for so long, at least, nothing but the fan has been on and no phase has moved, s ([`quiet_for`]).
const QUIET_FOR: f64 = 1_200.0;
/// Longer than the longest hold of an order by so much, s (own choice).
const BEYOND_A_HOLD: f64 = 60.0;
/// So too when the job has been held by a row for so long, and nothing but the fan was on, s: nobody presses reset, and what a fault does with
/// everything shut it has done by then.
pub const HELD_FOR: f64 = 600.0;
/// Nor does a run go on for longer than this after its fault, s.
pub const LONGEST: f64 = 7_200.0;

/// How long nothing but the fan is on and no phase moves before a run of this order is decided, s: longer than any wait of its phases.
pub fn quiet_for(order: &Order) -> f64 {
    QUIET_FOR.max(order.leak_hold.max(order.test_hold) + BEYOND_A_HOLD)
}

/// A fault to be let in at a moment of a base.
#[derive(Clone, Debug)]
pub struct Case {
    /// The base's place among the bases.
    pub base: usize,
    /// The base's name.
    pub scenario: String,
    /// The moment.
    pub moment: Moment,
    /// The fault; it begins at the moment.
    pub planned: Planned,
}

impl Case {
    /// Has to stand in the scenario from its beginning: it comes with the job, or cannot come to a copy of a run in mid-job.
    pub fn from_the_start(&self) -> bool {
        self.moment.t_s == 0.0 || self.planned.injection().is_none_or(|one| one.begins != Begins::AnyTime)
    }

    /// The command that has it again.
    pub fn replay(&self) -> String {
        let planned = &self.planned;
        let mut words = format!("{}", planned.id);
        if !planned.mode.is_empty() {
            words += &format!(" mode={}", planned.mode);
        }
        if planned.injection().is_some_and(|one| one.tags.len() > 1) {
            words += &format!(" tag={}", planned.tag);
        }
        if planned.begin.after > 0.0 {
            words += &format!(" at={:.3}s", planned.begin.after);
        }
        format!("valvewright run {} --fault \"{words}\"", self.scenario)
    }
}

/// How a run came to its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Fate {
    /// The order ended.
    Ended,
    /// It stands still, everything shut.
    Stands,
    /// Neither within the longest time.
    Goes,
    /// The plant could not be reckoned on.
    Broken,
}

/// What became of a case.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Done {
    /// The fault.
    pub fault: String,
    /// Its way, device and severity.
    pub what: String,
    /// The base.
    pub scenario: String,
    /// The moment.
    #[serde(flatten)]
    pub moment: Moment,
    /// How it came to its end.
    pub fate: Fate,
    /// How the order stood then.
    pub verdict: Verdict,
    /// Rows that tripped after the fault, in order, each with the time from the fault, s.
    pub trips: Vec<(String, f64)>,
    /// Hazards that came to their accident level, each with the time from the fault, s.
    pub accidents: Vec<(&'static str, f64)>,
    /// Hazards that came to their alert level and no further.
    pub alerts: Vec<&'static str>,
    /// The command that has it again.
    pub replay: String,
}

/// Runs a case on from `run`, which stands at its moment, or at its beginning with the fault in it where that is there from the start.
///
/// # Errors
/// The fault cannot come in this job, with the reason.
pub(super) fn run_on(case: &Case, mut run: Simulation) -> Result<Done, RunError> {
    if !case.from_the_start() {
        run.inject(&case.planned)?;
    }
    let came = case.moment.t_s;
    let mut quiet_since = run.time();
    let mut was = (None, "");
    let fate = loop {
        match run.step()? {
            Stand::Running => {}
            Stand::Over => break Fate::Ended,
            Stand::Broken => break Fate::Broken,
        }
        let t = run.time();
        let now = super::moments::place(&run);
        let moved = now != was || run.outputs().on.without(Actuators::SAFE) != Actuators::NONE;
        if moved || t < came {
            (was, quiet_since) = (now, t);
        }
        let state = run.station().job().state();
        if t - quiet_since > if state == JobState::Paused { HELD_FOR } else { quiet_for(run.order()) } {
            break if matches!(state, JobState::Ended(_)) { Fate::Ended } else { Fate::Stands };
        }
        if t - came > LONGEST {
            break Fate::Goes;
        }
    };
    let result = run.finish().result;
    let after = |t: f64| (t - came).max(0.0);
    let of_level = |level| result.hazards.iter().filter(move |one| one.level == level);
    let accidents = of_level(HazardLevel::Accident).map(|one| (one.id, after(one.accident_t_s.unwrap_or(came))));
    let mut trips: Vec<(String, f64)> = Vec::new();
    for one in result.interlocks.iter().filter(|one| one.t_s >= came - 1e-6) {
        if !trips.iter().any(|(id, _)| *id == one.id) {
            trips.push((one.id.clone(), after(one.t_s)));
        }
    }
    Ok(Done {
        fault: case.planned.id.to_string(),
        what: case.planned.words(),
        scenario: case.scenario.clone(),
        moment: case.moment,
        fate,
        verdict: result.verdict,
        trips,
        accidents: accidents.collect(),
        alerts: of_level(HazardLevel::Alert).map(|one| one.id).collect(),
        replay: case.replay(),
    })
}
