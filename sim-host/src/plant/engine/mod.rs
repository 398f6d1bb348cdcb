//! The integrator: Rosenbrock-W steps with error control over the network, looking one step ahead.
//!
//! The ledger is no part of the linear solves: its stage values follow from the invariants' weights, so that refrigerant, air,
//! water, oil and energy are kept to rounding whatever the Jacobian is, as far as the fluxes themselves balance.

mod between;
mod error;
mod ledger;
mod limits;

pub use ledger::inventories;

use crate::plant::element::Flow;
use crate::plant::fault::PlantFault;
use crate::plant::layout::LEDGER;
use crate::plant::node::NodeState;
use crate::plant::sparse::SparseLu;
use crate::plant::spec::{LawSpec, Tolerance};
use crate::plant::system::System;
use crate::plant::tableau::{MOST_STAGES, Tableau};

/// Shortest step, s. A system that wants less cannot be integrated here.
const SHORTEST: f64 = 1e-9;
/// First step after a switch, s.
const RESTART: f64 = 2e-3;
/// Step that is short enough for any of them, s.
const CALM: f64 = 0.01;
/// Steps that a run has in stock besides its budget: what a switch of everything at once may take.
const STOCK: f64 = 20_000.0;

/// Steps so far.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct StepCount {
    /// Accepted steps.
    pub accepted: u64,
    /// Rejected tries.
    pub rejected: u64,
    /// Evaluations of the right hand side.
    pub evaluations: u64,
}

/// Everything known at one moment.
#[derive(Debug, Clone)]
pub struct Moment {
    /// Time, s.
    pub t: f64,
    /// Unknowns and ledger.
    pub y: Vec<f64>,
    /// Their rates.
    pub f: Vec<f64>,
    /// Node states.
    pub nodes: Vec<NodeState>,
    /// Element flows.
    pub flows: Vec<Flow>,
}

/// Integrator state.
#[derive(Debug, Clone)]
pub struct Engine {
    /// The equations.
    pub system: System,
    /// Start of the present step.
    pub start: Moment,
    /// End of the present step (equal to `start` when nothing lies ahead).
    pub end: Moment,
    /// How exactly.
    pub tolerance: Tolerance,
    /// Steps so far.
    pub count: StepCount,
    /// Why it cannot go on.
    pub fault: Option<PlantFault>,
    /// Why it cannot go on beyond the end of the present step, unless a command comes before.
    pub ahead: Option<PlantFault>,
    /// Bounds of the tables that were met.
    pub notes: Vec<String>,
    lu: SparseLu,
    tableau: Tableau,
    next: f64,
    stages: Vec<Vec<f64>>,
    argument: Vec<f64>,
    rate: Vec<f64>,
    scale: Vec<f64>,
    miss: Vec<f64>,
    /// Unknown with the worst error in the last try.
    worst: usize,
    nodes: Vec<NodeState>,
    flows: Vec<Flow>,
    weights: [Vec<(usize, f64)>; LEDGER],
    /// Nothing leads out of the network.
    sealed: bool,
    given: Vec<f64>,
}

impl Engine {
    /// Starts from `y` (unknowns and ledger) at time `t` (s) with guessed temperatures in `nodes`.
    pub fn new(system: System, y: Vec<f64>, nodes: Vec<NodeState>, tolerance: Tolerance, t: f64) -> Self {
        let flows = vec![Flow::default(); system.parts.elements.len()];
        let moment = Moment { t, f: vec![0.0; y.len()], y, nodes, flows };
        let size = moment.y.len();
        let weights = ledger::invariants(&system);
        let mut made = Self {
            tableau: Tableau::third_order(),
            start: moment.clone(),
            nodes: moment.nodes.clone(),
            flows: moment.flows.clone(),
            end: moment,
            tolerance,
            count: StepCount::default(),
            fault: None,
            ahead: None,
            notes: Vec::new(),
            lu: SparseLu::new(system.layout.pattern.clone()),
            miss: vec![0.0; size],
            worst: 0,
            next: RESTART,
            stages: vec![vec![0.0; size]; MOST_STAGES],
            argument: vec![0.0; size],
            rate: vec![0.0; size],
            scale: vec![1.0; size],
            weights,
            sealed: ledger::sealed(&system),
            given: vec![0.0; system.layout.unknowns],
            system,
        };
        made.refresh();
        made
    }

    /// Evaluates everything anew at the start of the step, after a change from outside; what lay ahead is dropped.
    pub fn refresh(&mut self) {
        let Self { system, start, nodes, .. } = self;
        nodes.clone_from(&start.nodes);
        system.boundaries(nodes);
        let base = start.nodes.clone();
        system.states(&start.y, &base, &start.y, nodes);
        std::mem::swap(&mut start.nodes, nodes);
        self.flows_anew();
        self.next = self.next.min(RESTART);
        nodes_copy(&self.start, &mut self.nodes);
    }

    /// Evaluates the flows anew at the start of the step (an opening changed); what lay ahead is dropped.
    pub fn flows_anew(&mut self) {
        self.system.settle(self.start.t);
        let Moment { t, y, f, nodes, flows } = &mut self.start;
        self.system.rates(*t, y, nodes, flows, f, true);
        self.next = self.next.min(RESTART);
        self.end.clone_from(&self.start);
        nodes_copy(&self.start, &mut self.nodes);
    }

    /// Makes the end of the step its start.
    fn shift(&mut self) {
        if self.end.t > self.start.t {
            std::mem::swap(&mut self.start, &mut self.end);
            if self.latch_reliefs() {
                self.flows_anew();
            }
        }
    }

    /// Takes one step beyond the present end, not beyond `limit`; none once there is a fault.
    pub fn step(&mut self, limit: f64) {
        if self.fault.is_none() {
            self.fault = self.ahead.take();
        }
        if self.fault.is_some() {
            return;
        }
        self.shift();
        let t = self.start.t;
        let limit = self.system.parts.next_end(t, limit);
        self.system.settle(t);
        self.scales();
        if self.spent() {
            self.give_up(None);
            return;
        }
        loop {
            let room = limit - t;
            let mut h = self.next.min(self.tolerance.longest);
            let last = h >= room * 0.999;
            if last {
                h = room;
            } else if h > 0.5 * room {
                h = 0.5 * room;
            }
            let (error, fine) = self.attempt(h);
            let factor =
                if fine { (0.85 * error.max(1e-9).powf(-self.tableau.exponent)).clamp(0.15, 6.0) } else { 0.15 };
            if fine && error <= 1.0 {
                self.end.t = if last { limit } else { t + h };
                // A step cut short by the limit says little about the next one's length.
                self.next = if last { (h * factor).max(self.next.min(h * 1000.0)) } else { h * factor };
                self.finish();
                if let Some(share) = self.relief_crossing().filter(|_| h > 1e-3) {
                    self.count.rejected += 1;
                    self.next = h * share.clamp(0.02, 0.98);
                    continue;
                }
                if h > CALM && self.off_balance(h) {
                    self.count.rejected += 1;
                    self.next = 0.4 * h;
                    continue;
                }
                self.count.accepted += 1;
                self.look();
                return;
            }
            self.count.rejected += 1;
            if h <= SHORTEST || self.spent() {
                self.give_up((h <= SHORTEST).then_some(h));
                return;
            }
            self.next = (h * factor).max(SHORTEST);
        }
    }

    /// Ends the run at the start of the step in hand.
    fn give_up(&mut self, shortest: Option<f64>) {
        self.fault = Some(self.unsolved(shortest));
        self.end.clone_from(&self.start);
    }

    /// More steps were tried than the simulated time allows.
    fn spent(&self) -> bool {
        let tries = (self.count.accepted + self.count.rejected) as f64;
        tries > STOCK + self.tolerance.budget * self.start.t
    }

    /// Rejoins the step's start with exactly `t` by integrating there; `t` lies within the present step.
    pub fn land(&mut self, t: f64) {
        if t < self.end.t {
            self.ahead = None;
        }
        if t >= self.end.t {
            self.shift();
            return;
        }
        if t <= self.start.t {
            self.end.clone_from(&self.start);
            return;
        }
        let keep = self.next;
        // The Jacobian in hand is that of the step's end: near enough, the method keeps its order with any.
        self.end.clone_from(&self.start);
        while self.end.t < t && self.fault.is_none() {
            self.next = t - self.end.t;
            self.step(t);
        }
        self.shift();
        self.next = keep;
    }

    /// One try from the start; the result is left in `end.y`. Returns the scaled error and whether all is finite.
    fn attempt(&mut self, h: f64) -> (f64, bool) {
        let n = self.system.layout.unknowns;
        let Self { system, start, tableau, stages, argument, rate, nodes, flows, weights, sealed, given, lu, .. } =
            self;
        let shift = 1.0 / (h * tableau.gamma);
        let keepers = sealed.then(|| ledger::largest(weights, &start.y));
        if !lu.factorise(shift, &system.jacobian) {
            return (f64::INFINITY, false);
        }
        for stage in 0..tableau.stages {
            if stage == 0 {
                rate.copy_from_slice(&start.f);
            } else if tableau.a[stage][..stage] == tableau.a[stage - 1][..stage] {
                // Same argument as the stage before: nothing to evaluate.
            } else {
                argument.copy_from_slice(&start.y);
                for (weight, earlier) in tableau.a[stage].iter().zip(stages.iter()).take(stage) {
                    for (value, add) in argument.iter_mut().zip(earlier) {
                        *value += weight * add;
                    }
                }
                system.states_within(argument, &start.nodes, &start.y, nodes);
                system.rates(start.t + tableau.alpha[stage] * h, argument, nodes, flows, rate, false);
            }
            let (done, rest) = stages.split_at_mut(stage);
            let Some(now) = rest.first_mut() else { break };
            now.copy_from_slice(rate);
            for (weight, earlier) in tableau.c[stage].iter().zip(done.iter()) {
                let weight = weight / h;
                for (value, add) in now.iter_mut().zip(earlier) {
                    *value += weight * add;
                }
            }
            // Ledger by the invariants: w.(s X - b) is what the solve adds to the unknowns.
            given.copy_from_slice(&now[..n]);
            lu.solve(&mut now[..n]);
            let (now, ledger) = now.split_at_mut(n);
            for (given, now) in given.iter_mut().zip(&*now) {
                *given -= shift * now;
            }
            for (value, line) in ledger.iter_mut().zip(weights.iter()) {
                let left: f64 = line.iter().map(|&(at, weight)| weight * given[at]).sum();
                *value = (*value + left) / shift;
            }
            if let Some(keepers) = &keepers {
                ledger::keep(keepers, now, ledger);
            }
        }
        self.combine()
    }

    /// Evaluates states, flows and Jacobian at the new end.
    fn finish(&mut self) {
        let Self { system, start, end, .. } = self;
        for ((place, node), fixed) in system.parts.places.iter().zip(end.nodes.iter_mut()).zip(&start.nodes) {
            if !place.closed() {
                *node = *fixed;
            }
        }
        let count = system.parts.places.len();
        end.nodes[count..].copy_from_slice(&start.nodes[count..]);
        system.states(&end.y, &start.nodes, &start.y, &mut end.nodes);
        system.rates(end.t, &end.y, &end.nodes, &mut end.flows, &mut end.f, true);
        self.count.evaluations = system.evaluations;
    }

    /// Share of the step at which a relief valve should have moved, where the step ran well past that.
    fn relief_crossing(&self) -> Option<f64> {
        let mut first: Option<f64> = None;
        for (element, joint) in self.system.parts.elements.iter().zip(&self.system.layout.joints) {
            let LawSpec::Relief(spec) = &element.law else {
                continue;
            };
            let head = |moment: &Moment| moment.nodes[joint.ends[0]].p - moment.nodes[joint.ends[1]].p;
            let (before, after) = (head(&self.start), head(&self.end));
            let aim = match element.memory.lifted {
                false if after > spec.set * 1.005 => spec.set * 1.002,
                true if after < spec.reseat * 0.995 => spec.reseat * 0.998,
                _ => continue,
            };
            let share = (aim - before) / (after - before);
            if share > 0.0 && share < 1.0 {
                first = Some(first.map_or(share, |known| known.min(share)));
            }
        }
        first
    }

    /// Reliefs that must lift or reseat; returns whether one did.
    fn latch_reliefs(&mut self) -> bool {
        let mut changed = false;
        let nodes = &self.start.nodes;
        let System { parts, layout, .. } = &mut self.system;
        for (element, joint) in parts.elements.iter_mut().zip(&layout.joints) {
            if let LawSpec::Relief(spec) = &element.law {
                let head = nodes[joint.ends[0]].p - nodes[joint.ends[1]].p;
                let lifted = if element.memory.lifted { head > spec.reseat } else { head > spec.set };
                changed |= lifted != element.memory.lifted;
                element.memory.lifted = lifted;
            }
        }
        changed
    }
}

fn nodes_copy(from: &Moment, to: &mut [NodeState]) {
    to.copy_from_slice(&from.nodes);
}
