//! What is said between operator and controller: commands in, notices out, and why something was refused.
//!
//! Notices are ids with arguments; the words for people live outside the core, in as many languages as wanted.

use crate::interlock::{FirstOut, RowId};
use crate::job::order::Field;
use crate::job::{GasVerdict, LeakResult, Outcome, PhaseKind, WorkOrder};
use crate::units::*;

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
    /// Yes to the open question.
    Confirm,
    /// No to the open question.
    Decline,
    /// Press of the reset button (an edge; a held button sends it once).
    Reset,
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
    /// Charge flow has stopped: run the vehicle's A/C with the charge going to the low side only?
    RunVehicleCompressor,
    /// Shut the high-side coupler and run the vehicle's A/C, so that it draws in what the hoses hold: done?
    DrawIn,
    /// Shut both couplers at the vehicle by hand, stop its A/C, then confirm.
    ShutCouplers,
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
    /// Nothing is latched, or the cause still stands.
    NothingToReset,
}

/// Something the operator, the display or the record should know.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Notice {
    /// An order was accepted.
    OrderStarted(u16),
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
    Asked(Question),
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
    /// Used oil drained, by mass.
    OilDrained(Milligram),
    /// Evacuation goes on past its time because the pressure stands on a plateau.
    MoisturePlateau(AbsPa),
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
    /// A scan came late.
    LateScan(Millis),
}

/// How many notices wait at most between two scans of the display.
pub const NOTICE_DEPTH: usize = 16;

/// The queue of notices; a full queue counts what it drops, trips are kept as states elsewhere and never lost with it.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Notices {
    ring: [Option<Notice>; NOTICE_DEPTH],
    first: usize,
    lost: u32,
}

impl Notices {
    /// Adds one.
    pub fn push(&mut self, notice: Notice) {
        let (early, late) = self.ring.split_at_mut_checked(self.first).unwrap_or((&mut [], &mut []));
        match late.iter_mut().chain(early).find(|slot| slot.is_none()) {
            Some(slot) => *slot = Some(notice),
            None => self.lost = self.lost.saturating_add(1),
        }
    }
    /// Takes the oldest.
    pub fn take(&mut self) -> Option<Notice> {
        let notice = self.ring.get_mut(self.first)?.take()?;
        self.first = self.first.wrapping_add(1) % NOTICE_DEPTH;
        Some(notice)
    }
    /// How many were dropped because nobody took them.
    pub const fn lost(&self) -> u32 {
        self.lost
    }
}
