//! One law for a hose or pipe from 10 bar to 0.1 Pa: gas and liquid with friction, inertia, choking, fittings and slip (boiling flow: `wet`).
//!
//! Momentum of steady flow, v^-1 dp + G^2 dv/v + (phi/v) dz = 0 with Churchill's friction factor; the sum K of the fittings is
//! spread over the length. Gas is isothermal. In vacuum the molecular part of Knudsen's formula adds.

use super::Rate;
use super::friction::churchill;

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

/// Where the iterations start.
#[derive(Debug, Clone, Copy, Default)]
pub struct Start {
    /// Flux of the last call, kg/(m2 s); 0 = none.
    pub flux: f64,
    /// Temperature at which boiling flow choked in it, K; 0 = it did not.
    pub choke: f64,
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
    let fastest = p1 / c0.sqrt();
    let mut g =
        if start.flux > 0.0 { start.flux } else { (drive(back) / (0.03 * slender + bore.fittings + 1.0)).sqrt() };
    g = g.min(0.999 * fastest);
    let open = drive(back);
    let (mut choked, mut push, mut power) = (false, open, 2.0);
    for _ in 0..60 {
        let (factor, bend) = churchill(g * bore.diameter / gas.viscosity, bore.roughness / bore.diameter);
        let friction = factor * slender;
        let exit = g * c0.sqrt();
        choked = exit > back;
        let p2 = if choked { exit.min(p1) } else { back };
        push = if choked { drive(p2) } else { open };
        let loss = friction + bore.fittings + 2.0 * ((c0 / p2.max(1e-9) + c1) / v1).ln();
        let miss = (g * g * loss / push.max(1e-300)).ln();
        power = (2.0 + bend * friction / loss).max(0.5);
        let step = (-miss / power).clamp(-1.5, 1.5);
        // Choking bounds the flux from above: half way to the bound at most.
        g = (g * step.exp()).min(0.5 * (g + fastest));
        if arrived(step, close) {
            break;
        }
    }
    start.flux = g;
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
    let mut g =
        if start.flux > 0.0 { start.flux } else { (2.0 * rho * head / (0.03 * slender + bore.fittings + 1.0)).sqrt() };
    let mut power = 2.0;
    for _ in 0..60 {
        let (factor, bend) = churchill(g * bore.diameter / viscosity, bore.roughness / bore.diameter);
        let friction = factor * slender;
        let loss = friction + bore.fittings;
        power = (2.0 + bend * friction / loss).max(0.5);
        let step = (-(g * g * loss / (2.0 * rho * head)).ln() / power).clamp(-1.5, 1.5);
        g *= step.exp();
        if arrived(step, close) {
            break;
        }
    }
    start.flux = g;
    let slope = g / (power * head);
    Rate { value: g, slope: [slope, g / (power * rho), -slope], choked: false }
}

/// After a Newton step of this size in the logarithm what is left is about its square.
#[inline]
fn arrived(step: f64, close: f64) -> bool {
    step * step < 0.1 * close
}
