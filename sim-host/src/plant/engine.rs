//! The integrator: Rosenbrock-W steps with error control over the network, looking one step ahead.
//!
//! The ledger is no part of the linear solves: its stage values follow from the invariants' weights, so that refrigerant, air,
//! water, oil and energy are kept to rounding whatever the Jacobian is, as far as the fluxes themselves balance.

use super::element::Flow;
use super::gas::{R_AIR, R_WATER};
use super::layout::Place;
use super::node::NodeState;
use super::spec::{PlaceKind, Tolerance};
use super::system::{LEDGER, System};
use super::tableau::{MOST_STAGES, Tableau};

/// Shortest step, s. A system that wants less is stuck: the step is taken and the plant says so.
const SHORTEST: f64 = 1e-6;
/// First step after a switch, s.
const RESTART: f64 = 2e-3;

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
    /// A step shorter than the shortest was wanted.
    pub stuck: bool,
    tableau: Tableau,
    next: f64,
    stages: Vec<Vec<f64>>,
    argument: Vec<f64>,
    rate: Vec<f64>,
    scale: Vec<f64>,
    nodes: Vec<NodeState>,
    flows: Vec<Flow>,
    weights: [Vec<(usize, f64)>; LEDGER],
    given: Vec<f64>,
}

impl Engine {
    /// Starts from `y` (unknowns and ledger) at time 0 with guessed temperatures in `nodes`.
    pub fn new(system: System, y: Vec<f64>, nodes: Vec<NodeState>, tolerance: Tolerance) -> Self {
        let flows = vec![Flow::default(); system.layout.elements.len()];
        let moment = Moment { t: 0.0, f: vec![0.0; y.len()], y, nodes, flows };
        let size = moment.y.len();
        let weights = invariants(&system);
        let mut made = Self {
            tableau: Tableau::third_order(),
            start: moment.clone(),
            nodes: moment.nodes.clone(),
            flows: moment.flows.clone(),
            end: moment,
            tolerance,
            count: StepCount::default(),
            stuck: false,
            next: RESTART,
            stages: vec![vec![0.0; size]; MOST_STAGES],
            argument: vec![0.0; size],
            rate: vec![0.0; size],
            scale: vec![1.0; size],
            weights,
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

    /// Takes one step beyond the present end, not beyond `limit`.
    pub fn step(&mut self, limit: f64) {
        self.shift();
        let t = self.start.t;
        let mut limit = limit;
        for element in &self.system.layout.elements {
            let end = element.stroke.end();
            if end > t + 1e-12 && end < limit {
                limit = end;
            }
        }
        self.system.settle(t);
        self.scales();
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
                self.count.accepted += 1;
                return;
            }
            if h <= SHORTEST {
                self.stuck = true;
                if !fine {
                    // Nothing usable came out: hold the state over the step rather than spread nonsense.
                    self.end.y.clone_from(&self.start.y);
                }
                self.end.t = t + h;
                self.finish();
                self.next = 10.0 * SHORTEST;
                return;
            }
            self.count.rejected += 1;
            self.next = (h * factor).max(SHORTEST);
        }
    }

    /// Rejoins the step's start with exactly `t` by integrating there; `t` lies within the present step.
    pub fn land(&mut self, t: f64) {
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
        while self.end.t < t {
            self.next = t - self.end.t;
            self.step(t);
        }
        self.shift();
        self.next = keep;
    }

    /// One try from the start; the result is left in `end.y`. Returns the scaled error and whether all is finite.
    fn attempt(&mut self, h: f64) -> (f64, bool) {
        let n = self.system.layout.unknowns;
        let Self { system, start, tableau, stages, argument, rate, nodes, flows, weights, given, .. } = self;
        let shift = 1.0 / (h * tableau.gamma);
        if !system.layout.lu.factorise(shift, &system.jacobian) {
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
            system.layout.lu.solve(&mut now[..n]);
            let (now, ledger) = now.split_at_mut(n);
            for (value, line) in ledger.iter_mut().zip(weights.iter()) {
                let left: f64 = line.iter().map(|&(at, weight)| weight * (given[at] - shift * now[at])).sum();
                *value = (*value + left) / shift;
            }
        }
        self.combine()
    }

    /// Sums the stages into `end.y`; the worst scaled error of an unknown, and whether it is finite.
    fn combine(&mut self) -> (f64, bool) {
        let n = self.system.layout.unknowns;
        let Self { start, end, tableau, stages, scale, .. } = self;
        end.y.copy_from_slice(&start.y);
        let mut worst = 0.0f64;
        for index in 0..n + LEDGER {
            let (mut add, mut miss) = (0.0, 0.0);
            for (stage, values) in stages.iter().enumerate().take(tableau.stages) {
                add += tableau.m[stage] * values[index];
                miss += tableau.e[stage] * values[index];
            }
            end.y[index] += add;
            if index < n {
                let error = (miss / scale[index]).abs();
                if error > worst || error.is_nan() {
                    worst = error;
                }
            }
        }
        (worst, worst.is_finite())
    }

    /// Evaluates states, flows and Jacobian at the new end.
    fn finish(&mut self) {
        let Self { system, start, end, .. } = self;
        for ((place, node), fixed) in system.layout.places.iter().zip(end.nodes.iter_mut()).zip(&start.nodes) {
            if !place.closed() {
                *node = *fixed;
            }
        }
        let count = system.layout.places.len();
        end.nodes[count..].copy_from_slice(&start.nodes[count..]);
        system.states(&end.y, &start.nodes, &start.y, &mut end.nodes);
        system.rates(end.t, &end.y, &end.nodes, &mut end.flows, &mut end.f, true);
        self.count.evaluations = system.evaluations;
    }

    /// Unknowns at `t` within the step (cubic through both ends), into `y`.
    pub fn between(&self, t: f64, y: &mut [f64]) {
        let h = self.end.t - self.start.t;
        if h <= 0.0 || t <= self.start.t {
            y.copy_from_slice(&self.start.y);
            return;
        }
        let x = (t - self.start.t) / h;
        let (one, two) = (x * (1.0 - x) * (1.0 - x) * h, -x * x * (1.0 - x) * h);
        let rise = x * x * (3.0 - 2.0 * x);
        let (start, end) = (&self.start, &self.end);
        for (index, value) in y.iter_mut().enumerate() {
            let (a, b) = (start.y[index], end.y[index]);
            *value = a + rise * (b - a) + one * start.f[index] + two * end.f[index];
        }
    }

    /// Share of the step at which a relief valve should have moved, where the step ran well past that.
    fn relief_crossing(&self) -> Option<f64> {
        let mut first: Option<f64> = None;
        for element in &self.system.layout.elements {
            let super::spec::LawSpec::Relief(spec) = &element.law else {
                continue;
            };
            let head = |moment: &Moment| moment.nodes[element.ends[0]].p - moment.nodes[element.ends[1]].p;
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
        for element in &mut self.system.layout.elements {
            if let super::spec::LawSpec::Relief(spec) = &element.law {
                let head = nodes[element.ends[0]].p - nodes[element.ends[1]].p;
                let lifted = if element.memory.lifted { head > spec.reseat } else { head > spec.set };
                changed |= lifted != element.memory.lifted;
                element.memory.lifted = lifted;
            }
        }
        changed
    }

    /// Error scales of the unknowns at the start of the step.
    fn scales(&mut self) {
        let Tolerance { relative, pressure, .. } = self.tolerance;
        let Self { system, start, scale, .. } = self;
        let refrigerant = 8.314_462_618 / system.fluid.molar_mass();
        scale.fill(relative * 300.0);
        for (place, node) in system.layout.places.iter().zip(&start.nodes) {
            let at = place.base;
            match place.kind {
                PlaceKind::Closed => {
                    let gas = place.volume * (pressure + 0.1 * relative * node.p) / node.t;
                    // The energy of a volume held at its temperature decides nothing.
                    scale[at] = match place.data.isothermal {
                        Some(_) => f64::MAX,
                        None => relative * 300.0 * node.capacity + 10.0 * place.volume * pressure,
                    };
                    for (k, constant) in [refrigerant, R_AIR, R_WATER].into_iter().enumerate() {
                        scale[at + 1 + k] = relative * node.mass[k] + gas / constant;
                    }
                }
                PlaceKind::Cabinet { .. } => scale[at] = relative * start.y[at].abs() + 1e-6,
                PlaceKind::Bottle => {}
            }
            if let Some((oil, _)) = place.oil {
                scale[oil] = relative * start.y[oil].abs() + 0.1 * relative;
                scale[oil + 1] = relative * start.y[oil + 1].abs() + 0.01 * relative;
            }
            if let Some((pool, _)) = place.pool {
                // Water left over counts as the vapour pressure it can still make.
                let trace = place.volume * (pressure + 0.1 * relative * node.p) / (R_WATER * node.t);
                scale[pool] = relative * start.y[pool].abs() + 10.0 * trace;
                scale[pool + 1] = scale[pool] * super::gas::FUSION;
            }
        }
    }
}

fn nodes_copy(from: &Moment, to: &mut [NodeState]) {
    to.copy_from_slice(&from.nodes);
}

/// For each line of the ledger (unknown, weight): weighted sums of unknowns that, with the ledger, never change.
fn invariants(system: &System) -> [Vec<(usize, f64)>; LEDGER] {
    let mut all = Vec::new();
    for place in &system.layout.places {
        let Place { base, wall, oil, pool, .. } = place;
        match place.kind {
            PlaceKind::Closed => {
                // The energy line counts inwards, hence the minus.
                all.push((*base, 4, -1.0));
                all.extend((0..3).map(|k| (base + 1 + k, k, 1.0)));
            }
            PlaceKind::Cabinet { .. } => all.push((*base, 0, 1.0)),
            PlaceKind::Bottle => {}
        }
        if let Some((index, spec)) = wall {
            all.push((*index, 4, -spec.capacity));
        }
        if let Some((index, _)) = oil {
            all.push((*index, 3, 1.0));
            all.push((index + 1, 0, 1.0));
        }
        if let Some((index, _)) = pool {
            all.push((*index, 2, 1.0));
            all.push((index + 1, 4, -1.0));
        }
    }
    for element in &system.layout.elements {
        if let super::spec::LawSpec::Heater(spec) = &element.law {
            all.push((element.own, 4, -spec.capacity));
        }
    }
    let all: Vec<(usize, usize, f64)> = all;
    std::array::from_fn(|line| all.iter().filter(|one| one.1 == line).map(|&(at, _, weight)| (at, weight)).collect())
}

/// Sum of one ledger line's unknowns, without the ledger itself.
pub fn inventory(engine: &Engine, y: &[f64], line: usize) -> f64 {
    let sign = if line == 4 { -1.0 } else { 1.0 };
    engine.weights[line].iter().map(|&(index, weight)| sign * weight * y[index]).sum()
}
