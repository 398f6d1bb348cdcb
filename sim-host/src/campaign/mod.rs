//! Many runs of one question: every fault at every step of a job, forked from healthy jobs, judged by the monitors of hazards.
//!
//! [`moments()`] finds the moments of a healthy job, [`Sweep`] forks a run at each of them for each fault and runs it on, [`Tally`] adds up what
//! became of each fault; [`reaction`] times what one fault's scenario asks for. The answer is the same for any number of threads: it is in the order of the faults and moments, whoever was done first.

mod accidents;
mod moments;
mod one;
pub mod reaction;
mod sweep;
mod tally;
mod words;

pub use accidents::{KNOWN, Known};
pub use moments::{Moment, moments};
pub use one::{Case, Done, Fate};
pub use sweep::{BASES, Bases, Sweep, cases};
pub use tally::{FaultTally, Tally};
pub use words::{csv, text};
