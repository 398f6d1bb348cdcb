//! A transmitter's loop current, judged: a wire fault is bad within three scans, a single bad scan is held, and a
//! value outside the measuring range never looks good.
//!
//! Bands after NAMUR NE 43 (limits from memory): failure below 3.6 mA and above 21 mA; measuring information from 3.8 mA
//! to 20.5 mA. The live zero wanders, so 3.8-4.0 mA is good and reads as the low end, or where an input says so a little
//! below it; above 20.0 mA the transmitter is past
//! its span and the reading is uncertain, which is the normal state of PT-4 at atmosphere.
//!
//! Not promised: a transmitter stuck inside its range. A still plant and a quiet instrument look the same from here;
//! the phases find it by effect checks (faults F003, F009, F013, F018).

use super::reading::{Broken, Doubt, Quality};
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
/// Half the range of counts lies this far above 4 mA, in half counts.
const CENTRE_HALVES: i32 = 65_536 - ZERO_HALVES;
/// The span of 16 mA in half counts.
const SPAN_HALVES: i64 = 87_380;
/// A noise limit no counts can pass.
const NEVER_ROUGH: i32 = 1 << 23;
/// Scans of wire fault before a reading is bad, and good scans before it is believed again.
const CONFIRM: u8 = 3;

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
    rough_limit: i32,
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
    /// The noise limit it was made with.
    pub const fn noise(&self) -> u16 {
        if self.rough_limit == NEVER_ROUGH { u16::MAX } else { (self.rough_limit >> 4) as u16 }
    }
    /// Reading for a centred filter state, held inside the range.
    #[inline]
    fn reading(&self, fine_counts: i32) -> i32 {
        let halves = fine_counts.wrapping_mul(2).wrapping_add(CENTRE_HALVES << FINE) as i64;
        let above = (halves.wrapping_mul(self.gain).wrapping_add(1 << (GAIN + FINE - 1))) >> (GAIN + FINE);
        (self.low as i64).saturating_add(above).max(self.floor as i64).min(self.high as i64) as i32
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
/// From here on up: age of a held reading in milliseconds, plus one; longer ages than 2^26 ms cannot be held.
const AGE: u32 = 5;

impl Mark {
    /// Nothing against it.
    pub const GOOD: Self = Self(0);

    /// For a sample outside the fault bands.
    #[inline(always)]
    fn in_band(sample: i16, rough: i32, rough_limit: i32) -> Self {
        let inside = (sample > const { centred(SATURATED_LOW) }) & (sample < const { centred(SATURATED_HIGH) });
        Self((!inside as u32) << SATURATED_BIT | ((rough > rough_limit) as u32) << JUMPY_BIT)
    }

    const fn of(quality: Quality) -> Self {
        Self(match quality {
            Quality::Good => 0,
            Quality::Uncertain(Doubt::Jumpy) => 1 << JUMPY_BIT,
            Quality::Uncertain(_) => 1 << SATURATED_BIT,
            Quality::Bad(Broken::Over) => 1 << OVER_BIT,
            Quality::Bad(_) => 1 << UNDER_BIT,
            Quality::None => 1 << NONE_BIT,
            Quality::Held(Millis(age)) => {
                let age = if age < 1 << 26 { age } else { 1 << 26 };
                (age + 1) << AGE
            }
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
        } else {
            Quality::None
        }
    }
}

/// Lanes of the filter, one an input. Two more would fill a host's vector register, and cost a microcontroller an eighth of it all.
const LANES: usize = ANALOG_COUNT;

/// Where a lane stands that is not simply good.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Lane {
    /// Leaky count of faulty scans; from `CONFIRM` on the reading is bad, and `CONFIRM` good scans lead back.
    faults: u8,
    /// Whether the last faulty scan was a fault high.
    high: bool,
    primed: bool,
    /// When the last accepted sample came, unless all lanes were good in the last scan.
    seen: Instant,
}

/// Filter and fault state of all transmitters, lane by lane.
///
/// Kept as one array per quantity, because the common case, every lane good, then runs as a few vector instructions on a
/// host; a microcontroller loses nothing by it.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Bank {
    /// Low-pass state in 1/256 count, centred.
    fine: [i32; LANES],
    /// The accepted samples before this one, centred (see [`centred`]).
    one: [i16; LANES],
    two: [i16; LANES],
    /// Sixteen times the running mean of the second difference, in counts.
    rough: [i32; LANES],
    lanes: [Lane; ANALOG_COUNT],
    /// Some lane is not primed or has faults.
    doubtful: bool,
    /// When all lanes were good last, if that was in the last scan.
    all_seen: Option<Instant>,
}

/// One filter step: median of three, then first-order low-pass; and the second difference, which ignores ramps.
#[inline(always)]
fn filtered(fine: i32, one: i16, two: i16, fresh: i16, shift: u8) -> (i32, i32) {
    let median = one.min(two).max(one.max(two).min(fresh));
    let target = (median as i32) << FINE;
    let fine = fine.wrapping_add(target.wrapping_sub(fine) >> (shift & 7));
    let bend = (fresh as i32 + two as i32 - 2 * one as i32).abs();
    (fine, bend)
}

/// Counts less half the range: signed 16-bit numbers have a minimum and maximum in every vector unit, unsigned ones not.
#[inline(always)]
const fn centred(counts: u16) -> i16 {
    (counts ^ 0x8000) as i16
}

impl Bank {
    /// Nothing received yet.
    pub const NEW: Self = Self {
        // Reads as the low end until the first sample.
        fine: [(i16::MIN as i32) << FINE; LANES],
        one: [0; LANES],
        two: [0; LANES],
        rough: [0; LANES],
        lanes: [Lane { faults: 0, high: false, primed: false, seen: Instant(0) }; ANALOG_COUNT],
        doubtful: true,
        all_seen: None,
    };

    /// Judges one scan.
    #[inline]
    pub fn step(
        &mut self,
        now: Instant,
        counts: &[u16; ANALOG_COUNT],
        cfg: &[ChannelConfig; ANALOG_COUNT],
        shift: u8,
    ) -> ([i32; ANALOG_COUNT], [Mark; ANALOG_COUNT]) {
        let sound = counts.iter().fold(true, |all, c| all & is_sound(*c));
        if !sound || self.doubtful {
            return self.step_doubtful(now, counts, cfg, shift);
        }
        self.all_seen = Some(now);
        let (fresh, limits) = (counts.map(centred), cfg.each_ref().map(|cfg| cfg.rough_limit));
        let (mut values, mut marks) = ([0; ANALOG_COUNT], [Mark::GOOD; ANALOG_COUNT]);
        let past = self.one.iter_mut().zip(&mut self.two);
        let state = self.fine.iter_mut().zip(past).zip(&mut self.rough);
        let given = fresh.iter().zip(&limits).zip(&mut marks);
        for (((fine, (one, two)), rough), ((sample, limit), mark)) in state.zip(given) {
            let bend;
            (*fine, bend) = filtered(*fine, *one, *two, *sample, shift);
            (*one, *two) = (*sample, *one);
            *rough = roughened(*rough, bend, *limit);
            *mark = Mark::in_band(*sample, *rough, *limit);
        }
        for ((value, fine), cfg) in values.iter_mut().zip(&self.fine).zip(cfg) {
            *value = cfg.reading(*fine);
        }
        (values, marks)
    }

    /// The rare way: in some lane a wire fault stands, is being confirmed or recovered from, or nothing came before.
    #[cold]
    fn step_doubtful(
        &mut self,
        now: Instant,
        counts: &[u16; ANALOG_COUNT],
        cfg: &[ChannelConfig; ANALOG_COUNT],
        shift: u8,
    ) -> ([i32; ANALOG_COUNT], [Mark; ANALOG_COUNT]) {
        if let Some(seen) = self.all_seen.take() {
            self.lanes.iter_mut().for_each(|lane| lane.seen = seen);
        }
        self.doubtful = false;
        let (mut values, mut marks) = ([0; ANALOG_COUNT], [Mark::GOOD; ANALOG_COUNT]);
        let out = values.iter_mut().zip(&mut marks);
        let state =
            self.fine.iter_mut().zip(&mut self.one).zip(&mut self.two).zip(&mut self.rough).zip(&mut self.lanes);
        for (((value, mark), ((((fine, one), two), rough), lane)), (counts, cfg)) in
            out.zip(state).zip(counts.iter().zip(cfg))
        {
            let (faulty, sample) = (lane.count(*counts), centred(*counts));
            if !faulty && lane.primed {
                let bend;
                (*fine, bend) = filtered(*fine, *one, *two, sample, shift);
                *rough = roughened(*rough, bend, cfg.rough_limit);
                (*one, *two) = (sample, *one);
            } else if !faulty {
                (*fine, *one, *two, *rough) = ((sample as i32) << FINE, sample, sample, 0);
                lane.primed = true;
            }
            if !faulty {
                lane.seen = now;
            }
            *value = cfg.reading(*fine);
            *mark = lane.mark(now, *counts, *rough, cfg.rough_limit);
            self.doubtful |= lane.faults > 0 || !lane.primed;
        }
        (values, marks)
    }
}

impl Lane {
    /// Takes a scan into the fault count; whether the sample must not reach the filter.
    fn count(&mut self, counts: u16) -> bool {
        if !is_sound(counts) {
            self.high = counts >= FAULT_HIGH;
            self.faults = self.faults.saturating_add(1);
            if self.faults >= CONFIRM {
                self.faults = 2 * CONFIRM - 1;
            }
            return true;
        }
        let was_bad = self.faults >= CONFIRM;
        self.faults = self.faults.saturating_sub(1);
        if was_bad && self.faults < CONFIRM {
            // The old level means nothing after a repair.
            (self.faults, self.primed) = (0, false);
        }
        self.faults >= CONFIRM
    }

    fn mark(&self, now: Instant, counts: u16, rough: i32, rough_limit: i32) -> Mark {
        if self.faults >= CONFIRM {
            Mark::of(Quality::Bad(if self.high { Broken::Over } else { Broken::Under }))
        } else if is_sound(counts) {
            Mark::in_band(centred(counts), rough, rough_limit)
        } else if self.primed {
            Mark::of(Quality::Held(now.since(self.seen)))
        } else {
            Mark::of(Quality::None)
        }
    }
}

/// Outside the fault bands.
#[inline(always)]
const fn is_sound(counts: u16) -> bool {
    counts.wrapping_sub(FAULT_LOW + 1) < FAULT_HIGH - FAULT_LOW - 1
}

/// The noise measure; its clip keeps one valve step (two large differences) far from the limit of sixteen. Signed, because
/// every vector unit compares signed numbers.
#[inline(always)]
fn roughened(rough: i32, bend: i32, rough_limit: i32) -> i32 {
    // Stays between nothing and sixteen times the clip, so neither can overflow.
    rough.wrapping_sub(rough >> 4).wrapping_add(bend.min(rough_limit >> 3))
}
