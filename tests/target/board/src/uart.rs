//! UART0 of the board (CMSDK APB UART, Arm's Cortex-M System Design Kit), with a receive interrupt that only wakes.

use core::ptr::{read_volatile, write_volatile};

use cortex_m::peripheral::NVIC;

/// Receive interrupt of UART0: external interrupt 0 of this board.
#[derive(Clone, Copy)]
struct Received;

// SAFETY: 0 is the number of UART0's receive interrupt on this board, and it does not change.
unsafe impl cortex_m::interrupt::InterruptNumber for Received {
    fn number(self) -> u16 {
        0
    }
}

/// The port.
#[derive(Debug)]
pub struct Uart(());

const BASE: usize = 0x4000_4000;
const DATA: usize = 0x00;
const STATE: usize = 0x04;
const CONTROL: usize = 0x08;
const INTERRUPT: usize = 0x0C;
const BAUD: usize = 0x10;

fn write(register: usize, value: u32) {
    // SAFETY: a register of UART0 at its documented place.
    unsafe { write_volatile((BASE + register) as *mut u32, value) }
}

fn read(register: usize) -> u32 {
    // SAFETY: as above.
    unsafe { read_volatile((BASE + register) as *const u32) }
}

impl Uart {
    /// Switches the port on, at its highest speed, with the receive interrupt enabled.
    pub fn new() -> Self {
        write(BAUD, 16);
        write(CONTROL, 0b1011);
        // SAFETY: the handler is the default one and is never entered: see `sleep`.
        unsafe { NVIC::unmask(Received) };
        Self(())
    }

    /// A byte, if one has come.
    pub fn get(&self) -> Option<u8> {
        (read(STATE) & 2 != 0).then(|| read(DATA) as u8)
    }

    /// Sends a byte; waits while the port is busy.
    pub fn put(&self, byte: u8) {
        while read(STATE) & 1 != 0 {}
        write(DATA, u32::from(byte));
    }

    /// Sleeps until a byte or another interrupt comes. With interrupts masked a pending one ends the sleep without being
    /// entered, so that none can slip in between the look at the port and the sleep.
    pub fn sleep(&self) {
        cortex_m::interrupt::free(|_| {
            if read(STATE) & 2 == 0 {
                cortex_m::asm::wfi();
            }
            write(INTERRUPT, 0b10);
            NVIC::unpend(Received);
        });
    }
}

impl Default for Uart {
    fn default() -> Self {
        Self::new()
    }
}
