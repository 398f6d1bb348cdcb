//! What is done to the station itself, between two services.
//!
//! [`exchange`] gives a new part its life against its code.

pub mod exchange;

pub use exchange::Exchange;
