//! How far off a step may be and is: scales of the unknowns, error of a try, and contents that ended away from their balance.

use super::Engine;
use crate::plant::gas::{self, R_AIR, R_WATER};
use crate::plant::layout::{DISSOLVED_AIR, NONE, OIL, POOL, WALL};
use crate::plant::node::{CONTENT, ENERGY};
use crate::plant::spec::{PlaceKind, Tolerance};

/// Pressure at which the tolerance of a gas temperature has doubled, Pa: thin gas takes its wall's temperature and weighs nothing.
const THIN: f64 = 30.0;
/// Most that tolerance grows to, K.
const LOOSEST: f64 = 0.5;
/// Heat capacity of oil at which the tolerance of its temperature has doubled, J/K.
const FILM: f64 = 0.5;
/// Most that its tolerance grows to, K: oil that is all but gone has no temperature to speak of.
const GONE: f64 = 50.0;
/// Share of what a mass may be below nothing by which one step may let it fall further.
const FALLS: f64 = 0.1;
/// Tolerances that a small content may end a step away from its balance.
const MANY: f64 = 30.0;
/// Times its own time constant from which a step is long for a content.
const STIFF: f64 = 10.0;
/// Most that a gas may end a step off the temperature that its wall and flows hold it at, K.
const OFF_WALL: f64 = 1.0;

/// Weighs the stages: what is added to each unknown, and by how much that is off.
fn sums(stages: &[Vec<f64>], (add, off): (&[f64], &[f64]), sum: &mut [f64], miss: &mut [f64]) {
    if let ([one, two, three, four], [m1, m2, m3, m4], [e1, e2, e3, e4]) = (stages, add, off) {
        // All four at once, in the order in which they would come one after another.
        let values = one.iter().zip(two).zip(three.iter().zip(four));
        for ((sum, miss), ((one, two), (three, four))) in sum.iter_mut().zip(miss.iter_mut()).zip(values) {
            *sum = m1 * one + m2 * two + m3 * three + m4 * four;
            *miss = e1 * one + e2 * two + e3 * three + e4 * four;
        }
        return;
    }
    sum.fill(0.0);
    miss.fill(0.0);
    for (values, (add, off)) in stages.iter().zip(add.iter().zip(off)) {
        for ((sum, miss), value) in sum.iter_mut().zip(miss.iter_mut()).zip(values) {
            *sum += add * value;
            *miss += off * value;
        }
    }
}

/// What is off as a share of its scale.
fn shares(miss: &[f64], scale: &[f64], into: &mut [f64]) {
    for ((share, miss), scale) in into.iter_mut().zip(miss).zip(scale) {
        *share = (miss / scale).abs();
    }
}

impl Engine {
    /// Error scales of the unknowns at the start of the step.
    pub(super) fn scales(&mut self) {
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

    /// Sums the stages into `end.y`; the worst scaled error of an unknown, and whether it is finite.
    pub(super) fn combine(&mut self) -> (f64, bool) {
        let n = self.system.layout.unknowns;
        let Self { start, end, tableau, stages, scale, miss, argument: sum, .. } = self;
        let stages = stages.get(..tableau.stages).unwrap_or_default();
        sums(stages, (&tableau.m, &tableau.e), sum, miss);
        for ((end, start), sum) in end.y.iter_mut().zip(&start.y).zip(&*sum) {
            *end = start + sum;
        }
        shares(miss, scale, sum);
        let (mut worst, mut at) = (0.0f64, 0);
        for (index, error) in sum.iter().enumerate().take(n) {
            if *error > worst || error.is_nan() {
                (worst, at) = (*error, index);
            }
        }
        self.worst = at;
        let worst = self.volumes_error(worst);
        (worst, worst.is_finite())
    }

    /// Error of the gas temperatures, which energy and masses make together, and of masses that would fall below nothing.
    fn volumes_error(&mut self, mut worst: f64) -> f64 {
        let Tolerance { relative, below: least, .. } = self.tolerance;
        let kelvin = 300.0 * relative;
        let width = if self.system.layout.mixed { CONTENT } else { CONTENT - 1 };
        let Self { system, start, end, scale, miss, worst: at, .. } = self;
        let oils = &system.oils;
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
                let allowed = least * scale[base + k];
                let below = -is / allowed;
                // What is below already may still fall by what comes in from a neighbour below nothing, if only by little a step: a step that is
                // refused at any length ends the run.
                if below > 1.0 && was - is > FALLS * allowed {
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

    /// A small content ended the step well away from where its flows hold it in balance. The error estimate does not see that: a step much
    /// longer than a content's own time damps the estimate as it damps the content.
    pub(super) fn off_balance(&mut self, h: f64) -> bool {
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
}
