//! The interlocks at work: readings and the job's verdicts in, inhibited and forced outputs out, once a scan.
//!
//! Promises: an input that is bad counts as tripped; no trip is reset while its cause stands, nor by a button that was
//! down already; the first cause is kept with its reading until no row is tripped any more, later ones are counted.
//! [`table`] holds the rows; here is only how rows are evaluated. What each input does is in `causes.rs`.

mod causes;
mod checks;
mod rows;
pub mod table;
mod terms;

use crate::frame::Actuators;
use crate::sense::Readings;
use crate::units::{Instant, Milligram};
use causes::Causes;
pub use rows::RowSet;
use table::{FLAT, Latch, ROW_COUNT, ROWS, Role, WATCH_COUNT};
pub use table::{RowId, Watch};

/// What the job and the loop tell the interlocks. Everything false and empty is the safest set: nothing is permitted.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Facts {
    /// The gas was identified on this connection, fits, and the verdict is fresh (I05).
    pub identity_pass: bool,
    /// The leak check passed on this connection and the verdict is fresh (I14).
    pub leak_pass: bool,
    /// A rested vessel shows non-condensables (I06).
    pub purge_permitted: bool,
    /// Measured charge rate outside 0.3-3 times the model for 2 s (I08).
    pub charge_flow_wrong: bool,
    /// A commanded effect did not follow in time (I19).
    pub effect_mismatch: bool,
    /// The vessel scale moved more than 5 g in 10 s with all valves shut (I20).
    pub scale_creep: bool,
    /// The last scan came late (I08).
    pub scan_late: bool,
    /// Five air changes by K-1 are done and FSL-1 was seen open before (I28).
    pub air_proven: bool,
    /// The fan is off on purpose for the FSL-1 test; nothing else is on.
    pub air_test: bool,
    /// Most the vessel may hold now (I02); zero or less trips.
    pub fill_limit: Milligram,
    /// Outputs of the last scan, after the gate.
    pub applied: Actuators,
    /// What the job wants on.
    pub wanted: Actuators,
}

/// What the interlocks impose on the outputs.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Inhibits {
    /// Must be off.
    pub off: Actuators,
    /// Must be on.
    pub force: Actuators,
}

/// The cause that came first, as it was when it tripped.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct FirstOut {
    /// The row. Of several in one scan, the first in table order.
    pub row: RowId,
    /// Which of its causes.
    pub watch: Watch,
    /// The reading in the unit of the cause's set point; 0 for a contact or verdict.
    pub value: i32,
    /// The input was bad, so that the value is only its last good one.
    pub bad: bool,
    /// When it tripped.
    pub at: Instant,
}

/// LS-2 events in one phase from which row I10 stays tripped until reset.
pub const SEPARATOR_EVENTS_TO_LATCH: u8 = 3;

/// The state of all rows.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Interlocks {
    /// Conditions that stand, after their holds.
    on: u32,
    /// Conditions on their way to standing or clearing, since their mark.
    timing: u32,
    marks: [Instant; WATCH_COUNT],
    /// Permissions that must be seen withdrawn once before they count again, because the couplers moved.
    void: u32,
    standing: RowSet,
    held: RowSet,
    tripped: RowSet,
    withheld: RowSet,
    newly_tripped: RowSet,
    newly_cleared: RowSet,
    /// Trips at the end of the last evaluation.
    shown: RowSet,
    inhibits: Inhibits,
    first: Option<FirstOut>,
    counts: [u16; ROW_COUNT],
    separator_events: u8,
    reset_was_down: bool,
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
            timing: 0,
            marks: [Instant(0); WATCH_COUNT],
            void: 0,
            standing: RowSet::NONE,
            held: RowSet::NONE,
            tripped: RowSet::NONE,
            withheld: RowSet::NONE,
            newly_tripped: RowSet::NONE,
            newly_cleared: RowSet::NONE,
            shown: RowSet::NONE,
            inhibits: Inhibits { off: Actuators::NONE, force: Actuators::NONE },
            first: None,
            counts: [0; ROW_COUNT],
            separator_events: 0,
            // A button that is down at power-on is not fresh.
            reset_was_down: true,
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

        let causes = Causes::of(r, f);
        self.confirm(now, &causes);

        let (standing, withheld) = self.rows_standing();
        let rise = standing.without(self.standing);
        self.standing = standing;
        if !rise.is_empty() {
            self.note_rise(now, rise, (r, f), &causes);
        }
        if press {
            self.held = self.held.and(standing);
        }
        let tripped = standing.or(self.held);
        self.newly_tripped = tripped.without(self.shown);
        self.newly_cleared = self.shown.without(tripped);
        if tripped != self.tripped || withheld != self.withheld || tripped != self.shown {
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
    #[inline]
    fn confirm(&mut self, now: Instant, causes: &Causes) {
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
            let (Some(mark), Some((condition, _))) = (self.marks.get_mut(at), FLAT.get(at)) else {
                continue;
            };
            if fresh & bit != 0 {
                *mark = now;
            }
            let hold = match (self.on & bit != 0, causes.bad & bit != 0) {
                (true, _) => condition.clear_hold.0,
                (false, true) => 0,
                (false, false) => condition.hold.0,
            };
            if now.since(*mark).0 >= hold {
                self.on ^= bit;
                self.timing &= !bit;
            }
        }
    }

    /// Rows with a tripping and with a withholding condition standing.
    #[inline]
    fn rows_standing(&self) -> (RowSet, RowSet) {
        let (mut standing, mut withheld) = (0, 0);
        let mut left = self.on;
        while left != 0 {
            let at = left.trailing_zeros() as usize;
            left &= left.wrapping_sub(1);
            let row = ROW_BIT.get(at).copied().unwrap_or(0);
            if PERMITS >> (at as u32 & 31) & 1 != 0 { withheld |= row } else { standing |= row }
        }
        (RowSet(standing), RowSet(withheld))
    }

    /// Counts, keeps the first cause, and latches.
    #[cold]
    fn note_rise(&mut self, now: Instant, rise: RowSet, seen: (&Readings, &Facts), causes: &Causes) {
        if self.first.is_none()
            && let Some(row) = rise.iter().next()
        {
            self.first = self.first_cause(now, row, seen, causes);
        }
        for id in rise.iter() {
            if let Some(count) = self.counts.get_mut(id as usize) {
                *count = count.saturating_add(1);
            }
        }
        if rise.has(RowId::I10) {
            self.separator_events = self.separator_events.saturating_add(1);
            if self.separator_events >= SEPARATOR_EVENTS_TO_LATCH {
                self.held = self.held.or(RowSet::one(RowId::I10));
            }
        }
        self.held = self.held.or(rise.and(RowSet(LATCHING)));
    }

    fn first_cause(&self, now: Instant, row: RowId, (r, f): (&Readings, &Facts), causes: &Causes) -> Option<FirstOut> {
        let (at, (condition, _)) = FLAT.iter().enumerate().find(|(at, (condition, owner))| {
            *owner == row && condition.role == Role::Trip && self.on >> (*at as u32 & 31) & 1 != 0
        })?;
        let watch = condition.watch;
        let bad = causes.bad >> (at as u32 & 31) & 1 != 0;
        Some(FirstOut { row, watch, value: causes::value_of(watch, r, f), bad, at: now })
    }

    /// Union of what tripped and withholding rows do.
    #[cold]
    fn impose(&self) -> Inhibits {
        let mut out = Inhibits::default();
        for row in ROWS {
            if self.tripped.has(row.id) {
                out.off = out.off.or(row.trip.inhibits);
                out.force = out.force.or(row.trip.forces);
            }
            if self.withheld.has(row.id) {
                out.off = out.off.or(row.withholds);
            }
        }
        out
    }

    /// A phase begins: trips that last for a phase go where their cause is gone, and LS-2 events count from zero. A latched
    /// I10 is none of them: its row wants a press.
    pub fn phase_started(&mut self) {
        self.held = self.held.without(RowSet(PHASE).without(self.standing));
        self.tripped = self.standing.or(self.held);
        self.inhibits = self.impose();
        self.separator_events = 0;
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
        self.counts.get(id as usize).copied().unwrap_or(0)
    }
    /// What the last evaluation imposed.
    pub const fn inhibits(&self) -> Inhibits {
        self.inhibits
    }
}

/// Conditions that withhold a permission.
const PERMITS: u32 = {
    let (mut bits, mut i) = (0, 0);
    while i < WATCH_COUNT {
        if let Role::Permit = FLAT[i].0.role {
            bits |= 1 << i;
        }
        i += 1;
    }
    bits
};

/// For each condition, the bit of its row.
const ROW_BIT: [u32; WATCH_COUNT] = {
    let (mut bits, mut i) = ([0; WATCH_COUNT], 0);
    while i < WATCH_COUNT {
        bits[i] = 1 << FLAT[i].1 as u32;
        i += 1;
    }
    bits
};

/// Rows of one kind of latch.
const fn rows_with(phase: bool, latched: bool) -> u32 {
    let (mut bits, mut i) = (0, 0);
    while i < ROW_COUNT {
        match ROWS[i].latch {
            Latch::Phase if phase => bits |= 1 << i,
            Latch::Latched if latched => bits |= 1 << i,
            _ => {}
        }
        i += 1;
    }
    bits
}
const LATCHING: u32 = rows_with(true, true);
const PHASE: u32 = rows_with(true, false);

/// Permissions that belong to one connection.
const CONNECTION: u32 = {
    let (mut bits, mut i) = (0, 0);
    while i < WATCH_COUNT {
        if let Latch::Connection = ROWS[FLAT[i].1 as usize].latch {
            bits |= 1 << i;
        }
        i += 1;
    }
    bits & PERMITS
};
