//! A small NOR flash of 1 KiB pages: erases to ones, programs only to zeros, and can be damaged.

use embedded_storage::nor_flash::{
    ErrorType, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash, check_erase, check_read, check_write,
};

/// Bytes of a page.
pub const PAGE: usize = 1024;

/// The part.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Part(pub Vec<u8>);

/// What a caller did wrong.
#[derive(Clone, Copy, Debug)]
pub struct Misuse(NorFlashErrorKind);

impl NorFlashError for Misuse {
    fn kind(&self) -> NorFlashErrorKind {
        self.0
    }
}

impl ErrorType for Part {
    type Error = Misuse;
}

impl ReadNorFlash for Part {
    const READ_SIZE: usize = 1;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Misuse> {
        check_read(self, offset, bytes.len()).map_err(Misuse)?;
        bytes.copy_from_slice(&self.0[offset as usize..offset as usize + bytes.len()]);
        Ok(())
    }
    fn capacity(&self) -> usize {
        self.0.len()
    }
}

impl NorFlash for Part {
    const WRITE_SIZE: usize = 4;
    const ERASE_SIZE: usize = PAGE;

    fn erase(&mut self, from: u32, to: u32) -> Result<(), Misuse> {
        check_erase(self, from, to).map_err(Misuse)?;
        self.0[from as usize..to as usize].fill(0xFF);
        Ok(())
    }
    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Misuse> {
        check_write(self, offset, bytes.len()).map_err(Misuse)?;
        self.0[offset as usize..].iter_mut().zip(bytes).for_each(|(held, new)| *held &= new);
        Ok(())
    }
}
