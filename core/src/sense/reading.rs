//! Judged values: what the controller believes of the outside, each with its quality.

use crate::frame::{Actuator, Actuators, Switches};
pub use crate::input::Broken;
use crate::units::*;

/// Quality of a reading, after the status signals of NAMUR NE 107.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Quality {
    /// Fresh and in range.
    Good,
    /// The last good value, and how old it is. Dependent outputs may keep for a short time.
    Held(Millis),
    /// Usable for display, not for a decision that needs its accuracy.
    Uncertain(Doubt),
    /// Not to be used: counts as tripped for every interlock that reads it.
    Bad(Broken),
    /// Nothing received yet since power-on; counts as bad.
    #[default]
    None,
}

impl Quality {
    /// Rises with how little the reading is worth.
    const fn severity(self) -> u8 {
        match self {
            Self::Good => 0,
            Self::Held(_) => 1,
            Self::Uncertain(_) => 2,
            Self::None => 3,
            Self::Bad(_) => 4,
        }
    }
}

/// Why a reading is uncertain.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Doubt {
    /// Outside the measuring range but short of the fault band: 3.6-3.8 mA or 20.0-21 mA. The value is the end of the range.
    Saturated,
    /// Changes faster than the process can.
    Jumpy,
    /// A scale that has not come to rest.
    Unsteady,
}

/// A judged value.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Reading<T> {
    /// The value; the last good one where quality is held or bad.
    pub value: T,
    /// How far it may be trusted.
    pub quality: Quality,
}

impl<T: Copy> Reading<T> {
    /// The value where it may decide something (good, or held), else `None`.
    #[inline]
    pub fn usable(&self) -> Option<T> {
        match self.quality {
            Quality::Good | Quality::Held(_) => Some(self.value),
            _ => None,
        }
    }
    /// Whether every dependent interlock must count as tripped.
    #[inline]
    pub fn is_bad(&self) -> bool {
        matches!(self.quality, Quality::Bad(_) | Quality::None)
    }
}

/// One scale, judged.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Weight {
    /// Filtered net mass.
    pub mass: Reading<Milligram>,
    /// Filtered rate over about one second, positive when gaining.
    pub rate: MilligramPerS,
    /// At rest: the spread over the stillness window is inside its limit.
    pub still: bool,
    /// Good conversions in a row that gave the code of the one before; stops counting at 255. A live converter shows noise.
    pub repeats: u8,
}

impl Weight {
    /// Two bridges under one platform as one scale: the mean of both, as doubtful as the worse of them, still when both are.
    /// Either is enough to stop, for none is right when they part; I20 watches that.
    #[inline]
    pub fn of_both(a: &Self, b: &Self) -> Self {
        let quality =
            if a.mass.quality.severity() >= b.mass.quality.severity() { a.mass.quality } else { b.mass.quality };
        Self {
            mass: Reading { value: Milligram(middle(a.mass.value.0, b.mass.value.0)), quality },
            rate: MilligramPerS(middle(a.rate.0, b.rate.0)),
            still: a.still && b.still,
            repeats: a.repeats.max(b.repeats),
        }
    }
}

/// The mean, rounded down; it lies between the two and so can't overflow.
const fn middle(a: i32, b: i32) -> i32 {
    ((a as i64).saturating_add(b as i64) >> 1) as i32
}

/// What the identifier said, after CRC, length, id and plausibility checks.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct GasReport {
    /// The sample id the station gave; a report with another id is stale and never gets here.
    pub sample_id: u16,
    /// Share of R-134a in the refrigerant part, parts per thousand by mass.
    pub r134a: Permille,
    /// Share of R-1234yf, parts per thousand.
    pub r1234yf: Permille,
    /// Share of other fluorinated gas, parts per thousand.
    pub other: Permille,
    /// Share of hydrocarbons, parts per thousand.
    pub hydrocarbon: Permille,
    /// Share of air in the whole sample, parts per thousand by volume.
    pub air: Permille,
    /// Sample flow and self-check inside their bands (hazard H12).
    pub healthy: bool,
}

/// Everything the controller knows of the outside in one scan.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Readings {
    /// Vessel pressure.
    pub pt1: Reading<AbsPa>,
    /// Low-side hose pressure.
    pub pt2: Reading<AbsPa>,
    /// High-side hose pressure.
    pub pt3: Reading<AbsPa>,
    /// Vacuum gauge (0-100 mbar; saturates above).
    pub pt4: Reading<AbsPa>,
    /// Separator pressure.
    pub pt5: Reading<AbsPa>,
    /// Vessel wall temperature.
    pub tt1: Reading<CentiKelvin>,
    /// Compressor discharge temperature.
    pub tt2: Reading<CentiKelvin>,
    /// Heater skin temperature.
    pub tt3: Reading<CentiKelvin>,
    /// Ambient temperature.
    pub tt4: Reading<CentiKelvin>,
    /// Cabinet gas.
    pub at2: Reading<PermilleLfl>,
    /// Compressor motor current.
    pub it1: Reading<Milliamp>,
    /// Fan speed.
    pub st1: Reading<Rpm>,
    /// Supply.
    pub et1: Reading<Millivolt>,
    /// Valve rail.
    pub et2: Reading<Millivolt>,
    /// Vessel scale: what its two bridges say together, see [`Weight::of_both`].
    pub wt1: Weight,
    /// Its first bridge.
    pub wt1a: Weight,
    /// Its second bridge.
    pub wt1b: Weight,
    /// Used-oil scale.
    pub wt2: Weight,
    /// New-oil scale.
    pub wt3: Weight,
    /// Switches after debouncing: contacts that trip a row show open at once.
    pub switches: Switches,
    /// The identifier's report, in the one scan in which it arrived.
    pub gas: Option<GasReport>,
}

impl Readings {
    /// The pressure behind the service valves that are open, the higher of two; of both hoses where none is. `None` if a gauge that
    /// counts is bad.
    #[inline]
    pub fn pressure_behind(&self, on: Actuators) -> Option<AbsPa> {
        match (on.has(Actuator::Xv1), on.has(Actuator::Xv2)) {
            (true, false) => self.pt2.usable(),
            (false, true) => self.pt3.usable(),
            _ => self.service_pressure(),
        }
    }
    /// How far the two bridges of the vessel scale are apart.
    #[inline]
    pub fn bridges_apart(&self) -> Milligram {
        Milligram(self.wt1a.mass.value.minus(self.wt1b.mass.value).0.saturating_abs())
    }
    /// The higher of the two hose pressures; `None` if either is bad ("is it safe to open" takes the worst, fault F011).
    #[inline]
    pub fn service_pressure(&self) -> Option<AbsPa> {
        match (self.pt2.usable(), self.pt3.usable()) {
            (Some(a), Some(b)) => Some(a.or_more(b)),
            _ => None,
        }
    }
}
