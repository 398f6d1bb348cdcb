//! Years of a workshop's services on one station in minutes: drawn from a seed, judged after every one of them.
//!
//! [`plan`] says what is drawn, `service` draws one, `shop` is what is done between two, `session` lets the real controller do it on
//! the real plant, [`judge`] holds it against the truth and against copies kept outside, [`tally`] sums it up, [`run()`] strings them.

mod booking;
mod calendar;
mod chart;
mod cleaning;
pub mod codes;
mod finely;
pub mod judge;
pub mod page;
pub mod plan;
pub mod plan_file;
pub mod run;
mod service;
mod session;
mod shop;
pub mod tally;
pub mod text;

pub use plan::Plan;
pub use run::{Going, Years, run};
