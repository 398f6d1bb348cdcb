//! The filters of all transmitters: median of three, low-pass, noise measure and fault count, lane by lane.

use core::fmt;
use core::hash::{Hash, Hasher};

use super::analog::{ChannelConfig, FAULT_HIGH, FAULT_LOW, FINE, Mark, centred};
use super::live::Live;
use super::reading::{Broken, Quality};
use crate::frame::ANALOG_COUNT;
use crate::units::Instant;

/// Lanes of the filter, one an input. A host's registers take eight 16-bit lanes at once, and with idle ones up to a whole number
/// of registers it filters in half the time; a microcontroller, which goes lane by lane, would lose an eighth.
const LANES: usize = if WIDE { ANALOG_COUNT.next_multiple_of(8) } else { ANALOG_COUNT };
/// Whether this is a host.
const WIDE: bool = cfg!(target_pointer_width = "64");
/// Scans of wire fault before a reading is bad, and good scans before it is believed again.
const CONFIRM: u8 = 3;

/// Where a lane stands that is not simply good.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Lane {
    /// Leaky count of faulty scans; from `CONFIRM` on the reading is bad, and `CONFIRM` good scans lead back.
    faults: u8,
    /// Whether the last faulty scan was a fault high.
    high: bool,
    primed: bool,
    /// When the last accepted sample came, unless all lanes were good in the last scan.
    seen: Instant,
}

/// Filter and fault state of all transmitters, lane by lane.
///
/// Kept as one array per quantity, because the common case, every lane good, then runs as a few vector instructions on a
/// host; a microcontroller loses nothing by it.
#[derive(Clone, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Bank {
    /// Low-pass state in 1/256 count, centred.
    fine: [i32; LANES],
    /// The accepted samples before this one, centred (see [`centred`]).
    one: [i16; LANES],
    two: [i16; LANES],
    /// Sixteen times the running mean of the second difference, in counts.
    rough: [i32; LANES],
    /// Bits in which the samples of this window differed.
    changed: [i16; LANES],
    live: Live,
    lanes: [Lane; ANALOG_COUNT],
    /// Some lane is not primed or has faults.
    doubtful: bool,
    /// When all lanes were good last, if that was in the last scan.
    all_seen: Option<Instant>,
}

/// Idle lanes are left out, so that a host and a microcontroller with the same state have the same digest.
impl Hash for Bank {
    fn hash<H: Hasher>(&self, state: &mut H) {
        let Self { fine, one, two, rough, changed, live, lanes, doubtful, all_seen } = self;
        (used(fine), used(one), used(two), used(rough), used(changed), live, lanes, doubtful, all_seen).hash(state);
    }
}

/// As derived, without idle lanes: host and microcontroller are compared by this text.
impl fmt::Debug for Bank {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { fine, one, two, rough, changed, live, lanes, doubtful, all_seen } = self;
        f.debug_struct("Bank")
            .field("fine", &used(fine))
            .field("one", &used(one))
            .field("two", &used(two))
            .field("rough", &used(rough))
            .field("changed", &used(changed))
            .field("live", live)
            .field("lanes", lanes)
            .field("doubtful", doubtful)
            .field("all_seen", all_seen)
            .finish()
    }
}

/// The lanes that belong to an input.
fn used<T>(lanes: &[T; LANES]) -> &[T] {
    lanes.get(..ANALOG_COUNT).unwrap_or(lanes)
}

/// One value an input, filled up to the lanes.
#[cfg(target_pointer_width = "64")]
#[inline(always)]
fn lanes<T: Copy + Default>(inputs: [T; ANALOG_COUNT]) -> [T; LANES] {
    let mut all = [T::default(); LANES];
    all.iter_mut().zip(inputs).for_each(|(to, from)| *to = from);
    all
}

/// One value an input is one a lane.
#[cfg(not(target_pointer_width = "64"))]
#[inline(always)]
const fn lanes<T: Copy>(inputs: [T; ANALOG_COUNT]) -> [T; LANES] {
    inputs
}

/// One filter step: median of three, then first-order low-pass; and the second difference, which ignores ramps.
#[inline(always)]
fn filtered(fine: i32, one: i16, two: i16, fresh: i16, shift: u8) -> (i32, i32) {
    let median = one.min(two).max(one.max(two).min(fresh));
    let target = (median as i32) << FINE;
    let fine = fine.wrapping_add(target.wrapping_sub(fine) >> (shift & 7));
    let bend = (fresh as i32 + two as i32 - 2 * one as i32).abs();
    (fine, bend)
}

impl Bank {
    /// Nothing received yet.
    pub const NEW: Self = Self {
        // Reads as the low end until the first sample.
        fine: [(i16::MIN as i32) << FINE; LANES],
        one: [0; LANES],
        two: [0; LANES],
        rough: [0; LANES],
        changed: [0; LANES],
        live: Live::NEW,
        lanes: [Lane { faults: 0, high: false, primed: false, seen: Instant(0) }; ANALOG_COUNT],
        doubtful: true,
        all_seen: None,
    };

    /// Judges one scan.
    #[inline]
    pub fn step(
        &mut self,
        now: Instant,
        counts: &[u16; ANALOG_COUNT],
        cfg: &[ChannelConfig; ANALOG_COUNT],
        shift: u8,
    ) -> ([i32; ANALOG_COUNT], [Mark; LANES]) {
        let sound = counts.iter().fold(true, |all, c| all & is_sound(*c));
        if !sound || self.doubtful {
            return self.step_doubtful(now, counts, cfg, shift);
        }
        self.all_seen = Some(now);
        let (fresh, limits) = (lanes(counts.map(centred)), lanes(cfg.each_ref().map(|cfg| cfg.rough_limit)));
        let (mut values, mut marks) = ([0; ANALOG_COUNT], [Mark::GOOD; LANES]);
        let past = self.one.iter_mut().zip(&mut self.two).zip(&mut self.changed);
        let state = self.fine.iter_mut().zip(past).zip(&mut self.rough);
        let given = fresh.iter().zip(&limits).zip(&mut marks);
        for (((fine, ((one, two), changed)), rough), ((sample, limit), mark)) in state.zip(given) {
            let bend;
            (*fine, bend) = filtered(*fine, *one, *two, *sample, shift);
            *changed |= *sample ^ *one;
            (*one, *two) = (*sample, *one);
            *rough = roughened(*rough, bend, *limit);
            *mark = Mark::in_band(*sample, *rough, *limit);
        }
        for ((value, fine), cfg) in values.iter_mut().zip(&self.fine).zip(cfg) {
            *value = cfg.reading(*fine);
        }
        self.watch(cfg, &mut marks);
        (values, marks)
    }

    /// Whether the loops are alive: looks at one of them, and at all when a window ends.
    #[inline]
    fn watch(&mut self, cfg: &[ChannelConfig; ANALOG_COUNT], marks: &mut [Mark; LANES]) {
        let at = self.live.turn();
        let (rough, limit) = (self.rough.get(at), cfg.get(at));
        if self.live.look(at, rough.copied().unwrap_or(0), limit.map_or(0, |cfg| cfg.rough_limit)) {
            self.live.close(self.changed.iter_mut().zip(&self.one), cfg);
        }
        if !self.live.all_well() {
            self.live.mark(marks);
        }
    }

    /// The rare way: in some lane a wire fault stands, is being confirmed or recovered from, or nothing came before.
    #[cold]
    fn step_doubtful(
        &mut self,
        now: Instant,
        counts: &[u16; ANALOG_COUNT],
        cfg: &[ChannelConfig; ANALOG_COUNT],
        shift: u8,
    ) -> ([i32; ANALOG_COUNT], [Mark; LANES]) {
        if let Some(seen) = self.all_seen.take() {
            self.lanes.iter_mut().for_each(|lane| lane.seen = seen);
        }
        self.doubtful = false;
        let (mut values, mut marks) = ([0; ANALOG_COUNT], [Mark::GOOD; LANES]);
        let out = values.iter_mut().zip(&mut marks);
        let past = self.one.iter_mut().zip(&mut self.two).zip(&mut self.changed);
        let state = self.fine.iter_mut().zip(past).zip(&mut self.rough).zip(&mut self.lanes);
        for (((value, mark), (((fine, ((one, two), changed)), rough), lane)), (counts, cfg)) in
            out.zip(state).zip(counts.iter().zip(cfg))
        {
            let (faulty, sample) = (lane.count(*counts), centred(*counts));
            if !faulty && lane.primed {
                *changed |= sample ^ *one;
                let bend;
                (*fine, bend) = filtered(*fine, *one, *two, sample, shift);
                *rough = roughened(*rough, bend, cfg.rough_limit);
                (*one, *two) = (sample, *one);
            } else if !faulty {
                (*fine, *one, *two, *rough) = ((sample as i32) << FINE, sample, sample, 0);
                lane.primed = true;
            }
            if faulty {
                // It is said already: silence between the faults says nothing.
                *changed = -1;
            } else {
                lane.seen = now;
            }
            *value = cfg.reading(*fine);
            *mark = lane.mark(now, *counts, *rough, cfg.rough_limit);
            self.doubtful |= lane.faults > 0 || !lane.primed;
        }
        self.watch(cfg, &mut marks);
        (values, marks)
    }
}

impl Lane {
    /// Takes a scan into the fault count; whether the sample must not reach the filter.
    fn count(&mut self, counts: u16) -> bool {
        if !is_sound(counts) {
            self.high = counts >= FAULT_HIGH;
            self.faults = self.faults.saturating_add(1);
            if self.faults >= CONFIRM {
                self.faults = 2 * CONFIRM - 1;
            }
            return true;
        }
        let was_bad = self.faults >= CONFIRM;
        self.faults = self.faults.saturating_sub(1);
        if was_bad && self.faults < CONFIRM {
            // The old level means nothing after a repair.
            (self.faults, self.primed) = (0, false);
        }
        self.faults >= CONFIRM
    }

    fn mark(&self, now: Instant, counts: u16, rough: i32, rough_limit: i32) -> Mark {
        if self.faults >= CONFIRM {
            Mark::of(Quality::Bad(if self.high { Broken::Over } else { Broken::Under }))
        } else if is_sound(counts) {
            Mark::in_band(centred(counts), rough, rough_limit)
        } else if self.primed {
            Mark::of(Quality::Held(now.since(self.seen)))
        } else {
            Mark::of(Quality::None)
        }
    }
}

/// Outside the fault bands.
#[inline(always)]
const fn is_sound(counts: u16) -> bool {
    counts.wrapping_sub(FAULT_LOW + 1) < FAULT_HIGH - FAULT_LOW - 1
}

/// The noise measure; its clip keeps one valve step (two large differences) far from the limit of sixteen. Signed, because
/// every vector unit compares signed numbers.
#[inline(always)]
fn roughened(rough: i32, bend: i32, rough_limit: i32) -> i32 {
    // Stays between nothing and sixteen times the clip, so neither can overflow.
    rough.wrapping_sub(rough >> 4).wrapping_add(bend.min(rough_limit >> 3))
}
