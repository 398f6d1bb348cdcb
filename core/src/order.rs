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
    /// A procedure of upkeep on the station itself, ordered alone.
    Upkeep,
}

/// How many phases there are.
pub const PHASE_COUNT: usize = 12;

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
        Self::Upkeep,
    ];
    /// Whether the phase works on the vehicle: taking the couplers off ends it.
    pub const fn needs_couplers(self) -> bool {
        !matches!(self, Self::Purge | Self::DrainOil | Self::ClearHoses | Self::Upkeep)
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
            Self::Upkeep => "upkeep",
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
    /// The whole service. A pressure test is ordered by name: it needs a bottle of nitrogen and a reason. Upkeep is no service.
    pub const WHOLE: Self = Self::ALL.without(Self::of(&[PhaseKind::PressureTest, PhaseKind::Upkeep]));
    /// Upkeep alone, as it has to be ordered.
    pub const UPKEEP: Self = Self::of(&[PhaseKind::Upkeep]);

    /// The first phase of the set after `done` (from the start where `None`).
    pub fn next(self, done: Option<PhaseKind>) -> Option<PhaseKind> {
        PhaseKind::ALL.into_iter().find(|k| self.has(*k) && done.is_none_or(|d| *k > d))
    }
}

/// What is done to the station itself, step by step with its operator.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(u8)]
pub enum Procedure {
    /// Filter-drier F-1 exchanged, with the in-line filters and seals that go with it; its code is typed meanwhile.
    #[default]
    FilterDrier,
    /// Oil of P-1 changed; its code is typed meanwhile.
    PumpOil,
    /// Tightness of the station's own pipes, under vacuum and under pressure.
    InternalLeak,
    /// Span of the vessel scale set with the ordered weight.
    VesselScale,
    /// Span of the used-oil scale set with it.
    UsedOilScale,
    /// Span of the new-oil scale set with it.
    NewOilScale,
    /// Vessel scale tried with the ordered weight, nothing adjusted.
    CheckWeight,
    /// The ordered mass taken into the vessel from a supply cylinder on the couplers.
    FillVessel,
    /// AT-1 tried with a known gas: a cylinder of the station's refrigerant on the couplers.
    Identifier,
    /// Sample filter of AT-1 changed.
    SampleFilter,
    /// AT-2 tried with test gas.
    GasDetector,
    /// PSH-1 tried with pressure from a hand pump.
    PressureSwitch,
    /// PSV-1 exchanged for one whose date is good.
    ReliefValve,
    /// A record that was lost is made one again on a supervisor's release, with everything in it expired.
    RestoreRecord,
    /// V-1 changed for a new one, evacuated and of the same tare.
    Vessel,
    /// Hoses flushed of their oil, through the flush port.
    Flush,
    /// Hoses and manifold rid of a gas that is not this station's, into an external cylinder on the couplers.
    Decontaminate,
}

/// How many procedures there are.
pub const PROCEDURE_COUNT: usize = 17;

impl Procedure {
    /// Every procedure, in the order of its numbers.
    pub const ALL: [Self; PROCEDURE_COUNT] = [
        Self::FilterDrier,
        Self::PumpOil,
        Self::InternalLeak,
        Self::VesselScale,
        Self::UsedOilScale,
        Self::NewOilScale,
        Self::CheckWeight,
        Self::FillVessel,
        Self::Identifier,
        Self::SampleFilter,
        Self::GasDetector,
        Self::PressureSwitch,
        Self::ReliefValve,
        Self::RestoreRecord,
        Self::Vessel,
        Self::Flush,
        Self::Decontaminate,
    ];
    /// Plain lower-case name, as in files and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::FilterDrier => "filter_drier",
            Self::PumpOil => "pump_oil",
            Self::InternalLeak => "internal_leak",
            Self::VesselScale => "vessel_scale",
            Self::UsedOilScale => "used_oil_scale",
            Self::NewOilScale => "new_oil_scale",
            Self::CheckWeight => "check_weight",
            Self::FillVessel => "fill_vessel",
            Self::Identifier => "identifier",
            Self::SampleFilter => "sample_filter",
            Self::GasDetector => "gas_detector",
            Self::PressureSwitch => "pressure_switch",
            Self::ReliefValve => "relief_valve",
            Self::RestoreRecord => "restore_record",
            Self::Vessel => "vessel",
            Self::Flush => "flush",
            Self::Decontaminate => "decontaminate",
        }
    }
    /// Whether it works on a cylinder at the couplers, and not on the station alone.
    pub const fn takes_gas(self) -> bool {
        matches!(self, Self::FillVessel | Self::Identifier | Self::Decontaminate)
    }
    /// The masses that it may be ordered with: of a reference weight, or what a filling takes in; `None` where it needs none. A weight of
    /// a fifth of the scale and up tells 0.1 % of its span from its noise (own choice).
    pub const fn mass(self) -> Option<(Milligram, Milligram)> {
        match self {
            Self::VesselScale | Self::CheckWeight => Some((Milligram(2_000_000), Milligram(20_000_000))),
            Self::UsedOilScale | Self::NewOilScale => Some((Milligram(200_000), Milligram(2_000_000))),
            Self::FillVessel => Some((Milligram(100_000), Milligram(30_000_000))),
            _ => None,
        }
    }
}

/// What a person does in the course of a procedure, and says when it is done.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Task {
    /// Both couplers off every vehicle, in their holders, their hand valves shut.
    ParkCouplers,
    /// Filter-drier, in-line filters and seals exchanged; the line is without pressure.
    ChangeDrier,
    /// Warm oil of P-1 drained, new oil filled in to the mark.
    ChangePumpOil,
    /// Nothing leans on the platform or lies on it that does not belong there.
    FreePlatform,
    /// The ordered weight put on the platform.
    PutWeight,
    /// It is taken off again.
    TakeWeight,
    /// Supply cylinder shut by its own valve.
    ShutCylinder,
    /// Sample filter of AT-1 exchanged, sample line blown through.
    ChangeSampleFilter,
    /// Test gas led to AT-2.
    GiveTestGas,
    /// Test gas taken away.
    TakeTestGas,
    /// PSH-1 put under pressure with the hand pump, slowly, until it opens.
    PumpUpSwitch,
    /// That pressure let off.
    EaseSwitch,
    /// PSV-1 exchanged by a licensed person for one within its date.
    ChangeReliefValve,
    /// Accept that the record is lost: every part counts as worn, every test as owed.
    AcceptLoss,
    /// V-1 shut, taken off, and a new one put in its place by a licensed person: evacuated, of the same tare, with its own PSV-1 and within
    /// its date, its valves opened.
    ChangeVessel,
    /// Both couplers on an external cylinder for mixed gas, evacuated, of 10 L or more, its valve open.
    HangCylinder,
    /// That cylinder shut by its own valve.
    ShutMixed,
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
    /// Which procedure, where upkeep is ordered.
    pub procedure: Procedure,
    /// The mass that it goes by; [`Procedure::mass`] gives the range.
    pub mass: Milligram,
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
            procedure: Procedure::FilterDrier,
            mass: Milligram(0),
        }
    }
    /// Whether it opens the hoses to what is on the couplers: a vehicle, or a cylinder.
    pub fn opens_hoses(&self) -> bool {
        let on_vehicle = PhaseKind::ALL.into_iter().any(|kind| self.phases.has(kind) && kind.needs_couplers());
        on_vehicle
            || self.phases.has(PhaseKind::ClearHoses)
            || self.phases.has(PhaseKind::Upkeep) && self.procedure.takes_gas()
    }
    /// A procedure of upkeep, with the mass that it goes by where it needs one.
    pub const fn upkeep(procedure: Procedure, mass: Milligram) -> Self {
        Self { phases: PhaseSet::UPKEEP, procedure, mass, ..Self::whole(Milligram(0)) }
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
    /// [`WorkOrder::mass`].
    Mass,
    /// [`WorkOrder::phases`]: upkeep is ordered alone.
    Phases,
}
