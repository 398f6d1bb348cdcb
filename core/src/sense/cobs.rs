//! Byte stuffing (COBS): a frame holds no zero byte, so that a zero always ends one, whatever was lost before.
//!
//! After S. Cheshire and M. Baker, "Consistent Overhead Byte Stuffing", 1999. Our own code because it must take single
//! bytes in any split, hold its state in a value that can be compared and hashed, and never panic. Frames are short: a
//! full block of 254 bytes cannot occur.

use crate::frame::SerialChunk;

/// Longest frame before stuffing.
pub const LONGEST: usize = 16;

/// Takes bytes in any split and gives whole frames, unstuffed.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Deframer {
    frame: heapless::Vec<u8, LONGEST>,
    /// Bytes of the running block still to come.
    left: u8,
    /// A zero is owed before the next block.
    owed: bool,
    /// Anything since the last delimiter.
    begun: bool,
    spoilt: bool,
}

/// What one byte led to.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Unframed {
    /// The frame goes on.
    Nothing,
    /// A whole frame, without its stuffing.
    Frame(heapless::Vec<u8, LONGEST>),
    /// A delimiter came where none may be, or the frame was longer than [`LONGEST`].
    Spoilt,
}

impl Deframer {
    /// At the start of a frame.
    pub const fn new() -> Self {
        Self { frame: heapless::Vec::new(), left: 0, owed: false, begun: false, spoilt: false }
    }

    /// Takes in one byte.
    pub fn feed(&mut self, byte: u8) -> Unframed {
        if byte == 0 {
            let done = core::mem::take(self);
            return match (done.begun, done.spoilt || done.left > 0) {
                (false, _) => Unframed::Nothing,
                (true, true) => Unframed::Spoilt,
                (true, false) => Unframed::Frame(done.frame),
            };
        }
        self.begun = true;
        if self.left > 0 {
            self.left = self.left.saturating_sub(1);
            self.keep(byte);
        } else {
            if self.owed {
                self.keep(0);
            }
            self.left = byte.saturating_sub(1);
            self.owed = byte < 0xFF;
        }
        Unframed::Nothing
    }

    fn keep(&mut self, byte: u8) {
        if self.frame.push(byte).is_err() {
            self.spoilt = true;
        }
    }
}

/// Stuffs a frame of at most [`LONGEST`] bytes and puts a zero before and after it; what is longer is cut.
pub fn stuff(frame: &[u8]) -> SerialChunk {
    let mut out = SerialChunk::new();
    // 16 bytes of frame need at most 17 of stuffing and two zeros, so no push into the 32 bytes can fail.
    let _ = out.push(0);
    for block in frame.get(..LONGEST).unwrap_or(frame).split(|byte| *byte == 0) {
        let _ = out.push((block.len() as u8).saturating_add(1));
        let _ = out.extend_from_slice(block);
    }
    let _ = out.push(0);
    out
}
