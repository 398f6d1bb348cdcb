//! Runs the core on the target: a digest of its outputs for the host to compare, instructions a scan, depth of the stack.
//!
//! Instructions are those of the emulator (`-icount shift=10`: 25.6 ticks of the 25 MHz SysTick each), not cycles.
#![no_std]
#![no_main]

use core::hint::black_box;

use cortex_m::peripheral::SYST;
use cortex_m::peripheral::syst::SystClkSource;
use cortex_m_rt::entry;
use cortex_m_semihosting::hprintln;
use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::Outputs;
use valvewright_core::station::Station;
use valvewright_core::units::{Instant, Millis};
use valvewright_firmware_proof::exit;
use valvewright_firmware_proof::stimulus::{Digest, SCANS, Stimulus};

unsafe extern "C" {
    static _stack_start: u32;
    static _stack_end: u32;
}

/// Bytes of stack that are no longer the pattern cortex-m-rt painted.
fn stack_used() -> usize {
    const PAINT: u32 = 0xCCCC_CCCC;
    let (top, mut at) = (&raw const _stack_start, &raw const _stack_end);
    // SAFETY: between the linker's two symbols lies the stack, and nothing else.
    unsafe {
        while at < top && at.read_volatile() == PAINT {
            at = at.add(1);
        }
    }
    top as usize - at as usize
}

#[entry]
fn main() -> ! {
    let Some(mut board) = cortex_m::Peripherals::take() else { exit(2) };
    board.SYST.set_clock_source(SystClkSource::Core);
    board.SYST.set_reload(0x00FF_FFFF);
    board.SYST.clear_current();
    board.SYST.enable_counter();

    let mut station = Station::new(StationConfig::reference(Refrigerant::R1234yf), Millis::from_secs(6 * 3600));
    let mut stimulus = Stimulus::new(1, 997);
    let (mut outputs, mut digest) = (Outputs::default(), Digest::default());
    let (mut most, mut longest, mut total) = (0_u32, 0_u32, 0_u64);
    for scan in 0..SCANS {
        let frame = stimulus.frame(&station, &outputs);
        let before = SYST::get_current();
        outputs = station.tick(Instant(scan.wrapping_mul(50)), black_box(&frame));
        let ticks = before.wrapping_sub(SYST::get_current()) & 0x00FF_FFFF;
        let instructions = ticks * 10 / 256;
        if instructions > most {
            (most, longest) = (instructions, scan);
        }
        total += u64::from(instructions);
        while station.take_notice().is_some() {}
        digest.take(&outputs);
    }
    let stack = stack_used();
    hprintln!("digest {:016x}", digest.0);
    hprintln!("scans {}", SCANS);
    hprintln!("instructions mean {} most {} in scan {}", total / u64::from(SCANS), most, longest);
    hprintln!("station bytes {}", size_of::<Station>());
    hprintln!("stack bytes {}", stack);
    exit(0)
}
