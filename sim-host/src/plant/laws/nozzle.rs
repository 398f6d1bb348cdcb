//! Compressible nozzle flow: the ideal-gas formula with the real density, the real isentropic nozzle, and incompressible liquid.
//!
//! Formulas are those of the textbook nozzle. With k = rho a^2 / p (a the sound speed) the ideal formula is 0.2 to 2.2 % below the
//! homogeneous isentropic flow of real vapour (reference tables f1).

use super::{Rate, smoothing};
use crate::fluid::Fluid;

/// Bounds of the throat pressure ratio; vapours of both refrigerants choke at 0.55-0.63.
const LOWEST_THROAT: f64 = 0.4;
const HIGHEST_THROAT: f64 = 0.75;
/// Exponents that the polynomials below cover.
const EXPONENTS: (f64, f64) = (0.6, 1.7);

/// Critical pressure ratio (2/(k+1))^(k/(k-1)) and flow coefficient sqrt(k) (2/(k+1))^((k+1)/(2(k-1))).
///
/// Polynomials in k - 1.15, least squares over k = 0.6 to 1.7, within 1.2e-6 and 1.1e-5: four powers a call would cost more
/// than all the rest of a nozzle.
#[inline]
pub fn critical(k: f64) -> (f64, f64) {
    const RATIO: [f64; 7] = [
        0.574383237224,
        -0.201978556749,
        0.0773105342151,
        -0.0309320876466,
        0.0127591157135,
        -0.0059215105452,
        0.00257425652234,
    ];
    const FLOW: [f64; 7] = [
        0.638638479008,
        0.201633819419,
        -0.0769940772816,
        0.0357579635949,
        -0.0190724688566,
        0.0145889386016,
        -0.00988112026265,
    ];
    let x = k - 1.15;
    let at = |c: &[f64; 7]| c.iter().rev().fold(0.0, |sum, c| sum * x + c);
    (at(&RATIO), at(&FLOW))
}

/// Mass flux of an ideal gas with the real density, kg/(m2 s); choked below the critical ratio.
///
/// `k` is brought into 0.6 to 1.7; below `regular` Pa of pressure difference the root turns linear.
#[inline]
pub fn ideal_flux(p0: f64, rho0: f64, back: f64, k: f64, regular: f64) -> Rate {
    let dp = p0 - back;
    if dp <= 0.0 || rho0 <= 0.0 {
        return Rate::default();
    }
    let k = k.clamp(EXPONENTS.0, EXPONENTS.1);
    let (ratio, flow) = critical(k);
    let (smooth, smooth_slope) = smoothing(dp, regular);
    if back <= ratio * p0 {
        let flux = flow * (p0 * rho0).sqrt();
        let value = flux * smooth;
        let bend = flux * smooth_slope;
        return Rate { value, slope: [0.5 * value / p0 + bend, 0.5 * value / rho0, -bend], choked: true };
    }
    // B = k/(k-1) (x^(2/k) - x^((k+1)/k)) = x^(2/k) (1 - x^e)/e with e = (k-1)/k; the flux is sqrt(2 p0 rho0 B).
    let x = back / p0;
    let log = if dp < 1e-3 * p0 { log_near_one(dp / p0) } else { x.ln() };
    let e = (k - 1.0) / k;
    let (part, power) = drop_over(e, log);
    let head = (2.0 / k * log).exp();
    let b = head * part;
    // dB/dx = (2/k) B/x - x^(2/k) x^e / x.
    let slope = (2.0 / k * b - head * power) / x;
    let flux = (2.0 * p0 * rho0 * b).sqrt();
    let value = flux * smooth;
    let bend = flux * smooth_slope;
    let (by_p0, by_back) = (rho0 * (b - x * slope) / flux, rho0 * slope / flux);
    Rate { value, slope: [by_p0 * smooth + bend, 0.5 * value / rho0, by_back * smooth - bend], choked: false }
}

/// ln(1 - y) for small y: the difference of two near pressures keeps its digits.
#[inline]
fn log_near_one(y: f64) -> f64 {
    -y * (1.0 + y * (0.5 + y * (1.0 / 3.0 + y * 0.25)))
}

/// ((1 - x^e)/e, x^e) with x given by its logarithm; e may vanish.
#[inline]
fn drop_over(e: f64, log: f64) -> (f64, f64) {
    let z = e * log;
    if z.abs() < 0.02 {
        // Series of (1 - exp z)/e: six terms leave less than 1e-13.
        let part = -log * (1.0 + z * (0.5 + z * (1.0 / 6.0 + z * (1.0 / 24.0 + z * (1.0 / 120.0 + z / 720.0)))));
        return (part, 1.0 - e * part);
    }
    let power = z.exp();
    ((1.0 - power) / e, power)
}

/// Upstream state of a real nozzle.
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

/// Mass flux of a homogeneous isentropic nozzle with real properties, kg/(m2 s), for vapour.
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
    let smooth = smoothing(dp, regular).0;
    if back > HIGHEST_THROAT * p0 {
        return flux(back) * smooth;
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
    if *throat * p0 > back { best } else { flux(back) * smooth }
}

/// Incompressible liquid flux sqrt(2 rho) dp / (dp^2 + regular^2)^(1/4), kg/(m2 s), for dp of 0 and more.
#[inline]
pub fn liquid_flux(rho: f64, dp: f64, regular: f64) -> Rate {
    let dp = dp.max(0.0);
    let square = dp * dp + regular * regular;
    if square <= 0.0 {
        return Rate::default();
    }
    let root = (2.0 * rho).sqrt() / square.sqrt().sqrt();
    let value = root * dp;
    let slope = root * (1.0 - 0.5 * dp * dp / square);
    Rate { value, slope: [slope, 0.5 * value / rho.max(1e-9), -slope], choked: false }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_polynomials_follow_the_powers() {
        for step in 0..=110 {
            let k = 0.6 + 0.01 * f64::from(step) + 1e-7;
            let ratio = (2.0 / (k + 1.0)).powf(k / (k - 1.0));
            let flow = k.sqrt() * (2.0 / (k + 1.0)).powf((k + 1.0) / (2.0 * (k - 1.0)));
            let found = critical(k);
            assert!((found.0 / ratio - 1.0).abs() < 2e-6, "ratio at k = {k}");
            assert!((found.1 / flow - 1.0).abs() < 1.2e-5, "flow at k = {k}");
        }
    }

    #[test]
    fn slopes_are_those_of_the_flux() {
        for k in [0.9, 1.0, 1.1, 1.4] {
            for back in [0.0, 3e4, 7e4, 9e4, 9.99e4, 9.99999e4] {
                let at = |p0: f64, rho: f64, pb: f64| ideal_flux(p0, rho, pb, k, 5.0);
                let here = at(1e5, 5.0, back);
                let step = 1e-7;
                let seen = [
                    (at(1e5 * (1.0 + step), 5.0, back).value - at(1e5 * (1.0 - step), 5.0, back).value) / (2e5 * step),
                    (at(1e5, 5.0 * (1.0 + step), back).value - at(1e5, 5.0 * (1.0 - step), back).value) / (1e1 * step),
                    (at(1e5, 5.0, back + 1e-2).value - at(1e5, 5.0, (back - 1e-2).max(0.0)).value)
                        / (back.min(1e-2) + 1e-2),
                ];
                for (slope, seen) in here.slope.iter().zip(seen) {
                    let size = slope.abs().max(1e-4 * here.value / 1e5);
                    assert!((slope - seen).abs() < 2e-2 * size, "k {k}, back {back}: {:?} for {seen}", here.slope);
                }
            }
        }
    }
}
