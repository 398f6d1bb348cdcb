//! The keyed digest of a code: HMAC-SHA-256 (FIPS 198-1, FIPS 180-4), its first 48 bits, compared without telling by time where they differ.
//! Made a block at a time on the compression of `sha2`; the tests hold it against the `hmac` crate.
//!
//! Whoever has the key can make codes; one that is read out of a station's memory makes codes for that station only, since each has a key of its own.

use core::fmt;
use core::hint::black_box;

use sha2::block_api::compress256;

/// Bytes of the digest that a code has room for.
pub const SEAL: usize = 6;
/// The digest of a code.
pub type Seal = [u8; SEAL];

/// Told apart from whatever else a key might be used for.
const DOMAIN: &[u8] = b"valvewright part code";

/// The secret that a station shares with the supplier of its parts. It is never printed.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct CodeKey(pub [u8; 32]);

impl CodeKey {
    /// The key of demonstrations and tests. It stands in this file and so keeps nothing from anybody: a real station has a drawn one of its own.
    pub const DEMO: Self = Self(*b"valvewright demo key, not secret");

    /// The digest of these fields, at once: for whoever mints. A scan takes a [`Sealing`] turn by turn.
    pub fn seal(&self, version: u8, kind: u8, serial: u32) -> Seal {
        let mut sealing = Sealing::default();
        loop {
            if let Some(seal) = sealing.turn(self, version, kind, serial) {
                return seal;
            }
        }
    }
}

/// Bytes of a block of SHA-256.
const BLOCK: usize = 64;
/// What a hash begins with (FIPS 180-4, 5.3.3).
const FIRST: [u32; 8] =
    [0x6a09_e667, 0xbb67_ae85, 0x3c6e_f372, 0xa54f_f53a, 0x510e_527f, 0x9b05_688c, 0x1f83_d9ab, 0x5be0_cd19];
/// What the key is mixed with before the message (FIPS 198-1, table 1).
const INNER: u8 = 0x36;
/// The same for the hash of the message.
const OUTER: u8 = 0x5c;

/// A digest in the making: a block a turn, since the four of a HMAC together are longer than a scan may be. What it holds between the turns stands in
/// for the key, and is never printed either.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Sealing {
    turns: u8,
    hash: [u32; 8],
    /// The message's hash, while the second one begins.
    message: [u32; 8],
}

impl Default for Sealing {
    fn default() -> Self {
        Self { turns: 0, hash: FIRST, message: FIRST }
    }
}

impl Sealing {
    /// One more block, of the same fields as in the turns before; the turn after the fourth tells the digest.
    #[inline(never)]
    pub fn turn(&mut self, key: &CodeKey, version: u8, kind: u8, serial: u32) -> Option<Seal> {
        let mut block = [0; BLOCK];
        match self.turns {
            0 => keyed(&mut block, key, INNER),
            1 => {
                let [a, b, c, d] = serial.to_be_bytes();
                put(&mut block, 0, DOMAIN);
                put(&mut block, DOMAIN.len(), &[version, kind, a, b, c, d]);
                end(&mut block, DOMAIN.len().saturating_add(6));
            }
            2 => keyed(&mut block, key, OUTER),
            3 => {
                put(&mut block, 0, &bytes(&self.message));
                end(&mut block, 32);
            }
            _ => {
                let mut seal = [0; SEAL];
                put(&mut seal, 0, &bytes(&self.hash));
                *self = Self::default();
                return Some(seal);
            }
        }
        compress256(&mut self.hash, core::slice::from_ref(&block));
        if self.turns == 1 {
            (self.message, self.hash) = (self.hash, FIRST);
        }
        self.turns = self.turns.saturating_add(1);
        None
    }
}

/// Whether two digests are the same. It takes as long wherever they differ.
pub(super) fn same(a: &Seal, b: &Seal) -> bool {
    a.iter().zip(b).fold(0, |all, (a, b)| black_box(all | (a ^ b))) == 0
}

/// Copies what there is room for.
fn put(to: &mut [u8], at: usize, from: &[u8]) {
    to.iter_mut().skip(at).zip(from).for_each(|(to, from)| *to = *from);
}

/// The bytes of a hash.
fn bytes(hash: &[u32; 8]) -> [u8; 32] {
    let mut all = [0; 32];
    for (to, word) in all.chunks_exact_mut(4).zip(hash) {
        put(to, 0, &word.to_be_bytes());
    }
    all
}

/// A key of one block at most is taken as it is.
fn keyed(block: &mut [u8; BLOCK], CodeKey(key): &CodeKey, with: u8) {
    *block = [with; BLOCK];
    block.iter_mut().zip(key).for_each(|(to, byte)| *to ^= *byte);
}

/// Ends the message, of so many bytes after the key's block and 55 at most: its end mark, and how many bits there were in all (FIPS 180-4, 5.1.1).
fn end(block: &mut [u8; BLOCK], length: usize) {
    put(block, length, &[0x80]);
    let bits = (BLOCK.saturating_add(length) as u32).saturating_mul(8);
    put(block, BLOCK.saturating_sub(4), &bits.to_be_bytes());
}

impl fmt::Debug for CodeKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("CodeKey(..)")
    }
}

#[cfg(feature = "defmt")]
impl defmt::Format for CodeKey {
    fn format(&self, f: defmt::Formatter<'_>) {
        defmt::write!(f, "CodeKey(..)");
    }
}

impl fmt::Debug for Sealing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Sealing(..)")
    }
}

#[cfg(feature = "defmt")]
impl defmt::Format for Sealing {
    fn format(&self, f: defmt::Formatter<'_>) {
        defmt::write!(f, "Sealing(..)");
    }
}
