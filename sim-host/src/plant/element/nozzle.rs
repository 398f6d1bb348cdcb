//! Orifices, check valves, leaks and reliefs: gas by the compressible nozzle, liquid and spray by flashing flow.

use super::{Ends, Flow, Memory, SPRAY, along, boiling, carry, disc, draw, resolved, with_air};
use crate::plant::laws::{self, Rate, flash, nozzle};
use crate::plant::node::NodeState;
use crate::plant::spec::{Draw, LiquidOrificeSpec, Nozzle, OrificeSpec, ReliefSpec};
use crate::plant::stream::{Stream, smooth_step};

pub(super) fn orifice(spec: &OrificeSpec, opening: f64, ends: &Ends, memory: &mut Memory) -> Flow {
    let area = spec.discharge * disc(spec.diameter) * opening;
    let head = ends.from.p - ends.to.p - spec.cracking;
    if area <= 0.0 || (spec.one_way && head <= 0.0) || head == 0.0 {
        return Flow { t_out: ends.from.t, ..Flow::default() };
    }
    let reversed = head < 0.0;
    let (up, down, margin) = along(ends, reversed);
    let stream = draw(spec.draw[usize::from(reversed)], up, margin);
    if up.p <= 0.0 {
        return Flow { t_out: ends.from.t, ..Flow::default() };
    }
    let back = down.p + spec.cracking;
    let regular = resolved(spec.regular, ends, up);
    let wet = smooth_step(stream.wet / SPRAY);
    let mut rate = Rate::default();
    if wet < 1.0 {
        rate = gas(spec.nozzle, ends, memory, (up, back), &stream, regular).times(1.0 - wet);
    }
    if wet > 0.0 {
        let more = flashing(spec.nonequilibrium, ends, memory, (up, back), &stream, regular);
        rate = Rate {
            value: rate.value + wet * more.value,
            slope: std::array::from_fn(|k| rate.slope[k] + wet * more.slope[k]),
            choked: more.choked,
        };
    }
    carry(ends, memory, reversed, rate.times(area), &stream)
}

fn gas(
    kind: Nozzle,
    ends: &Ends,
    memory: &mut Memory,
    (up, back): (&NodeState, f64),
    stream: &Stream,
    regular: f64,
) -> Rate {
    let (Nozzle::Real { k } | Nozzle::Ideal { k }) = kind;
    let k = if k > 0.0 { k } else { stream.k };
    let mut rate = nozzle::ideal_flux(up.p, stream.rho, back, k, regular);
    if matches!(kind, Nozzle::Real { .. }) && stream.x[0] > 1.0 - 1e-9 && stream.wet == 0.0 {
        let fluid = ends.fluids.main;
        let start = nozzle::Upstream { p: up.p, h: up.vapour[1], s: up.entropy(fluid), guess: up.t - 15.0 };
        let real = nozzle::real_flux(fluid, start, back, &mut memory.throat, regular);
        let share = if rate.value > 0.0 { real / rate.value } else { 1.0 };
        rate = Rate { value: real, ..rate.times(share) };
    }
    rate
}

fn flashing(
    nonequilibrium: f64,
    ends: &Ends,
    memory: &mut Memory,
    (up, back): (&NodeState, f64),
    stream: &Stream,
    regular: f64,
) -> Rate {
    let (fluid, sat, shift, x) = boiling(ends, up, stream);
    let inlet = flash::Inlet { p: up.p + shift, t: sat.t, sat, x, full: up.full };
    let flux = flash::flux(fluid, &inlet, (back + shift).max(0.0), nonequilibrium, &mut memory.drop);
    let (smooth, slope) = laws::smoothing(up.p - back, regular);
    let bend = flux.value * slope;
    let made = Rate {
        value: flux.value * smooth,
        slope: [flux.slope[0] * smooth + bend, flux.slope[1], flux.slope[2] * smooth - bend],
        choked: flux.choked,
    };
    with_air(made, stream, &sat, x)
}

pub(super) fn liquid_orifice(spec: &LiquidOrificeSpec, opening: f64, ends: &Ends, memory: &mut Memory) -> Flow {
    let area = spec.discharge * disc(spec.diameter) * opening;
    let head = ends.from.p - ends.to.p;
    if area <= 0.0 || (spec.one_way && head <= 0.0) {
        return Flow { t_out: ends.from.t, ..Flow::default() };
    }
    let reversed = head < 0.0;
    let (up, down, margin) = along(ends, reversed);
    let stream = up.liquid_stream(margin);
    let main = ends.fluids.main;
    let back = match spec.flashing {
        Some(share) => down.p.max(share * main.p_sat(up.t.min(main.t_sat_max())) + (up.p - up.p_r)),
        None => down.p,
    }
    .min(up.p);
    let regular = resolved(spec.regular, ends, up);
    // Once gas joins in, the compressible nozzle takes over in the same proportion.
    let wet = smooth_step(stream.wet);
    let mut rate = nozzle::liquid_flux(stream.rho, up.p - back, regular).times(wet);
    if wet < 1.0 {
        let gas = nozzle::ideal_flux(up.p, stream.rho, down.p, stream.k, regular).times(1.0 - wet);
        rate = Rate {
            value: rate.value + gas.value,
            slope: std::array::from_fn(|k| rate.slope[k] + gas.slope[k]),
            choked: gas.choked,
        };
    }
    carry(ends, memory, reversed, rate.times(area), &stream)
}

pub(super) fn relief(spec: &ReliefSpec, ends: &Ends, memory: &mut Memory) -> Flow {
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
