//! A page's head: that it was erased and proven blank, then what it was opened for.
//!
//! | byte | what |
//! | --- | --- |
//! | 0-15 | erase marker: programmed after the whole page was read blank twice; holds the wear count |
//! | 16-39 | header: layout, role, place in its generation, generation, what came before, pages given up, wear |
//! | 40-47 | commit mark of the header |
//! | 48- | records |
//!
//! A page without a marker is never used, however blank it looks. The commit mark of a generation's first page is programmed after all
//! of its first records: until then the generation does not exist.

use embedded_storage::nor_flash::{NorFlash, ReadNorFlash};

use super::media::{Done, TRIES, WORD, blank, erase, program, read, set, sum, u32_at};

/// The layout that is written. Layout 0 had no list of pages given up.
pub(super) const LAYOUT: u8 = 1;
/// Where the header begins,
const HEADER: u32 = 16;
/// where its mark,
const MARK: u32 = 40;
/// and where records.
pub(super) const FIRST: u32 = 48;
/// Bits of a mark that may be wrong (fault F083). A blank one has 32.
const FEW: u32 = 3;
/// Begins an erase marker. Any word that is neither blank nor zero would do.
const ERASED: u32 = 0x5EED_0FF5;
/// Stands in every header of every layout, so that CRC and layout can be told before the rest is understood.
const MAGIC: u16 = 0x56A7;

/// What a page was opened for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) struct Header {
    pub layout: u8,
    /// Side 0 or 1, log 2 or more.
    pub role: u8,
    /// Place in its generation.
    pub index: u8,
    /// Records that were carried over from the generation before, in its first page; of a log, words of a slot.
    pub count: u8,
    pub generation: u32,
    /// Everything up to this number was carried over; of a log, the number of the first record.
    pub base: u32,
    /// Pages of this side that are given up, a bit each.
    pub retired: u16,
    pub wear: u32,
}

/// What a page is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum State {
    /// Erased by us, nothing since.
    Free {
        wear: u32,
    },
    Open {
        header: Header,
        committed: bool,
        shaky: bool,
    },
    /// It was opened and committed, and its header can't be read.
    Damaged,
    TooNew(u8),
    /// Anything else, the factory's blank among it.
    Junk,
}

/// The commit mark of a header: of its place alone, so that it can be known where the header can't be read.
fn mark(at: u32) -> [u8; WORD as usize] {
    let low = sum(&[b"page", &at.to_le_bytes()]);
    let mut bytes = [0; WORD as usize];
    set(&mut bytes, 0, &low.to_le_bytes());
    set(&mut bytes, 4, &(!low).to_le_bytes());
    bytes
}

fn parse(body: &[u8]) -> Option<Header> {
    let (told, stored) = body.split_at_checked(20)?;
    let [layout, role, index, count] = *told.first_chunk()?;
    let tail = u32_at(told, 12);
    let (retired, magic) = (tail as u16, (tail >> 16) as u16);
    let generation = u32_at(told, 4);
    let retired = if layout == 0 { 0 } else { retired };
    (sum(&[told]) == u32_at(stored, 0) && magic == MAGIC).then_some(Header {
        layout,
        role,
        index,
        count,
        generation,
        base: u32_at(told, 8),
        retired,
        wear: u32_at(told, 16),
    })
}

fn once<F: ReadNorFlash>(flash: &mut F, at: u32) -> State {
    let mut bytes = [0; FIRST as usize];
    if !read(flash, at, &mut bytes) {
        return State::Junk;
    }
    let marker = bytes.get(..16).unwrap_or_default();
    let body = bytes.get(16..40).unwrap_or_default();
    let end = bytes.get(40..48).unwrap_or_default();
    let wrong =
        end.iter().zip(mark(at)).fold(0_u32, |all, (byte, want)| all.saturating_add((*byte ^ want).count_ones()));
    let unmarked = end.iter().all(|byte| *byte == 0xFF);
    if let Some(header) = parse(body) {
        return if header.layout > LAYOUT {
            State::TooNew(header.layout)
        } else {
            State::Open { header, committed: wrong <= FEW, shaky: wrong != 0 && !unmarked }
        };
    }
    if wrong <= FEW {
        return State::Damaged;
    }
    let whole = u32_at(marker, 0) == ERASED && sum(&[marker.get(..12).unwrap_or_default()]) == u32_at(marker, 12);
    if whole && unmarked && body.iter().all(|byte| *byte == 0xFF) {
        State::Free { wear: u32_at(marker, 4) }
    } else {
        State::Junk
    }
}

/// What the page at this address is, as two reads say alike, or at its best if they do not.
pub(super) fn look<F: ReadNorFlash>(flash: &mut F, at: u32) -> State {
    let (first, second) = (once(flash, at), once(flash, at));
    // What can't be read may be a bit that was wrong twice: it is looked at again.
    if first == second && !matches!(first, State::Damaged | State::Junk) {
        return first;
    }
    let mut best = State::Junk;
    for now in [first, second].into_iter().chain((2..TRIES).map(|_| once(flash, at))) {
        best = match (best, now) {
            (State::Open { committed: true, .. } | State::TooNew(_), _) => best,
            (_, State::Open { header, committed, .. }) => State::Open { header, committed, shaky: true },
            (State::Open { .. }, _) => best,
            (_, State::TooNew(layout)) => State::TooNew(layout),
            (_, State::Damaged) => State::Damaged,
            _ => best,
        };
    }
    best
}

/// The erase count that a page tells, 0 if none.
pub(super) fn wear(state: &State) -> u32 {
    match state {
        State::Free { wear } => *wear,
        State::Open { header, .. } => header.wear,
        _ => 0,
    }
}

/// Erases a page, proves it blank, and marks it so.
pub(super) fn prepare<F: NorFlash>(flash: &mut F, at: u32, wear: u32) -> Done {
    if erase(flash, at) != Done::Well {
        return Done::Spoilt;
    }
    let mut marker = [0; HEADER as usize];
    set(&mut marker, 0, &ERASED.to_le_bytes());
    set(&mut marker, 4, &wear.to_le_bytes());
    let check = sum(&[marker.get(..12).unwrap_or_default()]);
    set(&mut marker, 12, &check.to_le_bytes());
    program(flash, at, &marker)
}

/// Opens a page that is free, if all of it still reads blank. Its mark is not yet there.
pub(super) fn open<F: NorFlash>(flash: &mut F, at: u32, header: &Header) -> Done {
    if !blank(flash, at.saturating_add(HEADER), at.saturating_add(F::ERASE_SIZE as u32)) {
        return Done::Nothing;
    }
    let mut body = [0; (MARK - HEADER) as usize];
    set(&mut body, 0, &[header.layout, header.role, header.index, header.count]);
    set(&mut body, 4, &header.generation.to_le_bytes());
    set(&mut body, 8, &header.base.to_le_bytes());
    set(&mut body, 12, &header.retired.to_le_bytes());
    set(&mut body, 14, &MAGIC.to_le_bytes());
    set(&mut body, 16, &header.wear.to_le_bytes());
    let check = sum(&[body.get(..20).unwrap_or_default()]);
    set(&mut body, 20, &check.to_le_bytes());
    program(flash, at.saturating_add(HEADER), &body)
}

/// From here on the page counts.
pub(super) fn commit<F: NorFlash>(flash: &mut F, at: u32) -> Done {
    program(flash, at.saturating_add(MARK), &mark(at))
}
