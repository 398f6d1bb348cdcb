//! The logs of a store, as a caller sees them: append, read by number, mark what was exported.

use embedded_storage::nor_flash::NorFlash;

use super::log::Log;
use super::store::Store;
use super::words::{Found, KEYS, LogPlan, Refusal};

/// One of the logs.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum LogId {
    /// Records of services.
    Services,
    /// What happened.
    Events,
}

/// What a log holds.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Holding {
    /// The oldest number that is kept.
    pub oldest: u32,
    /// The number that the next record gets.
    pub next: u32,
    /// All numbers up to this one were exported; 0 for none.
    pub exported: u32,
    /// Records that are kept before any is given up, were there no starts: each start may cost one.
    pub capacity: u32,
    /// Records that can be appended now.
    pub room: u32,
}

impl Holding {
    /// How many records are kept.
    pub const fn count(&self) -> u32 {
        self.next.saturating_sub(self.oldest)
    }
}

impl<F: NorFlash> Store<F> {
    fn parts(&mut self, id: LogId) -> Result<(usize, Log, LogPlan), Refusal> {
        match self.found() {
            Found::Blank => return Err(Refusal::Blank),
            Found::Lost => return Err(Refusal::Lost),
            Found::Sound | Found::Repaired | Found::Partly => {}
        }
        let at = id as usize;
        match (self.logs.get(at), self.plan.logs.get(at)) {
            (Some(log), Some(plan)) if plan.pages > 0 => Ok((at, *log, *plan)),
            _ => Err(Refusal::Plan),
        }
    }

    /// Appends a record and tells its number. `Ok` means: read back twice, and found by a scan as a start makes it.
    ///
    /// # Errors
    /// [`Refusal::Full`] as the log's plan says.
    pub fn append_to(&mut self, id: LogId, record: &[u8]) -> Result<u32, Refusal> {
        let (at, mut log, plan) = self.parts(id)?;
        if record.len() > usize::from(plan.longest) {
            return Err(Refusal::Input);
        }
        let exported = self.exported_at(at);
        let done = log.append(&mut self.flash, record, exported, plan.when_full);
        if let Some(own) = self.logs.get_mut(at) {
            *own = log;
        }
        done
    }

    /// Reads a record by its number; `None` if it is not kept, or not yet there.
    ///
    /// # Errors
    /// [`Refusal::Lost`] if it was there and can't be believed.
    pub fn read_from(&mut self, id: LogId, number: u32, into: &mut [u8]) -> Result<Option<usize>, Refusal> {
        let (_, log, _) = self.parts(id)?;
        log.read(&mut self.flash, number, into)
    }

    /// What a log holds.
    ///
    /// # Errors
    /// As for reading.
    pub fn holding(&mut self, id: LogId) -> Result<Holding, Refusal> {
        let (at, log, plan) = self.parts(id)?;
        let exported = self.exported_at(at);
        let room = log.room(&mut self.flash, exported, plan.when_full);
        Ok(Holding { oldest: log.oldest, next: log.next, exported, capacity: log.capacity(), room })
    }

    /// Marks all records up to this number as exported. The mark is an item: twice there, found again before it is `Ok`.
    ///
    /// # Errors
    /// [`Refusal::Input`] for a number that was not given yet, or one below the mark.
    pub fn mark_exported(&mut self, id: LogId, upto: u32) -> Result<(), Refusal> {
        let (at, log, _) = self.parts(id)?;
        if upto >= log.next || upto < self.exported_at(at) {
            return Err(Refusal::Input);
        }
        self.put_any(KEYS.saturating_add(at as u8), &upto.to_le_bytes())
    }

    /// Gives up the oldest page of a log, if all of it was exported. Whether there was one; at most one erase.
    ///
    /// # Errors
    /// As for reading.
    pub fn let_go(&mut self, id: LogId) -> Result<bool, Refusal> {
        let (at, mut log, _) = self.parts(id)?;
        let exported = self.exported_at(at);
        let done = log.let_go(&mut self.flash, exported);
        if let Some(own) = self.logs.get_mut(at) {
            *own = log;
        }
        Ok(done)
    }
}
