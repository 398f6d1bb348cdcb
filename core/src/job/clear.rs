//! Let the vehicle draw in what the hoses hold, empty the rest into the vessel, weigh it, and say when they may come off.
//!
//! After a charge a hose holds anything between gas and 60 g of liquid, by a degree of temperature. So the high-side coupler
//! is shut and the vehicle's A/C draws both hoses down through its low side (common practice, no source); where the operator
//! declines, their content goes back to the vessel and comes off the charge shown. Then both couplers are shut. Done when both hose pressures are down, stay below 1.3 bar
//! abs for 30 s with XV-1 and XV-2 open to the recovered manifold (rule of I31). What comes back corrects the charge shown.

use super::amounts::hose_content;
use super::bounds;
use super::context::{Ctx, DONE, Status, at_rest, failed};
use super::ledger::Ledger;
use super::recover::path;
use super::step::Stepped;
use crate::frame::{Actuator, Actuators};
use crate::order::Sides;
use crate::sense::Readings;
use crate::talk::{Notice, Question};
use crate::units::*;
use crate::verdict::GiveUp;

/// Drawing in ends below this share of saturation at ambient, in thousandths, held for [`DRAWN_HELD`].
const DRAWN: i64 = 750;
/// A compressor that cycles lets the pressure swing for some seconds (own choice).
const DRAWN_HELD: Millis = Millis::from_secs(15);
/// Boiling 60 g of liquid out of a warm hose takes one to two minutes (own figure: 10 kJ at some 150 W).
const DRAW_LEAST: Millis = Millis::from_secs(110);
/// What it has not drawn in by then it will not (own choice).
const DRAW_MAX: Millis = Millis::from_secs(240);
/// Both hoses full of liquid, 120 g, take some two minutes (own figure).
const PULL_MAX: Millis = Millis::from_secs(600);
/// One noisy reading does not end the pull.
const END_HELD: Millis = Millis::from_secs(5);
/// A hose may be taken off at 1.3 bar abs or less (I31).
const SAFE_PRESSURE: AbsPa = AbsPa(130_000);
/// The 30 s of I31 begin anew where what the oil gives off is not steady yet; so often they don't (own choice).
const WATCH_MAX: Millis = Millis::from_secs(300);
/// A platform that is not at rest by then is leant on (own choice).
const WEIGH_MAX: Millis = Millis::from_secs(120);

/// All that it opens or runs.
pub const NEEDS: Actuators =
    Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::Xv3, Actuator::Xv4, Actuator::C1, Actuator::K1]);

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ClearHoses {
    step: Stepped<Step>,
    start: Milligram,
    estimate: Milligram,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Step {
    #[default]
    Enter,
    AskDraw,
    /// With the time that the pressure has been low.
    Draw {
        below: Millis,
    },
    Ask,
    Weigh,
    /// With the time that the end pressure has been seen.
    Pull {
        below: Millis,
    },
    Watch,
    WeighAgain,
}

step_words!(ClearHoses: Enter => "enter", AskDraw => "ask_draw", Draw => "draw", Ask => "ask", Weigh => "weigh", Pull => "pull", Watch => "watch", WeighAgain => "weigh_again");

impl Step {
    /// Drawing at its beginning.
    const DRAW: Self = Self::Draw { below: Millis(0) };
    /// A pull at its beginning.
    const PULL: Self = Self::Pull { below: Millis(0) };
}

impl ClearHoses {
    /// What came back so far is known; until all has come the estimate stands.
    pub(super) fn book(&self, r: &Readings, ledger: &mut Ledger) {
        if let (Step::Pull { .. } | Step::Watch | Step::WeighAgain, Some(mass)) = (self.step.at, r.wt1.mass.usable())
            && ledger.charge_begun
        {
            ledger.in_hoses = mass.minus(self.start).or_more(self.estimate);
        }
    }

    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        let spent = self.step.spent(c.t);
        c.progress_by_time(Millis::from_secs(240));
        match self.step.at {
            // The vehicle's compressor draws from its low side: a high-side coupler alone gives it nothing.
            Step::Enter if !c.ledger.charge_begun || c.order.sides == Sides::High => self.step.go(Step::Ask, c.t),
            Step::Enter if c.ledger.vehicle_runs => self.step.go(Step::DRAW, c.t),
            Step::Enter => self.step.go(Step::AskDraw, c.t),
            Step::AskDraw => match c.ask(Question::DrawIn) {
                Some(true) => {
                    c.ledger.vehicle_runs = true;
                    self.step.go(Step::DRAW, c.t);
                }
                Some(false) => self.step.go(Step::Ask, c.t),
                None if spent > bounds::HANDS_WAIT => self.step.go(Step::Ask, c.t),
                None => {}
            },
            Step::Draw { below } => return self.draw(c, spent, below),
            Step::Ask => match c.ask(Question::ShutCouplers) {
                Some(true) => {
                    c.ledger.vehicle_runs = false;
                    self.step.go(Step::Weigh, c.t);
                }
                Some(false) => return failed(GiveUp::Declined),
                None if spent > bounds::HANDS_WAIT => return failed(GiveUp::NoAnswer),
                None => {}
            },
            Step::Weigh => match at_rest(&c.r.wt1, spent, WEIGH_MAX) {
                Ok(mass) => {
                    (self.start, self.estimate) = (mass, c.ledger.in_hoses);
                    self.step.go(Step::PULL, c.t);
                }
                Err(status) => return status,
            },
            Step::Pull { below } => return self.pull(c, spent, below),
            Step::Watch => {
                c.want = c.couplers();
                let Some(p) = c.vehicle_pressure() else { return failed(GiveUp::ReadingBad) };
                if p > SAFE_PRESSURE {
                    // A coupler leaks by or still stands open.
                    return failed(GiveUp::KeepsRising);
                }
                if c.may_come_off {
                    self.step.go(Step::WeighAgain, c.t);
                } else if spent > WATCH_MAX {
                    return failed(GiveUp::KeepsRising);
                }
            }
            Step::WeighAgain => match at_rest(&c.r.wt1, spent, WEIGH_MAX) {
                Ok(mass) => {
                    let held = mass.minus(self.start).or_more(Milligram(0));
                    if c.ledger.charge_begun {
                        (c.ledger.in_hoses, c.ledger.hoses_most) = (held, Milligram(0));
                    }
                    c.tell(Notice::HosesCleared(held));
                    c.tell(Notice::Release);
                    return DONE;
                }
                Err(status) => return status,
            },
        }
        Status::Running
    }

    fn draw(&mut self, c: &mut Ctx<'_>, spent: Millis, below: Millis) -> Status {
        c.want = c.couplers();
        let Some(p) = c.vehicle_pressure() else { return failed(GiveUp::ReadingBad) };
        let saturation = i64::from(c.cfg.refrigerant.p_sat(c.ambient()).0);
        let low = i64::from(p.0).saturating_mul(1000) < saturation.saturating_mul(DRAWN);
        let below = if low { below.plus(c.dt) } else { Millis(0) };
        self.step.at = Step::Draw { below };
        if below >= DRAWN_HELD && spent >= DRAW_LEAST || spent >= DRAW_MAX {
            c.ledger.in_hoses = c.ledger.in_hoses.or_less(hose_content(c));
            c.tell(Notice::DrawnIn(p));
            self.step.go(Step::Ask, c.t);
        }
        Status::Running
    }

    fn pull(&mut self, c: &mut Ctx<'_>, spent: Millis, below: Millis) -> Status {
        c.want = path(c).or(c.couplers());
        let Some(p) = c.vehicle_pressure() else { return failed(GiveUp::ReadingBad) };
        let below = if p <= c.cfg.recovery_end { below.plus(c.dt) } else { Millis(0) };
        self.step.at = Step::Pull { below };
        if below >= END_HELD {
            c.want = c.couplers();
            self.step.go(Step::Watch, c.t);
        } else if c.on.has(Actuator::C1) && spent > PULL_MAX.plus(c.compressor_ready_in) {
            return failed(GiveUp::RecoveryTimeout);
        }
        Status::Running
    }
}
