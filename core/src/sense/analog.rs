//! A transmitter's loop current, judged: a wire fault is bad within three scans, a single bad scan is held, and a
//! value outside the measuring range never looks good.
//!
//! Bands after NAMUR NE 43 (limits from memory): failure below 3.6 mA and above 21 mA; measuring information from 3.8 mA
//! to 20.5 mA. The live zero wanders, so 3.8-4.0 mA is good and reads as the low end; above 20.0 mA the transmitter is past
//! its span and the reading is uncertain, which is the normal state of PT-4 at atmosphere.
//!
//! Not promised: a transmitter stuck inside its range. A still plant and a quiet instrument look the same from here;
//! the phases find it by effect checks (faults F003, F009, F013, F018).

use super::{Broken, Doubt, Quality, Reading};
use crate::frame::{ANALOG_COUNT, COUNTS_AT_24_MA};
use crate::units::{Instant, Millis};

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
const FINE: u32 = 8;
/// Fraction bits of the gain.
const GAIN: u32 = 28;
/// 4 mA in half counts (10 922.5 counts) and the span of 16 mA in half counts.
const ZERO_HALVES: i32 = 21_845;
const SPAN_HALVES: i64 = 87_380;
/// Scans of wire fault before a reading is bad, and good scans before it is believed again.
const CONFIRM: u8 = 3;

/// One transmitter: its range in the unit of its reading, and how much noise is too much.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct ChannelConfig {
    low: i32,
    high: i32,
    gain: i64,
    noise: u16,
}

impl ChannelConfig {
    /// `low` at 4 mA and `high` at 20 mA, in the integer unit of the reading; `noise` is the mean second difference from
    /// scan to scan, in counts, above which the reading is uncertain (white noise of sigma s shows about 1.95 s); `u16::MAX` judges no noise.
    /// `high` below `low` is taken as `low`: the reading then never moves, it does not run backwards.
    pub const fn new(low: i32, high: i32, noise: u16) -> Self {
        let high = if high < low { low } else { high };
        let gain = ((high as i64 - low as i64) << GAIN) / SPAN_HALVES;
        Self {
            low,
            high,
            gain,
            noise,
        }
    }
    /// Reading at 4 mA.
    pub const fn low(&self) -> i32 {
        self.low
    }
    /// Reading at 20 mA.
    pub const fn high(&self) -> i32 {
        self.high
    }
    /// Reading for a filter state, held inside the range.
    #[inline]
    fn reading(&self, fine_counts: i32) -> i32 {
        let halves = fine_counts
            .wrapping_mul(2)
            .wrapping_sub(ZERO_HALVES << FINE) as i64;
        let above = (halves
            .wrapping_mul(self.gain)
            .wrapping_add(1 << (GAIN + FINE - 1)))
            >> (GAIN + FINE);
        (self.low as i64)
            .saturating_add(above)
            .max(self.low as i64)
            .min(self.high as i64) as i32
    }
}

/// Hose and vessel pressure: 0-35 bar absolute; too noisy past a sigma of some 0.1 bar (F006).
const PRESSURE: ChannelConfig = ChannelConfig::new(0, 3_500_000, 250);
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

/// Filter and fault state of one transmitter.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Channel {
    /// Low-pass state in 1/256 count.
    fine: i32,
    /// The two accepted samples before this one, newest first.
    past: [u16; 2],
    /// Sixteen times the running mean of the second difference, in counts.
    rough: u32,
    /// Leaky count of faulty scans; from `CONFIRM` on the reading is bad, and `CONFIRM` good scans lead back.
    faults: u8,
    /// Whether the last faulty scan was a fault high.
    high: bool,
    primed: bool,
    /// When the last accepted sample came.
    seen: Instant,
}

impl Channel {
    /// Nothing received yet.
    pub const NEW: Self = Self {
        fine: 0,
        past: [0; 2],
        rough: 0,
        faults: 0,
        high: false,
        primed: false,
        seen: Instant(0),
    };

    /// Judges one sample.
    #[inline]
    pub fn step(
        &mut self,
        now: Instant,
        counts: u16,
        cfg: &ChannelConfig,
        shift: u8,
    ) -> Reading<i32> {
        let wire_fault = counts <= FAULT_LOW || counts >= FAULT_HIGH;
        if wire_fault || self.faults >= CONFIRM || !self.primed {
            return self.step_doubtful(now, counts, wire_fault, cfg);
        }
        self.faults = self.faults.saturating_sub(1);
        self.accept(counts, cfg, shift);
        self.seen = now;
        let quality = if counts >= SATURATED_HIGH || counts <= SATURATED_LOW {
            Quality::Uncertain(Doubt::Saturated)
        } else if cfg.noise < u16::MAX && self.rough > (cfg.noise as u32) << 4 {
            Quality::Uncertain(Doubt::Jumpy)
        } else {
            Quality::Good
        };
        Reading {
            value: cfg.reading(self.fine),
            quality,
        }
    }

    /// Median of three, then first-order low-pass; and the noise measure. A second difference ignores ramps, and its
    /// clip keeps one valve step (two large differences) far from the limit of sixteen.
    #[inline]
    fn accept(&mut self, counts: u16, cfg: &ChannelConfig, shift: u8) {
        let [one, two] = self.past;
        let median = one.min(two).max(one.max(two).min(counts));
        let target = (median as i32) << FINE;
        self.fine = self
            .fine
            .wrapping_add(target.wrapping_sub(self.fine) >> (shift & 7));
        let bend = (counts as i32 + two as i32)
            .abs_diff(2 * one as i32)
            .min(2 * cfg.noise as u32);
        self.rough = self
            .rough
            .saturating_sub(self.rough >> 4)
            .saturating_add(bend);
        self.past = [counts, one];
    }

    /// The rare way: a wire fault stands, is being confirmed or is being recovered from, or nothing came before.
    #[cold]
    fn step_doubtful(
        &mut self,
        now: Instant,
        counts: u16,
        wire_fault: bool,
        cfg: &ChannelConfig,
    ) -> Reading<i32> {
        if wire_fault {
            self.high = counts >= FAULT_HIGH;
            self.faults = self.faults.saturating_add(1);
            if self.faults >= CONFIRM {
                self.faults = 2 * CONFIRM - 1;
            }
        } else if self.faults >= CONFIRM {
            self.faults = self.faults.saturating_sub(1);
            if self.faults < CONFIRM {
                self.faults = 0;
                self.primed = false;
            }
        }
        if !wire_fault && self.faults < CONFIRM {
            *self = Self {
                fine: (counts as i32) << FINE,
                past: [counts; 2],
                primed: true,
                seen: now,
                ..Self::NEW
            };
        }
        let quality = if self.faults >= CONFIRM {
            Quality::Bad(if self.high {
                Broken::Over
            } else {
                Broken::Under
            })
        } else if wire_fault {
            if self.primed {
                Quality::Held(now.since(self.seen))
            } else {
                Quality::None
            }
        } else if counts >= SATURATED_HIGH || counts <= SATURATED_LOW {
            Quality::Uncertain(Doubt::Saturated)
        } else {
            Quality::Good
        };
        Reading {
            value: cfg.reading(self.fine),
            quality,
        }
    }
}
