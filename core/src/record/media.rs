//! The flash as the store sees it: nothing counts before it was read back twice.

use crc::{CRC_32_ISO_HDLC, Crc, NoTable};
use embedded_storage::nor_flash::{NorFlash, ReadNorFlash};

/// Everything is a whole number of these bytes: a multiple of every program size that is supported (1, 2, 4 and 8).
pub(super) const WORD: u32 = 8;
/// Reads of something that does not read the same before it is given up: a bit that is wrong in 0.6 of all reads is right once in 16
/// but for 3 in 10 000, and there are two copies.
pub(super) const TRIES: u8 = 16;
/// Bytes that are looked at together (own choice: little stack).
pub(super) const CHUNK: usize = 64;

/// Without a table: it would take 1 KiB of flash.
const SUM: Crc<u32, NoTable> = Crc::<u32, NoTable>::new(&CRC_32_ISO_HDLC);

/// What became of a program or erase.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Done {
    /// Read back twice.
    Well,
    /// The driver said well, but nothing has changed.
    Nothing,
    /// It failed, or left something else.
    Spoilt,
}

/// CRC-32 over parts in a row.
pub(super) fn sum(parts: &[&[u8]]) -> u32 {
    let mut digest = SUM.digest();
    for part in parts {
        digest.update(part);
    }
    digest.finalize()
}

/// A sum that is fed piece by piece.
pub(super) fn summing() -> crc::Digest<'static, u32, NoTable> {
    static HELD: Crc<u32, NoTable> = SUM;
    HELD.digest()
}

/// The little-endian number at a place; 0 past the end, which no caller asks for.
pub(super) fn u32_at(bytes: &[u8], at: usize) -> u32 {
    match bytes.get(at..).and_then(|rest| rest.first_chunk::<4>()) {
        Some(four) => u32::from_le_bytes(*four),
        None => 0,
    }
}

/// Puts bytes at a place, as far as they fit.
pub(super) fn set(bytes: &mut [u8], at: usize, new: &[u8]) {
    for (old, new) in bytes.iter_mut().skip(at).zip(new) {
        *old = *new;
    }
}

/// Whether the driver could read.
pub(super) fn read<F: ReadNorFlash>(flash: &mut F, at: u32, bytes: &mut [u8]) -> bool {
    flash.read(at, bytes).is_ok()
}

/// Whether every bit of a stretch is one, in two reads.
pub(super) fn blank<F: ReadNorFlash>(flash: &mut F, from: u32, to: u32) -> bool {
    let mut at = from;
    while at < to {
        let mut chunk = [0; CHUNK];
        let part = chunk.get_mut(..(to.wrapping_sub(at) as usize).min(CHUNK)).unwrap_or_default();
        for _ in 0..2 {
            if !read(flash, at, part) || part.iter().any(|byte| *byte != 0xFF) {
                return false;
            }
        }
        at = at.saturating_add(CHUNK as u32);
    }
    true
}

/// Whether a stretch reads as these bytes, twice.
fn holds<F: ReadNorFlash>(flash: &mut F, at: u32, bytes: &[u8]) -> bool {
    for _ in 0..2 {
        let mut at = at;
        for want in bytes.chunks(CHUNK) {
            let mut chunk = [0; CHUNK];
            let part = chunk.get_mut(..want.len()).unwrap_or_default();
            if !read(flash, at, part) || part != want {
                return false;
            }
            at = at.saturating_add(CHUNK as u32);
        }
    }
    true
}

/// Programs whole words and reads them back.
pub(super) fn program<F: NorFlash>(flash: &mut F, at: u32, bytes: &[u8]) -> Done {
    let said = flash.write(at, bytes).is_ok();
    if said && holds(flash, at, bytes) {
        Done::Well
    } else if said && blank(flash, at, at.saturating_add(bytes.len() as u32)) {
        Done::Nothing
    } else {
        Done::Spoilt
    }
}

/// Erases a page and reads it back; once more if it did nothing, or left something.
pub(super) fn erase<F: NorFlash>(flash: &mut F, at: u32) -> Done {
    let to = at.saturating_add(F::ERASE_SIZE as u32);
    for _ in 0..2 {
        if flash.erase(at, to).is_ok() && blank(flash, at, to) {
            return Done::Well;
        }
    }
    Done::Spoilt
}
