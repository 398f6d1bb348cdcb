//! Compressor, vacuum pump, constant draw-off and oil line.

use super::{Ends, Flow, Memory, carry, draw, take_oil};
use crate::plant::gas::{self, K_AIR, MOLAR_AIR, MOLAR_WATER};
use crate::plant::laws::{self, Rate, machine};
use crate::plant::node::NodeState;
use crate::plant::spec::{CompressorSpec, DrawOffSpec, OilLineSpec, PumpOilSpec, PumpSpec};

/// Pressure that a pump's ultimate pressure is stated against, Pa.
const ATMOSPHERE: f64 = 101_325.0;
/// Pressure at which a constant draw-off has halved, Pa.
const THIN: f64 = 100.0;

/// Rate and slopes of a law `f(p0, back)` that goes with the stream's density; pressures by differences.
fn with_slopes(f: impl Fn(f64, f64) -> f64, p0: f64, back: f64, rho: f64, wanted: bool) -> Rate {
    let value = f(p0, back);
    if !wanted || value == 0.0 {
        return Rate { value, ..Rate::default() };
    }
    let step = 1e-5 * p0;
    let slope = [(f(p0 + step, back) - value) / step, value / rho, (value - f(p0, back - step)) / step];
    Rate { value, slope, choked: false }
}

pub(super) fn compressor(spec: &CompressorSpec, opening: f64, ends: &Ends, memory: &mut Memory) -> Flow {
    let (up, down) = (ends.from, ends.to);
    let idle = Flow { t_out: up.t, ..Flow::default() };
    if opening <= 0.0 || up.p <= 0.0 {
        return idle;
    }
    let swept = spec.displacement * spec.speed * opening;
    let stream = up.gas;
    let law = |p0: f64, pb: f64| {
        swept * stream.rho * machine::volumetric(spec.volumetric, spec.clearance, spec.exponent, pb / p0)
    };
    let rate = with_slopes(law, up.p, down.p, stream.rho, ends.slopes);
    let moved = rate.value;
    let mut flow = carry(ends, memory, false, rate, &stream);
    if moved <= 0.0 {
        return Flow { power: 0.0, current: spec.idle_current * opening, ..idle };
    }
    let (work, mut outlet) = compression(spec, ends, memory, (down.p / up.p).max(1.0));
    // Gas and shell share the heat as their conductances do; 1000 J/(kg K) serves both gases.
    let through = moved * 1000.0;
    let cooled = (outlet - ends.ambient) * spec.shell / (through + spec.shell).max(1e-12);
    outlet -= cooled;
    let lost = 1000.0 * cooled;
    let heat = lost + condense(spec, ends, moved, stream.h + work - lost, outlet);
    flow.lift = work - heat;
    flow.energy[1] += moved * flow.lift;
    flow.t_out = outlet;
    flow.power = moved * work;
    flow.current = spec.idle_current * opening + spec.current_per_watt * flow.power;
    flow
}

/// Work per kilogram of stream (J/kg) and outlet temperature (K) of a compression by `ratio`.
fn compression(spec: &CompressorSpec, ends: &Ends, memory: &mut Memory, ratio: f64) -> (f64, f64) {
    let up = ends.from;
    let stream = &up.gas;
    let refrigerant = stream.x[0] + stream.x[3];
    let (mut work, mut outlet) = (0.0, up.t);
    if refrigerant > 0.0 && ratio > 1.0 {
        let (fluid, h, s) = suction(ends, up);
        let ideal = fluid.at_ps(up.p_r * ratio, s, memory.discharge);
        memory.discharge = ideal.t;
        let rise = (ideal.h - h).max(0.0) / spec.isentropic;
        work += refrigerant * rise;
        outlet = ideal.t + (rise - (ideal.h - h)) / 1100.0;
    }
    let others = stream.x[1] + stream.x[2];
    if others > 0.0 {
        let warm = up.t * (ratio.powf((K_AIR - 1.0) / K_AIR) - 1.0) / spec.isentropic;
        work += others * 1005.0 * warm;
        outlet += others * (up.t + warm - outlet);
    }
    (work, outlet)
}

/// The refrigerant whose properties serve the compression, with enthalpy and entropy of what is drawn; a mixture counts as its larger part.
fn suction<'a>(ends: &Ends<'a>, up: &NodeState) -> (&'a crate::fluid::Fluid, f64, f64) {
    let stream = &up.gas;
    match ends.fluids.second {
        Some(second) if stream.x[3] > 0.0 => {
            let fluid = if stream.x[3] > stream.x[0] { second } else { ends.fluids.main };
            let state = fluid.at(up.vapour[0].min(fluid.sat(up.t.min(fluid.t_sat_max())).rho_v * (1.0 - 1e-12)), up.t);
            (fluid, state.h_g, state.s_g)
        }
        _ => (ends.fluids.main, up.vapour[1], up.entropy(ends.fluids.main)),
    }
}

/// Heat the condenser takes out, J/kg: at most down to liquid 1 K above ambient, at most what its conductance carries.
fn condense(spec: &CompressorSpec, ends: &Ends, rate: f64, enthalpy: f64, outlet: f64) -> f64 {
    if spec.condenser <= 0.0 {
        return 0.0;
    }
    let fluid = ends.fluids.main;
    let cold = ends.ambient + 1.0;
    let p = ends.to.p_r.max(1e3);
    let saturation = fluid.t_sat(p);
    let target = if saturation > cold { fluid.sat(cold).h_l } else { fluid.vapour_pt(p, cold).h };
    let wanted = rate * (enthalpy - target);
    let possible = spec.condenser * (saturation.max(0.5 * (outlet + cold)) - ends.ambient);
    if wanted <= 0.0 || possible <= 0.0 { 0.0 } else { wanted * possible / (wanted + possible) / rate }
}

pub(super) fn vacuum_pump(spec: &PumpSpec, opening: f64, ends: &Ends, memory: &mut Memory) -> Flow {
    let up = ends.from;
    if opening <= 0.0 || up.p <= 0.0 {
        return Flow { t_out: up.t, p_inner: up.p, ..Flow::default() };
    }
    let hose =
        spec.hose.map(|d| machine::duct_conductances(d.count, d.diameter, d.length, d.viscosity, up.t, MOLAR_AIR));
    let stream = up.gas;
    let clean = match spec.oil {
        Some(oil) => {
            let wetness = (ends.water / (oil.mass * oil.saturation).max(1e-9)).clamp(0.0, 1.0);
            spec.ultimate + wetness * (oil.wet_ultimate - spec.ultimate).max(0.0)
        }
        None => spec.ultimate,
    };
    let law = |p0: f64, back: f64| {
        let speed = spec.speed * opening * machine::against(back, spec.stall);
        let ultimate = clean * back.max(0.0) / ATMOSPHERE;
        // Throughput over pressure is a volume flow: each species leaves with its own density.
        stream.rho * machine::pump_throughput(p0, speed, ultimate, hose).0 / p0
    };
    let rate = with_slopes(law, up.p, ends.to.p, stream.rho, ends.slopes);
    let speed = spec.speed * opening * machine::against(ends.to.p, spec.stall);
    let (throughput, inner) = machine::pump_throughput(up.p, speed, clean * ends.to.p / ATMOSPHERE, hose);
    let moved = rate.value;
    let mut flow = carry(ends, memory, false, rate, &stream);
    if let Some(oil) = &spec.oil {
        flow.kept = kept(oil, opening, ends, moved);
    }
    flow.p_inner = inner;
    flow.power = throughput;
    flow.current = spec.idle_current * opening + spec.current_per_watt * throughput;
    flow
}

/// Water that stays in the pump's oil, kg/s; negative while it dries.
fn kept(oil: &PumpOilSpec, opening: f64, ends: &Ends, rate: f64) -> f64 {
    let x = &ends.from.gas.x;
    let wetness = (ends.water / (oil.mass * oil.saturation).max(1e-9)).clamp(0.0, 1.0);
    let over = wetness * gas::p_sat_water(oil.temperature, false);
    let refrigerant = ends.fluids.main.molar_mass();
    let ballast = oil.ballast * opening * ends.air / (8.314_462_618 * ends.ambient);
    let dry = rate * (x[1] / MOLAR_AIR + (x[0] + x[3]) / refrigerant) + ballast;
    let exhaust = ends.to.p.max(1e4);
    let carried = dry * over / (exhaust - over).max(0.1 * exhaust) * MOLAR_WATER;
    rate * x[2] - carried
}

pub(super) fn draw_off(spec: &DrawOffSpec, opening: f64, ends: &Ends, memory: &mut Memory) -> Flow {
    let up = ends.from;
    if opening <= 0.0 || up.p <= 0.0 {
        return Flow { t_out: up.t, ..Flow::default() };
    }
    let stream = draw(spec.draw, up, ends.margin[0]);
    let (square, thin) = (up.p * up.p, THIN * THIN);
    let value = spec.flow * opening * square / (square + thin);
    let rate = laws::Rate { value, slope: [2.0 * value * thin / (up.p * (square + thin)), 0.0, 0.0], choked: false };
    carry(ends, memory, false, rate, &stream)
}

pub(super) fn oil_line(spec: &OilLineSpec, opening: f64, ends: &Ends) -> Flow {
    let mut flow = Flow { t_out: ends.from.t, ..Flow::default() };
    let head = spec.head.unwrap_or(ends.from.p - ends.to.p);
    let (Some(oil), true) = (ends.oil[0], head > 0.0 && opening > 0.0) else {
        return flow;
    };
    if oil.mass <= 0.0 {
        return flow;
    }
    let full = opening * spec.coefficient * head.sqrt() * laws::smoothing(head, 100.0).0;
    take_oil(&mut flow, full / (oil.mass + spec.margin), &oil);
    flow
}
