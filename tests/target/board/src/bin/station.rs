//! The station on the board by itself: time from SysTick, inputs from the board's terminals, a log where there is one.
//!
//! With `no-panics` this is the image whose size, stack and freedom from panics are measured: it links only if no panic
//! can be reached from any input, setting or command. With `log` it tells what happens over semihosting and leaves after
//! [`RUN`] of its own time.
#![no_std]
#![no_main]

use cortex_m_rt::{entry, exception};
use valvewright_core::frame::{Actuators, Outputs};
use valvewright_core::kept::{Memory, Start};
use valvewright_core::port::board::{Event, Inbox};
use valvewright_core::record::Keeping;
use valvewright_core::station::Station;
use valvewright_core::talk::Notice;
use valvewright_core::units::{Instant, Millis};
use valvewright_emulated_board::devices::Bench;
use valvewright_emulated_board::nor::{self, Nor};
use valvewright_emulated_board::wires::board;
use valvewright_emulated_board::{cells, clock, exit, planted, terminals};

#[path = "../store_life.rs"]
#[allow(dead_code)]
mod store_life;

/// How long the demonstration lasts.
#[cfg(feature = "log")]
const RUN: Millis = Millis::from_secs(70);
/// Contacts are looked at this often.
const LOOK: Millis = Millis(5);

static INBOX: Inbox = Inbox::new();

#[exception]
fn SysTick() {
    clock::count();
}

/// Waits for the next tick of the clock after `last`.
fn next(last: Instant) -> Instant {
    loop {
        let now = clock::now();
        if now != last {
            return now;
        }
        cortex_m::asm::wfi();
    }
}

#[cfg(feature = "log")]
fn heard(now: Instant, notice: &Notice) {
    defmt::info!("{=u32} ms: {}", now.0, notice);
}

#[cfg(not(feature = "log"))]
fn heard(_now: Instant, notice: &Notice) {
    terminals::shown(matches!(notice, Notice::Release) as u32);
}

#[cfg(feature = "log")]
fn seen(now: Instant, before: &Outputs, outputs: &Outputs) {
    if before.on != outputs.on || before.lamp != outputs.lamp {
        defmt::info!("{=u32} ms: outputs {=u16:#06x}, lamp {}", now.0, outputs.on.0, outputs.lamp);
    }
    if now.0 >= RUN.0 {
        exit(0);
    }
}

#[cfg(not(feature = "log"))]
fn seen(_now: Instant, _before: &Outputs, outputs: &Outputs) {
    terminals::shown(u32::from(outputs.on.0));
}

#[entry]
fn main() -> ! {
    let Some(mut core) = cortex_m::Peripherals::take() else { exit(2) };
    clock::milliseconds(&mut core.SYST);
    let bench = Bench::default();
    let mut board = board(&bench, &INBOX);
    let (config, start) = terminals::config();
    let scan = config.scan;
    let Ok((found, memory)) = Keeping::mount(Nor::new(cells(store_life::BYTES)), &store_life::PLAN, 0) else { exit(2) };
    let (mut keeping, start) = match memory {
        Memory::Sound(_) => (found, Start { memory, ..start }),
        // As on the bench of whoever builds the machine. In a workshop it takes a supervisor's word: what is lost is not new.
        Memory::Lost => {
            let made = Keeping::commission(found.release(), &store_life::PLAN, terminals::kept(&start));
            let Ok(made) = made else { exit(2) };
            (made, start)
        }
    };
    let mut station = Station::wake(config, &start);
    let mut before = Outputs::default();
    let (mut now, mut scanned, mut looked) = (clock::now(), clock::now(), clock::now());
    let mut sequence = 0_u8;
    #[cfg(feature = "log")]
    terminals::press(1);
    loop {
        now = next(now);
        if now.since(looked) >= LOOK {
            looked = now;
            sequence = sequence.wrapping_add(1);
            bench.load(&terminals::frame(sequence, bench.on(), bench.dropped(), keeping.stored(), now));
            board.sample();
        }
        if now.since(scanned) < scan {
            continue;
        }
        scanned = now;
        if let Some(command) = terminals::act() {
            // Refused only where four wait already; a real panel would say so.
            let _refused = INBOX.post(Event::Command(command));
        }
        planted::defect();
        let outputs = board.scan(&mut station, now);
        while let Some(notice) = station.take_notice() {
            heard(now, &notice);
        }
        if outputs.keep != keeping.keep(station.kept()) {
            // Refused for now: the frame keeps saying which state is stored, and the station tells when that lasts.
            terminals::shown(keeping.stored());
        } else if outputs.on == Actuators::SAFE {
            let _did = keeping.tidy();
        }
        seen(now, &before, &outputs);
        before = outputs;
    }
}
