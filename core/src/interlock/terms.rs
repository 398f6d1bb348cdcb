//! The words the interlock table is written in: rows, conditions, set points, latches.

use crate::frame::{Actuator, Actuators, Feeds};
use crate::row::{RowId, Watch};
use crate::units::{AbsPa, CentiKelvin, Milliamp, Milligram, Millis, Millivolt, Permille, PermilleLfl, Rpm};

/// Number of a hazard of the analysis, 1-25.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Hazard(pub u8);

impl core::fmt::Display for Hazard {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "H{:02}", self.0)
    }
}

/// A set point, in the unit of its reading.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Level {
    /// Absolute pressure.
    Pressure(AbsPa),
    /// Pressure above the barometer of the station's configuration.
    OverBarometer(AbsPa),
    /// Temperature.
    Temperature(CentiKelvin),
    /// Share of the lower flammable limit.
    Gas(PermilleLfl),
    /// Share of the fill limit the job gives.
    FillShare(Permille),
    /// Mass.
    Mass(Milligram),
    /// Motor current.
    Current(Milliamp),
    /// Speed of the fan.
    Speed(Rpm),
    /// Voltage.
    Voltage(Millivolt),
    /// No number: a contact or a verdict, which stands or does not.
    State,
}

impl Level {
    /// The bare number, in the unit of the variant; 0 for a state.
    pub const fn number(self) -> i32 {
        match self {
            Self::Pressure(AbsPa(v))
            | Self::OverBarometer(AbsPa(v))
            | Self::Temperature(CentiKelvin(v))
            | Self::Gas(PermilleLfl(v))
            | Self::FillShare(Permille(v))
            | Self::Mass(Milligram(v))
            | Self::Current(Milliamp(v))
            | Self::Speed(Rpm(v))
            | Self::Voltage(Millivolt(v)) => v,
            Self::State => 0,
        }
    }
    /// Which unit, to compare two set points.
    pub(super) const fn unit(self) -> u8 {
        match self {
            Self::Pressure(_) => 0,
            Self::Temperature(_) => 1,
            Self::Gas(_) => 2,
            Self::FillShare(_) => 3,
            Self::Mass(_) => 4,
            Self::Current(_) => 5,
            Self::State => 6,
            Self::OverBarometer(_) => 7,
            Self::Speed(_) => 8,
            Self::Voltage(_) => 9,
        }
    }
}

/// On which side of its trip point a condition is dangerous.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Side {
    /// At or above.
    High,
    /// Below.
    Low,
    /// While it stands.
    State,
}

impl Watch {
    /// On which side of the trip point it is dangerous.
    pub const fn side(self) -> Side {
        match self {
            Self::CabinetGas | Self::VesselFill | Self::VesselPressure | Self::PumpAdmission | Self::PumpInlet => {
                Side::High
            }
            Self::HeaterSkin | Self::DischargeTemperature | Self::MotorCurrent => Side::High,
            Self::BridgesApart | Self::SeparatorPressure | Self::ReliefNear => Side::High,
            Self::Suction | Self::HeaterCover | Self::FanSpeed | Self::SupplyLow | Self::RailLow => Side::Low,
            _ => Side::State,
        }
    }
}

/// What a condition does to its row.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Role {
    /// Trips it.
    Trip,
    /// Withholds its permission: inhibits without being a trip.
    Permit,
}

/// One cause: a judged reading against a set point, with hold times.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Condition {
    /// The reading or verdict.
    pub watch: Watch,
    /// Trip or permissive.
    pub role: Role,
    /// Trip point.
    pub trip: Level,
    /// How long the trip point must be passed. A bad input does not wait: its quality is confirmed already.
    pub hold: Millis,
    /// The cause is gone past this point.
    pub clear: Level,
    /// How long the clear point must be kept.
    pub clear_hold: Millis,
}

/// What a row does to the outputs.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct RowEffects {
    /// Held off.
    pub inhibits: Actuators,
    /// Held on.
    pub forces: Actuators,
    /// Held off once the valve they serve has been shut for its time: P-1 behind XV-6.
    pub stops: Actuators,
    /// Common relays held open.
    pub drops: Feeds,
}

/// How long a trip stays after its cause is gone.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Latch {
    /// Not at all.
    None,
    /// Until reset, or until the next phase starts; nothing is kept from starting by it.
    Phase,
    /// Not at all, until its cause has come up so many times in one phase; then until reset.
    After(u8),
    /// A permission is void once the couplers have moved and must be earned anew.
    Connection,
    /// Until reset.
    Latched,
}

/// One interlock.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Row {
    /// Its id.
    pub id: RowId,
    /// Any of these makes it act.
    pub causes: &'static [Condition],
    /// While tripped.
    pub trip: RowEffects,
    /// Held off while its permission is withheld.
    pub withholds: Actuators,
    /// How long a trip stays.
    pub latch: Latch,
    /// What clears it, for the operator.
    pub reset: Why,
    /// The hazard it answers first.
    pub hazard: Hazard,
    /// Other hazards it answers.
    pub also: Also,
    /// Why it is there.
    pub why: Why,
}

/// Why a row is there, or what clears it, in words: for books and screens. Firmware leaves them out with the feature `words`, 6 kB of flash.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Why(#[cfg(feature = "words")] &'static str);

/// The words of a row.
#[cfg_attr(not(feature = "words"), allow(unused_variables))]
pub(super) const fn why(words: &'static str) -> Why {
    Why(
        #[cfg(feature = "words")]
        words,
    )
}

/// Further hazards that a row answers: kept and checked where its words are.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Also(#[cfg(feature = "words")] &'static [Hazard]);

/// Further hazards of a row.
#[cfg_attr(not(feature = "words"), allow(unused_variables))]
pub(super) const fn also(hazards: &'static [Hazard]) -> Also {
    Also(
        #[cfg(feature = "words")]
        hazards,
    )
}

#[cfg(feature = "words")]
impl Also {
    /// The hazards.
    pub const fn all(self) -> &'static [Hazard] {
        self.0
    }
}

#[cfg(feature = "words")]
impl Why {
    /// The words.
    pub const fn text(self) -> &'static str {
        self.0
    }
}

impl Row {
    /// Whether its trip takes one of these outputs away, at once or behind a valve.
    pub fn takes(&self, outputs: Actuators) -> bool {
        !self.trip.inhibits.or(self.trip.stops).and(outputs).is_empty() || self.trip.drops != Feeds::NONE
    }
    /// Whether any of its causes withholds a permission.
    pub const fn permissive(&self) -> bool {
        !self.withholds.is_empty()
    }
}

/// A row of permissions alone.
pub(super) const NOTHING: RowEffects = off(&[]);
/// Held off, nothing else.
pub(super) const fn off(list: &[Actuator]) -> RowEffects {
    RowEffects { inhibits: Actuators::of(list), forces: Actuators::NONE, stops: Actuators::NONE, drops: Feeds::NONE }
}
/// Held off, the fan on.
pub(super) const fn off_with_fan(list: &[Actuator]) -> RowEffects {
    RowEffects { forces: Actuators::SAFE, ..off(list) }
}
/// A reading that trips.
pub(super) const fn trip(watch: Watch, trip: Level, hold: Millis, clear: Level, clear_hold: Millis) -> Condition {
    Condition { watch, role: Role::Trip, trip, hold, clear, clear_hold }
}
/// A contact or finding that trips.
pub(super) const fn state(watch: Watch, hold: Millis, clear_hold: Millis) -> Condition {
    Condition { watch, role: Role::Trip, trip: Level::State, hold, clear: Level::State, clear_hold }
}
/// A contact or finding that withholds.
pub(super) const fn verdict(watch: Watch) -> Condition {
    Condition { watch, role: Role::Permit, trip: Level::State, hold: NOW, clear: Level::State, clear_hold: NOW }
}
/// In the scan that sees it.
pub(super) const NOW: Millis = Millis(0);
/// Hundredths of a bar, absolute.
pub(super) const fn bar_hundredths(value: i32) -> Level {
    Level::Pressure(AbsPa(value.saturating_mul(1_000)))
}
/// Millibar over the barometer.
pub(super) const fn over_barometer(millibar: i32) -> Level {
    Level::OverBarometer(AbsPa(millibar.saturating_mul(100)))
}
/// Whole degrees Celsius.
pub(super) const fn celsius(value: i32) -> Level {
    Level::Temperature(CentiKelvin::from_centi_celsius(value.saturating_mul(100)))
}
/// Revolutions a minute.
pub(super) const fn rpm(value: i32) -> Level {
    Level::Speed(Rpm(value))
}
/// Whole ampere.
pub(super) const fn amps(value: i32) -> Level {
    Level::Current(Milliamp(value.saturating_mul(1_000)))
}
/// Tenths of a volt.
pub(super) const fn volts_tenths(value: i32) -> Level {
    Level::Voltage(Millivolt(value.saturating_mul(100)))
}
