//! The plant: lumped volumes of refrigerant, air, water and oil, the elements that join them, and their integration in time.
//!
//! `spec` holds a network as data, `parse` reads it from TOML, `Plant` runs it, `rig` runs it under a schedule without
//! any controller. The plant knows nothing of the controller: it takes openings and gives truths.

use std::fmt;

mod balance;
mod block;
mod content;
mod element;
mod engine;
mod exchange;
mod fault;
mod figure;
mod gain;
mod gas;
mod handover;
mod holding;
pub mod laws;
mod layout;
mod mixed;
mod network;
mod node;
mod oil;
mod outlet;
mod parameter;
pub mod parse;
mod parts;
pub mod rig;
mod rig_read;
mod rig_run;
mod settle;
mod shipped;
mod signal;
mod sparse;
pub mod spec;
mod start;
mod step;
mod stream;
mod system;
mod tableau;
mod tolerance;
mod wall;

pub use balance::{Account, Balance};
pub use engine::StepCount;
pub use fault::PlantFault;
pub use figure::Surroundings;
pub use gain::Gain;
pub use holding::{Exchanged, Holding};
pub use network::{ElementId, Plant, VolumeId};
pub use oil::holds as oil_holds;
pub use signal::{ELEMENT_FIELDS, Signal, VOLUME_FIELDS};
pub use spec::{NetworkSpec, Tolerance};
pub use step::Step;

/// A network that cannot be built or run, in words that name the part and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlantError {
    message: String,
}

impl PlantError {
    /// An error with its message.
    pub fn new(message: impl Into<String>) -> Self {
        Self { message: message.into() }
    }
}

impl fmt::Display for PlantError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for PlantError {}
