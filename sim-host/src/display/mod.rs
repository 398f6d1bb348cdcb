//! How figures are written for people: every quantity on a screen comes from here, in the units and from the zero that were asked for.
//!
//! A display changes what is read, never what a file means: scenario files carry their units, and JSON, CSV and Arrow are written in
//! metric units with absolute pressures whatever the display. Every pressure says `abs` or `gauge`; a difference of pressures has no
//! zero, and so no gauge reading.

mod language;
mod sentence;
pub mod wrap;

pub use language::Language;
pub use sentence::{Say, Sentence};

/// A pound-force per square inch, Pa (exact by the definitions of pound, inch and standard gravity).
const PSI: f64 = 6_894.757_293_168;
/// An avoirdupois ounce, kg (exact by definition).
const OUNCE: f64 = 0.028_349_523_125;
/// A US fluid ounce, m3 (exact by definition: 1/128 of 231 cubic inches).
const FLUID_OUNCE: f64 = 29.573_529_562_5e-6;
/// Freezing point of the Celsius scale, K.
const KELVIN: f64 = 273.15;
/// Pressures below this are written finely and from vacuum, Pa: a gauge reading of 1 mbar would hang on the last digit of the barometer.
const FINE: f64 = 20_000.0;
/// From here on an ounce figure is followed by pounds, oz.
const POUNDS_FROM: f64 = 32.0;

/// Units of the figures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Units {
    /// bar, g, degC.
    #[default]
    Metric,
    /// psi, oz, degF.
    Us,
}

/// Where pressures count from.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub enum Zero {
    /// Vacuum.
    #[default]
    Absolute,
    /// The air around the station, at this pressure, Pa.
    Gauge(f64),
}

/// A setting of the display. The default, metric, absolute and English, is the one of files.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Display {
    /// Units.
    pub units: Units,
    /// Zero of pressures.
    pub zero: Zero,
    /// What the controller tells is told in it; all else is English.
    pub language: Language,
}

/// The display of files: metric, absolute, English.
pub const STANDARD: Display = Display { units: Units::Metric, zero: Zero::Absolute, language: Language::En };

/// A figure for a person, in SI; what it is decides how it is written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Amount {
    /// Absolute pressure, Pa.
    Pressure(f64),
    /// Pressure of the air around the station, Pa. Absolute on every display.
    Barometer(f64),
    /// Pressure above the barometer, Pa.
    OverBarometer(f64),
    /// Difference of two pressures, Pa.
    Difference(f64),
    /// How far a pressure is from a limit, Pa.
    Margin(f64),
    /// Temperature, K.
    Temperature(f64),
    /// Mass to a tenth of a gram, kg.
    Mass(f64),
    /// Difference of two masses with its sign, kg.
    MassDifference(f64),
    /// What a scale reads, to a gram, kg.
    Weight(f64),
    /// Refrigerant lost, kg a year.
    Loss(f64),
    /// Volume of oil, m3.
    Oil(f64),
}

/// A number, the decimals it is usually written with, and its unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// The number.
    pub value: f64,
    /// Decimals.
    pub places: usize,
    /// The unit, with `abs` or `gauge` for a pressure.
    pub unit: &'static str,
}

impl std::fmt::Display for Figure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { value, places, unit } = self;
        write!(f, "{value:.places$} {unit}")
    }
}

impl Display {
    /// An amount as a number with its unit.
    pub fn figure(&self, amount: Amount) -> Figure {
        let us = self.units == Units::Us;
        let either = |metric: (f64, usize, &'static str), american: (f64, usize, &'static str)| {
            let (value, places, unit) = if us { american } else { metric };
            Figure { value, places, unit }
        };
        match amount {
            Amount::Pressure(p) if p < FINE => either((p / 100.0, 2, "mbar abs"), (p / PSI, 4, "psi abs")),
            Amount::Pressure(p) => match self.zero {
                Zero::Absolute => either((p / 1e5, 2, "bar abs"), (p / PSI, 1, "psi abs")),
                Zero::Gauge(air) => either(((p - air) / 1e5, 2, "bar gauge"), ((p - air) / PSI, 1, "psi gauge")),
            },
            Amount::Barometer(p) => either((p / 100.0, 0, "mbar abs"), (p / PSI, 2, "psi abs")),
            Amount::OverBarometer(p) => {
                either((p / 100.0, 0, "mbar over the barometer"), (p / PSI, 2, "psi over the barometer"))
            }
            Amount::Difference(p) => either((p / 1e3, 1, "kPa"), (p / PSI, 2, "psi")),
            Amount::Margin(p) if p.abs() < 1e3 => either((p, 0, "Pa"), (p / PSI, 4, "psi")),
            Amount::Margin(p) => either((p / 1e3, 1, "kPa"), (p / PSI, 2, "psi")),
            Amount::Temperature(t) => either((t - KELVIN, 1, "degC"), ((t - KELVIN).mul_add(1.8, 32.0), 1, "degF")),
            Amount::Mass(m) | Amount::MassDifference(m) => either((m * 1e3, 1, "g"), (m / OUNCE, 2, "oz")),
            Amount::Weight(m) => either((m, 3, "kg"), (m / OUNCE / 16.0, 3, "lb")),
            Amount::Loss(m) => either((m * 1e3, 0, "g/year"), (m / OUNCE, 1, "oz/year")),
            Amount::Oil(v) => either((v * 1e6, 1, "mL"), (v / FLUID_OUNCE, 2, "fl oz")),
        }
    }

    /// An amount in words for a sentence.
    pub fn words(&self, amount: Amount) -> String {
        let figure = self.figure(amount);
        match amount {
            Amount::MassDifference(_) => format!("{:+.*} {}", figure.places, figure.value, figure.unit),
            Amount::Mass(m) if figure.unit == "oz" && figure.value.abs() >= POUNDS_FROM => {
                format!("{:.1} oz ({:.2} lb)", figure.value, m / OUNCE / 16.0)
            }
            _ => figure.to_string(),
        }
    }

    /// What a channel of a trace is drawn in: the factor and the offset that its values take, and the unit. Units of channels are
    /// those of the trace files; one that has no other form stays as it is.
    pub fn channel(&self, unit: &str) -> (f64, f64, &'static str) {
        let gauge = match self.zero {
            Zero::Absolute => None,
            Zero::Gauge(air) => Some(air),
        };
        let per_bar = if self.units == Units::Us { 1e5 / PSI } else { 1.0 };
        let bars = match (self.units, gauge) {
            (Units::Metric, None) => "bar abs",
            (Units::Metric, Some(_)) => "bar gauge",
            (Units::Us, None) => "psi abs",
            (Units::Us, Some(_)) => "psi gauge",
        };
        match (unit, self.units) {
            ("bar", _) => (per_bar, -gauge.unwrap_or(0.0) / 1e5 * per_bar, bars),
            ("mbar", Units::Metric) => (1.0, 0.0, "mbar abs"),
            ("mbar", Units::Us) => (100.0 / PSI, 0.0, "psi abs"),
            ("degC", Units::Metric) => (1.0, 0.0, "degC"),
            ("degC", Units::Us) => (1.8, 32.0, "degF"),
            ("g", Units::Metric) => (1.0, 0.0, "g"),
            ("g", Units::Us) => (1e-3 / OUNCE, 0.0, "oz"),
            ("g/s", Units::Metric) => (1.0, 0.0, "g/s"),
            ("g/s", Units::Us) => (1e-3 / OUNCE, 0.0, "oz/s"),
            ("%", _) => (1.0, 0.0, "%"),
            _ => (1.0, 0.0, ""),
        }
    }

    /// The code of the language that notices are told in, where it is not that of the page around them.
    pub fn foreign(&self) -> Option<&'static str> {
        (self.language != Language::En).then(|| self.language.code())
    }

    /// The setting in words, for the foot of a screen.
    pub fn setting(&self) -> String {
        let (units, fine) = match self.units {
            Units::Metric => ("metric units", "0.2 bar abs"),
            Units::Us => ("US units", "2.9 psi abs"),
        };
        let told = match self.language {
            Language::En => String::new(),
            other => format!("; notices in {}", other.name()),
        };
        match self.zero {
            Zero::Absolute => format!("{units}, pressures absolute{told}"),
            Zero::Gauge(air) => {
                let air = self.words(Amount::Barometer(air));
                format!("{units}, pressures as a gauge shows them at a barometer of {air}, absolute below {fine}{told}")
            }
        }
    }
}
