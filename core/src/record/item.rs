//! A record in a page: head, value, and a commit mark that is programmed last. Each is bound to its place and generation, so that a
//! copy of old bytes, or bytes of a value that look like a record, are none.
//!
//! | byte | what |
//! | --- | --- |
//! | 0 | key; of a log, 0 |
//! | 1 | length, or [`GONE`] |
//! | 2-3 | check of the head alone: where the value is damaged it is still known whose it was |
//! | 4-7 | sequence number |
//! | 8-11 | CRC-32 over place, head and value |
//! | 12- | value, then zeros up to a whole word |
//! | then 8 | commit mark: of the place alone, so that the end is found where the head can't be read |

use embedded_storage::nor_flash::{NorFlash, ReadNorFlash};

use super::media::{CHUNK, Done, Sum, TRIES, WORD, program, read, set, sum, u32_at};
use super::words::MOST;

/// Length of a record that says: what this key held can't be believed any more.
pub(super) const GONE: u8 = 0xFF;
/// Bytes before the value.
const HEAD: usize = 12;
/// Bytes of the longest record before its mark.
pub(super) const BODY: usize = 256;
const _: () = assert!(HEAD + MOST <= BODY && BODY.is_multiple_of(WORD as usize));

/// Where a record stands: in a page of this generation, at this address.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Place {
    pub salt: u32,
    pub at: u32,
}

/// What a head says.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Head {
    pub key: u8,
    pub len: u8,
    pub seq: u32,
    pub crc: u32,
}

/// What stands where a record may begin.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Seen {
    Blank,
    Head { head: Head, shaky: bool },
    Bad,
}

/// How far something read can be believed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Trust {
    /// Right in two reads.
    Sound,
    /// Right in one of many.
    Shaky,
    /// Not to be believed; of a mark: not there.
    None,
}

/// Bytes of a value of this length before the mark.
pub(super) const fn body_size(len: u8) -> u32 {
    let len = if len == GONE { 0 } else { len as u32 };
    (HEAD as u32).saturating_add(len).saturating_add(WORD.wrapping_sub(1)) & !WORD.wrapping_sub(1)
}

/// All of a record's bytes.
pub(super) const fn size(len: u8) -> u32 {
    body_size(len).saturating_add(WORD)
}

fn head_check(place: Place, told: [u8; 2], seq: u32) -> u16 {
    sum(&[&place.salt.to_le_bytes(), &place.at.to_le_bytes(), &told, &seq.to_le_bytes()]) as u16
}

/// The sum that a value has at a place.
pub(super) fn check(place: Place, key: u8, len: u8, seq: u32, value: &[u8]) -> u32 {
    sum(&[&place.salt.to_le_bytes(), &place.at.to_le_bytes(), &[key, len], &seq.to_le_bytes(), value])
}

/// The commit mark of a place.
pub(super) fn mark(place: Place) -> [u8; WORD as usize] {
    let low = sum(&[b"item", &place.salt.to_le_bytes(), &place.at.to_le_bytes()]);
    let mut bytes = [0; WORD as usize];
    set(&mut bytes, 0, &low.to_le_bytes());
    set(&mut bytes, 4, &(!low).to_le_bytes());
    bytes
}

/// A head as it is read, and what it says.
type Raw = [u8; 2 * WORD as usize];

fn raw<F: ReadNorFlash>(flash: &mut F, place: Place) -> Option<Raw> {
    let mut bytes = [0; 2 * WORD as usize];
    read(flash, place.at, &mut bytes).then_some(bytes)
}

fn parse(bytes: &Raw, place: Place) -> Seen {
    if bytes.iter().all(|byte| *byte == 0xFF) {
        return Seen::Blank;
    }
    let first = u32_at(bytes, 0);
    let [key, len, ..] = first.to_le_bytes();
    let head = Head { key, len, seq: u32_at(bytes, 4), crc: u32_at(bytes, 8) };
    let whole =
        (len as usize <= MOST || len == GONE) && (first >> 16) as u16 == head_check(place, [key, len], head.seq);
    if whole { Seen::Head { head, shaky: false } } else { Seen::Bad }
}

/// The head at a place; whatever was right once is taken, with a warning if it took more than two looks.
pub(super) fn head<F: ReadNorFlash>(flash: &mut F, place: Place) -> Seen {
    let (first, second) = (raw(flash, place), raw(flash, place));
    if first == second
        && let Some(bytes) = first
    {
        let seen = parse(&bytes, place);
        if seen != Seen::Bad {
            return seen;
        }
    }
    for now in [first, second].into_iter().chain((2..TRIES).map(|_| raw(flash, place))).flatten() {
        if let Seen::Head { head, .. } = parse(&now, place) {
            return Seen::Head { head, shaky: true };
        }
    }
    Seen::Bad
}

fn value_once<F: ReadNorFlash>(flash: &mut F, place: Place, head: &Head, into: &mut [u8]) -> bool {
    let mut digest = Sum::new();
    digest.add(&place.salt.to_le_bytes());
    digest.add(&place.at.to_le_bytes());
    digest.add(&[head.key, head.len]);
    digest.add(&head.seq.to_le_bytes());
    let len = if head.len == GONE { 0 } else { head.len as usize };
    let (mut done, from) = (0, place.at.saturating_add(HEAD as u32));
    while done < len {
        // Whole words are read, and only what belongs to the value is looked at.
        let mut chunk = [0; CHUNK];
        let wanted = len.saturating_sub(done).min(CHUNK);
        let part = chunk.get_mut(..wanted.saturating_add(3) & !3).unwrap_or_default();
        if !read(flash, from.saturating_add(done as u32), part) {
            return false;
        }
        let part = part.get(..wanted).unwrap_or_default();
        digest.add(part);
        set(into, done, part);
        done = done.saturating_add(CHUNK);
    }
    digest.end() == head.crc
}

/// Reads a value, as far as there is room for it, and says how far it can be believed.
pub(super) fn value<F: ReadNorFlash>(flash: &mut F, place: Place, head: &Head, into: &mut [u8]) -> Trust {
    if value_once(flash, place, head, into) && value_once(flash, place, head, into) {
        return Trust::Sound;
    }
    for _ in 2..TRIES {
        // The sum may be what does not hold still.
        let crc = raw(flash, place).map_or(head.crc, |bytes| u32_at(&bytes, 8));
        if value_once(flash, place, &Head { crc, ..*head }, into) {
            return Trust::Shaky;
        }
    }
    Trust::None
}

/// Whether a record is committed. A mark of which any bit is there was at least begun, after all else was whole; where the rest is not whole
/// only a mark counts that is there but for a few flipped bits: one bit of a blank word may come to read as zero.
pub(super) fn committed<F: ReadNorFlash>(flash: &mut F, place: Place, head: &Head) -> Trust {
    /// Bits of a mark that may be wrong (fault F083). A blank one has 32.
    const FEW: u32 = 3;
    let (at, want) = (place.at.saturating_add(body_size(head.len)), mark(place));
    let (mut begun, mut exact, mut near) = (false, true, false);
    for _ in 0..2 {
        let mut bytes = [0; WORD as usize];
        let told = read(flash, at, &mut bytes);
        begun |= !told || bytes.iter().any(|byte| *byte != 0xFF);
        let wrong = (u64::from_le_bytes(bytes) ^ u64::from_le_bytes(want)).count_ones();
        exact &= told && wrong == 0;
        near |= told && wrong <= FEW;
    }
    if exact {
        Trust::Sound
    } else if near || begun && value(flash, place, head, &mut []) != Trust::None {
        Trust::Shaky
    } else {
        Trust::None
    }
}

/// Where a record ends whose head can't be read: after the mark of its place, if that stands anywhere it may.
pub(super) fn hidden_end<F: ReadNorFlash>(flash: &mut F, place: Place, limit: u32) -> Option<u32> {
    let want = mark(place);
    let mut at = place.at.saturating_add(body_size(0));
    let last = place.at.saturating_add(BODY as u32).min(limit.saturating_sub(WORD));
    while at <= last {
        let mut bytes = [0; WORD as usize];
        if read(flash, at, &mut bytes) && bytes == want {
            return Some(at.saturating_add(WORD));
        }
        at = at.saturating_add(WORD);
    }
    None
}

/// Writes a record whose value already stands in `body` after the head: body first, read back, then the mark, read back.
pub(super) fn write<F: NorFlash>(flash: &mut F, place: Place, told: (u8, u8, u32), body: &mut [u8; BODY]) -> Done {
    let (key, len, seq) = told;
    let value = if len == GONE { 0 } else { len as usize };
    let ends = HEAD.saturating_add(value);
    let crc = check(place, key, len, seq, body.get(HEAD..ends).unwrap_or_default());
    set(body, 0, &[key, len]);
    set(body, 2, &head_check(place, [key, len], seq).to_le_bytes());
    set(body, 4, &seq.to_le_bytes());
    set(body, 8, &crc.to_le_bytes());
    let whole = body_size(len);
    for byte in body.iter_mut().skip(ends) {
        *byte = 0;
    }
    match program(flash, place.at, body.get(..whole as usize).unwrap_or_default()) {
        Done::Well => program(flash, place.at.saturating_add(whole), &mark(place)),
        failed => failed,
    }
}

/// Where a value is put for [`write`].
pub(super) fn room(body: &mut [u8; BODY]) -> &mut [u8] {
    body.get_mut(HEAD..).unwrap_or_default()
}
