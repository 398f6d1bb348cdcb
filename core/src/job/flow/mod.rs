//! Strings the phases of a work order together: start, hold, resume, abort, repeat, end.
//!
//! A latched trip holds the job; only a fresh press after its reset lets it go on. A circuit judged wet is evacuated again,
//! twice at most. Whatever ended a charge, the hoses are still cleared where that was ordered, unless the couplers moved, which ends the
//! order; and what the vehicle then holds is held against the order.

mod course;

use super::bounds;
use super::context::{Ctx, Progress, Status, failed};
use super::ledger::Ledger;
use super::phase::Phase;
use super::witness::TOLERANCE;
use crate::connection::Connection;
use crate::frame::{Actuators, Switches};
use crate::kept::{BRIDGES, Left};
use crate::order::{PhaseKind, PhaseSet, WorkOrder};
use crate::row::{Watch, WatchSet};
use crate::talk::{Answered, Asked, Notice, Notices, Question, Refusal};
use crate::token::Part;
use crate::units::*;
use crate::verdict::{GiveUp, Outcome};

/// How one phase went, for the service record.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct PhaseRecord {
    /// Which.
    pub kind: PhaseKind,
    /// How it ended.
    pub outcome: Outcome,
    /// Time from its start to its end, holds included.
    pub lasted: Millis,
}

/// Records kept per order: every phase once, and two rounds of drying again.
pub const RECORD_DEPTH: usize = 16;
/// Evacuations per order at most.
const MAX_EVACUATIONS: u8 = 3;
/// A phase whose wishes an interlock withholds for this long is given up.
const BLOCKED_MAX: Millis = Millis::from_secs(600);
/// What moved last shows on a scale within valve stroke and filter, some 2 s; a shaken scale is believed again 2 s later
/// (own choice).
const LEFT_WATCHED: Millis = Millis::from_secs(5);

/// Phases that have nothing to do with what is on the hoses.
const STATION_ONLY: PhaseSet = PhaseSet::of(&[PhaseKind::Purge, PhaseKind::DrainOil]);

/// State of the job.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum JobState {
    /// Nothing ordered.
    #[default]
    Idle,
    /// An order is accepted; air flow is being proven first.
    Starting,
    /// A phase runs.
    Running,
    /// Held by the operator or by a trip.
    Paused,
    /// The order has ended; true where every phase was done or skipped.
    Ended(bool),
}

/// The job.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Job {
    state: JobState,
    order: Option<WorkOrder>,
    last_id: Option<u16>,
    phase: Option<Phase>,
    clock: Millis,
    lasted: Millis,
    blocked: Millis,
    trips: u8,
    evacuations: u8,
    /// An identification was begun in this order.
    identified: bool,
    /// The phase that asked for another one first, and goes on after it.
    then: Option<PhaseKind>,
    all_well: bool,
    question: Option<Asked>,
    /// Number of the last question asked; goes on over orders, so that no press of one is good for another.
    asked: u16,
    progress: Progress,
    /// The mass ledger of this order.
    pub ledger: Ledger,
    /// The ledger as the running phase found it.
    found: Ledger,
    /// A phase that ended short of its plan, and since when: its scale has still to show the last of what moved.
    left: Option<(Phase, Millis)>,
    records: heapless::Vec<PhaseRecord, RECORD_DEPTH>,
    /// What upkeep left in this scan to be kept.
    kept: Option<Left>,
    /// The part that has got its life since the order began, held or not.
    given: Option<Part>,
}

impl Job {
    /// State.
    pub const fn state(&self) -> JobState {
        self.state
    }
    /// Running or held phase.
    pub fn phase(&self) -> Option<PhaseKind> {
        self.phase.as_ref().map(Phase::kind)
    }
    /// The word of the step at which that phase stands ([`Phase::step_words`]); empty without one.
    pub fn step_word(&self) -> &'static str {
        self.phase.as_ref().map_or("", Phase::step_word)
    }
    /// Whether an order is under way.
    pub const fn busy(&self) -> bool {
        matches!(self.state, JobState::Starting | JobState::Running | JobState::Paused)
    }
    /// Number of the order that is under way and what it has charged; 0 where none is.
    pub(crate) fn at_work(&self) -> (u16, Milligram) {
        match self.last_id {
            Some(id) if self.busy() => (id, self.ledger.charged()),
            _ => (0, Milligram(0)),
        }
    }
    /// The open question.
    pub fn question(&self) -> Option<Question> {
        self.question.map(|asked| asked.question)
    }
    /// The open question with its number, which an answer must carry.
    pub const fn asked(&self) -> Option<Asked> {
        self.question
    }
    /// Progress of the running phase.
    pub const fn progress(&self) -> Progress {
        self.progress
    }
    /// How the phases went.
    pub fn records(&self) -> &[PhaseRecord] {
        &self.records
    }

    /// Of the conditions of the interlock table that speak of the running phase, those that do not stand.
    pub fn well(&self, link: &Connection) -> WatchSet {
        /// Nothing is charged, so nothing beyond its order. What rinses the station's own hoses wants neither a second yes nor AT-1.
        const INSIDE: WatchSet = WatchSet::of(&[Watch::ChargeBeyond]);
        match &self.phase {
            Some(Phase::Charge(charge)) => {
                let beyond = self.order.as_ref().is_none_or(|order| self.ledger.beyond(order.charge.plus(TOLERANCE)));
                let inside = if beyond { WatchSet::NONE } else { INSIDE };
                if charge.confirmed() { inside.with(Watch::ChargeUnconfirmed) } else { inside }
            }
            Some(Phase::Upkeep(_)) if self.at_own_pipes() => {
                INSIDE.with(Watch::ChargeUnconfirmed).with(Watch::IdentifierUnsound)
            }
            Some(Phase::Upkeep(_)) => INSIDE.with(Watch::ChargeUnconfirmed),
            // After a charge the hoses hold what came out of the vessel: no identifier is asked.
            Some(Phase::ClearHoses(_)) if link.charged() => INSIDE.with(Watch::IdentifierUnsound),
            _ => INSIDE,
        }
    }

    /// Accepts an order that was checked.
    pub fn start(&mut self, id: u16, order: WorkOrder) -> Result<(), Refusal> {
        if self.busy() {
            return Err(if self.last_id == Some(id) { Refusal::RepeatedId } else { Refusal::Busy });
        }
        if self.last_id == Some(id) {
            return Err(Refusal::RepeatedId);
        }
        *self = Self {
            state: JobState::Starting,
            order: Some(order),
            last_id: Some(id),
            all_well: true,
            asked: self.asked,
            ..Self::default()
        };
        Ok(())
    }
    /// Holds the job.
    pub fn pause(&mut self, say: &mut Notices) -> Result<(), Refusal> {
        match self.state {
            JobState::Starting | JobState::Running => {
                self.state = JobState::Paused;
                self.question = None;
                say.push(Notice::Paused);
                Ok(())
            }
            _ => Err(Refusal::NotRunning),
        }
    }
    /// Goes on; to the proof of air, where no phase had begun.
    pub fn resume(&mut self, say: &mut Notices) -> Result<(), Refusal> {
        match self.state {
            JobState::Paused => {
                self.state = if self.phase.is_some() { JobState::Running } else { JobState::Starting };
                if let Some(kind @ PhaseKind::LeakCheck) = self.phase() {
                    // A rise that went on unwatched can't be judged by its shape: the hold begins anew.
                    self.phase = Some(Phase::new(kind));
                    self.clock = Millis(0);
                }
                say.push(Notice::Resumed);
                Ok(())
            }
            _ => Err(Refusal::NotPaused),
        }
    }
    /// Ends the order here; after a charge was begun, once its hoses are cleared, where that was ordered. A second press ends it
    /// at once.
    pub fn abort(&mut self, say: &mut Notices) -> Result<(), Refusal> {
        if !self.busy() {
            return Err(Refusal::NotRunning);
        }
        if let Some(kind) = self.phase() {
            self.leave(say);
            self.record(kind, Outcome::Aborted, say);
            if self.hoses_due(kind) {
                self.all_well = false;
                self.begin(PhaseKind::ClearHoses, say);
                return Ok(());
            }
        }
        self.end(false, say);
        Ok(())
    }
    /// The couplers moved: what is left of an order for the vehicle that was on them ends here. Its hoses can't be cleared
    /// as they would be otherwise, for nobody knows what is on their other end.
    pub fn couplers_moved(&mut self, say: &mut Notices) {
        let phases = self.order.as_ref().map_or(PhaseSet::default(), |o| o.phases);
        let at = self.phase().or(phases.next(None));
        let alone = |kind: PhaseKind| STATION_ONLY.has(kind) || kind == PhaseKind::Upkeep && self.at_own_pipes();
        let bound = |kind: &PhaseKind| !alone(*kind) && phases.has(*kind) && Some(*kind) >= at;
        if !self.busy() || !PhaseKind::ALL.iter().any(bound) {
            return;
        }
        if let Some(kind) = at {
            self.leave(say);
            self.record(kind, Outcome::Failed(GiveUp::CouplersMoved), say);
            self.refuse_charge(kind, GiveUp::NotReached(kind), say);
        }
        self.end(false, say);
    }
    /// Keeps the question that stays open, closes one that was answered, numbers and tells a new one.
    fn show(&mut self, open: Option<Question>, answer: Option<Answered>, say: &mut Notices) {
        let taken = answer.is_some_and(|answer| Some(answer.question) == open);
        let Some(question) = open.filter(|_| !taken) else {
            self.question = None;
            return;
        };
        if self.question() != open {
            self.asked = self.asked.checked_add(1).unwrap_or(1);
            let asked = Asked { number: self.asked, question };
            say.push(Notice::Asked(asked));
            self.question = Some(asked);
        }
    }

    /// One scan of the running phase. Returns what it wants energised and the sample it asks for.
    pub fn step(&mut self, mut view: View<'_>, link: &mut Connection, say: &mut Notices) -> (Actuators, Option<u16>) {
        self.lasted = self.lasted.plus(view.dt);
        self.book(view.r, view.dt);
        self.given = view.given.or(self.given);
        let answer = view.answer.take();
        if self.state != JobState::Running {
            lapse(answer, None, say);
            return (Actuators::SAFE, None);
        }
        let (Some(order), Some(phase)) = (&self.order, &mut self.phase) else {
            return (Actuators::SAFE, None);
        };
        let first = self.clock == Millis(0);
        self.clock = self.clock.plus(view.dt);
        let mut ctx = Ctx {
            now: view.now,
            t: self.clock,
            dt: view.dt,
            r: view.r,
            cfg: view.cfg,
            order,
            ledger: &mut self.ledger,
            link,
            on: view.on,
            compressor_ready_in: view.compressor_ready_in,
            may_come_off: view.may_come_off,
            vessel_rest: view.vessel_rest,
            fill_limit: view.fill_limit,
            may_repeat: order.phases.has(PhaseKind::Evacuate) && self.evacuations < MAX_EVACUATIONS,
            identified: self.identified,
            answer,
            want: Actuators::SAFE,
            open: None,
            sample: None,
            progress: self.progress,
            say,
            given: self.given,
            stored: view.stored,
            lost: view.lost,
            spans: view.spans,
            left: None,
        };
        let kind = phase.kind();
        ctx.link.told_voltage(order.high_voltage);
        let longest = bounds::longest(kind, order);
        let coupled = ctx.r.switches.closed(Switches::ZS2_COUPLED);
        let status = if let (true, Some(short)) = (first, supply(&ctx, kind)) {
            failed(short)
        } else if coupled || !kind.needs_couplers() {
            phase.step(&mut ctx)
        } else {
            failed(GiveUp::NotCoupled)
        };
        let (want, open, sample) = (ctx.want, ctx.open, ctx.sample);
        self.kept = ctx.left;
        self.progress = ctx.progress;
        lapse(answer, open, say);
        self.show(open, answer, say);
        let withheld = !want.and(view.inhibited).is_empty();
        self.blocked = if withheld { self.blocked.plus(view.dt) } else { Millis(0) };
        if !want.and(view.tripped).is_empty() {
            self.trips = self.trips.saturating_add(1);
        }
        let status = match status {
            Status::Running if self.blocked > BLOCKED_MAX => failed(GiveUp::Blocked),
            Status::Running if self.trips > bounds::MAX_TRIPS => failed(GiveUp::TripsAgain),
            Status::Running if self.clock > longest => failed(GiveUp::TookTooLong),
            Status::First(_) if self.then.is_some() => failed(GiveUp::TookTooLong),
            status => status,
        };
        match status {
            Status::Running => (want, sample),
            Status::First(other) => {
                self.then = Some(kind);
                self.begin(other, say);
                (Actuators::SAFE, None)
            }
            Status::Ended(outcome) => {
                self.after(kind, outcome, link, say);
                (Actuators::SAFE, None)
            }
        }
    }
}

/// Before a phase on the way to a charge: whether the vessel will be able to give it, so that nobody waits an hour to hear so.
/// What a recovery still to come brings is counted as the charge of the label.
fn supply(c: &Ctx<'_>, kind: PhaseKind) -> Option<GiveUp> {
    if kind >= PhaseKind::Charge || !c.order.phases.has(PhaseKind::Charge) {
        return None;
    }
    let recovers = kind <= PhaseKind::Recover && c.order.phases.has(PhaseKind::Recover);
    let comes = if recovers { super::recover::comes(c.order) } else { Milligram(0) };
    super::amounts::short_supply(c.order, c.vessel_mass()?, comes, c.cfg.vessel_heel)
}

/// An answer whose question was closed in the very scan in which it came is refused like any later one.
fn lapse(answer: Option<Answered>, open: Option<Question>, say: &mut Notices) {
    if answer.is_some_and(|answer| Some(answer.question) != open) {
        say.push(Notice::Refused(if open.is_some() { Refusal::QuestionClosed } else { Refusal::NoQuestion }));
    }
}

/// What the station lends the job for one scan.
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct View<'a> {
    /// Monotonic tick.
    pub now: Instant,
    /// Time since the last scan.
    pub dt: Millis,
    /// Judged inputs.
    pub r: &'a crate::sense::Readings,
    /// Station.
    pub cfg: &'a crate::config::StationConfig,
    /// Outputs of the last scan.
    pub on: Actuators,
    /// What interlocks hold off.
    pub inhibited: Actuators,
    /// What rows hold off that tripped in this scan.
    pub tripped: Actuators,
    /// Time until the compressor may start.
    pub compressor_ready_in: Millis,
    /// The hoses were emptied and stand low and steady (I31).
    pub may_come_off: bool,
    /// Time the vessel has been left alone.
    pub vessel_rest: Millis,
    /// Highest mass the vessel may hold now.
    pub fill_limit: Milligram,
    /// The operator's answer to the question that was open.
    pub answer: Option<Answered>,
    /// The part that has got its life in this scan.
    pub given: Option<Part>,
    /// The record store has read back the newest change.
    pub stored: bool,
    /// The record is lost.
    pub lost: bool,
    /// Gains of the scales' bridges on record; 0 where none is.
    pub spans: [i32; BRIDGES],
}
