//! Flow laws as plain functions: nozzle, liquid orifice, duct, pump, compressor efficiency. SI units, flows in kg/s.
//!
//! The formulas are those `MODEL.md` of the reference solutions states; what is added (smoothing near zero pressure
//! difference, flashing limit, entrance limit) says so.

use crate::fluid::Fluid;

/// Bounds of the throat pressure ratio; vapours of both refrigerants choke at 0.55-0.63.
const LOWEST_THROAT: f64 = 0.4;
const HIGHEST_THROAT: f64 = 0.75;

/// What the ideal nozzle needs of an isentropic exponent; powers are dear, exponents seldom change.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Exponent {
    k: f64,
    critical: f64,
    choked: f64,
}

impl Exponent {
    /// Prepares an exponent (1.01-1.67).
    pub fn new(k: f64) -> Self {
        let critical = (2.0 / (k + 1.0)).powf(k / (k - 1.0));
        let root = critical.powf(1.0 / k);
        Self { k, critical, choked: (2.0 * k / (k - 1.0) * (root * root - root * critical)).sqrt() }
    }

    /// The exponent for `k`, kept if it is this one.
    pub fn of(self, k: f64) -> Self {
        if self.k == k { self } else { Self::new(k) }
    }
}

/// Mass flux of an ideal gas with the real density, kg/(m2 s); choked below the critical ratio.
/// Below `regular` Pa of pressure difference the root turns linear, so that equalising volumes have a finite slope.
pub fn ideal_flux(p0: f64, rho0: f64, back: f64, exponent: &Exponent, regular: f64) -> f64 {
    let dp = p0 - back;
    if dp <= 0.0 || rho0 <= 0.0 {
        return 0.0;
    }
    let Exponent { k, critical, choked } = *exponent;
    if back <= critical * p0 {
        return choked * (p0 * rho0).sqrt() * smoothing(dp, regular);
    }
    let y = dp / p0;
    // Near x = 1 the difference of powers cancels; its series is exact to y^3 there.
    let bracket = if y < 1e-4 {
        (k - 1.0) / k * y * (1.0 - 1.5 / k * y)
    } else {
        let x = 1.0 - y;
        let root = x.powf(1.0 / k);
        root * root - root * x
    };
    (2.0 * p0 * rho0 * k / (k - 1.0) * bracket.max(0.0)).sqrt() * smoothing(dp, regular)
}

/// (1 + (r/dp)^2)^(-1/4): turns a square root into a line below r.
pub fn smoothing(dp: f64, regular: f64) -> f64 {
    let ratio = regular / dp;
    if ratio < 1e-4 { 1.0 } else { (1.0 / (1.0 + ratio * ratio)).sqrt().sqrt() }
}

/// Upstream state of a real nozzle: pressure Pa, enthalpy J/kg, entropy J/(kg K), and a guess of the throat temperature, K.
#[derive(Debug, Clone, Copy)]
pub struct Upstream {
    /// Pressure, Pa.
    pub p: f64,
    /// Enthalpy, J/kg.
    pub h: f64,
    /// Entropy, J/(kg K).
    pub s: f64,
    /// Guess of the throat temperature, K.
    pub guess: f64,
}

/// Mass flux of a homogeneous isentropic nozzle with real properties, kg/(m2 s).
///
/// `throat` holds the last throat pressure ratio and is updated. The flux is flat at its maximum, so a parabola through
/// three pressures 2 % apart gives it to some 1e-5.
pub fn real_flux(fluid: &Fluid, up: Upstream, back: f64, throat: &mut f64, regular: f64) -> f64 {
    let (p0, dp) = (up.p, up.p - back);
    if dp <= 0.0 {
        return 0.0;
    }
    let flux = |p: f64| {
        let state = fluid.at_ps(p, up.s, up.guess);
        state.rho * (2.0 * (up.h - state.h)).max(0.0).sqrt()
    };
    if back > HIGHEST_THROAT * p0 {
        return flux(back) * smoothing(dp, regular);
    }
    let width = 0.02;
    let mut best = 0.0;
    for _ in 0..6 {
        let middle = throat.clamp(LOWEST_THROAT + width, HIGHEST_THROAT - width);
        let low = flux((middle - width) * p0);
        let centre = flux(middle * p0);
        let high = flux((middle + width) * p0);
        let (slope, bend) = ((high - low) / 2.0, high - 2.0 * centre + low);
        let shift = if bend < 0.0 { (-slope / bend).clamp(-4.0, 4.0) } else { slope.signum() };
        *throat = (middle + shift * width).clamp(LOWEST_THROAT, HIGHEST_THROAT);
        best = centre + shift * (slope + 0.5 * bend * shift);
        if shift.abs() < 1.0 {
            break;
        }
    }
    if *throat * p0 > back { best } else { flux(back) * smoothing(dp, regular) }
}

/// Signed liquid flux, kg/(m2 s), smooth through zero.
pub fn liquid_flux(rho: f64, dp: f64, regular: f64) -> f64 {
    (2.0 * rho).sqrt() * dp / (dp * dp + regular * regular).sqrt().sqrt()
}

/// Laminar and molecular conductances of parallel round ducts at temperature `t` for gas of molar mass `molar` kg/mol:
/// throughput = (p1 - p2) (laminar (p1 + p2) + molecular), Pa m3/s.
pub fn duct_conductances(count: f64, diameter: f64, length: f64, viscosity: f64, t: f64, molar: f64) -> (f64, f64) {
    let laminar = count * std::f64::consts::PI * diameter.powi(4) / (256.0 * viscosity * length);
    let speed = (8.0 * 8.314_462_618 * t / (std::f64::consts::PI * molar)).sqrt();
    let molecular = count * std::f64::consts::PI * diameter.powi(3) * speed / (12.0 * length);
    (laminar, molecular)
}

/// Throughput (Pa m3/s) and pump inlet pressure behind quasi-steady ducts.
pub fn pump_throughput(p: f64, speed: f64, ultimate: f64, ducts: Option<(f64, f64)>) -> (f64, f64) {
    match ducts {
        None => ((speed * (p - ultimate)).max(0.0), p),
        Some((laminar, molecular)) => {
            let c = laminar * p * p + molecular * p + speed * ultimate;
            let b = molecular + speed;
            let inlet = 2.0 * c / (b + (b * b + 4.0 * laminar * c).sqrt());
            ((speed * (inlet - ultimate)).max(0.0), inlet)
        }
    }
}

/// Volumetric efficiency of a reciprocating compressor with clearance.
pub fn volumetric(base: f64, clearance: f64, exponent: f64, ratio: f64) -> f64 {
    (base * (1.0 - clearance * (ratio.max(0.0).powf(1.0 / exponent) - 1.0))).max(0.0)
}
