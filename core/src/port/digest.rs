//! One number for a whole state: the same on every machine of the same byte order, so that host and board can compare.
//!
//! Derived `Hash` feeds lengths and variants as `usize` and `isize`, whose width differs between host and microcontroller;
//! here they count as 32 bit. Each step is a bijection of the running value, so that a single differing word always shows.
//! Not for secrets: whoever chooses the input can make two states look alike.

use core::hash::{Hash, Hasher};

/// Odd, from the golden ratio: 2^64 / 1.618....
const SPREAD: u64 = 0x9E37_79B9_7F4A_7C15;

/// The running value.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Digest(u64);

impl Digest {
    /// The digest of one value.
    ///
    /// ```
    /// use valvewright_core::port::digest::Digest;
    /// assert_eq!(Digest::of(&[1_u16, 2]), Digest::of(&[1_u16, 2]));
    /// assert_ne!(Digest::of(&[1_u16, 2]), Digest::of(&[2_u16, 1]));
    /// ```
    pub fn of(value: &impl Hash) -> u64 {
        let mut digest = Self::default();
        value.hash(&mut digest);
        digest.finish()
    }

    #[inline]
    fn step(&mut self, word: u32) {
        self.0 = (self.0.rotate_left(5) ^ u64::from(word)).wrapping_mul(SPREAD);
    }
}

impl Hasher for Digest {
    fn finish(&self) -> u64 {
        // The low bits have seen the fewest inputs.
        self.0 ^ self.0 >> 32
    }

    fn write(&mut self, bytes: &[u8]) {
        let (words, rest) = bytes.as_chunks::<4>();
        for word in words {
            self.step(u32::from_le_bytes(*word));
        }
        for byte in rest {
            self.step(u32::from(*byte));
        }
    }

    #[inline]
    fn write_u8(&mut self, value: u8) {
        self.step(u32::from(value));
    }
    #[inline]
    fn write_u16(&mut self, value: u16) {
        self.step(u32::from(value));
    }
    #[inline]
    fn write_u32(&mut self, value: u32) {
        self.step(value);
    }
    #[inline]
    fn write_u64(&mut self, value: u64) {
        self.step(value as u32);
        self.step((value >> 32) as u32);
    }
    #[inline]
    fn write_usize(&mut self, value: usize) {
        self.step(value as u32);
    }
    #[inline]
    fn write_isize(&mut self, value: isize) {
        self.step(value as u32);
    }
    // The signed ones go through their unsigned twins by default.
}
