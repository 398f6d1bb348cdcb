//! What must outlive power: handed in when the station starts, taken out whenever it changed. The core stores nothing itself.
//!
//! Promises: what cannot be read is told as lost and never taken for new (LC8); a latch is a latch before and after.

use crate::row::RowSet;
use crate::token::{KIND_COUNT, Kind, Part, Used};
use crate::units::{Milligram, Millis};

/// Starts within a minute of each other from which the supply, or the program, is not to be trusted (hazard H24, own choice).
pub const STARTS_MOST: u8 = 3;
/// How long a start must be ago to count no longer.
pub const STARTS_WITHIN: Millis = Millis::from_secs(60);
/// What a filter-drier takes before it must be exchanged: 68 kg of refrigerant (common practice, no source).
pub const DRIER_LIMIT: Milligram = Milligram(68_000_000);
/// Running time of the vacuum pump's oil: 60 h (common practice, no source).
pub const PUMP_OIL_LIMIT: u32 = 60 * 3_600;
/// A store that has not read back what it was given for so long does not work (hazard H18, faults F086 and F087: 1 s).
pub const STORE_ANSWERS: Millis = Millis(1_000);

/// A test that a person makes, because nothing on line shows the fault that it finds.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(u8)]
pub enum Proof {
    /// Gas on AT-2: it reads, and in time (F040, F041).
    GasDetector,
    /// Pressure on PSH-1 until it opens (F043).
    PressureSwitch,
    /// A known weight on the vessel scale (F027, F137).
    CheckWeight,
    /// A known gas to AT-1 (F034, F037).
    Identifier,
    /// The tightness of the station's own pipes (F127).
    InternalLeak,
    /// The replacement date of PSV-1 (F073).
    ReliefValve,
}

/// How many proof tests there are.
pub const PROOF_COUNT: usize = 6;

impl Proof {
    /// Every proof test, in the order of [`Kept::due`].
    pub const ALL: [Self; PROOF_COUNT] = [
        Self::GasDetector,
        Self::PressureSwitch,
        Self::CheckWeight,
        Self::Identifier,
        Self::InternalLeak,
        Self::ReliefValve,
    ];
}

/// What must outlive power.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Kept {
    /// Rises by one with each change, wrapping: what the store acknowledges.
    pub number: u32,
    /// Rows that wait for a reset.
    pub latched: RowSet,
    /// Starts of which none has gone well for [`STARTS_WITHIN`].
    pub starts: u8,
    /// WQI-1: refrigerant through the filter-drier since it was new.
    pub drier: Milligram,
    /// KQI-1: seconds that P-1 ran since its oil was new.
    pub pump_oil: u32,
    /// KT-1 as it was last seen.
    pub clock: u32,
    /// Gains of the two bridges of the vessel scale as they were last found good, as [`crate::sense::scale::ScaleCal::gain`] tells
    /// them; 0 where none is on record.
    pub span: [i32; 2],
    /// The code for this part is used up and the life it buys not yet given: power went in between.
    pub unlocking: Option<Part>,
    /// Serial numbers of codes that were used, in the order of [`Kind::ALL`].
    pub used_codes: [Used; KIND_COUNT],
    /// Codes that were typed since the last one that was taken; each counts before it is looked at.
    pub wrong_codes: u8,
    /// When each [`Proof`] is due by KT-1; 0 has no date.
    pub due: [u32; PROOF_COUNT],
    /// The order that runs, 0 for none: found again after a power cut, it was interrupted.
    pub order: u16,
    /// What that order has charged.
    pub charged: Milligram,
}

impl Default for Kept {
    fn default() -> Self {
        Self::COMMISSIONED
    }
}

impl Kept {
    /// A station that was just commissioned: all of its upkeep done, no date set.
    pub const COMMISSIONED: Self = Self {
        number: 0,
        latched: RowSet::NONE,
        starts: 0,
        drier: Milligram(0),
        pump_oil: 0,
        clock: 0,
        span: [0; 2],
        unlocking: None,
        used_codes: [Used::NONE; KIND_COUNT],
        wrong_codes: 0,
        due: [0; PROOF_COUNT],
        order: 0,
        charged: Milligram(0),
    };

    /// The first proof test that is overdue at this time of KT-1.
    pub fn overdue(&self, clock: u32) -> Option<Proof> {
        Proof::ALL.into_iter().zip(self.due).find(|(_, due)| *due != 0 && *due < clock).map(|(proof, _)| proof)
    }
}

/// What the store gave back at power-on.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Memory {
    /// What was stored last.
    Sound(Kept),
    /// Nothing that can be believed: every limit counts as expired (I24).
    Lost,
}

/// Why the station starts.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Boot {
    /// Power came.
    #[default]
    PowerOn,
    /// The independent watchdog bit: the scan had stalled, or went wrong (I26).
    Watchdog,
    /// The supply dipped below what the processor needs (I30).
    BrownOut,
}

/// All of a start.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Start {
    /// What was kept.
    pub memory: Memory,
    /// Why.
    pub boot: Boot,
    /// How long the vessel is known to have been left alone; zero if unknown.
    pub vessel_rest: Millis,
}

impl Start {
    /// The first start after commissioning.
    pub const fn first(vessel_rest: Millis) -> Self {
        Self { memory: Memory::Sound(Kept::COMMISSIONED), boot: Boot::PowerOn, vessel_rest }
    }
}

/// What outlived power, and how the station started, as far as rows look at it.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct KeptFacts {
    /// The watchdog restarted the controller, or its scan stood past the watchdog's time, and this is the first scan since (I26).
    pub restarted: bool,
    /// Starts are too close to each other (I30).
    pub starts_again: bool,
    /// The store gave nothing that can be believed, or did not take what it was given when the order began (I24).
    pub store_lost: bool,
    /// A replacement was cut off between code and life (I23).
    pub unlocking: bool,
    /// The span of the vessel scale is not the one on record (I21).
    pub span_moved: bool,
    /// Filter-drier or pump oil were past their limits when the order began (I22).
    pub upkeep_expired: bool,
    /// A proof test was overdue when the order began (I27).
    pub proof_overdue: bool,
}

/// Keeps it up to date while the station runs.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Keeper {
    kept: Kept,
    facts: KeptFacts,
    /// The order that was under way when power went, with what it had charged.
    interrupted: Option<(u16, Milligram)>,
    /// Time since the start, up to [`STARTS_WITHIN`].
    running: Millis,
    /// Running time of P-1 that KQI-1 does not yet have.
    pumped: Millis,
    /// The store gave nothing at the start.
    lost: bool,
    /// The newest change was read back.
    stored: bool,
    /// How long it has not been.
    silent_for: Millis,
}

/// What a scan leaves behind that must outlive power.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Scanned {
    /// Rows that wait for a reset.
    pub latched: RowSet,
    /// P-1 runs.
    pub pumping: bool,
    /// KT-1.
    pub clock: u32,
    /// Number of the order that is under way, 0 for none.
    pub order: u16,
    /// What it has charged.
    pub charged: Milligram,
    /// What it, or the last one, has recovered.
    pub recovered: Milligram,
}

impl Keeper {
    /// A start. `gains` are those of the vessel scale's bridges now, `differs` whether one is too far from what is on record.
    pub fn waking(start: &Start, gains: [i32; 2], differs: impl Fn([i32; 2]) -> bool) -> Self {
        let (kept, store_lost) = match &start.memory {
            Memory::Sound(kept) => (kept.clone(), false),
            Memory::Lost => (Kept::COMMISSIONED, true),
        };
        let starts = kept.starts.saturating_add(1);
        let span_moved = differs(kept.span);
        let facts = KeptFacts {
            restarted: start.boot == Boot::Watchdog,
            starts_again: starts >= STARTS_MOST,
            store_lost,
            unlocking: kept.unlocking.is_some(),
            span_moved,
            ..KeptFacts::default()
        };
        let span = if span_moved { kept.span } else { gains };
        Self {
            interrupted: (kept.order != 0).then_some((kept.order, kept.charged)),
            kept: Kept { number: kept.number.wrapping_add(1), starts, span, order: 0, charged: Milligram(0), ..kept },
            facts,
            running: Millis(0),
            pumped: Millis(0),
            lost: store_lost,
            stored: false,
            silent_for: Millis(0),
        }
    }

    /// To be stored whenever it has changed.
    pub const fn kept(&self) -> &Kept {
        &self.kept
    }
    /// For the rows.
    pub const fn facts(&self) -> &KeptFacts {
        &self.facts
    }
    /// The order that was under way when power went, with what it had charged; told once.
    pub fn take_interrupted(&mut self) -> Option<(u16, Milligram)> {
        self.interrupted.take()
    }

    /// The scan stood so long that hardware dropped the outputs: for this one it counts as a restart.
    pub const fn stalled(&mut self) {
        self.facts.restarted = true;
    }

    /// The newest change was read back.
    pub const fn is_stored(&self) -> bool {
        self.stored
    }
    /// The store has not read back what it was given for longer than [`STORE_ANSWERS`].
    pub fn is_silent(&self) -> bool {
        self.silent_for > STORE_ANSWERS
    }
    /// Serial numbers of this kind that were used.
    pub fn used(&self, kind: Kind) -> Used {
        self.kept.used_codes.iter().zip(Kind::ALL).find(|(_, of)| *of == kind).map_or(Used::NONE, |(used, _)| *used)
    }

    /// An order begins. What expires while it runs is told with the next one: its hoses are still to be cleared.
    pub fn order_begins(&mut self, clock: u32) {
        self.facts.upkeep_expired = self.worn();
        self.facts.proof_overdue = self.kept.overdue(clock).is_some();
        self.facts.store_lost = self.lost || self.is_silent();
    }

    fn worn(&self) -> bool {
        self.kept.drier >= DRIER_LIMIT || self.kept.pump_oil >= PUMP_OIL_LIMIT
    }

    /// Something is another now, and to be stored.
    fn changed(&mut self) {
        self.kept.number = self.kept.number.wrapping_add(1);
        self.stored = false;
    }

    /// A code was typed: it counts as wrong until it is found right.
    pub fn count_code(&mut self) {
        self.kept.wrong_codes = self.kept.wrong_codes.saturating_add(1);
        self.changed();
    }

    /// A code was found right: it is used from now on, and the life it buys is owed.
    pub fn burn_code(&mut self, kind: Kind, serial: u32, part: Part) {
        for (used, of) in self.kept.used_codes.iter_mut().zip(Kind::ALL) {
            if of == kind {
                *used = used.with(serial);
            }
        }
        (self.kept.wrong_codes, self.kept.unlocking) = (0, Some(part));
        self.changed();
    }

    /// Its code is known to be burnt: the part's counter begins anew. What was locked stays so until that is stored.
    pub fn give_life(&mut self, part: Part) {
        match part {
            Part::FilterDrier => self.kept.drier = Milligram(0),
            Part::PumpOil => (self.kept.pump_oil, self.pumped) = (0, Millis(0)),
        }
        self.kept.unlocking = None;
        self.changed();
    }

    /// The new life was read back: what is worn, and what was cut off, is looked at anew.
    pub fn life_stored(&mut self) {
        self.facts.unlocking = false;
        self.facts.upkeep_expired = self.facts.upkeep_expired && self.worn();
    }

    /// Nobody knows whether its code is burnt in the store: the part counts as worn until another code comes (I23).
    pub fn lock_part(&mut self, part: Part) {
        self.facts.unlocking = true;
        self.kept.unlocking = Some(part);
        self.changed();
    }

    /// Latches at once, counters in steps that a store can bear.
    pub fn step(&mut self, dt: Millis, now: &Scanned) {
        /// KQI-1 and KT-1 are kept to a minute (own choice),
        const MINUTE: u32 = 60;
        /// and what was charged to 10 g (own choice): a running charge would else write with every scan.
        const STEP: i32 = 10_000;
        self.facts.restarted = false;
        let mut changed = self.kept.latched != now.latched;
        if self.running < STARTS_WITHIN {
            self.running = self.running.plus(dt);
        } else if self.kept.starts != 0 {
            (self.kept.starts, self.facts.starts_again, changed) = (0, false, true);
        }
        self.kept.latched = now.latched;
        if now.pumping {
            self.pumped = self.pumped.plus(dt);
            if self.pumped >= Millis::from_secs(MINUTE) {
                self.kept.pump_oil = self.kept.pump_oil.saturating_add(self.pumped.0 / 1_000);
                (self.pumped, changed) = (Millis(0), true);
            }
        }
        if now.clock.abs_diff(self.kept.clock) >= MINUTE {
            (self.kept.clock, changed) = (now.clock, true);
        }
        if now.order != self.kept.order {
            if self.kept.order != 0 {
                self.kept.drier = self.kept.drier.plus(now.recovered.or_more(Milligram(0)));
            }
            (self.kept.order, self.kept.charged, changed) = (now.order, now.charged, true);
        } else if now.charged.minus(self.kept.charged).0.saturating_abs() >= STEP {
            (self.kept.charged, changed) = (now.charged, true);
        }
        if changed {
            self.changed();
        }
    }

    /// At the begin of a scan, `dt` after the last: the number of what the store has read back, by a frame that is new. Returns whether the store
    /// has just been found not to work.
    pub fn hear_store(&mut self, dt: Millis, number: u32) -> bool {
        if self.stored {
            return false;
        }
        if number == self.kept.number {
            (self.stored, self.silent_for) = (true, Millis(0));
            self.facts.store_lost = self.lost;
            return false;
        }
        let was = self.is_silent();
        self.silent_for = self.silent_for.plus(dt);
        self.is_silent() && !was
    }
}
