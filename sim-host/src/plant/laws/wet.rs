//! Boiling flow in a hose: liquid, or liquid with vapour, adiabatic in homogeneous equilibrium, with the gradient of Mueller-Steinhagen
//! and Heck and the fittings spread over the length; it may begin to boil on the way, and choke.

use super::Rate;
use super::friction::{churchill, wet_shares};
use super::hose::{Bore, Start, liquid_flux};
use crate::fluid::Fluid;

/// Liquid, or liquid with vapour, at the entry.
#[derive(Debug, Clone, Copy)]
pub struct Wet {
    /// Static pressure, Pa.
    pub p: f64,
    /// Temperature, K.
    pub t: f64,
    /// Mass share of vapour, 0-1.
    pub x: f64,
}

/// Points along a wet path, warm end first.
const POINTS: usize = 5;
const HALF_ROOT: f64 = std::f64::consts::FRAC_1_SQRT_2;
const SQRT_2: f64 = std::f64::consts::SQRT_2;
/// Chebyshev points on -1..1, Clenshaw-Curtis weights and differentiation matrix for them (textbook).
const NODES: [f64; POINTS] = [1.0, HALF_ROOT, 0.0, -HALF_ROOT, -1.0];
const WEIGHTS: [f64; POINTS] = [1.0 / 15.0, 8.0 / 15.0, 0.8, 8.0 / 15.0, 1.0 / 15.0];
const SLOPES: [[f64; POINTS]; POINTS] = [
    [5.5, -6.828_427_124_746_19, 2.0, -1.171_572_875_253_81, 0.5],
    [1.707_106_781_186_55, -HALF_ROOT, -SQRT_2, HALF_ROOT, -0.292_893_218_813_453],
    [-0.5, SQRT_2, 0.0, -SQRT_2, 0.5],
    [0.292_893_218_813_453, -HALF_ROOT, SQRT_2, HALF_ROOT, -1.707_106_781_186_55],
    [-0.5, 1.171_572_875_253_81, -2.0, 6.828_427_124_746_19, -5.5],
];
/// Enthalpy over relative swelling and temperature of saturated vapour that is warmed by 4 K at its pressure, J/(kg K): 620 to 700 for
/// both refrigerants between -30 and 5 degC (own tables), rounded. Below the heat capacity, as such vapour swells by more than an ideal gas.
const DRY_CP: f64 = 660.0;

/// What a path makes of friction and momentum.
#[derive(Default)]
struct Integrals {
    /// int dp/(phi/G^2) and int dv/(phi/G^2) from cold to warm.
    by_p: f64,
    by_v: f64,
    /// Their slopes by ln G, as far as friction factors make them.
    bend_p: f64,
    bend_v: f64,
    /// 1 + G^2 dv/dp at each point.
    margin: [f64; POINTS],
    /// phi/G^2 at the warm and the cold end.
    gradient: [f64; 2],
}

/// The saturation line between the flash point and the exit of a wet path.
struct Path {
    p: [f64; POINTS],
    v_l: [f64; POINTS],
    v_fg: [f64; POINTS],
    h_l: [f64; POINTS],
    h_fg: [f64; POINTS],
    t: [f64; POINTS],
    /// Viscosities of liquid and vapour at the warm and the cold end; between them they run straight.
    viscosity: [[f64; 2]; 2],
}

impl Path {
    fn new(fluid: &Fluid, warm: f64, cold: f64) -> Self {
        let (middle, half) = (0.5 * (warm + cold), 0.5 * (warm - cold));
        let mut made = Self {
            p: [0.0; POINTS],
            v_l: [0.0; POINTS],
            v_fg: [0.0; POINTS],
            h_l: [0.0; POINTS],
            h_fg: [0.0; POINTS],
            t: [0.0; POINTS],
            viscosity: [[0.0; 2]; 2],
        };
        let mut dense = [0.0; 2];
        for (k, node) in NODES.iter().enumerate() {
            let t = middle + half * node;
            let sat = fluid.sat(t);
            made.t[k] = t;
            made.p[k] = sat.p;
            made.v_l[k] = 1.0 / sat.rho_l;
            made.v_fg[k] = 1.0 / sat.rho_v - made.v_l[k];
            made.h_l[k] = sat.h_l;
            made.h_fg[k] = sat.h_v - sat.h_l;
            if k == 0 || k == POINTS - 1 {
                dense[k / (POINTS - 1)] = sat.rho_v;
            }
        }
        for (end, t) in [warm, cold].into_iter().enumerate() {
            made.viscosity[end] = [fluid.viscosity_liquid(t), fluid.viscosity_vapour(dense[end], t)];
        }
        made
    }

    /// Specific volume and quality at each point for total enthalpy `h0` and flux `g`: h + G^2 v^2/2 = h0.
    fn volumes(&self, h0: f64, g: f64) -> ([f64; POINTS], [f64; POINTS]) {
        let (mut v, mut x) = ([0.0; POINTS], [0.0; POINTS]);
        let g2 = g * g;
        for k in 0..POINTS {
            let (v_l, v_fg) = (self.v_l[k], self.v_fg[k]);
            let a = 0.5 * g2 * v_fg * v_fg;
            let b = self.h_fg[k] + g2 * v_l * v_fg;
            let c = self.h_l[k] + 0.5 * g2 * v_l * v_l - h0;
            let quality = (-2.0 * c / (b + (b * b - 4.0 * a * c).max(0.0).sqrt())).max(0.0);
            x[k] = quality;
            v[k] = v_l + quality.min(1.0) * v_fg;
            if quality > 1.0 {
                v[k] *= 1.0 + (quality - 1.0) * self.h_fg[k] / (DRY_CP * self.t[k]);
            }
        }
        (v, x)
    }

    /// What friction and momentum make of the way from the warm end to the cold one.
    fn integrals(&self, bore: &Bore, h0: f64, g: f64) -> Integrals {
        let (v, x) = self.volumes(h0, g);
        let rough = bore.roughness / bore.diameter;
        let ends = self.viscosity.map(|pair| pair.map(|mu| churchill(g * bore.diameter / mu, rough)));
        let per = 0.5 / bore.diameter;
        let fittings = 0.5 * bore.fittings / bore.length;
        let mut made = Integrals::default();
        for k in 0..POINTS {
            let cold = 0.5 * (1.0 - NODES[k]);
            let between = |phase: usize| {
                let [(warm, bend), (other, other_bend)] = [ends[0][phase], ends[1][phase]];
                let (one, two) = ((1.0 - cold) * warm, cold * other);
                (one + two, one * bend + two * other_bend)
            };
            let (share_l, share_g) = wet_shares(x[k]);
            let (f_l, f_g) = (between(0), between(1));
            let (by_l, by_g) = (share_l * per * self.v_l[k], share_g * per * (self.v_l[k] + self.v_fg[k]));
            let gradient = f_l.0 * by_l + f_g.0 * by_g + fittings * v[k];
            let along = |values: &[f64; POINTS]| -> f64 { SLOPES[k].iter().zip(values).map(|(d, y)| d * y).sum() };
            let (dp, dv) = (along(&self.p), along(&v));
            let weight = WEIGHTS[k] / gradient;
            // A gradient that falls with the flux lengthens the way.
            let bend = -(f_l.1 * by_l + f_g.1 * by_g) / gradient;
            made.by_p += weight * dp;
            made.by_v += weight * dv;
            made.bend_p += weight * dp * bend;
            made.bend_v += weight * dv * bend;
            made.margin[k] = 1.0 + g * g * dv / dp;
            if k == 0 {
                made.gradient[0] = gradient;
            }
            made.gradient[1] = gradient;
        }
        made
    }

    /// Temperature at which 1 + G^2 dv/dp first vanishes on the way down, if it does.
    fn choke(&self, margin: &[f64; POINTS]) -> Option<f64> {
        let past = (1..POINTS).find(|&k| margin[k] < 0.0)?;
        let (a, b) = (margin[past - 1], margin[past]);
        if a <= 0.0 {
            return Some(self.t[past - 1].min(self.t[0] - 1e-3));
        }
        Some(self.t[past - 1] + (self.t[past] - self.t[past - 1]) * a / (a - b))
    }
}

/// Change of enthalpy over heat of evaporation with which its slope is taken: well above what the iteration leaves.
const PROBE: f64 = 5e-4;

/// A hose on its way to the flux that fills its length.
struct Search<'a> {
    bore: &'a Bore,
    /// Enthalpy at the entry with its kinetic energy, J/kg.
    h0: f64,
    /// Liquid before it boils: pressure to lose, density, viscosity.
    head: f64,
    rho: f64,
    viscosity: f64,
}

/// How far a flux is from filling the length.
struct Miss {
    /// ln of the length over that of the bore.
    ln: f64,
    /// Its slope by ln G, nearly.
    slope: f64,
    /// int dp/(phi/G^2) over the whole way.
    push: f64,
    /// phi/G^2 of the liquid.
    liquid: f64,
    path: Integrals,
}

impl Search<'_> {
    /// L = (int dp/gradient)/G^2 + int dv/gradient; volume grows along the way, so that the second is negative here.
    fn miss(&self, path: &Path, g: f64) -> Miss {
        let Bore { diameter, length, roughness, fittings } = *self.bore;
        let integrals = path.integrals(self.bore, self.h0, g);
        let (mut push, mut bend, mut liquid) = (integrals.by_p, integrals.bend_p, 0.0);
        if self.head > 0.0 {
            let (factor, slope) = churchill(g * diameter / self.viscosity, roughness / diameter);
            let friction = 0.5 * factor / (self.rho * diameter);
            liquid = friction + 0.5 * fittings / (self.rho * length);
            push += self.head / liquid;
            bend -= self.head / liquid * slope * friction / liquid;
        }
        let used = length - integrals.by_v;
        let slope = bend / push - 2.0 + integrals.bend_v / used;
        // In a hose as short as its bore a flux far too large has the momentum eat more than the length: less, then.
        let ratio = push / (g * g) / used;
        Miss { ln: if ratio > 0.0 { ratio.ln() } else { -2.0 }, slope, push, liquid, path: integrals }
    }
}

/// Where a path ends: at the pressure beyond the hose, or where it just chokes.
struct Exit {
    /// Temperatures: of the entry, of saturation beyond the hose, of the path's end.
    warm: f64,
    coldest: f64,
    cold: f64,
    choked: bool,
}

impl Exit {
    /// Past the choke, or short of it, the exit moves to where the flow just chokes; returns whether it moved.
    fn follow(&mut self, path: &Path, margin: &[f64; POINTS]) -> bool {
        let worst = margin[POINTS - 1];
        let short = self.choked && worst > 1e-3 && self.cold > self.coldest + 1e-6;
        if worst >= -1e-3 && !short {
            return false;
        }
        let aim = path.choke(margin).unwrap_or_else(|| {
            let inner = margin[POINTS - 2];
            let reach = if inner > worst {
                worst / (inner - worst) * (path.t[POINTS - 2] - self.cold)
            } else {
                0.3 * (self.warm - self.cold)
            };
            self.cold - reach.min(0.5 * (self.warm - self.cold))
        });
        let next = aim.clamp(self.coldest, self.warm - 1e-4);
        let moved = (next - self.cold).abs() > 1e-3 * (self.warm - next);
        if moved {
            self.cold = next;
        }
        self.choked = self.cold > self.coldest + 1e-6;
        moved
    }
}

/// Flux of liquid, or of liquid with vapour, kg/(m2 s), with its slopes where they are `wanted`: along the saturation line where the
/// entry boils, and by density at constant pressure, that is by the share of vapour.
pub fn wet_flux(fluid: &Fluid, bore: &Bore, wet: &Wet, back: f64, close: f64, start: &mut Start, wanted: bool) -> Rate {
    let head = wet.p - back;
    if head <= 0.0 {
        return Rate::default();
    }
    let sat = fluid.sat(wet.t);
    let viscosity = fluid.viscosity_liquid(wet.t);
    if wet.x <= 0.0 && back >= sat.p {
        return liquid_flux(bore, sat.rho_l, viscosity, head, close, start);
    }
    let h_fg = sat.h_v - sat.h_l;
    let mut search =
        Search { bore, h0: sat.h_l + wet.x * h_fg, head: wet.p - sat.p.min(wet.p), rho: sat.rho_l, viscosity };
    let coldest = fluid.t_sat(back).min(wet.t - 1e-4);
    let choked = start.choke > coldest && start.choke < wet.t - 1e-3;
    let mut exit = Exit { warm: wet.t, coldest, cold: if choked { start.choke } else { coldest }, choked };
    let mut path = Path::new(fluid, exit.warm, exit.cold);
    let slender = bore.length / bore.diameter;
    let mut g =
        if start.flux > 0.0 { start.flux } else { (sat.rho_l * head / (0.05 * slender + bore.fittings + 1.0)).sqrt() };
    // The last step in ln G on this path, and the miss where it began.
    let mut last: Option<(f64, f64)> = None;
    let mut miss = search.miss(&path, g);
    for round in 0..60 {
        if let Some((step, from)) = last.filter(|(_, from)| (miss.ln - from).abs() > 1e-9) {
            miss.slope = ((miss.ln - from) / step).clamp(-8.0, -0.8);
        }
        let step = (-miss.ln / miss.slope).clamp(-1.0, 1.0);
        g *= step.exp();
        let moved = exit.follow(&path, &miss.path.margin);
        let near = step.abs() < close || last.is_some_and(|(before, _)| (step * before).abs() < close);
        if near && (!moved || round > 20) {
            break;
        }
        last = (!moved).then_some((step, miss.ln));
        if moved {
            path = Path::new(fluid, exit.warm, exit.cold);
        }
        miss = search.miss(&path, g);
    }
    *start = Start { flux: g, choke: if exit.choked { exit.cold } else { 0.0 } };
    if !wanted {
        return Rate { value: g, choked: exit.choked, ..Rate::default() };
    }
    search.h0 += PROBE * h_fg;
    let by_h = search.miss(&path, g).ln / (PROBE * h_fg);
    let slope = slopes(&path, &miss, (g, by_h), wet.x, (wet.x <= 0.0 && search.head > 1e-6 * wet.p, exit.choked));
    Rate { value: g, slope, choked: exit.choked }
}

/// Slopes of the flux `g` that fills the length: by implicit differentiation of the miss, whose slope by enthalpy is `by_h`.
fn slopes(path: &Path, miss: &Miss, (g, by_h): (f64, f64), x: f64, (cooler, choked): (bool, bool)) -> [f64; 3] {
    let per = -g / miss.slope;
    let end = |k: usize, gradient: f64| miss.path.margin[k].max(0.0) / (gradient * miss.push);
    let by_back = if choked { 0.0 } else { -per * end(POINTS - 1, miss.path.gradient[1]) };
    let (v_l, v_fg, h_fg) = (path.v_l[0], path.v_fg[0], path.h_fg[0]);
    let along = |values: &[f64; POINTS]| -> f64 { SLOPES[0].iter().zip(values).map(|(d, y)| d * y).sum() };
    let by_p = if cooler {
        per / (miss.liquid * miss.push)
    } else {
        // At constant density the share of vapour follows the volumes.
        let dp = along(&path.p);
        let dx = if x > 0.0 { -(along(&path.v_l) + x * along(&path.v_fg)) / v_fg } else { 0.0 };
        let dh = along(&path.h_l) + x * along(&path.h_fg) + h_fg * dx;
        per * (end(0, miss.path.gradient[0]) + by_h * dh / dp)
    };
    let v = v_l + x * v_fg;
    let by_rho = if x > 0.0 { -per * by_h * h_fg * v * v / v_fg } else { 0.5 * g * v };
    [by_p, by_rho, by_back]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fluid::FluidKind;

    /// Flux out of a saturated entry of density `rho` at `p`.
    fn saturated(p: f64, rho: f64, back: f64, start: &mut Start) -> Rate {
        let fluid = Fluid::get(FluidKind::R1234yf);
        let bore = Bore { diameter: 4.8e-3, length: 2.0, roughness: 3e-6, fittings: 1.5 };
        let t = fluid.t_sat(p);
        let sat = fluid.sat(t);
        let v_l = 1.0 / sat.rho_l;
        let x = (1.0 / rho - v_l) / (1.0 / sat.rho_v - v_l);
        wet_flux(fluid, &bore, &Wet { p, t, x }, back, 1e-10, start, true)
    }

    #[test]
    fn slopes_are_what_differences_say() {
        for (p, rho, back) in [(2.43e5, 40.0, 1.8e5), (2.43e5, 40.0, 0.2e5), (6e5, 300.0, 5.9e5), (6e5, 900.0, 5e5)] {
            let start = &mut Start::default();
            let found = saturated(p, rho, back, start);
            let by = |dp: f64, drho: f64, dback: f64, start: &mut Start| {
                let high = saturated(p + dp, rho + drho, back + dback, start).value;
                (high - saturated(p - dp, rho - drho, back - dback, start).value) / (2.0 * (dp + drho + dback))
            };
            let differences = [by(20.0, 0.0, 0.0, start), by(0.0, 1e-4 * rho, 0.0, start), by(0.0, 0.0, 20.0, start)];
            let sizes = [p, rho, p - back];
            for ((slope, other), size) in found.slope.iter().zip(differences).zip(sizes) {
                let off = (slope - other).abs() * size / found.value;

                assert!(off < 0.05, "{slope} instead of {other} at {p} Pa, {rho} kg/m3, back {back} Pa: {found:?}");
            }
        }
    }
}
