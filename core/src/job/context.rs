//! What a phase may see, ask for and say in one scan, and how it says that it ended.

use super::ledger::Ledger;
use crate::config::StationConfig;
use crate::connection::Connection;
use crate::frame::{Actuator, Actuators};
use crate::kept::{BRIDGES, Left};
use crate::order::{PhaseKind, Sides, WorkOrder};
use crate::sense::{Readings, Weight};
use crate::talk::{Answered, Notice, Notices, Question};
use crate::token::Part;
use crate::units::*;
use crate::verdict::{GiveUp, Outcome};

/// What a phase reports each scan.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Status {
    /// Going on.
    Running,
    /// That phase must be done first; then this one begins anew. Asked for twice, the second time is the end.
    First(PhaseKind),
    /// Ended.
    Ended(Outcome),
}

/// Progress of the running phase.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Progress {
    /// Share done.
    pub done: Permille,
    /// Estimated time left, nothing more than an estimate.
    pub remaining: Millis,
}

/// Everything a phase may see and say in one scan.
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Ctx<'a> {
    /// Monotonic tick.
    pub now: Instant,
    /// Time since this phase began, pauses and holds left out.
    pub t: Millis,
    /// Time since the last scan as the phase counts it (zero while held).
    pub dt: Millis,
    /// Judged inputs.
    pub r: &'a Readings,
    /// Station.
    pub cfg: &'a StationConfig,
    /// Order.
    pub order: &'a WorkOrder,
    /// Mass ledger.
    pub ledger: &'a mut Ledger,
    /// Facts of this connection.
    pub link: &'a mut Connection,
    /// Outputs of the last scan.
    pub on: Actuators,
    /// Time until the compressor may start.
    pub compressor_ready_in: Millis,
    /// The hoses were emptied and stand low and steady, so that the couplers may come off (I31).
    pub may_come_off: bool,
    /// Time the vessel has been left alone.
    pub vessel_rest: Millis,
    /// Highest mass the vessel may hold now.
    pub fill_limit: Milligram,
    /// The order may still send the circuit back to be evacuated once more.
    pub may_repeat: bool,
    /// An identification was tried in this order, whatever came of it.
    pub identified: bool,
    /// The operator's answer, in the scan in which it came.
    pub answer: Option<Answered>,
    /// What the phase wants energised.
    pub want: Actuators,
    /// The question that stands open; see [`Ctx::ask`].
    pub open: Option<Question>,
    /// Request a gas sample with this id.
    pub sample: Option<u16>,
    /// Progress.
    pub progress: Progress,
    /// Where notices go.
    pub say: &'a mut Notices,
    /// The part that has got its life since the order began.
    pub given: Option<Part>,
    /// The record store has read back the newest change.
    pub stored: bool,
    /// The record is lost.
    pub lost: bool,
    /// Gains of the scales' bridges on record; 0 where none is.
    pub spans: [i32; BRIDGES],
    /// What upkeep leaves to be kept.
    pub left: Option<Left>,
}

impl Ctx<'_> {
    /// The service valves of the couplers that are on the vehicle, and the fan.
    pub const fn couplers(&self) -> Actuators {
        match self.order.sides {
            Sides::Both => Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::K1]),
            Sides::High => Actuators::of(&[Actuator::Xv2, Actuator::K1]),
            Sides::Low => Actuators::of(&[Actuator::Xv1, Actuator::K1]),
        }
    }
    /// The pressure at the vehicle: the higher of the hoses that are on it, `None` if the gauge of one is bad. A hose that hangs in
    /// its holder says nothing of the vehicle; the interlocks look at both all the same.
    pub fn vehicle_pressure(&self) -> Option<AbsPa> {
        match self.order.sides {
            Sides::Both => self.r.service_pressure(),
            Sides::High => self.r.pt3.usable(),
            Sides::Low => self.r.pt2.usable(),
        }
    }
    /// How many times as long gas takes through the couplers that are on: half the way, twice the time (own choice).
    pub const fn slower(&self) -> u32 {
        match self.order.sides {
            Sides::Both => 1,
            Sides::High | Sides::Low => 2,
        }
    }
    /// Queues a notice.
    pub fn tell(&mut self, notice: Notice) {
        self.say.push(notice);
    }
    /// Keeps a question open for this scan. The answer, in the scan in which it came and only to this question: a press
    /// meant for the one before, which a time-out has just closed, is none.
    pub fn ask(&mut self, question: Question) -> Option<bool> {
        self.open = Some(question);
        self.answer.filter(|answer| answer.question == question).map(|answer| answer.yes)
    }
    /// The vessel mass while it may be used.
    pub fn vessel_mass(&self) -> Option<Milligram> {
        self.r.wt1.mass.usable()
    }
    /// Ambient temperature, or 25 degC where TT-4 is bad (only for estimates).
    pub fn ambient(&self) -> CentiKelvin {
        self.r.tt4.usable().unwrap_or(CentiKelvin::from_centi_celsius(2_500))
    }
    /// Sets progress from the step of a table that a procedure stands at; how long a person takes nobody knows.
    pub fn progress_by_steps(&mut self, at: u8, of: usize) {
        let done = usize::from(at).saturating_mul(1_000).checked_div(of.max(1)).unwrap_or(0);
        self.progress = Progress { done: Permille(i32::try_from(done).unwrap_or(1_000)), remaining: Millis(0) };
    }
    /// Sets progress from time spent against time planned.
    pub fn progress_by_time(&mut self, planned: Millis) {
        let total = planned.0.max(1);
        let spent = self.t.0.min(total);
        let done = (u64::from(spent) * 1000).checked_div(u64::from(total)).unwrap_or(0);
        self.progress =
            Progress { done: Permille(i32::try_from(done).unwrap_or(1000)), remaining: planned.minus(Millis(spent)) };
    }
}

/// What a scale shows at rest, or what its phase says until then: a scale that takes longer than `most` is leant on.
pub(crate) fn at_rest(scale: &Weight, spent: Millis, most: Millis) -> Result<Milligram, Status> {
    match scale.mass.usable().filter(|_| scale.still) {
        Some(mass) => Ok(mass),
        None if spent > most => Err(failed(GiveUp::ScaleUnsteady)),
        None => Err(Status::Running),
    }
}

/// Shorthand for an ended phase.
pub(crate) const fn failed(why: GiveUp) -> Status {
    Status::Ended(Outcome::Failed(why))
}
/// Shorthand for a skipped phase.
pub(crate) const fn skipped(why: GiveUp) -> Status {
    Status::Ended(Outcome::Skipped(why))
}
/// Shorthand for a phase that met its plan.
pub(crate) const DONE: Status = Status::Ended(Outcome::Done);
