//! Hold the empty circuit under dry nitrogen and judge the fall of its pressure with its temperature.
//!
//! The station opens nothing: nitrogen goes in and out by the operator's hand, at the vehicle, in the open. Starts where the
//! circuit holds no refrigerant (see `leave.rs`) and is at ease. The pressure may settle for five minutes, since gas that was
//! compressed is warm. Done when the hold is over, the fall is within its limit, and the pressure was let out. Given up when the
//! pressure is not the ordered one, falls further, or is not let out; a fall counts as a leak of this connection. Each hose gauge
//! is judged by itself: one that stands still must not hide what the other shows, nor one that drifts accuse a tight circuit.
//!
//! It says nothing of leaks that a vacuum hold or a leak detector would find: 5 kPa of 11 bar in 15 min in 4 L are 0.02 Pa m3/s.

use super::bounds;
use super::context::{Ctx, DONE, Status, failed};
use super::leak::hoses;
use super::leave::Leave;
use super::step::Stepped;
use crate::frame::Actuators;
use crate::talk::{Notice, Question};
use crate::units::*;
use crate::verdict::{GiveUp, Outcome};

/// Compressed gas gives its warmth to the metal within some minutes (own choice).
const SETTLE: Millis = Millis::from_secs(300);
/// Time to shut a bottle.
const FILLED: Millis = Millis::from_secs(30);
/// How far from the ordered pressure the test may stand: a hand on a regulator (own choice).
const WITHIN: AbsPa = AbsPa(100_000);
/// Two gauges on one circuit are no further apart: three times the class of both (own choice).
const APART: AbsPa = AbsPa(20_000);
/// Gas that was compressed cools by no more than ten kelvin from half a minute on: 40 kPa of 11 bar (own choice).
const COOLS: AbsPa = AbsPa(40_000);
/// A fall that says nothing: noise and drift of PT-2 and PT-3 over the hold (own choice: 0.1 % of 35 bar is the class of the
/// whole reading, and its offset falls out of the difference),
const NOISE: AbsPa = AbsPa(2_000);
/// and one part in so many of the pressure, for 0.9 K by which the gas may differ from TT-4 (own choice).
const DRIFT: i32 = 333;

/// PT-2 and PT-3.
type Hoses = [AbsPa; 2];

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PressureTest {
    step: Stepped<Step>,
    leave: Leave,
    /// What the hold showed against the circuit or its gauges.
    found: Option<GiveUp>,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Step {
    #[default]
    Enter,
    Ask,
    /// With the pressures half a minute after the bottle was shut, once they are there.
    Settle {
        filled: Option<Hoses>,
    },
    Hold {
        begun: Hoses,
        at: CentiKelvin,
    },
    /// With the pressures from which it is let out.
    Release {
        from: Hoses,
    },
}

step_words!(PressureTest: Enter => "enter", Ask => "ask", Settle => "settle", Hold => "hold", Release => "release");

/// What `begun` at `then` would read at `now` by warmth alone.
///
/// ```
/// use valvewright_core::{job::pressure::by_warmth, units::*};
/// // 11 bar at 20 degC are 11.0 x 303.15 / 293.15 = 11.375 bar at 30 degC
/// let warm = by_warmth(AbsPa(1_100_000), CentiKelvin(29_315), CentiKelvin(30_315));
/// assert!((1_137_400..=1_137_600).contains(&warm.0), "{warm:?}");
/// ```
pub const fn by_warmth(begun: AbsPa, then: CentiKelvin, now: CentiKelvin) -> AbsPa {
    let scaled = (begun.0 as i64).saturating_mul(now.0 as i64).checked_div(if then.0 > 0 { then.0 as i64 } else { 1 });
    match scaled {
        Some(p) if p < i32::MAX as i64 => AbsPa(p as i32),
        _ => AbsPa(i32::MAX),
    }
}

/// Smallest fall from this pressure that says anything.
pub const fn least(begun: AbsPa) -> AbsPa {
    NOISE.plus(AbsPa(begun.0 / DRIFT))
}

/// Whether both have gone down further than gas that cools.
fn all_fell(then: Hoses, now: Hoses) -> bool {
    then.iter().zip(now).all(|(then, now)| then.minus(now) > COOLS)
}

/// Whether one gauge has stood while the other went down by more than a bar.
fn one_stands(from: Hoses, now: Hoses) -> bool {
    let ([low, high], [low_from, high_from]) = (now, from);
    let (a, b) = (low_from.minus(low), high_from.minus(high));
    a.or_more(b) > WITHIN && a.or_less(b).0.saturating_abs() <= NOISE.0
}

impl PressureTest {
    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        c.want = Actuators::SAFE;
        let spent = self.step.spent(c.t);
        c.progress_by_time(SETTLE.plus(c.order.test_hold));
        let Some(p) = hoses(c) else { return failed(GiveUp::ReadingBad) };
        match self.step.at {
            Step::Enter => {
                if let Some(status) = self.leave.ask(c) {
                    return status;
                }
                self.step.go(Step::Ask, c.t);
            }
            Step::Ask => match c.ask(Question::FillNitrogen) {
                Some(true) => {
                    c.link.holds_none();
                    c.ledger.nitrogen = true;
                    self.step.go(Step::Settle { filled: None }, c.t);
                }
                Some(false) => return failed(GiveUp::Declined),
                None if spent > bounds::HANDS_WAIT => return failed(GiveUp::NoAnswer),
                None => {}
            },
            Step::Settle { filled } => return self.settle(c, p, filled, spent),
            Step::Hold { begun, at } if spent >= c.order.test_hold => {
                let Some(now) = c.r.tt4.usable() else { return failed(GiveUp::ReadingBad) };
                self.judge(c, begun.map(|begun| by_warmth(begun, at, now)), p);
            }
            Step::Hold { .. } => {}
            Step::Release { from } => return self.release(c, from, p),
        }
        Status::Running
    }

    fn settle(&mut self, c: &mut Ctx<'_>, p: Hoses, filled: Option<Hoses>, spent: Millis) -> Status {
        let ordered = c.cfg.barometer.plus(c.order.test_over);
        let near = |p: &AbsPa| p.minus(ordered).0.saturating_abs() <= WITHIN.0;
        if spent >= FILLED && filled.is_none() {
            self.step.at = Step::Settle { filled: Some(p) };
        }
        if spent < SETTLE {
            return Status::Running;
        }
        let [low, high] = p;
        let apart = low.minus(high).0.saturating_abs() > APART.0;
        if near(&low) && near(&high) && !apart {
            let Some(at) = c.r.tt4.usable() else { return failed(GiveUp::ReadingBad) };
            self.step.go(Step::Hold { begun: p, at }, c.t);
            return Status::Running;
        }
        // Filled as ordered and not there any more: what leaks so fast may leave the two sides apart.
        match filled.filter(|then| all_fell(*then, p)) {
            Some(then) if then.iter().any(near) => self.judge(c, then, p),
            // Of a gauge that is off the other stands where the bottle was shut.
            None if apart && (near(&low) || near(&high)) => self.found(GiveUp::HosesDisagree(low, high), p, c.t),
            _ => return failed(GiveUp::TestPressure(low.or_more(high))),
        }
        Status::Running
    }

    /// What should stand against what does. The larger fall decides; it is a leak where the other gauge shows half of the least
    /// that says anything, too: a fast leak leaves the sides apart.
    fn judge(&mut self, c: &mut Ctx<'_>, should: Hoses, now: Hoses) {
        let ([low, high], [low_should, high_should]) = (now, should);
        let (a, b) = (low_should.minus(low), high_should.minus(high));
        let (fall, other) = (a.or_more(b), a.or_less(b));
        let least = least(low_should.or_more(high_should));
        if fall > least && other.plus(other) <= least {
            return self.found(GiveUp::HosesDisagree(low, high), now, c.t);
        }
        c.tell(Notice::PressureTest(fall, least));
        if fall > least {
            c.link.pressure_fell();
            return self.found(GiveUp::PressureFalls(fall), now, c.t);
        }
        self.step.go(Step::Release { from: now }, c.t);
    }

    /// Lets the pressure out before it says so.
    fn found(&mut self, why: GiveUp, from: Hoses, t: Millis) {
        self.found = Some(why);
        self.step.go(Step::Release { from }, t);
    }

    fn release(&mut self, c: &mut Ctx<'_>, from: Hoses, p: Hoses) -> Status {
        let [low, high] = p;
        if Leave::is_open(c) == Some(true) {
            c.ledger.nitrogen = false;
            return self.found.map_or(DONE, failed);
        }
        match self.leave.release(c, low.or_more(high)) {
            // A gauge that stands still would say for ever that nothing was let out. While gas flows, both move, and may be apart.
            Some(Status::Ended(Outcome::Failed(GiveUp::NotReleased(_)))) if one_stands(from, p) => {
                failed(GiveUp::HosesDisagree(low, high))
            }
            status => status.unwrap_or(Status::Running),
        }
    }
}
