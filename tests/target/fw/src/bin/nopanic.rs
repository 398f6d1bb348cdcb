//! Nothing but the core, with a panic handler that cannot be linked: if this links, no panic path is left in it.
//!
//! Every setting, input and command is read volatile, so that the optimiser can know none of them. The proof holds for
//! this compiler and these flags.
#![no_std]
#![no_main]

use core::ptr::{read_volatile, write_volatile};

use cortex_m_rt::entry;
use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Outputs, RawFrame, SerialChunk};
use valvewright_core::job::WorkOrder;
use valvewright_core::station::Station;
use valvewright_core::talk::Command;
use valvewright_core::units::{Instant, Milligram, Millis};

#[cfg(not(feature = "loop-on-panic"))]
unsafe extern "C" {
    fn a_panic_path_is_still_reachable() -> !;
}

#[panic_handler]
fn panic(_: &core::panic::PanicInfo) -> ! {
    #[cfg(not(feature = "loop-on-panic"))]
    // SAFETY: never linked, so never called.
    unsafe {
        a_panic_path_is_still_reachable()
    }
    #[cfg(feature = "loop-on-panic")]
    loop {}
}

static CONFIG: StationConfig = StationConfig::reference(Refrigerant::R1234yf);
static ORDER: WorkOrder = WorkOrder::whole(Milligram::from_grams(500));
static NUMBER: u32 = 0;
static mut SINK: u32 = 0;

/// A value of which the optimiser knows only the type.
fn unknown<T>(seed: &'static T) -> T {
    // SAFETY: a static is aligned and initialised; no type used here owns anything, so that two copies do no harm.
    unsafe { read_volatile(seed) }
}

fn number() -> u32 {
    unknown(&NUMBER)
}

fn command() -> Option<Command> {
    match number() {
        1 => Some(Command::Start { id: number() as u16, order: unknown(&ORDER) }),
        2 => Some(Command::Pause),
        3 => Some(Command::Resume),
        4 => Some(Command::Abort),
        5 => Some(Command::Confirm),
        6 => Some(Command::Decline),
        7 => Some(Command::Reset),
        _ => None,
    }
}

fn fill(frame: &mut RawFrame) {
    for counts in &mut frame.analog {
        *counts = number() as u16;
    }
    for scale in &mut frame.scales {
        scale.code = number() as i32;
        scale.sequence = number() as u8;
    }
    frame.switches.0 = number() as u16;
    frame.identifier = SerialChunk::new();
    for _ in 0..number() {
        let _ = frame.identifier.push(number() as u8);
    }
    frame.command = command();
}

fn sink(outputs: &Outputs, station: &mut Station) {
    let bytes: u32 = outputs.identifier.iter().map(|byte| u32::from(*byte)).fold(0, u32::wrapping_add);
    let mut word = u32::from(outputs.on.0) ^ u32::from(outputs.buzzer) ^ outputs.lamp as u32 ^ bytes;
    while let Some(notice) = station.take_notice() {
        word ^= matches!(notice, valvewright_core::talk::Notice::Release) as u32;
    }
    word ^= station.lost_notices() ^ station.late_scans() ^ station.fill_limit().0 as u32;
    // SAFETY: one thread, no interrupts.
    unsafe { write_volatile(&raw mut SINK, word) }
}

#[entry]
fn main() -> ! {
    let mut station = Station::new(unknown(&CONFIG), Millis(number()));
    let mut frame = RawFrame::default();
    loop {
        fill(&mut frame);
        #[cfg(feature = "with-a-panic")]
        if [1, 2, 3][number() as usize] == 2 {
            continue;
        }
        #[cfg(feature = "with-an-overflow")]
        if (number() as i32 + number() as i32) == 7 {
            continue;
        }
        #[cfg(feature = "with-a-float")]
        if f32::from_bits(number()) * 1.5 > 2.0 {
            continue;
        }
        let outputs = station.tick(Instant(number()), &frame);
        sink(&outputs, &mut station);
    }
}
