//! The network's right hand side and its approximate Jacobian.
//!
//! Every flux is added to one end and taken from the other, what crosses the network's edge goes to a ledger; so refrigerant,
//! air, water, oil and energy can be balanced. The Jacobian holds what is stiff (pressure, advected composition and
//! enthalpy, heat between content, wall and pool, oil carried along); the rest follows explicitly.

use std::fmt;

use super::element::{self, Ends, Flow, Memory, OilContent};
use super::gas;
use super::layout::{Layout, POOL, Place, WALL};
use super::node::{ENERGY, NodeState, REFRIGERANT, STEAM};
use super::spec::{AmbientSpec, LawSpec, PlaceKind};
use crate::fluid::Fluid;

/// Ledger: refrigerant, air, water, oil that left the network (kg) and energy that came in (J).
pub const LEDGER: usize = 5;
const ENERGY_IN: usize = 4;
/// Change of temperature over which a volume at rest is taken for straight, K: its square costs some 1e-3 K.
const LITTLE: f64 = 0.3;
const OIL_OUT: usize = 3;

/// Layout and surroundings, with what one evaluation needs.
#[derive(Clone)]
pub struct System {
    /// Arrangement of the unknowns.
    pub layout: Layout,
    /// Properties.
    pub fluid: &'static Fluid,
    /// The air around.
    pub ambient: AmbientSpec,
    /// Approximate Jacobian in the layout's pattern, one dummy slot at the end.
    pub jacobian: Vec<f64>,
    /// Evaluations so far.
    pub evaluations: u64,
    /// Relative tolerance of the integration.
    pub relative: f64,
    /// Elements through which nothing can pass during the step in hand.
    pub idle: Vec<bool>,
    /// The others.
    pub busy: Vec<u32>,
    /// Flows are wanted.
    pub keep: bool,
    /// Places that nothing flows into or out of during the step in hand, and that hold no oil and no pool.
    pub lone: Vec<bool>,
}

impl fmt::Debug for System {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("System")
            .field("fluid", &self.fluid.kind())
            .field("layout", &self.layout)
            .finish_non_exhaustive()
    }
}

impl System {
    /// Fresh states of all nodes for `y`; temperatures start from `base` and its linear change since `y_base`.
    pub fn states(&self, y: &[f64], base: &[NodeState], y_base: &[f64], out: &mut [NodeState]) {
        for ((place, out), known) in self.layout.places.iter().zip(out.iter_mut()).zip(base) {
            if !place.closed() {
                continue;
            }
            let at = place.base;
            let (Some(now), Some(then)) = (four(y, at), four(y_base, at)) else {
                continue;
            };
            let guess = known.t + (0..4).map(|k| known.dt[k] * (now[k] - then[k])).sum::<f64>();
            *out = NodeState::evaluate(self.fluid, &place.data, &now, guess);
        }
    }

    /// States inside a step. A volume that nothing flows into or out of hardly moves: its temperature and pressure follow their
    /// slopes, the rest stays; the end of the step is worked out anew.
    pub fn states_within(&self, y: &[f64], base: &[NodeState], y_base: &[f64], out: &mut [NodeState]) {
        for (((place, out), known), lone) in self.layout.places.iter().zip(out.iter_mut()).zip(base).zip(&self.lone) {
            let at = place.base;
            let (true, Some(now), Some(then)) = (place.closed(), four(y, at), four(y_base, at)) else {
                continue;
            };
            let along = |slope: &[f64; 4]| (0..4).map(|k| slope[k] * (now[k] - then[k])).sum::<f64>();
            let rise = along(&known.dt);
            if *lone && rise.abs() < LITTLE {
                *out = *known;
                (out.t, out.p) = (known.t + rise, known.p + along(&known.dp));
            } else {
                *out = NodeState::evaluate(self.fluid, &place.data, &now, known.t + rise);
            }
        }
    }

    /// Finds out which elements rest from `t` on, until a stroke begins or ends.
    pub fn settle(&mut self, t: f64) {
        let Self { layout, idle, busy, lone, .. } = self;
        busy.clear();
        idle.clear();
        lone.clear();
        lone.extend(layout.places.iter().map(|place| place.oil.is_none() && place.pool.is_none()));
        for (index, element) in layout.elements.iter().enumerate() {
            let still = element.stroke.end() <= t + 1e-12 && element.stroke.opening(t) <= 0.0;
            let rests = match element.law {
                LawSpec::Heater(_) | LawSpec::HeatLink(_) => false,
                LawSpec::Relief(_) => !element.memory.lifted,
                _ => still,
            };
            idle.push(rests);
            if !rests {
                busy.push(index as u32);
                if !matches!(element.law, LawSpec::Heater(_) | LawSpec::HeatLink(_)) {
                    for end in element.ends {
                        if let Some(lone) = lone.get_mut(end) {
                            *lone = false;
                        }
                    }
                }
            }
        }
    }

    /// States of the boundaries (ambient, vacuum, cabinet, bottles), set into `nodes`.
    pub fn boundaries(&self, nodes: &mut [NodeState]) {
        let AmbientSpec { temperature, pressure, humidity } = self.ambient;
        let air = NodeState::boundary(pressure, temperature, element::steam_share(temperature, pressure, humidity));
        for (place, node) in self.layout.places.iter().zip(nodes.iter_mut()) {
            if !place.closed() {
                *node = air;
            }
        }
        nodes[self.layout.ambient()] = air;
        nodes[self.layout.vacuum()] = NodeState { t: temperature, ..NodeState::boundary(0.0, temperature, 0.0) };
    }

    /// Rates `f` of all unknowns and the ledger at time `t`; the Jacobian too where `slopes`. `flows` are whole at the ends of a
    /// step only; see [`System::flows`] for any other moment.
    pub fn rates(&mut self, t: f64, y: &[f64], nodes: &[NodeState], flows: &mut [Flow], f: &mut [f64], slopes: bool) {
        self.keep = slopes;
        self.all_rates(t, y, nodes, flows, f, slopes);
    }

    /// Rates and flows at a moment that is looked at, without the Jacobian.
    pub fn flows(&mut self, t: f64, y: &[f64], nodes: &[NodeState], flows: &mut [Flow], f: &mut [f64]) {
        self.keep = true;
        self.all_rates(t, y, nodes, flows, f, false);
    }

    fn all_rates(&mut self, t: f64, y: &[f64], nodes: &[NodeState], flows: &mut [Flow], f: &mut [f64], slopes: bool) {
        self.evaluations += 1;
        f.fill(0.0);
        if slopes {
            self.jacobian.fill(0.0);
        }
        for index in 0..self.layout.places.len() {
            self.place_rates(index, y, nodes, f, slopes);
        }
        for at in 0..self.busy.len() {
            self.element_rates(self.busy[at] as usize, t, y, nodes, flows, f, slopes);
        }
        if self.keep {
            for ((flow, element), idle) in flows.iter_mut().zip(&self.layout.elements).zip(&self.idle) {
                if *idle {
                    *flow = element::idle(&element.law, element.stroke.opening(t), &nodes[element.ends[0]]);
                }
            }
        }
    }

    fn place_rates(&mut self, index: usize, y: &[f64], nodes: &[NodeState], f: &mut [f64], slopes: bool) {
        let Self { layout, jacobian, ambient, fluid, .. } = self;
        let place = &layout.places[index];
        let node = &nodes[index];
        let ledger = layout.unknowns;
        if let Some((wall, spec)) = place.wall {
            let ua = spec.dry + (spec.wet - spec.dry) * node.m_liq / (node.m_liq + spec.half_mass);
            let q = ua * (y[wall] - node.t);
            let outside = spec.to_ambient * (spec.surroundings.unwrap_or(ambient.temperature) - y[wall]);
            f[place.base + ENERGY] += q;
            f[wall] += (outside - q) / spec.capacity;
            f[ledger + ENERGY_IN] += outside;
            if slopes {
                for k in 0..4 {
                    jacobian[place.own[ENERGY][k] as usize] -= ua * node.dt[k];
                    jacobian[place.own[WALL][k] as usize] += ua * node.dt[k] / spec.capacity;
                }
                jacobian[place.own[ENERGY][WALL] as usize] += ua;
                jacobian[place.own[WALL][WALL] as usize] -= (ua + spec.to_ambient) / spec.capacity;
            }
        }
        if let Some((oil, spec)) = place.oil
            && place.closed()
        {
            let super::spec::OilLaw::Linear { solubility, time_constant } = spec.law else { return };
            let held = if node.quality < 1.0 {
                1.0
            } else {
                (node.p_r / fluid.p_sat(node.t.min(fluid.t_crit() - 0.5))).min(1.0)
            };
            let release = (y[oil + 1] - y[oil].max(0.0) * solubility * held) / time_constant;
            f[place.base + REFRIGERANT] += release;
            f[oil + 1] -= release;
            f[place.base + ENERGY] += release * node.h_l;
            f[ledger + ENERGY_IN] += release * node.h_l;
            if slopes {
                jacobian[place.oil_own[1] as usize] -= 1.0 / time_constant;
            }
        } else if let Some((oil, _)) = place.oil {
            // An open bottle: what was dissolved bubbles off at once.
            f[oil + 1] -= y[oil + 1];
            f[ledger] += y[oil + 1];
            if slopes {
                jacobian[place.oil_own[1] as usize] -= 1.0;
            }
        }
        if place.pool.is_some() {
            pool_rates(layout, jacobian, place, node, y, f, slopes);
        }
    }

    #[allow(clippy::too_many_arguments)]
    fn element_rates(
        &mut self,
        index: usize,
        t: f64,
        y: &[f64],
        nodes: &[NodeState],
        flows: &mut [Flow],
        f: &mut [f64],
        slopes: bool,
    ) {
        let opening = self.layout.elements[index].stroke.opening(t);
        let [from, to] = self.layout.elements[index].ends;
        let oil = [from, to].map(|node| oil_content(self.layout.places.get(node), y));
        let margin = [from, to].map(|node| self.layout.places.get(node).map_or(0.0, |place| place.dip_margin));
        let ends = Ends {
            fluid: self.fluid,
            from: &nodes[from],
            to: &nodes[to],
            oil,
            margin,
            ambient: self.ambient.temperature,
            slopes,
            relative: self.relative,
        };
        let element = &mut self.layout.elements[index];
        let flow = element::evaluate(&element.law, opening, &ends, &mut element.memory);
        if self.keep {
            // Inside a step nobody reads the flows, and the copy is not for nothing.
            flows[index] = flow;
        }
        match self.layout.elements[index].law {
            LawSpec::Heater(_) | LawSpec::HeatLink(_) | LawSpec::Fan(_) => {
                self.service_rates(index, opening, y, nodes, &mut flows[index], f, slopes);
            }
            _ if flow.rate == 0.0 && flow.oil == 0.0 => {}
            _ => {
                self.apply(index, &flow, f);
                if slopes {
                    self.apply_slopes(index, &flow, nodes);
                }
            }
        }
    }

    /// Adds a flow to its two ends, or to the ledger where an end is no closed volume.
    fn apply(&self, index: usize, flow: &Flow, f: &mut [f64]) {
        let ledger = self.layout.unknowns;
        let ends = self.layout.elements[index].ends;
        for (side, sign) in [(0usize, -1.0), (1usize, 1.0)] {
            let place = self.layout.places.get(ends[side]);
            let other_closed = self.layout.base(ends[1 - side]).is_some();
            match place {
                Some(place) if place.closed() => {
                    f[place.base + ENERGY] += sign * flow.energy[side];
                    for k in 0..3 {
                        f[place.base + REFRIGERANT + k] += sign * flow.species[k];
                    }
                    if !other_closed {
                        f[ledger + ENERGY_IN] += sign * flow.energy[side];
                    }
                }
                Some(place) if matches!(place.kind, PlaceKind::Cabinet { .. }) => {
                    f[place.base] += sign * (flow.species[0] + flow.dissolved);
                    f[ledger + 1] += sign * flow.species[1];
                    f[ledger + 2] += sign * flow.species[2];
                    f[ledger + OIL_OUT] += sign * flow.oil;
                    continue;
                }
                _ => {
                    for k in 0..3 {
                        f[ledger + k] += sign * flow.species[k];
                    }
                }
            }
            match place.and_then(|place| place.oil) {
                Some((oil, _)) => {
                    f[oil] += sign * flow.oil;
                    f[oil + 1] += sign * flow.dissolved;
                }
                None => {
                    f[ledger + OIL_OUT] += sign * flow.oil;
                    f[ledger] += sign * flow.dissolved;
                }
            }
        }
        if ends.iter().all(|&end| self.layout.base(end).is_some()) {
            f[ledger + ENERGY_IN] += flow.rate * flow.lift;
        }
    }

    fn apply_slopes(&mut self, index: usize, flow: &Flow, nodes: &[NodeState]) {
        let Self { layout, jacobian, .. } = self;
        let element = &layout.elements[index];
        let (up, down) = if flow.reversed { (1, 0) } else { (0, 1) };
        let (above, below) = (&nodes[element.ends[up]], &nodes[element.ends[down]]);
        let Memory { stream, slope, .. } = &element.memory;
        for column in 0..4 {
            let change = stream.slope(above, column);
            let rate_up = slope[0] * above.dp[column] + slope[1] * change.rho;
            let rate_down = slope[2] * below.dp[column];
            let outgoing = [
                rate_up * stream.h + flow.rate * change.h,
                rate_up * stream.x[0] + flow.rate * change.x[0],
                rate_up * stream.x[1] + flow.rate * change.x[1],
                rate_up * stream.x[2] + flow.rate * change.x[2],
            ];
            let incoming =
                [rate_down * stream.h, rate_down * stream.x[0], rate_down * stream.x[1], rate_down * stream.x[2]];
            for row in 0..4 {
                jacobian[element.positions[up][up][row][column] as usize] -= outgoing[row];
                jacobian[element.positions[down][up][row][column] as usize] += outgoing[row];
                jacobian[element.positions[up][down][row][column] as usize] -= incoming[row];
                jacobian[element.positions[down][down][row][column] as usize] += incoming[row];
            }
            if flow.lift != 0.0 {
                jacobian[element.positions[down][up][0][column] as usize] += rate_up * flow.lift;
                jacobian[element.positions[down][down][0][column] as usize] += rate_down * flow.lift;
            }
        }
        if flow.oil_rate > 0.0 {
            let places = [up, down].map(|side| layout.places.get(element.ends[side]).and_then(|place| place.oil));
            if places[0].is_some() {
                for step in 0..2 {
                    jacobian[element.oil_positions[up][up][step] as usize] -= flow.oil_rate;
                    if places[1].is_some() {
                        jacobian[element.oil_positions[down][up][step] as usize] += flow.oil_rate;
                    }
                }
            }
        }
    }

    #[allow(clippy::too_many_arguments)]
    fn service_rates(
        &mut self,
        index: usize,
        opening: f64,
        y: &[f64],
        nodes: &[NodeState],
        flow: &mut Flow,
        f: &mut [f64],
        slopes: bool,
    ) {
        let Self { layout, jacobian, .. } = self;
        let element = &layout.elements[index];
        let ledger = layout.unknowns;
        let place = layout.places.get(element.ends[0]);
        match (&element.law, place) {
            (LawSpec::Heater(spec), Some(Place { wall: Some((wall, wall_spec)), .. })) => {
                let own = element.own;
                let power = spec.power * opening;
                let q = spec.to_wall * (y[own] - y[*wall]);
                f[own] += (power - q) / spec.capacity;
                f[*wall] += q / wall_spec.capacity;
                f[ledger + ENERGY_IN] += power;
                *flow = Flow { power, t_out: y[own], opening, ..Flow::default() };
                if slopes {
                    let (a, b) = (spec.to_wall / spec.capacity, spec.to_wall / wall_spec.capacity);
                    jacobian[layout.at(own, own)] -= a;
                    jacobian[layout.at(own, *wall)] += a;
                    jacobian[layout.at(*wall, *wall)] -= b;
                    jacobian[layout.at(*wall, own)] += b;
                }
            }
            (LawSpec::Fan(speed), Some(place)) => {
                let rate = speed * opening / place.volume;
                f[place.base] -= rate * y[place.base];
                f[ledger] += rate * y[place.base];
                flow.rate = speed * opening;
                if slopes {
                    jacobian[layout.at(place.base, place.base)] -= rate;
                }
            }
            (LawSpec::HeatLink(conductance), _) => {
                flow.power = heat_link(layout, jacobian, index, conductance * opening, (y, nodes), f, slopes);
            }
            _ => {}
        }
    }
}

/// Evaporation from a water pool and heat to it from the wall (or from the held content).
fn pool_rates(
    layout: &Layout,
    jacobian: &mut [f64],
    place: &Place,
    node: &NodeState,
    y: &[f64],
    f: &mut [f64],
    slopes: bool,
) {
    let Some((pool, spec)) = place.pool else {
        return;
    };
    let (mass, energy) = (y[pool], y[pool + 1]);
    if mass <= 1e-12 {
        return;
    }
    let state = gas::pool_state(energy / mass);
    let celsius = state.celsius.max(-60.0);
    let saturation = gas::p_sat_water(celsius + gas::ZERO_C, celsius < 0.0 || state.frozen >= 1.0);
    let steam = gas::R_WATER * node.t / node.gas_volume;
    let share = mass / (mass + spec.half_mass);
    let drive = saturation - node.mass[2] * steam;
    let evaporation = spec.evaporation * share * drive;
    let latent = gas::h_steam(state.celsius + gas::ZERO_C);
    let warm = place.wall.map_or(node.t, |(wall, _)| y[wall]);
    let q = spec.to_wall * share * (warm - gas::ZERO_C - state.celsius);
    let ledger = layout.unknowns;
    let base = place.base;
    f[base + STEAM] += evaporation;
    f[base + ENERGY] += evaporation * latent;
    f[pool] -= evaporation;
    f[pool + 1] += q - evaporation * latent;
    match place.wall {
        Some((wall, wall_spec)) => f[wall] -= q / wall_spec.capacity,
        None if place.data.isothermal.is_some() => f[ledger + ENERGY_IN] += q,
        None => f[base + ENERGY] -= q,
    }
    if !slopes {
        return;
    }
    let kelvin = celsius + gas::ZERO_C;
    let rise = saturation * gas::H_STEAM / (gas::R_WATER * kelvin * kelvin);
    let per_energy = state.slope / mass;
    let by_energy = spec.evaporation * share * rise * per_energy;
    let fade = spec.half_mass / ((mass + spec.half_mass) * (mass + spec.half_mass));
    let by_mass = spec.evaporation * drive * fade - by_energy * energy / mass;
    let by_steam = -spec.evaporation * share * steam;
    let heat_by_energy = -spec.to_wall * share * per_energy;
    let own = |row: usize, column: usize| place.own[row][column] as usize;
    for (column, slope) in [(STEAM, by_steam), (POOL, by_mass), (POOL + 1, by_energy)] {
        jacobian[own(STEAM, column)] += slope;
        jacobian[own(ENERGY, column)] += slope * latent;
        jacobian[own(POOL, column)] -= slope;
        jacobian[own(POOL + 1, column)] -= slope * latent;
    }
    jacobian[own(POOL + 1, POOL + 1)] += heat_by_energy;
    if let Some((_, wall_spec)) = place.wall {
        jacobian[own(WALL, POOL + 1)] -= heat_by_energy / wall_spec.capacity;
    } else if place.data.isothermal.is_none() {
        jacobian[own(ENERGY, POOL + 1)] -= heat_by_energy;
    }
}

fn oil_content(place: Option<&Place>, y: &[f64]) -> OilContent {
    let (index, spec) = place?.oil?;
    Some((y[index], y[index + 1], spec.mist))
}

fn four(y: &[f64], at: usize) -> Option<[f64; 4]> {
    y.get(at..at + 4)?.try_into().ok()
}

/// Heat through a link, W, from wall to wall; a volume without a wall gives it from its content.
fn heat_link(
    layout: &Layout,
    jacobian: &mut [f64],
    index: usize,
    conductance: f64,
    (y, nodes): (&[f64], &[NodeState]),
    f: &mut [f64],
    slopes: bool,
) -> f64 {
    let ends = layout.elements[index].ends;
    // Row the heat acts on, its weight there, the temperature, and the unknowns that set it.
    let side = |end: usize| {
        let (place, node) = (&layout.places[end], &nodes[end]);
        match place.wall {
            Some((wall, spec)) => (wall, 1.0 / spec.capacity, y[wall], wall, [1.0, 0.0, 0.0, 0.0]),
            None => (place.base + ENERGY, 1.0, node.t, place.base, node.dt),
        }
    };
    let (one, other) = (side(ends[0]), side(ends[1]));
    let q = conductance * (one.2 - other.2);
    f[one.0] -= q * one.1;
    f[other.0] += q * other.1;
    if slopes {
        for (end, sign) in [(&one, 1.0), (&other, -1.0)] {
            for (k, slope) in end.4.iter().enumerate().filter(|(_, slope)| **slope != 0.0) {
                let change = sign * conductance * slope;
                jacobian[layout.at(one.0, end.3 + k)] -= change * one.1;
                jacobian[layout.at(other.0, end.3 + k)] += change * other.1;
            }
        }
    }
    q
}
