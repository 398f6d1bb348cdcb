//! UART0 of the board (CMSDK APB UART, Arm's Cortex-M System Design Kit): its interrupt takes each byte into a queue.

use core::cell::RefCell;
use core::ptr::{read_volatile, write_volatile};

use cortex_m::peripheral::NVIC;
use critical_section::Mutex;
use heapless::Deque;
use valvewright_core::port::link::PACKET;

/// Receive interrupt of UART0: external interrupt 0 of this board.
#[derive(Clone, Copy)]
struct Received;

// SAFETY: 0 is the number of UART0's receive interrupt on this board, and it does not change.
unsafe impl cortex_m::interrupt::InterruptNumber for Received {
    fn number(self) -> u16 {
        0
    }
}

const BASE: usize = 0x4000_4000;
const DATA: usize = 0x00;
const STATE: usize = 0x04;
const CONTROL: usize = 0x08;
const INTERRUPT: usize = 0x0C;
const BAUD: usize = 0x10;

static QUEUE: Mutex<RefCell<Deque<u8, PACKET>>> = Mutex::new(RefCell::new(Deque::new()));

fn write(register: usize, value: u32) {
    // SAFETY: a register of UART0 at its documented place.
    unsafe { write_volatile((BASE + register) as *mut u32, value) }
}

fn read(register: usize) -> u32 {
    // SAFETY: as above.
    unsafe { read_volatile((BASE + register) as *const u32) }
}

/// To be called by the handler of external interrupts, which on this board are those of the UART.
pub fn received() {
    write(INTERRUPT, 0b10);
    critical_section::with(|cs| {
        let Ok(mut queue) = QUEUE.borrow(cs).try_borrow_mut() else { return };
        while read(STATE) & 2 != 0 {
            // A byte that finds the queue full is lost; the packet it belongs to is then broken, which the link tells.
            let _lost = queue.push_back(read(DATA) as u8);
        }
    });
}

/// The port.
#[derive(Debug)]
pub struct Uart(());

impl Uart {
    /// Switches the port on, at its highest speed, with the receive interrupt enabled.
    pub fn new() -> Self {
        write(BAUD, 16);
        write(CONTROL, 0b1011);
        // SAFETY: no critical section relies on this interrupt being masked.
        unsafe { NVIC::unmask(Received) };
        Self(())
    }

    /// The oldest byte that came.
    pub fn get(&self) -> Option<u8> {
        critical_section::with(|cs| QUEUE.borrow(cs).try_borrow_mut().ok()?.pop_front())
    }

    /// Sends a byte; waits while the port is busy.
    pub fn put(&self, byte: u8) {
        while read(STATE) & 1 != 0 {}
        write(DATA, u32::from(byte));
    }

    /// Sleeps until an interrupt comes, unless a byte waits. With interrupts masked a pending one ends the sleep before it
    /// is served, so that none can slip in between the look at the queue and the sleep.
    pub fn sleep(&self) {
        critical_section::with(|cs| {
            if QUEUE.borrow(cs).try_borrow().is_ok_and(|queue| queue.is_empty()) {
                cortex_m::asm::wfi();
            }
        });
    }
}

impl Default for Uart {
    fn default() -> Self {
        Self::new()
    }
}
