//! Lives a life of the record store on the processor and tells what became of it: it has to be what the host tells.
#![no_std]
#![no_main]

use cortex_m_rt::entry;
use valvewright_emulated_board::{cells, exit, nor, stack_used, tell};

#[path = "../store_life.rs"]
mod store_life;

#[entry]
fn main() -> ! {
    let mut part = nor::Nor::new(cells(store_life::BYTES));
    let Some(life) = store_life::live(&mut part) else { exit(2) };
    for (name, value) in [
        ("digest_high", (life.digest >> 32) as u32),
        ("digest_low", life.digest as u32),
        ("stored", life.stored),
        ("cuts", life.cuts),
        ("wrong", life.wrong),
        ("stack", stack_used()),
    ] {
        tell(name, value);
    }
    exit(0)
}
