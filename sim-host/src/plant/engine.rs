//! The integrator: Rosenbrock-W steps with error control over the network, looking one step ahead.
//!
//! The ledger is no part of the linear solves: its stage values follow from the invariants' weights, so that refrigerant, air,
//! water, oil and energy are kept to rounding whatever the Jacobian is, as far as the fluxes themselves balance.

use super::element::Flow;
use super::fault::PlantFault;
use super::gas::{self, R_AIR, R_WATER};
use super::layout::{DISSOLVED_AIR, NONE, OIL, POOL, WALL};
use super::limits;
use super::node::{CONTENT, ENERGY, NodeState};
use super::sparse::SparseLu;
use super::spec::{LawSpec, PlaceKind, Tolerance};
use super::system::{LEDGER, System};
use super::tableau::{MOST_STAGES, Tableau};

/// Shortest step, s. A system that wants less cannot be integrated here.
const SHORTEST: f64 = 1e-9;
/// First step after a switch, s.
const RESTART: f64 = 2e-3;
/// Pressure at which the tolerance of a gas temperature has doubled, Pa: thin gas takes its wall's temperature and weighs nothing.
const THIN: f64 = 30.0;
/// Most that tolerance grows to, K.
const LOOSEST: f64 = 0.5;
/// Heat capacity of oil at which the tolerance of its temperature has doubled, J/K.
const FILM: f64 = 0.5;
/// Most that its tolerance grows to, K: oil that is all but gone has no temperature to speak of.
const GONE: f64 = 50.0;
/// Share of a mass's tolerance by which it may fall below nothing.
const BELOW: f64 = 0.1;
/// Bulge of a cubic between two points over the difference of its end slope from their secant, times the step (4/27).
const BULGE: f64 = 0.15;
/// Tolerances that a small content may end a step away from its balance.
const MANY: f64 = 30.0;
/// Tolerances that a way between two points may bulge beyond a little of what it moves.
const ROW: f64 = 5.0;
/// Times its own time constant from which a step is long for a content.
const STIFF: f64 = 10.0;
/// Most that a gas may end a step off the temperature that its wall and flows hold it at, K.
const OFF_WALL: f64 = 1.0;
/// Step that is short enough for any of them, s.
const CALM: f64 = 0.01;
/// Most that the temperature of a gas may bulge between two points beyond what it moves, K.
const SLACK: f64 = 0.3;
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
    given: Vec<f64>,
}

impl Engine {
    /// Starts from `y` (unknowns and ledger) at time 0 with guessed temperatures in `nodes`.
    pub fn new(system: System, y: Vec<f64>, nodes: Vec<NodeState>, tolerance: Tolerance) -> Self {
        let flows = vec![Flow::default(); system.parts.elements.len()];
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
                limits::look(self);
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

    /// A small content ended the step well away from where its flows hold it in balance. The error estimate does not see that: a step much
    /// longer than a content's own time damps the estimate as it damps the content.
    fn off_balance(&mut self, h: f64) -> bool {
        let n = self.system.layout.unknowns;
        let Self { system, end, argument, lu, scale, tableau, .. } = self;
        let way = &mut argument[..n];
        way.copy_from_slice(&end.f[..n]);
        // For what is fast this is the way to its balance; for what is slow, some of the next step.
        lu.solve(way);
        let width = if system.layout.mixed { CONTENT } else { CONTENT - 1 };
        let seats = system.layout.seats.iter().zip(&system.parts.places).zip(&end.nodes);
        seats.filter(|((_, place), _)| place.closed()).any(|((seat, place), node)| {
            let fast = |at: usize| (h * tableau.gamma * end.f[at]).abs() > STIFF * way[at].abs();
            let mass = seat.base + 1;
            if fast(mass) && way[mass].abs() > MANY * scale[mass] {
                return true;
            }
            let kelvin: f64 = (0..width).map(|k| node.dt[k] * way[seat.base + k]).sum();
            place.data.isothermal.is_none() && fast(seat.base) && kelvin.abs() > OFF_WALL
        })
    }

    /// Ends the run at the start of the step in hand.
    fn give_up(&mut self, shortest: Option<f64>) {
        self.fault = Some(limits::unsolved(self, self.worst, shortest));
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
        let Self { system, start, tableau, stages, argument, rate, nodes, flows, weights, given, lu, .. } = self;
        let shift = 1.0 / (h * tableau.gamma);
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
        let Self { start, end, tableau, stages, scale, miss, .. } = self;
        end.y.copy_from_slice(&start.y);
        let (mut worst, mut at) = (0.0f64, 0);
        for index in 0..n + LEDGER {
            let (mut add, mut off) = (0.0, 0.0);
            for (stage, values) in stages.iter().enumerate().take(tableau.stages) {
                add += tableau.m[stage] * values[index];
                off += tableau.e[stage] * values[index];
            }
            end.y[index] += add;
            miss[index] = off;
            if index < n {
                let error = (off / scale[index]).abs();
                if error > worst || error.is_nan() {
                    (worst, at) = (error, index);
                }
            }
        }
        self.worst = at;
        let worst = self.volumes_error(worst);
        (worst, worst.is_finite())
    }

    /// Error of the gas temperatures, which energy and masses make together, and of masses that would fall below nothing.
    fn volumes_error(&mut self, mut worst: f64) -> f64 {
        let kelvin = 300.0 * self.tolerance.relative;
        let width = if self.system.layout.mixed { CONTENT } else { CONTENT - 1 };
        let Self { system, start, end, scale, miss, worst: at, .. } = self;
        let oils = system.oils();
        for (((place, seat), node), index) in
            system.parts.places.iter().zip(&system.layout.seats).zip(&start.nodes).zip(0..)
        {
            if !place.closed() {
                continue;
            }
            let base = seat.base;
            let off: f64 = (0..width).map(|k| node.dt[k] * miss[base + k]).sum();
            let allowed = kelvin + (kelvin * THIN / node.p.max(1e-3)).min(LOOSEST);
            let mut error = (off / allowed).abs();
            for k in 1..width {
                let (was, is) = (start.y[base + k], end.y[base + k]);
                let below = -is / (BELOW * scale[base + k]);
                if below > 1.0 && is < was {
                    error = error.max(below.min(8.0));
                }
            }
            if error > worst || error.is_nan() {
                (worst, *at) = (error, base + ENERGY);
            }
            if let (Some(energy), Some(_)) = (seat.get(OIL + 2), seat.get(OIL + 1)) {
                let oil = &oils[index];
                let off: f64 = (0..3).map(|k| oil.dt[k] * miss[energy - 2 + k]).sum();
                let error = (off / (kelvin + (kelvin * FILM / oil.capacity).min(GONE))).abs();
                if error > worst || error.is_nan() {
                    (worst, *at) = (error, energy);
                }
            }
        }
        worst
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

    /// Unknowns at `t` within the step, into `y`: cubic through both ends with their rates. `false` where that says nothing, because
    /// some content is so stiff that a tolerance's worth of imbalance fills it many times over within the step.
    pub fn between(&self, t: f64, y: &mut [f64]) -> bool {
        let h = self.end.t - self.start.t;
        if h <= 0.0 || t <= self.start.t {
            y.copy_from_slice(&self.start.y);
            return true;
        }
        if t >= self.end.t {
            y.copy_from_slice(&self.end.y);
            return true;
        }
        let contents = self.system.layout.seats.iter().flat_map(|seat| &seat.at[1..CONTENT]);
        if contents.into_iter().any(|at| *at != NONE && self.too_stiff(*at as usize, h)) {
            return false;
        }
        let x = (t - self.start.t) / h;
        let (one, two) = (x * (1.0 - x) * (1.0 - x) * h, -x * x * (1.0 - x) * h);
        let rise = x * x * (3.0 - 2.0 * x);
        let (start, end) = (&self.start, &self.end);
        for (index, value) in y.iter_mut().enumerate() {
            let (a, b) = (start.y[index], end.y[index]);
            *value = a + rise * (b - a) + one * start.f[index] + two * end.f[index];
        }
        !self.slaved(h)
    }

    /// A gas follows its wall, or what flows through it, so fast that its energy's rates say nothing of the way between.
    fn slaved(&self, h: f64) -> bool {
        let seats = self.system.layout.seats.iter().zip(&self.system.parts.places).zip(&self.end.nodes);
        seats.filter(|((_, place), _)| place.closed() && place.data.isothermal.is_none()).any(|((seat, _), node)| {
            let (moved, bulge) = self.bulge(seat.base, h);
            bulge > moved + SLACK * node.capacity
        })
    }

    /// The rates at the ends of a step of `h` s would bend the way between them by many tolerances, and not for the way's own sake.
    fn too_stiff(&self, at: usize, h: f64) -> bool {
        let (moved, bulge) = self.bulge(at, h);
        bulge > 0.02 * moved + ROW * self.scale[at]
    }

    /// How far an unknown moved in the step of `h` s, and how far the cubic between its ends bulges.
    fn bulge(&self, at: usize, h: f64) -> (f64, f64) {
        let moved = self.end.y[at] - self.start.y[at];
        let bend = (self.start.f[at] * h - moved).abs().max((self.end.f[at] * h - moved).abs());
        (moved.abs(), BULGE * bend)
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

    /// Error scales of the unknowns at the start of the step.
    fn scales(&mut self) {
        let Tolerance { relative, pressure, .. } = self.tolerance;
        let Self { system, start, scale, .. } = self;
        let refrigerant = 8.314_462_618 / system.fluids.main.molar_mass();
        scale.fill(relative * 300.0);
        let y = &start.y;
        for ((place, seat), node) in system.parts.places.iter().zip(&system.layout.seats).zip(&start.nodes) {
            match place.kind {
                PlaceKind::Closed => {
                    let gas = place.data.volume * (pressure + 0.1 * relative * node.p) / node.t;
                    // The temperature stands in for the energy.
                    scale[seat.base] = f64::MAX;
                    for (k, constant) in [refrigerant, R_AIR, R_WATER, refrigerant].into_iter().enumerate() {
                        if seat.at[k + 1] != NONE {
                            scale[seat.base + 1 + k] = relative * node.mass[k] + gas / constant;
                        }
                    }
                    let trace = gas / R_WATER;
                    for (wall, first) in place.walls.iter().zip(WALL) {
                        let (Some(wall), Some(at)) = (wall, seat.get(first)) else { continue };
                        scale[at] = relative * 300.0 * wall.spec.capacity;
                        if let Some(water) = seat.get(first + 1) {
                            scale[water] = relative * y[water].abs() + trace;
                            scale[at] += relative * y[water].abs() * gas::FUSION;
                        }
                    }
                    if let Some(at) = seat.get(POOL) {
                        // Water left over counts as the vapour pressure it can still make.
                        scale[at] = relative * y[at].abs() + trace;
                        scale[at + 1] = scale[at] * gas::FUSION;
                    }
                    if let Some(at) = seat.get(DISSOLVED_AIR) {
                        scale[at] = relative * y[at].abs() + 10.0 * gas / R_AIR;
                    }
                    if let Some(at) = seat.get(OIL + 2) {
                        // The temperature of an oil phase stands in for it, too; a film only carries heat along.
                        let film = seat.get(OIL + 1).is_none();
                        scale[at] = if film { relative * 300.0 * (FILM + 2e3 * y[at - 1].abs()) } else { f64::MAX };
                    }
                }
                PlaceKind::Cabinet { .. } => scale[seat.base] = relative * y[seat.base].abs() + 1e-6,
                PlaceKind::Bottle => {}
            }
            if let Some(at) = seat.get(OIL) {
                scale[at] = relative * y[at].abs() + 0.1 * relative;
                if let Some(held) = seat.get(OIL + 1) {
                    scale[held] = relative * y[held].abs() + 0.0005 * relative;
                }
            }
        }
    }
}

fn nodes_copy(from: &Moment, to: &mut [NodeState]) {
    to.copy_from_slice(&from.nodes);
}

/// For each line of the ledger (unknown, weight): weighted sums of unknowns that, with the ledger, never change.
fn invariants(system: &System) -> [Vec<(usize, f64)>; LEDGER] {
    let mut all: [Vec<(usize, f64)>; LEDGER] = std::array::from_fn(|_| Vec::new());
    let mut add = |line: usize, at: Option<usize>, weight: f64| all[line].extend(at.map(|at| (at, weight)));
    for (place, seat) in system.parts.places.iter().zip(&system.layout.seats) {
        match place.kind {
            PlaceKind::Closed => {
                // The energy line counts inwards, hence the minus.
                add(5, seat.get(ENERGY), -1.0);
                (0..4).for_each(|k| add(k, seat.get(k + 1), 1.0));
            }
            PlaceKind::Cabinet { .. } => add(0, Some(seat.base), 1.0),
            PlaceKind::Bottle => {}
        }
        for first in WALL {
            add(5, seat.get(first), -1.0);
            add(2, seat.get(first + 1), 1.0);
        }
        add(4, seat.get(OIL), 1.0);
        add(0, seat.get(OIL + 1), 1.0);
        add(5, seat.get(OIL + 2), -1.0);
        add(2, seat.get(POOL), 1.0);
        add(5, seat.get(POOL + 1), -1.0);
        add(1, seat.get(DISSOLVED_AIR), 1.0);
    }
    for (element, joint) in system.parts.elements.iter().zip(&system.layout.joints) {
        let own = (joint.own != NONE).then_some(joint.own as usize);
        match &element.law {
            LawSpec::Heater(spec) => add(5, own, -spec.capacity),
            LawSpec::VacuumPump(_) => add(2, own, 1.0),
            _ => {}
        }
    }
    all
}

/// Sum of one ledger line's unknowns, without the ledger itself.
pub fn inventory(engine: &Engine, y: &[f64], line: usize) -> f64 {
    let sign = if line == 5 { -1.0 } else { 1.0 };
    engine.weights[line].iter().map(|&(index, weight)| sign * weight * y[index]).sum()
}
