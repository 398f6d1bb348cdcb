//! Logs one value of each kind with defmt, to the emulator's standard output: shows that every format works on the target.
#![no_std]
#![no_main]

use cortex_m_rt::entry;
use defmt_semihosting as _;
use valvewright_emulated_board::exit;

#[path = "../samples.rs"]
mod samples;

/// What can be logged.
trait Told: defmt::Format {
    fn told(&self, name: &str) {
        defmt::info!("{=str} {}", name, self);
    }
}

impl<T: defmt::Format + ?Sized> Told for T {}

#[entry]
fn main() -> ! {
    samples::tell();
    exit(0)
}
