//! Recover the refrigerant, hold, and recover again while pressure comes back.
//!
//! Starts with a valid identification, room in the vessel and a resting scale. Done when the vacuum has stood five minutes
//! and is steady over the last two (SAE J1989 3.2.1, read in 40 CFR 82 Subpart B App. A). Given up at the fill limit, after
//! 45 min of pulling, or when pressure keeps coming back. The mass is the difference of two resting readings.

use super::{Ctx, DONE, GiveUp, Status, failed};
use crate::frame::{Actuator, Actuators};
use crate::talk::Notice;
use crate::units::*;

/// Pump-off wait after recovery (J1989 3.2.1: 5 min).
const HOLD: Millis = Millis::from_secs(300);
/// Window that must be steady at the end of the hold (J1989 3.2.1: 2 min).
const STEADY: Millis = Millis::from_secs(120);
/// Rise over that window that still counts as steady (own choice).
const STEADY_RISE: AbsPa = AbsPa(6_000);
/// Oil gives off its gas slowly; the hold may last this long before another pull is tried.
const HOLD_MAX: Millis = Millis::from_secs(600);
const PULL_MAX: Millis = Millis::from_secs(45 * 60);
const MAX_PULLS: u8 = 6;
const WEIGH_MAX: Millis = Millis::from_secs(120);
/// End pressure must be seen this long, so that one noisy reading doesn't end the pull.
const END_HELD: Millis = Millis::from_secs(3);
/// An open circuit stands near atmospheric pressure however long the compressor runs: this little fall over
/// [`STAGNANT_TIME`] inside that band ends the pull before the vessel is filled with air (H05, own figures).
const STAGNANT_FALL: AbsPa = AbsPa(3_000);
const STAGNANT_TIME: Millis = Millis::from_secs(120);
const STAGNANT_BAND: i32 = 20_000;
/// Vessel pressure this far above saturation at its wall is air being pressed in; warm liquid alone explains some 100 kPa.
const AIR_EXCESS: AbsPa = AbsPa(200_000);

/// The path from both couplers to the vessel, compressor on.
pub const PATH: Actuators =
    Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::Xv3, Actuator::Xv4, Actuator::C1, Actuator::K1]);

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Recover {
    step: Step,
    since: Millis,
    start: Milligram,
    booked: Milligram,
    below: Millis,
    pulled: Millis,
    pulls: u8,
    mark_at: Millis,
    mark: AbsPa,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Step {
    #[default]
    Enter,
    Weigh,
    Pull,
    Hold,
    WeighAgain,
}

impl Recover {
    fn go(&mut self, step: Step, t: Millis) {
        (self.step, self.since) = (step, t);
    }

    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        let spent = c.t.minus(self.since);
        c.progress_by_time(Millis::from_secs(20 * 60));
        match self.step {
            Step::Enter => {
                if !c.link.may_recover() {
                    return failed(GiveUp::NoIdentity);
                }
                self.go(Step::Weigh, c.t);
                Status::Running
            }
            Step::Weigh => match c.resting_vessel_mass() {
                // A pause may have lasted since the phase began.
                Some(_) if !c.link.may_recover() => failed(GiveUp::NoIdentity),
                Some(mass) if mass >= c.fill_limit => failed(GiveUp::VesselFull),
                Some(mass) => {
                    (self.start, self.booked) = (mass, c.ledger.recovered);
                    self.go(Step::Pull, c.t);
                    Status::Running
                }
                None if spent > WEIGH_MAX => failed(GiveUp::ScaleUnsteady),
                None => Status::Running,
            },
            Step::Pull => {
                self.book(c);
                self.pull(c)
            }
            Step::Hold => {
                self.book(c);
                self.hold(c, spent)
            }
            Step::WeighAgain => match c.resting_vessel_mass() {
                Some(mass) => {
                    c.ledger.recovered = self.booked.plus(mass.minus(self.start));
                    c.tell(Notice::Recovered(c.ledger.recovered));
                    c.link.recovery_done();
                    DONE
                }
                None if spent > WEIGH_MAX => failed(GiveUp::ScaleUnsteady),
                None => Status::Running,
            },
        }
    }

    /// Books what came in so far, so that a recovery given up or aborted leaves no gram out of the ledger. The machines
    /// shake the platform: only the weighing at rest at the end is good for the record.
    fn book(&self, c: &mut Ctx<'_>) {
        if let Some(mass) = c.vessel_mass() {
            c.ledger.recovered = self.booked.plus(mass.minus(self.start));
        }
    }

    fn pull(&mut self, c: &mut Ctx<'_>) -> Status {
        let Some(p) = c.r.service_pressure() else { return failed(GiveUp::ReadingBad) };
        if c.vessel_mass().is_some_and(|m| m >= c.fill_limit) {
            return failed(GiveUp::VesselFull);
        }
        c.want = PATH;
        if c.on.has(Actuator::C1) {
            self.pulled = self.pulled.plus(c.dt);
        }
        if self.draws_air(c, p) {
            return failed(GiveUp::DrawsAir);
        }
        self.below = if p <= c.cfg.recovery_end { self.below.plus(c.dt) } else { Millis(0) };
        if self.below >= END_HELD {
            self.below = Millis(0);
            self.pulls = self.pulls.saturating_add(1);
            c.want = Actuators::SAFE;
            c.tell(Notice::RecoveryHold(p));
            (self.mark, self.mark_at) = (p, c.t);
            self.go(Step::Hold, c.t);
        } else if self.pulled > PULL_MAX {
            return failed(GiveUp::RecoveryTimeout);
        }
        Status::Running
    }

    /// Whether air comes in as fast as the compressor takes it out.
    fn draws_air(&mut self, c: &Ctx<'_>, p: AbsPa) -> bool {
        let pressed = super::purge::excess(c).is_some_and(|e| e > AIR_EXCESS);
        if !c.on.has(Actuator::C1) || self.mark_at.0 == 0 {
            (self.mark, self.mark_at) = (p, c.t);
        } else if c.t.minus(self.mark_at) >= STAGNANT_TIME {
            let stands =
                self.mark.minus(p) < STAGNANT_FALL && p.minus(c.cfg.barometer).0.saturating_abs() < STAGNANT_BAND;
            (self.mark, self.mark_at) = (p, c.t);
            return pressed || stands;
        }
        pressed
    }

    fn hold(&mut self, c: &mut Ctx<'_>, spent: Millis) -> Status {
        let Some(p) = c.r.service_pressure() else { return failed(GiveUp::ReadingBad) };
        if p > c.cfg.recovery_restart {
            return self.pull_again(c, p);
        }
        if c.t.minus(self.mark_at) >= STEADY {
            let steady = p.minus(self.mark) <= STEADY_RISE;
            (self.mark, self.mark_at) = (p, c.t);
            if spent >= HOLD && steady {
                self.go(Step::WeighAgain, c.t);
            } else if spent >= HOLD_MAX {
                return self.pull_again(c, p);
            }
        }
        Status::Running
    }

    fn pull_again(&mut self, c: &mut Ctx<'_>, p: AbsPa) -> Status {
        if self.pulls >= MAX_PULLS {
            return failed(GiveUp::KeepsRising);
        }
        c.tell(Notice::RecoveryRestart(p));
        self.go(Step::Pull, c.t);
        Status::Running
    }
}
