//! A transmitter's loop current, judged: a wire fault is bad within three scans, a single bad scan is held, and a
//! value outside the measuring range never looks good.
//!
//! Bands after NAMUR NE 43 (limits from memory): failure below 3.6 mA and above 21 mA; measuring information from 3.8 mA
//! to 20.5 mA. The live zero wanders, so 3.8-4.0 mA is good and reads as the low end, or where an input says so a little
//! below it; above 20.0 mA the transmitter is past
//! its span and the reading is uncertain, which is the normal state of PT-4 at atmosphere.
//!
//! A loop without noise or with too much of it is judged in `live.rs`, one that other readings contradict in [`crate::cross`].

use super::reading::{Broken, Doubt, Quality};
use crate::frame::{ANALOG_COUNT, COUNTS_AT_24_MA};
use crate::units::Millis;

/// Highest count that is still a fault low: 3.6 mA is 9 830.25 counts.
pub const FAULT_LOW: u16 = counts_at(3_600);
/// Lowest count that is a fault high: 21 mA is 57 343.125 counts.
pub const FAULT_HIGH: u16 = counts_at(21_000) + 1;
/// Highest count that is saturated low: 3.8 mA is 10 376.375 counts.
pub const SATURATED_LOW: u16 = counts_at(3_800);
/// Lowest count that is saturated high: one whole count past 20 mA, which is 54 612.5 counts.
pub const SATURATED_HIGH: u16 = counts_at(20_000) + 2;

/// Counts, rounded down, at a loop current in microampere (0-24 000).
pub const fn counts_at(microampere: u32) -> u16 {
    (microampere as u64 * COUNTS_AT_24_MA as u64 / 24_000) as u16
}

/// Fraction bits of the filter state.
pub(super) const FINE: u32 = 8;
/// Fraction bits of the gain.
const GAIN: u32 = 28;
/// 4 mA in half counts (10 922.5 counts) and the span of 16 mA in half counts.
const ZERO_HALVES: i32 = 21_845;
/// Half the range of counts lies this far above 4 mA, in half counts.
const CENTRE_HALVES: i32 = 65_536 - ZERO_HALVES;
/// The span of 16 mA in half counts.
const SPAN_HALVES: i64 = 87_380;
/// A noise limit no counts can pass.
const NEVER_ROUGH: i32 = 1 << 23;

/// One transmitter: its range in the unit of its reading, and how much noise is too much.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(from = "(i32, i32, u16, i32)", into = "(i32, i32, u16, i32)"))]
pub struct ChannelConfig {
    low: i32,
    /// Least reading shown: `low`, or below it for an input whose live zero is to be seen.
    floor: i32,
    high: i32,
    gain: i64,
    /// Sixteen times the noise limit in counts.
    pub(super) rough_limit: i32,
}

impl ChannelConfig {
    /// `low` at 4 mA and `high` at 20 mA, in the integer unit of the reading; `noise` is the mean second difference from
    /// scan to scan, in counts, above which the reading is uncertain, and bad if it lasts (white noise of sigma s shows about 1.95 s);
    /// `u16::MAX` judges no noise, neither much of it nor none: for rails that jump, and for converters too coarse to show a rustle.
    /// `high` below `low` is taken as `low`: the reading then never moves, it does not run backwards.
    pub const fn new(low: i32, high: i32, noise: u16) -> Self {
        let high = if high < low { low } else { high };
        let gain = ((high as i64 - low as i64) << GAIN) / SPAN_HALVES;
        Self {
            low,
            floor: low,
            high,
            gain,
            rough_limit: if noise == u16::MAX { NEVER_ROUGH } else { (noise as i32) << 4 },
        }
    }
    /// The same, showing what lies up to so much below `low`: of a gauge whose zero is a little low, a rise there would be missed.
    pub const fn seen_below(self, span: i32) -> Self {
        Self { floor: self.low.saturating_sub(if span > 0 { span } else { 0 }), ..self }
    }
    /// Reading at 4 mA.
    pub const fn low(&self) -> i32 {
        self.low
    }
    /// Reading at 20 mA.
    pub const fn high(&self) -> i32 {
        self.high
    }
    /// Whether its noise says anything, be it too much or none.
    #[inline]
    pub(super) const fn judges_noise(&self) -> bool {
        self.rough_limit != NEVER_ROUGH
    }
    /// The noise limit it was made with.
    pub const fn noise(&self) -> u16 {
        if self.rough_limit == NEVER_ROUGH { u16::MAX } else { (self.rough_limit >> 4) as u16 }
    }
    /// Reading for a centred filter state, held inside the range.
    #[inline]
    pub(super) fn reading(&self, fine_counts: i32) -> i32 {
        let halves = fine_counts.wrapping_mul(2).wrapping_add(CENTRE_HALVES << FINE) as i64;
        let above = (halves.wrapping_mul(self.gain).wrapping_add(1 << (GAIN + FINE - 1))) >> (GAIN + FINE);
        // Far from either end of 64 bits: `above` is 28 bits after its shift.
        (self.low as i64).wrapping_add(above).max(self.floor as i64).min(self.high as i64) as i32
    }
}

impl From<(i32, i32, u16, i32)> for ChannelConfig {
    fn from((low, high, noise, below): (i32, i32, u16, i32)) -> Self {
        Self::new(low, high, noise).seen_below(below)
    }
}

impl From<ChannelConfig> for (i32, i32, u16, i32) {
    fn from(channel: ChannelConfig) -> Self {
        (channel.low, channel.high, channel.noise(), channel.low.saturating_sub(channel.floor))
    }
}

/// Hose, vessel and separator pressure: 0-35 bar absolute; too noisy past a sigma of some 0.1 bar (F006).
/// Its zero is seen down to -5 kPa, twice its class: PT-2 and PT-3 second the vacuum gauge by how far they rise.
const PRESSURE: ChannelConfig = ChannelConfig::new(0, 3_500_000, 250).seen_below(5_000);
/// Temperatures: -40 to 160 degC; too noisy past a sigma of some 1 K.
const TEMPERATURE: ChannelConfig = ChannelConfig::new(23_315, 43_315, 436);
/// Supply voltages: 0-40 V; a rail moves in jumps when valves switch, so noise is not judged.
const VOLTS: ChannelConfig = ChannelConfig::new(0, 40_000, u16::MAX);

/// The reference station, indexed by [`crate::frame::Analog`]; ranges are our own choice.
pub const REFERENCE: [ChannelConfig; ANALOG_COUNT] = [
    PRESSURE,
    PRESSURE,
    PRESSURE,
    ChannelConfig::new(0, 10_000, 436),
    PRESSURE,
    TEMPERATURE,
    TEMPERATURE,
    TEMPERATURE,
    TEMPERATURE,
    ChannelConfig::new(0, 1_000, 1_300),
    ChannelConfig::new(0, 20_000, u16::MAX),
    ChannelConfig::new(0, 6_000, u16::MAX),
    VOLTS,
    VOLTS,
];

/// Low-pass shift for a scan time, so that the median (one scan) and the low-pass (2^shift - 1 scans) together lag a
/// ramp by no more than 200 ms.
pub const fn shift_for_scan(scan: Millis) -> u8 {
    match scan.0 {
        0..=25 => 3,
        26..=50 => 2,
        51..=100 => 1,
        _ => 0,
    }
}

/// A quality in one word. Fourteen of them are built, tested and unpacked every scan, and that is several times faster in
/// registers than as an enum in memory.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Mark(u32);

/// Bits of a mark; see [`Mark::quality`].
const SATURATED_BIT: u32 = 0;
const JUMPY_BIT: u32 = 1;
const UNDER_BIT: u32 = 2;
const OVER_BIT: u32 = 3;
const NONE_BIT: u32 = 4;
const FROZEN_BIT: u32 = 5;
const NOISY_BIT: u32 = 6;
const OLD_BIT: u32 = 7;
/// From here on up: age of a held reading in milliseconds, plus one; [`HELD_MAX`] is far below what there is room for.
const AGE: u32 = 8;

/// How long a value may stand in for those that do not come: five scans of the slowest board (own choice). Past that it is old.
pub const HELD_MAX: Millis = Millis(500);

impl Mark {
    /// Nothing against it.
    pub const GOOD: Self = Self(0);
    /// The loop's counts stand still.
    pub(super) const FROZEN: Self = Self(1 << FROZEN_BIT);
    /// The loop has been too rough for too long.
    pub(super) const NOISY: Self = Self(1 << NOISY_BIT);

    /// This one, unless what is found now weighs more: a wire fault or a value that is missing stays what it is.
    #[inline]
    pub(super) const fn or_worse(self, found: Self) -> Self {
        if self.0 >= 1 << UNDER_BIT { self } else { found }
    }

    /// For a sample outside the fault bands.
    #[inline(always)]
    pub(super) fn in_band(sample: i16, rough: i32, rough_limit: i32) -> Self {
        let inside = (sample > const { centred(SATURATED_LOW) }) & (sample < const { centred(SATURATED_HIGH) });
        Self((!inside as u32) << SATURATED_BIT | ((rough > rough_limit) as u32) << JUMPY_BIT)
    }

    pub(super) const fn of(quality: Quality) -> Self {
        Self(match quality {
            Quality::Good => 0,
            Quality::Uncertain(Doubt::Jumpy) => 1 << JUMPY_BIT,
            Quality::Uncertain(_) => 1 << SATURATED_BIT,
            Quality::Bad(Broken::Over) => 1 << OVER_BIT,
            Quality::Bad(Broken::Frozen) => 1 << FROZEN_BIT,
            Quality::Bad(Broken::Noisy) => 1 << NOISY_BIT,
            Quality::Bad(Broken::Old) => 1 << OLD_BIT,
            Quality::Bad(_) => 1 << UNDER_BIT,
            Quality::None => 1 << NONE_BIT,
            Quality::Held(Millis(age)) if age > HELD_MAX.0 => 1 << OLD_BIT,
            Quality::Held(Millis(age)) => age.saturating_add(1) << AGE,
        })
    }

    /// The quality it stands for.
    #[inline]
    pub const fn quality(self) -> Quality {
        if self.0 == 0 { Quality::Good } else { self.unpack() }
    }

    const fn unpack(self) -> Quality {
        if self.0 >> AGE > 0 {
            Quality::Held(Millis((self.0 >> AGE).saturating_sub(1)))
        } else if self.0 & 1 << SATURATED_BIT != 0 {
            Quality::Uncertain(Doubt::Saturated)
        } else if self.0 & 1 << JUMPY_BIT != 0 {
            Quality::Uncertain(Doubt::Jumpy)
        } else if self.0 & 1 << OVER_BIT != 0 {
            Quality::Bad(Broken::Over)
        } else if self.0 & 1 << UNDER_BIT != 0 {
            Quality::Bad(Broken::Under)
        } else if self.0 & 1 << FROZEN_BIT != 0 {
            Quality::Bad(Broken::Frozen)
        } else if self.0 & 1 << NOISY_BIT != 0 {
            Quality::Bad(Broken::Noisy)
        } else if self.0 & 1 << OLD_BIT != 0 {
            Quality::Bad(Broken::Old)
        } else {
            Quality::None
        }
    }
}

/// Counts less half the range: signed 16-bit numbers have a minimum and maximum in every vector unit, unsigned ones not.
#[inline(always)]
pub(super) const fn centred(counts: u16) -> i16 {
    (counts ^ 0x8000) as i16
}
