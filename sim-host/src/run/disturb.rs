//! The seam for faults of devices: something of the caller's that is asked once a scan and may break or mend what it likes.
//!
//! It is asked when the plant has come to the scan's time and before the frame is made. A run without it costs nothing and
//! hashes as before.

use valvewright_core::frame::Actuators;
use valvewright_core::job::PhaseKind;

use super::hold::Holds;
use super::{Bench, Control, Move, Progress, RunError, RunOptions, RunOutcome};
use crate::instrument::{Instruments, Truth};
use crate::plant::Plant;
use crate::scenario::Scenario;

/// What a disturbance sees of a scan, and what it may break.
pub struct Scene<'a> {
    /// Simulated time, s.
    pub t_s: f64,
    /// The running phase.
    pub phase: Option<PhaseKind>,
    /// What the controller had on in the last scan.
    pub on: Actuators,
    /// What the instruments will touch in this scan.
    pub truth: &'a Truth,
    /// The plant, for any signal of it.
    pub plant: &'a Plant,
    /// Loops, scales and contacts, to be broken and mended.
    pub instruments: &'a mut Instruments,
    /// Actuators, to be held and set free.
    pub holds: &'a mut Holds,
}

/// Breaks and mends devices while a job runs.
pub trait Disturb {
    /// Asked once a scan, also in the seconds after the order's end.
    fn scan(&mut self, scene: &mut Scene<'_>);
}

impl<F: FnMut(&mut Scene<'_>)> Disturb for F {
    fn scan(&mut self, scene: &mut Scene<'_>) {
        self(scene);
    }
}

/// Runs a scenario to its end, or until `each` says stop, with `faults` asked once a scan.
pub fn run_with_faults(
    scenario: &Scenario,
    options: &RunOptions,
    faults: &mut dyn Disturb,
    each: &mut dyn FnMut(Progress<'_>) -> Control,
) -> Result<RunOutcome, RunError> {
    let mut bench = Bench::new(scenario, options)?;
    bench.faults = Some(faults);
    bench.complete(scenario, each)
}

impl Bench<'_> {
    /// Lets the disturbance act, if there is one.
    #[inline]
    pub(super) fn disturb(&mut self, t_s: f64) {
        let Some(faults) = &mut self.faults else { return };
        let mut holds = self.holds;
        faults.scan(&mut Scene {
            t_s,
            phase: self.station.job().phase(),
            on: self.outputs.on,
            truth: &self.truth,
            plant: &self.plant,
            instruments: &mut self.instruments,
            holds: &mut holds,
        });
        if holds != self.holds {
            self.hold(holds);
            self.note(Move::Held(holds));
            // What turns and flows is another now, so that the frame has to show it.
            self.signals.fill(&self.plant, self.holds.acting(self.outputs.on), &mut self.truth);
        }
    }

    /// Puts the outputs `now` to the plant in place of those `before`, as far as nothing is held.
    pub(super) fn switch(&mut self, before: Actuators, now: Actuators) {
        self.wiring.apply(&mut self.plant, (before, &self.holds), (now, &self.holds));
    }

    /// Holds what `holds` says, the rest goes back to what it is told.
    pub(super) fn hold(&mut self, holds: Holds) {
        let on = self.outputs.on;
        self.wiring.apply(&mut self.plant, (on, &self.holds), (on, &holds));
        self.holds = holds;
    }
}
