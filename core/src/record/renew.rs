//! Writing a side: a new generation from what both sides hold, and records behind it.
//!
//! Nothing of the old generation is touched before the new one was found by a scan: then its pages are waste, to be erased in peace.

use embedded_storage::nor_flash::NorFlash;

use super::item::{self, BODY, GONE, Place, Trust};
use super::media::{Done, set};
use super::page::{self, Header, LAYOUT, State};
use super::side::{DOUBT, Side};
use super::store::{Look, Store};
use super::words::Refusal;

/// Why a generation was not written.
enum Failed {
    /// Something did not do what it said: another place may.
    Again,
    /// No place is left.
    Worn,
}

impl<F: NorFlash> Store<F> {
    /// Erases and marks one page of a side; gives it up if it can't be.
    fn prepare(&mut self, role: usize, page: u8) {
        let Some(side) = self.sides.get_mut(role) else { return };
        // A page that does not tell its wear counts as the one that tells most.
        let wear = match page::look(&mut self.flash, side.page(page)) {
            State::Junk | State::Damaged => side.wear.saturating_add(1),
            state => page::wear(&state).saturating_add(1),
        };
        // A marker that did nothing leaves a page without one: it is erased again when it is wanted.
        if page::prepare(&mut self.flash, side.page(page), wear) == Done::Spoilt {
            side.give_up(page);
            self.mended = self.mended.saturating_add(1);
        }
    }

    /// A page that is neither used nor ready.
    pub(super) fn waste(&mut self, role: usize) -> Option<u8> {
        let side = self.sides.get(role)?;
        (0..side.pages).find(|page| {
            !side.uses(*page)
                && !side.gave_up(*page)
                && !matches!(page::look(&mut self.flash, side.page(*page)), State::Free { .. })
        })
    }

    /// Erases one page that is neither used nor ready.
    pub(super) fn erase_one(&mut self, role: usize) -> bool {
        match self.waste(role) {
            Some(page) => {
                self.prepare(role, page);
                true
            }
            None => false,
        }
    }

    /// All that is not used is made ready. Bounded: a page that resists twice the number of pages is not waited for.
    pub(super) fn erase_all(&mut self, role: usize) {
        for _ in 0..2 * super::words::SIDE_MOST {
            if !self.erase_one(role) {
                return;
            }
        }
    }

    /// The next page after the newest that is free, so that all are used in turn.
    fn free(&mut self, role: usize, next: &Side) -> Option<u8> {
        let side = self.sides.get(role)?;
        let newest = next.in_chain(next.length.wrapping_sub(1)).or(side.in_chain(side.length.wrapping_sub(1)));
        let after = newest.map_or(0, |page| page.saturating_add(1));
        (0..side.pages).map(|step| after.wrapping_add(step) % side.pages.max(1)).find(|page| {
            !side.uses(*page)
                && !next.uses(*page)
                && !side.gave_up(*page)
                && matches!(page::look(&mut self.flash, side.page(*page)), State::Free { .. })
        })
    }

    /// A program that failed: the page is erased anew, and given up if something is left in it once more.
    fn failed(&mut self, role: usize, page: u8, done: Done) -> Failed {
        self.mended = self.mended.saturating_add(1);
        if done == Done::Spoilt
            && let Some(side) = self.sides.get_mut(role)
        {
            side.suspect(page);
        }
        Failed::Again
    }

    /// Opens a free page at the end of a generation; the mark of its first is left for later.
    fn open(&mut self, role: usize, next: &mut Side) -> Result<(), Failed> {
        let page = self.free(role, next).ok_or(Failed::Worn)?;
        let at = next.page(page);
        let wear = page::wear(&page::look(&mut self.flash, at));
        let header = Header {
            layout: LAYOUT,
            role: next.role,
            index: next.length,
            count: next.count,
            generation: next.generation,
            base: next.base,
            retired: next.retired,
            wear,
        };
        let mut done = page::open(&mut self.flash, at, &header);
        if done == Done::Well && header.index > 0 {
            done = page::commit(&mut self.flash, at);
        }
        if done == Done::Nothing {
            // A marker that outlived the blank behind it: it is erased anew before it is taken.
            self.prepare(role, page);
        }
        if done != Done::Well {
            return Err(self.failed(role, page, done));
        }
        next.extend(page);
        next.wear = next.wear.max(wear);
        Ok(())
    }

    /// A record behind the last one of a generation, in a page more if need be. The value stands in `body`.
    fn add(&mut self, role: usize, next: &mut Side, told: (u8, u8, u32), body: &mut [u8; BODY]) -> Result<(), Failed> {
        let size = item::size(told.1);
        if next.left() < size {
            self.open(role, next)?;
        }
        let place = Place { salt: next.salt(), at: next.end };
        let done = item::write(&mut self.flash, place, told, body);
        if done != Done::Well {
            let page = next.in_chain(next.length.wrapping_sub(1)).unwrap_or(0);
            return Err(self.failed(role, page, done));
        }
        next.end = next.end.wrapping_add(size);
        Ok(())
    }

    /// All that lives, into a new generation of one side. `base` is the last number given, 0 for a new store. Nothing lives in that one, nor where
    /// neither side has a page.
    fn copy(&mut self, role: usize, base: u32) -> Result<Side, Failed> {
        let mut keys = [0; 8];
        let (mut hole, mut highest) = (u32::MAX, 0);
        for side in &self.sides {
            side.keys(&mut self.flash, &mut keys);
            hole = hole.min(side.find(&mut self.flash, DOUBT).hole);
            highest = highest.max(side.highest);
        }
        if base == 0 || self.sides.iter().all(|side| side.length == 0) {
            (hole, keys) = (0, [0; 8]);
        }
        let side = self.sides.get(role).ok_or(Failed::Worn)?;
        let mut next = Side::new(side.role, side.start, side.pages, side.size);
        (next.generation, next.base, next.retired, next.wear) =
            (highest.saturating_add(1), base, side.retired, side.wear);
        // Number of keys: at most 242, so it fits.
        let count = keys
            .iter()
            .fold(0_u32, |all, word| all.saturating_add(word.count_ones()))
            .saturating_add(u32::from(hole != 0));
        next.count = count as u8;
        if let Some(side) = self.sides.get_mut(role) {
            side.highest = next.generation;
        }
        self.open(role, &mut next)?;
        let mut body = [0; BODY];
        if hole != 0 {
            set(item::room(&mut body), 0, &hole.to_le_bytes());
            self.add(role, &mut next, (DOUBT, 4, base), &mut body)?;
        }
        for key in (0..=u8::MAX).filter(|key| has(&keys, *key)) {
            let told = match self.look(key) {
                Look::At(place, head) => {
                    match item::value(&mut self.flash, place, &head, item::room(&mut body)) {
                        // It was right a moment ago. Nothing is lost: the old generation stands.
                        Trust::None => return Err(Failed::Again),
                        // A record of a put that failed after it may stand there: it was not acknowledged, and its number is given anew.
                        _ => (key, head.len, head.seq.min(base)),
                    }
                }
                _ => (key, GONE, base),
            };
            self.add(role, &mut next, told, &mut body)?;
        }
        let first = next.in_chain(0).unwrap_or(0);
        match page::commit(&mut self.flash, next.page(first)) {
            Done::Well => Ok(next),
            done => Err(self.failed(role, first, done)),
        }
    }

    /// A new generation of one side, found by a scan.
    pub(super) fn renew(&mut self, role: usize, base: u32) -> Result<(), Refusal> {
        for _ in 0..2 * super::words::SIDE_MOST {
            self.erase_all(role);
            match self.copy(role, base) {
                Ok(next) => {
                    let seen = next.scan(&mut self.flash, false).map_err(Refusal::TooNew)?;
                    if let Some(side) = self.sides.get_mut(role) {
                        side.highest = side.highest.max(seen.highest);
                        if (seen.generation, seen.end, seen.hole) == (next.generation, next.end, 0) {
                            *side = Side { fresh: true, wear: side.wear.max(seen.wear), suspect: side.suspect, ..seen };
                            return Ok(());
                        }
                    }
                    self.mended = self.mended.saturating_add(1);
                }
                Err(Failed::Again) => {}
                Err(Failed::Worn) => return Err(Refusal::WornOut),
            }
        }
        Err(Refusal::WornOut)
    }

    /// A record on one side, wherever there is a place for it.
    pub(super) fn append(&mut self, role: usize, key: u8, seq: u32, value: &[u8]) -> Result<(), Refusal> {
        for _ in 0..super::words::SIDE_MOST {
            let Some(mut next) = self.sides.get(role).copied() else { return Err(Refusal::WornOut) };
            let size = item::size(value.len() as u8);
            if !next.fresh || next.left() < size && !self.may_grow(&next) {
                self.renew(role, seq.wrapping_sub(1))?;
                continue;
            }
            let mut body = [0; BODY];
            set(item::room(&mut body), 0, value);
            if next.left() < size && self.free(role, &next).is_none() {
                self.erase_one(role);
            }
            let done = self.add(role, &mut next, (key, value.len() as u8, seq), &mut body);
            let Some(side) = self.sides.get_mut(role) else { return Err(Refusal::WornOut) };
            match done {
                Ok(()) => {
                    next.next = seq.saturating_add(1);
                    next.retired |= side.retired;
                    *side = Side { highest: side.highest, suspect: side.suspect, ..next };
                    return Ok(());
                }
                // What stands there now is left alone; a new generation goes elsewhere.
                Err(_) => side.fresh = false,
            }
        }
        Err(Refusal::WornOut)
    }

    /// Whether a generation may have one page more: those that a full copy of all needs stay free.
    fn may_grow(&self, side: &Side) -> bool {
        side.length < side.working().saturating_sub(side.working() / 2)
    }
}

fn has(keys: &[u32; 8], key: u8) -> bool {
    keys.get(usize::from(key >> 5)).is_some_and(|word| word.wrapping_shr(u32::from(key & 31)) & 1 == 1)
}
