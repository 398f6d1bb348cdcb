//! Whether the vessel scale can be believed while a charge flows: held against the flow that the pressures tell of.
//!
//! I08 shuts the valves on a wrong rate and lets them open again; this ends the charge before more than its tolerance can have
//! gone unseen. Not seen: a wrong span (only a check weight finds it) and a flow inside 0.2 to 3 times the model.

use super::context::Ctx;
use crate::effect::{FLOW_LEAST, charge_model};
use crate::frame::{Actuator, Actuators};
use crate::units::*;

/// What a charge may miss its order by (40 CFR 82 Subpart B App. C 9.1: half an ounce, 15 g).
pub const TOLERANCE: Milligram = Milligram(15_000);
/// One and the same code for so long, and in so many conversions, while liquid flows (F029; own choice: at 10 g/s the
/// tolerance has gone in this time).
const STUCK_TIME: Millis = Millis(1_500);
/// A live bridge never repeats a code three times running (own figure).
const STUCK_REPEATS: u8 = 8;
/// Above this modelled rate every conversion differs from the last: 1 g/s is 10 codes of 5 mg in 50 ms.
const STUCK_LEAST: MilligramPerS = MilligramPerS(1_000);
/// The scale follows where it shows two tenths of the model; I08's 0.3 less what its lag of half a second hides.
const FOLLOWS_TENTHS: i64 = 2;
/// What the model may be ahead of a scale that lags by a quarter of a second.
const LAG: Milligram = Milligram(5_000);
/// Shown mass below this is noise and says nothing.
const NOISE: Milligram = Milligram(2_000);
/// No charge valve passes more: 17 g/s at the warmest (hazard H06), and a little,
const FASTEST: i32 = 20;
/// through the way of the reference station, 1e-9 m2 ([`crate::config::StationConfig::charge_area_e9`]); a wider one more.
const REFERENCE_AREA: i32 = 715;
/// Nothing flows back into the vessel, and nothing faster than [`fastest`] out of it: further off than this, for this long,
/// is a load put on or taken off (own choice; a knock against the platform is over sooner).
const BACK: Milligram = Milligram(10_000);
/// The tolerance of a charge.
const AHEAD: Milligram = Milligram(15_000);
/// A knock is over sooner (F025: 2 s).
const MOVED_TIME: Millis = Millis(2_000);

/// Further off than this from what can flow while it flows, ahead or back, the scale is looked at in rest: twice what vibration
/// hides (own choice).
const SHIFT: Milligram = Milligram(5_000);
/// For so long: two parts of a filter's lag (own choice).
const SHIFT_TIME: Millis = Millis(SHIFT_TIME_MS as u32);
/// The same as a factor, ms.
const SHIFT_TIME_MS: i64 = 300;
/// How late the scale shows a flow, ms; as long at least flows on what is shut by a shift.
const LATE_MS: i64 = 450;

/// State of the comparison.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Witness {
    stuck: Millis,
    /// What the model says has gone since the scale last followed.
    unseen: Milligram,
    /// What had gone by the scale when it last followed.
    followed: Milligram,
    /// What can have gone by scale and fastest flow.
    traced: Milligram,
    moved: Millis,
    /// Flow when the scale last led the trace.
    pace: MilligramPerS,
    shifted: Millis,
    /// What must have gone, at least and at most, once the scale rests after a shift.
    due: Option<(Milligram, Milligram)>,
}

/// The fastest flow out of this station's vessel, g/s.
fn fastest(c: &Ctx<'_>) -> i32 {
    FASTEST.saturating_mul(c.cfg.charge_area_e9.max(REFERENCE_AREA)) / REFERENCE_AREA
}

impl Witness {
    /// One scan, with what has gone by the scale; `most` is what may go. True where the scale is not to be believed.
    pub(super) fn disbelieves(&mut self, c: &Ctx<'_>, out: Option<Milligram>, most: Milligram) -> bool {
        /// Both charge valves.
        const OPEN: Actuators = Actuators::of(&[Actuator::Xv5, Actuator::Xv10]);
        if c.on.and(OPEN) == OPEN {
            self.flows(c);
        }
        let Some(out) = out else {
            self.shifted = Millis(0);
            return self.is_stuck(c);
        };
        self.shift(c, out, c.on.and(OPEN) == OPEN);
        let seen = out.minus(self.followed);
        if seen >= NOISE && i64::from(seen.0) * 10 >= i64::from(self.unseen.0) * FOLLOWS_TENTHS {
            (self.followed, self.unseen) = (out, Milligram(0));
        }
        // More than the tolerance by the scale alone is an overcharge that is seen.
        let (limit, lagging) = (most.plus(TOLERANCE), self.unseen <= LAG);
        let unseen = !lagging && out <= limit && out.plus(self.unseen) > limit;
        self.trace(c, out) || self.is_stuck(c) || unseen
    }

    fn flows(&mut self, c: &Ctx<'_>) {
        let model = c.r.pressure_behind(c.on).and_then(|line| charge_model(c.r, line, c.cfg));
        if c.r.wt1.repeats == 0 {
            self.stuck = Millis(0);
        } else if model.is_none_or(|m| m > STUCK_LEAST) {
            self.stuck = self.stuck.plus(c.dt);
        }
        let gone = model.filter(|m| *m > FLOW_LEAST).map_or(0, |m| i64::from(m.0) * i64::from(c.dt.0) / 1_000);
        self.unseen = self.unseen.plus(Milligram(i32::try_from(gone).unwrap_or(i32::MAX)));
    }

    fn is_stuck(&self, c: &Ctx<'_>) -> bool {
        self.stuck >= STUCK_TIME && c.r.wt1.repeats >= STUCK_REPEATS
    }

    /// Whether the scale made a step while liquid flowed: the charge valves shut until it rests.
    pub(super) const fn waits(&self) -> bool {
        self.due.is_some()
    }

    /// At rest after a step: whether what has gone is not what can have gone, so that a load was put on or taken off. A knock is over.
    pub(super) fn loaded(&mut self, out: Milligram) -> bool {
        let Some((least, most)) = self.due.take() else { return false };
        // What was shown in between was a knock, and followed nothing.
        (self.traced, self.followed, self.unseen) = (out, out, Milligram(0));
        out < least || out > most
    }

    /// A step of the scale while liquid flows. What flowed just before goes on for the time that the scale is late; nothing flows faster
    /// than [`fastest`] for as long.
    fn shift(&mut self, c: &Ctx<'_>, out: Milligram, open: bool) {
        let fastest = i64::from(fastest(c));
        let late = |milligram: i64| Milligram(i32::try_from(milligram).unwrap_or(i32::MAX));
        if out >= self.traced && out <= self.traced.plus(NOISE) {
            self.pace = MilligramPerS(c.r.wt1.rate.0.saturating_neg().max(0));
        }
        let ahead = out > self.traced.plus(SHIFT);
        let off = ahead || out.plus(SHIFT) < self.traced;
        self.shifted = if open && off { self.shifted.plus(c.dt) } else { Millis(0) };
        if self.shifted >= SHIFT_TIME && self.due.is_none() {
            // The trace has followed a step ahead for as long as that stood.
            let (least, most) = if ahead {
                (self.traced.minus(late(fastest * SHIFT_TIME_MS)), self.traced.plus(late(fastest * LATE_MS)))
            } else {
                (
                    self.traced.plus(late(i64::from(self.pace.0) * LATE_MS / 1_000)),
                    self.traced.plus(late(fastest * 1_000)),
                )
            };
            self.due = Some((least.minus(SHIFT), most.plus(SHIFT)));
        }
    }

    /// Follows the scale upwards no faster than liquid can flow, and counts the time it stands elsewhere.
    fn trace(&mut self, c: &Ctx<'_>, out: Milligram) -> bool {
        let step = i32::try_from(i64::from(c.dt.0).saturating_mul(i64::from(fastest(c)))).unwrap_or(i32::MAX);
        self.traced = self.traced.or_more(out.or_less(self.traced.plus(Milligram(step))));
        if self.due.is_some() {
            return false;
        }
        let moved = out.plus(BACK) < self.traced || out > self.traced.plus(AHEAD);
        self.moved = if moved { self.moved.plus(c.dt) } else { Millis(0) };
        self.moved > MOVED_TIME
    }
}
