//! What a store does while nothing else is to do, how much room it has, and how its part bears up.

use embedded_storage::nor_flash::NorFlash;

use super::item;
use super::page::FIRST;
use super::side::Side;
use super::store::Store;
use super::words::{Health, LOGS, MOST, Tidied, WhenFull};

/// Wear from which to warn, of the rating in percent (fault F086).
const WORN_PERCENT: u32 = 80;

impl<F: NorFlash> Store<F> {
    /// One piece of what can be done while nothing else is to do: at most one erase. To be called until nothing is left.
    pub fn tidy(&mut self) -> Tidied {
        if self.usable().is_err() {
            return Tidied::Nothing;
        }
        for role in 0..2 {
            // Never a page of one side while the other is not whole.
            let other = self.sides.get(1_usize.wrapping_sub(role));
            if other.is_none_or(|side| side.hole != 0) {
                continue;
            }
            if self.erase_one(role) {
                return Tidied::Erased;
            }
            if self.sides.get(role).is_some_and(|side| side.ailing) && self.renew(role, self.seq).is_ok() {
                return Tidied::Renewed;
            }
        }
        for at in 0..LOGS {
            let exported = self.exported_at(at);
            let when = self.plan.logs.get(at).map_or(WhenFull::Refuse, |log| log.when_full);
            if let Some(log) = self.logs.get_mut(at)
                && log.prepare_next(&mut self.flash, exported, when)
            {
                return Tidied::Erased;
            }
        }
        Tidied::Nothing
    }

    pub(super) fn capacity_of(&self, working: u8) -> u32 {
        let page = (F::ERASE_SIZE as u32).saturating_sub(FIRST).saturating_sub(item::size(MOST as u8));
        u32::from(working / 2).saturating_mul(page)
    }

    /// Bytes of records that fit, so that a full copy always has its place and one more record behind it.
    pub(super) fn capacity(&self) -> u32 {
        let working = self.sides.iter().map(Side::working).min().unwrap_or(0);
        self.capacity_of(working)
    }

    /// How many more new items of this length fit.
    pub fn room(&self, len: usize) -> u32 {
        if self.usable().is_err() || len > MOST {
            return 0;
        }
        self.capacity().saturating_sub(self.live) / item::size(len as u8)
    }

    /// How the part bears up.
    pub fn health(&self) -> Health {
        let wear = self.sides.iter().map(|side| side.wear).max().unwrap_or(0);
        let log_wear = self.logs.iter().map(|log| log.wear).max().unwrap_or(0);
        let most = u64::from(wear.max(log_wear)).saturating_mul(100);
        Health {
            wear,
            log_wear,
            worn: most >= u64::from(self.plan.rating).saturating_mul(u64::from(WORN_PERCENT)),
            retired: self.sides.iter().map(|side| side.pages.saturating_sub(side.working())).max().unwrap_or(0),
            mended: self.mended,
        }
    }
}
