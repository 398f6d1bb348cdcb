//! What the operator's commands do: each is carried out or refused with its reason.

use super::Station;
use crate::air::AirProof;
use crate::job::flow::JobState;
use crate::job::phase;
use crate::order::WorkOrder;
use crate::talk::{Answered, Command, Notice, Refusal};

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
        };
        if let Err(refusal) = result {
            self.notices.push(Notice::Refused(refusal));
        }
        (false, None)
    }

    pub(super) fn start(&mut self, id: u16, order: &WorkOrder) -> Result<(), Refusal> {
        order.check(&self.cfg)?;
        if let Some(row) = self.stops(order.phases.next(None).and_then(phase::needs)) {
            return Err(Refusal::Tripped(row));
        }
        self.job.start(id, order.clone())?;
        self.keeper.order_begins(self.machine.clock());
        self.notices.push(Notice::OrderStarted(id));
        if self.test.passed() {
            self.air.begin();
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
