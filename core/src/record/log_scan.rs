//! What a start finds of a log.

use embedded_storage::nor_flash::ReadNorFlash;

use super::log::{Log, Slot};
use super::page::{self, State};

impl Log {
    /// Finds the newest page, the next slot and the next number. `Err` has a layout that is too new.
    pub(super) fn scan<F: ReadNorFlash>(&mut self, flash: &mut F) -> Result<(), u8> {
        (self.serial, self.ailing, self.next, self.oldest, self.at) = (0, false, 0, 0, self.slots);
        let (mut oldest, mut unsteady, mut damaged) = (u32::MAX, false, false);
        for page in 0..self.pages {
            let state = page::look(flash, self.page(page));
            self.wear = self.wear.max(page::wear(&state));
            match state {
                State::TooNew(layout) => return Err(layout),
                State::Damaged => damaged = true,
                State::Open { header, committed, shaky } if header.role == self.role => {
                    self.top = self.top.max(header.generation);
                    if committed {
                        oldest = oldest.min(header.base);
                    }
                    if committed && header.generation > self.serial {
                        (self.serial, self.head, self.next) = (header.generation, page, header.base);
                        unsteady = shaky;
                    }
                }
                _ => {}
            }
        }
        if self.serial == 0 {
            // Numbers begin with 1; 0 is what was exported before anything was.
            (self.next, oldest) = (1, 1);
        }
        self.oldest = oldest;
        if self.serial != 0 {
            self.walk(flash);
        }
        if unsteady {
            // A page whose mark was cut off may be gone at the next start: nothing is added to it.
            self.at = self.slots;
        }
        if damaged && self.newest_is_damaged(flash) {
            // None of its numbers is given again, and they read as lost.
            self.next = self.next.saturating_add(u32::from(self.slots));
            self.at = self.slots;
        }
        Ok(())
    }

    /// Whether a page whose head can't be read is the newest. One that holds no record of a number to come and has none older than it in the ring
    /// was about to be erased; one between others tells by what is missing.
    fn newest_is_damaged<F: ReadNorFlash>(&mut self, flash: &mut F) -> bool {
        if self.serial == 0 {
            self.ailing = true;
            return true;
        }
        let mut older = false;
        for step in 1..self.pages {
            let page = self.following(step);
            match page::look(flash, self.page(page)) {
                State::Open { committed: true, .. } => older = true,
                State::Damaged => {
                    self.ailing |= older;
                    for ahead in 1..=self.pages {
                        let serial = self.top.saturating_add(u32::from(ahead));
                        if matches!(self.slot(flash, page, serial, 0), Slot::Whole(_) | Slot::Damaged) {
                            self.ailing = true;
                            return true;
                        }
                    }
                }
                _ => {}
            }
        }
        false
    }

    /// Holds a log against what was exported: no number up to there is given again, and none after it was ever given up, whatever the
    /// pages say.
    pub(super) fn hold_against(&mut self, exported: u32) {
        if self.next <= exported {
            self.next = exported.saturating_add(1);
            (self.at, self.ailing) = (self.slots, true);
        }
        if self.oldest > exported.saturating_add(1) {
            self.oldest = exported.saturating_add(1);
            self.ailing = true;
        }
    }

    fn walk<F: ReadNorFlash>(&mut self, flash: &mut F) {
        let mut used = 0;
        for slot in 0..self.slots {
            match self.slot(flash, self.head, self.serial, slot) {
                Slot::Blank => continue,
                Slot::Torn => {}
                Slot::Damaged => {
                    self.ailing = true;
                    self.next = self.next.saturating_add(1);
                }
                Slot::Whole(head) => self.next = head.seq.saturating_add(1),
            }
            used = slot.saturating_add(1);
        }
        self.at = used.saturating_add(1);
    }
}
