//! Non-condensables: judge the rested vessel, then purge its vapour space in short pulses.
//!
//! Starts when the vessel has rested 4 h and wall and ambient agree within 2 K (I06), since 1 K of wrong temperature looks
//! like 19 kPa of air; where they part by the cooling of the purge itself, the next pulse waits. Done when the excess is below its lower limit. Given up at the loss limit or after too many pulses.

use super::{Ctx, DONE, GiveUp, Outcome, Status, failed, skipped};
use crate::frame::{Actuator, Actuators};
use crate::sense::Readings;
use crate::talk::Notice;
use crate::units::*;

/// Rest before the vessel may be judged (hazard table I06).
pub const REST: Millis = Millis::from_secs(4 * 3600);
/// Excess over saturation that calls for a purge: 5 psi, the rule behind the old non-condensables tables (from memory).
pub const START: AbsPa = AbsPa(34_474);
/// Excess at which purging stops.
pub const STOP: AbsPa = AbsPa(17_000);
const PULSE: Millis = Millis(2_000);
const GAP: Millis = Millis(28_000);
/// Venting cools the vessel, and a wall unlike the ambient can't be judged: how long the next pulse waits for it (own choice).
const STEADY_WAIT: Millis = Millis::from_secs(3_600);
const MAX_PULSES: u8 = 90;
/// Purging 7 g of air from a well-mixed vessel at 25 degC costs some 540 g of refrigerant (solved case e2): worse than that, stop.
const LOSS_LIMIT: Milligram = Milligram(600_000);

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Purge {
    step: Step,
    since: Millis,
    start: Milligram,
    pulses: u8,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Step {
    #[default]
    Judge,
    Weigh,
    Pulse,
    Gap,
    Settle,
}

/// Vessel pressure above saturation at the wall temperature, if both can be read.
pub fn excess(c: &Ctx<'_>) -> Option<AbsPa> {
    let (p, t) = (c.r.pt1.usable()?, c.r.tt1.usable()?);
    Some(p.minus(c.cfg.refrigerant.p_sat(t)))
}

/// I06: rested, of known temperature and pressure. The excess itself is judged between pulses only: a pulse draws the pressure down
/// faster than the wall follows.
pub fn permitted(r: &Readings, rest: Millis) -> bool {
    rest >= REST && vessel_steady(r) && r.pt1.usable().is_some()
}

/// Wall and ambient agree within 2 K: the vessel's temperature is known (I06 permissive).
pub fn vessel_steady(r: &Readings) -> bool {
    matches!((r.tt1.usable(), r.tt4.usable()), (Some(wall), Some(air)) if wall.minus(air).0.saturating_abs() < 200)
}

impl Purge {
    fn go(&mut self, step: Step, t: Millis) {
        (self.step, self.since) = (step, t);
    }

    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        let spent = c.t.minus(self.since);
        match self.step {
            Step::Judge => {
                if c.vessel_rest < REST || !vessel_steady(c.r) {
                    return skipped(GiveUp::NotRested);
                }
                let Some(excess) = excess(c) else { return failed(GiveUp::ReadingBad) };
                c.tell(Notice::VesselExcess(excess));
                if excess < START {
                    return skipped(GiveUp::NothingToPurge);
                }
                self.go(Step::Weigh, c.t);
            }
            Step::Weigh => match c.resting_vessel_mass() {
                Some(mass) => {
                    self.start = mass;
                    self.go(Step::Pulse, c.t);
                }
                None if spent > Millis::from_secs(90) => return failed(GiveUp::ScaleUnsteady),
                None => {}
            },
            Step::Pulse => {
                c.want = Actuators::of(&[Actuator::Xv7, Actuator::K1]);
                if spent >= PULSE {
                    self.pulses = self.pulses.saturating_add(1);
                    self.go(Step::Gap, c.t);
                }
            }
            Step::Gap if spent >= GAP => return self.after_gap(c),
            Step::Gap => {}
            Step::Settle => match c.resting_vessel_mass() {
                Some(mass) => {
                    c.ledger.vented = c.ledger.vented.plus(self.start.minus(mass).or_more(Milligram(0)));
                    c.tell(Notice::Purged(c.ledger.vented));
                    return DONE;
                }
                None if spent > Millis::from_secs(90) => return Status::Ended(Outcome::Failed(GiveUp::ScaleUnsteady)),
                None => {}
            },
        }
        let whole = PULSE.plus(GAP).0.saturating_mul(u32::from(MAX_PULSES));
        c.progress_by_time(Millis(whole));
        Status::Running
    }

    fn after_gap(&mut self, c: &mut Ctx<'_>) -> Status {
        let Some(excess) = excess(c) else { return failed(GiveUp::ReadingBad) };
        let lost = c.vessel_mass().map_or(Milligram(0), |m| self.start.minus(m));
        if excess < STOP {
            self.go(Step::Settle, c.t);
        } else if lost > LOSS_LIMIT || self.pulses >= MAX_PULSES {
            c.ledger.vented = c.ledger.vented.plus(lost);
            return failed(GiveUp::PurgeLossLimit);
        } else if !vessel_steady(c.r) {
            if c.t.minus(self.since) > STEADY_WAIT {
                c.ledger.vented = c.ledger.vented.plus(lost);
                return failed(GiveUp::NotRested);
            }
        } else {
            self.go(Step::Pulse, c.t);
        }
        Status::Running
    }
}
