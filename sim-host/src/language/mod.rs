//! Everything that the controller tells a person, in English, German, French and Spanish: its ids and figures become sentences here.
//!
//! The core tells a [`Notice`](valvewright_core::talk::Notice), which is an id with arguments. A [`Message`] is the same for people: the
//! id of a text and its arguments, figures as quantities. The texts stand in `sim-host/locales`, a folder for each language, in the
//! syntax of Project Fluent; no sentence stands in Rust. English is told where nothing else is asked for, and is what files hold.

mod catalogue;
mod figures;
mod message;
mod notice;
mod reason;
pub mod samples;
mod trip;

pub use catalogue::{files, text};
pub use figures::{UNITS, number, words as figure};
pub use message::{Arg, Message};
pub use notice::{code, notice, notice_id, question, refusal};
pub use reason::{broken, gas, outcome, phase, reason};
pub use trip::{condition, level, read, reading, watch};
