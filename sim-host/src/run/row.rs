//! Jobs in a row on one station: an order ends, the vehicle leaves, the next one comes. Vessel, hoses, oil, scales and latches stay
//! as they are.

use std::sync::Arc;

use valvewright_core::job::flow::JobState;

use super::bind;
use super::error::RunError;
use super::marks::Marks;
use super::moves::Move;
use super::operator::{Hand, Operator};
use super::reach::Reach;
use super::setup::work_order;
use super::simulation::{Simulation, Stand};
use super::told::Told;
use super::turn::Turn;
use super::visit::{change_vehicle, network_for};
use crate::controller::Controller;
use crate::logic::Watch;
use crate::plant::{Holding, NetworkSpec};

/// The run goes on this long after an order has ended or the controller was lost, so that the end can be seen in the trace, s.
const AFTER: f64 = 5.0;
/// The vehicles change so long before the next order is given, and the couplers are put on so long before it, s (own choices). A
/// vehicle that waited longer would leak on nobody's account.
const COMES: f64 = 30.0;
const COUPLED: f64 = 10.0;

impl<C: Controller> Simulation<C> {
    /// Where the run stands after the scan at `t`.
    #[inline]
    pub(super) fn turn(&mut self, t: f64) -> Result<Stand, RunError> {
        if self.turn == Turn::Served {
            if self.order_ended() || self.lost.is_some() {
                self.ended = Some(self.shown());
                self.turn = Turn::Ended(t);
            } else if t - self.began >= self.present.time_limit {
                return Ok(Stand::Over);
            }
            return Ok(Stand::Running);
        }
        self.turn_on(t)
    }

    #[cold]
    fn turn_on(&mut self, t: f64) -> Result<Stand, RunError> {
        match self.turn {
            Turn::Ended(end) if t >= end + AFTER => {
                let Some(after) = self.next_after() else { return Ok(Stand::Over) };
                self.close_job();
                self.operator.vehicle_leaves();
                self.hands.extend([Hand::ShutCouplers, Hand::Coupled(false)]);
                self.turn = Turn::Leaving(t + after - COMES, t + after);
            }
            Turn::Leaving(at, start) if t >= at => {
                self.change_vehicle()?;
                self.turn = Turn::Coming(start);
            }
            Turn::Coming(start) if t >= start - COUPLED => {
                self.hands.push(Hand::Coupled(true));
                self.turn = Turn::Coupled(start);
            }
            Turn::Coupled(start) if t >= start => {
                self.begin_job()?;
                self.turn = Turn::Served;
            }
            // A last job whose limit passes in its last seconds has had its time.
            Turn::Ended(_) if t - self.began >= self.present.time_limit && self.next_after().is_none() => {
                return Ok(Stand::Over);
            }
            Turn::Lost(at) if t >= at + AFTER => return Ok(Stand::Over),
            _ => {}
        }
        if self.lost.is_some() && !matches!(self.turn, Turn::Ended(_) | Turn::Lost(_)) {
            // The job before is closed, the next one never began.
            self.turn = Turn::Lost(t);
        }
        Ok(Stand::Running)
    }

    /// Whether the order has ended, or was never begun.
    #[inline]
    pub(super) fn order_ended(&self) -> bool {
        let ended = match self.controller.core() {
            // Without the order it stands where the one before ended.
            Some(core) => self.told.accepted && matches!(core.job().state(), JobState::Ended(_)),
            None => self.told.ended.is_some(),
        };
        ended || self.told.refused.is_some()
    }

    /// Share of the order's phases that are behind, 0 to 1: an estimate.
    pub(super) fn share(&self) -> f64 {
        (self.told.phases as f64 / self.phases as f64).min(1.0)
    }

    /// Time from the end of this job to the next one, s; none where nothing comes any more.
    fn next_after(&self) -> Option<f64> {
        self.scenario.job(self.job + 1).filter(|_| self.lost.is_none()).map(|next| next.after)
    }

    /// The vehicle goes and the next one comes.
    pub(super) fn change_vehicle(&mut self) -> Result<(), RunError> {
        let t = self.time();
        self.vehicle_goes(t)?;
        self.lift_ways()?;
        self.job += 1;
        if let Some(hazards) = &mut self.hazards {
            hazards.parts_change(&self.plant);
        }
        let exchanged = change_vehicle(&mut self.plant, &self.scenario, self.job)?;
        let both = |of: &Holding| of.refrigerant_kg + of.second_kg;
        self.account.before += self.account.came - both(&exchanged.left);
        self.account.came = both(&exchanged.arrived);
        self.present = Arc::new(self.scenario.alone(self.job).unwrap_or_else(|| (*self.present).clone()));
        let spec = network_for(&self.scenario, self.job).map_err(RunError::Network)?;
        self.reach = Reach::default();
        self.found_anew(&spec)?;
        if let Some(hazards) = &mut self.hazards {
            hazards.vehicle_came(&self.present);
        }
        self.lay_ways()?;
        let first = bind::first_truth(&self.present);
        (self.truth.gas, self.truth.flush_port) = (first.gas, first.flush_port);
        if self.keep {
            // The scan is over, the plant stands at its time.
            let ms = self.now_ms().wrapping_sub(self.scan_time().0);
            self.moves.push((ms, Move::Vehicle));
        }
        Ok(())
    }

    /// Signals, actuators and what the hand reaches are found in a network that is another than before.
    pub(super) fn found_anew(&mut self, spec: &NetworkSpec) -> Result<(), RunError> {
        let names: Vec<&str> = spec.elements.iter().map(|e| e.name.as_str()).collect();
        self.signals = bind::Signals::find(&self.plant, spec, &self.present)?;
        self.wiring = bind::Wiring::find(&self.plant, &names, self.config.fitted)?;
        self.reach = self.reach.again(&self.plant, &names, &self.present);
        self.recorder.found_anew(&self.plant);
        self.watch.found_anew(&self.plant);
        self.injector.found_anew(&self.plant);
        if let Some(hazards) = &mut self.hazards {
            hazards.found_anew(&self.plant, spec);
        }
        Ok(())
    }

    /// The next order is given in the next scan.
    fn begin_job(&mut self) -> Result<(), RunError> {
        self.began = self.time();
        // What was told while the vehicles changed is of the job before.
        if let Some(before) = self.jobs.last_mut() {
            before.phases.extend(self.recorder.late_phases(self.began));
        }
        let id = u16::try_from(self.job + 1).unwrap_or(u16::MAX);
        self.told = Told::of(id, self.told.phases);
        self.marks = Marks::after(&self.marks, &self.signals, &self.plant);
        self.operator = Operator::new(&self.present.operator, id, work_order(&self.present));
        let (properties, rows) = (&self.present.properties, self.controller.core().is_some());
        self.watch = Watch::new(properties, &self.plant, &self.config, rows, self.present.station.scan);
        self.plan_faults()
    }
}
