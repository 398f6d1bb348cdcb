//! The end of an explanation: a run that was cut off, and what only the simulator knows of each stop.

use super::watcher::Explainer;
use super::{cause, oddities};
use crate::fault::{FaultId, catalogue, text};
use crate::report::data::{
    BrokenThing, Cause, CauseKind, FaultRecord, HazardCame, HazardLevel, HazardResult, InTruth, RunResult, Stop,
    Verdict,
};
use crate::say;
use crate::scenario::Scenario;

/// A fault that was over for so long has nothing to do with a stop, s (own choice: the slowest budgets of the catalogue).
const OVER: f64 = 600.0;
/// A hazard that came to a level so long before a stop, where nothing was broken, or so long after its last cause belongs to it, s
/// (own choices).
const BEFORE: f64 = 10.0;
const AFTER: f64 = 60.0;

impl Explainer {
    /// Puts every stop of the run into its result. What could not be taken down is counted there too.
    pub fn finish(self, scenario: &Scenario, result: &mut RunResult) {
        let cut = self.cut_off(result);
        let (mut stops, left_out) = self.into_stops(cut);
        for stop in &mut stops {
            let vehicle =
                scenario.job(stop.job.saturating_sub(1)).map(|job| oddities::of(job.vehicle)).unwrap_or_default();
            stop.truth = InTruth { vehicle, ..in_truth(stop, result) };
        }
        if let (Some(last), true) = (stops.last_mut(), left_out > 0) {
            last.fate = say![std::mem::take(&mut last.fate), format!("; {left_out} more stops were not taken down")];
        }
        result.stops = stops;
    }

    /// Why the run ended before its work did.
    fn cut_off(&self, result: &RunResult) -> Option<Cause> {
        let t = result.sim_seconds;
        if let Some(fault) = &result.controller.fault {
            let what = say![format!("the controller was lost: {}", fault.why)];
            return Some(cause::other(CauseKind::Controller, fault.t_s, what));
        }
        if let Some(fault) = &result.plant_fault {
            let what = say![format!("the simulated plant could not go on: {fault}")];
            return Some(cause::other(CauseKind::CutOff, t, what));
        }
        if result.partial {
            return Some(cause::other(CauseKind::CutOff, t, "the run was interrupted from outside"));
        }
        let unfinished = result.jobs.iter().any(|job| job.verdict == Verdict::Unfinished);
        unfinished.then(|| {
            let waits = self.waits_for();
            let mut one = cause::other(CauseKind::CutOff, t, "the scenario's time limit came before the work was done");
            one.acts = waits;
            one
        })
    }
}

/// What only the simulator knows of a stop.
fn in_truth(stop: &Stop, result: &RunResult) -> InTruth {
    let last = stop.causes.iter().map(|one| one.t_s).fold(stop.t_s, f64::max);
    let broken: Vec<BrokenThing> = result.faults.iter().filter_map(|one| broken(one, stop, last)).collect();
    let found = stop.causes.iter().flat_map(|one| &one.found).map(|one| one.t_s);
    let from = broken.iter().map(|one| one.began_s).chain(found).fold(stop.t_s - BEFORE, f64::min);
    let real = stop.causes.iter().filter(|one| one.kind != CauseKind::CutOff);
    let to = real.map(|one| one.t_s).fold(stop.t_s, f64::max) + AFTER;
    let hazards = result.hazards.iter().filter_map(|one| came(one, from, to)).collect();
    InTruth { vehicle: Vec::new(), broken, hazards }
}

/// A fault that had begun when the last cause came, with the time to the first cause after it.
fn broken(fault: &FaultRecord, stop: &Stop, last: f64) -> Option<BrokenThing> {
    let began_s = fault.began_s.filter(|began| *began <= last)?;
    // One that was over long before has nothing to do with it.
    fault.ended_s.is_none_or(|ended| ended >= stop.t_s - OVER).then_some(())?;
    let first = stop.causes.iter().map(|one| one.t_s).filter(|t| *t >= began_s).fold(last, f64::min);
    let entry = FaultId::read(&fault.id).and_then(catalogue::entry);
    let of = |text: fn(&catalogue::Entry) -> &String| entry.map(text).cloned().unwrap_or_default();
    Some(BrokenThing {
        fault: fault.id.clone(),
        what: fault.words(),
        began_s,
        ended_s: fault.ended_s,
        seconds: first - began_s,
        detection: of(|one| &one.detection),
        reaction: of(|one| &one.expected_safe_reaction),
        budget: entry.map(|one| text::budget(&one.budget_s)).unwrap_or_default(),
    })
}

/// A hazard that first came to a level about the stop.
fn came(hazard: &HazardResult, from: f64, to: f64) -> Option<HazardCame> {
    let inside = |t: &f64| (from..=to).contains(t);
    let (t_s, level) = match (hazard.accident_t_s.filter(inside), hazard.alert_t_s.filter(inside)) {
        (Some(t), _) => (t, HazardLevel::Accident),
        (None, Some(t)) => (t, HazardLevel::Alert),
        (None, None) => return None,
    };
    Some(HazardCame { id: hazard.id, title: hazard.title, level, t_s })
}
