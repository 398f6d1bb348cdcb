//! Vapour pressure of water and ice, for the pool of moisture in a circuit: smooth tables of the published formulas.

use std::sync::LazyLock;

/// Triple point of water, K.
pub const T_TRIPLE: f64 = 273.16;
/// Lowest temperature of the tables, K; colder values are held there.
pub const T_MIN: f64 = 173.15;
/// Highest temperature of the tables, K; warmer values are held there.
pub const T_MAX: f64 = 423.15;
const STEP: f64 = 0.5;
const T_CRIT: f64 = 647.096;

/// Pressure (Pa) and slope (Pa/K) of the liquid line by the formula IAPWS SR1-86(1992).
///
/// The release starts at 273.16 K; colder values are its extrapolation to supercooled water.
pub fn liquid_formula(t: f64) -> (f64, f64) {
    const A: [f64; 6] = [-7.859_517_83, 1.844_082_59, -11.786_649_7, 22.680_741_1, -15.961_871_9, 1.801_225_02];
    const E: [f64; 6] = [1.0, 1.5, 3.0, 3.5, 4.0, 7.5];
    let tau = 1.0 - t / T_CRIT;
    let (sum, slope) =
        A.iter().zip(E).fold((0.0, 0.0), |(s, d), (a, e)| (s + a * tau.powf(e), d + a * e * tau.powf(e - 1.0)));
    let p = 22.064e6 * (T_CRIT / t * sum).exp();
    (p, -p / t * (slope + T_CRIT / t * sum))
}

/// Pressure (Pa) and slope (Pa/K) over ice by the formula IAPWS R14-08(2011), 50 K to the triple point.
pub fn ice_formula(t: f64) -> (f64, f64) {
    const A: [f64; 3] = [-21.214_400_6, 27.320_381_9, -6.105_981_3];
    const B: [f64; 3] = [3.333_333_33e-3, 1.206_666_67, 1.703_333_33];
    let th = t / T_TRIPLE;
    let (sum, slope) =
        A.iter().zip(B).fold((0.0, 0.0), |(s, d), (a, b)| (s + a * th.powf(b), d + a * b * th.powf(b - 1.0)));
    let p = 611.657 * (sum / th).exp();
    (p, p * (slope / th - sum / (th * th)) / T_TRIPLE)
}

struct Line(Vec<[f64; 4]>);

impl Line {
    fn of(f: impl Fn(f64) -> (f64, f64)) -> Self {
        let n = ((T_MAX - T_MIN) / STEP).round() as usize;
        let knot = |k: usize| f(T_MIN + STEP * k as f64);
        Self(
            (0..n)
                .map(|k| {
                    let ((a, da), (b, db)) = (knot(k), knot(k + 1));
                    let (da, db) = (da * STEP, db * STEP);
                    [a, da, 3.0 * (b - a) - 2.0 * da - db, 2.0 * (a - b) + da + db]
                })
                .collect(),
        )
    }

    #[inline]
    fn at(&self, t: f64) -> (f64, f64) {
        let t = if t > T_MIN { t.min(T_MAX) } else { T_MIN };
        let x = (t - T_MIN) / STEP;
        let k = (x as usize).min(self.0.len() - 1);
        let s = x - k as f64;
        let [a, b, c, d] = self.0[k];
        (((d * s + c) * s + b) * s + a, ((3.0 * d * s + 2.0 * c) * s + b) / STEP)
    }
}

static LIQUID: LazyLock<Line> = LazyLock::new(|| Line::of(liquid_formula));
/// Above the triple point there is no ice: the liquid line goes on, so that the table is whole.
static ICE: LazyLock<Line> =
    LazyLock::new(|| Line::of(|t| if t > T_TRIPLE { liquid_formula(t) } else { ice_formula(t) }));

/// Vapour pressure (Pa) of liquid water at `t` (K), also supercooled.
#[inline]
pub fn p_liquid(t: f64) -> f64 {
    LIQUID.at(t).0
}

/// Vapour pressure (Pa) of liquid water at `t` (K) and its slope (Pa/K).
#[inline]
pub fn p_liquid_slope(t: f64) -> (f64, f64) {
    LIQUID.at(t)
}

/// Sublimation pressure (Pa) of ice at `t` (K); above the triple point the value over liquid.
#[inline]
pub fn p_ice(t: f64) -> f64 {
    ICE.at(t).0
}

/// Sublimation pressure (Pa) of ice at `t` (K) and its slope (Pa/K).
#[inline]
pub fn p_ice_slope(t: f64) -> (f64, f64) {
    ICE.at(t)
}

/// Vapour pressure (Pa) at `t` (K): over liquid, or over ice below 0 degC if `ice` is set.
#[inline]
pub fn p_w_sat(t: f64, ice: bool) -> f64 {
    if ice && t < 273.15 { p_ice(t) } else { p_liquid(t) }
}
