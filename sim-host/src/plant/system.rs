//! The network's right hand side and its approximate Jacobian.
//!
//! Every flux is added to one end and taken from the other, what crosses the network's edge goes to a ledger; so both refrigerants,
//! air, water, oil and energy can be balanced. The Jacobian holds what is stiff (pressure, advected composition and enthalpy, heat
//! and water between content, walls and oil); the rest follows explicitly.

use std::fmt;
use std::sync::Arc;

use super::content::{difference, dot};
use super::element::{self, Ends, Flow, Memory, OilContent};
use super::exchange;
use super::gas;
use super::layout::{DISSOLVED_AIR, ENERGY_IN, Layout, NONE, OIL, OIL_OUT, Seat, WALL};
use super::node::{AIR, CONTENT, Company, ENERGY, Fluids, NodeState, REFRIGERANT, SECOND, SPECIES};
use super::oil::OilState;
use super::parts::Parts;
use super::sparse::SIDE;
use super::spec::{AmbientSpec, LawSpec, OilLaw, PlaceKind, Tolerance};
use super::stream::StreamSlope;
use super::wall::{self, Metal};

/// Change of temperature over which a volume at rest is taken for straight, K: its square costs some 1e-3 K.
const LITTLE: f64 = 0.3;

/// Parts and their arrangement, with what one evaluation needs.
#[derive(Clone)]
pub struct System {
    /// Places and elements.
    pub parts: Parts,
    /// Arrangement of the unknowns.
    pub layout: Arc<Layout>,
    /// Properties.
    pub fluids: Fluids,
    /// The air around.
    pub ambient: AmbientSpec,
    /// Approximate Jacobian in the layout's pattern, one dummy block at the end.
    pub jacobian: Vec<f64>,
    /// Evaluations so far.
    pub evaluations: u64,
    /// Relative tolerance of the integration.
    pub relative: f64,
    /// As [`Tolerance::eager`].
    pub eager: bool,
    /// Steps may be far longer than those of a job.
    pub long: bool,
    /// Elements through which nothing can pass during the step in hand.
    pub(super) idle: Vec<bool>,
    /// The others.
    pub(super) busy: Vec<u32>,
    /// Flows are wanted.
    keep: bool,
    /// Places that nothing flows into or out of during the step in hand, and that hold no oil and no puddle.
    pub(super) lone: Vec<bool>,
    /// Of those, the ones whose state inside the step is that of its start already, but for what follows the slopes.
    pub(super) alike: Vec<bool>,
    /// Oil phases at the last evaluation, in the order of the places.
    pub oils: Vec<OilState>,
    /// Walls at the evaluation in hand.
    metals: Vec<[Metal; 2]>,
}

impl fmt::Debug for System {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("System")
            .field("fluid", &self.fluids.main.kind())
            .field("parts", &self.parts)
            .finish_non_exhaustive()
    }
}

impl System {
    /// A system at rest.
    pub fn new(parts: Parts, layout: Arc<Layout>, fluids: Fluids, ambient: AmbientSpec, tolerance: &Tolerance) -> Self {
        let bare = Metal { t: ambient.temperature, ice: 0.0, by_enthalpy: 0.0, by_water: 0.0 };
        Self {
            jacobian: vec![0.0; layout.matrix()],
            oils: vec![OilState::default(); parts.places.len()],
            metals: vec![[bare; 2]; parts.places.len()],
            parts,
            layout,
            fluids,
            ambient,
            evaluations: 0,
            relative: tolerance.relative,
            eager: tolerance.eager,
            long: false,
            idle: Vec::new(),
            busy: Vec::new(),
            keep: true,
            lone: Vec::new(),
            alike: Vec::new(),
        }
    }

    /// What shares the volume with the content; brings the oil phase up to `y`.
    fn company(&mut self, place: usize, y: &[f64]) -> Company {
        let seat = &self.layout.seats[place];
        let mut made = Company::default();
        if let Some(at) = seat.get(DISSOLVED_AIR) {
            made.air = y[at].max(0.0);
        }
        if let (Some(oil), Some(spec)) = (seat.get(OIL), &self.parts.places[place].oil) {
            let (Some(energy), true) = (seat.get(OIL + 2), spec.phase()) else { return made };
            let guess = self.oils[place].t;
            let state = OilState::evaluate(self.fluids.main, spec, y[oil], y[oil + 1], y[energy], guess);
            made.oil = state.volume;
            self.oils[place] = state;
        }
        made
    }

    /// Fresh states of all nodes for `y`; temperatures start from `base` and its linear change since `y_base`.
    pub fn states(&mut self, y: &[f64], base: &[NodeState], y_base: &[f64], out: &mut [NodeState]) {
        for (index, known) in base.iter().enumerate().take(self.parts.places.len()) {
            if !self.parts.places[index].closed() {
                continue;
            }
            let now = self.content(index, y);
            let change = difference(&now, &self.content(index, y_base));
            let company = self.company(index, y);
            let data = &self.parts.places[index].data;
            let guess = known.t + dot(&known.dt, &change);
            out[index].evaluate(&self.fluids, data, &now, company, known.known(), guess);
        }
    }

    /// States inside a step. A volume that nothing flows into or out of hardly moves: its temperature and pressure follow their
    /// slopes, the rest stays; the end of the step is worked out anew.
    pub fn states_within(&mut self, y: &[f64], base: &[NodeState], y_base: &[f64], out: &mut [NodeState]) {
        for (index, known) in base.iter().enumerate().take(self.parts.places.len()) {
            if !self.parts.places[index].closed() {
                continue;
            }
            let now = self.content(index, y);
            let change = difference(&now, &self.content(index, y_base));
            let rise = dot(&known.dt, &change);
            let out = &mut out[index];
            if self.lone[index] && rise.abs() < LITTLE {
                if !std::mem::replace(&mut self.alike[index], true) {
                    out.clone_from(known);
                }
                (out.t, out.p) = (known.t + rise, known.p + dot(&known.dp, &change));
            } else {
                self.alike[index] = false;
                let company = self.company(index, y);
                let data = &self.parts.places[index].data;
                out.evaluate(&self.fluids, data, &now, company, known.known(), known.t + rise);
            }
        }
    }

    /// The content's unknowns of a closed volume.
    #[inline]
    fn content(&self, place: usize, y: &[f64]) -> [f64; CONTENT] {
        let at = self.layout.seats[place].base;
        let second = if self.layout.mixed { y[at + SECOND] } else { 0.0 };
        [y[at], y[at + 1], y[at + 2], y[at + 3], second]
    }

    /// States of the boundaries (ambient, vacuum, cabinet, bottles), set into `nodes`.
    pub fn boundaries(&self, nodes: &mut [NodeState]) {
        let AmbientSpec { temperature, pressure, humidity } = self.ambient;
        let air = NodeState::boundary(pressure, temperature, element::steam_share(temperature, pressure, humidity));
        for (place, node) in self.parts.places.iter().zip(nodes.iter_mut()) {
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
        let places = self.parts.places.len();
        for (index, node) in nodes.iter().enumerate().take(places) {
            self.place_rates(index, t, y, node, f, slopes);
        }
        for at in 0..self.busy.len() {
            self.element_rates(self.busy[at] as usize, t, y, nodes, flows, f, slopes);
        }
        if self.keep {
            for (((flow, element), joint), idle) in
                flows.iter_mut().zip(&self.parts.elements).zip(&self.layout.joints).zip(&self.idle)
            {
                if *idle {
                    *flow = element::idle(&element.law, element.stroke.opening(t), &nodes[joint.ends[0]]);
                }
            }
        }
    }

    fn place_rates(&mut self, index: usize, t: f64, y: &[f64], node: &NodeState, f: &mut [f64], slopes: bool) {
        let Self { parts, layout, jacobian, ambient, fluids, oils, metals, long, .. } = self;
        let place = &parts.places[index];
        let seat = &layout.seats[index];
        let mut here = exchange::Here { seat, node, y, f, jacobian, slopes, ledger: layout.unknowns };
        for which in 0..2 {
            if let (Some(metal), Some(at)) = (&place.walls[which], seat.get(WALL[which])) {
                let water = if layout.moist { y[at + 1] } else { 0.0 };
                let state = wall::metal(metal.spec.capacity, y[at], water);
                metals[index][which] = state;
                let outside = metal.outside.map_or(ambient.temperature, |drift| drift.at(t));
                let soft = if *long { wall::SOFT } else { 0.0 };
                here.wall(which, &metal.spec, &state, layout.moist.then_some((water, soft)), outside);
            }
        }
        if let Some(spec) = &place.oil {
            if !place.closed() {
                here.bottle();
            } else if spec.law == OilLaw::Film {
                // Nothing to exchange.
            } else if spec.weightless {
                here.weightless_oil(fluids, spec);
            } else {
                here.oil(fluids, spec, &oils[index]);
                let metal = place.walls[0].is_some().then_some(&metals[index][0]);
                here.oil_on_wall(spec, &oils[index], metal, *long);
            }
        }
        if let Some(spec) = &place.pool {
            here.pool(spec, place.walls[0].is_some().then_some(&metals[index][0]), place.data.isothermal.is_some());
        }
        if let Some(spec) = &place.uptake {
            here.air_uptake(spec, fluids);
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
        let joint = &self.layout.joints[index];
        let [from, to] = joint.ends;
        let own = joint.own;
        let opening = self.parts.elements[index].stroke.opening(t);
        if let LawSpec::Heater(_) | LawSpec::HeatLink(_) | LawSpec::Fan(_) = self.parts.elements[index].law {
            let flow = self.service_rates(index, opening, y, nodes, f, slopes);
            if self.keep {
                flows[index] = flow;
            }
            return;
        }
        let oil = [from, to].map(|node| self.oil_content(node, y));
        let margin = [from, to].map(|node| self.parts.places.get(node).map_or(0.0, |place| place.dip_margin));
        let ends = Ends {
            fluids: &self.fluids,
            from: &nodes[from],
            to: &nodes[to],
            oil,
            margin,
            ambient: self.ambient.temperature,
            air: self.ambient.pressure,
            water: if own == NONE { 0.0 } else { y[own as usize] },
            slopes,
            relative: self.relative,
            eager: self.eager,
        };
        let element = &mut self.parts.elements[index];
        let flow = element::evaluate(&element.law, opening, &ends, &mut element.memory);
        if self.keep {
            // Inside a step nobody reads the flows, and the copy is not for nothing.
            flows[index] = flow;
        }
        let steeper =
            if slopes { element::steeper(&element.law, opening, &ends, &mut element.memory, &flow) } else { None };
        let moves = flow.rate != 0.0 || flow.oil != 0.0 || flow.kept != 0.0;
        if moves {
            self.apply(index, &flow, f);
        }
        if slopes && (moves || steeper.is_some()) {
            self.apply_slopes(index, steeper.as_ref().unwrap_or(&flow), nodes);
        }
    }

    fn oil_content(&self, node: usize, y: &[f64]) -> Option<OilContent> {
        let place = self.parts.places.get(node)?;
        let spec = place.oil.as_ref()?;
        let seat = &self.layout.seats[node];
        let oil = seat.get(OIL)?;
        let energy = match seat.get(OIL + 2) {
            Some(at) => y[at],
            None if spec.weightless => 0.0,
            // An open bottle stands in the air around.
            None => y[oil] * spec.heat_capacity * (self.ambient.temperature - gas::ZERO_C),
        };
        let dissolved = seat.get(OIL + 1).map_or(0.0, |at| y[at]);
        Some(OilContent { mass: y[oil], dissolved, energy, mist: spec.mist })
    }

    /// Adds a flow to its two ends, or to the ledger where an end is no closed volume.
    fn apply(&self, index: usize, flow: &Flow, f: &mut [f64]) {
        let layout = &self.layout;
        let ledger = layout.unknowns;
        let joint = &layout.joints[index];
        let species = if layout.mixed { SPECIES } else { SPECIES - 1 };
        if flow.kept != 0.0 && joint.own != NONE {
            f[joint.own as usize] += flow.kept;
        }
        for (side, sign) in [(0usize, -1.0), (1usize, 1.0)] {
            let node = joint.ends[side];
            let closed = layout.base(&self.parts, node);
            let mut arriving = flow.species;
            if side == 1 {
                arriving[2] -= flow.kept;
            }
            match (closed, self.parts.places.get(node).map(|place| place.kind)) {
                (Some(base), _) => {
                    f[base + ENERGY] += sign * flow.energy[side];
                    for k in 0..species {
                        f[base + REFRIGERANT + k] += sign * arriving[k];
                    }
                    if let Some(at) = layout.seats[node].get(DISSOLVED_AIR).filter(|_| (side == 1) == flow.reversed) {
                        f[base + AIR] -= sign * flow.dissolved_air;
                        f[at] += sign * flow.dissolved_air;
                    }
                }
                (None, Some(PlaceKind::Cabinet { .. })) => {
                    f[layout.seats[node].base] += sign * (arriving[0] + flow.dissolved);
                    for k in 1..SPECIES {
                        f[ledger + k] += sign * arriving[k];
                    }
                    f[ledger + OIL_OUT] += sign * flow.oil;
                }
                _ => {
                    for k in 0..SPECIES {
                        f[ledger + k] += sign * arriving[k];
                    }
                }
            }
            if closed.is_none() {
                // What leaves the volumes takes its energy with it.
                f[ledger + ENERGY_IN] -= sign * flow.energy[side];
            }
            if let (None, Some(PlaceKind::Cabinet { .. })) =
                (closed, self.parts.places.get(node).map(|place| place.kind))
            {
                f[ledger + ENERGY_IN] -= sign * flow.oil_energy;
                continue;
            }
            self.apply_oil(node, sign, flow, f);
        }
        f[ledger + ENERGY_IN] += flow.rate * flow.lift;
    }

    /// Adds the oil of a flow to one of its ends, or to the ledger.
    fn apply_oil(&self, node: usize, sign: f64, flow: &Flow, f: &mut [f64]) {
        if flow.oil == 0.0 {
            return;
        }
        let ledger = self.layout.unknowns;
        let seat = self.layout.seats.get(node);
        let get = |local: usize| seat.and_then(|seat| seat.get(local));
        match get(OIL) {
            Some(oil) => f[oil] += sign * flow.oil,
            None => f[ledger + OIL_OUT] += sign * flow.oil,
        }
        // Where the oil is only a film, what is dissolved in it joins the content.
        let film = get(OIL).and_then(|_| self.layout.base(&self.parts, node)).map(|base| base + REFRIGERANT);
        match get(OIL + 1).or(film) {
            Some(at) => f[at] += sign * flow.dissolved,
            None => f[ledger] += sign * flow.dissolved,
        }
        match get(OIL + 2) {
            Some(at) => f[at] += sign * flow.oil_energy,
            None => f[ledger + ENERGY_IN] -= sign * flow.oil_energy,
        }
    }

    fn apply_slopes(&mut self, index: usize, flow: &Flow, nodes: &[NodeState]) {
        let Self { layout, jacobian, parts, oils, .. } = self;
        let joint = &layout.joints[index];
        let (up, down) = if flow.reversed { (1, 0) } else { (0, 1) };
        let (above, below) = (&nodes[joint.ends[up]], &nodes[joint.ends[down]]);
        let Memory { stream, slope, .. } = &parts.elements[index].memory;
        let columns = if layout.mixed { CONTENT } else { SIDE };
        for column in 0..columns {
            let change = stream.slope(above, column);
            let rate_up = slope[0] * above.dp[column] + slope[1] * change.rho;
            let rate_down = slope[2] * below.dp[column];
            // Rows: energy, then the species.
            let whole = |k: usize| if k == 0 { stream.h } else { stream.x[k - 1] };
            let part = |k: usize| if k == 0 { change.h } else { change.x[k - 1] };
            let outgoing: [f64; CONTENT] = std::array::from_fn(|k| rate_up * whole(k) + flow.rate * part(k));
            let incoming: [f64; CONTENT] = std::array::from_fn(|k| rate_down * whole(k));
            if column < SIDE {
                for (from, to, column_side, values, lift) in
                    [(up, down, up, &outgoing, rate_up), (up, down, down, &incoming, rate_down)]
                {
                    add(jacobian, joint.blocks[from][column_side], column, values, -1.0, 0.0);
                    add(jacobian, joint.blocks[to][column_side], column, values, 1.0, lift * flow.lift);
                }
            }
            if layout.mixed {
                second_slopes(jacobian, &joint.second, (up, down), column, (&outgoing, &incoming));
            }
        }
        let dummy = layout.pattern.len() as u32;
        for (side, node) in [(up, above), (down, below)] {
            if joint.squeeze[side][side] == dummy {
                continue;
            }
            let closer = node.squeezed[1];
            let change = if side == up { stream.squeezed(node) } else { StreamSlope::default() };
            let rate = if side == up { slope[0] * closer + slope[1] * change.rho } else { slope[2] * closer };
            let values: [f64; CONTENT] = std::array::from_fn(|k| {
                if k == 0 { rate * stream.h + flow.rate * change.h } else { rate * stream.x[k - 1] }
            });
            for (column, room) in oils[joint.ends[side]].dv.iter().enumerate() {
                let values = values.map(|value| value * room);
                add(jacobian, joint.squeeze[up][side], column, &values, -1.0, 0.0);
                add(jacobian, joint.squeeze[down][side], column, &values, 1.0, rate * room * flow.lift);
            }
        }
        if flow.oil_rate > 0.0 {
            for k in 0..3 {
                jacobian[joint.oil[up][up][k] as usize] -= flow.oil_rate;
                jacobian[joint.oil[down][up][k] as usize] += flow.oil_rate;
            }
        }
    }

    fn service_rates(
        &mut self,
        index: usize,
        opening: f64,
        y: &[f64],
        nodes: &[NodeState],
        f: &mut [f64],
        slopes: bool,
    ) -> Flow {
        let Self { parts, layout, jacobian, metals, .. } = self;
        let joint = &layout.joints[index];
        let ledger = layout.unknowns;
        let from = joint.ends[0];
        match &parts.elements[index].law {
            LawSpec::Heater(spec) => {
                let Some(wall) = layout.seats[from].get(WALL[0]) else { return Flow::default() };
                let metal = &metals[from][0];
                let own = joint.own as usize;
                let power = spec.power * opening;
                let q = spec.to_wall * (y[own] - metal.t);
                f[own] += (power - q) / spec.capacity;
                f[wall] += q;
                f[ledger + ENERGY_IN] += power;
                if slopes {
                    let by_wall = spec.to_wall * metal.by_enthalpy;
                    jacobian[joint.heater[0] as usize] -= spec.to_wall / spec.capacity;
                    jacobian[joint.heater[1] as usize] += by_wall / spec.capacity;
                    jacobian[joint.heater[2] as usize] -= by_wall;
                    jacobian[joint.heater[3] as usize] += spec.to_wall;
                }
                Flow { power, t_out: y[own], opening, ..Flow::default() }
            }
            LawSpec::Fan(speed) => {
                let base = layout.seats[from].base;
                let rate = speed * opening / parts.places[from].data.volume;
                f[base] -= rate * y[base];
                f[ledger] += rate * y[base];
                if slopes {
                    jacobian[layout.seats[from].own[0][0] as usize] -= rate;
                }
                Flow { rate: speed * opening, opening, ..Flow::default() }
            }
            LawSpec::HeatLink(conductance) => {
                let side = |end: usize| heat_side(&layout.seats[end], &metals[end][0], &nodes[end]);
                let (one, other) = (side(joint.ends[0]), side(joint.ends[1]));
                let ua = conductance * opening;
                let q = ua * (one.t - other.t);
                f[one.row] -= q;
                f[other.row] += q;
                if slopes {
                    for (column_side, end, sign) in [(0, &one, 1.0), (1, &other, -1.0)] {
                        for k in 0..CONTENT {
                            let change = sign * ua * end.slopes[k];
                            jacobian[joint.heat[0][column_side][0][k] as usize] -= change;
                            jacobian[joint.heat[1][column_side][0][k] as usize] += change;
                        }
                    }
                }
                Flow { power: q, opening, ..Flow::default() }
            }
            _ => Flow::default(),
        }
    }
}

/// One end of a heat link: the row its heat acts on, its temperature, and how that follows the unknowns of its lanes.
struct HeatSide {
    row: usize,
    t: f64,
    slopes: [f64; CONTENT],
}

fn heat_side(seat: &Seat, metal: &Metal, node: &NodeState) -> HeatSide {
    match seat.get(WALL[0]) {
        Some(row) => HeatSide { row, t: metal.t, slopes: [metal.by_enthalpy, 0.0, 0.0, 0.0, 0.0] },
        None => HeatSide { row: seat.base + ENERGY, t: node.t, slopes: node.dt },
    }
}

/// Adds one column of a block; the energy row gets `lift` besides.
#[inline(always)]
fn add(jacobian: &mut [f64], block: u32, column: usize, values: &[f64; CONTENT], sign: f64, lift: f64) {
    let at = block as usize + column * SIDE;
    let Some(rows) = jacobian.get_mut(at..at + SIDE) else { return };
    for (row, value) in rows.iter_mut().zip(values) {
        *row += sign * value;
    }
    rows[0] += lift;
}

/// The second refrigerant's column in all rows, and its row in all columns.
fn second_slopes(
    jacobian: &mut [f64],
    second: &[[[[u32; CONTENT]; 2]; 2]; 2],
    (up, down): (usize, usize),
    column: usize,
    (outgoing, incoming): (&[f64; CONTENT], &[f64; CONTENT]),
) {
    for (column_side, values) in [(up, outgoing), (down, incoming)] {
        for (row_side, sign) in [(up, -1.0), (down, 1.0)] {
            let [own_column, own_row] = &second[row_side][column_side];
            if column == SECOND {
                for k in 0..CONTENT {
                    jacobian[own_column[k] as usize] += sign * values[k];
                }
            } else {
                jacobian[own_row[column] as usize] += sign * values[SECOND];
            }
        }
    }
}
