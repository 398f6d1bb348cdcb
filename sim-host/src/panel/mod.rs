//! The live page: one run that goes on, is stopped, broken, answered, gone back in and branched from a browser on this machine.
//!
//! Promises: the page only shows and asks, what it asks for is done here between two scans; what was done by hand is a scenario file that
//! `run` replays to the same hash; the simulation never waits for a page. `session` is the run and what was done to it, `pace` drives it
//! in a thread of its own, `frame` is what a page is shown, `server` speaks HTTP on loopback.

mod asked;
mod drawing;
mod frame;
mod history;
mod pace;
mod server;
mod session;
mod wire;
mod written;

pub use server::{Served, serve};
pub use session::{Session, Start};
