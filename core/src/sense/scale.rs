//! A scale, judged: net mass, rate, stillness; a frozen or railed converter is bad, a shaken one uncertain.
//!
//! Everything is filtered as converter codes and turned into mass at the end, so that a new calibration or tare moves
//! neither rate nor stillness. Median of five, then first-order low-pass: with one conversion a scan of 50 ms a ramp is
//! shown 250 ms late (2 + 3 conversions), with one every second scan 500 ms late. A cut-off must allow for it.
//!
//! Not promised: a load that is really there but is not the vessel (a hose that touches, F026); mass balances find that.

use super::reading::{Broken, Doubt, Quality, Reading, Weight};
use crate::frame::{SCALE_COUNT, ScaleSample};
use crate::units::{Instant, Milligram, MilligramPerS, Millis};

/// Rails of the 24-bit converter.
pub const RAIL_LOW: i32 = -8_388_608;
/// Upper rail of the 24-bit converter.
pub const RAIL_HIGH: i32 = 8_388_607;
/// Scans without a new conversion from which the converter is frozen (F029: 0.25 s at 50 ms).
pub const FROZEN_SCANS: u8 = 5;
/// Scans without a new conversion that are still normal (one conversion every second scan).
const NORMAL_GAP: u8 = 1;
/// Railed conversions before the reading is bad (F022).
const CONFIRM: u8 = 3;
/// Fraction bits of the gain in milligram per code.
const GAIN: u32 = 24;
/// Fraction bits of the filter state.
const FINE: u32 = 6;
/// Coarsest gain taken, in milligram per code: coarser cannot weigh a charge, and the arithmetic below would overflow.
pub const COARSEST_MG_PER_CODE: i64 = 100;
const _: () = assert!(COARSEST_MG_PER_CODE << GAIN < i32::MAX as i64, "a gain fits 32 bits");
/// Span change a calibration may bring, parts per thousand (interlock I21).
pub const SPAN_CHANGE_LIMIT: i64 = 20;
/// How long after a jump a scale must be quiet to be believed (F025).
pub const QUIET_AFTER_JUMP: Millis = Millis(2_000);
/// Length of one of the eight parts of the two-second stillness window.
const PART: Millis = Millis(250);
/// A part that has waited so long for its scale's turn is closed without it: with slow scans there are not turns for all (own choice).
const PART_AT_MOST: Millis = Millis(400);

/// Why a calibration is refused.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CalError {
    /// Both points gave nearly the same code. Operator: put the weight on before the second point; else have the bridge repaired.
    NoSpan,
    /// A code is at the converter's rail. Technician: bridge or amplifier is broken.
    Rail,
    /// The reference weight is not between 0.1 kg and 100 kg. Operator: enter the weight that is on the platform.
    Mass(Milligram),
    /// The span moved by more than 2 % against the last calibration, here in parts per thousand. Operator: repeat with a second weight; supervisor: accept as new.
    SpanMoved(i32),
    /// The empty platform does not read zero again, here by how much. Operator: free the platform and repeat.
    ZeroMoved(Milligram),
}

impl core::fmt::Display for CalError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::NoSpan => "both points gave nearly the same code",
            Self::Rail => "a code is at the converter's rail",
            Self::Mass(_) => "the reference weight is not between 0.1 kg and 100 kg",
            Self::SpanMoved(_) => "the span moved by more than 2 %",
            Self::ZeroMoved(_) => "the empty platform does not read zero again",
        })
    }
}

impl TryFrom<(i32, i32, Milligram, Milligram)> for ScaleCal {
    type Error = CalError;
    fn try_from((zero_code, span_code, span_mass, tare): (i32, i32, Milligram, Milligram)) -> Result<Self, CalError> {
        Self::new(zero_code, span_code, span_mass, tare)
    }
}

impl From<ScaleCal> for (i32, i32, Milligram, Milligram) {
    fn from(cal: ScaleCal) -> Self {
        (cal.zero_code, cal.span_code, cal.span_mass, cal.tare)
    }
}

/// Two-point calibration of one scale; a value of this type always has a usable span.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(try_from = "(i32, i32, Milligram, Milligram)"))]
#[cfg_attr(feature = "serde", serde(into = "(i32, i32, Milligram, Milligram)"))]
pub struct ScaleCal {
    zero_code: i32,
    span_code: i32,
    span_mass: Milligram,
    tare: Milligram,
    gain: i32,
}

impl ScaleCal {
    /// Straight line through `zero_code` at no load and `span_code` at `span_mass` (0.1-100 kg); `tare` is taken off the gross mass.
    pub const fn new(zero_code: i32, span_code: i32, span_mass: Milligram, tare: Milligram) -> Result<Self, CalError> {
        if span_mass.0 < 100_000 || span_mass.0 > 100_000_000 {
            return Err(CalError::Mass(span_mass));
        }
        if railed(zero_code) || railed(span_code) {
            return Err(CalError::Rail);
        }
        let span = span_code as i64 - zero_code as i64;
        if span.saturating_abs().saturating_mul(COARSEST_MG_PER_CODE) < span_mass.0 as i64 {
            return Err(CalError::NoSpan);
        }
        match ((span_mass.0 as i64) << (GAIN + 1)).checked_div(span) {
            Some(twice) => {
                let gain = (twice.saturating_add(1) >> 1) as i32;
                Ok(Self { zero_code, span_code, span_mass, tare, gain })
            }
            None => Err(CalError::NoSpan),
        }
    }

    /// A fresh calibration, held against the previous one where there is any (interlock I21); keeps its tare.
    pub fn calibrate(
        zero_code: i32,
        code_at_mass: i32,
        mass: Milligram,
        previous: Option<&Self>,
    ) -> Result<Self, CalError> {
        let tare = previous.map_or(Milligram::ZERO, |p| p.tare);
        let fresh = Self::new(zero_code, code_at_mass, mass, tare)?;
        if let Some(old) = previous {
            let (new, old) = (i64::from(fresh.gain), i64::from(old.gain));
            let moved = new.saturating_sub(old).saturating_mul(1_000);
            let limit = old.saturating_abs().saturating_mul(SPAN_CHANGE_LIMIT);
            if moved.saturating_abs() > limit {
                let permille = moved.checked_div(old.saturating_abs()).unwrap_or(i64::MAX);
                return Err(CalError::SpanMoved(permille.max(i32::MIN as i64).min(i32::MAX as i64) as i32));
            }
        }
        Ok(fresh)
    }

    /// After the weight is off again: does the platform read zero within `limit`? The other half of interlock I21.
    pub fn zero_returns(&self, code: i32, limit: Milligram) -> Result<(), CalError> {
        let off = self.gross(code);
        if off.0.saturating_abs() > limit.0 { Err(CalError::ZeroMoved(off)) } else { Ok(()) }
    }

    /// The same line with another tare.
    pub const fn with_tare(self, tare: Milligram) -> Self {
        Self { tare, ..self }
    }
    /// Code of the empty platform.
    pub const fn zero_code(&self) -> i32 {
        self.zero_code
    }
    /// Code with the reference weight on.
    pub const fn span_code(&self) -> i32 {
        self.span_code
    }
    /// The reference weight.
    pub const fn span_mass(&self) -> Milligram {
        self.span_mass
    }
    /// What is taken off the gross mass.
    pub const fn tare(&self) -> Milligram {
        self.tare
    }
    /// Mass on the platform for a code.
    pub const fn gross(&self, code: i32) -> Milligram {
        self.mass_of(fine_code(code).saturating_sub(fine_code(self.zero_code)))
    }
    /// Gross mass less tare for a code.
    pub const fn net(&self, code: i32) -> Milligram {
        self.gross(code).minus(self.tare)
    }

    /// Whether a difference of codes in 1/64 code is more than a mass; a negative limit is exceeded by any difference.
    #[inline]
    const fn exceeds(&self, fine_codes: i32, limit: Milligram) -> bool {
        let limit = if limit.0 < 0 { 0 } else { limit.0 as u64 };
        let product = (fine_codes.unsigned_abs() as u64).saturating_mul(self.gain.unsigned_abs() as u64);
        product > limit << (GAIN + FINE)
    }

    /// Mass of a difference of codes in 1/64 code. 25 + 6 bits of difference times 7 + 24 bits of gain stay inside 64 bits;
    /// the gain's rounding costs 0.15 mg at 5 million codes.
    const fn mass_of(&self, fine_codes: i32) -> Milligram {
        let product = (fine_codes as i64).saturating_mul(self.gain as i64);
        let rounded = product.saturating_add(1 << (GAIN + FINE - 1)) >> (GAIN + FINE);
        if rounded > i32::MAX as i64 {
            Milligram::MAX
        } else if rounded < i32::MIN as i64 {
            Milligram::MIN
        } else {
            Milligram(rounded as i32)
        }
    }
}

/// A code in the filter's fraction of a code; past the rails, which no converter leaves, the rail.
const fn fine_code(code: i32) -> i32 {
    let code = if code < RAIL_LOW { RAIL_LOW } else { code };
    (if code > RAIL_HIGH { RAIL_HIGH } else { code }) << FINE
}

const fn railed(code: i32) -> bool {
    code <= RAIL_LOW || code >= RAIL_HIGH
}

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
        let mass = cfg.cal.mass_of(self.fine.saturating_sub(cfg.cal.zero_code << FINE)).minus(cfg.cal.tare);
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
        let off = (code << FINE).saturating_sub(self.fine);
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
            Quality::Held(now.since(self.seen))
        } else if self.jumped.is_some() {
            Quality::Uncertain(Doubt::Unsteady)
        } else {
            Quality::Good
        }
    }
}
