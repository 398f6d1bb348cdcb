//! What a vendor's library would be on a real board: the peripherals of an emulated Cortex-M4F (QEMU's mps2-an386).
//!
//! [`stream::Stream`] and [`uart::Uart`] are lines to the host, [`clock`] is time, [`devices`] are converters, pins and a serial line
//! that hold what was put there, behind the same traits as real ones.
#![no_std]

pub mod clock;
pub mod devices;
#[cfg(feature = "explain")]
pub mod explain;
pub mod nor;
pub mod planted;
pub mod stream;
pub mod terminals;
pub mod uart;
pub mod vectors;
pub mod wires;

use core::fmt::Write;

#[cfg(feature = "log")]
use defmt_semihosting as _;

#[cfg(all(feature = "no-panics", not(feature = "loop-on-panic")))]
unsafe extern "C" {
    fn a_panic_path_is_still_reachable() -> !;
}

/// Says where, without the weight of formatted text, and leaves.
#[cfg(not(feature = "no-panics"))]
#[panic_handler]
fn panic(info: &core::panic::PanicInfo) -> ! {
    match info.location() {
        Some(place) => tell(place.file(), place.line()),
        None => tell("panic", 0),
    }
    exit(1)
}

#[cfg(feature = "no-panics")]
#[panic_handler]
fn panic(_: &core::panic::PanicInfo) -> ! {
    #[cfg(not(feature = "loop-on-panic"))]
    // SAFETY: never linked, so never called.
    unsafe {
        a_panic_path_is_still_reachable()
    }
    #[cfg(feature = "loop-on-panic")]
    loop {}
}

/// Leaves the emulator with this exit code.
pub fn exit(code: u32) -> ! {
    // SYS_EXIT_EXTENDED with reason ADP_Stopped_ApplicationExit, of Arm's semihosting specification.
    const EXIT_EXTENDED: usize = 0x20;
    let block: [u32; 2] = [0x2_0026, code];
    // SAFETY: the call takes a pointer to two words and does not return.
    unsafe { cortex_m_semihosting::syscall(EXIT_EXTENDED, &block) };
    loop {}
}

/// One line to the emulator's standard error: name, then number in hexadecimal.
pub fn tell(name: &str, value: u32) {
    if let Ok(mut error) = cortex_m_semihosting::hio::hstderr() {
        let digits = core::array::from_fn::<u8, 8, _>(|at| {
            let digit = (value >> (28 - 4 * at)) as u8 & 15;
            if digit < 10 { b'0' + digit } else { b'a' + digit - 10 }
        });
        // Nobody can be told that telling failed.
        let _ = error.write_str(name);
        let _ = error.write_str(" ");
        let _ = error.write_all(&digits);
        let _ = error.write_all(b"\n");
    }
}

/// Cells of the flash part: a region of the emulator's memory that no image uses, so that they count to no image.
pub fn cells(bytes: usize) -> &'static mut [u8] {
    /// The other static memory of the mps2-an386, 16 MiB from here (QEMU's documentation of the mps2 boards, from memory).
    const APART: usize = 0x2100_0000;
    // SAFETY: nothing else lies there, and each image asks for it once.
    unsafe { core::slice::from_raw_parts_mut(APART as *mut u8, bytes) }
}

unsafe extern "C" {
    static _stack_start: u32;
    static _stack_end: u32;
}

/// Bytes of stack that are no longer the pattern cortex-m-rt painted.
pub fn stack_used() -> u32 {
    const PAINT: u32 = 0xCCCC_CCCC;
    let (top, mut at) = (&raw const _stack_start, &raw const _stack_end);
    // SAFETY: between the linker's two symbols lies the stack, and nothing else.
    unsafe {
        while at < top && at.read_volatile() == PAINT {
            at = at.add(1);
        }
    }
    (top as u32).wrapping_sub(at as u32)
}
