//! A scale, judged: net mass, rate, stillness; a frozen or railed converter is bad, a shaken one uncertain.
//!
//! Everything is filtered as converter codes and turned into mass at the end, so that a new calibration or tare moves
//! neither rate nor stillness. Median of five, then first-order low-pass: with one conversion a scan of 50 ms a ramp is
//! shown 250 ms late (2 + 3 conversions), with one every second scan 500 ms late. A cut-off must allow for it.
//!
//! Not promised: a load that is really there but is not the vessel (a hose that touches, F026); mass balances find that.

use super::analog::HELD_MAX;
pub use super::calibration::{COARSEST_MG_PER_CODE, CalError, RAIL_HIGH, RAIL_LOW, SPAN_CHANGE_LIMIT, ScaleCal};
use super::calibration::{FINE, railed};
use super::reading::{Broken, Doubt, Quality, Reading, Weight};
use crate::frame::{SCALE_COUNT, ScaleSample};
use crate::units::{Instant, Milligram, MilligramPerS, Millis};

/// Scans without a new conversion from which the converter is frozen (F029: 0.25 s at 50 ms).
pub const FROZEN_SCANS: u8 = 5;
/// Scans without a new conversion that are still normal (one conversion every second scan).
const NORMAL_GAP: u8 = 1;
/// Railed conversions before the reading is bad (F022).
const CONFIRM: u8 = 3;
/// How long after a jump a scale must be quiet to be believed (F025).
pub const QUIET_AFTER_JUMP: Millis = Millis(2_000);
/// Length of one of the eight parts of the two-second stillness window.
const PART: Millis = Millis(250);
/// A part that has waited so long for its scale's turn is closed without it: with slow scans there are not turns for all (own choice).
const PART_AT_MOST: Millis = Millis(400);

/// One scale: its line and when it counts as still.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct ScaleConfig {
    /// The calibration in force.
    pub cal: ScaleCal,
    /// Largest peak-to-peak of the filtered mass over two seconds that counts as still.
    pub still: Milligram,
    /// Distance of two successive conversions from the filtered mass that counts as a shock.
    pub jump: Milligram,
    /// Low-pass strength: 2^shift - 1 conversions of lag, 0-7.
    pub shift: u8,
}

impl ScaleConfig {
    /// How late a steady flow shows, for a converter that delivers every `period`: what a cut-off must allow for.
    pub const fn lag(&self, period: Millis) -> Millis {
        // Median of five: two conversions; low-pass: 2^shift - 1.
        Millis(period.0.saturating_mul((1 << (self.shift & 7)) + 1))
    }
}

/// Builds a default; a wrong constant does not compile.
const fn reference(span_code: i32, span_mass: Milligram, still: Milligram, jump: Milligram) -> ScaleConfig {
    match ScaleCal::new(100_000, span_code, span_mass, Milligram::ZERO) {
        Ok(cal) => ScaleConfig { cal, still, jump, shift: 2 },
        Err(_) => panic!("the reference calibration has no usable span"),
    }
}

/// The reference station's bridges, indexed by [`crate::frame::Scale`]: twice 25 kg at 5 mg per code, each calibrated to the whole
/// platform, and twice 2 kg at 0.5 mg per code, zero at code 100 000, no tare. Jump limits lie above what flow can do: 17 g/s x 0.25 s of lag is 4 g.
pub const REFERENCE: [ScaleConfig; SCALE_COUNT] = const {
    let platform = reference(5_100_000, Milligram::from_grams(25_000), Milligram(1_500), Milligram::from_grams(60));
    let bottle = reference(4_100_000, Milligram::from_grams(2_000), Milligram(500), Milligram::from_grams(20));
    [platform, platform, bottle, bottle]
};

/// One closed quarter second of the stillness window, in 1/64 code.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Part {
    low: i32,
    high: i32,
    last: i32,
    at: Instant,
}

/// Filter and fault state of one scale.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Weigher {
    /// The last five good conversions, oldest first.
    window: [i32; 5],
    /// Low-pass state in 1/64 code.
    fine: i32,
    /// Closed parts, oldest first; `filled` of them, from the end, are real.
    parts: [Part; 8],
    filled: u8,
    /// Extremes of the closed parts.
    low: i32,
    high: i32,
    open: Part,
    sequence: u8,
    /// Scans since the last new conversion.
    unchanged: u8,
    rails: u8,
    /// Successive conversions far from the filter state.
    far: u8,
    repeats: u8,
    jumped: Option<Instant>,
    primed: bool,
    seen: Instant,
    rate: MilligramPerS,
}

impl Weigher {
    /// Nothing received yet.
    pub const NEW: Self = Self {
        window: [0; 5],
        fine: 0,
        parts: [Part { low: 0, high: 0, last: 0, at: Instant(0) }; 8],
        filled: 0,
        low: 0,
        high: 0,
        open: Part { low: 0, high: 0, last: 0, at: Instant(0) },
        sequence: 0,
        unchanged: 0,
        rails: 0,
        far: 0,
        repeats: 0,
        jumped: None,
        primed: false,
        seen: Instant(0),
        rate: MilligramPerS(0),
    };

    /// The last good raw code.
    pub fn code(&self) -> Option<i32> {
        let [.., newest] = self.window;
        self.primed.then_some(newest)
    }

    /// Judges one scan of the converter. `turn` is given to one scale a scan: the one whose quarter second is over takes it, so
    /// that scales which began together do not all do their rare work in the same scan.
    #[inline]
    pub fn step(&mut self, now: Instant, sample: ScaleSample, cfg: &ScaleConfig, turn: &mut bool) -> Weight {
        if !self.primed {
            self.sequence = sample.sequence;
            if railed(sample.code) {
                return self.unprimed();
            }
            self.prime(now, sample.code);
        } else if sample.sequence == self.sequence {
            self.unchanged = self.unchanged.saturating_add(1);
        } else {
            self.sequence = sample.sequence;
            self.unchanged = 0;
            self.convert(now, sample.code, cfg, turn);
        }
        let quality = self.quality(now);
        let spread = self.high.max(self.open.high).wrapping_sub(self.low.min(self.open.low));
        let calm = self.filled >= 8 && quality == Quality::Good;
        let still = calm && !cfg.cal.exceeds(spread, cfg.still);
        let mass = cfg.cal.mass_of(self.fine.wrapping_sub(cfg.cal.zero_code() << FINE)).minus(cfg.cal.tare());
        Weight { mass: Reading { value: mass, quality }, rate: self.rate, still, repeats: self.repeats }
    }

    /// No good conversion since power-on: nothing to show, and after three railed ones a reason.
    #[cold]
    fn unprimed(&mut self) -> Weight {
        self.rails = self.rails.saturating_add(1).min(CONFIRM);
        let quality = if self.rails >= CONFIRM { Quality::Bad(Broken::Rail) } else { Quality::None };
        Weight { mass: Reading { value: Milligram::ZERO, quality }, ..Weight::default() }
    }

    fn prime(&mut self, now: Instant, code: i32) {
        let fine = code << FINE;
        *self = Self {
            window: [code; 5],
            fine,
            open: Part { low: fine, high: fine, last: fine, at: now },
            sequence: self.sequence,
            primed: true,
            seen: now,
            low: i32::MAX,
            high: i32::MIN,
            ..Self::NEW
        };
    }

    /// Takes in one new conversion.
    fn convert(&mut self, now: Instant, code: i32, cfg: &ScaleConfig, turn: &mut bool) {
        if railed(code) {
            self.rails = self.rails.saturating_add(1).min(CONFIRM);
            return;
        }
        if self.rails >= CONFIRM {
            self.prime(now, code);
            self.jumped = Some(now);
        }
        self.rails = 0;
        self.seen = now;
        // Codes between the rails take 30 bits in 1/64 code: no difference of two of them overflows.
        let off = (code << FINE).wrapping_sub(self.fine);
        let far = cfg.cal.exceeds(off, cfg.jump);
        self.far = if far { self.far.saturating_add(1) } else { 0 };
        let [_, a, b, c, d] = self.window;
        self.repeats = if code == d { self.repeats.saturating_add(1) } else { 0 };
        self.window = [a, b, c, d, code];
        let low_high = a.min(b).max(c.min(d));
        let high_low = a.max(b).min(c.max(d));
        let median = low_high.min(high_low).max(low_high.max(high_low).min(code));
        let target = median << FINE;
        self.fine = self.fine.wrapping_add(target.wrapping_sub(self.fine) >> (cfg.shift & 7));
        if self.far >= 2 {
            self.jumped = Some(now);
        } else if self.jumped.is_some_and(|at| now.since(at) > QUIET_AFTER_JUMP) {
            self.jumped = None;
        }
        self.window_step(now, cfg, turn);
    }

    /// Extends the open part of the stillness window and closes it, with a new rate, after its quarter second and in its turn.
    fn window_step(&mut self, now: Instant, cfg: &ScaleConfig, turn: &mut bool) {
        let fine = self.fine;
        self.open.low = self.open.low.min(fine);
        self.open.high = self.open.high.max(fine);
        let open = now.since(self.open.at);
        if open >= PART && (core::mem::take(turn) || open >= PART_AT_MOST) {
            self.close_part(now, cfg);
        }
    }

    #[cold]
    fn close_part(&mut self, now: Instant, cfg: &ScaleConfig) {
        let fine = self.fine;
        self.rate = self.rate_now(now, cfg);
        let [_, a, b, c, d, e, f, g] = self.parts;
        self.parts = [a, b, c, d, e, f, g, Part { last: fine, at: now, ..self.open }];
        self.filled = self.filled.saturating_add(1).min(8);
        self.open = Part { low: fine, high: fine, last: fine, at: now };
        (self.low, self.high) = (i32::MAX, i32::MIN);
        for part in self.parts.iter().rev().take(self.filled as usize) {
            self.low = self.low.min(part.low);
            self.high = self.high.max(part.high);
        }
    }

    /// Rate over the last four parts, which is one second; zero until there are as many.
    fn rate_now(&self, now: Instant, cfg: &ScaleConfig) -> MilligramPerS {
        let [.., past, _, _, _] = self.parts;
        let elapsed = now.since(past.at).0;
        if self.filled < 4 || elapsed == 0 || elapsed > 60_000 {
            return MilligramPerS::ZERO;
        }
        let moved = cfg.cal.mass_of(self.fine.saturating_sub(past.last)).0.clamp(-2_000_000, 2_000_000);
        MilligramPerS(moved.saturating_mul(1_000).checked_div(elapsed as i32).unwrap_or(0))
    }

    #[inline]
    fn quality(&self, now: Instant) -> Quality {
        if self.rails >= CONFIRM {
            Quality::Bad(Broken::Rail)
        } else if self.unchanged >= FROZEN_SCANS {
            Quality::Bad(Broken::Frozen)
        } else if self.rails > 0 || self.unchanged > NORMAL_GAP {
            let age = now.since(self.seen);
            if age > HELD_MAX { Quality::Bad(Broken::Old) } else { Quality::Held(age) }
        } else if self.jumped.is_some() {
            Quality::Uncertain(Doubt::Unsteady)
        } else {
            Quality::Good
        }
    }
}
