//! The flags that set the display: units, the zero of pressures, and the language of what the controller tells.

use clap::{Args, ValueEnum};

use crate::display::{Display, Language, Units, Zero};

/// How figures are shown. Files for programs stay metric and absolute.
#[derive(Debug, Clone, Copy, PartialEq, Default, Args)]
pub struct DisplayArgs {
    /// Units of figures for people; JSON, CSV and Arrow stay metric.
    #[arg(long, value_enum, default_value_t = UnitsArg::Metric)]
    units: UnitsArg,
    /// Zero of pressures for people; JSON, CSV and Arrow stay absolute.
    #[arg(long, value_enum, default_value_t = ZeroArg::Absolute, value_name = "ZERO")]
    pressure: ZeroArg,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
enum UnitsArg {
    /// bar, g, degC.
    #[default]
    Metric,
    /// psi, oz, degF.
    Us,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
enum ZeroArg {
    /// Above vacuum.
    #[default]
    Absolute,
    /// Above the barometer, as a service gauge shows it.
    Gauge,
}

impl DisplayArgs {
    /// The display these flags ask for where the barometer stands at `barometer`, Pa.
    pub fn display(self, barometer: f64) -> Display {
        Display {
            units: match self.units {
                UnitsArg::Metric => Units::Metric,
                UnitsArg::Us => Units::Us,
            },
            zero: match self.pressure {
                ZeroArg::Absolute => Zero::Absolute,
                ZeroArg::Gauge => Zero::Gauge(barometer),
            },
            language: Language::En,
        }
    }
}

/// Language of what the controller tells a person.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum LanguageArg {
    /// English.
    #[default]
    En,
    /// German.
    De,
    /// Spanish.
    Es,
    /// French.
    Fr,
}

impl LanguageArg {
    /// The language.
    pub const fn language(self) -> Language {
        match self {
            Self::En => Language::En,
            Self::De => Language::De,
            Self::Es => Language::Es,
            Self::Fr => Language::Fr,
        }
    }
}
