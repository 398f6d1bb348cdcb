//! What is said between operator and controller: commands in, notices out, and why something was refused.
//!
//! Notices are ids with arguments; the words for people live outside the core, in as many languages as wanted.

use crate::input::{Broken, Input};
use crate::order::{Field, PhaseKind, Task, WorkOrder};
use crate::row::{FirstOut, ROW_COUNT, RowId};
use crate::token::{CodeFault, Part, Typed};
use crate::units::*;
use crate::verdict::{GasVerdict, LeakResult, Outcome};

/// An act of the operator.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Command {
    /// Begin this work order. The id keeps a double press from starting twice (fault F117).
    Start {
        /// Differs for each intended start.
        id: u16,
        /// What to do.
        order: WorkOrder,
    },
    /// Hold the running phase: everything shut, phase kept.
    Pause,
    /// Go on after a pause or after a trip that was reset.
    Resume,
    /// End the work order here; everything shut, ledger kept.
    Abort,
    /// Yes to the question of this number: the one that was on the display when the button was pressed.
    Confirm(u16),
    /// No to the question of this number.
    Decline(u16),
    /// Press of the reset button (an edge; a held button sends it once).
    Reset,
    /// A part was exchanged, and this is the code that came with the new one.
    Exchanged {
        /// Which.
        part: Part,
        /// As it was typed.
        code: Typed,
    },
}

/// A question to the operator; the phase waits for the answer.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Question {
    /// Purge the vessel at the cost just said ([`Notice::PurgeCosts`])?
    Purge,
    /// Is the sample filter free of oil?
    SampleFilterClean,
    /// Was the circuit opened, and does it hold no refrigerant: evacuate it without recovery?
    CircuitOpened,
    /// Fill the circuit with dry nitrogen to the ordered pressure and shut the bottle: done?
    FillNitrogen,
    /// The circuit holds air or nitrogen under pressure: let it out by hand, in the open. Done?
    ReleaseByHand,
    /// Charge flow has stopped: run the vehicle's A/C with the charge going to the low side only?
    RunVehicleCompressor,
    /// Shut the high-side coupler and run the vehicle's A/C, so that it draws in what the hoses hold: done?
    DrawIn,
    /// Shut both couplers at the vehicle by hand, stop its A/C, then confirm.
    ShutCouplers,
    /// Charge what was just said to be unusual ([`Notice::UnusualCharge`])?
    UnusualCharge,
    /// A step of upkeep that a person does: done?
    Task(Task),
}

/// A question as it was asked: the number tells two presses apart that come before and after it was closed.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Asked {
    /// Rises by one with each question from 1 at power-on, and passes from 65 535 to 1; 0 is no question's number.
    pub number: u16,
    /// What is asked.
    pub question: Question,
}

/// An answer that was found to belong to the open question.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Answered {
    /// To which.
    pub question: Question,
    /// The answer.
    pub yes: bool,
}

/// Why a command was refused; each names the condition, the words for people say how to clear it.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Refusal {
    /// A work order is already running: abort it or wait.
    Busy,
    /// This start id was used already: send a new id.
    RepeatedId,
    /// The order names no phase.
    NothingOrdered,
    /// A field of the order is outside its range.
    OutOfRange(Field),
    /// An interlock stands: clear its cause, then reset.
    Tripped(RowId),
    /// Nothing is paused.
    NotPaused,
    /// Nothing is running.
    NotRunning,
    /// No question is open.
    NoQuestion,
    /// The question this answers is closed, and another one is open: read it and answer it.
    QuestionClosed,
    /// Nothing is latched, or the cause still stands.
    NothingToReset,
    /// The couplers sit on the flush port (ZS-3): put them on the vehicle.
    OnFlushPort,
    /// They do not: put both on it.
    NotOnFlushPort,
    /// The vehicle has high voltage, and since the last flush the hoses were open to others: flush them first (I15).
    NotFlushed,
    /// A gas that is not this station's stands in the hoses: decontaminate them first (H04).
    HosesForeign,
}

/// Something the operator, the display or the record should know.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Notice {
    /// An order was accepted.
    OrderStarted(u16),
    /// Power went, or the controller was restarted, while the order of this number ran; what it had charged by then.
    Interrupted(u16, Milligram),
    /// A command was refused.
    Refused(Refusal),
    /// The fan switch was seen open and air flow is being proven.
    ProvingAir,
    /// Five air changes are done.
    AirProven,
    /// The fan or its switch does not do what it must: no start.
    AirNotProven,
    /// A phase began.
    PhaseStarted(PhaseKind),
    /// A phase ended.
    PhaseEnded(PhaseKind, Outcome),
    /// The order ended: whether every phase was done or skipped.
    OrderEnded(bool),
    /// Paused, by the operator or by a trip.
    Paused,
    /// Going on.
    Resumed,
    /// A question stands open.
    Asked(Asked),
    /// An interlock tripped; with its cause and reading, unless only a latch from before power-on holds it.
    Tripped(RowId, Option<FirstOut>),
    /// A trip was reset or released.
    Cleared(RowId),
    /// Waiting for more pressure before taking a gas sample.
    LowSamplePressure(AbsPa),
    /// One sample was analysed: share of the declared refrigerant and of air.
    Sampled(Permille, Permille),
    /// The gas verdict.
    Gas(GasVerdict),
    /// End pressure reached; holding to see whether it comes back.
    RecoveryHold(AbsPa),
    /// Pressure came back: recovering again.
    RecoveryRestart(AbsPa),
    /// Recovered mass.
    Recovered(Milligram),
    /// So much of what came into the vessel is air.
    AirTaken(Milligram),
    /// Used oil drained, by mass.
    OilDrained(Milligram),
    /// Evacuation goes on past its time because the pressure stands on a plateau.
    MoisturePlateau(AbsPa),
    /// Pressure test: how far the pressure fell, its temperature's share taken off, and the smallest fall that says anything.
    PressureTest(AbsPa, AbsPa),
    /// The order has ended with nitrogen under pressure in the circuit.
    NitrogenLeft,
    /// Vacuum at the end of the evacuation.
    Vacuum(AbsPa),
    /// Result of the vacuum hold.
    Leak(LeakResult),
    /// The circuit was judged wet: evacuating again.
    DryingAgain,
    /// New oil injected.
    OilInjected(Milligram),
    /// The vessel is being warmed to have pressure for the charge.
    WarmingVessel,
    /// Charge flow has stopped short of the target, with this much still missing.
    ChargeStall(Milligram),
    /// Charge delivered to the vehicle, hose content taken off.
    Charged(Milligram),
    /// Excess of vessel pressure over saturation, as the rested vessel shows it.
    VesselExcess(AbsPa),
    /// A purge would vent about this much.
    PurgeCosts(Milligram),
    /// A purge has ended: mass vented.
    Purged(Milligram),
    /// Static pressures after the charge: low and high side.
    StaticPressure(AbsPa, AbsPa),
    /// The vehicle has drawn the hoses down to this pressure.
    DrawnIn(AbsPa),
    /// What the hoses held.
    HosesCleared(Milligram),
    /// The order has ended and hoses and manifold are not cleared: the most they may hold.
    HosesHold(Milligram),
    /// What the vehicle holds at the end of an order that charged it, and how much more (or, negative, less) than ordered.
    VehicleHolds(Milligram, Milligram),
    /// The couplers may be taken off.
    Release,
    /// Scans came late since this was last told; the longest step.
    LateScan(Millis),
    /// The charge ordered, and the nearest that is usual for this circuit and after what was recovered.
    UnusualCharge(Milligram, Milligram),
    /// A reading is not to be believed, and why: mend it.
    Unsound(Input, Broken),
    /// It is again.
    Sound(Input),
    /// The code for this part was not taken, and why; the part's life is what it was.
    CodeRefused(Part, CodeFault),
    /// A new part has its life: its code is burnt, and both are stored. Whether a supervisor's release stood in for its own code.
    Exchanged(Part, bool),
    /// The record store does not take what it is given: what happens from now on may be lost with the next power cut.
    NotStored,
    /// The line that is about to be opened stands at this pressure.
    LineStands(AbsPa),
    /// The code of the new part is waited for.
    CodeAwaited(Part),
    /// With the reference weight on, the scale shows so much more (or, negative, less) than it weighs.
    WeightOff(Milligram),
    /// What came into the vessel from a supply cylinder.
    Filled(Milligram),
    /// A part has used this share of its life: have a new one at hand.
    Worn(Part, Permille),
    /// What the vessel holds, by its scale at rest.
    VesselHolds(Milligram),
}

/// How many notices wait at most between two scans of the display, trips not counted.
pub const NOTICE_DEPTH: usize = 16;
/// Room for all of them and for one trip of every row.
const WAITING: usize = NOTICE_DEPTH + ROW_COUNT;

/// The queue of notices. A full queue counts what it drops, but trips and their first cause are never dropped: they have
/// places of their own. What only repeats a waiting notice is counted and not queued.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Notices {
    /// Oldest first, without gaps.
    waiting: [Option<Notice>; WAITING],
    lost: u32,
    repeated: u32,
}

impl Default for Notices {
    fn default() -> Self {
        Self { waiting: [None; WAITING], lost: 0, repeated: 0 }
    }
}

impl Notices {
    /// Adds one.
    pub fn push(&mut self, notice: Notice) {
        if self.repeats(&notice) {
            self.repeated = self.repeated.saturating_add(1);
            return;
        }
        let mut left = if matches!(notice, Notice::Tripped(..)) { WAITING } else { NOTICE_DEPTH };
        for slot in &mut self.waiting {
            match slot {
                Some(Notice::Tripped(..)) => {}
                _ if left == 0 => break,
                Some(_) => left = left.saturating_sub(1),
                None => {
                    *slot = Some(notice);
                    return;
                }
            }
        }
        self.lost = self.lost.saturating_add(1);
    }

    /// Whether one that waits says the same; it takes up what is new in this one.
    fn repeats(&mut self, notice: &Notice) -> bool {
        let mut waiting = self.waiting.iter_mut().flatten();
        match notice {
            Notice::LateScan(step) => waiting.any(|n| match n {
                Notice::LateScan(longest) => {
                    *longest = Millis(longest.0.max(step.0));
                    true
                }
                _ => false,
            }),
            Notice::Refused(why) => waiting.any(|n| matches!(n, Notice::Refused(other) if other == why)),
            Notice::Tripped(row, first) => {
                let waits = waiting.any(|n| match n {
                    Notice::Tripped(of, cause) if of == row => {
                        *cause = cause.or(*first);
                        true
                    }
                    _ => false,
                });
                if waits {
                    self.take_back_cleared(*row);
                }
                waits
            }
            _ => false,
        }
    }

    /// Takes back every word that this row was cleared: one that waits behind a trip would be the last word on a row that has tripped again.
    fn take_back_cleared(&mut self, row: RowId) {
        let says_so = |slot: &&mut Option<Notice>| matches!(slot, Some(Notice::Cleared(of)) if *of == row);
        while let Some(slot) = self.waiting.iter_mut().find(says_so) {
            *slot = None;
            self.close_up();
        }
    }

    /// Moves what waits behind the one empty place up by one.
    fn close_up(&mut self) {
        let mut gap: Option<&mut Option<Notice>> = None;
        for slot in &mut self.waiting {
            match gap {
                Some(_) if slot.is_none() => return,
                Some(free) => *free = slot.take(),
                None if slot.is_some() => continue,
                None => {}
            }
            gap = Some(slot);
        }
    }

    /// Takes the oldest.
    pub fn take(&mut self) -> Option<Notice> {
        let notice = self.waiting.first_mut()?.take()?;
        self.close_up();
        Some(notice)
    }
    /// How many were dropped because nobody took them.
    pub const fn lost(&self) -> u32 {
        self.lost
    }
    /// How many only repeated one that waited: late scans, refusals for the same reason, trips of the same row.
    pub const fn repeated(&self) -> u32 {
        self.repeated
    }
}
