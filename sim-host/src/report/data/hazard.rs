//! What became of each hazard in a run, in truth.

use serde::Serialize;

use crate::display::Amount;

/// How far a hazard has come.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum HazardLevel {
    /// Nowhere.
    #[default]
    None,
    /// A limit is passed, and nobody is harmed yet.
    Alert,
    /// What really harms.
    Accident,
}

impl HazardLevel {
    /// The word used in files.
    pub const fn word(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Alert => "alert",
            Self::Accident => "accident",
        }
    }
}

/// What kind of quantity a hazard is judged by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A share of something, 1.
    Share,
    /// A small share by mass, 1.
    Trace,
    /// An absolute pressure, Pa.
    Pressure,
    /// A pressure over the barometer, Pa.
    OverBarometer,
    /// A temperature, K.
    Temperature,
    /// A mass, kg.
    Mass,
    /// A difference of masses with its sign, kg.
    MassDifference,
    /// A mass flow, kg/s.
    Flow,
    /// A loss, kg/s.
    Loss,
    /// A time, s.
    Time,
    /// How many times.
    Count,
}

/// A year, s.
const YEAR: f64 = 365.25 * 86_400.0;

impl Kind {
    /// Unit of the figures in files, and what a figure in SI is multiplied with and raised by.
    const fn in_files(self) -> (&'static str, f64, f64) {
        match self {
            Self::Share => ("%", 100.0, 0.0),
            Self::Trace => ("ppm", 1e6, 0.0),
            Self::Pressure => ("bar", 1e-5, 0.0),
            Self::OverBarometer => ("mbar", 1e-2, 0.0),
            Self::Temperature => ("degC", 1.0, -273.15),
            Self::Mass | Self::MassDifference => ("g", 1e3, 0.0),
            Self::Flow => ("g/s", 1e3, 0.0),
            Self::Loss => ("g/year", 1e3 * YEAR, 0.0),
            Self::Time => ("s", 1.0, 0.0),
            Self::Count => ("1", 1.0, 0.0),
        }
    }

    /// For a person, where the display has units of its own for it.
    pub const fn amount(self, si: f64) -> Option<Amount> {
        Some(match self {
            Self::Pressure => Amount::Pressure(si),
            Self::OverBarometer => Amount::OverBarometer(si),
            Self::Temperature => Amount::Temperature(si),
            Self::Mass => Amount::Mass(si),
            Self::MassDifference => Amount::MassDifference(si),
            Self::Loss => Amount::Loss(si * YEAR),
            Self::Share | Self::Trace | Self::Flow | Self::Time | Self::Count => return None,
        })
    }
}

/// A quantity that a hazard is judged by.
#[derive(Debug, PartialEq, Eq)]
pub struct What {
    /// In words that go on after a figure: "in the vessel".
    pub words: &'static str,
    /// Its kind.
    pub kind: Kind,
}

/// A quantity with its figure.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct HazardFigure {
    /// What it is.
    pub what: &'static str,
    /// How much.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
    /// The same in SI, and its kind.
    #[serde(skip)]
    pub si: (f64, Kind),
}

impl HazardFigure {
    /// A figure in SI of this quantity.
    pub fn new(what: &'static What, si: f64) -> Self {
        let (unit, factor, offset) = what.kind.in_files();
        Self { what: what.words, value: si * factor + offset, unit, si: (si, what.kind) }
    }
}

/// One hazard in a run, in truth: no controller was asked.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HazardResult {
    /// `H01` to `H25`.
    pub id: &'static str,
    /// What it is.
    pub title: &'static str,
    /// How far it came at most.
    pub level: HazardLevel,
    /// When it first came to its alert level, s.
    pub alert_t_s: Option<f64>,
    /// When it first came to its accident level, s.
    pub accident_t_s: Option<f64>,
    /// Least distance from the accident: 1 at rest, one half at the alert level, 0 at the accident level, negative beyond it.
    pub worst_margin: f64,
    /// When that was, s.
    pub worst_t_s: f64,
    /// The figure at that time.
    pub figure: HazardFigure,
    /// Why nothing could be seen of it in this run; absent where it was judged.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub not_judged: Option<&'static str>,
    /// From when on the plant gave no number to judge it by, s: what came after that is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unseen_t_s: Option<f64>,
}

/// The margin of one hazard over time, in steps.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HazardBand {
    /// `H01` to `H25`.
    pub id: &'static str,
    /// What it is.
    pub title: &'static str,
    /// From when on, s, and how much, until the next step.
    pub steps: Vec<(f64, f32)>,
}
