//! The controller of a refrigerant service station.
//!
//! `no_std`, no heap, no floats, no `unsafe`, no hidden clock: time and inputs are arguments, so that the same bits run on
//! host and microcontroller and every run can be replayed. Simulator-tested, uncertified design: see the README's cautions.
//!
//! Read in the order of the data: [`frame`] in, [`sense`] judges, [`cross`] holds one reading against another, [`interlock`] inhibits, [`job`] asks, [`drive`] orders
//! and gates, [`frame`] out; [`station`] holds them together, [`connection`] keeps what is known of the vehicle, and [`talk`]
//! speaks with the operator. [`machine`] watches the controller's own hardware, [`kept`] is what outlives power, `record` (feature `flash`) where it is stored; [`upkeep`] is what is done to the station itself, with [`token`] for the
//! codes of its parts. [`input`], [`order`], [`verdict`]
//! and [`row`] hold the words that many rooms use.
#![no_std]
#![forbid(unsafe_code)]

pub mod air;
#[cfg(feature = "serde")]
mod arrays;
mod bits;
pub mod config;
pub mod connection;
pub mod cross;
pub mod drive;
pub mod effect;
pub mod fluid;
pub mod frame;
pub mod guard;
pub mod hoses;
pub mod input;
pub mod interlock;
pub mod job;
pub mod kept;
pub mod machine;
pub mod order;
pub mod port;
#[cfg(feature = "flash")]
pub mod record;
pub mod row;
pub mod selftest;
pub mod sense;
pub mod station;
pub mod talk;
pub mod token;
pub mod units;
pub mod upkeep;
pub mod verdict;
