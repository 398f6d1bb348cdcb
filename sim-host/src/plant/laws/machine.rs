//! Compressor and vacuum pump as plain functions, and the laminar and molecular duct of the reference model.

/// Volumetric efficiency of a reciprocating compressor with clearance: base (1 - c (r^(1/n) - 1)), never negative.
#[inline]
pub fn volumetric(base: f64, clearance: f64, exponent: f64, ratio: f64) -> f64 {
    (base * (1.0 - clearance * (ratio.max(0.0).powf(1.0 / exponent) - 1.0))).max(0.0)
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
#[inline]
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

/// Share of its speed that a vacuum pump keeps against `back` Pa: all at one atmosphere and some way above, none at `stall`.
#[inline]
pub fn against(back: f64, stall: f64) -> f64 {
    // The motor slips over the last fifth.
    let left = ((stall - back) / (0.2 * stall)).clamp(0.0, 1.0);
    left * left * (3.0 - 2.0 * left)
}
