//! The controller's own state on a store: what a board wires between [`Outputs::keep`](crate::frame::Outputs::keep) and
//! [`Machine::stored`](crate::frame::Machine::stored).
//!
//! Promises: a number is told as stored only after its state was read back and found as a start would find it; what cannot be read, a blank part,
//! and a part that holds less than it once did are lost and never new: an old image would take codes that were burnt since (F089).

use embedded_storage::nor_flash::NorFlash;

use super::state;
use super::store::Store;
use super::words::{Found, MOST, Plan, Refusal, Tidied};
use crate::kept::{Kept, Memory};

/// The item that holds [`Kept`].
const STATE: u8 = 1;

/// A store with the controller's state on it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Keeping<F> {
    store: Store<F>,
    stored: u32,
    /// Nothing could be believed at the start: nothing is written before a supervisor's release stands behind it, or the part is commissioned
    /// anew.
    lost: bool,
    /// What the start had to come to.
    least: u32,
}

impl<F: NorFlash> Keeping<F> {
    /// A new part, or one that is made new on a supervisor's word: whatever it holds is gone.
    ///
    /// # Errors
    /// As [`Store::commission`] and [`Store::put`].
    pub fn commission(flash: F, plan: &Plan, kept: &Kept) -> Result<Self, Refusal> {
        let mut made = Self { store: Store::commission(flash, plan)?, stored: 0, lost: false, least: 0 };
        made.put(kept)?;
        Ok(made)
    }

    /// A start, and what it finds. `least` is the highest [`Keeping::count`] that is on record outside this flash, such as in a register that a battery
    /// keeps; 0 where a board has no such place, and then an old image is taken for what it says.
    ///
    /// # Errors
    /// [`Refusal::Plan`], [`Refusal::TooNew`]: nothing was touched.
    pub fn mount(flash: F, plan: &Plan, least: u32) -> Result<(Self, Memory), Refusal> {
        let mut store = Store::mount(flash, plan)?;
        let known = !matches!(store.found(), Found::Blank | Found::Lost) && store.generation() >= least;
        let kept = if known { read(&mut store) } else { None };
        let stored = kept.as_ref().map_or(0, |kept| kept.number);
        Ok((Self { store, stored, lost: kept.is_none(), least }, kept.map_or(Memory::Lost, Memory::Sound)))
    }

    /// After a scan: stores the state where it is another than the one stored, and returns the number that is. Where it could not be stored it
    /// is tried again with the next call; the controller tells when that goes on for a second. What was lost at the start is not written over, for the
    /// controller knows nothing of what it held, until a supervisor's release stands behind what it has now ([`Kept::released`]).
    pub fn keep(&mut self, kept: &Kept) -> u32 {
        let done = match self.lost {
            true if kept.released() => self.restore(kept),
            false if kept.number != self.stored => self.put(kept),
            _ => Ok(()),
        };
        if done.is_err() {
            // A part that did not answer may do so the next time. What is stored is what the number says.
            let _too_new = self.store.look_again();
        }
        self.stored
    }

    fn restore(&mut self, kept: &Kept) -> Result<(), Refusal> {
        self.store.restore(self.least)?;
        // Before the count: an old image whose state still stood in it would be believed after a cut.
        self.store.put(STATE, &state::encode(kept))?;
        self.store.count_on(self.least.saturating_add(1))?;
        (self.stored, self.lost) = (kept.number, false);
        Ok(())
    }

    fn put(&mut self, kept: &Kept) -> Result<(), Refusal> {
        self.store.put(STATE, &state::encode(kept))?;
        self.stored = kept.number;
        Ok(())
    }

    /// Number of the state that is stored.
    pub const fn stored(&self) -> u32 {
        self.stored
    }

    /// Rises with each state that is stored: to be put where [`Keeping::mount`] takes it from, after [`Keeping::keep`].
    pub const fn count(&self) -> u32 {
        self.store.generation()
    }

    /// While the station is idle: at most one erase, so that none has to be waited for later.
    pub fn tidy(&mut self) -> Tidied {
        self.store.tidy()
    }

    /// The store.
    pub const fn store(&self) -> &Store<F> {
        &self.store
    }

    /// The store, for logs and other items.
    pub const fn store_mut(&mut self) -> &mut Store<F> {
        &mut self.store
    }

    /// The flash back, as at the end of power.
    pub fn release(self) -> F {
        self.store.release()
    }
}

fn read<F: NorFlash>(store: &mut Store<F>) -> Option<Kept> {
    let mut bytes = [0; MOST];
    let length = store.get(STATE, &mut bytes).ok().flatten()?;
    state::decode(bytes.get(..length)?)
}
