//! Keeps what must outlive power up to date while the station runs, and what rows look at of it.
//!
//! Promises: latches are kept at once, counters in steps that a store can bear; what counts as stored was read back.

use super::{
    BRIDGES, Boot, Hoses, Kept, Limits, Memory, OWED, PROGRAM, Proof, STARTS_MOST, STARTS_WITHIN, STORE_ANSWERS, Start,
    TRIES_OF_LOST,
};
use crate::row::RowSet;
use crate::token::{Kind, Part, Used};
use crate::units::{Milligram, Millis, Permille};

/// What a procedure of upkeep leaves behind for good.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Left {
    /// A proof is owed.
    Owed(Proof),
    /// A proof was passed.
    Proven(Proof),
    /// Gains of the bridges of a scale, as [`crate::sense::scale::ScaleCal::gain`] tells them; 0 leaves one as it is.
    Spans([i32; BRIDGES]),
    /// The sample filter was changed.
    FreshFilter,
    /// What the hoses are fit for from now on.
    Hoses(Hoses),
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
    /// The span of the vessel scale is not the one on record, or nobody has seen it weigh under this program (I21).
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
    limits: Limits,
    facts: KeptFacts,
    /// The kept order was under way when power went: it stays on record until this start has lasted, or another order begins, for a start
    /// that power breaks off has told nobody.
    interrupted: bool,
    /// What the order has recovered and WQI-1 already has.
    passed: Milligram,
    /// Time since the start, up to [`STARTS_WITHIN`].
    running: Millis,
    /// Running time of P-1 that KQI-1 does not yet have.
    pumped: Millis,
    /// Time on that [`Kept::minutes`] does not yet have.
    on_for: Millis,
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
    /// What it, or the last one, has recovered or taken from a supply cylinder.
    pub recovered: Milligram,
    /// A gas sample was asked for.
    pub sampled: bool,
}

impl Keeper {
    /// A start. `gains` are those of the scales' bridges now, `differs` whether one of the vessel scale is too far from what is on record.
    pub fn waking(start: &Start, limits: Limits, gains: [i32; BRIDGES], differs: bool) -> Self {
        let (kept, store_lost) = match &start.memory {
            Memory::Sound(kept) => (kept.clone(), false),
            Memory::Lost => (Kept { wrong_codes: TRIES_OF_LOST, hoses: Hoses::Used, ..Kept::COMMISSIONED }, true),
        };
        let starts = kept.starts.saturating_add(1);
        // A record of before programs had numbers speaks for this one.
        let program = if kept.program == 0 { PROGRAM } else { kept.program };
        let span_moved = differs || program != PROGRAM;
        let facts = KeptFacts {
            restarted: start.boot == Boot::Watchdog,
            starts_again: starts >= STARTS_MOST,
            store_lost,
            unlocking: kept.unlocking.is_some(),
            span_moved,
            ..KeptFacts::default()
        };
        let span = if differs { kept.span } else { gains };
        Self {
            interrupted: kept.order != 0,
            passed: Milligram(0),
            kept: Kept { number: kept.number.wrapping_add(1), starts, span, program, ..kept },
            limits,
            facts,
            running: Millis(0),
            pumped: Millis(0),
            on_for: Millis(0),
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
    /// The order that was under way when power went, with what it had charged.
    pub fn interrupted(&self) -> Option<(u16, Milligram)> {
        self.interrupted.then_some((self.kept.order, self.kept.charged))
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

    /// An order begins. What expires while it runs is told with the next one: its hoses are still to be cleared. Upkeep is what mends
    /// what has expired.
    pub fn order_begins(&mut self, clock: u32, upkeep: bool) {
        self.facts.upkeep_expired = self.worn() && !upkeep;
        self.facts.proof_overdue = self.kept.overdue(clock).is_some() && !upkeep;
        self.facts.store_lost = self.lost || self.is_silent();
    }

    /// An order begins that opens the hoses to what is no high-voltage vehicle. It is stored with the number of the order, before air is proven.
    pub fn hoses_open(&mut self) {
        if self.kept.hoses == Hoses::Flushed {
            self.kept.hoses = Hoses::Used;
        }
    }

    /// The store was found not to work while nothing of an order had begun: what the order took away may not be stored, so that nothing may move.
    pub const fn lost_before_it_began(&mut self) {
        self.facts.store_lost = true;
    }

    fn worn(&self) -> bool {
        Part::WEAR.into_iter().any(|part| self.used_up(part) >= Permille(1_000))
    }

    /// How much of its life a part has used; what is beyond it counts too.
    pub fn used_up(&self, part: Part) -> Permille {
        let (used, of) = match part {
            Part::FilterDrier => (i64::from(self.kept.drier.0), i64::from(self.limits.drier.0)),
            Part::PumpOil => (i64::from(self.kept.pump_oil), i64::from(self.limits.pump_oil)),
            Part::Record => (0, 1),
        };
        let share = used.saturating_mul(1_000).checked_div(of).unwrap_or(i64::MAX);
        Permille(i32::try_from(share).unwrap_or(i32::MAX))
    }

    /// What a procedure of upkeep leaves, to be stored; `clock` is KT-1, 0 where it was never set.
    pub fn leave(&mut self, left: Left, clock: u32) {
        match left {
            Left::Owed(proof) => self.date(proof, OWED),
            // Without a clock there is no date to be late by.
            Left::Proven(proof) => {
                self.date(proof, if clock == 0 { 0 } else { clock.saturating_add(proof.good_for()) });
                if proof == Proof::CheckWeight {
                    (self.kept.program, self.facts.span_moved) = (PROGRAM, false);
                }
            }
            Left::Spans(gains) => {
                let fresh = self.kept.span.iter_mut().zip(gains).filter(|(_, gain)| *gain != 0);
                fresh.for_each(|(span, gain)| *span = gain);
            }
            Left::FreshFilter => self.kept.samples = 0,
            Left::Hoses(hoses) => self.kept.hoses = hoses,
        }
        self.changed();
    }

    fn date(&mut self, proof: Proof, due: u32) {
        if let Some(date) = self.kept.due.get_mut(proof as usize) {
            *date = due;
        }
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
            Part::Record => {}
        }
        self.kept.unlocking = None;
        self.changed();
    }

    /// The store gave nothing at the start, and no supervisor's release stands behind what there is now, or it was not read back.
    pub const fn is_lost(&self) -> bool {
        self.lost
    }

    /// A supervisor's release of this serial number: what was lost is a record again, with everything in it expired. What is known since the
    /// start stays.
    pub fn restore(&mut self, serial: u32) {
        let Kept { number, latched, starts, clock, span, order, charged, minutes, .. } = self.kept;
        // Where one was stored after all, though late, the floor does not sink.
        let floor = serial.max(self.used(Kind::Release).newest());
        let expired = Kept::restored(&self.limits, floor);
        self.kept = Kept { number, latched, starts, clock, span, order, charged, minutes, ..expired };
        self.facts.span_moved = true;
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
        // Both in one write: a store wears by writes.
        self.on_for = self.on_for.plus(dt);
        if self.on_for >= Millis::from_secs(MINUTE) {
            self.on_for = self.on_for.minus(Millis::from_secs(MINUTE));
            self.kept.minutes = self.kept.minutes.saturating_add(1);
            (self.kept.clock, changed) = (now.clock, true);
        }
        if now.clock.abs_diff(self.kept.clock) >= MINUTE {
            (self.kept.clock, changed) = (now.clock, true);
        }
        if now.sampled {
            (self.kept.samples, changed) = (self.kept.samples.saturating_add(1), true);
        }
        if self.interrupted && now.order == 0 && self.kept.starts != 0 {
            // Still to be told to whoever starts it next.
        } else if now.order != self.kept.order || self.interrupted {
            self.pass(now.recovered);
            (self.kept.order, self.kept.charged, changed) = (now.order, now.charged, true);
            (self.interrupted, self.passed) = (false, Milligram(0));
        } else if now.charged.minus(self.kept.charged).0.saturating_abs() >= STEP {
            (self.kept.charged, changed) = (now.charged, true);
        }
        if changed {
            self.pass(now.recovered);
            self.changed();
        }
    }

    /// WQI-1 follows with every change, so that a power cut takes no more from it than what passed since the last.
    fn pass(&mut self, recovered: Milligram) {
        if self.kept.order != 0 && !self.interrupted {
            let more = recovered.minus(self.passed).or_more(Milligram(0));
            (self.kept.drier, self.passed) = (self.kept.drier.plus(more), self.passed.plus(more));
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
            self.lost &= !self.kept.released();
            self.facts.store_lost = self.lost;
            return false;
        }
        let was = self.is_silent();
        self.silent_for = self.silent_for.plus(dt);
        self.is_silent() && !was
    }
}
