//! When a healthy job is in which step: every scan of each, kept as spans, so that a share of a step is a time.

use valvewright_core::job::PhaseKind;
use valvewright_core::job::flow::JobState;

use super::moments::place;
use crate::run::{RunError, RunOptions, Simulation, Stand};
use crate::scenario::Scenario;

/// A step that a job came to.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Its phase; none between phases.
    pub phase: Option<PhaseKind>,
    /// Its word, empty where the phase has none.
    pub step: &'static str,
    /// First scan and number of scans of each time that the job came to it.
    spans: Vec<(u64, u64)>,
}

impl Step {
    /// Scans in it.
    pub fn scans(&self) -> u64 {
        self.spans.iter().map(|(_, count)| count).sum()
    }

    /// Which scan of the run is so far in this step, 0 to 1.
    fn scan(&self, share: f64) -> Option<u64> {
        let mut at = self.number(share);
        for (first, count) in &self.spans {
            if at < *count {
                return Some(first + at);
            }
            at -= count;
        }
        None
    }

    /// Which of its own scans that is, from 0.
    pub fn number(&self, share: f64) -> u64 {
        (share * self.scans().saturating_sub(1) as f64).round() as u64
    }
}

/// The course of a healthy job.
#[derive(Clone, Debug, PartialEq)]
pub struct Timeline {
    /// Its steps, in the order in which it came to them.
    pub steps: Vec<Step>,
    /// Hash of the run.
    pub hash: String,
    scan_ms: u64,
}

impl Timeline {
    /// Runs the job to the end of its order.
    ///
    /// # Errors
    /// As [`Simulation::new`].
    pub fn of(scenario: &Scenario, options: &RunOptions) -> Result<Self, RunError> {
        let mut run = Simulation::new(scenario, options)?;
        let mut steps: Vec<Step> = Vec::new();
        let mut last = usize::MAX;
        loop {
            let (scan, (phase, step)) = (run.scans(), place(&run));
            let is_it = |one: &Step| one.phase == phase && one.step == step;
            if steps.get(last).is_some_and(is_it) {
                if let Some((_, count)) = steps.get_mut(last).and_then(|one| one.spans.last_mut()) {
                    *count += 1;
                }
            } else {
                last = steps.iter().position(is_it).unwrap_or(steps.len());
                match steps.get_mut(last) {
                    Some(known) => known.spans.push((scan, 1)),
                    None => steps.push(Step { phase, step, spans: vec![(scan, 1)] }),
                }
            }
            if run.step()? != Stand::Running || matches!(run.station().job().state(), JobState::Ended(_)) {
                break;
            }
        }
        let scan_ms = (scenario.station.scan * 1e3).round() as u64;
        Ok(Self { steps, hash: run.hash(), scan_ms })
    }

    /// When the job is so far in that step, s; none where it never comes to it.
    pub fn time(&self, phase: Option<PhaseKind>, step: &str, share: f64) -> Option<f64> {
        let found = self.steps.iter().find(|one| one.phase == phase && one.step == step)?;
        Some((found.scan(share)? * self.scan_ms) as f64 * 1e-3)
    }
}
