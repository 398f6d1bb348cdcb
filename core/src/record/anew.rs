//! A store made new, or made one again: both sides erased before the first new page, the count going on from what is known outside the part.

use embedded_storage::nor_flash::NorFlash;

use super::store::Store;
use super::words::{Found, Refusal};

impl<F: NorFlash> Store<F> {
    /// A store again on a supervisor's word and on record, where a start found it blank or lost: without items, counting from `least`
    /// ([`Store::generation`]). Where items can be read nothing is done. The logs stay.
    ///
    /// # Errors
    /// [`Refusal::WornOut`] if too few pages work. Cut off, it leaves a store that is lost, or one without items.
    pub fn restore(&mut self, least: u32) -> Result<(), Refusal> {
        if self.usable().is_ok() {
            return Ok(());
        }
        (self.sides, _) = Self::places(&self.plan);
        self.erase_sides();
        self.begin(least)
    }

    /// Goes on counting from `least` where it stands below it, as an old image does. All items stay as they are: what must not be believed again
    /// is put anew before.
    ///
    /// # Errors
    /// [`Refusal::WornOut`], and as [`Store::put`] of a store that is not usable.
    pub fn count_on(&mut self, least: u32) -> Result<(), Refusal> {
        self.usable()?;
        if self.seq < least { self.begin(least) } else { Ok(()) }
    }

    /// All of both sides, before the first new page: an old generation must not come back beside a new one.
    pub(super) fn erase_sides(&mut self) {
        for role in 0..2 {
            if let Some(side) = self.sides.get_mut(role) {
                // Generations go on counting, whatever is left of the old ones.
                side.highest = side.scan(&mut self.flash, false).map_or(0, |seen| seen.highest.max(seen.generation));
            }
        }
        for role in 0..2 {
            self.erase_all(role);
        }
    }

    /// Both sides anew, with `base` as the last number given.
    pub(super) fn begin(&mut self, base: u32) -> Result<(), Refusal> {
        for role in 0..2 {
            self.renew(role, base)?;
        }
        (self.seq, self.found) = (base, Found::Sound);
        self.live = self.measure();
        Ok(())
    }
}
