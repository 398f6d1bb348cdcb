//! Where the tables hold data, and how a question outside of them is refused: input, range and nearest valid value.
//!
//! Data are: the saturation line from [`Fluid::t_min`] to [`Fluid::t_sat_max`] with all between its ends; liquid there up to 20 MPa;
//! vapour up to [`Fluid::t_max`], no denser than saturated vapour at `t_sat_max`.

use super::table::Fluid;
use super::{FluidKind, Property, State};
use std::fmt;

/// Least density asked for, kg/m3: the entropy of the gas goes no further.
pub(super) const RHO_MIN: f64 = 1e-9;
/// Least pressure asked for, Pa.
pub(super) const P_MIN: f64 = 1e-5;
/// Share of a limit by which a value may lie beyond it: a limit that went through another unit or a solver, and back.
const SLACK: f64 = 1e-7;

/// Why a property question has no answer from data.
#[derive(Clone, PartialEq, Debug)]
pub enum FluidError {
    /// No table for this name.
    UnknownName(String),
    /// An input outside the range of the tables, the other one being what it is.
    OutOfRange {
        /// Whose tables.
        fluid: FluidKind,
        /// What was given.
        input: Property,
        /// The value given, in the SI unit of `input`, as the rest.
        value: f64,
        /// Smallest accepted value.
        low: f64,
        /// Largest accepted value.
        high: f64,
        /// Values between these two are not accepted either: dense fluid hotter than the saturation data.
        gap: Option<(f64, f64)>,
    },
}

impl FluidError {
    /// The accepted value nearest to what was given; `None` for a name. Not-a-number has the lower limit as nearest.
    pub fn nearest(&self) -> Option<f64> {
        match *self {
            Self::UnknownName(_) => None,
            Self::OutOfRange { value, low, high, gap, .. } => Some(match gap {
                _ if value >= high => high,
                Some((from, to)) if value > from && value < to => {
                    if value - from < to - value {
                        from
                    } else {
                        to
                    }
                }
                _ => low,
            }),
        }
    }
}

impl fmt::Display for FluidError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownName(name) => {
                write!(f, "no property tables for a fluid named {name:?}; known: R-1234yf, R-134a")
            }
            Self::OutOfRange { fluid, input, value, low, high, gap } => {
                let (near, unit) = (self.nearest().unwrap_or(*low), input.unit());
                write!(f, "{input} {value} {unit} is outside the {fluid} tables ({low:.2} to {high:.2} {unit}")?;
                if let Some((from, to)) = gap {
                    write!(f, ", not {from:.2} to {to:.2}")?;
                }
                write!(f, "); nearest valid value: {near:.2} {unit}")
            }
        }
    }
}

impl std::error::Error for FluidError {}

impl Fluid {
    /// Whether any state at temperature `t` (K) can be answered from data or its continuation.
    ///
    /// # Errors
    /// Names the input, the range and the nearest valid value; also for not-a-number.
    pub fn check_range(&self, t: f64) -> Result<(), FluidError> {
        self.temperature(t).map(|_| ())
    }

    /// Whether the saturation line has data at temperature `t` (K).
    ///
    /// # Errors
    /// As [`Fluid::check_range`]; the upper limit lies just below the critical temperature.
    pub fn check_sat_range(&self, t: f64) -> Result<(), FluidError> {
        self.saturation_temperature(t).map(|_| ())
    }

    /// Whether a saturation temperature exists in the tables for pressure `p` (Pa).
    ///
    /// # Errors
    /// As [`Fluid::check_range`].
    pub fn check_sat_pressure(&self, p: f64) -> Result<(), FluidError> {
        self.saturation_pressure(p).map(|_| ())
    }

    pub(super) fn temperature(&self, t: f64) -> Result<f64, FluidError> {
        self.range(Property::Temperature, t, self.t_min(), self.t_max())
    }

    pub(super) fn saturation_temperature(&self, t: f64) -> Result<f64, FluidError> {
        self.range(Property::Temperature, t, self.t_min(), self.t_sat_max())
    }

    pub(super) fn saturation_pressure(&self, p: f64) -> Result<f64, FluidError> {
        self.range(Property::Pressure, p, self.p_sat(self.t_min()), self.p_sat(self.t_sat_max()))
    }

    /// Checks a density at temperature `t`, inside the tables.
    pub(super) fn density(&self, rho: f64, t: f64) -> Result<f64, FluidError> {
        self.range(Property::Density, rho, RHO_MIN, self.thickest(t))
    }

    /// `value` brought to `low` or `high` where it lies beyond by a rounding only.
    pub(super) fn range(&self, input: Property, value: f64, low: f64, high: f64) -> Result<f64, FluidError> {
        if value >= low - SLACK * low.abs() && value <= high + SLACK * high.abs() {
            return Ok(value.clamp(low, high));
        }
        Err(FluidError::OutOfRange { fluid: self.kind(), input, value, low, high, gap: None })
    }

    /// Whether a state rests on data and not on their continuation.
    pub(super) fn is_data(&self, e: &State) -> bool {
        let warm = e.t >= self.t_min() * (1.0 - SLACK) && e.t <= self.t_max() * (1.0 + SLACK);
        warm && e.rho <= self.thickest(self.clamp_t(e.t)) * (1.0 + SLACK)
    }

    /// Highest density (kg/m3) with data at temperature `t` (K, inside the tables).
    fn thickest(&self, t: f64) -> f64 {
        if t <= self.t_sat_max() { self.densest(t) } else { self.thickest_vapour() }
    }

    /// Density of saturated vapour at the end of the saturation data, kg/m3.
    pub(super) fn thickest_vapour(&self) -> f64 {
        self.sat(self.t_sat_max()).rho_v
    }

    /// Highest temperature (K) at which the tables hold data for density `rho` (kg/m3).
    pub(super) fn hottest(&self, rho: f64) -> f64 {
        if rho <= self.thickest_vapour() {
            return self.t_max();
        }
        let (mut low, mut high) = (self.t_min(), self.t_sat_max());
        if rho <= self.densest(high) {
            return high;
        }
        for _ in 0..60 {
            let mid = 0.5 * (low + high);
            if self.densest(mid) >= rho { low = mid } else { high = mid }
        }
        low
    }

    /// Highest pressure (Pa) with data at temperature `t` (K).
    pub(super) fn highest(&self, t: f64) -> f64 {
        if t <= self.t_sat_max() { self.p_liquid_max() } else { self.at(self.thickest_vapour(), t).p }
    }
}
