//! What the controller of a run was given and what it answered: enough to give it to another one that must do the same.

use valvewright_core::frame::{Outputs, RawFrame};
use valvewright_core::kept::Start;

/// A run as its controller saw it. Nothing of it is kept but where [`crate::run::RunOptions::keep_frames`] asks for it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tape {
    /// Every frame that the controller was given and its tick in ms, which may be ahead of the plant's time. A scan that was not made
    /// left none; one that was made twice left two of one tick.
    pub frames: Vec<(u32, RawFrame)>,
    /// What it answered to each.
    pub outputs: Vec<Outputs>,
    /// Starts in mid-run: before which frame, by its place, and what the machine found then.
    pub starts: Vec<(usize, Start)>,
    /// Scans that were not made: the machine stood still, had no current, or its program jumped over them.
    pub left_out: u64,
    /// Digest of the core as the run left it; none of another controller.
    pub end: Option<u64>,
}
