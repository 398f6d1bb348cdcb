//! The emulator's standard streams, by semihosting: one trap moves a whole buffer.

use cortex_m_semihosting::syscall;

/// An open file of the host.
#[derive(Debug)]
pub struct Stream(usize);

impl Stream {
    /// What the host sends: its end of the emulator's standard input.
    pub fn input() -> Self {
        Self::open(b"/dev/stdin\0", 1)
    }

    /// What the host reads: its end of the emulator's standard output.
    pub fn output() -> Self {
        Self::open(b"/dev/stdout\0", 5)
    }

    /// Modes of SYS_OPEN (Arm's semihosting specification): 1 is "rb", 5 is "wb".
    fn open(path: &[u8], mode: usize) -> Self {
        // SAFETY: SYS_OPEN takes the address of three words: path, mode, length without the closing zero.
        Self(unsafe { syscall(0x01, &[path.as_ptr() as usize, mode, path.len() - 1]) })
    }

    /// Waits until there is at least one byte, and gives the part of `buffer` that was filled; an empty one is the end.
    pub fn read<'a>(&self, buffer: &'a mut [u8]) -> &'a [u8] {
        let length = buffer.len();
        // SAFETY: SYS_READ takes the address of three words: file, buffer, length; it returns how much was not filled.
        let left = unsafe { syscall(0x06, &[self.0, buffer.as_mut_ptr() as usize, length]) };
        buffer.get(..length.saturating_sub(left)).unwrap_or(&[])
    }

    /// Sends all of it; whether that worked.
    pub fn write(&self, bytes: &[u8]) -> bool {
        // SAFETY: SYS_WRITE takes the address of three words: file, buffer, length; it returns how much was not written.
        unsafe { syscall(0x05, &[self.0, bytes.as_ptr() as usize, bytes.len()]) == 0 }
    }
}
