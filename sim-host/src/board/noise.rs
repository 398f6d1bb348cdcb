//! Frames of noise: what no plant would ever show, so that host and board are compared in odd places too.
//!
//! Calm and storm take turns, so that jobs begin and are broken off; in a storm most inputs keep their value from scan to
//! scan, or else nothing would ever be judged good.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};
use valvewright_core::frame::{ANALOG_COUNT, Actuators, Machine, RawFrame, ScaleSample, SelfChecks, Switches};
use valvewright_core::job::{PhaseSet, WorkOrder};
use valvewright_core::talk::Command;
use valvewright_core::units::Milligram;

/// A station at rest at 22 degC: loops in counts of 65 535 for 24 mA, 6 bar in vessel and hoses, air at the vacuum gauge.
const REST: [u16; ANALOG_COUNT] =
    [18_560, 18_560, 18_560, 54_613, 18_560, 24_467, 24_467, 24_467, 24_467, 10_923, 10_923, 31_311, 37_138, 37_138];
/// Scans of a calm, in which a job can begin, and of the storm after it.
const CALM: u32 = 1_500;
const STORM: u32 = 500;
/// A calm begins with the stop button pressed for so many scans, or a disagreement of its contacts in the storm before would
/// keep every further job from beginning.
const PRESSED: u32 = 20;
/// Ends of a 24-bit converter.
const RAILS: (i32, i32) = (-8_388_608, 8_388_607);

/// Frames at the given scan time with their ticks in ms; now and then a scan comes late.
pub fn frames(seed: u64, scans: u32, scan_ms: u32) -> Vec<(u32, RawFrame)> {
    let mut dice = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut frame = RawFrame { switches: Switches(Switches::ALL), ..RawFrame::default() };
    let mut now = 0_u32;
    let mut frames = Vec::with_capacity(scans as usize);
    for scan in 0..scans {
        let late = if one_in(&mut dice, 2_000) { below(&mut dice, 400) } else { 0 };
        now = now.wrapping_add(scan_ms + late);
        let into = scan % (CALM + STORM);
        if into < CALM {
            rest(&mut frame, &mut dice);
            if into < PRESSED {
                frame.switches.0 &= !(Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED);
            }
        } else {
            shake(&mut frame, &mut dice);
        }
        frame.machine = machine(&mut dice, scan, now, into < CALM);
        frame.command = one_in(&mut dice, 100).then(|| command(&mut dice));
        frames.push((now, frame.clone()));
    }
    frames
}

/// A sound machine with the fan's coil alone; in a storm now and then another coil, a check that failed, an image that is old.
fn machine(dice: &mut Xoshiro256PlusPlus, scan: u32, now: u32, calm: bool) -> Machine {
    let told = Machine {
        sequence: scan as u8,
        beat: now as u16,
        clock: now / 1_000 + 1,
        coils: Actuators::SAFE,
        // Now and then the number that was asked for.
        stored: now / 10_000,
        ..Machine::default()
    };
    if calm {
        return told;
    }
    match below(dice, 20_000) {
        0 => Machine { coils: Actuators(dice.next_u32() as u16 & Actuators::ALL.0), ..told },
        1 => Machine { failed: SelfChecks(dice.next_u32() as u8 & 0x7F), ..told },
        2 => Machine { clock: dice.next_u32(), ..told },
        3..=5 => Machine { sequence: told.sequence.wrapping_sub(1), ..told },
        _ => told,
    }
}

fn below(dice: &mut Xoshiro256PlusPlus, limit: u32) -> u32 {
    ((u64::from(dice.next_u32()) * u64::from(limit)) >> 32) as u32
}

fn one_in(dice: &mut Xoshiro256PlusPlus, count: u32) -> bool {
    below(dice, count) == 0
}

fn shake(frame: &mut RawFrame, dice: &mut Xoshiro256PlusPlus) {
    for counts in &mut frame.analog {
        *counts = match below(dice, 400) {
            // Anywhere: broken wires and short circuits among it.
            0 => dice.next_u32() as u16,
            // Anywhere inside 4 to 20 mA.
            1..=3 => (10_923 + below(dice, 43_690)) as u16,
            // A little noise.
            _ => counts.wrapping_add(below(dice, 9) as u16).wrapping_sub(4),
        };
    }
    for scale in &mut frame.scales {
        if one_in(dice, 4) {
            continue;
        }
        scale.sequence = scale.sequence.wrapping_add(1);
        scale.code = match below(dice, 1_000) {
            0 => dice.next_u32() as i32 >> 8,
            1..=5 => 100_000 + below(dice, 5_000_000) as i32,
            _ => (scale.code + below(dice, 41) as i32 - 20).clamp(RAILS.0, RAILS.1),
        };
    }
    if one_in(dice, 300) {
        frame.switches.0 ^= 1 << below(dice, Switches::ALL.count_ones());
    } else if one_in(dice, 100) {
        frame.switches.0 = Switches::ALL;
    }
    frame.identifier.clear();
    if one_in(dice, 50) {
        for _ in 0..below(dice, 33) {
            // At most 32 bytes, which is what fits.
            let _fits = frame.identifier.push(dice.next_u32() as u8);
        }
    }
}

fn rest(frame: &mut RawFrame, dice: &mut Xoshiro256PlusPlus) {
    frame.analog = REST.map(|counts| counts + below(dice, 9) as u16 - 4);
    frame.switches.0 = Switches::ALL;
    frame.identifier.clear();
    for scale in &mut frame.scales {
        *scale = ScaleSample { code: 1_100_000, sequence: scale.sequence.wrapping_add(1) };
    }
}

/// Some question's number: now and then that of the open one, for few are asked.
fn number(dice: &mut Xoshiro256PlusPlus) -> u16 {
    below(dice, 6) as u16
}

fn command(dice: &mut Xoshiro256PlusPlus) -> Command {
    match below(dice, 9) {
        0..=2 => {
            let phases = if one_in(dice, 3) { PhaseSet::WHOLE } else { PhaseSet(dice.next_u32() as u16) };
            let charge = Milligram(below(dice, 2_000_000) as i32);
            Command::Start { id: dice.next_u32() as u16, order: WorkOrder { phases, ..WorkOrder::whole(charge) } }
        }
        3 => Command::Pause,
        4 => Command::Resume,
        5 => Command::Confirm(number(dice)),
        6 => Command::Decline(number(dice)),
        7 if one_in(dice, 4) => Command::Abort,
        _ => Command::Reset,
    }
}
