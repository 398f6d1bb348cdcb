//! One element at work: what it moves between two places at their present states, and how that changes with them.

use std::f64::consts::PI;

use super::gas::{self, K_AIR};
use super::laws;
use super::node::{NodeState, Stream};
use super::spec::{
    CompressorSpec, Draw, DuctSpec, LawSpec, LiquidOrificeSpec, Nozzle, OilLineSpec, OrificeSpec, PumpSpec, ReliefSpec,
};
use crate::fluid::Fluid;

/// Molar mass of air that sets the molecular conductance, kg/mol (the reference model uses air for every gas).
const MOLAR_AIR: f64 = 0.028_965_2;

/// Isentropic exponent of refrigerant vapour where none is given: 1.08-1.13 for both refrigerants at 0.1-0.8 MPa (own property tables).
const K_VAPOUR: f64 = 1.1;

/// Orifices turn linear below this many relative tolerances of the pressure: a root's steep start would only pass on noise.
const UNRESOLVED: f64 = 5.0;

/// What passes through an element now. Flows count positive from `from` to `to`, in kg/s and W.
#[derive(Debug, Clone, Copy, Default)]
pub struct Flow {
    /// Refrigerant, air, water vapour.
    pub species: [f64; 3],
    /// Oil.
    pub oil: f64,
    /// Refrigerant dissolved in that oil.
    pub dissolved: f64,
    /// Energy leaving `from`, and arriving at `to`.
    pub energy: [f64; 2],
    /// Magnitude of the gas and liquid flow.
    pub rate: f64,
    /// Flow runs from `to` to `from`.
    pub reversed: bool,
    /// Energy arriving per energy leaving is shifted by this, J/kg (work less heat rejected).
    pub lift: f64,
    /// d oil flow / d upstream oil mass, 1/s.
    pub oil_rate: f64,
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

/// Oil upstream: mass and refrigerant dissolved in it, kg; share of vapour streams that is mist.
pub type OilContent = Option<(f64, f64, f64)>;

/// Everything an element sees.
pub struct Ends<'a> {
    /// The refrigerant.
    pub fluid: &'a Fluid,
    /// State at `from`.
    pub from: &'a NodeState,
    /// State at `to`.
    pub to: &'a NodeState,
    /// Oil at `from` and `to`.
    pub oil: [OilContent; 2],
    /// Liquid margin of the outlets at `from` and `to`, kg.
    pub margin: [f64; 2],
    /// Ambient temperature, K.
    pub ambient: f64,
    /// Derivatives wanted.
    pub slopes: bool,
    /// Relative tolerance of the integration: pressure differences far below it are not resolved.
    pub relative: f64,
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
    /// Isentropic discharge temperature, K.
    pub discharge: f64,
    /// A relief valve stands open.
    pub lifted: bool,
    /// Isentropic exponent used last.
    pub exponent: laws::Exponent,
}

impl Default for Memory {
    fn default() -> Self {
        Self {
            stream: Stream::default(),
            slope: [0.0; 3],
            throat: 0.6,
            discharge: 330.0,
            lifted: false,
            exponent: laws::Exponent::new(K_VAPOUR),
        }
    }
}

/// Evaluates a flow law at `opening` (0-1).
pub fn evaluate(law: &LawSpec, opening: f64, ends: &Ends, memory: &mut Memory) -> Flow {
    let mut flow = match law {
        LawSpec::Orifice(spec) => orifice(spec, opening, ends, memory),
        LawSpec::LiquidOrifice(spec) => liquid_orifice(spec, opening, ends, memory),
        LawSpec::Duct(spec) => duct(spec, opening, ends, memory),
        LawSpec::Compressor(spec) => compressor(spec, opening, ends, memory),
        LawSpec::VacuumPump(spec) => vacuum_pump(spec, opening, ends, memory),
        LawSpec::Relief(spec) => relief(spec, ends, memory),
        LawSpec::OilLine(spec) => oil_line(spec, opening, ends),
        LawSpec::Hose(_) | LawSpec::Heater(_) | LawSpec::HeatLink(_) | LawSpec::Fan(_) => Flow::default(),
    };
    flow.opening = opening;
    flow
}

/// The flow through a shut element.
pub fn idle(law: &LawSpec, opening: f64, from: &NodeState) -> Flow {
    let p_inner = if let LawSpec::VacuumPump(_) = law { from.p } else { 0.0 };
    let t_out = if let LawSpec::Fan(_) = law { 0.0 } else { from.t };
    Flow { t_out, p_inner, opening, ..Flow::default() }
}

fn disc(diameter: f64) -> f64 {
    PI * diameter * diameter / 4.0
}

/// Isentropic exponent of a stream: the given one, or by composition where none (0) is given.
fn exponent(k: f64, up: &NodeState, stream: &Stream) -> f64 {
    if k > 1.0 {
        return k;
    }
    if stream.x[0] <= 0.0 || up.p <= 0.0 {
        return K_AIR;
    }
    if stream.x[1] + stream.x[2] <= 0.0 {
        K_VAPOUR
    } else {
        K_AIR + (K_VAPOUR - K_AIR) * (up.p_r / up.p).clamp(0.0, 1.0)
    }
}

fn draw(spec: Draw, node: &NodeState, margin: f64) -> (Stream, f64) {
    match spec {
        Draw::Vapour => (node.gas, 0.0),
        Draw::Liquid => node.liquid_stream(margin),
        Draw::Mixed => (node.mixed_stream(), if node.m_liq > 0.0 { 1.0 - node.quality } else { 0.0 }),
    }
}

/// Rate and slopes of a law `f(p0, back)` that goes with the stream's density to the power `power`; pressures by differences.
fn with_slopes(f: impl Fn(f64, f64) -> f64, p0: f64, back: f64, rho: f64, power: f64, wanted: bool) -> (f64, [f64; 3]) {
    let rate = f(p0, back);
    if !wanted || rate == 0.0 {
        return (rate, [0.0; 3]);
    }
    let step = 1e-5 * p0;
    (rate, [(f(p0 + step, back) - rate) / step, power * rate / rho, (rate - f(p0, back - step)) / step])
}

/// Puts a rate and its stream into a flow, with the oil that goes along.
fn carry(
    ends: &Ends,
    memory: &mut Memory,
    reversed: bool,
    (rate, slope): (f64, [f64; 3]),
    stream: &Stream,
    wet: f64,
) -> Flow {
    if ends.slopes {
        memory.stream = *stream;
        memory.slope = slope;
    }
    let sign = if reversed { -1.0 } else { 1.0 };
    let up = if reversed { ends.to } else { ends.from };
    let mut flow = Flow {
        species: stream.x.map(|x| sign * rate * x),
        energy: [sign * rate * stream.h; 2],
        rate,
        reversed,
        t_out: up.t,
        ..Flow::default()
    };
    let (source, sink) = if reversed { (ends.oil[1], ends.oil[0]) } else { (ends.oil[0], ends.oil[1]) };
    if let (Some((mass, dissolved, mist)), Some(_)) = (source, sink)
        && mass > 1e-9
        && rate > 0.0
    {
        let with_liquid = wet * rate * stream.x[0] / (up.m_liq + mass).max(1e-3);
        let as_mist = (1.0 - wet) * rate * mist / (mass + 1e-3);
        flow.oil_rate = with_liquid + as_mist;
        flow.oil = sign * flow.oil_rate * mass;
        flow.dissolved = flow.oil * (dissolved / mass).max(0.0);
    }
    flow
}

fn orifice(spec: &OrificeSpec, opening: f64, ends: &Ends, memory: &mut Memory) -> Flow {
    let area = spec.discharge * disc(spec.diameter) * opening;
    let head = ends.from.p - ends.to.p - spec.cracking;
    if area <= 0.0 || (spec.one_way && head <= 0.0) || head == 0.0 {
        return Flow { t_out: ends.from.t, ..Flow::default() };
    }
    let reversed = head < 0.0;
    let (up, down, margin) =
        if reversed { (ends.to, ends.from, ends.margin[1]) } else { (ends.from, ends.to, ends.margin[0]) };
    let (stream, wet) = draw(spec.draw[usize::from(reversed)], up, margin);
    let (k, pure) = match spec.nozzle {
        Nozzle::Real { k } => (exponent(k, up, &stream), stream.x[0] > 1.0 - 1e-9 && wet == 0.0),
        Nozzle::Ideal { k } => (exponent(k, up, &stream), false),
    };
    let isentropic = memory.exponent.of(k);
    memory.exponent = isentropic;
    let back = down.p + spec.cracking;
    let regular = spec.regular.max(UNRESOLVED * ends.relative * up.p);
    let law = |p0: f64, pb: f64| area * laws::ideal_flux(p0, stream.rho, pb, &isentropic, regular);
    let (mut rate, mut slope) = with_slopes(law, up.p, back, stream.rho, 0.5, ends.slopes);
    if pure {
        let (h, s) = (up.vapour[1], up.entropy(ends.fluid));
        let start = laws::Upstream { p: up.p, h, s, guess: up.t - 15.0 };
        let real = area * laws::real_flux(ends.fluid, start, back, &mut memory.throat, regular);
        let share = if rate > 0.0 { real / rate } else { 1.0 };
        rate = real;
        slope = slope.map(|s| s * share);
    }
    carry(ends, memory, reversed, (rate, slope), &stream, wet)
}

fn liquid_orifice(spec: &LiquidOrificeSpec, opening: f64, ends: &Ends, memory: &mut Memory) -> Flow {
    let area = spec.discharge * disc(spec.diameter) * opening;
    let head = ends.from.p - ends.to.p;
    if area <= 0.0 || (spec.one_way && head <= 0.0) {
        return Flow { t_out: ends.from.t, ..Flow::default() };
    }
    let reversed = head < 0.0;
    let (up, down, margin) =
        if reversed { (ends.to, ends.from, ends.margin[1]) } else { (ends.from, ends.to, ends.margin[0]) };
    let (stream, wet) = up.liquid_stream(margin);
    let back = match spec.flashing {
        Some(share) => down.p.max(share * ends.fluid.p_sat(up.t.min(ends.fluid.t_crit() - 1.0)) + (up.p - up.p_r)),
        None => down.p,
    }
    .min(up.p);
    let gaseous = if wet < 1.0 { memory.exponent.of(K_VAPOUR) } else { memory.exponent };
    memory.exponent = gaseous;
    // Liquid by the reference law; once gas joins in, the compressible nozzle takes over in the same proportion.
    let law = |p0: f64, pb: f64| {
        let liquid = laws::liquid_flux(stream.rho, (p0 - pb).max(0.0), spec.regular);
        if wet >= 1.0 {
            area * liquid
        } else {
            let gas = laws::ideal_flux(p0, stream.rho, pb.min(down.p), &gaseous, spec.regular);
            area * (wet * liquid + (1.0 - wet) * gas)
        }
    };
    let (rate, slope) = with_slopes(law, up.p, back, stream.rho, 0.5, ends.slopes);
    carry(ends, memory, reversed, (rate, slope), &stream, wet)
}

fn duct(spec: &DuctSpec, opening: f64, ends: &Ends, memory: &mut Memory) -> Flow {
    if opening <= 0.0 {
        return Flow { t_out: ends.from.t, ..Flow::default() };
    }
    let reversed = ends.from.p < ends.to.p;
    let (up, down) = if reversed { (ends.to, ends.from) } else { (ends.from, ends.to) };
    let stream = up.gas;
    let (laminar, molecular) =
        laws::duct_conductances(spec.count, spec.diameter, spec.length, spec.viscosity, up.t, MOLAR_AIR);
    let area = spec.entrance * disc(spec.diameter) * spec.count;
    let isentropic = memory.exponent.of(exponent(0.0, up, &stream));
    memory.exponent = isentropic;
    // Liquid meets hardly any friction here: the entrance's root alone would rule, and start steeply.
    let regular = UNRESOLVED * ends.relative * up.p;
    let law = |p0: f64, pb: f64| {
        // Density over pressure turns throughput into mass flow.
        let flow = (p0 - pb).max(0.0) * (laminar * (p0 + pb) + molecular) * stream.rho / p0.max(1e-9);
        if area <= 0.0 {
            return opening * flow;
        }
        // Entrance loss and friction in series; squares add, as pressure losses do.
        let limit = area * laws::ideal_flux(p0, stream.rho, pb, &isentropic, regular);
        if limit <= 0.0 { 0.0 } else { opening * flow / (1.0 + (flow / limit) * (flow / limit)).sqrt() }
    };
    let (rate, slope) = with_slopes(law, up.p, down.p, stream.rho, 1.0, ends.slopes);
    carry(ends, memory, reversed, (rate, slope), &stream, 0.0)
}

fn compressor(spec: &CompressorSpec, opening: f64, ends: &Ends, memory: &mut Memory) -> Flow {
    let (up, down) = (ends.from, ends.to);
    let idle = Flow { t_out: up.t, ..Flow::default() };
    if opening <= 0.0 || up.p <= 0.0 {
        return idle;
    }
    let swept = spec.displacement * spec.speed * opening;
    let stream = up.gas;
    let law = |p0: f64, pb: f64| {
        swept * stream.rho * laws::volumetric(spec.volumetric, spec.clearance, spec.exponent, pb / p0)
    };
    let (rate, slope) = with_slopes(law, up.p, down.p, stream.rho, 1.0, ends.slopes);
    let mut flow = carry(ends, memory, false, (rate, slope), &stream, 0.0);
    if rate <= 0.0 {
        return Flow { power: 0.0, current: spec.idle_current * opening, ..idle };
    }
    let ratio = (down.p / up.p).max(1.0);
    let h_g = up.vapour[1];
    let mut work = 0.0;
    let mut outlet = up.t;
    if stream.x[0] > 0.0 && ratio > 1.0 {
        let ideal = ends.fluid.at_ps(up.p_r * ratio, up.entropy(ends.fluid), memory.discharge);
        memory.discharge = ideal.t;
        let rise = (ideal.h - h_g).max(0.0) / spec.isentropic;
        work += stream.x[0] * rise;
        outlet = ideal.t + (rise - (ideal.h - h_g)) / 1100.0;
    }
    let others = stream.x[1] + stream.x[2];
    if others > 0.0 {
        let warm = up.t * (ratio.powf((K_AIR - 1.0) / K_AIR) - 1.0) / spec.isentropic;
        work += others * 1005.0 * warm;
        outlet += others * (up.t + warm - outlet);
    }
    // Gas and shell share the heat as their conductances do; 1000 J/(kg K) serves both gases.
    let through = rate * 1000.0;
    let cooled = (outlet - ends.ambient) * spec.shell / (through + spec.shell).max(1e-12);
    outlet -= cooled;
    let lost = 1000.0 * cooled;
    let heat = lost + condense(spec, ends, rate, stream.h + work - lost, outlet);
    flow.lift = work - heat;
    flow.energy[1] += rate * flow.lift;
    flow.t_out = outlet;
    flow.power = rate * work;
    flow.current = spec.idle_current * opening + spec.current_per_watt * flow.power;
    flow
}

/// Heat the condenser takes out, J/kg: at most down to liquid 1 K above ambient, at most what its conductance carries.
fn condense(spec: &CompressorSpec, ends: &Ends, rate: f64, enthalpy: f64, outlet: f64) -> f64 {
    if spec.condenser <= 0.0 {
        return 0.0;
    }
    let cold = ends.ambient + 1.0;
    let saturation = ends.fluid.t_sat(ends.to.p_r.max(1e3));
    let target =
        if saturation > cold { ends.fluid.sat(cold).h_l } else { ends.fluid.vapour_pt(ends.to.p_r.max(1e3), cold).h };
    let wanted = rate * (enthalpy - target);
    let possible = spec.condenser * (saturation.max(0.5 * (outlet + cold)) - ends.ambient);
    if wanted <= 0.0 || possible <= 0.0 { 0.0 } else { wanted * possible / (wanted + possible) / rate }
}

fn vacuum_pump(spec: &PumpSpec, opening: f64, ends: &Ends, memory: &mut Memory) -> Flow {
    let up = ends.from;
    if opening <= 0.0 || up.p <= 0.0 {
        return Flow { t_out: up.t, p_inner: up.p, ..Flow::default() };
    }
    let hose = spec.hose.map(|d| laws::duct_conductances(d.count, d.diameter, d.length, d.viscosity, up.t, MOLAR_AIR));
    let speed = spec.speed * opening;
    let stream = up.gas;
    // Throughput over pressure is a volume flow: each species leaves with its own density.
    let law = |p0: f64, _back: f64| stream.rho * laws::pump_throughput(p0, speed, spec.ultimate, hose).0 / p0;
    let (rate, slope) = with_slopes(law, up.p, ends.to.p, stream.rho, 1.0, ends.slopes);
    let (throughput, inner) = laws::pump_throughput(up.p, speed, spec.ultimate, hose);
    let mut flow = carry(ends, memory, false, (rate, slope), &stream, 0.0);
    flow.p_inner = inner;
    flow.power = throughput;
    flow.current = spec.idle_current * opening + spec.current_per_watt * throughput;
    flow
}

fn relief(spec: &ReliefSpec, ends: &Ends, memory: &mut Memory) -> Flow {
    if !memory.lifted {
        return Flow { t_out: ends.from.t, ..Flow::default() };
    }
    let open = OrificeSpec {
        diameter: spec.diameter,
        discharge: spec.discharge,
        nozzle: Nozzle::Ideal { k: spec.k },
        draw: [Draw::Vapour; 2],
        nonequilibrium: 1.0,
        one_way: true,
        cracking: 0.0,
        regular: 10.0,
    };
    orifice(&open, 1.0, ends, memory)
}

fn oil_line(spec: &OilLineSpec, opening: f64, ends: &Ends) -> Flow {
    let idle = Flow { t_out: ends.from.t, ..Flow::default() };
    let head = spec.head.unwrap_or(ends.from.p - ends.to.p);
    let (Some((mass, dissolved, _)), true) = (ends.oil[0], head > 0.0 && opening > 0.0) else {
        return idle;
    };
    if mass <= 0.0 {
        return idle;
    }
    let full = opening * spec.coefficient * head.sqrt() * laws::smoothing(head, 100.0);
    let oil_rate = full / (mass + spec.margin);
    let oil = oil_rate * mass;
    Flow { oil, dissolved: oil * (dissolved / mass).max(0.0), oil_rate, ..idle }
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
