//! How long each operation takes.

/// Typical times of a part.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Times {
    /// Of a read, ns for its start,
    pub read_start_ns: u64,
    /// and for each byte.
    pub read_byte_ns: u64,
    /// Of a program, ns for its start,
    pub program_start_ns: u64,
    /// and for each byte.
    pub program_byte_ns: u64,
    /// Of an erase of 1 KiB, ns; a page takes it by its size.
    pub erase_kib_ns: u64,
}

impl Times {
    /// A serial NOR flash at 40 MHz on four wires: 256 bytes in 0.7 ms, 4 KiB erased in 45 ms (from memory of data sheets of such parts).
    pub const SERIAL: Self = Self {
        read_start_ns: 1_000,
        read_byte_ns: 50,
        program_start_ns: 30_000,
        program_byte_ns: 2_600,
        erase_kib_ns: 11_250_000,
    };
    /// The flash of a microcontroller: 8 bytes in 85 us, 2 KiB erased in 22 ms (from memory of data sheets of such parts).
    pub const INTERNAL: Self = Self {
        read_start_ns: 50,
        read_byte_ns: 5,
        program_start_ns: 1_000,
        program_byte_ns: 10_600,
        erase_kib_ns: 11_000_000,
    };
}
