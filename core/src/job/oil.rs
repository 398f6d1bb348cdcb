//! Let the separator settle, drain the used oil into its bottle and weigh it.
//!
//! The bottle is closed and balanced with the separator, so that oil runs by its own weight and no gas is vented; it opens
//! only while the separator is at or below 1.3 bar abs (PT-5, rule of I17). Done when the bottle's scale is quiet.

use super::context::{Ctx, DONE, Status, at_rest, failed};
use super::ledger::Ledger;
use super::step::Stepped;
use crate::frame::{Actuator, Actuators, Switches};
use crate::sense::Readings;
use crate::talk::Notice;
use crate::units::*;
use crate::verdict::GiveUp;

/// Foam falls and refrigerant leaves the oil (own choice).
const SETTLE: Millis = Millis::from_secs(60);
/// Oil runs by its own weight, some grams a second (own figure).
const DRAIN_STEP: Millis = Millis::from_secs(20);
/// The bottle holds a litre; a separator of half a litre is empty long before (own figure).
const DRAIN_MAX: Millis = Millis::from_secs(180);
/// A bottle that is not at rest by then is leant on (own choice).
const WEIGH_MAX: Millis = Millis::from_secs(60);
/// The 1.3 bar abs of I17.
const SAFE_PRESSURE: AbsPa = AbsPa(130_000);
/// A drain step that brings less than this ends the draining.
const QUIET: Milligram = Milligram(500);

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct DrainOil {
    step: Stepped<Step>,
    drain_from: Millis,
    start: Milligram,
    last: Milligram,
    booked: Milligram,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Step {
    #[default]
    Settle,
    Weigh,
    Drain,
    WeighAgain,
}

step_words!(DrainOil: Settle => "settle", Weigh => "weigh", Drain => "drain", WeighAgain => "weigh_again");

impl DrainOil {
    pub(super) fn book(&self, r: &Readings, ledger: &mut Ledger) {
        if let (Step::Drain | Step::WeighAgain, Some(mass)) = (self.step.at, r.wt2.mass.usable()) {
            ledger.oil_drained = self.booked.plus(mass.minus(self.start).or_more(Milligram(0)));
        }
    }

    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        let spent = self.step.spent(c.t);
        c.progress_by_time(Millis::from_secs(120));
        if !c.r.switches.closed(Switches::LS1_NOT_FULL) {
            return failed(GiveUp::OilBottleFull);
        }
        match self.step.at {
            Step::Settle => {
                let Some(p) = c.r.pt5.usable() else { return failed(GiveUp::ReadingBad) };
                if p > SAFE_PRESSURE {
                    return failed(GiveUp::SeparatorPressure(p));
                }
                if spent >= SETTLE {
                    self.step.go(Step::Weigh, c.t);
                }
            }
            Step::Weigh => match at_rest(&c.r.wt2, spent, WEIGH_MAX) {
                Ok(mass) => {
                    (self.start, self.last, self.drain_from) = (mass, mass, c.t);
                    self.booked = c.ledger.oil_drained;
                    self.step.go(Step::Drain, c.t);
                }
                Err(status) => return status,
            },
            Step::Drain => {
                c.want = Actuators::of(&[Actuator::Xv8, Actuator::K1]);
                if spent >= DRAIN_STEP {
                    let Some(mass) = c.r.wt2.mass.usable() else { return failed(GiveUp::ReadingBad) };
                    let gained = mass.minus(self.last);
                    self.last = mass;
                    if gained < QUIET || c.t.minus(self.drain_from) > DRAIN_MAX {
                        c.want = Actuators::SAFE;
                        self.step.go(Step::WeighAgain, c.t);
                    } else {
                        self.step.go(Step::Drain, c.t);
                    }
                }
            }
            Step::WeighAgain => match at_rest(&c.r.wt2, spent, WEIGH_MAX) {
                Ok(mass) => {
                    let drained = mass.minus(self.start).or_more(Milligram(0));
                    c.ledger.oil_drained = self.booked.plus(drained);
                    c.tell(Notice::OilDrained(drained));
                    return DONE;
                }
                Err(status) => return status,
            },
        }
        Status::Running
    }
}
