//! What a controller has told of the job at hand: all that a run knows of one whose state it cannot see.

use valvewright_core::job::{LeakResult, Outcome, PhaseKind};
use valvewright_core::talk::{Notice, Refusal};
use valvewright_core::units::Milligram;

use super::record;
use crate::report::data::{Outcome as Word, Verdict};

/// The word of the controller, put together from its notices.
#[derive(Debug, Clone, Default)]
pub(super) struct Told {
    /// The phase that began and did not end.
    pub(super) phase: Option<PhaseKind>,
    /// How many phases ended, in all jobs so far.
    pub(super) phases: usize,
    /// The order was accepted.
    pub(super) accepted: bool,
    /// The order was not accepted, and why.
    pub(super) refused: Option<Refusal>,
    /// The order has ended: whether its plan was met.
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

fn add(to: &mut Option<Milligram>, more: Milligram) {
    *to = Some(to.unwrap_or_default().plus(more));
}

impl Told {
    /// Nothing told yet of the job that comes after the one of `before`.
    pub(super) fn after(before: &Self) -> Self {
        Self { phases: before.phases, ..Self::default() }
    }

    /// Hears one notice.
    pub(super) fn hear(&mut self, notice: &Notice) {
        match *notice {
            Notice::OrderStarted(_) => self.accepted = true,
            Notice::Refused(why) if !self.accepted => self.refused = Some(why),
            Notice::OrderEnded(well) => self.ended = Some(well),
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
