//! What the operator's commands do: each is carried out or refused with its reason.

use super::Station;
use crate::air::AirProof;
use crate::frame::Switches;
use crate::job::flow::JobState;
use crate::job::phase;
use crate::kept::{Hoses, WORN_AT};
use crate::order::{PhaseKind, PhaseSet, Procedure, WorkOrder};
use crate::row::RowId;
use crate::talk::{Answered, Command, Notice, Refusal};
use crate::token::{Part, Typed};
use crate::upkeep::procedures;

impl Station {
    /// Carries out a command; returns whether reset was pressed, and the answer to an open question.
    pub(super) fn obey(&mut self, command: Option<&Command>) -> (bool, Option<Answered>) {
        let Some(command) = command else { return (false, None) };
        let result = match command {
            Command::Start { id, order } => self.start(*id, order),
            Command::Pause => self.hold(),
            Command::Resume => match self.stops(self.job.needs()) {
                Some(row) => Err(Refusal::Tripped(row)),
                None => self.go_on(),
            },
            Command::Abort => self.job.abort(&mut self.notices),
            Command::Confirm(number) | Command::Decline(number) => match self.job.asked() {
                None => Err(Refusal::NoQuestion),
                Some(asked) if asked.number != *number => Err(Refusal::QuestionClosed),
                Some(asked) => {
                    let yes = matches!(command, Command::Confirm(_));
                    return (false, Some(Answered { question: asked.question, yes }));
                }
            },
            Command::Reset => {
                if self.interlocks.latched().is_empty() {
                    Err(Refusal::NothingToReset)
                } else {
                    return (true, None);
                }
            }
            Command::Exchanged { part, code } => self.exchanged(*part, *code),
        };
        if let Err(refusal) = result {
            self.notices.push(Notice::Refused(refusal));
        }
        (false, None)
    }

    pub(super) fn start(&mut self, id: u16, order: &WorkOrder) -> Result<(), Refusal> {
        order.check(&self.cfg)?;
        if self.exchange.busy() {
            return Err(Refusal::Busy);
        }
        self.hoses_may_open(order)?;
        if let Some(row) = self.stops(order.phases.next(None).and_then(|first| phase::needs(first, order))) {
            return Err(Refusal::Tripped(row));
        }
        self.job.start(id, order.clone())?;
        self.keeper.order_begins(self.machine.clock(), order.phases == PhaseSet::UPKEEP);
        if order.opens_hoses() && !order.high_voltage {
            self.keeper.hoses_open();
        }
        self.notices.push(Notice::OrderStarted(id));
        for part in Part::WEAR {
            let share = self.keeper.used_up(part);
            if share.0 >= WORN_AT {
                self.notices.push(Notice::Worn(part, share));
            }
        }
        if self.test.passed() {
            self.air.begin();
        }
        Ok(())
    }

    /// What sits on the flush port is no vehicle, what has high voltage takes no rest of another oil (I15), and a foreign gas that stands in
    /// the hoses goes no further (H04).
    fn hoses_may_open(&self, order: &WorkOrder) -> Result<(), Refusal> {
        let on_port = self.readings.switches.closed(Switches::FLUSH_PORT);
        let upkeep = order.phases == PhaseSet::UPKEEP;
        let flushes = upkeep && order.procedure == Procedure::Flush;
        let decontaminates = upkeep && order.procedure == Procedure::Decontaminate;
        let hoses = self.keeper.kept().hoses;
        if on_port && order.opens_hoses() {
            Err(Refusal::OnFlushPort)
        } else if flushes && !on_port {
            Err(Refusal::NotOnFlushPort)
        } else if hoses == Hoses::Foreign && !decontaminates && !leaves_hoses(order) {
            Err(Refusal::HosesForeign)
        } else if order.high_voltage && order.opens_hoses() && hoses != Hoses::Flushed {
            Err(Refusal::NotFlushed)
        } else {
            Ok(())
        }
    }

    /// A code was typed. None is looked at while an order runs that does not wait for it, for its counters run with it, or without a record of those that were used.
    fn exchanged(&mut self, part: Part, code: Typed) -> Result<(), Refusal> {
        if self.job.busy() && self.job.awaits_code() != Some(part) || self.exchange.busy() {
            return Err(Refusal::Busy);
        }
        if part == Part::Record && self.job.awaits_code() != Some(part) {
            return Err(Refusal::NoQuestion);
        }
        if self.keeper.facts().store_lost && part != Part::Record {
            return Err(Refusal::Tripped(RowId::I24));
        }
        // A life that is owed to one part is not forgotten over another: its exchange is finished first.
        if self.keeper.kept().unlocking.is_some_and(|owed| owed != part) {
            return Err(Refusal::Tripped(RowId::I23));
        }
        if let Err(fault) = self.exchange.begin(part, code, &mut self.keeper) {
            self.notices.push(Notice::CodeRefused(part, fault));
        }
        Ok(())
    }

    /// Holds the job. Before its first phase the proof of air is given up with it: the fan is not left off for its test.
    pub(super) fn hold(&mut self) -> Result<(), Refusal> {
        self.job.pause(&mut self.notices)?;
        if self.job.phase().is_none() {
            self.air = AirProof::Idle;
        }
        Ok(())
    }

    pub(super) fn go_on(&mut self) -> Result<(), Refusal> {
        self.job.resume(&mut self.notices)?;
        if self.job.state() == JobState::Starting && self.test.passed() {
            self.air.begin();
        }
        Ok(())
    }
}

/// Whether what stands in the hoses stays there: nothing but the identifier is asked, or the station is worked on with every valve of them shut.
fn leaves_hoses(order: &WorkOrder) -> bool {
    if order.phases == PhaseSet::UPKEEP {
        return procedures::needs(order.procedure).is_empty();
    }
    order.phases == PhaseSet::of(&[PhaseKind::Identify])
}
