//! What a station counts beside its upkeep: starts, hours of its machines, numbers of the vehicle book. One item, fixed places, little-endian.

use super::bytes::{Reader, Writer};

/// The layout that is written; another one is not read.
const VERSION: u8 = 1;
/// How many bytes it has.
pub const METER_BYTES: usize = 29;

/// Counters that only grow.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Meter {
    /// Starts.
    pub starts: u32,
    /// Time under power, s.
    pub powered: u32,
    /// Running time of C-1, s.
    pub compressor: u32,
    /// Of P-1 with all its oils, s.
    pub pump: u32,
    /// Of K-1, s.
    pub fan: u32,
    /// Of H-1 and H-2 at once, s.
    pub heater: u32,
    /// The last number that was given in the vehicle book.
    pub book: u32,
}

impl Meter {
    /// As it is stored.
    pub fn encode(&self) -> [u8; METER_BYTES] {
        let mut to = Writer::<METER_BYTES>::new();
        to.byte(VERSION);
        let all = [self.starts, self.powered, self.compressor, self.pump, self.fan, self.heater, self.book];
        all.into_iter().for_each(|word| to.word(word));
        to.done().0
    }

    /// What these bytes hold; `None` for another version.
    pub fn decode(bytes: &[u8]) -> Option<Self> {
        let mut from = Reader(bytes);
        (from.byte()? == VERSION).then_some(())?;
        let mut all = [0; 7];
        for word in &mut all {
            *word = from.word()?;
        }
        let [starts, powered, compressor, pump, fan, heater, book] = all;
        from.ended().then_some(Self { starts, powered, compressor, pump, fan, heater, book })
    }
}
