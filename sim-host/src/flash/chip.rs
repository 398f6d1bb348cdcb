//! A flash as its driver shows it: sizes, rules, wear, time, and a plan for when its power goes.

use std::collections::BTreeMap;

use embedded_storage::nor_flash::{ErrorType, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash};

use super::cells::Cells;
use super::times::Times;

/// Bytes that count as one step of a program, where a cut can fall: the largest word that parts program at once.
const STEP: usize = 8;
/// A page whose erase was cut near its end falls back to zeros in one bit of this many (own choice: some 30 bits of a kilobyte),
const FALLS_BACK: u32 = 256;
/// after up to this many operations on the part, or when it is next powered (own choice).
const HOLDS_FOR: u32 = 24;

/// Why the part did not do something.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Broken {
    /// Not a whole number of words or pages.
    Alignment,
    /// Past the end.
    Bounds,
    /// It has no power.
    Off,
    /// A bit would have to be set, or, where words are guarded by a check code, a word would be programmed twice.
    NotErased,
    /// The page is worn out.
    Worn,
}

impl NorFlashError for Broken {
    fn kind(&self) -> NorFlashErrorKind {
        match self {
            Self::Alignment => NorFlashErrorKind::NotAligned,
            Self::Bounds => NorFlashErrorKind::OutOfBounds,
            Self::Off | Self::NotErased | Self::Worn => NorFlashErrorKind::Other,
        }
    }
}

/// How much of the step in hand is done when power goes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Share {
    /// Nothing: the steps before it are whole.
    Nothing,
    /// Some bits are, some are neither, some are not.
    Some,
    /// All but the last of it: an erased page reads blank now and falls back later, a word has a few unsteady bits.
    AllBut,
    /// All of it, but nobody was told.
    All,
    /// Of a program: some words of the whole call in any order, each by halves. Of an erase as [`Share::Some`].
    Scattered,
}

/// Power goes at a step, counted from now: each erase is one, each 8 bytes of a program are one.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Cut {
    /// Steps that are still done whole.
    pub after: u64,
    /// Of the next.
    pub share: Share,
}

/// What a page does when it has had its erases.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Worn {
    /// Erases that go well.
    pub after: u32,
    /// The driver tells of it; otherwise bits stay behind in silence.
    pub told: bool,
}

/// What was done so far.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Counts {
    /// Calls to read.
    pub reads: u64,
    /// Calls to program.
    pub programs: u64,
    /// Pages erased, or tried.
    pub erases: u64,
    /// Steps, as [`Cut`] counts them.
    pub steps: u64,
    /// Programs that would have set a bit or, on an 8-byte part, programmed a word twice.
    pub overwrites: u64,
    /// Time of all of it.
    pub ns: u64,
}

/// A flash of `pages` pages of `ERASE` bytes, programmed in words of `WRITE`.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NorSim<const WRITE: usize, const ERASE: usize> {
    pub(super) cells: Cells,
    times: Times,
    cut: Option<Cut>,
    on: bool,
    counts: Counts,
    pub(super) wear: Vec<u32>,
    worn: BTreeMap<usize, Worn>,
    /// Pages that read erased and are not, with the operations until it shows.
    falling: BTreeMap<usize, u32>,
    /// Programs to come that say well and do nothing, by their number from now.
    ignored: Option<(u64, u64)>,
    /// Cells that were programmed too weakly to show, by their place, and the programs until they do.
    weak: (u64, Vec<(usize, Vec<u8>)>),
}

impl<const WRITE: usize, const ERASE: usize> NorSim<WRITE, ERASE> {
    /// As from the factory: blank.
    pub fn new(pages: usize, seed: u64) -> Self {
        Self {
            cells: Cells::blank(pages * ERASE, seed),
            times: if WRITE < 8 { Times::SERIAL } else { Times::INTERNAL },
            cut: None,
            on: true,
            counts: Counts::default(),
            wear: vec![0; pages],
            worn: BTreeMap::new(),
            falling: BTreeMap::new(),
            ignored: None,
            weak: (0, Vec::new()),
        }
    }

    /// Plans a cut.
    pub fn cut(&mut self, cut: Cut) {
        self.cut = Some(cut);
    }

    /// Power goes between two operations.
    pub fn power_off(&mut self) {
        self.on = false;
    }

    /// Whether power is there.
    pub fn is_on(&self) -> bool {
        self.on
    }

    /// Power comes back. A planned cut that did not come is forgotten; pages that were nearly erased show it from the second time on.
    pub fn power_on(&mut self) {
        (self.on, self.cut) = (true, None);
        self.pass(HOLDS_FOR / 2);
    }

    /// Other dice from here on.
    pub fn reseed(&mut self, seed: u64) {
        self.cells.reseed(seed);
    }

    /// The bits as they are held.
    pub fn cells(&self) -> &Cells {
        &self.cells
    }

    /// What was done so far.
    pub fn counts(&self) -> Counts {
        self.counts
    }

    /// Erases of each page.
    pub fn wear(&self) -> &[u32] {
        &self.wear
    }

    /// Flips a bit of the part, counted from its start.
    pub fn flip(&mut self, bit: usize) {
        self.cells.held_mut()[bit / 8] ^= 1 << (bit % 8);
    }

    /// Puts bytes there by force, as a page that reads wrong would.
    pub fn force(&mut self, at: usize, bytes: &[u8]) {
        self.cells.held_mut()[at..at + bytes.len()].copy_from_slice(bytes);
    }

    /// From here on a bit reads otherwise with this probability.
    pub fn unsettle(&mut self, bit: usize, share: f64) {
        self.cells.unsettle(bit / 8, 1 << (bit % 8), share);
    }

    /// Of the programs to come, leaves out `count` after `after`: they say well and do nothing.
    pub fn ignore(&mut self, after: u64, count: u64) {
        self.ignored = Some((after, count));
    }

    /// Cells that a program reached that was cut off read as before, and as programmed from the `after`th program on.
    pub fn weaken(&mut self, after: u64, cells: Vec<(usize, Vec<u8>)>) {
        self.weak = (after, cells);
    }

    /// A page will wear out.
    pub fn wears(&mut self, page: usize, worn: Worn) {
        self.worn.insert(page, worn);
    }

    /// A page is again as it was before it wore out.
    pub fn heals(&mut self, page: usize) {
        self.worn.remove(&page);
    }

    /// What looked erased shows now that it is not.
    pub fn age(&mut self) {
        self.pass(HOLDS_FOR);
    }

    fn pass(&mut self, operations: u32) {
        let due: Vec<usize> =
            self.falling.iter().filter(|(_, left)| **left <= operations).map(|(page, _)| *page).collect();
        for left in self.falling.values_mut() {
            *left = left.saturating_sub(operations);
        }
        for page in due {
            self.falling.remove(&page);
            self.cells.decay(page * ERASE, (page + 1) * ERASE, FALLS_BACK);
        }
    }

    fn ready(&self, at: u32, len: usize, unit: usize) -> Result<(), Broken> {
        let at = at as usize;
        if !self.on {
            Err(Broken::Off)
        } else if at + len > self.cells.held().len() {
            Err(Broken::Bounds)
        } else if !at.is_multiple_of(unit) || !len.is_multiple_of(unit) {
            Err(Broken::Alignment)
        } else {
            Ok(())
        }
    }

    /// Counts a step; the share of it that is done if power goes in it.
    fn step(&mut self) -> Option<Share> {
        self.counts.steps += 1;
        let cut = self.cut.as_mut()?;
        if cut.after > 0 {
            cut.after -= 1;
            return None;
        }
        let share = cut.share;
        (self.on, self.cut) = (false, None);
        Some(share)
    }

    fn is_worn(&self, page: usize) -> Option<Worn> {
        self.worn.get(&page).copied().filter(|worn| self.wear[page] > worn.after)
    }

    fn cut_program(&mut self, at: usize, bytes: &[u8], step: usize, share: Share) {
        let here = step * STEP..bytes.len().min((step + 1) * STEP);
        match share {
            Share::Nothing => {}
            Share::Some => here.for_each(|byte| self.cells.program_half(at + byte, bytes[byte])),
            Share::AllBut => {
                let last = here.end - 1;
                (here.start..last).for_each(|byte| {
                    self.cells.program(at + byte, bytes[byte]);
                });
                self.cells.program_half(at + last, bytes[last]);
            }
            Share::All => here.for_each(|byte| {
                self.cells.program(at + byte, bytes[byte]);
            }),
            Share::Scattered => {
                for (at, word) in (at..).step_by(STEP).zip(bytes.chunks(STEP)).skip(step) {
                    let whole = self.cells.draw(3);
                    for (at, byte) in (at..).zip(word) {
                        match whole {
                            0 => {}
                            1 => self.cells.program_half(at, *byte),
                            _ => {
                                self.cells.program(at, *byte);
                            }
                        }
                    }
                }
            }
        }
    }

    fn cut_erase(&mut self, page: usize, share: Share) {
        let (from, to) = (page * ERASE, (page + 1) * ERASE);
        match share {
            Share::Nothing => {}
            Share::Some | Share::Scattered => {
                let done = f64::from(self.cells.draw(1_000)) / 1_000.0;
                self.cells.erase_half(from, to, done);
            }
            Share::AllBut => {
                self.cells.erase(from, to);
                let left = 1 + self.cells.draw(HOLDS_FOR);
                self.falling.insert(page, left);
            }
            Share::All => self.cells.erase(from, to),
        }
    }

    fn program_step(&mut self, at: usize, bytes: &[u8], step: usize) -> bool {
        let range = step * STEP..bytes.len().min((step + 1) * STEP);
        // Words with a check code of their own take one program only.
        let guarded =
            WRITE == STEP && self.cells.held()[at + range.start..at + range.end].iter().any(|byte| *byte != 0xFF);
        range.fold(!guarded, |well, byte| self.cells.program(at + byte, bytes[byte]) && well)
    }
}

impl<const WRITE: usize, const ERASE: usize> ErrorType for NorSim<WRITE, ERASE> {
    type Error = Broken;
}

impl<const WRITE: usize, const ERASE: usize> ReadNorFlash for NorSim<WRITE, ERASE> {
    const READ_SIZE: usize = 1;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Broken> {
        self.ready(offset, bytes.len(), 1)?;
        self.counts.reads += 1;
        self.counts.ns += self.times.read_start_ns + self.times.read_byte_ns * bytes.len() as u64;
        self.cells.read(offset as usize, bytes);
        Ok(())
    }

    fn capacity(&self) -> usize {
        self.cells.held().len()
    }
}

impl<const WRITE: usize, const ERASE: usize> NorFlash for NorSim<WRITE, ERASE> {
    const WRITE_SIZE: usize = WRITE;
    const ERASE_SIZE: usize = ERASE;

    fn erase(&mut self, from: u32, to: u32) -> Result<(), Broken> {
        self.ready(from, to.checked_sub(from).ok_or(Broken::Bounds)? as usize, ERASE)?;
        for page in from as usize / ERASE..to as usize / ERASE {
            self.counts.erases += 1;
            self.counts.ns += self.times.erase_kib_ns * ERASE as u64 / 1024;
            self.pass(1);
            self.wear[page] += 1;
            if let Some(share) = self.step() {
                self.cut_erase(page, share);
                return Err(Broken::Off);
            }
            self.falling.remove(&page);
            if let Some(worn) = self.is_worn(page) {
                self.cells.erase_half(page * ERASE, (page + 1) * ERASE, 0.9);
                self.cells.decay(page * ERASE, (page + 1) * ERASE, FALLS_BACK);
                if worn.told {
                    return Err(Broken::Worn);
                }
            } else {
                self.cells.erase(page * ERASE, (page + 1) * ERASE);
            }
        }
        Ok(())
    }

    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Broken> {
        self.ready(offset, bytes.len(), WRITE)?;
        self.counts.programs += 1;
        self.counts.ns += self.times.program_start_ns + self.times.program_byte_ns * bytes.len() as u64;
        self.pass(1);
        let mut ignored = false;
        if let Some((after, count)) = &mut self.ignored {
            if *after > 0 {
                *after -= 1;
            } else if *count > 0 {
                *count -= 1;
                ignored = true;
            }
        }
        let at = offset as usize;
        let mut well = true;
        for step in 0..bytes.len().div_ceil(STEP) {
            if let Some(share) = self.step() {
                self.cut_program(at, bytes, step, share);
                return Err(Broken::Off);
            }
            well &= ignored || self.program_step(at, bytes, step);
        }
        self.weak.0 = self.weak.0.saturating_sub(1);
        if self.weak.0 == 0 {
            std::mem::take(&mut self.weak.1).into_iter().for_each(|(at, bytes)| self.force(at, &bytes));
        }
        self.counts.overwrites += u64::from(!well);
        if let Some(worn) = self.is_worn(at / ERASE).filter(|_| !ignored) {
            self.cells.decay(at, at + bytes.len(), 8);
            if worn.told {
                return Err(Broken::Worn);
            }
        }
        if well { Ok(()) } else { Err(Broken::NotErased) }
    }
}
