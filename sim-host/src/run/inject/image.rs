//! What faults make of a frame on its way into the controller: glitches, stale inputs, numbers that are none, stuck bits, repeated frames.

use valvewright_core::frame::{ANALOG_COUNT, RawFrame, SCALE_COUNT, Switches};

use super::Injector;
use super::slot::Slot;
use crate::fault::{Effect, Image, Machine};

/// Counts that no loop makes: the converter's end, 24 mA.
const NO_NUMBER: u16 = u16::MAX;
/// A code that no 24-bit converter makes.
const NO_CODE: i32 = i32::MIN;
/// Bits of a loop and of a bridge with its sequence, as F100 counts them.
const LOOP_BITS: u32 = u16::BITS;
const BRIDGE_BITS: u32 = 40;

/// Frames have to be looked at while this acts.
pub(super) fn looks_at_frames(effect: &Effect) -> bool {
    match effect {
        Effect::Image(image) => !matches!(image, Image::Stale(_)),
        Effect::Machine(what) => matches!(what, Machine::LinkRepeats(_)),
        _ => false,
    }
}

impl Injector {
    /// Whether [`Injector::spoil`] has anything to do.
    #[inline]
    pub(in crate::run) fn spoils(&self) -> bool {
        self.spoils
    }

    /// Does to the frame of the scan at `t` what acts on it, in the order in which it began.
    #[cold]
    pub(in crate::run) fn spoil(&mut self, t: f64, scan_s: f64, frame: &mut RawFrame) {
        let fresh = frame.clone();
        for at in &self.order {
            let Some(slot) = self.slots.get_mut(*at) else { continue };
            for which in 0..slot.effects.len() {
                let effect = slot.effects[which];
                match effect {
                    Effect::Image(image) => spoil(slot, image, t, scan_s, frame),
                    Effect::Machine(Machine::LinkRepeats(p)) if slot.dice.share() < p => {
                        *frame = RawFrame { command: None, ..self.kept.clone() };
                    }
                    _ => {}
                }
            }
        }
        self.kept = frame.clone();
        self.kept.command.clone_from(&fresh.command);
    }
}

fn spoil(slot: &mut Slot, image: Image, t: f64, scan_s: f64, frame: &mut RawFrame) {
    match image {
        Image::NoNumber(input) => frame.analog[input as usize] = NO_NUMBER,
        Image::NoCode(scale) => frame.scales[scale as usize].code = NO_CODE,
        Image::StuckBit(bit) => stick(bit, frame),
        Image::Stale(_) => {}
        Image::Glitches(length) => {
            let second = (t - slot.since()).floor();
            if slot.mark != second {
                // Once a second: in which scan, and whether so short a glitch meets the moment at which that is sampled.
                slot.mark = second;
                let scans = (1.0 / scan_s).max(1.0);
                let meets = slot.dice.share() < length / scan_s;
                slot.wait = if meets { 1 + (slot.dice.share() * scans) as u32 } else { 0 };
            }
            slot.wait = match slot.wait {
                1 => {
                    glitch(slot, frame);
                    0
                }
                wait => wait.saturating_sub(1),
            };
        }
    }
}

fn glitch(slot: &mut Slot, frame: &mut RawFrame) {
    let contacts = Switches::ALL.count_ones() as usize;
    let which = (slot.dice.share() * (ANALOG_COUNT + SCALE_COUNT + contacts) as f64) as usize;
    let share = slot.dice.share();
    if let Some(counts) = frame.analog.get_mut(which) {
        *counts = (share * f64::from(u16::MAX)) as u16;
    } else if let Some(scale) = frame.scales.get_mut(which - ANALOG_COUNT) {
        scale.code = ((share - 0.5) * 16_777_215.0) as i32;
    } else {
        frame.switches.0 ^= 1 << (which - ANALOG_COUNT - SCALE_COUNT).min(contacts - 1);
    }
}

fn stick(bit: u32, frame: &mut RawFrame) {
    let loops = ANALOG_COUNT as u32 * LOOP_BITS;
    let bridges = SCALE_COUNT as u32 * BRIDGE_BITS;
    if let Some(counts) = frame.analog.get_mut((bit / LOOP_BITS) as usize) {
        *counts |= 1 << (bit % LOOP_BITS);
        return;
    }
    let bit = bit - loops;
    if let Some(scale) = frame.scales.get_mut((bit / BRIDGE_BITS) as usize) {
        match bit % BRIDGE_BITS {
            code @ 0..32 => scale.code |= (1_u32 << code) as i32,
            sequence => scale.sequence |= 1 << (sequence - 32),
        }
        return;
    }
    frame.switches.0 |= 1 << (bit - bridges).min(8);
}
