//! Whether a loop is alive: one whose counts stand still to the last bit is stuck, one that stays too rough is broken.
//!
//! A live loop rustles: the quietest of the reference station by 1.2 counts (sigma), so that two conversions are alike every
//! fourth time, and 84 in a row never. Still down to 0.4 counts, where four of five are alike at worst, 84 in a row come once
//! in years. A converter with coarser steps shows no rustle: its input is configured without a noise limit, and then neither
//! too little of it nor too much is judged.
//! The rest of the process does not matter, nor does a clipped signal that rests on its clip (F008): that is silence too.
//!
//! Judged in windows of [`WINDOW`] scans, since noise comes by the scan and not by the second. Not promised: a sensor that
//! stands and rustles on; other readings must contradict it, see [`crate::cross`].

use super::analog::{ChannelConfig, Mark, SATURATED_HIGH, SATURATED_LOW, centred};
use crate::frame::{ANALOG_COUNT, Analog};

/// Scans of a window: three looks at the noise of each loop, and with 50 ms a scan 2.1 s (F006 leaves 5 s for two of them).
pub(super) const WINDOW: u8 = 3 * ANALOG_COUNT as u8;
/// Loops whose lasting noise makes them bad. PT-4 is left out: the vacuum hold waits for its noise to end, and says so if it doesn't.
const RULED: u16 = !(1 << Analog::Pt4 as u16);

/// What is known of the life of each loop, a bit each.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Live {
    scan: u8,
    /// Looked at in this window and found calm, which is half the limit of noise; found rough.
    calm: u16,
    rough: u16,
    /// Silent in the window before this one.
    silent: u16,
    stuck: u16,
    noisy: u16,
}

/// A bit of a set of loops.
const fn bit(at: usize) -> u16 {
    1 << (at as u32 & 15)
}

impl Live {
    /// Nothing received yet.
    pub(super) const NEW: Self = Self { scan: 0, calm: 0, rough: 0, silent: 0, stuck: 0, noisy: 0 };

    /// Which loop's noise is looked at in this scan.
    #[inline]
    pub(super) fn turn(&self) -> usize {
        self.scan as usize % ANALOG_COUNT
    }

    /// Takes that look; true where the window ends with it.
    #[inline]
    pub(super) fn look(&mut self, at: usize, rough: i32, limit: i32) -> bool {
        if rough > limit {
            self.rough |= bit(at);
        } else if rough < limit / 2 {
            self.calm |= bit(at);
        }
        self.scan = self.scan.wrapping_add(1);
        self.scan >= WINDOW
    }

    /// Ends a window. `changed` are the bits in which a loop's counts differed in it, `last` its last sample.
    #[cold]
    pub(super) fn close<'a>(
        &mut self,
        lanes: impl Iterator<Item = (&'a mut i16, &'a i16)>,
        cfg: &[ChannelConfig; ANALOG_COUNT],
    ) {
        let (mut silent, mut judged) = (0, 0);
        // A bit that moves along, and no count that could overflow.
        let mut one = bit(0);
        for ((changed, last), cfg) in lanes.zip(cfg) {
            // A transmitter that has come to the end of what it may drive rests there in health.
            let at_end = *last <= centred(SATURATED_LOW + 1) || *last >= centred(SATURATED_HIGH);
            if core::mem::take(changed) == 0 && !at_end {
                silent |= one;
            }
            if cfg.judges_noise() {
                judged |= one;
            }
            one <<= 1;
        }
        self.stuck = silent & (self.silent | self.stuck) & judged;
        self.noisy = self.rough & (!self.calm | self.noisy) & RULED;
        (self.scan, self.calm, self.rough, self.silent) = (0, 0, 0, silent);
    }

    /// Whether any loop is to be marked.
    #[inline]
    pub(super) const fn all_well(&self) -> bool {
        self.stuck | self.noisy == 0
    }

    /// Puts the verdicts on the marks; a wire fault says more than they do.
    #[cold]
    pub(super) fn mark(&self, marks: &mut [Mark]) {
        for (at, mark) in marks.iter_mut().enumerate().take(ANALOG_COUNT) {
            if self.stuck & bit(at) != 0 {
                *mark = mark.or_worse(Mark::FROZEN);
            } else if self.noisy & bit(at) != 0 {
                *mark = mark.or_worse(Mark::NOISY);
            }
        }
    }
}
