//! Short openings of the charge valves: how long one must be for what is missing, learned from what the last one brought.

use super::context::Ctx;
use crate::units::*;

/// Scale filter and valve stroke together: flow goes on for this long after the decision (own figures).
const LAG_MS: i64 = 450;
/// The scale's rate is that of a whole second, half a second late: a fill that ends sooner has not shown its flow (own figure).
const RATE_KNOWN: Millis = Millis(2_500);
/// What is taken as flow at least, for the cut-off of a fill and for what it will still take,
const LEAST_FILL: MilligramPerS = MilligramPerS(2_000);
/// and for a pulse (own choices).
const LEAST_PULSE: MilligramPerS = MilligramPerS(500);
/// What a pulse is taken to pass at most: three times [`FASTEST`], since valves stroke before and after it (own choice).
const MOST_PULSE: MilligramPerS = MilligramPerS(60_000);
/// Share of what is missing that a pulse goes for: the last tenth is better missed than passed (own choice).
const SHARE_PERMILLE: i64 = 900;
/// A valve strokes in some 40 ms (own choice).
const SHORTEST: Millis = Millis(100);
/// 4 s of liquid are the tail and more (own choice).
const LONGEST: Millis = Millis(4_000);
/// A pulse of this length
const WEAK_FROM: Millis = Millis(200);
/// that brought less than this met a stall (own figures).
const WEAK: Milligram = Milligram(500);
/// What the charge valve passes at most (hazard H06). The first pulse after a remedy for a stall reckons with it: what was learned
/// in the stall would make it far too long.
const FASTEST: MilligramPerS = MilligramPerS(17_000);

/// A short opening of the charge valves.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Pulse {
    pub(super) length: Millis,
    /// What had gone before it.
    pub(super) before: Milligram,
}

impl Pulse {
    /// The same, over after that time.
    pub(super) fn cut(self, spent: Millis) -> Self {
        Self { length: spent.or_more(SHORTEST), ..self }
    }
}

/// What the charge valves pass, as far as it is known.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Pace {
    rate: MilligramPerS,
    /// Pulses in a row that met a stall.
    weak: u8,
}

impl Pace {
    /// What it will pass at least, for the time that is left.
    pub(super) fn least(&self) -> MilligramPerS {
        self.rate.or_more(LEAST_FILL)
    }

    /// A fill ends after the valves were open for so long, with this flow, where the scale shows one. One that was short, as after a remedy
    /// for a stall, has shown nothing yet.
    pub(super) fn filled(&mut self, rate: Option<MilligramPerS>, open: Millis) {
        self.rate = rate.filter(|_| open >= RATE_KNOWN).map_or(FASTEST, |rate| rate.or_more(LEAST_FILL));
    }

    /// The last pulse says what the valve passes now; half old, half new keeps one noisy weighing from ruling.
    pub(super) fn learn(&mut self, length: Millis, got: Milligram) {
        let seen = (i64::from(got.0) * 1000).checked_div(i64::from(length.0)).unwrap_or(0);
        let mixed = seen.saturating_add(i64::from(self.rate.0)) / 2;
        self.rate = MilligramPerS(i32::try_from(mixed).unwrap_or(0)).or_more(LEAST_PULSE).or_less(MOST_PULSE);
        self.weak = if got < WEAK && length >= WEAK_FROM { self.weak.saturating_add(1) } else { 0 };
    }

    /// The last pulse met a stall.
    pub(super) const fn weak(&self) -> bool {
        self.weak > 0
    }

    /// Three in a row did; they count anew then.
    pub(super) fn stalls(&mut self) -> bool {
        let stalls = self.weak >= 3;
        if stalls {
            self.weak = 0;
        }
        stalls
    }

    /// How long a pulse must be.
    pub(super) fn length(&self, missing: Milligram) -> Millis {
        let ms = (i64::from(missing.0) * SHARE_PERMILLE).checked_div(i64::from(self.rate.or_more(LEAST_PULSE).0));
        Millis(u32::try_from(ms.unwrap_or(0)).unwrap_or(0)).or_more(SHORTEST).or_less(LONGEST)
    }
}

/// What flows out of the vessel, as the scale shows it.
pub(super) fn flow(c: &Ctx<'_>) -> MilligramPerS {
    MilligramPerS(c.r.wt1.rate.0.saturating_neg().max(0))
}

/// What flows on before a decision shows.
pub(super) fn coming(c: &Ctx<'_>) -> Milligram {
    Milligram(i32::try_from(i64::from(flow(c).0).saturating_mul(LAG_MS) / 1000).unwrap_or(i32::MAX))
}
