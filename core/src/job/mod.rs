//! The service: a work order of phases, each of which asks and never acts.
//!
//! A phase states when it may start, when it is done, when it gives up and what it records; what it wants energised goes
//! through [`crate::drive`] and the gate like everything else. [`context`] is what a phase sees, [`phase`] the one that runs,
//! [`flow`] strings them together.

#[macro_use]
mod step;

pub mod amounts;
pub mod bounds;
mod bridges;
pub mod charge;
pub mod clear;
pub mod context;
pub mod evacuate;
pub mod flow;
mod gauges;
pub mod identify;
pub mod inject;
pub mod leak;
mod leave;
pub mod ledger;
mod limits;
pub mod oil;
pub mod phase;
pub mod pressure;
mod pulse;
pub mod purge;
pub mod recover;
pub mod upkeep;
pub mod verify;
mod witness;

pub use crate::order::{PhaseKind, PhaseSet, Sides, WorkOrder};
pub use crate::verdict::{GasVerdict, GiveUp, LeakResult, LeakVerdict, Outcome};
pub use context::{Ctx, Progress, Status};
pub use ledger::Ledger;
pub use phase::Phase;
