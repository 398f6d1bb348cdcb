//! English words for phases, for why one was given up and how to clear it, and for what the gas is.

use valvewright_core::job::{GasVerdict, GiveUp, PhaseKind};

use crate::display::Sentence;
use crate::language;

/// Word of a phase for readers.
pub fn phase(kind: PhaseKind) -> &'static str {
    language::text(language::phase(kind))
}

/// What a gas verdict means.
pub fn gas(verdict: GasVerdict) -> &'static str {
    language::text(language::gas(verdict))
}

/// Why something was given up, and how to clear it.
pub fn reason(why: GiveUp) -> Sentence {
    language::reason(why).sentence()
}
