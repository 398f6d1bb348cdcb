//! The moments of a healthy job at which a fault is let in: of each step of each phase its first scan, its last, and those between.

use serde::Serialize;
use valvewright_core::job::PhaseKind;
use valvewright_core::job::flow::JobState;

use crate::run::{RunError, RunOptions, Simulation, Stand};
use crate::scenario::Scenario;

/// One moment of a job.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Moment {
    /// The running phase; none between phases and before the first.
    #[serde(serialize_with = "phase_word")]
    pub phase: Option<PhaseKind>,
    /// The step of that phase, empty where it has none.
    pub step: &'static str,
    /// How far the step has come: 0 in its first scan, 1 in its last, of all times that the job comes to it.
    pub share: f64,
    /// Simulated time, s.
    pub t_s: f64,
}

impl Moment {
    /// For people: `charge fill 50 %`.
    pub fn words(&self) -> String {
        let phase = self.phase.map_or("between phases", PhaseKind::name);
        let step = if self.step.is_empty() { String::new() } else { format!(" {}", self.step) };
        format!("{phase}{step} {:.0} %", self.share * 100.0)
    }
}

// Serde lends what it writes.
#[allow(clippy::ref_option)]
fn phase_word<S: serde::Serializer>(phase: &Option<PhaseKind>, to: S) -> Result<S::Ok, S::Error> {
    match phase {
        Some(phase) => to.serialize_str(phase.name()),
        None => to.serialize_none(),
    }
}

/// A step that the job came to, and every scan in it.
struct Step {
    phase: Option<PhaseKind>,
    name: &'static str,
    times: Vec<f64>,
}

/// So many moments of each step of a job, in the order of time; a step of few scans has fewer.
///
/// # Errors
/// As [`Simulation::new`].
pub fn moments(scenario: &Scenario, each: usize) -> Result<Vec<Moment>, RunError> {
    let mut run = Simulation::new(scenario, &RunOptions::BARE)?;
    let mut steps: Vec<Step> = Vec::new();
    loop {
        let t = run.time();
        let (phase, name) = place(&run);
        let known = steps.iter_mut().find(|one| one.phase == phase && one.name == name);
        match known {
            Some(step) => step.times.push(t),
            None => steps.push(Step { phase, name, times: vec![t] }),
        }
        if run.step()? != Stand::Running || matches!(run.station().job().state(), JobState::Ended(_)) {
            break;
        }
    }
    let mut all: Vec<Moment> = steps.iter().flat_map(|step| spread(step, each.max(1))).collect();
    all.sort_by(|a, b| a.t_s.total_cmp(&b.t_s));
    Ok(all)
}

/// Phase and step in which the next scan is made.
pub(super) fn place(run: &Simulation) -> (Option<PhaseKind>, &'static str) {
    (run.phase(), run.station().job().step_word())
}

fn spread(step: &Step, each: usize) -> Vec<Moment> {
    let last = step.times.len().saturating_sub(1);
    let mut at: Vec<usize> = (0..each).map(|k| if each == 1 { last / 2 } else { last * k / (each - 1) }).collect();
    at.dedup();
    let moment = |at: usize| Moment {
        phase: step.phase,
        step: step.name,
        share: if last == 0 { 0.0 } else { at as f64 / last as f64 },
        t_s: step.times.get(at).copied().unwrap_or(0.0),
    };
    at.into_iter().map(moment).collect()
}
