//! Empty the hoses into the vessel once the couplers are shut, weigh what they held, and say when they may come off.
//!
//! Starts with the operator's word that both couplers are shut. Done when both hose pressures are down, stay below 1.3 bar
//! abs for 30 s with XV-1 and XV-2 open to the recovered manifold (rule of I31). What comes back corrects the charge shown.

use super::recover::PATH;
use super::{Ctx, DONE, GiveUp, Status, failed};
use crate::frame::{Actuator, Actuators};
use crate::talk::{Notice, Question};
use crate::units::*;

const ANSWER_WAIT: Millis = Millis::from_secs(1200);
const PULL_MAX: Millis = Millis::from_secs(600);
const END_HELD: Millis = Millis::from_secs(5);
const SAFE_PRESSURE: AbsPa = AbsPa(130_000);
const WATCH: Millis = Millis::from_secs(30);
const WEIGH_MAX: Millis = Millis::from_secs(120);

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
pub struct ClearHoses {
    step: Step,
    since: Millis,
    below: Millis,
    start: Milligram,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
enum Step {
    #[default]
    Ask,
    Weigh,
    Pull,
    Watch,
    WeighAgain,
}

impl ClearHoses {
    fn go(&mut self, step: Step, t: Millis) {
        (self.step, self.since) = (step, t);
    }

    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        let spent = c.t.minus(self.since);
        c.progress_by_time(Millis::from_secs(240));
        match self.step {
            Step::Ask => {
                c.ask = Some(Question::ShutCouplers);
                match c.answer {
                    Some(true) => self.go(Step::Weigh, c.t),
                    Some(false) => return failed(GiveUp::Declined),
                    None if spent > ANSWER_WAIT => return failed(GiveUp::NoAnswer),
                    None => {}
                }
            }
            Step::Weigh => match c.resting_vessel_mass() {
                Some(mass) => {
                    self.start = mass;
                    self.go(Step::Pull, c.t);
                }
                None if spent > WEIGH_MAX => return failed(GiveUp::ScaleUnsteady),
                None => {}
            },
            Step::Pull => return self.pull(c, spent),
            Step::Watch => {
                c.want = Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::K1]);
                let Some(p) = c.r.service_pressure() else { return failed(GiveUp::ReadingBad) };
                if p > SAFE_PRESSURE {
                    // A coupler leaks by or still stands open.
                    return failed(GiveUp::KeepsRising);
                }
                if spent >= WATCH {
                    self.go(Step::WeighAgain, c.t);
                }
            }
            Step::WeighAgain => match c.resting_vessel_mass() {
                Some(mass) => {
                    let held = mass.minus(self.start).or_more(Milligram(0));
                    if c.ledger.charge_begun {
                        c.ledger.in_hoses = held;
                    }
                    c.tell(Notice::HosesCleared(held));
                    c.tell(Notice::Release);
                    return DONE;
                }
                None if spent > WEIGH_MAX => return failed(GiveUp::ScaleUnsteady),
                None => {}
            },
        }
        Status::Running
    }

    fn pull(&mut self, c: &mut Ctx<'_>, spent: Millis) -> Status {
        c.want = PATH;
        let Some(p) = c.r.service_pressure() else { return failed(GiveUp::ReadingBad) };
        self.below = if p <= c.cfg.recovery_end { self.below.plus(c.dt) } else { Millis(0) };
        if self.below >= END_HELD {
            c.want = Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::K1]);
            self.go(Step::Watch, c.t);
        } else if c.on.has(Actuator::C1) && spent > PULL_MAX.plus(c.compressor_ready_in) {
            return failed(GiveUp::RecoveryTimeout);
        }
        Status::Running
    }
}
