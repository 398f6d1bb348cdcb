//! One of the two sides: a generation of pages that holds every item once. What a side says of itself is what a start would see.
//!
//! A generation begins with a copy of all that lives, and goes on with what is put after. It is written in one stretch of power: a start
//! never appends to what it finds but writes a new generation first, so that nothing ever stands behind a torn record.

use embedded_storage::nor_flash::ReadNorFlash;

use super::item::{self, Head, Place, Seen, Trust};
use super::media::u32_at;
use super::page::{self, FIRST, State};
use super::words::SIDE_MOST;

/// The key that says up to which number records of unknown keys are lost on both sides.
pub(super) const DOUBT: u8 = 0xFE;
/// No page.
const NONE: u8 = 0xFF;
/// A hole whose end is not known.
pub(super) const ALL: u32 = u32::MAX;

/// A side, as a scan finds it and as appending leaves it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Side {
    /// 0 or 1.
    pub role: u8,
    /// Address of its first page, and its pages.
    pub start: u32,
    pub pages: u8,
    /// Bytes of a page.
    pub size: u32,
    /// Pages of the generation in their order.
    pub chain: [u8; SIDE_MOST as usize],
    pub length: u8,
    pub generation: u32,
    /// The highest generation that any page speaks of.
    pub highest: u32,
    /// Carried over at the generation's start: how many records, up to which number.
    pub count: u8,
    pub base: u32,
    pub retired: u16,
    /// Pages in which a program failed since the start: with the second time they are given up.
    pub suspect: u16,
    /// Where the next record goes, in the last page.
    pub end: u32,
    /// The number that the next record would have.
    pub next: u32,
    /// Up to which number a record of an unknown key may be missing; 0 for none.
    pub hole: u32,
    pub wear: u32,
    /// Opened since the start, so that it may be appended to.
    pub fresh: bool,
    /// Something is damaged, torn or unsteady: to be written anew.
    pub ailing: bool,
    /// A page is neither free nor part of a whole generation: to be erased.
    pub junk: bool,
    /// Written in an earlier layout.
    pub old: bool,
    /// Every page reads blank and none has a marker.
    pub blank: bool,
}

/// What a side says of a key.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) struct Told {
    /// The newest record, if it can be believed.
    pub best: Option<(Place, Head)>,
    /// The newest record if it can't: its number, 0 for none.
    pub bad: u32,
    /// As [`Side::hole`], with what was written down as lost.
    pub hole: u32,
    pub shaky: bool,
}

/// Where a walk over a side stands.
pub(super) struct Walk {
    index: u8,
    at: u32,
    left: u8,
    pub next: u32,
    pub hole: u32,
    /// Records of unknown number were passed.
    gap: bool,
    pub ailing: bool,
    pub end: u32,
}

impl Side {
    pub(super) fn new(role: u8, start: u32, pages: u8, size: u32) -> Self {
        Self {
            role,
            start,
            pages: pages.min(SIDE_MOST),
            size,
            chain: [NONE; SIDE_MOST as usize],
            length: 0,
            generation: 0,
            highest: 0,
            count: 0,
            base: 0,
            retired: 0,
            suspect: 0,
            end: 0,
            next: 1,
            hole: ALL,
            wear: 0,
            fresh: false,
            ailing: false,
            junk: false,
            old: false,
            blank: false,
        }
    }

    pub(super) fn page(&self, page: u8) -> u32 {
        self.start.wrapping_add(u32::from(page).wrapping_mul(self.size))
    }

    pub(super) fn salt(&self) -> u32 {
        self.generation.wrapping_mul(8) | u32::from(self.role)
    }

    pub(super) fn gave_up(&self, page: u8) -> bool {
        self.retired & (1_u16).wrapping_shl(u32::from(page)) != 0
    }

    pub(super) fn give_up(&mut self, page: u8) {
        self.retired |= (1_u16).wrapping_shl(u32::from(page));
    }

    /// A program failed in this page.
    pub(super) fn suspect(&mut self, page: u8) {
        let bit = (1_u16).wrapping_shl(u32::from(page));
        self.retired |= self.suspect & bit;
        self.suspect |= bit;
    }

    /// Whether a page belongs to the generation.
    pub(super) fn uses(&self, page: u8) -> bool {
        self.chain.iter().take(usize::from(self.length)).any(|one| *one == page)
    }

    /// Pages that still work.
    pub(super) fn working(&self) -> u8 {
        self.pages.saturating_sub(self.retired.count_ones() as u8)
    }

    pub(super) fn in_chain(&self, index: u8) -> Option<u8> {
        self.chain.iter().take(usize::from(self.length)).nth(usize::from(index)).copied().filter(|page| *page != NONE)
    }

    /// Adds a page at the end of the generation.
    pub(super) fn extend(&mut self, page: u8) {
        if let Some(place) = self.chain.get_mut(usize::from(self.length)) {
            *place = page;
            self.length = self.length.saturating_add(1);
            self.end = self.page(page).wrapping_add(FIRST);
        }
    }

    /// Bytes that still fit into the last page.
    pub(super) fn left(&self) -> u32 {
        match self.in_chain(self.length.wrapping_sub(1)) {
            Some(page) => self.page(page).wrapping_add(self.size).saturating_sub(self.end),
            None => 0,
        }
    }

    /// What the pages say, without knowledge of before. `Err` has the layout that is too new.
    pub(super) fn scan<F: ReadNorFlash>(&self, flash: &mut F, thorough: bool) -> Result<Self, u8> {
        let mut found = Self::new(self.role, self.start, self.pages, self.size);
        let mut doubt = false;
        found.choose(flash, &mut doubt)?;
        if found.length == 0 {
            found.ailing = true;
            found.blank = !doubt && page_range_blank(flash, &found);
            return Ok(found);
        }
        found.collect(flash, doubt);
        let mut walk = found.walk();
        while let Some((place, head, shaky)) = walk.step(flash, &found) {
            if shaky || thorough && item::value(flash, place, &head, &mut []) != Trust::Sound {
                walk.ailing = true;
            }
        }
        found.next = walk.next;
        found.end = walk.end;
        found.hole = if doubt { ALL } else { walk.hole };
        found.ailing |= walk.ailing || found.hole != 0;
        Ok(found)
    }

    /// The newest generation that is whole.
    fn choose<F: ReadNorFlash>(&mut self, flash: &mut F, doubt: &mut bool) -> Result<(), u8> {
        for page in 0..self.pages {
            let state = page::look(flash, self.page(page));
            self.wear = self.wear.max(page::wear(&state));
            match state {
                State::TooNew(layout) => return Err(layout),
                State::Damaged => *doubt = true,
                State::Open { header, committed, shaky } if header.role == self.role => {
                    self.highest = self.highest.max(header.generation);
                    if committed && header.index == 0 && header.generation > self.generation {
                        (self.generation, self.length) = (header.generation, 1);
                        (self.count, self.base, self.retired) = (header.count, header.base, header.retired);
                        (self.ailing, self.old) = (shaky, header.layout < page::LAYOUT);
                    }
                }
                _ => {}
            }
        }
        Ok(())
    }

    /// The pages of that generation, and what else lies about.
    fn collect<F: ReadNorFlash>(&mut self, flash: &mut F, mut doubt: bool) {
        self.length = 0;
        for page in 0..self.pages {
            if self.gave_up(page) {
                continue;
            }
            match page::look(flash, self.page(page)) {
                State::Open { header, committed: true, shaky }
                    if header.role == self.role && header.generation == self.generation =>
                {
                    if let Some(place) = self.chain.get_mut(usize::from(header.index)) {
                        *place = page;
                        self.length = self.length.max(header.index.saturating_add(1));
                    }
                    self.ailing |= shaky;
                }
                State::Open { header, committed: true, .. } if header.generation < self.generation => {}
                State::Free { .. } => {}
                State::Damaged => doubt = true,
                _ => self.junk = true,
            }
        }
        self.junk |= doubt;
    }

    pub(super) fn walk(&self) -> Walk {
        let at = self.in_chain(0).map_or(0, |page| self.page(page).wrapping_add(FIRST));
        let next = self.base.saturating_add(1);
        Walk { index: 0, at, left: self.count, next, hole: 0, gap: false, ailing: false, end: at }
    }

    /// What this side says of a key.
    pub(super) fn find<F: ReadNorFlash>(&self, flash: &mut F, key: u8) -> Told {
        let mut told = Told::default();
        let mut last = None;
        let mut walk = self.walk();
        let mut written = 0;
        while let Some((place, head, shaky)) = walk.step(flash, self) {
            if head.key == key {
                last = Some((place, head));
                told.shaky = shaky;
            }
            if head.key == DOUBT {
                let mut upto = [0; 4];
                let sound = item::value(flash, place, &head, &mut upto) != Trust::None;
                written = if sound { u32_at(&upto, 0) } else { head.seq };
            }
        }
        told.hole = if self.length == 0 { ALL } else { self.hole.max(walk.hole).max(written) };
        if let Some((place, head)) = last {
            match item::value(flash, place, &head, &mut []) {
                Trust::None => told.bad = head.seq,
                trust => {
                    told.best = last;
                    told.shaky |= trust == Trust::Shaky;
                }
            }
        }
        told
    }

    /// The keys of which this side holds anything, a bit each; those of the store itself among them, but for [`DOUBT`].
    pub(super) fn keys<F: ReadNorFlash>(&self, flash: &mut F, keys: &mut [u32; 8]) {
        let mut walk = self.walk();
        while let Some((_, head, _)) = walk.step(flash, self) {
            if head.key != DOUBT
                && let Some(word) = keys.get_mut(usize::from(head.key >> 5))
            {
                *word |= 1_u32.wrapping_shl(u32::from(head.key & 31));
            }
        }
    }
}

/// Every page of a side blank in two reads.
fn page_range_blank<F: ReadNorFlash>(flash: &mut F, side: &Side) -> bool {
    let end = side.start.wrapping_add(u32::from(side.pages).wrapping_mul(side.size));
    super::media::blank(flash, side.start, end)
}

impl Walk {
    /// The next record that is committed and whose head can be read, with a warning if it did not read well.
    pub(super) fn step<F: ReadNorFlash>(&mut self, flash: &mut F, side: &Side) -> Option<(Place, Head, bool)> {
        loop {
            let limit = match side.in_chain(self.index) {
                Some(page) => side.page(page).wrapping_add(side.size),
                None => {
                    self.gap |= self.index < side.length;
                    self.turn(side)?;
                    continue;
                }
            };
            let place = Place { salt: side.salt(), at: self.at };
            if self.at.saturating_add(item::size(0)) > limit {
                self.turn(side)?;
                continue;
            }
            match item::head(flash, place) {
                Seen::Blank => self.turn(side)?,
                Seen::Head { head, shaky } if self.at.saturating_add(item::size(head.len)) <= limit => {
                    match item::committed(flash, place, &head) {
                        Trust::None => {
                            self.torn(side);
                            self.turn(side)?;
                        }
                        trust => {
                            self.at = self.at.saturating_add(item::size(head.len));
                            self.account(side, head.seq);
                            let shaky = shaky || trust == Trust::Shaky;
                            self.ailing |= shaky;
                            return Some((place, head, shaky));
                        }
                    }
                }
                _ => self.unreadable(flash, side, place, limit)?,
            }
        }
    }

    /// Goes to the next page; `None` after the last.
    fn turn(&mut self, side: &Side) -> Option<()> {
        self.end = self.at;
        self.index = self.index.saturating_add(1);
        if self.index < side.length {
            self.at = side.in_chain(self.index).map_or(0, |page| side.page(page).wrapping_add(FIRST));
            return Some(());
        }
        if self.left > 0 {
            self.missing(side.base);
            self.left = 0;
        }
        if self.gap {
            self.missing(ALL);
        }
        None
    }

    /// A record without a commit: at the very end it was cut off; before it, nothing is written behind such a one.
    fn torn(&mut self, side: &Side) {
        self.ailing = true;
        self.gap |= self.index.saturating_add(1) < side.length;
    }

    fn missing(&mut self, upto: u32) {
        self.ailing = true;
        self.hole = self.hole.max(upto);
    }

    /// A number was read.
    fn account(&mut self, side: &Side, seq: u32) {
        if seq <= side.base {
            self.left = self.left.saturating_sub(1);
            return;
        }
        if self.left > 0 {
            self.missing(side.base);
            self.left = 0;
        }
        if seq < self.next {
            self.missing(ALL);
        } else if seq > self.next {
            self.missing(seq.saturating_sub(1));
        }
        self.gap = false;
        self.next = self.next.max(seq.saturating_add(1));
    }

    /// Neither blank nor a head: damaged if its mark is there or more stands behind it, torn else.
    fn unreadable<F: ReadNorFlash>(&mut self, flash: &mut F, side: &Side, place: Place, limit: u32) -> Option<()> {
        self.ailing = true;
        if let Some(end) = item::hidden_end(flash, place, limit) {
            if self.left > 0 {
                self.left = self.left.saturating_sub(1);
                self.missing(side.base);
            } else {
                self.missing(self.next);
                self.next = self.next.saturating_add(1);
            }
            self.at = end;
            return Some(());
        }
        let behind = place.at.saturating_add(item::size(super::words::MOST as u8)).min(limit);
        self.gap |= self.index.saturating_add(1) < side.length || !super::media::blank(flash, behind, limit);
        self.turn(side)
    }
}
