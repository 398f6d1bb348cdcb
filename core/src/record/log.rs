//! A log: records of bounded length in slots, oldest to newest around a ring of pages. Each record is there once.
//!
//! Records are numbered without gaps. A number whose record can't be read, with later ones behind it, is lost and told so; a record
//! that was cut off has no number. After a start one slot is left out, because what looks blank there may be half programmed.
//! Two records of one number are the earlier one cut off before it counted, and the later one that took its place: the later counts.

use embedded_storage::nor_flash::{NorFlash, ReadNorFlash};

use super::item::{self, BODY, Head, Place, Seen, Trust};
use super::media::{Done, blank, set};
use super::page::{self, FIRST, Header, LAYOUT, State};
use super::words::{LogPlan, Refusal, WhenFull};

/// A log as a scan finds it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Log {
    pub(super) role: u8,
    pub(super) start: u32,
    pub(super) size: u32,
    pub(super) pages: u16,
    /// Bytes of a slot, and slots of a page.
    pub(super) slot: u32,
    pub(super) slots: u16,
    /// The page that is written, and its number; 0 if none.
    pub(super) head: u16,
    pub(super) serial: u32,
    /// The highest number that any page tells, committed or not: none is given twice.
    pub(super) top: u32,
    /// The slot that is written next, and the number that goes there.
    pub(super) at: u16,
    pub(super) next: u32,
    pub(super) oldest: u32,
    pub(super) wear: u32,
    /// A page's head, or a record in the newest page, can't be read.
    pub(super) ailing: bool,
}

/// A slot as it reads.
pub(super) enum Slot {
    Blank,
    Torn,
    Damaged,
    Whole(Head),
}

impl LogPlan {
    /// No log.
    pub const NONE: Self = Self { pages: 0, longest: 0, when_full: WhenFull::Refuse };
}

impl Log {
    pub(super) fn new(role: u8, start: u32, size: u32, plan: &LogPlan) -> Self {
        let slot = item::size(plan.longest);
        let slots = size.saturating_sub(FIRST).checked_div(slot).unwrap_or(0) as u16;
        let (head, serial, top, at, next, oldest) = (0, 0, 0, slots, 0, 0);
        Self {
            role,
            start,
            size,
            pages: plan.pages,
            slot,
            slots,
            head,
            serial,
            top,
            at,
            next,
            oldest,
            wear: 0,
            ailing: false,
        }
    }

    pub(super) fn page(&self, page: u16) -> u32 {
        self.start.wrapping_add(u32::from(page).wrapping_mul(self.size))
    }

    pub(super) fn place(&self, page: u16, serial: u32, slot: u16) -> Place {
        let at = self.page(page).wrapping_add(FIRST).wrapping_add(u32::from(slot).wrapping_mul(self.slot));
        Place { salt: serial.wrapping_mul(8) | u32::from(self.role), at }
    }

    fn open<F: ReadNorFlash>(&self, flash: &mut F, page: u16) -> Option<Header> {
        match page::look(flash, self.page(page)) {
            State::Open { header, committed: true, .. } if header.role == self.role => Some(header),
            _ => None,
        }
    }

    pub(super) fn is_blank<F: ReadNorFlash>(&self, flash: &mut F) -> bool {
        blank(flash, self.start, self.page(self.pages))
    }

    /// Most records that are kept whatever happens, but for one that each start may cost.
    pub(super) fn capacity(&self) -> u32 {
        u32::from(self.slots).saturating_mul(u32::from(self.pages.saturating_sub(1)))
    }

    pub(super) fn slot<F: ReadNorFlash>(&self, flash: &mut F, page: u16, serial: u32, slot: u16) -> Slot {
        let place = self.place(page, serial, slot);
        match item::head(flash, place) {
            Seen::Blank if blank(flash, place.at, place.at.saturating_add(self.slot)) => Slot::Blank,
            Seen::Head { head, .. } => match item::committed(flash, place, &head) {
                Trust::None => Slot::Torn,
                _ if item::value(flash, place, &head, &mut []) == Trust::None => Slot::Damaged,
                _ => Slot::Whole(head),
            },
            _ if item::hidden_end(flash, place, place.at.saturating_add(self.slot)).is_some() => Slot::Damaged,
            _ => Slot::Torn,
        }
    }

    /// The last number in a page that is not the newest: what the next page begins with, less one.
    fn last_in<F: ReadNorFlash>(&self, flash: &mut F, serial: u32) -> u32 {
        let mut next = (u32::MAX, self.next);
        for page in 0..self.pages {
            if let Some(header) = self.open(flash, page)
                && header.generation > serial
            {
                next = next.min((header.generation, header.base));
            }
        }
        next.1.saturating_sub(1)
    }

    /// The page that comes after the newest in the ring.
    pub(super) fn following(&self, steps: u16) -> u16 {
        self.head.wrapping_add(steps).checked_rem(self.pages.max(1)).unwrap_or(0)
    }

    /// Whether the page may be erased: it holds nothing, or only what was exported and may be given up.
    fn may_erase<F: ReadNorFlash>(&self, flash: &mut F, page: u16, exported: u32, when: WhenFull) -> bool {
        match self.open(flash, page) {
            Some(header) => when == WhenFull::OverExported && self.last_in(flash, header.generation) <= exported,
            None => true,
        }
    }

    /// Erases a page and counts it.
    fn erase<F: NorFlash>(&mut self, flash: &mut F, page: u16) -> bool {
        let told = page::wear(&page::look(flash, self.page(page)));
        let wear = if told == 0 { self.wear } else { told }.saturating_add(1);
        let done = page::prepare(flash, self.page(page), wear) == Done::Well;
        self.survey(flash);
        done
    }

    /// The oldest number that any page still holds.
    fn survey<F: ReadNorFlash>(&mut self, flash: &mut F) {
        let mut oldest = self.next;
        for page in 0..self.pages {
            if let Some(header) = self.open(flash, page) {
                oldest = oldest.min(header.base);
            }
        }
        self.oldest = oldest;
    }

    pub(super) fn erase_all<F: NorFlash>(&mut self, flash: &mut F) {
        for page in 0..self.pages {
            self.erase(flash, page);
        }
        // The answer is in the pages themselves: one that did not become free is tried again when it is wanted.
        let _ = self.scan(flash);
    }

    /// Makes the page after the newest ready, if it is not and may be. Whether it did.
    pub(super) fn prepare_next<F: NorFlash>(&mut self, flash: &mut F, exported: u32, when: WhenFull) -> bool {
        let page = self.following(1);
        if self.pages == 0
            || self.serial != 0 && page == self.head
            || matches!(page::look(flash, self.page(page)), State::Free { .. })
            || !self.may_erase(flash, page, exported, when)
        {
            return false;
        }
        self.erase(flash, page)
    }

    /// Goes on in a new page.
    fn turn<F: NorFlash>(&mut self, flash: &mut F, exported: u32, when: WhenFull) -> Result<(), Refusal> {
        let mut refusal = Refusal::WornOut;
        for step in 1..=self.pages {
            let page = self.following(step);
            if self.serial != 0 && page == self.head {
                continue;
            }
            if !matches!(page::look(flash, self.page(page)), State::Free { .. }) {
                if !self.may_erase(flash, page, exported, when) {
                    // What is older is not left behind for what is newer.
                    return Err(Refusal::Full);
                }
                if !self.erase(flash, page) {
                    continue;
                }
            }
            let serial = self.top.max(self.serial).saturating_add(u32::from(step));
            if self.begin(flash, page, serial) {
                return Ok(());
            }
            refusal = Refusal::NotStored;
        }
        Err(refusal)
    }

    /// Opens a page that is free. One whose marker outlived the blank behind it is erased once more.
    fn begin<F: NorFlash>(&mut self, flash: &mut F, page: u16, serial: u32) -> bool {
        let (role, base, count) = (self.role, self.next, (self.slot / 8) as u8);
        for _ in 0..2 {
            let wear = page::wear(&page::look(flash, self.page(page)));
            let header = Header { layout: LAYOUT, role, index: 0, count, generation: serial, base, retired: 0, wear };
            let opened = page::open(flash, self.page(page), &header);
            if opened == Done::Well && page::commit(flash, self.page(page)) == Done::Well {
                (self.head, self.serial, self.top, self.at) = (page, serial, serial, 0);
                self.oldest = if self.oldest == 0 { 1 } else { self.oldest };
                return true;
            }
            if opened == Done::Spoilt || !self.erase(flash, page) {
                return false;
            }
        }
        false
    }

    /// Appends a record and tells its number.
    pub(super) fn append<F: NorFlash>(
        &mut self,
        flash: &mut F,
        value: &[u8],
        exported: u32,
        when: WhenFull,
    ) -> Result<u32, Refusal> {
        for _ in 0..self.pages.saturating_mul(2) {
            if self.at >= self.slots {
                self.turn(flash, exported, when)?;
            }
            let place = self.place(self.head, self.serial, self.at);
            let mut body = [0; BODY];
            set(item::room(&mut body), 0, value);
            let number = self.next;
            // Blank it must be, whatever was thought: nothing is programmed twice.
            let written = blank(flash, place.at, place.at.saturating_add(self.slot))
                && item::write(flash, place, (0, value.len() as u8, number), &mut body) == Done::Well;
            if written && self.found_again(flash, number, value) {
                self.at = self.at.saturating_add(1);
                self.next = number.saturating_add(1);
                return Ok(number);
            }
            // The page is left: what is wrong with it may concern the next slot too. If the record counts after all, so does its number.
            let mut seen = *self;
            if seen.scan(flash).is_ok() {
                (self.serial, self.head, self.next) =
                    (self.serial.max(seen.serial), seen.head, self.next.max(seen.next));
            }
            self.at = self.slots;
        }
        Err(Refusal::NotStored)
    }

    /// Whether a start would find this record as the newest.
    fn found_again<F: ReadNorFlash>(&self, flash: &mut F, number: u32, value: &[u8]) -> bool {
        let mut seen = *self;
        let place = self.place(self.head, self.serial, self.at);
        seen.scan(flash).is_ok()
            && (seen.head, seen.serial, seen.next) == (self.head, self.serial, number.saturating_add(1))
            && matches!(self.slot(flash, self.head, self.serial, self.at), Slot::Whole(head)
                if head.seq == number && head.crc == item::check(place, 0, value.len() as u8, number, value))
    }

    /// Reads a record by its number.
    pub(super) fn read<F: ReadNorFlash>(
        &self,
        flash: &mut F,
        number: u32,
        into: &mut [u8],
    ) -> Result<Option<usize>, Refusal> {
        if number < self.oldest || number >= self.next {
            return Ok(None);
        }
        // The page with the highest first number that is not above this one; of two with the same, the later.
        let mut best = (0, 0, 0);
        for page in 0..self.pages {
            if let Some(header) = self.open(flash, page)
                && header.base <= number
            {
                best = best.max((header.base, header.generation, page));
            }
        }
        let (_, serial, page) = best;
        for slot in (0..self.slots).rev() {
            let place = self.place(page, serial, slot);
            if let Seen::Head { head, .. } = item::head(flash, place)
                && head.seq == number
                && item::value(flash, place, &head, into) != Trust::None
            {
                return Ok(Some(usize::from(head.len)));
            }
        }
        Err(Refusal::Lost)
    }

    /// How many records of the longest kind still fit before a page must be given up.
    pub(super) fn room<F: ReadNorFlash>(&self, flash: &mut F, exported: u32, when: WhenFull) -> u32 {
        let here = if self.serial == 0 { 0 } else { self.slots.saturating_sub(self.at) };
        let mut pages = 0_u32;
        for step in 1..=self.pages {
            let page = self.following(step);
            if self.serial != 0 && page == self.head || !self.may_erase(flash, page, exported, when) {
                break;
            }
            pages = pages.saturating_add(1);
        }
        u32::from(here).saturating_add(pages.saturating_mul(u32::from(self.slots)))
    }

    /// Lets go of the oldest page if all of it was exported. Whether there was one.
    pub(super) fn let_go<F: NorFlash>(&mut self, flash: &mut F, exported: u32) -> bool {
        for step in 1..self.pages {
            let page = self.following(step);
            if self.open(flash, page).is_some() {
                return self.may_erase(flash, page, exported, WhenFull::OverExported) && self.erase(flash, page);
            }
        }
        false
    }
}
