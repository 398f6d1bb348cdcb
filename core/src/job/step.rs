//! The step at which a phase stands and the clock of that step: whoever goes to a step starts its clock.

use crate::units::Millis;

/// A step and when it began, on the clock of the phase.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Stepped<S> {
    /// The step, with its data. What changes in its data leaves the clock alone.
    pub(super) at: S,
    since: Millis,
}

impl<S> Stepped<S> {
    /// Goes to that step, or begins it anew.
    pub(super) fn go(&mut self, step: S, t: Millis) {
        (self.at, self.since) = (step, t);
    }
    /// Time in this step.
    pub(super) fn spent(&self, t: Millis) -> Millis {
        t.minus(self.since)
    }
}

/// Names the steps of a phase, for whoever looks on: a phase that stands at one says which.
macro_rules! step_words {
    ($phase:ty: $($step:ident => $word:literal),+) => {
        impl $phase {
            /// Words of all its steps.
            pub(super) const WORDS: &[&str] = &[$($word),+];

            /// The word of the step at which it stands.
            pub(super) const fn step_word(&self) -> &'static str {
                match self.step.at {
                    $(Step::$step { .. } => $word),+
                }
            }
        }
    };
}
