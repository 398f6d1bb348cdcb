//! The bytes of [`Kept`] in the store: fixed places, little-endian, without a path to a panic.

use crate::kept::{BRIDGES, Hoses, Kept, PROOF_COUNT};
use crate::row::RowSet;
use crate::token::{KIND_COUNT, Part, Used};
use crate::units::Milligram;

/// The layout that is written.
const LAYOUT: u8 = 3;
/// The one before it, which is read too: it says nothing of a flush.
const BEFORE: u8 = 2;
/// And the first: it has the spans of the vessel scale alone, and ends with the charge of the order.
const FIRST: u8 = 1;
/// How many bytes a state has.
pub const BYTES: usize = 107;

struct Writer {
    bytes: [u8; BYTES],
    at: usize,
}

impl Writer {
    fn put(&mut self, value: &[u8]) {
        for (to, from) in self.bytes.iter_mut().skip(self.at).zip(value) {
            *to = *from;
        }
        self.at = self.at.saturating_add(value.len());
    }
    fn word(&mut self, value: u32) {
        self.put(&value.to_le_bytes());
    }
}

/// A state as it is stored.
pub fn encode(kept: &Kept) -> [u8; BYTES] {
    let mut to = Writer { bytes: [0; BYTES], at: 0 };
    to.put(&[LAYOUT]);
    to.word(kept.number);
    to.put(&kept.latched.0.to_le_bytes());
    to.put(&[kept.starts]);
    to.word(kept.drier.0.cast_unsigned());
    to.word(kept.pump_oil);
    to.word(kept.clock);
    kept.span.iter().for_each(|gain| to.word(gain.cast_unsigned()));
    to.put(&[kept.unlocking.map_or(0, |part| (part as u8).saturating_add(1))]);
    for used in &kept.used_codes {
        used.to_words().into_iter().for_each(|word| to.word(word));
    }
    to.put(&[kept.wrong_codes]);
    kept.due.iter().for_each(|due| to.word(*due));
    to.put(&kept.order.to_le_bytes());
    to.word(kept.charged.0.cast_unsigned());
    to.put(&kept.program.to_le_bytes());
    to.put(&kept.samples.to_le_bytes());
    to.word(kept.minutes);
    to.put(&[kept.hoses as u8]);
    to.bytes
}

struct Reader<'a>(&'a [u8]);

impl Reader<'_> {
    fn take<const N: usize>(&mut self) -> Option<[u8; N]> {
        let (head, rest) = self.0.split_first_chunk::<N>()?;
        self.0 = rest;
        Some(*head)
    }
    fn byte(&mut self) -> Option<u8> {
        self.take::<1>().map(|[byte]| byte)
    }
    fn half(&mut self) -> Option<u16> {
        self.take().map(u16::from_le_bytes)
    }
    fn word(&mut self) -> Option<u32> {
        self.take().map(u32::from_le_bytes)
    }
    fn words<const N: usize>(&mut self) -> Option<[u32; N]> {
        let mut words = [0; N];
        for word in &mut words {
            *word = self.word()?;
        }
        Some(words)
    }
    fn mass(&mut self) -> Option<Milligram> {
        self.word().map(|word| Milligram(word.cast_signed()))
    }
}

/// The state that these bytes hold; `None` for another layout, or what no station writes.
pub fn decode(bytes: &[u8]) -> Option<Kept> {
    let mut from = Reader(bytes);
    let layout = from.byte()?;
    (FIRST..=LAYOUT).contains(&layout).then_some(())?;
    let kept = Kept {
        number: from.word()?,
        latched: RowSet(from.take().map(u64::from_le_bytes)?),
        starts: from.byte()?,
        drier: from.mass()?,
        pump_oil: from.word()?,
        clock: from.word()?,
        span: match layout {
            FIRST => from.words::<2>().map(|[a, b]| [a.cast_signed(), b.cast_signed(), 0, 0])?,
            _ => from.words::<BRIDGES>()?.map(u32::cast_signed),
        },
        unlocking: match from.byte()? {
            0 => None,
            at => Some(*Part::WEAR.get(usize::from(at).saturating_sub(1))?),
        },
        used_codes: {
            let mut all = [Used::NONE; KIND_COUNT];
            for used in &mut all {
                *used = Used::from_words(from.words()?);
            }
            all
        },
        wrong_codes: from.byte()?,
        due: from.words::<PROOF_COUNT>()?,
        order: from.half()?,
        charged: from.mass()?,
        program: if layout >= BEFORE { from.half()? } else { 0 },
        samples: if layout >= BEFORE { from.half()? } else { 0 },
        minutes: if layout >= BEFORE { from.word()? } else { 0 },
        hoses: if layout == LAYOUT { *Hoses::ALL.get(usize::from(from.byte()?))? } else { Hoses::Used },
    };
    from.0.is_empty().then_some(kept)
}
