//! The running phase, whichever it is: made, stepped and booked in one place.

use super::context::{Ctx, Status};
use super::ledger::Ledger;
use super::{charge, clear, evacuate, identify, inject, leak, oil, pressure, purge, recover, upkeep, verify};
use crate::frame::Actuators;
use crate::order::{PhaseKind, WorkOrder};
use crate::sense::Readings;
use crate::upkeep::procedures;

/// The running phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Phase {
    /// See [`purge`].
    Purge(purge::Purge),
    /// See [`identify`].
    Identify(identify::Identify),
    /// See [`recover`].
    Recover(recover::Recover),
    /// See [`oil`].
    DrainOil(oil::DrainOil),
    /// See [`pressure`].
    PressureTest(pressure::PressureTest),
    /// See [`evacuate`].
    Evacuate(evacuate::Evacuate),
    /// See [`leak`].
    LeakCheck(leak::LeakCheck),
    /// See [`inject`].
    InjectOil(inject::InjectOil),
    /// See [`charge`].
    Charge(charge::Charge),
    /// See [`verify`].
    Verify(verify::Verify),
    /// See [`clear`].
    ClearHoses(clear::ClearHoses),
    /// See [`upkeep`].
    Upkeep(upkeep::Upkeep),
}

/// The outputs that a phase may go on with while a row that takes none of them waits for its reset; `None` where every latched row holds it.
/// Hoses that were charged are a danger as long as they are full, whatever else is broken (H25).
pub fn needs(kind: PhaseKind, order: &WorkOrder) -> Option<Actuators> {
    match kind {
        PhaseKind::ClearHoses => Some(clear::NEEDS),
        PhaseKind::Upkeep => Some(procedures::needs(order.procedure)),
        _ => None,
    }
}

impl Phase {
    /// A fresh phase of that kind.
    pub fn new(kind: PhaseKind) -> Self {
        match kind {
            PhaseKind::Purge => Self::Purge(purge::Purge::default()),
            PhaseKind::Identify => Self::Identify(identify::Identify::default()),
            PhaseKind::Recover => Self::Recover(recover::Recover::default()),
            PhaseKind::DrainOil => Self::DrainOil(oil::DrainOil::default()),
            PhaseKind::PressureTest => Self::PressureTest(pressure::PressureTest::default()),
            PhaseKind::Evacuate => Self::Evacuate(evacuate::Evacuate::default()),
            PhaseKind::LeakCheck => Self::LeakCheck(leak::LeakCheck::default()),
            PhaseKind::InjectOil => Self::InjectOil(inject::InjectOil::default()),
            PhaseKind::Charge => Self::Charge(charge::Charge::default()),
            PhaseKind::Verify => Self::Verify(verify::Verify),
            PhaseKind::ClearHoses => Self::ClearHoses(clear::ClearHoses::default()),
            PhaseKind::Upkeep => Self::Upkeep(upkeep::Upkeep::default()),
        }
    }
    /// Which kind this is.
    pub const fn kind(&self) -> PhaseKind {
        match self {
            Self::Purge(_) => PhaseKind::Purge,
            Self::Identify(_) => PhaseKind::Identify,
            Self::Recover(_) => PhaseKind::Recover,
            Self::DrainOil(_) => PhaseKind::DrainOil,
            Self::PressureTest(_) => PhaseKind::PressureTest,
            Self::Evacuate(_) => PhaseKind::Evacuate,
            Self::LeakCheck(_) => PhaseKind::LeakCheck,
            Self::InjectOil(_) => PhaseKind::InjectOil,
            Self::Charge(_) => PhaseKind::Charge,
            Self::Verify(_) => PhaseKind::Verify,
            Self::ClearHoses(_) => PhaseKind::ClearHoses,
            Self::Upkeep(_) => PhaseKind::Upkeep,
        }
    }
    /// The word of the step at which it stands; empty for a phase that has none of its own.
    pub const fn step_word(&self) -> &'static str {
        match self {
            Self::Purge(p) => p.step_word(),
            Self::Identify(p) => p.step_word(),
            Self::Recover(p) => p.step_word(),
            Self::DrainOil(p) => p.step_word(),
            Self::PressureTest(p) => p.step_word(),
            Self::LeakCheck(p) => p.step_word(),
            Self::InjectOil(p) => p.step_word(),
            Self::Charge(p) => p.step_word(),
            Self::ClearHoses(p) => p.step_word(),
            Self::Evacuate(_) | Self::Verify(_) | Self::Upkeep(_) => "",
        }
    }
    /// Words of the steps that a phase of that kind can stand at.
    pub const fn step_words(kind: PhaseKind) -> &'static [&'static str] {
        match kind {
            PhaseKind::Purge => purge::Purge::WORDS,
            PhaseKind::Identify => identify::Identify::WORDS,
            PhaseKind::Recover => recover::Recover::WORDS,
            PhaseKind::DrainOil => oil::DrainOil::WORDS,
            PhaseKind::PressureTest => pressure::PressureTest::WORDS,
            PhaseKind::LeakCheck => leak::LeakCheck::WORDS,
            PhaseKind::InjectOil => inject::InjectOil::WORDS,
            PhaseKind::Charge => charge::Charge::WORDS,
            PhaseKind::ClearHoses => clear::ClearHoses::WORDS,
            PhaseKind::Evacuate | PhaseKind::Verify | PhaseKind::Upkeep => &[],
        }
    }
    /// One scan.
    pub fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        match self {
            Self::Purge(p) => p.step(c),
            Self::Identify(p) => p.step(c),
            Self::Recover(p) => p.step(c),
            Self::DrainOil(p) => p.step(c),
            Self::PressureTest(p) => p.step(c),
            Self::Evacuate(p) => p.step(c),
            Self::LeakCheck(p) => p.step(c),
            Self::InjectOil(p) => p.step(c),
            Self::Charge(p) => p.step(c),
            Self::Verify(p) => p.step(c),
            Self::ClearHoses(p) => p.step(c),
            Self::Upkeep(p) => p.step(c),
        }
    }
    /// Books what it has moved so far. Called every scan, held or not, and for some seconds after the phase ended short of its
    /// plan; a phase that ends as planned has booked its weighing at rest.
    pub fn book(&self, r: &Readings, ledger: &mut Ledger) {
        match self {
            Self::Purge(p) => p.book(r, ledger),
            Self::Recover(p) => p.book(r, ledger),
            Self::DrainOil(p) => p.book(r, ledger),
            Self::InjectOil(p) => p.book(r, ledger),
            Self::Charge(p) => p.book(r, ledger),
            Self::ClearHoses(p) => p.book(r, ledger),
            Self::Upkeep(p) => p.book(r, ledger),
            Self::Identify(_) | Self::PressureTest(_) | Self::Evacuate(_) | Self::LeakCheck(_) | Self::Verify(_) => {}
        }
    }
}
