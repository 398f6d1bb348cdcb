//! What is done to the station itself, between two services.
//!
//! [`exchange`] gives a new part its life against its code; [`procedures`] are the tables of the work that a person and the station do
//! together, in the words of [`steps`].

pub mod exchange;
pub mod procedures;
pub mod steps;

pub use exchange::Exchange;
