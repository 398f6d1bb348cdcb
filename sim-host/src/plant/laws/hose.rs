//! One law for a hose or pipe from 10 bar to 0.1 Pa: gas, liquid and wet flow with friction, inertia, choking, fittings and slip.
//!
//! Momentum of steady flow, v^-1 dp + G^2 dv/v + (phi/v) dz = 0 with Churchill's friction factor; the sum K of the fittings is
//! spread over the length. Gas is isothermal, wet flow adiabatic in homogeneous equilibrium with the gradient of Mueller-Steinhagen and
//! Heck. In vacuum the molecular part of Knudsen's formula adds.

use super::Rate;
use super::friction::{churchill, wet_gradient};
use crate::fluid::Fluid;

/// Size of a bore.
#[derive(Debug, Clone, Copy)]
pub struct Bore {
    /// Diameter, m.
    pub diameter: f64,
    /// Length, m.
    pub length: f64,
    /// Roughness, m.
    pub roughness: f64,
    /// Sum of loss coefficients.
    pub fittings: f64,
}

/// Gas at the entry.
#[derive(Debug, Clone, Copy)]
pub struct Gas {
    /// Static pressure, Pa.
    pub p: f64,
    /// Density, kg/m3.
    pub rho: f64,
    /// R T of the mixture, J/kg: p/rho at vanishing pressure.
    pub thin: f64,
    /// Viscosity, Pa s.
    pub viscosity: f64,
}

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

/// Reynolds number up to which flow counts as laminar, for slopes only (textbooks: 2 000 to 2 300).
const LAMINAR: f64 = 2_000.0;

/// Where the iterations start.
#[derive(Debug, Clone, Copy, Default)]
pub struct Start {
    /// Flux of the last call, kg/(m2 s); 0 = none.
    pub flux: f64,
    /// Slope d ln f / d ln Re found last.
    bend: f64,
}

/// A friction factor followed through an iteration on the flux: value, and slope by secants.
struct Factor {
    roughness: f64,
    last: Option<(f64, f64)>,
    bend: f64,
}

impl Factor {
    fn new(roughness: f64, bend: f64) -> Self {
        Self { roughness, last: None, bend }
    }

    fn at(&mut self, reynolds: f64) -> f64 {
        let f = churchill(reynolds, self.roughness);
        let (x, y) = (reynolds.ln(), f.ln());
        if let Some((x0, y0)) = self.last {
            if (x - x0).abs() > 1e-7 {
                self.bend = ((y - y0) / (x - x0)).clamp(-1.0, 4.0);
            }
        } else if reynolds < 1_500.0 {
            self.bend = -1.0;
        } else if self.bend <= -1.0 {
            self.bend = -0.25;
        }
        self.last = Some((x, y));
        f
    }
}

/// Viscous flux of gas, kg/(m2 s), choked where p = G sqrt(R T); relative accuracy `close`.
///
/// The compressibility runs straight from 1 at no pressure to that of the entry, so that v = R T/p + c.
pub fn gas_flux(bore: &Bore, gas: &Gas, back: f64, close: f64, start: &mut Start) -> Rate {
    if gas.p - back <= 0.0 || gas.rho <= 0.0 {
        return Rate::default();
    }
    let (c0, p1) = (gas.thin, gas.p);
    let v1 = 1.0 / gas.rho;
    let c1 = v1 - c0 / p1;
    // 2 int dp/v by three points; p/(c0 + c1 p) is nearly a straight line.
    let drive = |p2: f64| {
        let span = p1 - p2;
        let at = |share: f64| {
            let p = p2 + share * span;
            p / (c0 + c1 * p)
        };
        2.0 * span * (5.0 * (at(0.112_701_665_379_258_3) + at(0.887_298_334_620_741_7)) + 8.0 * at(0.5)) / 18.0
    };
    let slender = bore.length / bore.diameter;
    let mut factor = Factor::new(bore.roughness / bore.diameter, start.bend);
    let fastest = p1 / c0.sqrt();
    let mut g =
        if start.flux > 0.0 { start.flux } else { (drive(back) / (0.03 * slender + bore.fittings + 1.0)).sqrt() };
    g = g.min(0.999 * fastest);
    let open = drive(back);
    let (mut choked, mut push, mut loss, mut friction) = (false, open, 0.0, 0.0);
    for _ in 0..60 {
        friction = factor.at(g * bore.diameter / gas.viscosity) * slender;
        let exit = g * c0.sqrt();
        choked = exit > back;
        let p2 = if choked { exit.min(p1) } else { back };
        push = if choked { drive(p2) } else { open };
        loss = friction + bore.fittings + 2.0 * ((c0 / p2.max(1e-9) + c1) / v1).ln();
        let miss = (g * g * loss / push.max(1e-300)).ln();
        let step = (-miss / (2.0 + factor.bend * friction / loss).max(0.5)).clamp(-1.5, 1.5);
        // Choking bounds the flux from above: half way to the bound at most.
        g = (g * step.exp()).min(0.5 * (g + fastest));
        if step.abs() < close {
            break;
        }
    }
    *start = Start { flux: g, bend: factor.bend };
    let power = (2.0 + factor.bend * friction / loss).max(0.5);
    let by_back = if choked { 0.0 } else { -g * 2.0 * back / (c0 + c1 * back) / (push * power) };
    let by_p = g * (1.0 + (back / p1) * (back / p1) * f64::from(u8::from(!choked))) / (p1 * power)
        * if choked { 1.0 } else { p1 * p1 / (p1 * p1 - back * back) };
    Rate { value: g, slope: [by_p, g / (gas.rho * power), by_back], choked }
}

/// Molecular part of the flux over the pressure difference, kg/(m2 s Pa): Knudsen's formula in Dushman's form (from memory),
/// (1/6) sqrt(2 pi R T/M) D^3/L (1 + X)/(1 + 1.24 X), X = D p_m/mu sqrt(M/(R T)), over the area and times M/(R T).
#[inline]
pub fn molecular(bore: &Bore, gas: &Gas, back: f64) -> f64 {
    let mean = 0.5 * (gas.p + back);
    let x = bore.diameter * mean / (gas.viscosity * gas.thin.sqrt());
    let free = (2.0 * std::f64::consts::PI * gas.thin).sqrt() * bore.diameter * 4.0
        / (6.0 * std::f64::consts::PI * bore.length);
    free * (1.0 + x) / (1.0 + 1.24 * x) / gas.thin
}

/// Flux of liquid that does not boil, kg/(m2 s).
pub fn liquid_flux(bore: &Bore, rho: f64, viscosity: f64, head: f64, close: f64, start: &mut Start) -> Rate {
    if head <= 0.0 {
        return Rate::default();
    }
    let slender = bore.length / bore.diameter;
    let mut factor = Factor::new(bore.roughness / bore.diameter, start.bend);
    let mut g =
        if start.flux > 0.0 { start.flux } else { (2.0 * rho * head / (0.03 * slender + bore.fittings + 1.0)).sqrt() };
    let mut power = 2.0;
    for _ in 0..60 {
        let friction = factor.at(g * bore.diameter / viscosity) * slender;
        let loss = friction + bore.fittings;
        power = (2.0 + factor.bend * friction / loss).max(0.5);
        let step = (-(g * g * loss / (2.0 * rho * head)).ln() / power).clamp(-1.5, 1.5);
        g *= step.exp();
        if step.abs() < close {
            break;
        }
    }
    *start = Start { flux: g, bend: factor.bend };
    let slope = g / (power * head);
    Rate { value: g, slope: [slope, g / (power * rho), -slope], choked: false }
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

    /// Friction over length: int dp/(phi/G^2), int dv/(phi/G^2), and 1 + G^2 dv/dp at each point.
    fn integrals(&self, bore: &Bore, h0: f64, g: f64) -> (f64, f64, [f64; POINTS]) {
        let (v, x) = self.volumes(h0, g);
        let rough = bore.roughness / bore.diameter;
        let ends = self.viscosity.map(|pair| pair.map(|mu| churchill(g * bore.diameter / mu, rough)));
        let (mut by_p, mut by_v, mut margin) = (0.0, 0.0, [0.0; POINTS]);
        for k in 0..POINTS {
            let cold = 0.5 * (1.0 - NODES[k]);
            let f = |phase: usize| (1.0 - cold) * ends[0][phase] + cold * ends[1][phase];
            let (v_l, v_g) = (self.v_l[k], self.v_l[k] + self.v_fg[k]);
            let gradient = wet_gradient(x[k], 0.5 * f(0) * v_l / bore.diameter, 0.5 * f(1) * v_g / bore.diameter)
                + 0.5 * bore.fittings * v[k] / bore.length;
            let along = |values: &[f64; POINTS]| -> f64 { SLOPES[k].iter().zip(values).map(|(d, y)| d * y).sum() };
            let (dp, dv) = (along(&self.p), along(&v));
            by_p += WEIGHTS[k] * dp / gradient;
            by_v += WEIGHTS[k] * dv / gradient;
            margin[k] = 1.0 + g * g * dv / dp;
        }
        (by_p, by_v, margin)
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

/// Flux of liquid, or of liquid with vapour, kg/(m2 s); it may begin to boil on the way, and choke.
pub fn wet_flux(fluid: &Fluid, bore: &Bore, wet: &Wet, back: f64, close: f64, start: &mut Start) -> Rate {
    let head = wet.p - back;
    if head <= 0.0 {
        return Rate::default();
    }
    let sat = fluid.sat(wet.t);
    let liquid_viscosity = fluid.viscosity_liquid(wet.t);
    if wet.x <= 0.0 && back >= sat.p {
        return liquid_flux(bore, sat.rho_l, liquid_viscosity, head, close, start);
    }
    let flash = sat.p.min(wet.p);
    let h0 = sat.h_l + wet.x * (sat.h_v - sat.h_l);
    let coldest = fluid.t_sat(back).min(wet.t - 1e-4);
    let mut cold = coldest;
    let mut path = Path::new(fluid, wet.t, cold);
    let slender = bore.length / bore.diameter;
    let mut g =
        if start.flux > 0.0 { start.flux } else { (sat.rho_l * head / (0.05 * slender + bore.fittings + 1.0)).sqrt() };
    let mut choked = false;
    for round in 0..60 {
        let liquid = {
            let f = churchill(g * bore.diameter / liquid_viscosity, bore.roughness / bore.diameter);
            let gradient = 0.5 * f / (sat.rho_l * bore.diameter) + 0.5 * bore.fittings / (sat.rho_l * bore.length);
            (wet.p - flash) / gradient
        };
        let (by_p, by_v, margin) = path.integrals(bore, h0, g);
        // L = (int dp/gradient)/G^2 + int dv/gradient; volume grows along the way, so that the second is negative here.
        // Friction factors fall about with the fifth root of the flux, hence 1/1.8 and not 1/2.
        let ratio = (liquid + by_p) / (g * g) / (bore.length - by_v);
        // In a hose as short as its bore a flux far too large has the momentum eat more than the length: less, then.
        let step = if ratio > 0.0 { (0.55 * ratio.ln()).clamp(-1.0, 1.0) } else { -1.0 };
        let worst = margin[POINTS - 1];
        g *= step.exp();
        let mut moved = false;
        if worst < -1e-3 || (choked && worst > 1e-3 && cold > coldest + 1e-6) {
            // Past the choke, or short of it: the exit moves to where the flow just chokes.
            let aim = path.choke(&margin).unwrap_or_else(|| {
                let inner = margin[POINTS - 2];
                let reach = if inner > worst {
                    worst / (inner - worst) * (path.t[POINTS - 2] - cold)
                } else {
                    0.3 * (wet.t - cold)
                };
                cold - reach.min(0.5 * (wet.t - cold))
            });
            let next = aim.clamp(coldest, wet.t - 1e-4);
            moved = (next - cold).abs() > 1e-3 * (wet.t - next);
            if moved {
                cold = next;
                path = Path::new(fluid, wet.t, cold);
            }
            choked = cold > coldest + 1e-6;
        }
        if step.abs() < close && (!moved || round > 20) {
            break;
        }
    }
    start.flux = g;
    // Friction factors fall with the flux, or about with its fourth root; fittings do not.
    let reynolds = g * bore.diameter / liquid_viscosity;
    let friction = churchill(reynolds, bore.roughness / bore.diameter) * slender;
    let bend = if reynolds < LAMINAR { 1.0 } else { 0.25 };
    let slope = g / ((2.0 - bend * friction / (friction + bore.fittings)) * head);
    Rate { value: g, slope: [slope, 0.5 * g / sat.rho_l, if choked { 0.0 } else { -slope }], choked }
}
