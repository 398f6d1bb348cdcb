//! Sequence numbers of the scales as a board counts them: by itself, from its start on, one for each conversion that it reads.
//!
//! The simulated converters number their conversions whoever reads them. A board that starts anew, or stood still while they went on,
//! has other numbers; a controller looks only at whether they change.

use valvewright_core::frame::{RawFrame, SCALE_COUNT};

/// The count of a board.
#[derive(Debug, Clone, Default)]
pub struct Counter {
    /// Numbers that the converters had when they were read last; none since the start.
    read: [Option<u8>; SCALE_COUNT],
    counted: [u8; SCALE_COUNT],
}

impl Counter {
    /// Of a board that has just started.
    pub const fn new() -> Self {
        Self { read: [None; SCALE_COUNT], counted: [0; SCALE_COUNT] }
    }

    /// The frame as such a board has it.
    #[must_use]
    pub fn number(&mut self, mut frame: RawFrame) -> RawFrame {
        for ((sample, read), counted) in frame.scales.iter_mut().zip(&mut self.read).zip(&mut self.counted) {
            // After a start each converter has one ready.
            if read.replace(sample.sequence) != Some(sample.sequence) {
                *counted = counted.wrapping_add(1);
            }
            sample.sequence = *counted;
        }
        frame
    }
}
