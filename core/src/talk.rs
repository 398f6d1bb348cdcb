//! What is said between operator and controller: commands in, notices out, and why something was refused.

use crate::job::WorkOrder;

/// An act of the operator.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Command {
    /// Begin this work order. The id keeps a double press from starting twice (fault F117).
    Start {
        /// Differs for each intended start.
        id: u16,
        /// What to do.
        order: WorkOrder,
    },
    /// Hold the running phase: everything shut, phase kept.
    Pause,
    /// Go on after a pause.
    Resume,
    /// End the work order here; everything shut, ledger kept.
    Abort,
    /// Yes to the open question.
    Confirm,
    /// No to the open question.
    Decline,
    /// Press of the reset button (an edge; a held button sends it once).
    Reset,
}
