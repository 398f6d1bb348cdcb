//! Where faults meet the run: what begins and ends in a scan, and what is done in each while something acts.

use std::sync::Arc;

use valvewright_core::frame::{Actuator, Actuators, SelfCheck, SelfChecks};
use valvewright_core::talk::Command;

use super::super::error::RunError;
use super::super::moves::Move;
use super::super::seams::Platform;
use super::super::simulation::Simulation;
use super::watch::Now;
use super::{Injector, fits, machine, numbers, power};
use crate::controller::Controller;
use crate::fault::{Amount, Begin, Effect, End, Hold, Holds, Op, Planned};
use crate::plant::spec::LawSpec;
use crate::report::data::FaultRecord;

/// Running current of a compressor of this class, A (own choice: what C-1 of the reference station draws at 5 to 8 bar).
const RUNNING: f64 = 3.0;

impl<C: Controller> Simulation<C> {
    /// Takes up a fault of the job at hand: it begins when its plan says, from the next scan on.
    ///
    /// # Errors
    /// This station, vehicle or order has nothing that it could be at.
    pub fn inject(&mut self, planned: &Planned) -> Result<(), RunError> {
        fits::check(planned, &self.config, &self.plant, &self.present).map_err(RunError::Fault)?;
        self.injector.copies.know(&self.store);
        let rows = self.controller.core().is_some();
        let asks = fits::asks(planned, &self.config, &self.plant, rows).map_err(RunError::Fault)?;
        self.injector.plan(planned, self.job, self.began, asks);
        Ok(())
    }

    /// Ends this fault of the job at hand in the next scan, by its place among those of the plan and those injected since; returns when that is, s
    /// since the job began, or none where no such fault is there, or it is over.
    pub fn heal(&mut self, place: usize) -> Option<f64> {
        let (job, at) = (self.job, self.time() - self.began);
        let slot = self.injector.slots.iter_mut().filter(|slot| slot.job == job && slot.is_listed()).nth(place)?;
        if slot.is_over() {
            return None;
        }
        slot.planned.end = End::At(at);
        self.injector.busy = true;
        Some(at)
    }

    /// What became of each fault of the catalogue so far, those of the plan first, then those injected since.
    pub fn fault_records(&self) -> Vec<FaultRecord> {
        self.injector.records()
    }

    /// Takes up effects that no line of the catalogue has, in the job at hand; the result does not list them. Their
    /// place in [`super::super::RunOutcome::broke`] is returned.
    pub fn break_down(&mut self, effects: Vec<Effect>, begin: Begin, end: End) -> usize {
        self.injector.make(effects, begin, end, self.job, self.began)
    }

    /// Takes up all faults of the job at hand.
    pub(in crate::run) fn plan_faults(&mut self) -> Result<(), RunError> {
        let present = Arc::clone(&self.present);
        present.faults.iter().try_for_each(|planned| self.inject(planned))
    }

    /// The vehicle goes: what is wrong with it goes with it, and what should have come in its job does not come any more.
    pub(in crate::run) fn vehicle_goes(&mut self, t: f64) -> Result<(), RunError> {
        if !self.injector.is_awake() {
            return Ok(());
        }
        let mut injector = std::mem::take(&mut self.injector);
        let end = injector.vehicle_leaves(t);
        let done = self.shift(&mut injector, t, &[], &end);
        injector.busy = true;
        self.injector = injector;
        done
    }

    /// Holds what faults and what is outside want held.
    pub(in crate::run) fn hold_as_wanted(&mut self) {
        let injector = std::mem::take(&mut self.injector);
        self.hold_for(&injector, self.time());
        self.injector = injector;
    }

    fn hold_for(&mut self, injector: &Injector, t: f64) {
        let mut holds = self.wanted_holds(injector);
        // The contactor in front of the motors takes welded ones with it.
        let fed = self.outputs.dropped.leave(Actuators::MOTORS);
        holds.cut(power::state(injector, t).unfed().or(Actuators::MOTORS.without(fed)));
        self.hold_all(holds);
    }

    /// Lets the faults act in the scan at `t`; what they do to the machine is returned.
    #[cold]
    #[inline(never)]
    pub(in crate::run) fn afflict(&mut self, t: f64, command: &mut Option<Command>) -> Result<Platform, RunError> {
        let step = self.controller.core().map_or("", |core| core.job().step_word());
        if self.injector.rests(t, self.phase(), step) {
            return Ok(Platform { ahead_ms: self.injector.ahead_ms, ..Platform::default() });
        }
        let mut injector = std::mem::take(&mut self.injector);
        let held = self.holds;
        let (begin, end) = injector.turn(&Now { t, phase: self.phase(), step, view: self.view(&[]) });
        let shifts = !begin.is_empty() || !end.is_empty();
        let shifted = if shifts { self.shift(&mut injector, t, &begin, &end) } else { Ok(()) };
        let pulled = self.obey(&mut injector, t, command);
        let parted = if pulled { self.bring(&mut injector, &[]) } else { Ok(()) };
        let mut platform = machine::platform(&mut injector, t, f64::from(self.scan_time().0) * 1e-3, command);
        let carried = self.carry_water(&mut injector, t);
        self.truth.supply_v = injector.supply(t, &mut platform);
        self.hold_for(&injector, t);
        if self.holds != held {
            // What turns and flows is another now, so that the frame has to show it.
            self.fill_truth();
        }
        self.rotor(&injector);
        injector.keep(t, &mut self.store);
        if platform.restart.is_some() {
            injector.misread(&mut self.store);
            if platform.unwatched {
                platform.failed = platform.failed.or(SelfChecks::of(&[SelfCheck::Watchdog]));
            }
        }
        injector.settle();
        self.injector = injector;
        shifted.and(parted).and(carried)?;
        Ok(platform)
    }

    /// What begins is brought about, what ends is taken away.
    fn shift(&mut self, injector: &mut Injector, t: f64, begin: &[usize], end: &[usize]) -> Result<(), RunError> {
        injector.sort();
        for slot in end.iter().filter_map(|at| injector.slots.get(*at)) {
            self.instruments.mend(slot.key);
        }
        for slot in begin.iter().filter_map(|at| injector.slots.get(*at)) {
            for effect in &slot.effects {
                if let Effect::Device(ill) = effect {
                    self.instruments.ail(slot.key, slot.seed, *ill);
                }
            }
        }
        self.people(injector, t, begin, end);
        self.set_numbers(injector);
        self.warm(injector);
        self.bring(injector, begin)?;
        self.truth.gas.oil_film = injector.acting().any(|(_, effect)| *effect == Effect::OilFilm);
        self.hold_for(injector, t);
        if !injector.spoils {
            injector.kept.clone_from(&self.frame);
        }
        let spoils = injector.acting().any(|(_, effect)| super::image::looks_at_frames(effect));
        injector.spoils = spoils;
        Ok(())
    }

    /// Numbers of the plant, and the air around.
    fn set_numbers(&mut self, injector: &mut Injector) {
        let mut wanted: Vec<(String, Op)> = Vec::new();
        for (_, effect) in injector.acting() {
            match effect {
                Effect::Number(of, key, op) => {
                    let names = numbers::elements(*of, &self.plant);
                    wanted.extend(names.into_iter().map(|name| (format!("{name}.{key}"), *op)));
                }
                Effect::AirTemperature(kelvin) => wanted.push(("ambient.temperature".into(), Op::Is(*kelvin))),
                Effect::AirPressure(pascal) => wanted.push(("ambient.pressure".into(), Op::Is(*pascal))),
                Effect::Chokes(drop) => {
                    for name in numbers::elements(crate::fault::Of::Actuator(Actuator::Xv3), &self.plant) {
                        wanted.extend(self.choked(&name, *drop).map(|bore| (format!("{name}.diameter"), Op::Is(bore))));
                    }
                }
                _ => {}
            }
        }
        let site = self.usual_site;
        injector.numbers.before("ambient.temperature", site.ambient);
        injector.numbers.before("ambient.pressure", site.barometer);
        injector.numbers.set(&wanted, &mut self.plant);
        self.truth.t_ambient = self.plant.param("ambient.temperature").unwrap_or(site.ambient);
        self.truth.barometer = self.plant.param("ambient.pressure").unwrap_or(site.barometer);
    }

    /// Bore of the drier's way at which C-1's flow takes this pressure difference, m; none where it would be wider than it is.
    fn choked(&self, name: &str, drop: f64) -> Option<f64> {
        /// Suction pressure at which the flow is taken, Pa, its gas, kg/m3, at 20 degC (R-1234yf, CoolProp 8: 15.3).
        const GAS: f64 = 15.3;
        let swept = self.plant.param("C-1.displacement")? * self.plant.param("C-1.speed")?;
        let discharge = self.plant.param(&format!("{name}.discharge"))?;
        let area = swept * GAS / (discharge * (2.0 * GAS * drop).sqrt());
        let bore = (4.0 * area / std::f64::consts::PI).sqrt();
        self.plant.param(&format!("{name}.diameter")).filter(|now| bore < *now).map(|_| bore)
    }

    /// How actuators are held by what acts, on top of what is held from outside.
    fn wanted_holds(&self, injector: &Injector) -> Holds {
        let mut holds = Holds::default();
        for (_, effect) in injector.acting() {
            match effect {
                Effect::Hold(one, hold) => holds.set(*one, *hold),
                Effect::LeaksBy(one, amount) => holds.set(*one, Hold::LeakBy(self.lets_by(*one, *amount))),
                Effect::LockedRotor(_) => holds.set(Actuator::C1, Hold::Off),
                _ => {}
            }
        }
        holds.over(&self.held_outside)
    }

    /// Share of its opening at which a valve lets that through.
    fn lets_by(&self, one: Actuator, amount: Amount) -> f64 {
        let spec = self.bare_network();
        let Ok(spec) = spec else { return 0.0 };
        let follows = |name: &str| name.split('/').next().unwrap_or(name).split('+').any(|tag| tag == one.tag());
        let mine = spec.elements.iter().filter(|element| follows(&element.name));
        let full = mine.map(|element| match (amount, &element.law) {
            (Amount::Oil(_), LawSpec::OilLine(line)) => line.coefficient * 1e5f64.sqrt(),
            (Amount::Flow(_), _) => super::reference::flow(element, spec.fluid),
            _ => 0.0,
        });
        let full = full.fold(0.0, f64::max);
        let wanted = match amount {
            Amount::Share(share) => return share,
            Amount::Flow(flow) => flow,
            Amount::Oil(flow) => flow * super::super::bind::OIL_DENSITY,
        };
        if full > 0.0 { (wanted / full).clamp(0.0, 1.0) } else { 0.0 }
    }

    /// Holds this.
    fn hold_all(&mut self, holds: Holds) {
        if holds != self.holds {
            self.hold(holds);
            self.note(Move::Held(holds));
        }
    }

    /// Common relays opened or closed: what is welded behind one has lost its current, or has it again.
    #[cold]
    pub(in crate::run) fn feeds_changed(&mut self) {
        if self.injector.is_awake() || self.holds != Holds::default() {
            self.hold_as_wanted();
        }
    }

    fn fill_truth(&mut self) {
        self.signals.fill(&self.plant, self.holds.acting(self.coils), &mut self.truth);
    }

    /// A rotor that is locked draws its current as long as it is told to turn.
    fn rotor(&mut self, injector: &Injector) {
        if !self.outputs.on.has(Actuator::C1) {
            return;
        }
        for (_, effect) in injector.acting() {
            if let Effect::LockedRotor(times) = effect {
                self.truth.c1_current_a = times * RUNNING;
            }
        }
    }
}
