//! The gas identifier's line on any serial driver that can tell whether it is ready.
//!
//! Promises: nothing here waits; at most 32 bytes a scan go either way; a line error reads as no bytes. A damaged or torn
//! report is found by its check sum further in, so errors are not told from silence here.
//!
//! Assumed of the driver: after `read_ready` and `write_ready` say yes, one `read` or `write` does not block (so the traits
//! promise), and its receive buffer holds what arrives in one scan: 48 bytes at 9 600 baud and 50 ms.

use embedded_io::{Read, ReadReady, Write, WriteReady};

use super::contract::IdentifierLine;
use crate::frame::SerialChunk;

/// Bytes of one chunk.
const CHUNK: usize = 32;

/// The line, with what it could not yet send.
#[derive(Clone, Debug)]
pub struct SerialLine<P> {
    port: P,
    waiting: SerialChunk,
}

impl<P: Read + ReadReady + Write + WriteReady> SerialLine<P> {
    /// A line on this port.
    pub const fn new(port: P) -> Self {
        Self { port, waiting: SerialChunk::new() }
    }

    /// The port, to change its settings.
    pub const fn port_mut(&mut self) -> &mut P {
        &mut self.port
    }

    /// Moves waiting bytes into the port as far as it takes them; `false` where it failed. What waited is then dropped: the
    /// rest of a torn request would only spoil the next.
    fn push(&mut self) -> bool {
        while !self.waiting.is_empty() {
            match self.port.write_ready() {
                Ok(true) => {}
                Ok(false) => return true,
                Err(_) => return self.drop_waiting(),
            }
            match self.port.write(&self.waiting) {
                Ok(0) | Err(_) => return self.drop_waiting(),
                Ok(sent) => {
                    let rest = self.waiting.get(sent..).unwrap_or_default();
                    self.waiting = SerialChunk::from_slice(rest).unwrap_or_default();
                }
            }
        }
        true
    }

    fn drop_waiting(&mut self) -> bool {
        self.waiting.clear();
        false
    }
}

impl<P: Read + ReadReady + Write + WriteReady> IdentifierLine for SerialLine<P> {
    fn receive(&mut self) -> SerialChunk {
        // A request that did not go out whole goes on here, once a scan; its failure is a report that never comes.
        let _told_by_silence = self.push();
        let mut chunk = SerialChunk::new();
        let mut bytes = [0; CHUNK];
        while chunk.len() < CHUNK && self.port.read_ready().is_ok_and(|ready| ready) {
            let free = CHUNK.saturating_sub(chunk.len());
            let room = bytes.get_mut(..free).unwrap_or_default();
            let read = self.port.read(room).ok().and_then(|count| room.get(..count));
            match read {
                Some(some) if !some.is_empty() && chunk.extend_from_slice(some).is_ok() => {}
                _ => break,
            }
        }
        chunk
    }

    fn send(&mut self, bytes: &[u8]) -> bool {
        let fits = self.push() && self.waiting.extend_from_slice(bytes).is_ok();
        fits && self.push()
    }
}
