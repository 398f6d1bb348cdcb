//! The station on the board, its inputs and outputs at the far end of the serial port: true to life.
//!
//! Bytes come one by one, time is the board's own SysTick, and a silence is noticed. Leaves when the far end has finished.
#![no_std]
#![no_main]

use cortex_m_rt::{entry, exception};
use valvewright_core::port::board::Inbox;
use valvewright_core::port::link::{PACKET, Up, encode};
use valvewright_core::port::remote::{Session, Step};
use valvewright_emulated_board::devices::Bench;
use valvewright_emulated_board::uart::{self, Uart};
use valvewright_emulated_board::wires::Wired;
use valvewright_emulated_board::{clock, exit, stack_used, tell};

#[exception]
fn SysTick() {
    clock::count();
}

/// External interrupts: on this board, a byte has come.
#[exception]
unsafe fn DefaultHandler(_number: i16) {
    uart::received();
}

fn send(uart: &Uart, bytes: &[u8]) {
    for byte in bytes {
        uart.put(*byte);
    }
}

fn obey(step: Step<'_>, uart: &Uart) {
    match step {
        Step::Nothing => {}
        Step::Send(packet) => send(uart, packet),
        Step::Explain => {
            // This image cannot tell its state.
            let mut buffer = [0; PACKET];
            if let Some(packet) = encode(0, &Up::Text(heapless::String::new()), &mut buffer) {
                send(uart, packet);
            }
        }
        Step::Leave => {
            tell("stack", stack_used());
            exit(0);
        }
    }
}

#[entry]
fn main() -> ! {
    let Some(mut board) = cortex_m::Peripherals::take() else { exit(2) };
    clock::milliseconds(&mut board.SYST);
    let uart = Uart::new();
    let (bench, inbox) = (Bench::default(), Inbox::new());
    let mut wires = Wired::new(&bench, &inbox);
    let mut session = Session::new();
    loop {
        while let Some(byte) = uart.get() {
            obey(session.take(byte, clock::now(), &mut wires), &uart);
        }
        obey(session.idle(clock::now(), &mut wires), &uart);
        uart.sleep();
    }
}
