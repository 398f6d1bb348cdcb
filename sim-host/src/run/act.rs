//! Where outputs, holds and disturbances meet the plant of a simulation.

use valvewright_core::frame::Actuators;

use super::disturb::Scene;
use super::hold::Holds;
use super::moves::Move;
use super::seams::Seams;
use super::simulation::Simulation;

impl Simulation {
    /// Lets the disturbance act, if there is one.
    #[inline]
    pub(super) fn disturb(&mut self, t_s: f64, seams: &mut Seams<'_>) {
        let Some(faults) = &mut seams.faults else { return };
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
