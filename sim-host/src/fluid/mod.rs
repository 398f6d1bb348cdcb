//! Refrigerant properties in SI units and kelvin: any finite or non-finite input gives a finite state, never a panic.
//!
//! The numbers come from tables made by `sim-host/generator` from the published equations of state and stay within 1e-4 of them
//! from -40 to 90 degC. Energies use the IIR reference: 200 kJ/kg and 1 kJ/(kg K) for saturated liquid at 0 degC.
//! Inside [`Fluid::t_min`]..[`Fluid::t_sat_max`] the values are data. From there to [`Fluid::t_max`] the vapour is data up to the
//! density of saturated vapour at `t_sat_max`; anything denser is a continuation without steps. Outside, values are extrapolated
//! linearly in temperature (pressure stays positive) so that a solver finds its way back; [`Fluid::find`] answers from data only, or
//! tells a user the range and, with [`Fluid::nearest`], the nearest state.

mod cubic;
mod pair;
mod property;
mod range;
mod solve;
mod state;
mod table;
mod transport;
mod viscosity;
pub mod water;

pub use pair::Pair;
pub use property::Property;
pub use range::FluidError;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
pub use table::Fluid;
use valvewright_core::fluid::Refrigerant;

/// Refrigerants with tables.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub enum FluidKind {
    /// R-1234yf, equation of state of Lemmon and Akasaka 2022.
    R1234yf,
    /// R-134a, equation of state of Tillner-Roth and Baehr 1994.
    R134a,
}

impl FluidKind {
    /// All kinds, in the order they are listed to a user.
    pub const ALL: [Self; 2] = [Self::R1234yf, Self::R134a];

    /// The name as the trade writes it.
    pub const fn label(self) -> &'static str {
        match self {
            Self::R1234yf => "R-1234yf",
            Self::R134a => "R-134a",
        }
    }
}

impl fmt::Display for FluidKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.label())
    }
}

impl From<Refrigerant> for FluidKind {
    fn from(value: Refrigerant) -> Self {
        match value {
            Refrigerant::R1234yf => Self::R1234yf,
            Refrigerant::R134a => Self::R134a,
        }
    }
}

impl FromStr for FluidKind {
    type Err = FluidError;

    /// Takes "R1234yf" and "R-1234yf", likewise R134a, in any case.
    fn from_str(s: &str) -> Result<Self, FluidError> {
        let plain: String = s.chars().filter(|c| !matches!(c, '-' | ' ')).collect();
        Self::ALL
            .into_iter()
            .find(|k| k.label().replace('-', "").eq_ignore_ascii_case(&plain))
            .ok_or_else(|| FluidError::UnknownName(s.to_owned()))
    }
}

/// Both phases on the saturation line at one temperature.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Sat {
    /// Temperature, K.
    pub t: f64,
    /// Pressure, Pa.
    pub p: f64,
    /// Slope of the pressure, Pa/K.
    pub dp_dt: f64,
    /// Density of the liquid, kg/m3.
    pub rho_l: f64,
    /// Density of the vapour, kg/m3.
    pub rho_v: f64,
    /// Internal energy of the liquid, J/kg.
    pub u_l: f64,
    /// Internal energy of the vapour, J/kg.
    pub u_v: f64,
    /// Enthalpy of the liquid, J/kg.
    pub h_l: f64,
    /// Enthalpy of the vapour, J/kg.
    pub h_v: f64,
    /// Entropy of the liquid, J/(kg K).
    pub s_l: f64,
    /// Entropy of the vapour, J/(kg K).
    pub s_v: f64,
    /// Slope of the liquid density along the line, kg/(m3 K).
    pub drho_l: f64,
    /// Slope of the vapour density along the line, kg/(m3 K).
    pub drho_v: f64,
    /// Slope of the liquid's internal energy along the line, J/(kg K).
    pub du_l: f64,
    /// Slope of the vapour's internal energy along the line, J/(kg K).
    pub du_v: f64,
}

/// Where a state lies.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
pub enum Phase {
    /// Liquid and vapour in equilibrium.
    TwoPhase,
    /// Saturated or superheated vapour, or gas above the critical temperature.
    Vapour,
    /// Saturated or compressed liquid.
    Liquid,
}

/// One equilibrium state and its derivatives; all numbers finite.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct State {
    /// Region.
    pub phase: Phase,
    /// Density of the whole, kg/m3.
    pub rho: f64,
    /// Temperature, K.
    pub t: f64,
    /// Pressure, Pa.
    pub p: f64,
    /// Internal energy, J/kg.
    pub u: f64,
    /// Enthalpy, J/kg.
    pub h: f64,
    /// Entropy, J/(kg K).
    pub s: f64,
    /// Mass fraction of vapour: 1 vapour, 0 liquid.
    pub quality: f64,
    /// Density of the liquid, kg/m3: the bulk if liquid, else saturated liquid at this temperature.
    pub rho_l: f64,
    /// Enthalpy of the liquid, J/kg: the bulk if liquid, else saturated liquid at this temperature.
    pub h_l: f64,
    /// Density of what leaves through a vapour port, kg/m3: saturated vapour if two-phase, else the bulk.
    pub rho_g: f64,
    /// Enthalpy of what leaves through a vapour port, J/kg.
    pub h_g: f64,
    /// Entropy of what leaves through a vapour port, J/(kg K).
    pub s_g: f64,
    /// dp/dT at constant density, Pa/K.
    pub dp_dt: f64,
    /// dp/drho at constant temperature, Pa m3/kg; zero if two-phase.
    pub dp_drho: f64,
    /// du/dT at constant density, J/(kg K); positive.
    pub cv: f64,
    /// du/drho at constant temperature, J m3/kg2.
    pub du_drho: f64,
}

/// What two properties say of a fluid.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Found {
    /// One state.
    Single(State),
    /// Pressure and temperature lie on the saturation line: any share of vapour is possible.
    Saturated(Sat),
}
