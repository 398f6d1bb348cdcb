//! What the simulated station keeps over a power cut: the core's record store on a simulated flash, wired as a board wires it.
//!
//! Promises: what is read is what the store's own start finds; whoever breaks it breaks the part ([`Store::chip_mut`]) or plans a cut
//! ([`Store::cut_next`]), never the store's mind. A register that a battery keeps counts what was stored, outside the part.

use std::ops::Range;

use valvewright_core::kept::{Kept, Memory};
use valvewright_core::record::state::encode;
use valvewright_core::record::workshop::{events_plan, services_plan};
use valvewright_core::record::{self, Keeping, LOGS, LogPlan, Plan, SIDE_MOST, WhenFull};

use crate::flash::{Cut, Image, NorSim, Share};

/// The flash of a microcontroller: 2 KiB a page, programmed in words of 8 bytes (a common kind of part, from memory of data sheets).
pub type Chip = NorSim<8, 2048>;

/// Pages of each of the two sides (own choice: four are what lets two wear out).
const SIDE: u8 = 4;
const NO_LOG: LogPlan = LogPlan { pages: 0, longest: 1, when_full: WhenFull::Refuse };
/// Ten thousand erases a page (a common rating, from memory of data sheets).
const PLAN: Plan = Plan { side: SIDE, logs: [NO_LOG; LOGS], rating: 10_000 };
/// The same with the logs of a workshop: 64 pages of services and 16 of events, 176 KiB in all (own choice: some 880 services, a year of a small
/// workshop, and as many events as it is likely to ask for).
const WORKSHOP: Plan = Plan { logs: [services_plan(64), events_plan(16)], ..PLAN };
/// The same with few pages, for a run that is shown and copied all along its way: 70 services and 250 events, 40 KiB in all (own choice: more than
/// the 50 jobs of the longest row).
const SESSION: Plan = Plan { logs: [services_plan(6), events_plan(6)], ..PLAN };
/// Bytes of a page.
const PAGE: usize = 2048;
/// Seed of the part's dice, which only a cut or an unsteady bit throws.
const SEED: u64 = 0x5707_0E5E;
/// Scans between two tries to store what could not be stored (own choice: four within the second after which the station says so).
const AGAIN: u8 = 5;
/// States between two looks for something to erase beforehand: a page takes some thirty of them (own choice; what is not erased beforehand is
/// erased when it is needed).
const TIDIES: u64 = 8;

/// The store on its part.
#[derive(Debug, Clone, PartialEq)]
pub struct Store {
    keeping: Keeping<Chip>,
    plan: Plan,
    /// What was to be stored last.
    last: Kept,
    /// Tries to store something new.
    writes: u64,
    /// Scans until the next try.
    wait: u8,
    /// The count outside the part.
    register: u32,
    /// Shares of the next writes after which the part loses power.
    cuts: Vec<(f64, Share)>,
    /// The next start loses its power again.
    at_start: Option<Cut>,
}

impl Store {
    /// A part that was commissioned and holds this, without logs.
    pub fn holding(kept: &Kept) -> Self {
        Self::holding_on(kept, SIDE)
    }

    /// The same on a part with so many pages for each of its two sides, 2 to [`SIDE_MOST`]: more of them wear more slowly.
    pub fn holding_on(kept: &Kept, side: u8) -> Self {
        Self::commissioned(kept, Plan { side: side.clamp(2, SIDE_MOST), ..PLAN })
    }

    /// The same with the logs of a workshop.
    pub fn of_workshop(kept: &Kept) -> Self {
        Self::commissioned(kept, WORKSHOP)
    }

    /// The same with the small logs of a run that is shown.
    pub fn of_session(kept: &Kept) -> Self {
        Self::commissioned(kept, SESSION)
    }

    fn commissioned(kept: &Kept, plan: Plan) -> Self {
        let logs = plan.logs.iter().map(|log| usize::from(log.pages)).sum::<usize>();
        let blank = Chip::new(2 * usize::from(plan.side) + logs, SEED);
        // A new part of this plan takes what it is made for.
        let keeping = Keeping::commission(blank, &plan, kept).unwrap_or_else(|why| unreachable!("{why:?}"));
        let register = keeping.count();
        Self { keeping, plan, last: kept.clone(), writes: 0, wait: 0, register, cuts: Vec::new(), at_start: None }
    }

    /// The same after a bit of the state has come to read as another on both sides, and a start that has found so.
    pub fn spoilt(mut self) -> Self {
        for place in [0, 1].map(|side| self.place(side)).into_iter().flatten() {
            self.chip_mut().flip(place.start * 8 + 1);
        }
        self.read();
        self
    }

    /// A start on the part of a workshop as a file has it, and what it finds; nothing where it is another part. With the same file the same.
    pub fn from_image(image: &Image) -> Option<(Self, Memory)> {
        let part = Chip::holding(&image.bytes, &image.wear, SEED).filter(|_| image.page as usize == PAGE)?;
        let (keeping, memory) = Keeping::mount(part, &WORKSHOP, image.register).ok()?;
        let last = match &memory {
            Memory::Sound(kept) => kept.clone(),
            Memory::Lost => Kept::COMMISSIONED,
        };
        let register = image.register;
        Some((
            Self { keeping, plan: WORKSHOP, last, writes: 0, wait: 0, register, cuts: Vec::new(), at_start: None },
            memory,
        ))
    }

    /// As a file, at this time of the workshop.
    pub fn image(&self, now: u32) -> Image {
        let chip = self.chip();
        let bytes = chip.cells().held().to_vec();
        Image { register: self.register, now, page: PAGE as u32, wear: chip.wear().to_vec(), bytes }
    }

    /// Items and logs beside the state. What is stored through it counts in the register when it is done.
    pub fn records<T>(&mut self, work: impl FnOnce(&mut record::Store<Chip>) -> T) -> T {
        let done = work(self.keeping.store_mut());
        if !self.is_off() {
            self.register = self.register.max(self.keeping.count());
            self.keeping.tidy();
        }
        done
    }

    /// What the part holds and how it bears up, to be looked at only.
    pub fn look<T>(&self, work: impl FnOnce(&mut record::Store<Chip>) -> T) -> T {
        work(self.clone().keeping.store_mut())
    }

    /// The state that was stored last, as far as this one knows.
    pub const fn kept(&self) -> &Kept {
        &self.last
    }

    /// Stores what changed.
    #[inline]
    pub fn keep(&mut self, kept: &Kept) {
        if kept.number != self.keeping.stored() {
            self.write(kept);
        }
    }

    #[cold]
    fn write(&mut self, kept: &Kept) {
        // Not by its number: a start that power broke off and the one after it give the same to two states.
        let new = *kept != self.last;
        if !new && self.wait > 0 {
            self.wait -= 1;
            return;
        }
        if new {
            self.writes += 1;
            self.last = kept.clone();
        }
        let off_after = self.cut_this();
        self.wait = AGAIN;
        self.keeping.keep(kept);
        self.register = self.register.max(self.keeping.count());
        if off_after {
            self.chip_mut().power_off();
            return;
        }
        // While nothing has to be waited for.
        if self.writes.is_multiple_of(TIDIES) {
            self.keeping.tidy();
        }
    }

    /// Number of what was stored last, by the store's own word.
    #[inline]
    pub const fn stored(&self) -> u32 {
        self.keeping.stored()
    }

    /// A start: power comes back to the part, and the store looks at it anew.
    pub fn read(&mut self) -> Memory {
        self.chip_mut().power_on();
        if let Some(cut) = self.at_start.take() {
            self.chip_mut().cut(cut);
        }
        self.wait = 0;
        let part = self.chip().clone();
        match Keeping::mount(part, &self.plan, self.register) {
            Ok((keeping, memory)) => {
                self.keeping = keeping;
                memory
            }
            Err(_) => Memory::Lost,
        }
    }

    /// What a start would find on the part as it is, and the part after it; no cut that is planned comes in it.
    pub fn found(&self) -> (Self, Memory) {
        let mut started = Self { at_start: None, ..self.clone() };
        let memory = started.read();
        (started, memory)
    }

    /// By how much its counters would come back lower than they were given to be stored, acknowledged or not: refrigerant through the filter-drier, kg, and running time of
    /// the pump, s. A store that gives nothing back is no counter that fell.
    pub fn fallen(&self) -> (f64, f64) {
        match self.found().1 {
            Memory::Sound(found) => {
                let drier = self.last.drier.0.saturating_sub(found.drier.0).max(0);
                (f64::from(drier) * 1e-6, f64::from(self.last.pump_oil.saturating_sub(found.pump_oil)))
            }
            Memory::Lost => (0.0, 0.0),
        }
    }

    /// Erase cycles that each of its pages is rated for.
    pub const fn rating(&self) -> u32 {
        self.plan.rating
    }

    /// How many states were to be stored.
    pub const fn writes(&self) -> u64 {
        self.writes
    }

    /// The part loses its power in the next state that is stored, when this share of its steps is done: that one is done so far as said.
    pub fn cut_next(&mut self, done: f64, share: Share) {
        self.cuts.insert(0, (done, share));
    }

    /// The part loses its power once more, counted in its steps from the next start on.
    pub const fn cut_start(&mut self, cut: Cut) {
        self.at_start = Some(cut);
    }

    /// The part has no power.
    pub fn is_off(&self) -> bool {
        !self.chip().is_on()
    }

    /// Plans the cut of this write, where there is one; returns whether power goes when it is done.
    fn cut_this(&mut self) -> bool {
        if self.is_off() {
            return false;
        }
        let Some((done, share)) = self.cuts.pop() else { return false };
        let mut trial = self.clone();
        let before = trial.chip().counts().steps;
        trial.keeping.keep(&self.last);
        let steps = trial.chip().counts().steps.saturating_sub(before);
        let after = (steps as f64 * done).floor() as u64;
        if after < steps {
            self.chip_mut().cut(Cut { after, share });
        }
        after >= steps
    }

    /// Puts other items in until nothing more fits.
    pub fn fill(&mut self) {
        let store = self.keeping.store_mut();
        for (key, length) in (0x40..0xE0).zip([240, 8].into_iter().flat_map(|length| [length; 80])) {
            // What does not fit any more is what fills it.
            let _full = store.put(key, &[key; 240][..length]);
        }
    }

    /// The part, to be broken.
    pub fn chip_mut(&mut self) -> &mut Chip {
        self.keeping.store_mut().flash_mut()
    }

    /// The part.
    pub fn chip(&self) -> &Chip {
        self.keeping.store().flash()
    }

    /// Bytes of the part in which one of the two sides (0 or 1) holds the state that is stored; none where it does not.
    pub fn place(&self, side: usize) -> Option<Range<usize>> {
        let state = encode(&self.last);
        let half = usize::from(SIDE) * PAGE;
        let here = &self.chip().cells().held()[side * half..(side + 1) * half];
        let at = here.windows(state.len()).rposition(|bytes| bytes == state)? + side * half;
        Some(at..at + state.len())
    }

    /// The pages of a side, by their numbers.
    pub fn pages(side: usize) -> Range<usize> {
        let one = usize::from(SIDE);
        side * one..(side + 1) * one
    }
}
