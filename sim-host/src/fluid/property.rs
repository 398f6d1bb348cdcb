//! Names and units of the properties that can be given.

use std::fmt;

/// A property that can be given.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Property {
    /// Temperature, K.
    Temperature,
    /// Absolute pressure, Pa.
    Pressure,
    /// Density, kg/m3.
    Density,
    /// Specific internal energy, J/kg.
    InternalEnergy,
    /// Specific enthalpy, J/kg.
    Enthalpy,
    /// Specific entropy, J/(kg K).
    Entropy,
    /// Mass fraction of vapour, 1.
    Quality,
}

impl Property {
    /// The SI unit.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Temperature => "K",
            Self::Pressure => "Pa",
            Self::Density => "kg/m3",
            Self::InternalEnergy | Self::Enthalpy => "J/kg",
            Self::Entropy => "J/(kg K)",
            Self::Quality => "kg/kg",
        }
    }

    /// What it is called in a sentence.
    pub const fn noun(self) -> &'static str {
        match self {
            Self::Temperature => "temperature",
            Self::Pressure => "pressure",
            Self::Density => "density",
            Self::InternalEnergy => "internal energy",
            Self::Enthalpy => "enthalpy",
            Self::Entropy => "entropy",
            Self::Quality => "quality",
        }
    }
}

impl fmt::Display for Property {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.noun())
    }
}
