//! What a controller has told of the job at hand: all that a run knows of one whose state it cannot see.

use valvewright_core::job::{LeakResult, Outcome, PhaseKind};
use valvewright_core::talk::{Notice, Refusal};
use valvewright_core::units::Milligram;

use super::record;
use crate::report::data::{Outcome as Word, Verdict};

/// The word of the controller, put together from its notices.
#[derive(Debug, Clone)]
pub(super) struct Told {
    /// The phase that began and did not end.
    pub(super) phase: Option<PhaseKind>,
    /// How many phases ended, in all jobs so far.
    pub(super) phases: usize,
    /// The order that was given.
    id: u16,
    /// The order was accepted.
    pub(super) accepted: bool,
    /// The order was not accepted, and why.
    pub(super) refused: Option<Refusal>,
    /// The order was given: what is refused from then on is it.
    pub(super) given: bool,
    /// The order has ended: whether its plan was met, by the worst word on it.
    pub(super) ended: Option<bool>,
    /// What was recovered, charged and drained, as far as it was said.
    pub(super) recovered: Option<Milligram>,
    pub(super) charged: Option<Milligram>,
    pub(super) drained: Option<Milligram>,
    /// The last leak check.
    pub(super) leak: Option<LeakResult>,
    aborted: bool,
    found: bool,
}

/// What a controller shows of a job: by its state where it is the core, else by what it told.
#[derive(Debug, Clone)]
pub(super) struct Shown {
    pub(super) recovered: Option<Milligram>,
    pub(super) charged: Option<Milligram>,
    pub(super) drained: Option<Milligram>,
    pub(super) charge_begun: bool,
    pub(super) leak: Option<LeakResult>,
    pub(super) verdict: Verdict,
}

fn add(to: &mut Option<Milligram>, more: Milligram) {
    *to = Some(to.unwrap_or_default().plus(more));
}

impl Told {
    /// Nothing told yet of the order of this id; so many phases ended before it.
    pub(super) const fn of(id: u16, phases: usize) -> Self {
        Self {
            phase: None,
            phases,
            id,
            accepted: false,
            refused: None,
            given: false,
            ended: None,
            recovered: None,
            charged: None,
            drained: None,
            leak: None,
            aborted: false,
            found: false,
        }
    }

    /// Hears one notice.
    pub(super) fn hear(&mut self, notice: &Notice) {
        match *notice {
            Notice::OrderStarted(id) => self.accepted |= id == self.id && self.refused.is_none(),
            Notice::Refused(why) if self.given && !self.accepted => self.refused = Some(why),
            // The end of an order that was not taken is that of the one before, or of none.
            Notice::OrderEnded(well) if self.accepted => self.ended = Some(well && self.ended != Some(false)),
            Notice::PhaseStarted(kind) => self.phase = Some(kind),
            Notice::PhaseEnded(_, outcome) => {
                self.phase = None;
                self.phases += 1;
                self.aborted |= outcome == Outcome::Aborted;
                self.found |= finding(outcome);
            }
            Notice::Recovered(mass) => add(&mut self.recovered, mass),
            Notice::Charged(mass) => add(&mut self.charged, mass),
            Notice::OilDrained(mass) => add(&mut self.drained, mass),
            Notice::Leak(result) => self.leak = Some(result),
            _ => {}
        }
    }

    /// How the order ended by its word.
    pub(super) fn verdict(&self) -> Verdict {
        match self.ended {
            Some(true) => Verdict::Pass,
            Some(false) => ended_badly(self.aborted, self.found),
            None if self.refused.is_some() => Verdict::Refused,
            None => Verdict::Unfinished,
        }
    }
}

/// Whether a phase ended for a reason that lies in the vehicle or its gas.
pub(super) fn finding(outcome: Outcome) -> bool {
    use valvewright_core::job::GiveUp;
    let found =
        matches!(outcome, Outcome::Failed(GiveUp::Leaks | GiveUp::NoVacuum | GiveUp::StillWet | GiveUp::DrawsAir));
    found || record::outcome(outcome) == Word::Refused
}

/// The verdict on an order that did not meet its plan.
pub(super) const fn ended_badly(aborted: bool, found: bool) -> Verdict {
    match (aborted, found) {
        (true, _) => Verdict::Aborted,
        (false, true) => Verdict::Refused,
        (false, false) => Verdict::Failed,
    }
}
