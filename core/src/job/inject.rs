//! Let the vacuum draw in new oil by weight: what was drained, and what the order adds.
//!
//! Starts in vacuum. High-voltage vehicles are refused, flushed or not: nobody measures what a flush leaves, and which oil is in the bottle
//! nobody asks (hazard H11). Done when the bottle has lost the dose.

use super::context::{Ctx, DONE, Status, at_rest, failed, skipped};
use super::ledger::Ledger;
use super::step::Stepped;
use crate::frame::{Actuator, Actuators};
use crate::order::Sides;
use crate::sense::Readings;
use crate::talk::Notice;
use crate::units::*;
use crate::verdict::GiveUp;

/// Oil is drawn in by vacuum: the upper end of PT-4 less its class.
const VACUUM: AbsPa = AbsPa(9_500);
/// A bottle that is not at rest by then is leant on (own choice).
const WEIGH_MAX: Millis = Millis::from_secs(60);
/// 100 mL at 1.6 g/s take a minute (own figures).
const FLOW_MAX: Millis = Millis::from_secs(120);
/// Oil still on its way when the valve shuts (valve stroke and scale lag at some 2 g/s; own choice).
const LEAD: Milligram = Milligram(600);
/// A dose smaller than this is not worth opening the valve.
const LEAST: Milligram = Milligram(2_000);

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct InjectOil {
    step: Stepped<Step>,
    dose: Milligram,
    start: Milligram,
    booked: Milligram,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Step {
    #[default]
    Enter,
    Weigh,
    Flow,
    WeighAgain,
}

step_words!(InjectOil: Enter => "enter", Weigh => "weigh", Flow => "flow", WeighAgain => "weigh_again");

impl InjectOil {
    pub(super) fn book(&self, r: &Readings, ledger: &mut Ledger) {
        if let (Step::Flow | Step::WeighAgain, Some(mass)) = (self.step.at, r.wt3.mass.usable()) {
            ledger.oil_injected = self.booked.plus(self.start.minus(mass).or_more(Milligram(0)));
        }
    }

    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        let spent = self.step.spent(c.t);
        c.progress_by_time(Millis::from_secs(30));
        match self.step.at {
            Step::Enter => {
                let replaced = if c.order.oil_replace { c.ledger.oil_drained } else { Milligram(0) };
                self.dose = replaced.plus(c.order.oil_extra);
                if self.dose < LEAST {
                    return skipped(GiveUp::NotOrdered);
                }
                // Once an order said so it holds for this vehicle, whatever the next one says.
                if c.order.high_voltage || c.link.high_voltage() {
                    return skipped(GiveUp::HighVoltage);
                }
                if c.r.pt4.usable().is_none_or(|p| p > VACUUM) {
                    return failed(GiveUp::NoVacuum);
                }
                self.step.go(Step::Weigh, c.t);
            }
            Step::Weigh => match at_rest(&c.r.wt3, spent, WEIGH_MAX) {
                Ok(mass) if mass < self.dose => return failed(GiveUp::NoOil),
                Ok(mass) => {
                    (self.start, self.booked) = (mass, c.ledger.oil_injected);
                    self.step.go(Step::Flow, c.t);
                }
                Err(status) => return status,
            },
            Step::Flow => {
                // Towards the high side where there is one: oil then enters before the condenser and not at the compressor.
                let way = if c.order.sides == Sides::Low { Actuator::Xv1 } else { Actuator::Xv2 };
                c.want = Actuators::of(&[Actuator::Xv9, way, Actuator::K1]);
                let Some(mass) = c.r.wt3.mass.usable() else { return failed(GiveUp::ReadingBad) };
                if self.start.minus(mass) >= self.dose.minus(LEAD) {
                    c.want = Actuators::SAFE;
                    self.step.go(Step::WeighAgain, c.t);
                } else if spent > FLOW_MAX {
                    return failed(GiveUp::NoOil);
                }
            }
            Step::WeighAgain => match at_rest(&c.r.wt3, spent, WEIGH_MAX) {
                Ok(mass) => {
                    let given = self.start.minus(mass);
                    c.ledger.oil_injected = self.booked.plus(given);
                    c.tell(Notice::OilInjected(given));
                    return DONE;
                }
                Err(status) => return status,
            },
        }
        Status::Running
    }
}
