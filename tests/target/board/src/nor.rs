//! The NOR flash of the board: cells in a part of the emulator's memory that no image uses, behind the trait that a driver of a real part has.
//!
//! Erase sets, program clears, and power can be planned to go in mid-operation. Time, wear and unsteady bits are the matter of the
//! simulator's flash; here the store runs on the processor.

use embedded_storage::nor_flash::{ErrorType, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash};

/// Bytes of a page.
pub const PAGE: usize = 2048;
/// Bytes programmed at once.
pub const WORD: usize = 8;

/// Why it did not do it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Broken {
    /// Not a whole number of words or pages, or past the end.
    Place,
    /// It has no power, or a bit would have to be set.
    Undone,
}

impl NorFlashError for Broken {
    fn kind(&self) -> NorFlashErrorKind {
        match self {
            Self::Place => NorFlashErrorKind::OutOfBounds,
            Self::Undone => NorFlashErrorKind::Other,
        }
    }
}

/// The part.
#[derive(Debug)]
pub struct Nor<'a> {
    cells: &'a mut [u8],
    /// Words and pages until power goes, and whether it is there.
    left: Option<u32>,
    on: bool,
}

impl<'a> Nor<'a> {
    /// A part with these cells as they are.
    pub const fn new(cells: &'a mut [u8]) -> Self {
        Self { cells, left: None, on: true }
    }

    /// Power goes when so many more words or pages are done.
    pub const fn cut(&mut self, after: u32) {
        self.left = Some(after);
    }

    /// Power comes back.
    pub const fn power_on(&mut self) {
        (self.left, self.on) = (None, true);
    }

    /// Whether power is there.
    pub const fn is_on(&self) -> bool {
        self.on
    }

    /// The cells.
    pub const fn cells(&self) -> &[u8] {
        self.cells
    }

    fn step(&mut self) -> Result<(), Broken> {
        match self.left {
            Some(0) => self.on = false,
            Some(left) => self.left = Some(left.wrapping_sub(1)),
            None => {}
        }
        if self.on { Ok(()) } else { Err(Broken::Undone) }
    }
}

impl ErrorType for Nor<'_> {
    type Error = Broken;
}

impl ReadNorFlash for Nor<'_> {
    const READ_SIZE: usize = 1;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Broken> {
        let at = offset as usize;
        let here = self.cells.get(at..at.saturating_add(bytes.len())).ok_or(Broken::Place)?;
        if !self.on {
            return Err(Broken::Undone);
        }
        for (to, from) in bytes.iter_mut().zip(here) {
            *to = *from;
        }
        Ok(())
    }

    fn capacity(&self) -> usize {
        self.cells.len()
    }
}

impl NorFlash for Nor<'_> {
    const WRITE_SIZE: usize = WORD;
    const ERASE_SIZE: usize = PAGE;

    fn erase(&mut self, from: u32, to: u32) -> Result<(), Broken> {
        let (mut at, end) = (from as usize, to as usize);
        while at < end {
            self.step()?;
            let next = at.saturating_add(PAGE);
            self.cells.get_mut(at..next).ok_or(Broken::Place)?.iter_mut().for_each(|byte| *byte = 0xFF);
            at = next;
        }
        Ok(())
    }

    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Broken> {
        let mut at = offset as usize;
        let mut well = true;
        for word in bytes.chunks(WORD) {
            self.step()?;
            let next = at.saturating_add(word.len());
            for (to, from) in self.cells.get_mut(at..next).ok_or(Broken::Place)?.iter_mut().zip(word) {
                well &= *to & *from == *from;
                *to &= *from;
            }
            at = next;
        }
        if well { Ok(()) } else { Err(Broken::Undone) }
    }
}
