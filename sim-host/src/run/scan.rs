//! One scan of a run: plant to now, truth to frame, frame to controller, outputs to plant, and what is told heard.

use valvewright_core::frame::{Actuator, Actuators, Feed, Machine, RawFrame};
use valvewright_core::job::PhaseKind;
use valvewright_core::row::RowSet;
use valvewright_core::talk::{Command, Notice};

use super::desk::EPOCH;
use super::error::RunError;
use super::moves::Move;
use super::operator::Hand;
use super::seams::{Observe, Platform, Seams, Seen};
use super::simulation::Simulation;
use crate::controller::Controller;
use crate::hazard;
use crate::logic::View;

/// Scans from one look at what is slow to change to the next.
const SLOW: u64 = 20;

impl<C: Controller> Simulation<C> {
    #[inline]
    pub(super) fn tick(&mut self, t: f64, seams: &mut Seams<'_>) -> Result<(), RunError> {
        self.plant.advance(t);
        if self.signals.fill(&self.plant, self.holds.acting(self.coils), &mut self.truth) {
            self.marks.look(&self.signals, &self.plant);
        }
        if self.ticks.is_multiple_of(SLOW) {
            self.signals.sample(&self.plant, &mut self.truth.gas);
            if self.injector.is_awake() {
                self.foreign_gas();
            }
            self.recorder.absorb_truth(self.truth.m_vessel_kg);
        }
        let mut command = self.operator.act(t - self.began, &mut self.hands);
        self.told.given |= matches!(command, Some(Command::Start { .. }));
        self.reach.ends(&self.truth, &mut self.hands);
        if !self.hands.is_empty() {
            for hand in std::mem::take(&mut self.hands) {
                self.by_hand(hand);
                if hand == Hand::ChangeVessel {
                    self.change_vessel()?;
                }
            }
        }
        let mut platform = Platform::default();
        if self.injector.is_awake() {
            platform = self.afflict(t, &mut command)?;
        }
        if let Some(faults) = &mut seams.faults {
            platform = platform.and(self.disturb(t, &mut command, *faults));
        }
        let dt = f64::from(self.scan_time().0) * 1e-3;
        let rail_off = self.outputs.dropped.has(Feed::Valves) || platform.rail_lost;
        self.truth.rail_v = if rail_off { 0.0 } else { self.truth.supply_v };
        self.read(t, dt, command, &platform);
        if self.injector.spoils() {
            self.injector.spoil(t, dt, &mut self.frame);
        }
        if let Some(command) = &self.frame.command {
            self.codes.see(command);
        }
        let ms = self.now_ms();
        let (before, dropped) = (self.outputs.on, self.outputs.dropped);
        self.control(ms, platform)?;
        let on = self.outputs.on;
        if on != before {
            self.recorder.switched(t, before, on);
        }
        if self.outputs.dropped != dropped {
            self.feeds_changed();
        }
        let told = if platform.crossed.is_empty() { on } else { crossed(on, platform.crossed) };
        let coils = self.outputs.dropped.leave(told.or(platform.stray)).without(platform.dead);
        if coils != self.coils {
            self.switch(self.coils, coils);
            self.note(Move::Switched(self.coils, coils));
            self.coils = coils;
        }
        self.recorder.absorb(&self.frame, &self.outputs);
        self.judge_hazards(t, &platform);
        if let Some(observer) = &mut seams.observer {
            self.show(t, *observer);
        }
        if !self.watch.is_empty() {
            self.watch();
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
    fn judge_hazards(&mut self, t: f64, platform: &Platform) {
        let (acting, told) = (self.holds.acting(self.coils), self.outputs.dropped.leave(self.outputs.on));
        let Some(hazards) = &mut self.hazards else { return };
        hazards.scan(&hazard::Scene {
            t,
            tick: self.ticks,
            plant: &self.plant,
            truth: &self.truth,
            frame: &self.frame,
            told,
            acting,
            fan_rpm: self.instruments.fan_rpm(),
            machine: hazard::Machine {
                // A scan that its program leaves out renews nothing, whatever feeds the watchdog.
                renewed: !platform.stalled && !platform.skipped && self.unrenewed.0 == 0,
                restarts: platform.restart.is_some(),
                command: self.frame.command.is_some(),
                volts: (self.truth.supply_v, self.truth.rail_v),
            },
        });
    }

    /// Fills the frame of this scan.
    #[inline]
    fn read(&mut self, t: f64, dt: f64, command: Option<Command>, platform: &Platform) {
        let stale = platform.stale.then(|| self.frame.clone());
        self.instruments.frame(t, dt, &self.truth, &self.outputs, command, &mut self.frame);
        let ms = self.now_ms();
        self.machine = Machine {
            sequence: self.machine.sequence.wrapping_add(1),
            beat: ms as u16,
            clock: self.kt1(ms).wrapping_add_signed(platform.clock_off_s),
            coils: self.coils,
            failed: platform.failed,
            // Another controller keeps what it wants to keep itself.
            stored: if self.controller.core().is_some() { self.store.stored() } else { self.outputs.keep },
        };
        self.frame.machine = self.machine;
        if let Some(before) = stale {
            self.frame = RawFrame { command: self.frame.command.take(), ..before };
        }
    }

    /// KT-1, which goes on where the tick of a controller begins again.
    pub(super) fn clock(&self) -> u32 {
        EPOCH.wrapping_add((self.ticks * u64::from(self.scan_time().0) / 1_000) as u32)
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
            core: self.controller.core(),
        });
    }

    /// The properties of the job see the scan.
    fn watch(&mut self) {
        let acting = if self.injector.is_awake() { self.injector.states(self.job) } else { Vec::new() };
        let mut watch = std::mem::take(&mut self.watch);
        watch.see(&self.view(&acting));
        self.watch = watch;
    }

    /// The scan as a formula sees it, with whether each fault of the job acts.
    pub(super) fn view<'a>(&'a self, faults: &'a [bool]) -> View<'a> {
        View {
            plant: &self.plant,
            truth: &self.truth,
            frame: &self.frame,
            outputs: &self.outputs,
            notices: &self.notices,
            phase: self.phase(),
            rows: self.controller.core().map_or(RowSet::NONE, |core| core.interlocks().tripped()),
            withheld: self.controller.core().map_or(RowSet::NONE, |core| core.interlocks().withheld()),
            faults,
        }
    }

    fn hear(&mut self, t: f64, notice: &Notice) {
        self.told.hear(notice);
        self.desk_hears(t, notice);
        if let (Some(again), Some(hazards)) = (self.codes.hear(notice), &mut self.hazards) {
            hazards.keep_records(t, hazard::Kept { codes_again: Some(again), ..hazards.kept() });
        }
        let id = self.recorder.notice(t, notice);
        if self.injector.is_awake() {
            self.injector.hear(notice, id);
        }
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

/// What reaches the coils where some commands reach the next coil in place of their own.
#[cold]
fn crossed(on: Actuators, wrong: Actuators) -> Actuators {
    let moved = Actuator::ALL.windows(2).filter(|pair| wrong.has(pair[0]) && on.has(pair[0]));
    moved.fold(on.without(wrong), |coils, pair| coils.with(pair[1]))
}
