//! The transmitters that a station may have: between which limits a range may lie, and in which units each end counts.

use std::ops::RangeInclusive;

use valvewright_core::frame::{ANALOG_COUNT, Analog};

use crate::scenario::quantity::Dim;

/// One 4-20 mA input.
#[derive(Debug)]
pub struct Transmitter {
    /// Which.
    pub input: Analog,
    /// Its tag.
    pub tag: &'static str,
    /// What it measures.
    pub dim: Dim,
    /// Value at 4 mA, SI.
    pub low: RangeInclusive<f64>,
    /// Value at 20 mA, SI: above what the interlocks act on, and no more than leaves their set points some resolution.
    pub high: RangeInclusive<f64>,
    /// From SI to the unit of the instrument's truth.
    pub truth_per_si: f64,
    /// From that to the integer unit of the core's reading.
    pub core_per_truth: f64,
}

const fn pressure(input: Analog, tag: &'static str, least: f64, most: f64) -> Transmitter {
    let (low, high) = (0.0..=0.0, least..=most);
    Transmitter { input, tag, dim: Dim::Pressure, low, high, truth_per_si: 1.0, core_per_truth: 1.0 }
}

const fn temperature(input: Analog, tag: &'static str, least: f64, most: f64) -> Transmitter {
    let (low, high) = (223.15..=253.15, 273.15 + least..=273.15 + most);
    Transmitter { input, tag, dim: Dim::Temperature, low, high, truth_per_si: 1.0, core_per_truth: 100.0 }
}

const fn electric(input: Analog, tag: &'static str, dim: Dim, least: f64, most: f64) -> Transmitter {
    Transmitter { input, tag, dim, low: 0.0..=0.0, high: least..=most, truth_per_si: 1.0, core_per_truth: 1e3 }
}

/// All of them, indexed by [`Analog`]. Own choices: hose and vessel gauges reach past the 16 bar of I03 and stay within what the
/// phases take a gauge to be off by; PT-4 shows the 95 mbar up to which the phases read it; TT-2, TT-3, AT-2, IT-1 and ST-1 reach past the
/// set points of I13, I12, I01, I13 and I28.
static ALL: [Transmitter; ANALOG_COUNT] = [
    pressure(Analog::Pt1, "PT-1", 20e5, 50e5),
    pressure(Analog::Pt2, "PT-2", 20e5, 50e5),
    pressure(Analog::Pt3, "PT-3", 20e5, 50e5),
    pressure(Analog::Pt4, "PT-4", 10e3, 20e3),
    pressure(Analog::Pt5, "PT-5", 20e5, 50e5),
    temperature(Analog::Tt1, "TT-1", 80.0, 200.0),
    temperature(Analog::Tt2, "TT-2", 140.0, 300.0),
    temperature(Analog::Tt3, "TT-3", 100.0, 300.0),
    temperature(Analog::Tt4, "TT-4", 60.0, 200.0),
    Transmitter {
        input: Analog::At2,
        tag: "AT-2",
        dim: Dim::Fraction,
        low: 0.0..=0.0,
        high: 0.3..=1.0,
        truth_per_si: 1.0,
        core_per_truth: 1e3,
    },
    electric(Analog::It1, "IT-1", Dim::Current, 12.0, 100.0),
    Transmitter {
        input: Analog::St1,
        tag: "ST-1",
        dim: Dim::Speed,
        low: 0.0..=0.0,
        high: 50.0..=200.0,
        truth_per_si: 60.0,
        core_per_truth: 1.0,
    },
    electric(Analog::Et1, "ET-1", Dim::Voltage, 30.0, 100.0),
    electric(Analog::Et2, "ET-2", Dim::Voltage, 30.0, 100.0),
];

/// The transmitter at an input.
pub fn transmitter(input: Analog) -> &'static Transmitter {
    &ALL[input as usize]
}
