//! One element at work: what it moves between two places at their present states, and how that changes with them.

mod hose;
mod machine;
mod nozzle;

use crate::fluid::{Fluid, Sat};

use super::gas;
use super::laws::{self, Rate};
use super::node::{Fluids, NodeState, SPECIES};
use super::oil::LEAST;
use super::spec::{Draw, LawSpec};
use super::stream::{Stream, smooth_step};

/// Pressure differences below this many relative tolerances are not resolved: a root's steep start would only pass on noise.
const UNRESOLVED: f64 = 5.0;
/// Largest smoothing as a share of the upstream pressure (own choice).
const WIDEST: f64 = 0.05;
/// Steps for which a head counts as turned lately.
const SWINGS: u8 = 4;
/// Liquid share of a stream below which the gas laws take over, smoothly.
const SPRAY: f64 = 0.02;

/// Share of vapour by mass in a stream's refrigerant from which air in the stream no longer presses on liquid alone (own choice).
const FROTH: f64 = 0.02;

/// What passes through an element now. Flows count positive from `from` to `to`, in kg/s and W.
#[derive(Debug, Clone, Copy, Default)]
pub struct Flow {
    /// Refrigerant, air, water vapour, second refrigerant.
    pub species: [f64; SPECIES],
    /// Oil.
    pub oil: f64,
    /// Refrigerant dissolved in that oil.
    pub dissolved: f64,
    /// Energy of that oil.
    pub oil_energy: f64,
    /// Of the air, what was dissolved in the upstream liquid.
    pub dissolved_air: f64,
    /// Energy leaving `from`, and arriving at `to`.
    pub energy: [f64; 2],
    /// Magnitude of the gas and liquid flow.
    pub rate: f64,
    /// Flow runs from `to` to `from`.
    pub reversed: bool,
    /// Choked somewhere on its way.
    pub choked: bool,
    /// Energy arriving per energy leaving is shifted by this, J/kg (work less heat rejected).
    pub lift: f64,
    /// d oil flow / d upstream oil mass, 1/s.
    pub oil_rate: f64,
    /// Water that stays in the element (a pump's oil), kg/s.
    pub kept: f64,
    /// Temperature at the outlet, K.
    pub t_out: f64,
    /// Shaft or electric power, W.
    pub power: f64,
    /// Motor current, A.
    pub current: f64,
    /// Pressure inside the element (pump inlet), Pa.
    pub p_inner: f64,
    /// Opening in use, 0-1.
    pub opening: f64,
}

/// Oil at one end.
#[derive(Debug, Clone, Copy)]
pub struct OilContent {
    /// Oil, kg.
    pub mass: f64,
    /// Refrigerant dissolved in it, kg.
    pub dissolved: f64,
    /// Energy of both, J; 0 for oil without heat.
    pub energy: f64,
    /// Share of leaving vapour streams that is mist.
    pub mist: f64,
}

/// Everything an element sees.
pub struct Ends<'a> {
    /// The refrigerants.
    pub fluids: &'a Fluids,
    /// State at `from`.
    pub from: &'a NodeState,
    /// State at `to`.
    pub to: &'a NodeState,
    /// Oil at `from` and `to`.
    pub oil: [Option<OilContent>; 2],
    /// Liquid margin of the outlets at `from` and `to`, kg.
    pub margin: [f64; 2],
    /// Ambient temperature, K.
    pub ambient: f64,
    /// Ambient pressure, Pa.
    pub air: f64,
    /// Water held in the element, kg.
    pub water: f64,
    /// Derivatives wanted.
    pub slopes: bool,
    /// Relative tolerance of the integration: pressure differences far below it are not resolved.
    pub relative: f64,
    /// As [`Tolerance::eager`](crate::plant::Tolerance::eager).
    pub eager: bool,
}

/// What an element remembers: where its own iterations start, and what the last evaluation with slopes left for the Jacobian.
#[derive(Debug, Clone, Copy)]
pub struct Memory {
    /// The stream drawn.
    pub stream: Stream,
    /// d rate / d upstream pressure, stream density, downstream pressure.
    pub slope: [f64; 3],
    /// Throat pressure ratio of a real nozzle.
    pub throat: f64,
    /// Temperature drop to the throat of a flashing nozzle, K.
    pub drop: f64,
    /// Isentropic discharge temperature, K.
    pub discharge: f64,
    /// A relief valve stands open.
    pub lifted: bool,
    /// The head runs from `to` to `from`.
    pub back: bool,
    /// Steps for which it still counts as having turned.
    pub swings: u8,
    /// Gas and wet flux of a hose.
    pub hose: [laws::hose::Start; 2],
}

impl Default for Memory {
    fn default() -> Self {
        Self {
            stream: Stream::default(),
            slope: [0.0; 3],
            throat: 0.6,
            drop: 0.0,
            discharge: 330.0,
            lifted: false,
            back: false,
            swings: 0,
            hose: [laws::hose::Start::default(); 2],
        }
    }
}

/// Evaluates a flow law at `opening` (0-1).
pub fn evaluate(law: &LawSpec, opening: f64, ends: &Ends, memory: &mut Memory) -> Flow {
    let mut flow = match law {
        LawSpec::Orifice(spec) => nozzle::orifice(spec, opening, ends, memory),
        LawSpec::LiquidOrifice(spec) => nozzle::liquid_orifice(spec, opening, ends, memory),
        LawSpec::Relief(spec) => nozzle::relief(spec, ends, memory),
        LawSpec::Duct(spec) => hose::duct(spec, opening, ends, memory),
        LawSpec::Hose(spec) => hose::hose(spec, opening, ends, memory),
        LawSpec::Compressor(spec) => machine::compressor(spec, opening, ends, memory),
        LawSpec::VacuumPump(spec) => machine::vacuum_pump(spec, opening, ends, memory),
        LawSpec::DrawOff(spec) => machine::draw_off(spec, opening, ends, memory),
        LawSpec::OilLine(spec) => machine::oil_line(spec, opening, ends),
        LawSpec::Heater(_) | LawSpec::HeatLink(_) | LawSpec::Fan(_) => Flow::default(),
    };
    flow.opening = opening;
    flow
}

/// Of an element whose head turned lately, and is small: the flow the other way, where that is the steeper one; what it leaves for the Jacobian then stands in
/// `memory`. Liquid one way and vapour the other, or one way only: with the gentle side's slopes an implicit step lands far out on the
/// steep side, and the flow swings about rest for good, carrying heat that is none.
pub fn steeper(law: &LawSpec, opening: f64, ends: &Ends, memory: &mut Memory, flow: &Flow) -> Option<Flow> {
    if !matches!(law, LawSpec::Orifice(_) | LawSpec::LiquidOrifice(_) | LawSpec::Hose(_) | LawSpec::Duct(_)) {
        return None;
    }
    let head = ends.from.p - ends.to.p;
    let back = head < 0.0;
    memory.swings = if back == memory.back { memory.swings.saturating_sub(1) } else { SWINGS };
    memory.back = back;
    let check = ends.eager && matches!(law, LawSpec::Orifice(spec) if spec.one_way);
    if opening <= 0.0
        || (memory.swings == 0 && !check)
        || head.abs() > UNRESOLVED * ends.relative * ends.from.p.max(ends.to.p)
    {
        return None;
    }
    let from = NodeState { p: ends.to.p, ..*ends.from };
    let to = NodeState { p: ends.from.p, ..*ends.to };
    let mut other = *memory;
    let turned = evaluate(law, opening, &Ends { from: &from, to: &to, ..*ends }, &mut other);
    let known = if flow.rate > 0.0 { memory.slope[0] } else { 0.0 };
    if turned.rate <= 0.0 || other.slope[0] <= known {
        return None;
    }
    (memory.stream, memory.slope) = (other.stream, other.slope);
    Some(turned)
}

/// The flow through a shut element.
pub fn idle(law: &LawSpec, opening: f64, from: &NodeState) -> Flow {
    let p_inner = if let LawSpec::VacuumPump(_) = law { from.p } else { 0.0 };
    let t_out = if let LawSpec::Fan(_) = law { 0.0 } else { from.t };
    Flow { t_out, p_inner, opening, ..Flow::default() }
}

/// Pressure difference below which a flow turns linear, Pa: what is asked for, but never so much that a vacuum would count as
/// no difference, and never less than the tolerance resolves.
fn resolved(asked: f64, ends: &Ends, up: &NodeState) -> f64 {
    asked.min(WIDEST * up.p).max(UNRESOLVED * ends.relative * up.p)
}

fn disc(diameter: f64) -> f64 {
    std::f64::consts::PI * diameter * diameter / 4.0
}

fn draw(spec: Draw, node: &NodeState, margin: f64) -> Stream {
    match spec {
        Draw::Vapour => node.gas,
        Draw::Liquid => node.liquid_stream(margin),
        Draw::Mixed => node.mixed_stream(),
    }
}

/// Ends in the direction of the flow: upstream, downstream, margin upstream.
fn along<'a>(ends: &'a Ends, reversed: bool) -> (&'a NodeState, &'a NodeState, f64) {
    if reversed { (ends.to, ends.from, ends.margin[1]) } else { (ends.from, ends.to, ends.margin[0]) }
}

/// What boils in a wet stream: the liquid's own refrigerant, its state, and the shift from its saturation pressure to that of the mixture.
fn boiling<'a>(ends: &Ends<'a>, up: &NodeState, stream: &Stream) -> (&'a Fluid, Sat, f64, f64) {
    let fluid = match ends.fluids.second {
        Some(second) if up.second_l > 0.5 => second,
        _ => ends.fluids.main,
    };
    let sat = fluid.sat(up.t.min(fluid.t_sat_max()));
    // A full volume's pressure is that of compression; elsewhere a gap to saturation is the mixture's.
    let mixture = up.second_l > 0.0 && up.second_l < 1.0 && !up.full;
    let mut shift = if mixture { sat.p - up.p_r } else { 0.0 };
    let refrigerant = stream.x[0] + stream.x[3];
    let x = (1.0 - stream.wet / refrigerant.max(1e-30)).clamp(0.0, 1.0);
    if !up.full {
        // Air beside the vapour holds liquid from boiling, but not a stream that has vapour in it already: its share of the pressure does not
        // drive the boiling one.
        shift -= (up.p - up.p_r).max(0.0) * smooth_step(x / FROTH);
    }
    (fluid, sat, shift, x)
}

/// The flux of a boiling stream with the air and steam that it carries: about the root of the density passes.
fn with_air(flux: Rate, stream: &Stream, sat: &Sat, x: f64) -> Rate {
    if stream.x[1] + stream.x[2] <= 1e-9 {
        return flux;
    }
    let v = (1.0 - x) / sat.rho_l + x / sat.rho_v;
    flux.times((stream.rho * v).max(0.0).sqrt())
}

/// Puts a rate and its stream into a flow, with the oil that goes along.
fn carry(ends: &Ends, memory: &mut Memory, reversed: bool, rate: Rate, stream: &Stream) -> Flow {
    if ends.slopes {
        memory.stream = *stream;
        memory.slope = rate.slope;
    }
    let Rate { value: rate, choked, .. } = rate;
    let sign = if reversed { -1.0 } else { 1.0 };
    let up = if reversed { ends.to } else { ends.from };
    let signed = sign * rate;
    let mut flow = Flow {
        species: stream.x.map(|x| signed * x),
        energy: [signed * stream.h; 2],
        dissolved_air: signed * stream.dissolved_air,
        rate,
        reversed,
        choked,
        t_out: up.t,
        ..Flow::default()
    };
    let (source, sink) = if reversed { (ends.oil[1], ends.oil[0]) } else { (ends.oil[0], ends.oil[1]) };
    if let (Some(oil), Some(_)) = (source, sink)
        && oil.mass > LEAST
        && rate > 0.0
    {
        let with_liquid = stream.wet * rate / (up.m_liq + oil.mass).max(1e-3);
        let as_mist = (1.0 - stream.wet) * rate * oil.mist / (oil.mass + 1e-3);
        take_oil(&mut flow, sign * (with_liquid + as_mist), &oil);
    }
    flow
}

/// Oil that leaves at `rate` of its mass a second, with what is dissolved in it and its energy.
fn take_oil(flow: &mut Flow, rate: f64, oil: &OilContent) {
    flow.oil_rate = rate.abs();
    flow.oil = rate * oil.mass;
    flow.dissolved = rate * oil.dissolved.max(0.0);
    flow.oil_energy = rate * oil.energy;
}

/// Viscosity of a gas stream, Pa s: by moles and roots of the molar masses (Herning and Zipperer 1936, from memory).
fn gas_viscosity(ends: &Ends, up: &NodeState, stream: &Stream) -> f64 {
    let main = ends.fluids.main;
    let other = ends.fluids.second.unwrap_or(main);
    let pure = |k: usize| stream.x[k] >= 1.0 - 1e-9;
    if pure(0) {
        return main.viscosity_vapour(stream.rho, up.t);
    }
    if pure(1) {
        return gas::viscosity_air(up.t);
    }
    let terms = [
        (stream.x[0], main.molar_mass(), main.viscosity_vapour(stream.rho * stream.x[0], up.t)),
        (stream.x[1], gas::MOLAR_AIR, gas::viscosity_air(up.t)),
        (stream.x[2], gas::MOLAR_WATER, gas::viscosity_steam(up.t)),
        (stream.x[3], other.molar_mass(), other.viscosity_vapour(stream.rho * stream.x[3], up.t)),
    ];
    let (mut sum, mut weights) = (0.0, 0.0);
    for (x, molar, viscosity) in terms {
        let weight = x / molar.sqrt();
        sum += weight * viscosity;
        weights += weight;
    }
    sum / weights.max(1e-30)
}

/// Volume share of refrigerant in the cabinet air over the lower flammable limit.
pub fn flammable_share(mass: f64, volume: f64, molar: f64, p: f64, t: f64, limit: f64) -> f64 {
    let moles = mass / molar;
    let all = p * volume / (8.314_462_618 * t);
    moles / all / limit
}

/// Share of moist ambient air's pressure that is water vapour.
pub fn steam_share(t: f64, p: f64, humidity: f64) -> f64 {
    (humidity * gas::p_sat_water(t, false) / p).clamp(0.0, 0.5)
}
