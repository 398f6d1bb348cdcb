//! Whether the controller's own machine is to be trusted: its image of the inputs, its tick, its wall clock, its drivers, its checks.
//!
//! Promises: a durable fault of one of them is found within half a second or in the scan that tells it; a restart and a late scan
//! alone accuse nothing. A watchdog that failed its test stays failed until a start in which it passes.

use crate::frame::{Actuators, Feeds, Machine, SelfCheck, SelfChecks};
use crate::units::Millis;

/// Scans with one sequence number after which the image of the inputs is stale: as many as confirm a broken wire (own choice).
const STALE_AFTER: u8 = 3;
/// Scans in which the coils differ from what is ordered before that counts: a relay drops out within one of 10 ms (own choice).
const COILS_AFTER: u8 = 2;
/// The tick is held against the other oscillator over so long,
const RATE_WINDOW: u32 = 500;
/// and may differ by so many permille: two RC oscillators of 1 % each, read to the millisecond (own choice); a wait so much short harms
/// nothing.
const RATE_OFF: u32 = 25;
/// A step of the wall clock from which its dates are doubtful, s (hazard H19).
const CLOCK_STEP: u32 = 120;
/// A wall clock that has not moved for so long has stopped (F094, own choice).
const CLOCK_STOPPED: Millis = Millis::from_secs(30);

/// What is found.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct MachineFacts {
    /// The inputs are those of an earlier scan (I27).
    pub stale_image: bool,
    /// Tick and other oscillator disagree (I26).
    pub tick_wrong: bool,
    /// The wall clock jumped, went back or stands (I25).
    pub clock_doubtful: bool,
    /// Coils carry current that are not ordered, or none where they are (I19).
    pub coils_wrong: bool,
    /// A self-check failed (I26).
    pub check_failed: bool,
}

/// State of the checks.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct MachineWatch {
    seen: Option<Machine>,
    unchanged: u8,
    /// Of the window in hand: time by the tick and by the other oscillator, ms.
    ticked: u32,
    beaten: u32,
    rate_wrong: bool,
    /// KT-1 when it last moved, and how long ago by the tick.
    clock: u32,
    clock_for: Millis,
    differing: u8,
    /// The watchdog did not bite when it was tried, at power-on alone: no press of reset brings one back (F098).
    no_watchdog: bool,
    facts: MachineFacts,
}

impl MachineWatch {
    /// A start; `clock` is KT-1 as it was last seen before.
    pub fn waking(clock: u32) -> Self {
        Self { clock, ..Self::default() }
    }

    /// What was found in the last scan.
    pub const fn facts(&self) -> &MachineFacts {
        &self.facts
    }
    /// What failed, by the last frame.
    pub fn failed(&self) -> SelfChecks {
        self.seen.map_or(SelfChecks::NONE, |seen| seen.failed)
    }
    /// KT-1 by the last frame.
    pub fn clock(&self) -> u32 {
        self.seen.map_or(self.clock, |seen| seen.clock)
    }

    /// One scan: what the board tells, `dt` after the last, with these outputs on since then.
    #[inline]
    pub fn step(&mut self, dt: Millis, told: &Machine, on: Actuators, dropped: Feeds) {
        let before = self.seen.replace(*told);
        self.unchanged = match before {
            Some(before) if before.sequence == told.sequence => self.unchanged.saturating_add(1),
            _ => 0,
        };
        let differ = told.coils != dropped.leave(on) && before.is_some();
        self.differing = if differ { self.differing.saturating_add(1) } else { 0 };
        self.no_watchdog |= told.failed.has(SelfCheck::Watchdog);
        if let Some(before) = before {
            self.rate(dt, told.beat.wrapping_sub(before.beat));
        }
        self.facts = MachineFacts {
            stale_image: self.unchanged >= STALE_AFTER,
            tick_wrong: self.rate_wrong,
            clock_doubtful: self.date(dt, told.clock, before.is_none()),
            coils_wrong: self.differing >= COILS_AFTER,
            check_failed: self.no_watchdog || !told.failed.is_empty(),
        };
    }

    /// Compares the two oscillators whenever either has counted a window. A gap in the scans is told by neither alone: the 16 bits
    /// of the other one wrap after 65 s, and a gap of half that begins anew.
    fn rate(&mut self, dt: Millis, beat: u16) {
        /// Half of what the other oscillator's bits count.
        const GAP: u32 = 30_000;
        if dt.0 > GAP {
            (self.ticked, self.beaten) = (0, 0);
            return;
        }
        self.ticked = self.ticked.saturating_add(dt.0);
        self.beaten = self.beaten.saturating_add(u32::from(beat));
        let longer = self.ticked.max(self.beaten);
        if longer >= RATE_WINDOW {
            let off = self.ticked.abs_diff(self.beaten);
            self.rate_wrong = off.saturating_mul(1_000) > longer.saturating_mul(RATE_OFF);
            (self.ticked, self.beaten) = (0, 0);
        }
    }

    /// Whether the wall clock's date is to be doubted in this scan. After a step the new date is what it is held against.
    fn date(&mut self, dt: Millis, clock: u32, first: bool) -> bool {
        if clock == 0 && self.clock == 0 {
            // A clock that was never set has no date to doubt.
            return false;
        }
        self.clock_for = self.clock_for.plus(dt);
        if clock == self.clock {
            return self.clock_for > CLOCK_STOPPED;
        }
        let forward = clock.wrapping_sub(self.clock);
        let due = self.clock_for.0 / 1_000;
        // While it was off nobody knows how long that was, only that a clock does not go back.
        let doubtful = clock < self.clock || !first && self.clock != 0 && forward.abs_diff(due) > CLOCK_STEP;
        (self.clock, self.clock_for) = (clock, Millis(0));
        doubtful
    }
}
