//! Why a run stopped, from cause to stop, in words that need no knowledge of the code; and what a scenario will do, before it runs.
//!
//! [`Explainer`] looks on while a run goes ([`crate::run::Observe`]) and [`Explainer::finish`] puts what it saw into the result.
//! Nothing of it acts on the run.

mod cause;
mod devices;
mod finish;
mod inputs;
mod looks;
mod moments;
mod oddities;
mod open;
mod plan;
mod setting;
mod stand;
mod watcher;

pub use plan::{Planning, doubts, plan};
pub use setting::setting;
pub use watcher::Explainer;
