//! The flash as the store sees it: nothing counts before it was read back twice.

use embedded_storage::nor_flash::{NorFlash, ReadNorFlash};

/// Everything is a whole number of these bytes: a multiple of every program size that is supported (1, 2, 4 and 8).
pub(super) const WORD: u32 = 8;
/// Reads of something that does not read the same before it is given up: a bit that is wrong in 0.6 of all reads is right once in 16
/// but for 3 in 10 000, and there are two copies.
pub(super) const TRIES: u8 = 16;
/// Bytes that are looked at together (own choice: little stack).
pub(super) const CHUNK: usize = 64;

/// CRC-32 (ISO-HDLC) of each half byte. By hand, because the `crc` crate has a table of 1 KiB or none: without one a start takes five
/// times as long, and 64 bytes give most of it back. The tests make images with the crate's sum.
const SUMS: [u32; 16] = {
    let mut sums = [0_u32; 16];
    let mut half = 0;
    while half < 16 {
        let (mut sum, mut bit) = (half as u32, 0);
        while bit < 4 {
            sum = if sum & 1 == 1 { sum >> 1 ^ 0xEDB8_8320 } else { sum >> 1 };
            bit += 1;
        }
        sums[half] = sum;
        half += 1;
    }
    sums
};

/// The same of each byte that is followed by 0, 1, 2 or 3 others, in this order.
#[cfg(not(target_os = "none"))]
const WIDE: [[u32; 256]; 4] = {
    let mut wide = [[0_u32; 256]; 4];
    let (mut behind, mut byte) = (0, 0);
    while behind < 4 {
        let before = if behind == 0 { byte as u32 } else { wide[behind - 1][byte] };
        let low = before & 0xFF;
        let half = SUMS[(low & 0xF) as usize] ^ low >> 4;
        wide[behind][byte] = SUMS[(half & 0xF) as usize] ^ half >> 4 ^ before >> 8;
        (behind, byte) = if byte == 255 { (behind + 1, 0) } else { (behind, byte + 1) };
    }
    wide
};

/// A CRC-32 that is fed piece by piece.
#[derive(Clone, Copy)]
pub(super) struct Sum(u32);

impl Sum {
    pub(super) const fn new() -> Self {
        Self(u32::MAX)
    }

    #[cfg(target_os = "none")]
    pub(super) fn add(&mut self, bytes: &[u8]) {
        self.add_slowly(bytes);
    }

    /// Four bytes at a time: no chip has room for that table, a simulator of years spends a fifteenth of its time on these sums without it.
    #[cfg(not(target_os = "none"))]
    pub(super) fn add(&mut self, bytes: &[u8]) {
        let (fours, rest) = bytes.as_chunks::<4>();
        for four in fours {
            let parts = (self.0 ^ u32::from_le_bytes(*four)).to_le_bytes();
            let sums = WIDE.iter().rev().zip(parts);
            self.0 = sums.fold(0, |sum, (wide, part)| sum ^ wide.get(usize::from(part)).copied().unwrap_or(0));
        }
        self.add_slowly(rest);
    }

    #[inline(always)]
    fn add_slowly(&mut self, bytes: &[u8]) {
        for byte in bytes {
            for half in [*byte, *byte >> 4] {
                let [low, ..] = self.0.to_le_bytes();
                let place = usize::from((low ^ half) & 0xF);
                self.0 = self.0 >> 4 ^ SUMS.get(place).copied().unwrap_or(0);
            }
        }
    }

    pub(super) const fn end(self) -> u32 {
        !self.0
    }
}

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
    let mut sum = Sum::new();
    for part in parts {
        sum.add(part);
    }
    sum.end()
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
