//! The interlocks at work: readings and the job's verdicts in, inhibited and forced outputs out, once a scan.
//!
//! Promises: an input that is bad counts as tripped; no trip is reset while its cause stands, nor by a button that was
//! down already; the first cause is kept with its reading until no row is tripped any more, later ones are counted; a time
//! that protects by being long is never made up of time nobody watched.
//! [`table`] holds the rows; here is only how rows are evaluated. What each input does is in `causes.rs`.

mod causes;
mod checks;
mod facts;
mod found;
mod heat;
pub mod table;
mod terms;
#[cfg(feature = "what-if")]
mod what_if;
#[cfg(feature = "what-if")]
pub use what_if::{MOST_MOVED, can_move};

use crate::drive::PUMP_LEAD;
pub use crate::frame::Inhibits;
use crate::frame::{Actuator, Actuators, Feeds};
pub use crate::row::{FirstOut, RowId, RowSet, Watch};
use crate::row::{ROW_COUNT, WATCH_COUNT};
use crate::sense::Readings;
use crate::units::{Instant, Millis};
use causes::Causes;
pub use facts::Facts;
use table::{FLAT, Latch, ROWS, Role, Row};

/// The state of all rows.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Interlocks {
    /// Conditions that stand, after their holds.
    on: u64,
    /// Conditions that had a bad input in the last evaluation.
    blind: u64,
    /// Conditions on their way to standing or clearing, and for how long.
    timing: u64,
    spent: [Millis; WATCH_COUNT],
    last: Option<Instant>,
    /// Permissions that must be seen withdrawn once before they count again, because the couplers moved.
    void: u64,
    standing: RowSet,
    held: RowSet,
    tripped: RowSet,
    withheld: RowSet,
    newly_tripped: RowSet,
    newly_cleared: RowSet,
    /// Trips at the end of the last evaluation.
    shown: RowSet,
    inhibits: Inhibits,
    /// How long XV-6 has been shut while a row waits for that to stop P-1.
    valve_shut: Millis,
    first: Option<FirstOut>,
    counts: [u16; ROW_COUNT],
    /// How often each cause came up in this phase.
    phase_counts: [u8; ROW_COUNT],
    reset_was_down: bool,
    #[cfg(feature = "what-if")]
    what_if: what_if::WhatIf,
}

impl Default for Interlocks {
    fn default() -> Self {
        Self::new()
    }
}

impl Interlocks {
    /// Nothing tripped, every permission withheld.
    pub const fn new() -> Self {
        Self {
            on: PERMITS,
            blind: 0,
            timing: 0,
            spent: [Millis(0); WATCH_COUNT],
            last: None,
            void: 0,
            standing: RowSet::NONE,
            held: RowSet::NONE,
            tripped: RowSet::NONE,
            withheld: RowSet::NONE,
            newly_tripped: RowSet::NONE,
            newly_cleared: RowSet::NONE,
            shown: RowSet::NONE,
            inhibits: Inhibits { off: Actuators::NONE, force: Actuators::NONE, drop: Feeds::NONE },
            valve_shut: Millis(0),
            first: None,
            counts: [0; ROW_COUNT],
            phase_counts: [0; ROW_COUNT],
            // A button that is down at power-on is not fresh.
            reset_was_down: true,
            #[cfg(feature = "what-if")]
            what_if: what_if::WhatIf::NOTHING,
        }
    }

    /// After a restart: these rows were latched when power went, and stay so.
    pub fn restore(&mut self, latched: RowSet) {
        self.held = self.held.or(latched.and(RowSet::ALL));
        self.tripped = self.tripped.or(self.held);
        self.inhibits = self.impose();
    }

    /// Evaluates every row. `reset` is the level of the button: only its first scan counts.
    pub fn evaluate(&mut self, now: Instant, r: &Readings, f: &Facts, reset: bool) -> Inhibits {
        let press = reset && !self.reset_was_down;
        self.reset_was_down = reset;

        #[cfg(feature = "what-if")]
        let causes = self.look(r, f);
        #[cfg(not(feature = "what-if"))]
        let causes = Causes::of(r, f);
        self.blind = causes.bad;
        let passed = self.last.map_or(Millis(0), |last| now.since(last));
        let before = self.last.replace(now).map(|_| self.on);
        self.confirm(passed, if f.scan_late { Millis(0) } else { passed }, &causes);

        // What stands changes in few scans; nothing is known before the first.
        let unchanged = before == Some(self.on);
        let (standing, withheld) = if unchanged { (self.standing, self.withheld) } else { self.rows_standing() };
        let rise = standing.without(self.standing);
        self.standing = standing;
        if !rise.is_empty() {
            self.note_rise(now, rise, r, f);
        }
        if press {
            self.held = self.held.and(standing);
        }
        let tripped = standing.or(self.held);
        self.newly_tripped = tripped.without(self.shown);
        self.newly_cleared = self.shown.without(tripped);
        let waited = self.wait_for_valve(passed, f.applied);
        if tripped != self.tripped || withheld != self.withheld || tripped != self.shown || waited {
            self.tripped = tripped;
            self.withheld = withheld;
            self.shown = tripped;
            self.inhibits = self.impose();
        }
        if tripped.is_empty() {
            self.first = None;
        }
        self.inhibits
    }

    /// Runs the hold timers: conditions come to stand, or go.
    ///
    /// A trip's hold protects by being short: all the time that passed counts, and seen before and after a late scan is
    /// enough. The hold before a condition goes protects by being long: only time that was watched counts.
    #[inline]
    fn confirm(&mut self, passed: Millis, watched: Millis, causes: &Causes) {
        if self.void != 0 {
            self.void &= !causes.breach;
        }
        let coming = causes.breach & !self.on;
        let going = causes.clear & !causes.breach & self.on & !self.void;
        let moving = coming | going;
        let fresh = moving & !self.timing;
        self.timing = moving;
        let mut left = moving;
        while left != 0 {
            let bit = left & left.wrapping_neg();
            let at = left.trailing_zeros() as usize;
            left &= !bit;
            let (Some(spent), Some((condition, _))) = (self.spent.get_mut(at), FLAT.get(at)) else {
                continue;
            };
            let (hold, step) = match (self.on & bit != 0, causes.bad & bit != 0) {
                (true, _) => (condition.clear_hold, watched),
                (false, true) => (Millis(0), passed),
                (false, false) => (condition.hold, passed),
            };
            *spent = if fresh & bit != 0 { Millis(0) } else { spent.plus(step) };
            if *spent >= hold {
                self.on ^= bit;
                self.timing &= !bit;
            }
        }
    }

    /// Rows with a tripping and with a withholding condition standing.
    #[inline]
    fn rows_standing(&self) -> (RowSet, RowSet) {
        let (mut standing, mut withheld) = (0u64, 0u64);
        let mut left = self.on;
        while left != 0 {
            let at = left.trailing_zeros() as usize;
            left &= left.wrapping_sub(1);
            let row = ROW_BIT.get(at).copied().unwrap_or(0);
            if PERMITS >> (at as u32 & 63) & 1 != 0 { withheld |= row } else { standing |= row }
        }
        let found = (RowSet(standing), RowSet(withheld));
        #[cfg(feature = "what-if")]
        let found = (found.0.without(self.what_if.without()), found.1.without(self.what_if.without()));
        found
    }

    /// Counts how long XV-6 has been shut while a row wants P-1 off behind it; true while one does.
    #[inline]
    fn wait_for_valve(&mut self, passed: Millis, applied: Actuators) -> bool {
        let wanted = !self.tripped.and(RowSet(STOPPING)).is_empty();
        self.valve_shut = if wanted && !applied.has(Actuator::Xv6) { self.valve_shut.plus(passed) } else { Millis(0) };
        wanted
    }

    /// Counts, keeps the first cause, and latches.
    #[cold]
    fn note_rise(&mut self, now: Instant, rise: RowSet, r: &Readings, f: &Facts) {
        if self.first.is_none()
            && let Some(row) = rise.iter().next()
        {
            self.first = self.cause(now, row, r, f);
        }
        for id in rise.iter() {
            if let Some(count) = self.counts.get_mut(id.place()) {
                *count = count.saturating_add(1);
            }
            let Some(in_phase) = self.phase_counts.get_mut(id.place()) else { continue };
            *in_phase = in_phase.saturating_add(1);
            if let Some(Row { latch: Latch::After(most), .. }) = id.row()
                && *in_phase >= *most
            {
                self.held = self.held.or(RowSet::one(id));
            }
        }
        self.held = self.held.or(rise.and(RowSet(LATCHING)));
    }

    /// Which cause of a row stands now, with its reading; `None` where only a latch holds the row. `r` and `f` are those of the
    /// last evaluation.
    #[cold]
    pub fn cause(&self, now: Instant, row: RowId, r: &Readings, f: &Facts) -> Option<FirstOut> {
        let (at, (condition, _)) = FLAT.iter().enumerate().find(|(at, (condition, owner))| {
            *owner == row && condition.role == Role::Trip && self.on >> (*at as u32 & 63) & 1 != 0
        })?;
        let watch = condition.watch;
        let bad = self.blind >> (at as u32 & 63) & 1 != 0;
        Some(FirstOut { row, watch, value: causes::value_of(watch, r, f), bad, at: now })
    }

    /// Union of what tripped and withholding rows do.
    #[cold]
    fn impose(&self) -> Inhibits {
        let mut out = Inhibits::default();
        for (row, bit) in ROWS.iter().zip(ROW_BITS) {
            if self.tripped.0 & bit != 0 {
                out.off = out.off.or(row.trip.inhibits);
                out.force = out.force.or(row.trip.forces);
                out.drop = out.drop.or(row.trip.drops);
                if self.valve_shut >= PUMP_LEAD {
                    out.off = out.off.or(row.trip.stops);
                }
            }
            if self.withheld.0 & bit != 0 {
                out.off = out.off.or(row.withholds);
            }
        }
        out
    }

    /// A phase begins: trips that last for a phase go where their cause is gone, and events in a phase count from zero. What
    /// latched by their number is none of them: its row wants a press.
    pub fn phase_started(&mut self) {
        self.held = self.held.without(RowSet(PHASE).without(self.standing));
        self.tripped = self.standing.or(self.held);
        self.inhibits = self.impose();
        self.phase_counts = [0; ROW_COUNT];
    }

    /// The couplers moved: permissions earned on the old connection are void until they have been withdrawn and given anew.
    pub fn connection_changed(&mut self) {
        self.void |= CONNECTION;
        self.on |= CONNECTION;
        self.timing &= !CONNECTION;
        self.withheld = self.rows_standing().1;
        self.inhibits = self.impose();
    }

    /// Rows that are tripped, by a standing cause or by their latch.
    pub const fn tripped(&self) -> RowSet {
        self.tripped
    }
    /// Rows that stay tripped until reset (or, for some, until the next phase). To be stored over a power cut.
    pub const fn latched(&self) -> RowSet {
        self.held
    }
    /// The first latched row, none of those left out, that must be reset before what needs these outputs starts or goes on; with `None`, before
    /// anything does.
    pub fn blocking(&self, needs: Option<Actuators>, left_out: RowSet) -> Option<RowId> {
        let mut held = self.held.without(RowSet(PHASE)).without(left_out).iter();
        held.find(|id| needs.is_none_or(|needs| id.row().is_none_or(|row| row.takes(needs))))
    }
    /// Rows whose cause stands now.
    pub const fn standing(&self) -> RowSet {
        self.standing
    }
    /// Rows that withhold their permission; no trips.
    pub const fn withheld(&self) -> RowSet {
        self.withheld
    }
    /// Rows that tripped in the last evaluation.
    pub const fn newly_tripped(&self) -> RowSet {
        self.newly_tripped
    }
    /// Rows that were freed in the last evaluation, or since the one before.
    pub const fn newly_cleared(&self) -> RowSet {
        self.newly_cleared
    }
    /// The first cause since no row was tripped.
    pub const fn first_out(&self) -> Option<FirstOut> {
        self.first
    }
    /// How often each row's cause came up since power-on, in table order; stops counting at 65 535.
    pub const fn counts(&self) -> &[u16; ROW_COUNT] {
        &self.counts
    }
    /// How often this row's cause came up since power-on.
    pub fn count(&self, id: RowId) -> u16 {
        self.counts.get(id.place()).copied().unwrap_or(0)
    }
    /// What the last evaluation imposed.
    pub const fn inhibits(&self) -> Inhibits {
        self.inhibits
    }
}

/// Conditions that withhold a permission.
const PERMITS: u64 = {
    let (mut bits, mut i) = (0, 0);
    while i < WATCH_COUNT {
        if let Role::Permit = FLAT[i].0.role {
            bits |= 1 << i;
        }
        i += 1;
    }
    bits
};

/// For each row of the table, its bit: a shift by a variable in 64 bits is dear on a small processor.
const ROW_BITS: [u64; ROW_COUNT] = {
    let (mut bits, mut i) = ([0; ROW_COUNT], 0);
    while i < ROW_COUNT {
        bits[i] = 1 << ROWS[i].id as u64;
        i += 1;
    }
    bits
};

/// For each condition, the bit of its row.
const ROW_BIT: [u64; WATCH_COUNT] = {
    let (mut bits, mut i) = ([0; WATCH_COUNT], 0);
    while i < WATCH_COUNT {
        bits[i] = 1 << FLAT[i].1 as u64;
        i += 1;
    }
    bits
};

/// Rows of one kind of latch.
const fn rows_with(phase: bool, latched: bool) -> u64 {
    let (mut bits, mut i) = (0, 0);
    while i < ROW_COUNT {
        match ROWS[i].latch {
            Latch::Phase if phase => bits |= 1 << ROWS[i].id as u64,
            Latch::Latched if latched => bits |= 1 << ROWS[i].id as u64,
            _ => {}
        }
        i += 1;
    }
    bits
}
/// Rows that stop something behind its valve.
const STOPPING: u64 = {
    let (mut bits, mut i) = (0, 0);
    while i < ROW_COUNT {
        if !ROWS[i].trip.stops.is_empty() {
            bits |= 1 << ROWS[i].id as u64;
        }
        i += 1;
    }
    bits
};
/// Rows that a cause holds until reset.
const LATCHING: u64 = rows_with(true, true);
/// Rows that hold for a phase.
const PHASE: u64 = rows_with(true, false);

/// Permissions that belong to one connection.
const CONNECTION: u64 = {
    let (mut bits, mut i) = (0, 0);
    while i < WATCH_COUNT {
        if let Latch::Connection = ROWS[FLAT[i].1.place()].latch {
            bits |= 1 << i;
        }
        i += 1;
    }
    bits & PERMITS
};
