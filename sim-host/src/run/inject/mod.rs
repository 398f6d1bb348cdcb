//! Carries out the faults of a scenario: begins and ends each when its plan says so, and puts everything back.
//!
//! A plain value of the run: it is copied with it, and a copy goes on as the original would. What is random in a fault comes from the
//! run's seed, the fault's number and its place in the plan, so that no fault changes what another or an instrument draws. Nothing is
//! asked of it where nothing is planned.
//!
//! Several at once: what acts along one way adds up ([`crate::instrument::Ill`]); of two that hold one actuator or set one number of the
//! plant, the one that began later counts, and when it ends the other acts again. Factors on one number multiply, in the order in which they
//! began; a value that is set wipes out the factors before it.

mod fits;
mod image;
mod machine;
mod matter;
mod memory;
mod numbers;
mod person;
mod power;
mod prepare;
mod reference;
mod scene;
mod slot;
mod store;
mod watch;

use std::collections::BTreeMap;

use valvewright_core::frame::RawFrame;
use valvewright_core::kept::Boot;
use valvewright_core::order::PhaseKind;

pub(super) use prepare::prepared;

use crate::fault::{Begin, Effect, End, Planned};
use crate::logic::Standing;
use crate::plant::{Plant, Surroundings};
use crate::report::data::{ExpectationResult, FaultRecord};
use memory::{Copies, HALF, Heard};
use numbers::Numbers;
use slot::{Slot, Stand};

/// The faults of a run.
#[derive(Clone, Default)]
pub(super) struct Injector {
    seed: u64,
    slots: Vec<Slot>,
    heard: Heard,
    numbers: Numbers,
    /// What is warmed: what was around it, its temperature then, K, and the rate, K/s.
    warmed: BTreeMap<&'static str, (Surroundings, f64, f64)>,
    /// Ways that stand in the plant now, by the names of their elements.
    ways: Vec<String>,
    /// By how much the controller's tick is ahead for good, ms.
    ahead_ms: u32,
    /// The last frame that went in, for what repeats or keeps one.
    kept: RawFrame,
    /// A frame has to be looked at before it goes in.
    spoils: bool,
    /// The supply was too low for the machine in the last scan, and as what it will start anew.
    dead: Option<Boot>,
    /// For how long the machine has stood still by itself, s.
    stood: f64,
    copies: Copies,
    /// Those that act, oldest first.
    order: Vec<usize>,
    /// When time alone moves one of them on, s.
    next: f64,
    /// One asks a condition, or does something, in each scan.
    busy: bool,
}

impl Injector {
    /// With the dice of this run.
    pub(super) fn new(seed: u64) -> Self {
        Self { seed, ..Self::default() }
    }

    /// Anything is planned, acts, or has left something behind that is done in each scan.
    #[inline]
    pub(super) fn is_awake(&self) -> bool {
        !self.slots.is_empty()
    }

    /// Takes up a fault of job number `job`, whose order is given at `began` s; `asks` are the conditions that set it off and end it.
    fn plan(&mut self, planned: &Planned, job: usize, began: f64, asks: [Option<Standing>; 2]) {
        let place = self.slots.len();
        if let Some(mut slot) = Slot::new(planned, self.seed, place, job, began) {
            slot.asks = asks;
            self.ahead_ms = self.ahead_ms.wrapping_add(machine::ahead(&slot));
            self.slots.push(slot);
            self.busy = true;
        }
    }

    /// Nothing begins, ends or is done in the scan at `t`, in this step of this phase.
    #[inline]
    fn rests(&self, t: f64, phase: Option<PhaseKind>, step: &'static str) -> bool {
        !self.busy && t < self.next - HALF && self.heard.is_the_same(phase, step)
    }

    /// Looks ahead to the next scan in which there is something to do.
    fn settle(&mut self) {
        self.next = self.slots.iter().map(Slot::next).fold(f64::INFINITY, f64::min);
        let works = self.order.iter().filter_map(|at| self.slots.get(*at)).any(Slot::works);
        self.busy = works || self.dead.is_some() || self.slots.iter().any(Slot::asks);
    }

    /// A vehicle goes: what of its job has not come never will, and what is at the vehicle ends with it. Returns the places of what ends.
    fn vehicle_leaves(&mut self, t: f64) -> Vec<usize> {
        let mut end = Vec::new();
        for (at, slot) in self.slots.iter_mut().enumerate() {
            match slot.stand {
                Stand::Waiting | Stand::Due(_) => slot.stand = Stand::Missed,
                Stand::Acting(_) if slot.of_vehicle() => {
                    slot.goes(t);
                    end.push(at);
                }
                _ => {}
            }
        }
        end
    }

    /// The network was made anew: what conditions look at is found in it.
    pub(super) fn found_anew(&mut self, plant: &Plant) {
        self.slots.iter_mut().flat_map(|slot| &mut slot.asks).flatten().for_each(|one| one.found_anew(plant));
    }

    /// Takes up effects of the caller's.
    fn make(&mut self, effects: Vec<Effect>, begin: Begin, end: End, job: usize, began: f64) -> usize {
        let place = self.unlisted().len();
        let planned = Planned { id: slot::UNLISTED, mode: "", tag: "", severity: None, begin, end };
        self.slots.push(Slot::made(planned, effects, self.seed, self.slots.len(), job, began));
        self.busy = true;
        place
    }

    /// What became of each of the catalogue, in the order of the plan.
    pub(super) fn records(&self) -> Vec<FaultRecord> {
        self.slots.iter().filter(|slot| slot.is_listed()).map(Slot::record).collect()
    }

    /// When each of the caller's began, s, in their order.
    pub(super) fn unlisted(&self) -> Vec<Option<f64>> {
        self.slots.iter().filter(|slot| !slot.is_listed()).map(|slot| slot.record().began_s).collect()
    }

    /// Whether each fault of a job acts in this scan, in the order of its plan.
    pub(super) fn states(&self, job: usize) -> Vec<bool> {
        self.slots.iter().filter(|slot| slot.job == job && slot.is_listed()).map(Slot::acts).collect()
    }

    /// Faults of a job that never came, as expectations that did not hold: a run that means to show one has not shown it.
    pub(super) fn missed(&self, job: usize) -> Vec<ExpectationResult> {
        let records = self.slots.iter().filter(|slot| slot.job == job && slot.is_listed()).map(Slot::record);
        let missed = records.filter(|one| one.began_s.is_none()).map(|one| ExpectationResult {
            name: format!("{} comes {}", one.id, one.begins),
            held: false,
            detail: "it never came, so this run does not show what follows from it".into(),
        });
        missed.collect()
    }

    /// Puts those that act in the order in which they began.
    fn sort(&mut self) {
        let slots = &self.slots;
        self.order = (0..slots.len()).filter(|at| slots[*at].acts()).collect();
        self.order.sort_by(|a, b| slots[*a].since().total_cmp(&slots[*b].since()));
    }

    /// Effects that act now, oldest first.
    fn acting(&self) -> impl Iterator<Item = (&Slot, &Effect)> {
        let slots = self.order.iter().filter_map(|at| self.slots.get(*at));
        slots.flat_map(|slot| slot.effects.iter().map(move |effect| (slot, effect)))
    }
}
