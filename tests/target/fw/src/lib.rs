//! Shared by the programs on the target: the stimulus, how to leave the emulator, how deep the stack went.
#![no_std]

pub mod stimulus;

#[cfg(feature = "print-panics")]
use panic_semihosting as _;

/// Leaves the emulator with this exit code.
pub fn exit(code: u32) -> ! {
    // SYS_EXIT_EXTENDED with reason ADP_Stopped_ApplicationExit, of Arm's semihosting specification.
    const EXIT_EXTENDED: usize = 0x20;
    let block: [u32; 2] = [0x2_0026, code];
    // SAFETY: the call takes a pointer to two words and does not return.
    unsafe { cortex_m_semihosting::syscall(EXIT_EXTENDED, &block) };
    loop {}
}
