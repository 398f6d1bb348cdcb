//! The bits of a flash: what each holds, and which of them do not hold still.

use std::collections::BTreeMap;

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

/// Bits of a byte that read otherwise with this probability, in 1/65536.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Unsteady {
    mask: u8,
    share: u16,
}

/// Bytes, with the bits that are neither programmed nor erased.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Cells {
    bytes: Vec<u8>,
    unsteady: BTreeMap<u32, Unsteady>,
    dice: Xoshiro256PlusPlus,
}

impl Cells {
    pub(super) fn blank(size: usize, seed: u64) -> Self {
        Self { bytes: vec![0xFF; size], unsteady: BTreeMap::new(), dice: Xoshiro256PlusPlus::seed_from_u64(seed) }
    }

    /// As they are held, whatever a read would say.
    pub fn held(&self) -> &[u8] {
        &self.bytes
    }

    pub(super) fn held_mut(&mut self) -> &mut [u8] {
        &mut self.bytes
    }

    /// Bytes that have a bit which does not hold still.
    pub fn unsteady(&self) -> usize {
        self.unsteady.len()
    }

    pub(super) fn reseed(&mut self, seed: u64) {
        self.dice = Xoshiro256PlusPlus::seed_from_u64(seed);
    }

    /// A number below `end`.
    pub(super) fn draw(&mut self, end: u32) -> u32 {
        ((u64::from(self.dice.next_u32()) * u64::from(end.max(1))) >> 32) as u32
    }

    fn mask(&mut self, share: u16) -> u8 {
        (0..8).fold(0, |mask, bit| mask | u8::from(self.draw(65_536) < u32::from(share)) << bit)
    }

    /// As they read now.
    pub(super) fn read(&mut self, at: usize, into: &mut [u8]) {
        into.copy_from_slice(&self.bytes[at..at + into.len()]);
        if self.unsteady.is_empty() {
            return;
        }
        let found: Vec<(u32, Unsteady)> =
            self.unsteady.range(at as u32..(at + into.len()) as u32).map(|(place, one)| (*place, *one)).collect();
        for (place, one) in found {
            into[place as usize - at] ^= self.mask(one.share) & one.mask;
        }
    }

    /// Bits of a byte no longer hold still: each reads otherwise with probability `share`.
    pub(super) fn unsettle(&mut self, at: usize, mask: u8, share: f64) {
        let share = (share * 65_536.0).round().clamp(0.0, 65_535.0) as u16;
        let one = self.unsteady.entry(at as u32).or_insert(Unsteady { mask: 0, share });
        *one = Unsteady { mask: one.mask | mask, share };
        if one.mask == 0 {
            self.unsteady.remove(&(at as u32));
        }
    }

    fn settle(&mut self, at: usize, mask: u8) {
        if let Some(one) = self.unsteady.get_mut(&(at as u32)) {
            one.mask &= !mask;
            if one.mask == 0 {
                self.unsteady.remove(&(at as u32));
            }
        }
    }

    /// A whole program of a byte: bits that are to be zero are, others stay as they are. Whether that gives what was wanted.
    pub(super) fn program(&mut self, at: usize, byte: u8) -> bool {
        self.bytes[at] &= byte;
        self.settle(at, !byte);
        self.bytes[at] == byte
    }

    /// A program of a byte that was cut off: of the bits to be cleared a third is, a third is neither, a third is untouched.
    pub(super) fn program_half(&mut self, at: usize, byte: u8) {
        for bit in 0..8 {
            let mask = 1 << bit;
            if byte & mask != 0 || self.bytes[at] & mask == 0 {
                continue;
            }
            match self.draw(3) {
                0 => {
                    self.program(at, !mask);
                }
                1 => {
                    let share = 0.1 + 0.8 * f64::from(self.draw(1_000)) / 1_000.0;
                    self.unsettle(at, mask, share);
                }
                _ => {}
            }
        }
    }

    /// A whole erase.
    pub(super) fn erase(&mut self, from: usize, to: usize) {
        self.bytes[from..to].fill(0xFF);
        let gone: Vec<u32> = self.unsteady.range(from as u32..to as u32).map(|(at, _)| *at).collect();
        for at in gone {
            self.unsteady.remove(&at);
        }
    }

    /// An erase that was cut off at this share: so many of the zeros are ones; of the rest some are neither.
    pub(super) fn erase_half(&mut self, from: usize, to: usize, share: f64) {
        let done = (share * 1_000.0) as u32;
        for at in from..to {
            for bit in 0..8 {
                let mask = 1_u8 << bit;
                if self.bytes[at] & mask != 0 {
                    continue;
                }
                if self.draw(1_000) < done {
                    self.bytes[at] |= mask;
                    self.settle(at, mask);
                } else if self.draw(8) == 0 {
                    let p = 0.1 + 0.8 * f64::from(self.draw(1_000)) / 1_000.0;
                    self.unsettle(at, mask, p);
                }
            }
        }
    }

    /// What looked erased falls back: one bit in so many is a zero again.
    pub(super) fn decay(&mut self, from: usize, to: usize, one_in: u32) {
        for at in from..to {
            for bit in 0..8 {
                if self.draw(one_in) == 0 {
                    self.bytes[at] &= !(1 << bit);
                }
            }
        }
    }
}
