//! Flow laws as plain functions of states, without memory of a network: what the command line, the tests and the plant all ask.
//!
//! SI units; fluxes in kg/(m2 s), flows in kg/s. Each law names its source; what is added (smoothing near zero pressure
//! difference, blends between regimes) says so.

pub mod flash;
pub mod friction;
pub mod hose;
pub mod machine;
pub mod nozzle;
pub mod wet;

/// (1 + (r/dp)^2)^(-1/4) and its slope by dp: turns a square root into a line below `regular` Pa, so that equalising volumes have
/// a finite slope.
#[inline]
pub fn smoothing(dp: f64, regular: f64) -> (f64, f64) {
    let ratio = regular / dp;
    if ratio < 1e-4 {
        return (1.0, 0.0);
    }
    let square = ratio * ratio;
    let factor = (1.0 / (1.0 + square)).sqrt().sqrt();
    (factor, 0.5 * factor * square / (dp * (1.0 + square)))
}

/// A rate with its slopes by upstream pressure, stream density and downstream pressure.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Rate {
    /// kg/s, or kg/(m2 s) where a flux is asked for.
    pub value: f64,
    /// Slopes: by upstream pressure (per Pa), by density (per kg/m3), by downstream pressure (per Pa).
    pub slope: [f64; 3],
    /// The flow is choked.
    pub choked: bool,
}

impl Rate {
    /// The rate and its slopes times `factor`.
    #[inline]
    pub fn times(self, factor: f64) -> Self {
        Self { value: self.value * factor, slope: self.slope.map(|s| s * factor), choked: self.choked }
    }
}
