//! Hazards H01 to H25 judged by what is true, whoever drives the station: the plant's figures, what is open and on in truth, what was
//! ordered. No controller is asked for anything, and no figure is shared with one.
//!
//! [`Hazards`] goes along with a run; [`CATALOGUE`] says what each hazard is, where it alerts and where it harms; `limits` has the figures
//! with their sources.

mod by_cabinet;
mod by_charge;
mod by_control;
mod by_line;
mod by_machine;
mod by_reading;
mod by_vent;
mod by_vessel;
mod catalogue;
mod facts;
pub mod limits;
mod monitors;
mod present;
mod sight;
mod span;
mod track;
mod worst;

pub use by_control::{Kept, Machine};
pub use catalogue::{CATALOGUE, Entry, HAZARD_COUNT, Id};
pub use monitors::{Hazards, Scene};
pub use present::Present;

#[cfg(test)]
mod tests;
