//! The station on the board, its inputs and outputs at the far end of the emulator's standard streams: for volume.
//!
//! Leaves with 0 when the far end has finished, with 3 when it went away; then the outputs are safe, and said.
#![no_std]
#![no_main]

use cortex_m_rt::entry;
use valvewright_core::port::board::Inbox;
use valvewright_core::port::link::{PACKET, Up, encode};
use valvewright_core::port::remote::{Session, Step, Wires};
use valvewright_core::station::Station;
use valvewright_core::units::Instant;
use valvewright_emulated_board::devices::Bench;
use valvewright_emulated_board::stream::Stream;
use valvewright_emulated_board::wires::Wired;
use valvewright_emulated_board::{clock, exit, stack_used, tell};

/// Answers that wait to be sent in one go.
type Waiting = heapless::Vec<u8, PACKET>;

fn send(waiting: &mut Waiting, output: &Stream, bytes: &[u8]) {
    if waiting.extend_from_slice(bytes).is_err() {
        output.write(waiting);
        waiting.clear();
        // Into an empty buffer any packet fits.
        let _ = waiting.extend_from_slice(bytes);
    }
}

/// An image that cannot tell its state sends an empty text.
fn explain(session: &Session, output: &Stream) {
    #[cfg(feature = "explain")]
    if let Some(station) = session.station() {
        return valvewright_emulated_board::explain::explain(station, output);
    }
    let _ = session;
    let mut buffer = [0; PACKET];
    if let Some(packet) = encode(0, &Up::Text(heapless::String::new()), &mut buffer) {
        output.write(packet);
    }
}

#[entry]
fn main() -> ! {
    let Some(mut board) = cortex_m::Peripherals::take() else { exit(2) };
    clock::free_running(&mut board.SYST);
    let (input, output) = (Stream::input(), Stream::output());
    let (bench, inbox) = (Bench::default(), Inbox::new());
    let mut wires = Wired::new(&bench, &inbox);
    let mut session = Session::new();
    let (mut buffer, mut waiting) = ([0; PACKET], Waiting::new());
    loop {
        let bytes = input.read(&mut buffer);
        if bytes.is_empty() {
            session.closed(&mut wires);
            tell("closed, outputs", u32::from(wires.pins().0));
            exit(3);
        }
        for byte in bytes {
            match session.take(*byte, Instant(0), &mut wires) {
                Step::Nothing => {}
                Step::Send(packet) => send(&mut waiting, &output, packet),
                Step::Explain => {
                    output.write(&waiting);
                    waiting.clear();
                    explain(&session, &output);
                }
                Step::Leave => {
                    output.write(&waiting);
                    tell("stack", stack_used());
                    tell("station", size_of::<Station>() as u32);
                    exit(0);
                }
            }
        }
        output.write(&waiting);
        waiting.clear();
    }
}
