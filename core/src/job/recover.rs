//! Recover the refrigerant, hold, and recover again while pressure comes back.
//!
//! Starts with a valid identification, room in the vessel for the charge of the label and a resting scale. Done when the vacuum has stood five minutes
//! and is steady over the last two (SAE J1989 3.2.1, read in 40 CFR 82 Subpart B App. A). Given up at the fill limit, after
//! 20 min of pulling that bring nothing or four hours in all, or when pressure keeps coming back. The mass is the difference
//! of two resting readings.
//!
//! Air is drawn in only below the barometer, and it shows in the vessel: pressure over saturation grows while the hoses stand
//! still. Liquid that boils stands still as well, but brings mass and no such pressure.

use super::context::{Ctx, DONE, Status, at_rest, failed, skipped};
use super::ledger::Ledger;
use super::step::Stepped;
use crate::frame::{Actuator, Actuators};
use crate::order::{PhaseKind, WorkOrder};
use crate::sense::Readings;
use crate::talk::Notice;
use crate::units::*;
use crate::verdict::GiveUp;

/// Pump-off wait after recovery (J1989 3.2.1: 5 min).
const HOLD: Millis = Millis::from_secs(300);
/// Window that must be steady at the end of the hold (J1989 3.2.1: 2 min).
const STEADY: Millis = Millis::from_secs(120);
/// Rise over that window that still counts as steady (own choice).
const STEADY_RISE: AbsPa = AbsPa(6_000);
/// Oil gives off its gas slowly; the hold may last this long before another pull is tried.
const HOLD_MAX: Millis = Millis::from_secs(600);
/// Pulling in all: 4.5 kg out of a bus of 20 L with 500 mL of oil took some two hours (own figure).
const PULL_MAX: Millis = Millis::from_secs(4 * 3600);
/// Pulling that brings nothing, in all (own choice).
const IDLE_MAX: Millis = Millis::from_secs(20 * 60);
/// Less than this in a window of [`STAGNANT_TIME`] is nothing: what a running compressor shakes the scale by (own choice).
const IDLE_GAIN: Milligram = Milligram::from_grams(3);
/// Oil and cold spots give their refrigerant back in two to four pulls (own figures).
const MAX_PULLS: u8 = 6;
/// A platform that is not at rest by then is leant on (own choice).
const WEIGH_MAX: Millis = Millis::from_secs(120);
/// End pressure must be seen this long, so that one noisy reading doesn't end the pull.
const END_HELD: Millis = Millis::from_secs(3);
/// Air is judged over windows of this length, in which the pressure falls by less than [`STAGNANT_FALL`] (H05, own figures).
const STAGNANT_TIME: Millis = Millis::from_secs(120);
/// Noise and drift of the gauges over a window, twice (own figure).
const STAGNANT_FALL: AbsPa = AbsPa(5_000);
/// An open circuit stands this near the barometer however long the compressor runs,
const STAGNANT_BAND: i32 = 20_000;
/// and brings 18 g of air in a window; the same compressor draws 60 g of gas at that pressure (own figures).
const STAGNANT_GAIN: Milligram = Milligram::from_grams(30);
/// Class of the hose gauges, for "below the barometer".
const HOSE_CLASS: AbsPa = AbsPa(2_000);
/// Growth of the vessel's pressure over saturation in one window that is air: a hole of 0.8 mm adds 100 kPa, gas that
/// warms the vessel less than 20 kPa at these pressures (own figures).
const AIR_GROWTH: AbsPa = AbsPa(40_000);
/// Growth since the start of the phase that is air, where it still grows; warm liquid alone explains some 100 kPa.
const AIR_EXCESS: AbsPa = AbsPa(200_000);
/// Below the barometer the vessel's pressure over saturation may not grow by more air than this share of what comes: a fifteenth by mass is
/// a fifth by volume. It falls where gas alone comes, for the wall follows (own figures).
const AIR_PART: i32 = 15;
/// What may go beyond that share, for each gram of the vessel's heel, mg: 4 g of the reference vessel, whose scale and gauges shake by a gram
/// each; a wall that lags behind warm gas looks like the more air the larger the vessel is (own choice).
const AIR_BEYOND: i32 = 4;
/// How often that is looked at.
const AIR_LOOK: Millis = Millis(1_000);
/// Growth in a window that is no noise of PT-1 and TT-1.
const STILL_GROWS: AbsPa = AbsPa(5_000);

/// Gas runs from the hoses to the separator: while the compressor pulls it can't stand above them by more than two gauges of
/// class 0.1 % of 35 bar differ (own choice).
const BEHIND: AbsPa = AbsPa(20_000);
/// A filter and a valve stroke are over (own choice).
const BEHIND_HELD: Millis = Millis::from_secs(10);
/// The path from the couplers to the vessel, compressor on.
pub const PATH: Actuators = Actuators::of(&[Actuator::Xv3, Actuator::Xv4, Actuator::C1]);

/// XV-4 and C-1 are on by then, or will be in the next second.
const ABOUT_TO: Millis = Millis(500);

/// [`PATH`] once the compressor may start. Before, the separator would fill with what boils in a hot vehicle and condenses in a
/// cold one, with nothing that draws from it (H07).
pub fn path(c: &Ctx<'_>) -> Actuators {
    if c.compressor_ready_in <= ABOUT_TO { PATH } else { Actuators::NONE }
}

/// What the vehicle may give: the charge of its label, which is also what an order charges; zero where it names none.
pub fn comes(order: &WorkOrder) -> Milligram {
    if order.phases.has(PhaseKind::Charge) { order.charge } else { Milligram(0) }
}

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Recover {
    step: Stepped<Step>,
    start: Milligram,
    booked: Milligram,
    above: Millis,
    pulled: Millis,
    idle: Millis,
    pulls: u8,
    /// Vessel pressure over saturation when the phase began, where it could be read.
    excess: Option<AbsPa>,
    /// Air that came in, by the growth of that pressure; the scale weighs it too.
    air: Milligram,
    air_before: Milligram,
    window: Option<Window>,
    /// The vessel's mass and excess since which more air has come than may, and the time since the last look.
    clean: Option<(Milligram, AbsPa)>,
    looked: Millis,
}

/// How a window of pulling began.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Window {
    lasted: Millis,
    hoses: AbsPa,
    vessel: Option<Milligram>,
    excess: Option<AbsPa>,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Step {
    #[default]
    Enter,
    Weigh,
    /// With the time that the end pressure has been seen.
    Pull {
        below: Millis,
    },
    /// With the pressure at the start of the window that must be steady, and that start.
    Hold {
        mark: AbsPa,
        at: Millis,
    },
    WeighAgain,
}

step_words!(Recover: Enter => "enter", Weigh => "weigh", Pull => "pull", Hold => "hold", WeighAgain => "weigh_again");

impl Step {
    /// A pull that has seen no end pressure yet.
    const PULL: Self = Self::Pull { below: Millis(0) };
}

impl Recover {
    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        let spent = self.step.spent(c.t);
        c.progress_by_time(Millis::from_secs(20 * 60));
        match self.step.at {
            Step::Enter => {
                if c.link.open_to_air() {
                    return skipped(GiveUp::NothingToRecover);
                }
                if c.link.draws_air() {
                    return failed(GiveUp::DrawsAir);
                }
                if !c.link.may_recover() {
                    return failed(GiveUp::NoIdentity);
                }
                self.step.go(Step::Weigh, c.t);
                Status::Running
            }
            Step::Weigh => match at_rest(&c.r.wt1, spent, WEIGH_MAX) {
                // A pause may have lasted since the phase began.
                Ok(_) if !c.link.may_recover() => failed(GiveUp::NoIdentity),
                Ok(mass) if mass >= c.fill_limit => failed(GiveUp::VesselFull),
                Ok(mass) if c.fill_limit.minus(mass) < comes(c.order) => {
                    failed(GiveUp::NoRoom { room: c.fill_limit.minus(mass), needs: comes(c.order) })
                }
                Ok(mass) => {
                    (self.start, self.booked, self.air_before) = (mass, c.ledger.recovered, c.ledger.air);
                    self.excess = over_saturation(c);
                    self.step.go(Step::PULL, c.t);
                    Status::Running
                }
                Err(status) => status,
            },
            Step::Pull { below } => self.pull(c, below),
            Step::Hold { mark, at } => self.hold(c, spent, mark, at),
            Step::WeighAgain => match at_rest(&c.r.wt1, spent, WEIGH_MAX) {
                Ok(mass) => {
                    self.weigh_air(c);
                    c.ledger.recovered = self.booked.plus(mass.minus(self.start)).minus(self.air);
                    c.ledger.air = self.air_before.plus(self.air);
                    c.tell(Notice::Recovered(c.ledger.recovered));
                    c.link.recovery_done();
                    DONE
                }
                Err(status) => status,
            },
        }
    }

    /// The machines shake the platform: only the weighing at rest at the end is good for the record.
    pub(super) fn book(&self, r: &Readings, ledger: &mut Ledger) {
        if let (Step::Pull { .. } | Step::Hold { .. } | Step::WeighAgain, Some(mass)) =
            (self.step.at, r.wt1.mass.usable())
        {
            ledger.recovered = self.booked.plus(mass.minus(self.start)).minus(self.air);
            ledger.air = self.air_before.plus(self.air);
        }
    }

    /// What of the gain is air: below the growth that warmth explains it is none.
    fn weigh_air(&mut self, c: &mut Ctx<'_>) {
        let growth = difference(self.excess, over_saturation(c), AbsPa::minus).filter(|g| *g > AIR_GROWTH);
        if let Some(air) = growth.and_then(|growth| super::purge::air_of(c, growth)) {
            self.air = air;
            self.book(c.r, c.ledger);
            c.tell(Notice::AirTaken(air));
        }
    }

    /// Ends it, and row I07 keeps the compressor off behind it.
    fn draws_air(&mut self, c: &mut Ctx<'_>) -> Status {
        self.weigh_air(c);
        c.link.air_drawn();
        failed(GiveUp::DrawsAir)
    }

    fn pull(&mut self, c: &mut Ctx<'_>, below: Millis) -> Status {
        let Some(p) = c.vehicle_pressure() else { return failed(GiveUp::ReadingBad) };
        if c.vessel_mass().is_some_and(|m| m >= c.fill_limit) {
            return failed(GiveUp::VesselFull);
        }
        c.want = path(c).or(c.couplers());
        if c.on.has(Actuator::C1) {
            self.pulled = self.pulled.plus(c.dt);
        }
        let above = c.on.has(Actuator::C1) && c.r.pt5.usable().is_some_and(|behind| behind > p.plus(BEHIND));
        self.above = if above { self.above.plus(c.dt) } else { Millis(0) };
        if self.above > BEHIND_HELD {
            return failed(GiveUp::GaugesDisagree);
        }
        if self.window_shows_air(c, p) || self.outweighs(c, p) {
            return self.draws_air(c);
        }
        let below = if p <= c.cfg.recovery_end { below.plus(c.dt) } else { Millis(0) };
        self.step.at = Step::Pull { below };
        if below >= END_HELD {
            self.pulls = self.pulls.saturating_add(1);
            c.want = Actuators::SAFE;
            c.tell(Notice::RecoveryHold(p));
            self.step.go(Step::Hold { mark: p, at: c.t }, c.t);
        } else if self.pulled > PULL_MAX || self.idle > IDLE_MAX {
            return failed(GiveUp::RecoveryTimeout);
        }
        Status::Running
    }

    /// Follows windows of unbroken pulling; whether the one that ended shows air.
    fn window_shows_air(&mut self, c: &Ctx<'_>, hoses: AbsPa) -> bool {
        if !c.on.has(Actuator::C1) {
            self.window = None;
            return false;
        }
        let fresh = Window { lasted: Millis(0), hoses, vessel: c.vessel_mass(), excess: over_saturation(c) };
        let window = self.window.get_or_insert(fresh);
        window.lasted = window.lasted.plus(c.dt);
        if window.lasted < STAGNANT_TIME {
            return false;
        }
        let then = core::mem::replace(window, fresh);
        let stands = then.hoses.minus(hoses) < STAGNANT_FALL;
        let gain = difference(then.vessel, fresh.vessel, Milligram::minus);
        if stands && gain.is_none_or(|g| g < IDLE_GAIN) {
            self.idle = self.idle.plus(then.lasted);
        }
        let growth = difference(then.excess, fresh.excess, AbsPa::minus);
        let in_all = difference(self.excess, fresh.excess, AbsPa::minus);
        let swells = growth.is_some_and(|g| g > AIR_GROWTH)
            || in_all.is_some_and(|g| g > AIR_EXCESS) && growth.is_some_and(|g| g > STILL_GROWS);
        let near = hoses.minus(c.cfg.barometer).0.saturating_abs() < STAGNANT_BAND;
        let brings_little = gain.is_none_or(|g| g < STAGNANT_GAIN);
        hoses <= c.cfg.barometer.plus(HOSE_CLASS) && stands && (swells || near && brings_little)
    }

    /// Whether more air comes than may, by what the vessel's pressure gains over saturation against what its scale does. It begins anew
    /// wherever less came: a leak grows on the gas that is left, and only below the barometer.
    fn outweighs(&mut self, c: &Ctx<'_>, hoses: AbsPa) -> bool {
        if !c.on.has(Actuator::C1) || hoses > c.cfg.barometer.plus(HOSE_CLASS) {
            self.clean = None;
            return false;
        }
        self.looked = self.looked.plus(c.dt);
        if self.looked < AIR_LOOK {
            return false;
        }
        self.looked = Millis(0);
        // With less in it than its heel, a vessel fills up to saturation with warm gas.
        let now = c.vessel_mass().filter(|mass| *mass > c.cfg.vessel_heel).zip(over_saturation(c));
        let (Some((mass, excess)), Some((then, before))) = (now, self.clean) else {
            self.clean = now;
            return false;
        };
        let air = super::purge::air_of(c, excess.minus(before)).unwrap_or(Milligram(0));
        let beyond = Milligram(air.0.saturating_mul(AIR_PART)).minus(mass.minus(then).or_more(Milligram(0)));
        if beyond <= Milligram(0) {
            self.clean = now;
        }
        beyond > Milligram((c.cfg.vessel_heel.0 / 1_000).saturating_mul(AIR_BEYOND))
    }

    fn hold(&mut self, c: &mut Ctx<'_>, spent: Millis, mark: AbsPa, at: Millis) -> Status {
        let Some(p) = c.vehicle_pressure() else { return failed(GiveUp::ReadingBad) };
        if p > c.cfg.recovery_restart {
            // The vessel has had its hold to even out: what is left over saturation is air.
            let in_all = difference(self.excess, over_saturation(c), AbsPa::minus);
            if p <= c.cfg.barometer.plus(HOSE_CLASS) && in_all.is_some_and(|g| g > AIR_EXCESS) {
                return self.draws_air(c);
            }
            return self.pull_again(c, p);
        }
        if c.t.minus(at) >= STEADY {
            let steady = p.minus(mark) <= STEADY_RISE;
            self.step.at = Step::Hold { mark: p, at: c.t };
            if spent >= HOLD && steady {
                self.step.go(Step::WeighAgain, c.t);
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
        self.step.go(Step::PULL, c.t);
        Status::Running
    }
}

/// Vessel pressure above saturation. A vessel that holds gas alone stands below it and fills up to it with what comes: no sign of air.
fn over_saturation(c: &Ctx<'_>) -> Option<AbsPa> {
    super::purge::excess(c).map(|excess| AbsPa(excess.0.max(0)))
}

/// From `then` to `now`, where both are known.
fn difference<T>(then: Option<T>, now: Option<T>, minus: impl Fn(T, T) -> T) -> Option<T> {
    Some(minus(now?, then?))
}
