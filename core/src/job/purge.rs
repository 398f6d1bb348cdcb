//! Non-condensables: judge the rested vessel, then purge its vapour space in short pulses.
//!
//! Starts when the vessel has rested 4 h and wall and ambient agree within 2 K (I06), since 1 K of wrong temperature looks
//! like 19 kPa of air; where they part by the cooling of the purge itself, the next pulse waits. It says what it will cost and asks. Done when the
//! excess is below its lower limit. Given up at the loss limit or after too many pulses.

use super::bounds;
use super::context::{Ctx, DONE, Status, at_rest, failed, skipped};
use super::ledger::Ledger;
use super::step::Stepped;
use crate::frame::{Actuator, Actuators};
use crate::sense::Readings;
use crate::talk::{Notice, Question};
use crate::units::*;
use crate::verdict::GiveUp;

/// Rest before the vessel may be judged (I06).
pub const REST: Millis = Millis::from_secs(4 * 3600);
/// Excess over saturation that calls for a purge: 5 psi, the rule behind the old non-condensables tables (from memory).
pub const START: AbsPa = AbsPa(34_474);
/// Excess at which purging stops.
pub const STOP: AbsPa = AbsPa(17_000);
/// A platform that is not at rest by then is leant on (own choice).
const WEIGH_MAX: Millis = Millis::from_secs(90);
/// The 2 s of I06.
const PULSE: Millis = Millis(2_000);
/// Between pulses the wall follows the gas, air comes out of the liquid, and the cabinet is blown free of what one pulse let out: with a
/// minute between them each is an event of its own and stays one, some 5 g (own choice).
const GAP: Millis = Millis(61_000);
/// From this fall on, which the gas that went must have brought, a purge is held against it: twice what the cooling of the liquid before its
/// wall looks like (own figure).
const FALL_DUE: i64 = 6_000;
/// So much of it shows at least where it is air: up to a third comes out of the liquid meanwhile (own figure).
const FALL_LEAST: i64 = 3;
/// Venting cools the vessel, and a wall unlike the ambient can't be judged: how long the next pulse waits for it (own choice).
const STEADY_WAIT: Millis = Millis::from_secs(3_600);
/// Wall and ambient must agree so well, in 0.01 K, before a pulse begins: a pulse cools the wall by some tenths, and one that I06 cuts short
/// is none (own choice).
const PULSE_WITHIN: i32 = 150;
/// Purging 7 g of air took some 60 (solved case e2).
const MAX_PULSES: u8 = 90;
/// Purging 7 g of air from a well-mixed vessel at 25 degC costs some 540 g of refrigerant (solved case e2): worse than that, stop.
const LOSS_LIMIT: Milligram = Milligram(600_000);

/// About what it costs to bring `excess` down to [`STOP`], at most [`LOSS_LIMIT`]: the vapour space is swept by its own volume for each
/// factor e of excess, full of saturated gas; half as much again for the air that comes out of the liquid (more than a third of all
/// air in the vessel's solved case).
fn cost(c: &Ctx<'_>, excess: AbsPa) -> Option<Milligram> {
    let (mass, wall, fluid) = (c.vessel_mass()?, c.r.tt1.usable()?, c.cfg.refrigerant);
    let space = gas_space(c, mass, wall)?;
    let saturated = i64::from(fluid.gas_density(fluid.p_sat(wall), wall));
    // Each step takes a tenth off the excess, which sweeps 0.105 of the space.
    let (mut left, mut steps) = (excess.0, 0_i64);
    while left > STOP.0 {
        (left, steps) = (left.saturating_sub(left / 10), steps.saturating_add(1));
    }
    let swept = space.saturating_mul(steps).saturating_mul(105) / 1_000;
    let mg = swept.saturating_mul(saturated) / 1_000_000 * 3 / 2;
    Some(Milligram(i32::try_from(mg).unwrap_or(i32::MAX)).or_less(LOSS_LIMIT))
}

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Purge {
    step: Stepped<Step>,
    start: Milligram,
    booked: Milligram,
    /// Excess before the first pulse.
    from: AbsPa,
    pulses: u8,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Step {
    #[default]
    Judge,
    Ask,
    Weigh,
    Pulse,
    Gap,
    Settle,
}

step_words!(Purge: Judge => "judge", Ask => "ask", Weigh => "weigh", Pulse => "pulse", Gap => "gap", Settle => "settle");

/// Vessel pressure above saturation at the wall temperature, if both can be read.
pub fn excess(c: &Ctx<'_>) -> Option<AbsPa> {
    let (p, t) = (c.r.pt1.usable()?, c.r.tt1.usable()?);
    Some(p.minus(c.cfg.refrigerant.p_sat(t)))
}

/// Volume of the vessel that holds no liquid, in microlitre.
fn gas_space(c: &Ctx<'_>, mass: Milligram, wall: CentiKelvin) -> Option<i64> {
    let density = c.cfg.refrigerant.liquid_density(wall).max(1);
    let liquid = i64::from(mass.0).saturating_mul(1_000_000).checked_div(i64::from(density))?;
    Some(i64::from(c.cfg.vessel.0).saturating_sub(liquid).max(0))
}

/// Air that adds so much to the vessel's pressure, as an ideal gas in what the liquid leaves; what has dissolved is not in it.
///
/// 100 kPa in 8 L at 20 degC are 9.5 g (p V M / R T with 28.965 g/mol).
pub fn air_of(c: &Ctx<'_>, growth: AbsPa) -> Option<Milligram> {
    let (mass, wall) = (c.vessel_mass()?, c.r.tt1.usable()?);
    let space = gas_space(c, mass, wall)?;
    // Pa x microlitre / 0.01 K x 28.965 g/mol / 8.3145 J/(mol K), in mg
    let per_kelvin = i64::from(growth.0.max(0)).saturating_mul(space).checked_div(i64::from(wall.0.max(1)))?;
    Some(Milligram(i32::try_from(per_kelvin.saturating_mul(34_837) / 100_000_000).unwrap_or(i32::MAX)))
}

/// I06: rested, of known temperature and pressure. The excess itself is judged between pulses only: a pulse draws the pressure down
/// faster than the wall follows.
pub fn permitted(r: &Readings, rest: Millis) -> bool {
    rest >= REST && vessel_steady(r) && r.pt1.usable().is_some()
}

/// How far wall and ambient may be apart for the vessel's temperature to be known, 0.01 K (I06).
const STEADY: i32 = 200;

/// Wall and ambient agree within 2 K: the vessel's temperature is known (I06 permissive).
pub fn vessel_steady(r: &Readings) -> bool {
    within(r, STEADY)
}

/// Whether wall and ambient agree within so many 0.01 K.
fn within(r: &Readings, limit: i32) -> bool {
    matches!((r.tt1.usable(), r.tt4.usable()), (Some(wall), Some(air)) if wall.minus(air).0.saturating_abs() < limit)
}

impl Purge {
    pub(super) fn book(&self, r: &Readings, ledger: &mut Ledger) {
        if let (Step::Pulse | Step::Gap | Step::Settle, Some(mass)) = (self.step.at, r.wt1.mass.usable()) {
            ledger.vented = self.booked.plus(self.start.minus(mass).or_more(Milligram(0)));
        }
    }

    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        let spent = self.step.spent(c.t);
        match self.step.at {
            Step::Judge => {
                if c.vessel_rest < REST || !vessel_steady(c.r) {
                    return skipped(GiveUp::NotRested);
                }
                let Some(excess) = excess(c) else { return failed(GiveUp::ReadingBad) };
                c.tell(Notice::VesselExcess(excess));
                if excess < START {
                    return skipped(GiveUp::NothingToPurge);
                }
                self.from = excess;
                let Some(costs) = cost(c, excess) else { return failed(GiveUp::ReadingBad) };
                c.tell(Notice::PurgeCosts(costs));
                self.step.go(Step::Ask, c.t);
            }
            Step::Ask => match c.ask(Question::Purge) {
                Some(true) => self.step.go(Step::Weigh, c.t),
                // The purge is for the vessel's sake; the order may go on without it.
                Some(false) => return skipped(GiveUp::Declined),
                None if spent > bounds::ANSWER_WAIT => return skipped(GiveUp::NoAnswer),
                None => {}
            },
            Step::Weigh => match at_rest(&c.r.wt1, spent, WEIGH_MAX) {
                Ok(mass) => {
                    (self.start, self.booked) = (mass, c.ledger.vented);
                    self.step.go(Step::Pulse, c.t);
                }
                Err(Status::Running) => {}
                Err(status) => return status,
            },
            Step::Pulse => {
                c.want = Actuators::of(&[Actuator::Xv7, Actuator::K1]);
                if spent >= PULSE {
                    self.pulses = self.pulses.saturating_add(1);
                    self.step.go(Step::Gap, c.t);
                }
            }
            Step::Gap if spent >= GAP => return self.after_gap(c),
            Step::Gap => {}
            Step::Settle => match at_rest(&c.r.wt1, spent, WEIGH_MAX) {
                Ok(mass) => {
                    c.ledger.vented = self.booked.plus(self.start.minus(mass).or_more(Milligram(0)));
                    c.tell(Notice::Purged(c.ledger.vented));
                    return DONE;
                }
                Err(Status::Running) => {}
                Err(status) => return status,
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
            self.step.go(Step::Settle, c.t);
        } else if self.no_air(c, excess, lost) {
            return skipped(GiveUp::PulsesSpent);
        } else if lost > LOSS_LIMIT {
            return failed(GiveUp::PurgeLossLimit);
        } else if self.pulses >= MAX_PULSES {
            return failed(GiveUp::PulsesSpent);
        } else if !within(c.r, PULSE_WITHIN) {
            if self.step.spent(c.t) > STEADY_WAIT {
                return failed(GiveUp::NotRested);
            }
        } else {
            self.step.go(Step::Pulse, c.t);
        }
        Status::Running
    }

    /// What was vented was no air: a gauge that reads too high, or a wall that reads too cold, stands over saturation however much goes (F004,
    /// F005). The gas that went takes its share of the air in the space along.
    fn no_air(&self, c: &Ctx<'_>, excess: AbsPa, lost: Milligram) -> bool {
        let Some((mass, wall)) = c.vessel_mass().zip(c.r.tt1.usable()) else { return false };
        let fluid = c.cfg.refrigerant;
        // g/m3 and microlitre make 1e-6 mg.
        let gas = i64::from(fluid.gas_density(fluid.p_sat(wall), wall));
        let held = gas_space(c, mass, wall).map_or(0, |space| space.saturating_mul(gas) / 1_000_000);
        let due = i64::from(self.from.0).saturating_mul(i64::from(lost.0)).checked_div(held).unwrap_or(0);
        let due = due.min(i64::from(self.from.0));
        due >= FALL_DUE && i64::from(self.from.minus(excess).0).saturating_mul(FALL_LEAST) < due
    }
}
