//! Faults: the catalogue, what each does, how severe it may be, and how one is planned.
//!
//! The catalogue is data ([`catalogue`], from `sim-host/data/faults.csv`); [`Injection`] gives each of its lines a way to be brought about, and
//! [`Planned`] is one of them in a scenario: which, how severe, from when, until when. Who carries it out is the run.

pub mod catalogue;
mod effect;
mod hold;
mod injection;
mod plan;
mod severity;
mod table;
pub mod text;

pub use catalogue::{Entry, FaultId};
pub use effect::{Amount, Draws, Effect, Image, Machine, Matter, Of, Op, Person, Power, Size, StoreFault, Way};
pub use hold::{Hold, Holds};
pub use injection::{Begins, Given, Injection, Mode};
pub use plan::{Begin, End, Planned, When};
pub use severity::Severity;
pub use table::{find, injections};
