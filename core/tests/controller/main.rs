//! The controller alone on a scripted bench, without plant or simulator: builds and runs in seconds.
//!
//! `cargo test -p valvewright-core --test controller`; one area: the same with its name behind it.

mod answers;
// The test crate uses what is not used here.
mod attacker;
#[allow(dead_code)]
mod bench;
mod charging;
mod connection;
mod devices;
mod nitrogen;
mod one_coupler;
mod rows;
mod vacuum;
