//! What the station shows: one lamp, and the sounder.

use super::Station;
use crate::frame::Lamp;
use crate::job::flow::JobState;

/// Bits of the tick that are zero while the sounder calls for an answer: a quarter of a second in every four (own choice).
const CALLS: u32 = 0x0F00;

impl Station {
    pub(super) fn lamp(&self) -> Lamp {
        if !self.interlocks.latched().is_empty() {
            Lamp::Red
        } else if self.job.question().is_some() {
            Lamp::Blue
        } else {
            match self.job.state() {
                // A trip that clears by itself is no normal running either.
                _ if !self.interlocks.tripped().is_empty() => Lamp::Yellow,
                JobState::Paused | JobState::Ended(false) => Lamp::Yellow,
                JobState::Starting | JobState::Running => Lamp::Green,
                JobState::Idle | JobState::Ended(true) => Lamp::White,
            }
        }
    }

    pub(super) fn buzzer(&self) -> bool {
        !self.interlocks.newly_tripped().is_empty()
            || self.job.question().is_some() && self.last.unwrap_or_default().0 & CALLS == 0
    }
}
