//! What the simulated station keeps over a power cut: the core's [`Kept`] as an image in two copies, each with a number and a CRC.
//!
//! Promises: what is read is what was written last, or the one before where the last was torn, or nothing; never a third thing. Which
//! bits are bad is the matter of whoever breaks it ([`Store::copy_mut`]).

use crc::{CRC_32_ISO_HDLC, Crc};
use valvewright_core::kept::{Kept, Memory};

static CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// The image in its two places.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Store {
    copies: [Vec<u8>; 2],
    number: u32,
    last: Option<Kept>,
    /// Number of what was found again after it was written.
    stored: u32,
    /// Writes that were made.
    writes: u64,
}

impl Store {
    /// A store that holds this.
    pub fn holding(kept: &Kept) -> Self {
        let mut store = Self::default();
        store.keep(kept);
        store.keep_again();
        store
    }

    /// Writes what changed, over the older copy.
    #[inline]
    pub fn keep(&mut self, kept: &Kept) {
        if self.last.as_ref().is_none_or(|last| last.number != kept.number) {
            self.write(kept);
        }
    }

    /// Number of what was written last, once it is found as a start would find it; the one before until then.
    #[inline]
    pub fn stored(&mut self) -> u32 {
        if self.last.as_ref().is_some_and(|last| last.number != self.stored) {
            self.look();
        }
        self.stored
    }

    #[cold]
    fn look(&mut self) {
        if let (Some(last), Memory::Sound(found)) = (&self.last, self.read())
            && found == *last
        {
            self.stored = found.number;
        }
    }

    #[cold]
    fn write(&mut self, kept: &Kept) {
        self.last = Some(kept.clone());
        self.keep_again();
    }

    fn keep_again(&mut self) {
        let Some(kept) = &self.last else { return };
        self.number = self.number.wrapping_add(1);
        let Ok(image) = postcard::to_allocvec_crc32(&(self.number, kept), CRC.digest()) else { return };
        self.copies[self.number as usize % 2] = image;
        self.writes += 1;
    }

    /// What a start finds.
    pub fn read(&self) -> Memory {
        let sound = self.copies.iter().filter_map(|copy| decode(copy));
        sound.max_by_key(|(number, _)| *number).map_or(Memory::Lost, |(_, kept)| Memory::Sound(kept))
    }

    /// By how much its counters would come back lower than they were written: refrigerant through the filter-drier, kg, and running time of
    /// the pump, s. A store that gives nothing back is no counter that fell.
    pub fn fallen(&self) -> (f64, f64) {
        match (&self.last, self.read()) {
            (Some(last), Memory::Sound(found)) => {
                let drier = (last.drier.0.saturating_sub(found.drier.0)).max(0);
                (f64::from(drier) * 1e-6, f64::from(last.pump_oil.saturating_sub(found.pump_oil)))
            }
            _ => (0.0, 0.0),
        }
    }

    /// How often it was written.
    pub const fn writes(&self) -> u64 {
        self.writes
    }

    /// Both copies, to be broken.
    pub fn copies_mut(&mut self) -> [&mut Vec<u8>; 2] {
        let [a, b] = &mut self.copies;
        [a, b]
    }

    /// The copies are again what they were; what the station believes to be written stays so.
    pub fn put_back(&mut self, was: &Self) {
        self.copies.clone_from(&was.copies);
        self.number = was.number;
    }

    /// The copy that was written last (0) or the one before (1), to be broken.
    pub fn copy_mut(&mut self, age: usize) -> &mut Vec<u8> {
        &mut self.copies[(self.number as usize + age) % 2]
    }
}

fn decode(copy: &[u8]) -> Option<(u32, Kept)> {
    postcard::from_bytes_crc32(copy, CRC.digest()).ok()
}
