//! The inputs that measure, by their tags, and what may be wrong with one: words that readings and notices share.

use crate::bits::bit_set;

/// An input that measures.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(u8)]
pub enum Input {
    /// Vessel pressure.
    Pt1,
    /// Low-side hose pressure.
    Pt2,
    /// High-side hose pressure.
    Pt3,
    /// Vacuum gauge.
    Pt4,
    /// Separator pressure.
    Pt5,
    /// Vessel wall temperature.
    Tt1,
    /// Compressor discharge temperature.
    Tt2,
    /// Heater skin temperature.
    Tt3,
    /// Ambient temperature.
    Tt4,
    /// Cabinet gas.
    At2,
    /// Compressor motor current.
    It1,
    /// Cabinet fan speed.
    St1,
    /// Supply voltage.
    Et1,
    /// Valve-rail voltage.
    Et2,
    /// Vessel scale, first bridge.
    Wt1A,
    /// Vessel scale, second bridge.
    Wt1B,
    /// Used-oil scale.
    Wt2,
    /// New-oil scale.
    Wt3,
}

/// How many there are.
pub const INPUT_COUNT: usize = 18;

impl Input {
    /// Every input.
    pub const ALL: [Self; INPUT_COUNT] = [
        Self::Pt1,
        Self::Pt2,
        Self::Pt3,
        Self::Pt4,
        Self::Pt5,
        Self::Tt1,
        Self::Tt2,
        Self::Tt3,
        Self::Tt4,
        Self::At2,
        Self::It1,
        Self::St1,
        Self::Et1,
        Self::Et2,
        Self::Wt1A,
        Self::Wt1B,
        Self::Wt2,
        Self::Wt3,
    ];
    /// Its tag.
    pub const fn tag(self) -> &'static str {
        match self {
            Self::Pt1 => "PT-1",
            Self::Pt2 => "PT-2",
            Self::Pt3 => "PT-3",
            Self::Pt4 => "PT-4",
            Self::Pt5 => "PT-5",
            Self::Tt1 => "TT-1",
            Self::Tt2 => "TT-2",
            Self::Tt3 => "TT-3",
            Self::Tt4 => "TT-4",
            Self::At2 => "AT-2",
            Self::It1 => "IT-1",
            Self::St1 => "ST-1",
            Self::Et1 => "ET-1",
            Self::Et2 => "ET-2",
            Self::Wt1A => "WT-1A",
            Self::Wt1B => "WT-1B",
            Self::Wt2 => "WT-2",
            Self::Wt3 => "WT-3",
        }
    }
}

bit_set! {
    /// A set of inputs.
    InputSet(u32) of Input
}

/// Why a reading is bad.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Broken {
    /// Loop current below 3.6 mA (NE 43): wire broken or sensor failed low.
    Under,
    /// Loop current above 21 mA (NE 43): short circuit or sensor failed high.
    Over,
    /// The same conversion again and again: converter frozen, or a loop without its noise.
    Frozen,
    /// Converter code at its rail.
    Rail,
    /// Too rough for seconds: what it shows behind its filter is no measurement.
    Noisy,
    /// No value has come for so long that the last one says nothing.
    Old,
    /// Other readings contradict it.
    Contradicted,
}
