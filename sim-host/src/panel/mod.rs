//! The live page: one run that goes on, is stopped, broken, answered, gone back in and branched from a browser on this machine.
//!
//! Promises: the page only shows and asks, what it asks for is done here between two scans; what was done by hand is a scenario file that
//! `run` replays to the same hash; the simulation never waits for a page. `session` is the run and what was done to it, `pace` drives it
//! in a thread of its own, `learning` is a lesson on it, `order` its order, `records` its store, `campaign` asks what comes of an altered interlock
//! table beside it, `frame` is what a page is shown, `server` speaks HTTP on loopback.

mod altered;
mod asked;
mod campaign;
mod drawing;
mod frame;
mod history;
mod learning;
mod odds;
mod order;
mod outcome;
mod pace;
mod past;
mod records;
mod server;
mod session;
mod solve;
mod start;
mod underway;
mod wire;
mod words;
mod written;

pub use altered::Altered;
pub use campaign::{Campaign, MOST_CELLS};
pub use learning::Learning;
pub use odds::{Answer, Odds, Question, Remedy, ask};
pub use outcome::{Outcome, run};
pub use server::{Served, serve};
pub use session::Session;
pub use solve::{Played, solve};
pub use start::Start;
pub use underway::Underway;
