//! Where outputs, holds and disturbances meet the plant of a simulation.

use valvewright_core::frame::Actuators;
use valvewright_core::talk::Command;
use valvewright_core::token::{Part, Typed};

use super::moves::Move;
use super::operator::Hand;
use super::seams::{Acts, Disturb, Platform, Scene};
use super::simulation::Simulation;
use crate::controller::Controller;
use crate::fault::Holds;
use crate::scenario::model::Act;

impl<C: Controller> Simulation<C> {
    /// Lets the disturbance act on plant, instruments, actuators and operator; what it does to the machine is returned.
    #[cold]
    #[inline(never)]
    pub(super) fn disturb(&mut self, t_s: f64, command: &mut Option<Command>, faults: &mut dyn Disturb) -> Platform {
        let mut holds = self.held_outside;
        let mut acts = Acts { command: command.take(), hands: Vec::new() };
        let mut platform = Platform::default();
        faults.scan(&mut Scene {
            t_s,
            phase: self.phase(),
            on: self.outputs.on,
            truth: &self.truth,
            plant: &mut self.plant,
            instruments: &mut self.instruments,
            holds: &mut holds,
            operator: &mut acts,
            platform: &mut platform,
            store: &mut self.store,
        });
        *command = acts.command;
        let mut moved = !acts.hands.is_empty();
        for hand in acts.hands {
            self.by_hand(hand);
        }
        if holds != self.held_outside {
            self.held_outside = holds;
            self.hold_as_wanted();
            moved = true;
        }
        if moved {
            // What turns and flows is another now, so that the frame has to show it.
            self.signals.fill(&self.plant, self.holds.acting(self.coils), &mut self.truth);
        }
        platform
    }

    /// The operator does this in the next scan, as if a planned act of the scenario had stood for that time; an exchange, which needs its
    /// code, is none of these.
    pub fn plan_act(&mut self, act: Act) {
        self.operator.plan_act(self.time() - self.began, act);
    }

    /// A new part was put in, and this is typed for it in the next scan: as a planned act `exchange`.
    pub fn plan_exchange(&mut self, part: Part, code: Typed) {
        self.operator.plan_exchange(self.time() - self.began, part, code);
    }

    /// From now on the instruments have other noise; what they are wrong by for good stays as it was. For forks that ask what chance makes of a
    /// moment.
    pub fn with_other_noise(&mut self, seed: u64) {
        self.instruments.with_other_noise(seed);
    }

    /// What is open or runs in truth, whatever the controller says.
    pub fn acting(&self) -> Actuators {
        self.holds.acting(self.coils)
    }

    /// Does one thing by hand.
    pub(super) fn by_hand(&mut self, hand: Hand) {
        self.note(Move::ByHand(hand));
        self.reach.act(hand, &mut self.plant, &mut self.truth);
    }

    /// Puts the outputs `now` to the plant in place of those `before`, as far as nothing is held.
    pub(super) fn switch(&mut self, before: Actuators, now: Actuators) {
        self.wiring.apply(&mut self.plant, (before, &self.holds), (now, &self.holds));
    }

    /// Holds what `holds` says, the rest goes back to what it is told.
    pub(super) fn hold(&mut self, holds: Holds) {
        let on = self.coils;
        self.wiring.apply(&mut self.plant, (on, &self.holds), (on, &holds));
        self.holds = holds;
        if let Some(hazards) = &mut self.hazards {
            hazards.hold(holds.leaks_by());
        }
    }
}
