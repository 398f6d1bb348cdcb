//! A state from any two properties that fix one, checked: the answer rests on data, or is refused with range and nearest value.

use super::property::Property;
use super::range::{FluidError, P_MIN};
use super::table::Fluid;
use super::{Found, Phase, State};

/// Two properties that fix a state, SI.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Pair {
    /// Pressure, temperature: one phase.
    PressureTemperature(f64, f64),
    /// Pressure, enthalpy.
    PressureEnthalpy(f64, f64),
    /// Pressure, entropy.
    PressureEntropy(f64, f64),
    /// Pressure, quality: on the saturation line or between its ends.
    PressureQuality(f64, f64),
    /// Temperature, quality: the same.
    TemperatureQuality(f64, f64),
    /// Density, temperature.
    DensityTemperature(f64, f64),
    /// Density, internal energy.
    DensityEnergy(f64, f64),
}

impl Pair {
    /// The pair of two properties, whichever comes first; `None` where no solver takes them.
    pub fn of(a: (Property, f64), b: (Property, f64)) -> Option<Self> {
        Self::ordered(a, b).or_else(|| Self::ordered(b, a))
    }

    /// Both properties with their values.
    pub const fn parts(self) -> [(Property, f64); 2] {
        let (first, second, a, b) = match self {
            Self::PressureTemperature(p, t) => (Property::Pressure, Property::Temperature, p, t),
            Self::PressureEnthalpy(p, h) => (Property::Pressure, Property::Enthalpy, p, h),
            Self::PressureEntropy(p, s) => (Property::Pressure, Property::Entropy, p, s),
            Self::PressureQuality(p, x) => (Property::Pressure, Property::Quality, p, x),
            Self::TemperatureQuality(t, x) => (Property::Temperature, Property::Quality, t, x),
            Self::DensityTemperature(rho, t) => (Property::Density, Property::Temperature, rho, t),
            Self::DensityEnergy(rho, u) => (Property::Density, Property::InternalEnergy, rho, u),
        };
        [(first, a), (second, b)]
    }

    fn ordered((first, a): (Property, f64), (second, b): (Property, f64)) -> Option<Self> {
        Some(match (first, second) {
            (Property::Pressure, Property::Temperature) => Self::PressureTemperature(a, b),
            (Property::Pressure, Property::Enthalpy) => Self::PressureEnthalpy(a, b),
            (Property::Pressure, Property::Entropy) => Self::PressureEntropy(a, b),
            (Property::Pressure, Property::Quality) => Self::PressureQuality(a, b),
            (Property::Temperature, Property::Quality) => Self::TemperatureQuality(a, b),
            (Property::Density, Property::Temperature) => Self::DensityTemperature(a, b),
            (Property::Density, Property::InternalEnergy) => Self::DensityEnergy(a, b),
            _ => return None,
        })
    }
}

/// A first guess of temperature, K.
const ROOM: f64 = 293.15;

impl Fluid {
    /// The state that a pair of properties fixes.
    ///
    /// # Errors
    /// An input for which the tables hold no data. Of two, temperature or pressure is told first, temperature before pressure; the
    /// other one with its range there.
    pub fn find(&self, pair: Pair) -> Result<Found, FluidError> {
        match pair {
            Pair::PressureTemperature(p, t) => self.find_pt(p, t),
            Pair::PressureEnthalpy(p, h) => self.find_heat(p, Property::Enthalpy, h),
            Pair::PressureEntropy(p, s) => self.find_heat(p, Property::Entropy, s),
            Pair::PressureQuality(p, x) => {
                let t = self.t_sat(self.saturation_pressure(p)?);
                self.find_wet(t.min(self.t_sat_max()), x)
            }
            Pair::TemperatureQuality(t, x) => self.find_wet(self.saturation_temperature(t)?, x),
            Pair::DensityTemperature(rho, t) => {
                let t = self.temperature(t)?;
                Ok(Found::Single(self.at(self.density(rho, t)?, t)))
            }
            Pair::DensityEnergy(rho, u) => self.find_energy(rho, u),
        }
    }

    /// The pair nearest to `pair` that has a state: one input after the other brought to its nearest value.
    pub fn nearest(&self, mut pair: Pair) -> Pair {
        for _ in 0..4 {
            let Err(wrong @ FluidError::OutOfRange { input, .. }) = self.find(pair) else { break };
            let [one, other] = pair.parts();
            let near = |part: (Property, f64)| {
                (part.0, if part.0 == input { wrong.nearest().unwrap_or(part.1) } else { part.1 })
            };
            pair = Pair::of(near(one), near(other)).unwrap_or(pair);
        }
        pair
    }

    fn find_pt(&self, p: f64, t: f64) -> Result<Found, FluidError> {
        let t = self.temperature(t)?;
        let p = self.range(Property::Pressure, p, P_MIN, self.highest(t))?;
        // Above the saturation data the pressure of the densest vapour stands where saturation would.
        Ok(if t > self.t_sat_max() { Found::Single(self.vapour_pt(p, t)) } else { self.at_pt(p, t) })
    }

    fn find_wet(&self, t: f64, x: f64) -> Result<Found, FluidError> {
        let x = self.range(Property::Quality, x, 0.0, 1.0)?;
        let sat = self.sat(t);
        let e = self.at(1.0 / ((1.0 - x) / sat.rho_l + x / sat.rho_v), t);
        Ok(Found::Single(State { quality: x, ..e }))
    }

    fn find_energy(&self, rho: f64, u: f64) -> Result<Found, FluidError> {
        let rho = self.density(rho, self.t_min())?;
        // One step more than the solver takes: the pressure of a liquid shows its last microkelvin.
        let solve = |u: f64| {
            let e = self.at_rho_u(rho, u, ROOM);
            let step = (u - e.u) / e.cv;
            if step.abs() < 1e-5 { self.at(rho, e.t + step) } else { e }
        };
        let e = solve(u);
        if near(e.u, u) && self.is_data(&e) {
            return Ok(Found::Single(e));
        }
        let (low, high) = (self.at(rho, self.t_min()).u, self.at(rho, self.hottest(rho)).u);
        let u = self.range(Property::InternalEnergy, u, low, high)?;
        Ok(Found::Single(solve(u)))
    }

    fn find_heat(&self, p: f64, heat: Property, y: f64) -> Result<Found, FluidError> {
        let p = self.range(Property::Pressure, p, P_MIN, self.p_liquid_max())?;
        let solve = |y: f64| if heat == Property::Entropy { self.at_ps(p, y, ROOM) } else { self.at_ph(p, y, ROOM) };
        let of = |e: &State| if heat == Property::Entropy { e.s } else { e.h };
        let e = solve(y);
        if near(of(&e), y) && near(e.p, p) && self.is_data(&e) {
            return Ok(Found::Single(e));
        }
        let edge = |t: f64| match self.at_pt(p, t) {
            Found::Single(e) => of(&e),
            Found::Saturated(sat) => of(&self.liquid_at(sat.rho_l, t)),
        };
        let (low, mut high) = (edge(self.t_min()), edge(self.t_sat_max()));
        let mut gap = None;
        let thickest = self.at(self.thickest_vapour(), self.t_max()).p;
        if p < thickest {
            if p > self.p_sat(self.t_sat_max()) {
                // Dense fluid from the end of the saturation data to where it is vapour again is not in the tables.
                gap = Some((high, of(&self.at(below(self.thickest_vapour()), self.t_sat(p)))));
            }
            high = of(&self.vapour_pt(p, self.t_max()));
        }
        let refused = FluidError::OutOfRange { fluid: self.kind(), input: heat, value: y, low, high, gap };
        match gap {
            Some((from, to)) if y > from && y < to && !near(y, from) && !near(y, to) => Err(refused),
            Some((from, to)) if y > from && y < to => Ok(Found::Single(solve(refused.nearest().unwrap_or(y)))),
            _ => Ok(Found::Single(solve(self.range(heat, y, low, high)?))),
        }
    }
}

/// A density that still counts as vapour beside `rho`.
fn below(rho: f64) -> f64 {
    rho * (1.0 - 1e-14)
}

/// Whether a solver met what was asked; the scale is that of J/kg, J/(kg K) and Pa at everyday values.
fn near(found: f64, asked: f64) -> bool {
    (found - asked).abs() <= 1e-6 * asked.abs().max(1e-3)
}

impl Phase {
    /// What it is called in answers.
    pub const fn name(self) -> &'static str {
        match self {
            Self::TwoPhase => "two-phase",
            Self::Vapour => "vapour",
            Self::Liquid => "liquid",
        }
    }
}
