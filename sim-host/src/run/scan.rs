//! One scan of a run: plant to now, truth to frame, frame to controller, outputs to plant, and what is told heard.

use valvewright_core::job::PhaseKind;
use valvewright_core::talk::Notice;

use super::error::RunError;
use super::moves::Move;
use super::seams::{Observe, Platform, Seams, Seen};
use super::simulation::Simulation;
use crate::controller::Controller;
use crate::hazard::{self, Machine};

/// Scans from one look at what is slow to change to the next.
const SLOW: u64 = 20;

impl<C: Controller> Simulation<C> {
    #[inline]
    pub(super) fn tick(&mut self, t: f64, seams: &mut Seams<'_>) -> Result<(), RunError> {
        self.plant.advance(t);
        if self.signals.fill(&self.plant, self.holds.acting(self.outputs.on), &mut self.truth) {
            self.marks.look(&self.signals, &self.plant);
        }
        if self.ticks.is_multiple_of(SLOW) {
            self.signals.sample(&self.plant, &mut self.truth.gas);
            self.recorder.absorb_truth(self.truth.m_vessel_kg);
        }
        let mut command = self.operator.act(t - self.began, &mut self.hands);
        self.reach.ends(&self.truth, &mut self.hands);
        if !self.hands.is_empty() {
            for hand in std::mem::take(&mut self.hands) {
                self.by_hand(hand);
            }
        }
        let mut platform = Platform::default();
        if let Some(faults) = &mut seams.faults {
            platform = self.disturb(t, &mut command, *faults);
        }
        let dt = f64::from(self.scan_time().0) * 1e-3;
        let command_given = command.is_some();
        self.instruments.frame(t, dt, &self.truth, &self.outputs, command, &mut self.frame);
        let ms = self.now_ms();
        let before = self.outputs.on;
        self.control(ms, platform)?;
        let on = self.outputs.on;
        if on != before {
            self.switch(before, on);
            self.recorder.switched(t, before, on);
            self.note(Move::Switched(before, on));
        }
        self.recorder.absorb(&self.frame, &self.outputs);
        self.judge_hazards(t, platform.restart, command_given);
        if self.keep {
            self.frames.push((ms, self.frame.clone()));
        }
        if let Some(observer) = &mut seams.observer {
            self.show(t, *observer);
        }
        if !self.notices.is_empty() {
            for notice in std::mem::take(&mut self.notices) {
                self.hear(t, &notice);
            }
        }
        self.recorder.sample(self.ticks, t, &self.plant, self.controller.core(), &self.frame, on != before);
        self.ticks += 1;
        Ok(())
    }

    #[inline]
    fn judge_hazards(&mut self, t: f64, restarts: bool, command: bool) {
        let acting = self.holds.acting(self.outputs.on);
        let Some(hazards) = &mut self.hazards else { return };
        hazards.scan(&hazard::Scene {
            t,
            tick: self.ticks,
            plant: &self.plant,
            truth: &self.truth,
            frame: &self.frame,
            outputs: &self.outputs,
            acting,
            fan_rpm: self.instruments.fan_rpm(),
            machine: Machine {
                unrenewed: f64::from(self.unrenewed.0) * 1e-3,
                restarts,
                command,
                volts: (self.truth.supply_v, self.truth.rail_v),
            },
        });
    }

    #[cold]
    fn show(&self, t_s: f64, observer: &mut dyn Observe) {
        observer.scan(&Seen {
            t_s,
            phase: self.phase(),
            plant: &self.plant,
            truth: &self.truth,
            frame: &self.frame,
            outputs: &self.outputs,
            notices: &self.notices,
        });
    }

    fn hear(&mut self, t: f64, notice: &Notice) {
        self.told.hear(notice);
        let id = self.recorder.notice(t, notice);
        let asked = if let Notice::Asked(asked) = notice { Some(*asked) } else { None };
        let since = t - self.began;
        self.operator.hear(since, id, asked);
        match notice {
            Notice::PhaseStarted(kind) => {
                self.operator.phase_begins(since, kind.name());
                self.marks.begins(*kind, &self.signals, &self.plant);
            }
            Notice::PhaseEnded(PhaseKind::Recover, _) => {
                self.marks.after_recovery = Some(self.signals.station_mass(&self.plant));
            }
            _ => {}
        }
    }
}
