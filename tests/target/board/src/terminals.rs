//! What stands at the terminals of a board without a plant: values in memory that a debugger may change while it runs.
//!
//! They are read volatile, so that the optimiser can know none of them: an image that takes all its inputs from here is
//! proven for every input.

use core::ptr::read_volatile;

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{
    ANALOG_COUNT, Actuator, Actuators, Analog, Feed, Feeds, Machine, RawFrame, SCALE_COUNT, SelfChecks, SerialChunk, Switches,
};
use valvewright_core::kept::{Kept, Memory, Start};
use valvewright_core::job::WorkOrder;
use valvewright_core::talk::Command;
use valvewright_core::units::{Instant, Milligram, Millis};

/// A station at rest at 22 degC, coupled to a vehicle of the same warmth: 6.1 bar in vessel and hoses, air at the vacuum
/// gauge, the fan at its speed, full supply, loops in counts of 65 535 for 24 mA.
#[unsafe(no_mangle)]
static mut LOOPS: [u16; ANALOG_COUNT] =
    [18_560, 18_560, 18_560, 54_613, 18_560, 24_467, 24_467, 24_467, 24_467, 10_923, 10_923, 31_311, 37_138, 37_138];
#[unsafe(no_mangle)]
static mut BRIDGES: [i32; SCALE_COUNT] = [1_100_000, 1_100_000, 150_000, 1_100_000];
#[unsafe(no_mangle)]
static mut MACHINE: Machine =
    Machine { sequence: 0, beat: 0, clock: 0, coils: Actuators::NONE, failed: SelfChecks::NONE, stored: 0 };
#[unsafe(no_mangle)]
static mut START: Start = Start::first(Millis::from_secs(6 * 3600));
#[unsafe(no_mangle)]
static mut CONTACTS: u16 = Switches::ALL & !Switches::FSL1_FLOW;
#[unsafe(no_mangle)]
static mut LINE: [u8; 32] = [0; 32];
#[unsafe(no_mangle)]
static mut LINE_LENGTH: u32 = 0;
#[unsafe(no_mangle)]
static mut ACT: u32 = 0;
#[unsafe(no_mangle)]
static mut ACT_ID: u32 = 1;
static ORDER: WorkOrder = WorkOrder::whole(Milligram::from_grams(500));
static CONFIG: StationConfig = StationConfig::reference(Refrigerant::R1234yf);

fn unknown<T>(value: *const T) -> T {
    // SAFETY: every caller passes a static, aligned and initialised; no type used here owns anything, so that two copies
    // do no harm; only a debugger writes.
    unsafe { read_volatile(value) }
}

/// The station this board is for.
pub fn config() -> (StationConfig, Start) {
    (unknown(&raw const CONFIG), unknown(&raw const START))
}

/// What of a start was kept; a station that was just commissioned where nothing can be believed.
pub fn kept(start: &Start) -> &Kept {
    match &start.memory {
        Memory::Sound(kept) => kept,
        Memory::Lost => &Kept::COMMISSIONED,
    }
}

/// Counts of a loop at 4 mA: a rail without volts, a fan that stands.
const NOTHING: u16 = 10_923;

/// What stands at the terminals now, `sequence` being that of the bridges and of the image. The fan's air flow and speed, the coils, the
/// valve rail and the other oscillator follow outputs, open relays and tick; what stands in `MACHINE` comes on top. The loops rustle by three
/// counts, as any live converter does. `stored` is the number of the state that the store holds.
pub fn frame(sequence: u8, on: Actuators, dropped: Feeds, stored: u32, now: Instant) -> RawFrame {
    let mut frame = RawFrame { analog: unknown(&raw const LOOPS), ..RawFrame::default() };
    if dropped.has(Feed::Valves) {
        frame.analog[Analog::Et2 as usize] = NOTHING;
    }
    if !on.has(Actuator::K1) {
        frame.analog[Analog::St1 as usize] = NOTHING;
    }
    for (counts, at) in frame.analog.iter_mut().zip(1_u32..) {
        let dice = (now.0 ^ at.wrapping_mul(0x9e37_79b9)).wrapping_mul(0x85eb_ca6b);
        *counts = counts.wrapping_add((dice >> 30) as u16);
    }
    for (sample, code) in frame.scales.iter_mut().zip(unknown(&raw const BRIDGES)) {
        (sample.code, sample.sequence) = (code, sequence);
    }
    let machine = unknown(&raw const MACHINE);
    frame.machine = Machine {
        sequence: machine.sequence.wrapping_add(sequence),
        beat: machine.beat.wrapping_add(now.0 as u16),
        coils: Actuators(machine.coils.0 ^ dropped.leave(on).0),
        stored: machine.stored ^ stored,
        ..machine
    };
    frame.switches.0 = unknown(&raw const CONTACTS) | if on.has(Actuator::K1) { Switches::FSL1_FLOW } else { 0 };
    let bytes = unknown(&raw const LINE);
    let length = unknown(&raw const LINE_LENGTH) as usize;
    frame.identifier = SerialChunk::from_slice(bytes.get(..length).unwrap_or(&bytes)).unwrap_or_default();
    frame
}

/// What the operator does now: the number in `ACT`, which is then 0 again. `ACT_ID` is the id of a start, and the number of
/// the question that is answered.
pub fn act() -> Option<Command> {
    let act = unknown(&raw const ACT);
    // SAFETY: one thread; a debugger that writes in between loses its act and sees that.
    unsafe { (&raw mut ACT).write_volatile(0) };
    Some(match act {
        1 => Command::Start { id: unknown(&raw const ACT_ID) as u16, order: unknown(&raw const ORDER) },
        2 => Command::Pause,
        3 => Command::Resume,
        4 => Command::Abort,
        5 => Command::Confirm(unknown(&raw const ACT_ID) as u16),
        6 => Command::Decline(unknown(&raw const ACT_ID) as u16),
        7 => Command::Reset,
        _ => return None,
    })
}

/// Does what a finger on the panel would do.
pub fn press(act: u32) {
    // SAFETY: one thread.
    unsafe { (&raw mut ACT).write_volatile(act) };
}

/// Somewhere to show a value, so that the optimiser keeps what led to it.
pub fn shown(value: u32) {
    static mut SHOWN: u32 = 0;
    // SAFETY: one thread.
    unsafe { (&raw mut SHOWN).write_volatile(value) };
}

/// A number nobody knows.
pub fn number() -> u32 {
    unknown(&raw const ACT_ID)
}
