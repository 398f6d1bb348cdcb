//! The work order: which phases, with which parameters, inside which limits.

use crate::bits::bit_set;
use crate::units::*;

/// Phases of a service, in the order in which a whole job runs them.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(u8)]
pub enum PhaseKind {
    /// Check the rested vessel for air and purge it.
    Purge,
    /// Identify the gas in the vehicle.
    Identify,
    /// Recover it.
    Recover,
    /// Settle, drain and weigh the used oil.
    DrainOil,
    /// Hold the empty circuit under dry nitrogen that the operator fills in and lets out by hand.
    PressureTest,
    /// Evacuate.
    Evacuate,
    /// Vacuum decay, judged by shape.
    LeakCheck,
    /// Inject new oil.
    InjectOil,
    /// Charge to the gram.
    Charge,
    /// Check static pressures and close the ledger.
    Verify,
    /// Empty the hoses after the couplers are shut.
    ClearHoses,
}

/// How many phases there are.
pub const PHASE_COUNT: usize = 11;

impl PhaseKind {
    /// Every phase, in job order.
    pub const ALL: [Self; PHASE_COUNT] = [
        Self::Purge,
        Self::Identify,
        Self::Recover,
        Self::DrainOil,
        Self::PressureTest,
        Self::Evacuate,
        Self::LeakCheck,
        Self::InjectOil,
        Self::Charge,
        Self::Verify,
        Self::ClearHoses,
    ];
    /// Whether the phase works on the vehicle: taking the couplers off ends it.
    pub const fn needs_couplers(self) -> bool {
        !matches!(self, Self::Purge | Self::DrainOil | Self::ClearHoses)
    }
    /// Plain lower-case name, as in files and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Purge => "purge",
            Self::Identify => "identify",
            Self::Recover => "recover",
            Self::DrainOil => "drain_oil",
            Self::PressureTest => "pressure_test",
            Self::Evacuate => "evacuate",
            Self::LeakCheck => "leak_check",
            Self::InjectOil => "inject_oil",
            Self::Charge => "charge",
            Self::Verify => "verify",
            Self::ClearHoses => "clear_hoses",
        }
    }
}

bit_set! {
    /// A set of phases.
    PhaseSet(u16) of PhaseKind
}

impl PhaseSet {
    /// Every phase there is.
    pub const ALL: Self = Self((1 << PHASE_COUNT) - 1);
    /// The whole service. A pressure test is ordered by name: it needs a bottle of nitrogen and a reason.
    pub const WHOLE: Self = Self::ALL.without(Self::of(&[PhaseKind::PressureTest]));

    /// The first phase of the set after `done` (from the start where `None`).
    pub fn next(self, done: Option<PhaseKind>) -> Option<PhaseKind> {
        PhaseKind::ALL.into_iter().find(|k| self.has(*k) && done.is_none_or(|d| *k > d))
    }
}

/// Through which couplers the work goes: those that the vehicle has and that are on it. The coupler that is not used hangs in its
/// holder, which closes its contact.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Sides {
    /// Both couplers.
    #[default]
    Both,
    /// The high side only.
    High,
    /// The low side only.
    Low,
}

/// What to do.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct WorkOrder {
    /// Which phases.
    pub phases: PhaseSet,
    /// Charge target; [`WorkOrder::CHARGE`] gives the range.
    pub charge: Milligram,
    /// Through which side.
    pub sides: Sides,
    /// Least time of evacuation.
    pub evacuate: Millis,
    /// Depth that must be reached at PT-4.
    pub depth: AbsPa,
    /// Time of the vacuum hold.
    pub leak_hold: Millis,
    /// Internal volume of the vehicle's circuit, for the leak-rate arithmetic.
    pub circuit: Microlitre,
    /// Nitrogen over the barometer in the pressure test.
    pub test_over: AbsPa,
    /// Time of the pressure test.
    pub test_hold: Millis,
    /// New oil to inject on top of what was drained; negative is not allowed.
    pub oil_extra: Milligram,
    /// Replace the oil that was drained.
    pub oil_replace: bool,
    /// The vehicle has an electrically driven, high-voltage compressor.
    pub high_voltage: bool,
}

impl WorkOrder {
    /// Accepted charge: 50 g to 10 kg, as far as the vessel's rating allows (own choice; passenger cars hold 0.35-1.4 kg, buses up
    /// to some 10 kg: common practice, no source).
    pub const CHARGE: (Milligram, Milligram) = (Milligram(50_000), Milligram(10_000_000));
    /// Accepted evacuation time.
    pub const EVACUATE: (Millis, Millis) = (Millis::from_secs(60), Millis::from_secs(4 * 3600));
    /// Accepted depth at PT-4: its ultimate to half its span.
    pub const DEPTH: (AbsPa, AbsPa) = (AbsPa(20), AbsPa(5_000));
    /// Accepted hold time.
    pub const LEAK_HOLD: (Millis, Millis) = (Millis::from_secs(120), Millis::from_secs(2 * 3600));
    /// Accepted circuit volume.
    pub const CIRCUIT: (Microlitre, Microlitre) = (Microlitre(200_000), Microlitre(20_000_000));
    /// Accepted test pressure over the barometer: 2 to 15 bar (own choice; what the low side bears stands on the vehicle's label).
    pub const TEST_OVER: (AbsPa, AbsPa) = (AbsPa(200_000), AbsPa(1_500_000));
    /// Accepted time of a pressure test.
    pub const TEST_HOLD: (Millis, Millis) = (Millis::from_secs(300), Millis::from_secs(2 * 3600));
    /// Accepted extra oil.
    pub const OIL_EXTRA: (Milligram, Milligram) = (Milligram(0), Milligram(200_000));

    /// A whole service with a charge of `charge` and the usual times.
    pub const fn whole(charge: Milligram) -> Self {
        Self {
            phases: PhaseSet::WHOLE,
            charge,
            sides: Sides::Both,
            evacuate: Millis::from_secs(15 * 60),
            depth: AbsPa(200),
            leak_hold: Millis::from_secs(10 * 60),
            circuit: Microlitre(3_500_000),
            test_over: AbsPa(1_000_000),
            test_hold: Millis::from_secs(15 * 60),
            oil_extra: Milligram(0),
            oil_replace: true,
            high_voltage: false,
        }
    }
}

/// A field of the work order, for refusals.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Field {
    /// [`WorkOrder::charge`].
    Charge,
    /// [`WorkOrder::evacuate`].
    Evacuate,
    /// [`WorkOrder::depth`].
    Depth,
    /// [`WorkOrder::leak_hold`].
    LeakHold,
    /// [`WorkOrder::circuit`].
    Circuit,
    /// [`WorkOrder::test_over`].
    TestOver,
    /// [`WorkOrder::test_hold`].
    TestHold,
    /// [`WorkOrder::oil_extra`].
    OilExtra,
}
