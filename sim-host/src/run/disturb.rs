//! The seam for faults of devices: something of the caller's that is asked once a scan and may break or mend what it likes.
//!
//! It is asked when the plant has come to the scan's time and before the frame is made. A run without it costs nothing and
//! hashes as before.

use valvewright_core::frame::Actuators;
use valvewright_core::job::PhaseKind;

use super::hold::Holds;
use crate::instrument::{Instruments, Truth};
use crate::plant::Plant;

/// What a disturbance sees of a scan, and what it may break.
pub struct Scene<'a> {
    /// Simulated time, s.
    pub t_s: f64,
    /// The running phase.
    pub phase: Option<PhaseKind>,
    /// What the controller had on in the last scan.
    pub on: Actuators,
    /// What the instruments will touch in this scan.
    pub truth: &'a Truth,
    /// The plant, for any signal of it.
    pub plant: &'a Plant,
    /// Loops, scales and contacts, to be broken and mended.
    pub instruments: &'a mut Instruments,
    /// Actuators, to be held and set free.
    pub holds: &'a mut Holds,
}

/// Breaks and mends devices while a job runs.
pub trait Disturb {
    /// Asked once a scan, also in the seconds after the order's end.
    fn scan(&mut self, scene: &mut Scene<'_>);
}

impl<F: FnMut(&mut Scene<'_>)> Disturb for F {
    fn scan(&mut self, scene: &mut Scene<'_>) {
        self(scene);
    }
}
