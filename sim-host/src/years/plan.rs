//! What of the years is drawn and how often: plain data, with the usual values.

use serde::Serialize;
use valvewright_core::fluid::Refrigerant;

/// 0 degC, K.
const KELVIN: f64 = 273.15;

/// Kinds of service.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A sound circuit: everything from identification to cleared hoses.
    Whole,
    /// Only taken out: the circuit is to be opened, or the vehicle scrapped.
    Recovery,
    /// A circuit that was repaired and holds air: evacuated, checked, charged.
    Repaired,
    /// A circuit that was repaired: evacuated and checked, nothing charged.
    Check,
    /// A circuit with a hole, whole order.
    Leaking,
    /// A circuit with water in it, whole order.
    Wet,
    /// Something else in it than on its label, whole order.
    Foreign,
}

/// How many kinds there are.
pub const KIND_COUNT: usize = 7;

impl Kind {
    /// All of them, in the order of [`Plan::shares`].
    pub const ALL: [Self; KIND_COUNT] =
        [Self::Whole, Self::Recovery, Self::Repaired, Self::Check, Self::Leaking, Self::Wet, Self::Foreign];

    /// The word in files and results.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Whole => "whole",
            Self::Recovery => "recovery",
            Self::Repaired => "repaired",
            Self::Check => "check",
            Self::Leaking => "leaking",
            Self::Wet => "wet",
            Self::Foreign => "foreign",
        }
    }
}

/// Seasons, from the winter on.
pub const SEASONS: [&str; 4] = ["winter", "spring", "summer", "autumn"];

/// A plan of years.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plan {
    /// How many years, 1 to 40.
    pub years: u32,
    /// Seed of all draws.
    pub seed: u64,
    /// Services a week, 1 to 60; a year has 50 weeks of work.
    pub a_week: u32,
    /// The station's file: a shipped name or a path; the first shipped one where absent.
    pub station: Option<String>,
    /// What it is filled with.
    #[serde(serialize_with = "label")]
    pub refrigerant: Refrigerant,
    /// Weights of the kinds of service, in the order of [`Kind::ALL`]; they need not sum to 1.
    pub shares: [f64; KIND_COUNT],
    /// Mean air temperature in the workshop by season, K.
    pub seasons: [f64; 4],
    /// How far a day may be from that, K.
    pub spread: f64,
    /// Share of services in which the power is cut.
    pub cuts: f64,
    /// Share of services in which the operator does something wrong.
    pub mistakes: f64,
    /// Share of exchanges in which a wrong code is typed first.
    pub wrong_codes: f64,
    /// Share of orders with a charge in which only the high-side coupler is put on.
    pub high_side: f64,
    /// Shortest and longest evacuation that is ordered, s.
    pub evacuate: (f64, f64),
    /// Shortest and longest vacuum hold of the leak check, s.
    pub leak_hold: (f64, f64),
    /// Foreign gas may be the other of the two refrigerants: from then on the plant reckons with mixtures, which takes some three times as long.
    pub mixed: bool,
    /// What went through the filter-drier before the first service, kg.
    pub drier_used: f64,
    /// How long the vacuum pump ran on its oil before the first service, s.
    pub pump_oil_used: f64,
    /// Pages of each side of the flash, 2 to 16.
    pub flash_pages: u8,
    /// Period of the controller's scan, s.
    pub scan: f64,
    /// The plant is integrated as finely as in a whole service job.
    pub fine: bool,
}

fn label<S: serde::Serializer>(of: &Refrigerant, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(crate::fluid::FluidKind::from(*of).label())
}

impl Default for Plan {
    /// Own choices, after what a small workshop sees.
    fn default() -> Self {
        Self {
            years: 10,
            seed: 1,
            a_week: 20,
            station: None,
            refrigerant: Refrigerant::R1234yf,
            shares: [0.28, 0.26, 0.18, 0.20, 0.04, 0.015, 0.025],
            seasons: [15.0, 19.0, 26.0, 18.0].map(|celsius| KELVIN + celsius),
            spread: 5.0,
            cuts: 0.05,
            mistakes: 0.05,
            wrong_codes: 0.6,
            high_side: 0.0,
            evacuate: (240.0, 420.0),
            leak_hold: (120.0, 180.0),
            mixed: false,
            drier_used: 0.0,
            pump_oil_used: 0.0,
            flash_pages: 8,
            scan: 0.1,
            fine: false,
        }
    }
}

/// Weeks of a year in which the shop works; the other two it is closed (own choice).
pub const WEEKS: u32 = 50;

impl Plan {
    /// How many services these years have.
    pub const fn services(&self) -> u32 {
        self.years * WEEKS * self.a_week
    }
}
