#![no_std]
#![no_main]
use cortex_m_rt::entry; use valvewright_emulated_board::exit;
#[entry] fn main() -> ! { exit(0) }
