//! Takes a run on scan by scan: notes its marks since the last fault, and says when it is decided.

use valvewright_core::frame::Actuators;
use valvewright_core::job::PhaseKind;
use valvewright_core::job::flow::JobState;

use super::mark::{Mark, Seer};
use crate::campaign::moments::place;
use crate::campaign::one::{HELD_FOR, LONGEST, quiet_for};
use crate::hazard::{HAZARD_COUNT, Id};
use crate::report::data::HazardLevel;
use crate::run::{RunError, Simulation, Stand};

/// What became of a run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outcome {
    /// Scans from its beginning to its end; 0 where it was none, because the job was over before its first fault.
    pub scans: u64,
    /// Scans that were made for it alone, beyond what it shares with others.
    pub own: u64,
    /// Marks since its last fault, each with the next scan then.
    pub seen: Vec<(Mark, u64)>,
    /// Least margin of each hazard.
    pub worst: [f64; HAZARD_COUNT],
    /// Hazards at their accident level, by their places, and when they came there, s.
    pub accidents: Vec<(usize, f64)>,
    /// Digest of every frame and output.
    pub hash: String,
}

/// Who goes along.
#[derive(Clone)]
pub struct Looker {
    seer: Seer,
    seen: Vec<(Mark, u64)>,
    /// The scan of the last fault, where one came.
    faulted: Option<u64>,
    quiet_since: f64,
    was: (Option<PhaseKind>, &'static str),
}

impl Looker {
    /// At the begin of a run.
    pub fn new() -> Self {
        Self { seer: Seer::new(), seen: Vec::new(), faulted: None, quiet_since: 0.0, was: (None, "") }
    }

    /// A fault comes with the next scan.
    pub fn faulted(&mut self, run: &Simulation) {
        self.faulted = Some(run.scans());
        self.quiet_since = run.time();
        self.was = place(run);
        let (phase, step) = self.was;
        self.seen = vec![(Mark::Came(phase, step), run.scans())];
    }

    /// One scan; whether the run goes on after it. It ends with its order, and when a campaign would call it decided.
    pub fn step(&mut self, run: &mut Simulation) -> Result<bool, RunError> {
        let t = run.time();
        let stand = run.step()?;
        let scan = run.scans();
        let mut found = Vec::new();
        self.seer.see(run, &mut found);
        self.seen.extend(found.into_iter().map(|mark| (mark, scan)));
        let on = run.outputs().on.without(Actuators::SAFE);
        let now = place(run);
        if now != self.was || on != Actuators::NONE {
            (self.was, self.quiet_since) = (now, t);
        }
        let state = run.station().job().state();
        let still = t - self.quiet_since > if state == JobState::Paused { HELD_FOR } else { quiet_for(run.order()) };
        let since = self.faulted.map_or(0, |fault| scan - fault);
        let long = since as f64 * (run.time() - t) > LONGEST;
        Ok(stand == Stand::Running && !still && !long)
    }

    /// What became of it.
    pub fn outcome(&self, run: &Simulation) -> Outcome {
        let results = run.hazards().map(|all| all.results()).unwrap_or_default();
        let hazards = results.iter().enumerate();
        let came = hazards.filter(|(_, one)| one.level == HazardLevel::Accident);
        let worst = |id: Id| run.hazards().and_then(|all| all.worst(id)).unwrap_or(1.0);
        Outcome {
            scans: run.scans(),
            own: run.scans() - self.faulted.unwrap_or(0),
            seen: self.seen.clone(),
            worst: Id::EVERY.map(worst),
            accidents: came.map(|(at, one)| (at, one.accident_t_s.unwrap_or(0.0))).collect(),
            hash: run.hash(),
        }
    }
}
