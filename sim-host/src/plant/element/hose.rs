//! Hoses and pipes with friction, and the laminar and molecular duct of the reference model.

use super::{
    Ends, Flow, Memory, SPRAY, UNRESOLVED, along, boiling, carry, disc, draw, gas_viscosity, resolved, with_air,
};
use crate::plant::gas::MOLAR_AIR;
use crate::plant::laws::{Rate, hose::*, machine, nozzle, wet::*};
use crate::plant::node::NodeState;
use crate::plant::spec::{DuctSpec, HoseSpec};
use crate::plant::stream::{Stream, smooth_step};

/// Accuracy of a hose's iterations over the tolerance of the integration.
const FINER: f64 = 3e-2;

pub(super) fn hose(spec: &HoseSpec, opening: f64, ends: &Ends, memory: &mut Memory) -> Flow {
    let head = ends.from.p - ends.to.p;
    if opening <= 0.0 || head == 0.0 || (spec.one_way && head < 0.0) {
        return Flow { t_out: ends.from.t, ..Flow::default() };
    }
    let reversed = head < 0.0;
    let (up, _, margin) = along(ends, reversed);
    let stream = draw(spec.draw[usize::from(reversed)], up, margin);
    if stream.thin <= 0.0 || up.p <= 0.0 {
        return Flow { t_out: ends.from.t, ..Flow::default() };
    }
    let bore =
        Bore { diameter: spec.diameter, length: spec.length, roughness: spec.roughness, fittings: spec.fittings };
    // The law at a head that never vanishes, less by the share of it that is there: a root turns into a line near rest, and the
    // line of laminar flow stays what it is.
    let regular = resolved(spec.regular, ends, up);
    let apart = head.hypot(regular);
    let (share, back) = (head.abs() / apart, (up.p - apart).max(0.0));
    let wet = smooth_step(stream.wet / SPRAY);
    let mut rate = Rate::default();
    if wet < 1.0 {
        rate = gas(&bore, ends, memory, (up, back), &stream).times(1.0 - wet);
    }
    if wet > 0.0 {
        let more = spray(&bore, ends, memory, (up, back), &stream);
        rate = Rate {
            value: rate.value + wet * more.value,
            slope: std::array::from_fn(|k| rate.slope[k] + wet * more.slope[k]),
            choked: more.choked,
        };
    }
    let [by_p, by_rho, by_back] = rate.slope;
    let steep = rate.value * regular * regular / apart.powi(3);
    let smoothed = Rate {
        value: rate.value * share,
        slope: [share * (by_p + by_back * (1.0 - share)) + steep, share * by_rho, share * share * by_back - steep],
        choked: rate.choked,
    };
    carry(ends, memory, reversed, smoothed.times(opening * spec.count * disc(spec.diameter)), &stream)
}

fn gas(bore: &Bore, ends: &Ends, memory: &mut Memory, (up, back): (&NodeState, f64), stream: &Stream) -> Rate {
    let gas = Gas { p: up.p, rho: stream.rho, thin: stream.thin, viscosity: gas_viscosity(ends, up, stream) };
    let close = (FINER * ends.relative).clamp(1e-9, 3e-5);
    let viscous = gas_flux(bore, &gas, back, close, &mut memory.hose[0]);
    let slip = molecular(bore, &gas, back);
    let slope = [viscous.slope[0] + slip, viscous.slope[1], viscous.slope[2] - slip];
    Rate { value: viscous.value + slip * (up.p - back), slope, choked: viscous.choked }
}

fn spray(bore: &Bore, ends: &Ends, memory: &mut Memory, (up, back): (&NodeState, f64), stream: &Stream) -> Rate {
    let (fluid, sat, shift, x) = boiling(ends, up, stream);
    let close = (FINER * ends.relative).clamp(1e-9, 3e-5);
    let wet = Wet { p: up.p + shift, t: sat.t, x };
    let flux = wet_flux(fluid, bore, &wet, (back + shift).max(0.0), close, &mut memory.hose[1], ends.slopes);
    with_air(flux, stream, &sat, x)
}

pub(super) fn duct(spec: &DuctSpec, opening: f64, ends: &Ends, memory: &mut Memory) -> Flow {
    if opening <= 0.0 {
        return Flow { t_out: ends.from.t, ..Flow::default() };
    }
    let reversed = ends.from.p < ends.to.p;
    let (up, down, _) = along(ends, reversed);
    let stream = up.gas;
    let (laminar, molecular) =
        machine::duct_conductances(spec.count, spec.diameter, spec.length, spec.viscosity, up.t, MOLAR_AIR);
    let area = spec.entrance * disc(spec.diameter) * spec.count;
    // Liquid meets hardly any friction here: the entrance's root alone would rule, and start steeply.
    let regular = UNRESOLVED * ends.relative * up.p;
    let (p0, pb, rho) = (up.p, down.p, stream.rho);
    let head = (p0 - pb).max(0.0);
    // Density over pressure turns throughput into mass flow.
    let open = laminar * (p0 + pb) + molecular;
    let per = rho / p0.max(1e-9);
    let flow = head * open * per;
    let slope =
        [(open + head * laminar) * per - flow / p0.max(1e-9), flow / rho.max(1e-30), (head * laminar - open) * per];
    let mut rate = Rate { value: flow, slope, choked: false };
    if area > 0.0 {
        // Entrance loss and friction in series; squares add, as pressure losses do.
        let limit = nozzle::ideal_flux(p0, rho, pb, stream.k, regular).times(area);
        rate = if limit.value > 0.0 { both(rate, limit) } else { Rate::default() };
    }
    carry(ends, memory, reversed, rate.times(opening), &stream)
}

/// a b / sqrt(a^2 + b^2) with its slopes.
fn both(a: Rate, b: Rate) -> Rate {
    let root = (a.value * a.value + b.value * b.value).sqrt();
    let value = a.value * b.value / root.max(1e-300);
    let (by_a, by_b) = ((b.value / root).powi(3), (a.value / root).powi(3));
    Rate { value, slope: std::array::from_fn(|k| by_a * a.slope[k] + by_b * b.slope[k]), choked: b.choked }
}
