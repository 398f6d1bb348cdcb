//! A procedure of upkeep: steps its table, whichever it is, and says by which reading it ended.
//!
//! Starts where its first steps allow it. Done when the table is through and what it leaves was read back. Given up at the step whose
//! condition does not come in its time. Nothing counts as adjusted, tried or exchanged before its step says so.

use super::bridges::{bridge_of, bridges, further, gains, rests};
use super::context::{Ctx, DONE, Status, failed};
use super::gauges::{Unread, read};
use super::ledger::Ledger;
use crate::connection::Connection;
use crate::frame::{Actuator, Actuators, Switches};
use crate::kept::{Left, Proof};
use crate::order::{PhaseKind, Procedure, Sides, Task};
use crate::sense::Readings;
use crate::talk::{Notice, Question};
use crate::token::Part;
use crate::units::*;
use crate::upkeep::procedures::{RINSING, steps};
use crate::upkeep::steps::{Gauge, Level, Step, Until};
use crate::verdict::{GasVerdict, GiveUp};

/// XV-4 and C-1 are on by then, or will be in the next second.
const ABOUT_TO: Millis = Millis(500);
/// The way to the vessel, which waits for C-1.
const TO_VESSEL: Actuators = Actuators::of(&[Actuator::Xv3, Actuator::Xv4, Actuator::C1]);
/// A platform has felt a weight by then, and its filter shows it (own figure: jumps are believed after two seconds).
const SETTLES: Millis = Millis::from_secs(5);
/// What of a rinse may still be on its way when C-1 has drawn the hoses down: in separator, its oil and condenser (own choice).
const RETURNS: Milligram = Milligram::from_grams(20);
/// Of the reference weight, what a sound scale may show it wrong by: a tenth of a per cent,
const CLASS: i32 = 1_000;
/// and this besides, for noise and creep, mg (own choices: the class of the bridges is 0.02 %).
const CLASS_LEAST: i32 = 2_000;

/// How often hoses are rinsed (own choice: each rinse leaves a part of what was there),
const RINSES: u8 = 3;
/// and the steps of one, from its weighing to its weighing back.
const RINSE_STEPS: u8 = 6;

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Upkeep {
    at: u8,
    /// The steps of the leak check have followed those of the procedure.
    leak_check: bool,
    since: Millis,
    /// The reading with which a step that watches one began.
    from: Option<i32>,
    /// What the bridges of the scale showed at rest before.
    zero: [Milligram; 2],
    /// What they showed more with the weight on.
    span: [Milligram; 2],
    /// The weight was shown wrong: it is taken off before the procedure ends.
    off: Option<Milligram>,
    /// Refrigerant is coming into the vessel.
    taking: bool,
    /// How often the hoses were rinsed.
    rinsed: u8,
}

/// How it stands with a step.
enum Look {
    Wait,
    Next,
    Fails(Status),
}

use Look::{Fails, Next, Wait};

impl Look {
    const fn when(done: bool) -> Self {
        if done { Next } else { Wait }
    }
    const fn gives_up(why: GiveUp) -> Self {
        Fails(failed(why))
    }
}

impl Upkeep {
    fn table(&self, of: Procedure) -> &'static [Step] {
        steps(if self.leak_check { Procedure::InternalLeak } else { of })
    }

    /// The part whose code is waited for.
    pub(super) fn awaits(&self, of: Procedure) -> Option<Part> {
        match self.table(of).get(usize::from(self.at))?.until {
            Until::Life(part) => Some(part),
            _ => None,
        }
    }

    /// Whether the vessel may be off its platform: from the question for it until what came in its place was weighed.
    pub(super) fn vessel_off(&self, of: Procedure) -> bool {
        let changes = |step: &Step| step.until == Until::Done(Task::ChangeVessel);
        let table = self.table(of);
        let here = usize::from(self.at);
        table.get(here).is_some_and(changes) || table.get(here.wrapping_sub(1)).is_some_and(changes)
    }

    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        if c.order.procedure == Procedure::Flush && !c.r.switches.closed(Switches::FLUSH_PORT) {
            return failed(GiveUp::CouplersMoved);
        }
        // A hose that hangs in its holder is not rinsed with the other.
        if c.order.procedure == Procedure::Decontaminate
            && (c.order.sides != Sides::Both || !c.r.switches.closed(Switches::ZS2_COUPLED))
        {
            return failed(GiveUp::NotCoupled);
        }
        let table = self.table(c.order.procedure);
        let Some(step) = table.get(usize::from(self.at)) else { return DONE };
        self.want(c, step);
        let spent = c.t.minus(self.since);
        match self.look(c, step, spent) {
            Next => self.next(c, step),
            Fails(status) => return status,
            Wait if spent > Millis::from_secs(u32::from(step.within)) => return failed(self.late(c, step)),
            Wait => {}
        }
        c.progress_by_steps(self.at, table.len());
        Status::Running
    }

    /// What is on, and what is waited for: the time of a step begins with C-1, and what a step watches is watched once all that it asks for is on.
    fn want(&mut self, c: &mut Ctx<'_>, step: &Step) {
        let hanging = Actuators::of(&[Actuator::Xv1, Actuator::Xv2]).without(c.couplers());
        c.want = step.on.without(hanging);
        if step.on.has(Actuator::C1) && c.compressor_ready_in > ABOUT_TO {
            c.want = c.want.without(TO_VESSEL);
            self.since = c.t;
        }
        // A valve that is withheld would let a hold pass on half of the pipes.
        let watches = matches!(step.until, Until::Passed | Until::Rests(..) | Until::Keeps(..));
        if watches && !c.want.without(c.on).is_empty() {
            (self.since, self.from) = (c.t, None);
        }
    }

    fn next(&mut self, c: &mut Ctx<'_>, step: &Step) {
        (self.at, self.since, self.from) = (self.at.saturating_add(1), c.t, None);
        match step.until {
            Until::LeakCheck => (self.at, self.leak_check) = (0, true),
            Until::Done(_) => {
                if let Some(part) = self.awaits(c.order.procedure) {
                    c.tell(Notice::CodeAwaited(part));
                }
            }
            _ => {}
        }
    }

    fn look(&mut self, c: &mut Ctx<'_>, step: &Step, spent: Millis) -> Look {
        let over = spent >= Millis::from_secs(u32::from(step.within));
        match step.until {
            Until::Done(task) => match c.ask(Question::Task(task)) {
                Some(true) => Next,
                Some(false) => Look::gives_up(GiveUp::Declined),
                None => Wait,
            },
            Until::Passed => Look::when(over),
            Until::Below(gauge, most) => self.reading(c, gauge, |now, _| Look::when(now <= most.value())),
            Until::Above(gauge, least) => self.reading(c, gauge, |now, _| Look::when(now >= least.value())),
            Until::Rests(gauge, most) => {
                self.reading(c, gauge, |now, from| moved(now.saturating_sub(from), most.value(), over))
            }
            Until::Keeps(gauge, most) => {
                self.reading(c, gauge, |now, from| moved(from.saturating_sub(now), most.value(), over))
            }
            Until::Told => {
                c.tell(Notice::LineStands(c.r.pt5.value));
                Next
            }
            Until::Life(part) => Look::when(c.given == Some(part)),
            Until::OnPort => match c.r.service_pressure() {
                Some(p) if p.0 <= Level::NotLoaded.value() => {
                    self.at = self.at.saturating_add(1);
                    Next
                }
                Some(_) => identified(c),
                None => Look::gives_up(GiveUp::ReadingBad),
            },
            Until::Gone(mass) => Look::when(self.gone(c.r).is_some_and(|gone| gone.0 >= mass.value())),
            Until::CameBack => match self.gone(c.r).filter(|_| c.r.wt1.still && spent >= SETTLES) {
                Some(short) if short > RETURNS => Look::gives_up(GiveUp::FlushShort(short)),
                Some(_) => {
                    self.rinsed = self.rinsed.saturating_add(1);
                    if self.rinsed < RINSES {
                        self.at = self.at.saturating_sub(RINSE_STEPS);
                    }
                    Next
                }
                None => Wait,
            },
            Until::Fit(hoses) => leave(c, Left::Hoses(hoses)),
            Until::Rinsed => {
                // The step that asks for the identification is reached after the third alone.
                if c.ledger.filled.plus(Milligram(Level::RinseTwice.value())) < Milligram(0) {
                    self.at = self.at.saturating_add(RINSING);
                } else {
                    // What was identified before the rinse is not what is drawn in after it.
                    c.link.identify_anew();
                }
                Next
            }
            Until::Counts => match rests(&c.r.wt1).filter(|_| spent >= SETTLES) {
                Some(mass) => {
                    (self.zero, self.taking) = ([mass.minus(c.ledger.filled); 2], true);
                    Next
                }
                None => Wait,
            },
            Until::Lost if c.lost => Next,
            Until::Lost => Look::gives_up(GiveUp::RecordSound),
            Until::Switch { open } => Look::when(c.r.switches.closed(Switches::PSH1_HEALTHY) != open),
            Until::Owed(proof) => leave(c, Left::Owed(proof)),
            Until::Proven(proof) => leave(c, Left::Proven(proof)),
            Until::FreshFilter => leave(c, Left::FreshFilter),
            Until::Stored => Look::when(c.stored && spent > Millis(0)),
            Until::LeakCheck => Next,
            Until::Identified => identified(c),
            Until::Room => self.room(c),
            Until::Taken => self.taken(c),
            Until::Weighed => self.weighed(c),
            Until::Zero | Until::Span | Until::Return | Until::Holds if spent < SETTLES => Wait,
            Until::Holds => match rests(&c.r.wt1) {
                Some(mass) => {
                    c.tell(Notice::VesselHolds(mass));
                    Next
                }
                None => Wait,
            },
            Until::Zero | Until::Span | Until::Return => self.weigh(c, step.until),
            Until::Adjusted if c.order.procedure == Procedure::CheckWeight => Next,
            Until::Adjusted => self.adjust(c),
            Until::Weighs if bridge_of(c.order.procedure, 0) => leave(c, Left::Proven(Proof::CheckWeight)),
            Until::Weighs => Next,
        }
    }

    /// Looks at a reading, beside the one with which the step began.
    fn reading(&mut self, c: &Ctx<'_>, gauge: Gauge, judge: impl FnOnce(i32, i32) -> Look) -> Look {
        match read(c, gauge) {
            Ok(now) => judge(now, *self.from.get_or_insert(now)),
            Err(Unread::Bad) => Look::gives_up(GiveUp::ReadingBad),
            Err(Unread::Doubtful) => Wait,
        }
    }

    /// Why a step that took too long is given up.
    fn late(&self, c: &Ctx<'_>, step: &Step) -> GiveUp {
        match step.until {
            Until::Done(_) | Until::Life(_) => GiveUp::NoAnswer,
            Until::Below(Gauge::Vacuum, _) if step.on.has(Actuator::Xv1) => GiveUp::NoVacuum,
            Until::Below(Gauge::Vacuum, _) => GiveUp::PumpShallow(c.r.pt4.value),
            Until::Below(Gauge::Hoses, Level::Spread) => {
                read(c, Gauge::Hoses).map_or(GiveUp::ReadingBad, |p| GiveUp::CylinderFull(AbsPa(p)))
            }
            Until::Below(Gauge::Hoses | Gauge::Separator, _) | Until::Taken if step.within > 0 => {
                GiveUp::RecoveryTimeout
            }
            Until::Below(gauge @ (Gauge::Hoses | Gauge::Separator), _) => {
                read(c, gauge).map_or(GiveUp::ReadingBad, |p| GiveUp::LineLoaded(AbsPa(p)))
            }
            Until::Below(Gauge::VesselPressure, _) => GiveUp::NotEvacuated(c.r.pt1.value),
            Until::Gone(_) => GiveUp::ChargeStalled,
            Until::CameBack
            | Until::Zero
            | Until::Span
            | Until::Return
            | Until::Room
            | Until::Weighed
            | Until::Counts
            | Until::Holds => GiveUp::ScaleUnsteady,
            Until::Stored => GiveUp::NotStored,
            _ => GiveUp::NotProven,
        }
    }

    /// Weighs at rest: before, with the weight, and after.
    fn weigh(&mut self, c: &mut Ctx<'_>, at: Until) -> Look {
        let Some(shown) = bridges(c.r, c.order.procedure) else { return Wait };
        let mut more = [Milligram(0); 2];
        for (more, (shown, zero)) in more.iter_mut().zip(shown.into_iter().zip(self.zero)) {
            *more = shown.minus(zero);
        }
        let limit = (c.order.mass.0 / CLASS).saturating_add(CLASS_LEAST);
        match at {
            Until::Zero => self.zero = shown,
            Until::Span => {
                let off = further(more.map(|more| more.minus(c.order.mass)));
                c.tell(Notice::WeightOff(off));
                self.span = more;
                let checks = c.order.procedure == Procedure::CheckWeight;
                self.off = (checks && off.0.saturating_abs() > limit || gains(c, self.span).is_none()).then_some(off);
            }
            _ => {
                if let Some(off) = self.off {
                    return Look::gives_up(GiveUp::WeightOff(off));
                }
                let off = further(more);
                if off.0.saturating_abs() > limit {
                    return Look::gives_up(GiveUp::NoReturn(off));
                }
            }
        }
        Next
    }

    fn adjust(&mut self, c: &mut Ctx<'_>) -> Look {
        match gains(c, self.span) {
            Some(gains) => leave(c, Left::Spans(gains)),
            None => Look::gives_up(GiveUp::ReadingBad),
        }
    }

    fn room(&mut self, c: &Ctx<'_>) -> Look {
        let Some(mass) = rests(&c.r.wt1) else { return Wait };
        let (room, needs) = (c.fill_limit.minus(mass), c.order.mass);
        if room < needs {
            return Look::gives_up(GiveUp::NoRoom { room, needs });
        }
        (self.zero, self.taking) = ([mass; 2], true);
        Next
    }

    /// What came since the vessel was weighed.
    fn came(&self, r: &Readings) -> Option<Milligram> {
        let [from, _] = self.zero;
        r.wt1.mass.usable().filter(|_| self.taking).map(|mass| mass.minus(from))
    }

    /// What left the vessel since it was weighed, and has not come back.
    fn gone(&self, r: &Readings) -> Option<Milligram> {
        let [from, _] = self.zero;
        r.wt1a.mass.usable().map(|mass| from.minus(mass))
    }

    fn taken(&mut self, c: &Ctx<'_>) -> Look {
        let Some(p) = c.vehicle_pressure() else { return Look::gives_up(GiveUp::ReadingBad) };
        if c.vessel_mass().is_some_and(|mass| mass >= c.fill_limit) {
            return Look::gives_up(GiveUp::VesselFull);
        }
        Look::when(p <= c.cfg.recovery_end || self.came(c.r).is_some_and(|came| came >= c.order.mass))
    }

    fn weighed(&mut self, c: &mut Ctx<'_>) -> Look {
        if rests(&c.r.wt1).is_none() {
            return Wait;
        }
        self.book(c.r, c.ledger);
        c.tell(Notice::Filled(c.ledger.filled));
        Next
    }

    pub(super) fn book(&self, r: &Readings, ledger: &mut Ledger) {
        if let Some(came) = self.came(r) {
            ledger.filled = came;
        }
    }
}

/// What is left for the station to keep; the step behind it waits until that was read back.
fn leave(c: &mut Ctx<'_>, left: Left) -> Look {
    c.left = Some(left);
    Next
}

/// A reading that may not move further than `most`, until the time is over.
const fn moved(by: i32, most: i32, over: bool) -> Look {
    if by > most { Look::gives_up(GiveUp::Leaks) } else { Look::when(over) }
}

/// A known gas at the couplers: asked for once, by an identification that comes first.
fn identified(c: &Ctx<'_>) -> Look {
    let link: &Connection = c.link;
    match link.gas() {
        GasVerdict::Pure if link.may_recover() => Next,
        GasVerdict::Air | GasVerdict::Foreign | GasVerdict::FlammableForeign => {
            Look::gives_up(GiveUp::GasRefused(link.gas()))
        }
        _ if c.identified => Look::gives_up(GiveUp::IdentifierUnsure),
        _ => Fails(Status::First(PhaseKind::Identify)),
    }
}
