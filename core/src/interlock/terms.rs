//! The words the interlock table is written in: rows, conditions, set points, latches.

use super::table::ROWS;
use crate::frame::Actuators;
use crate::units::{AbsPa, CentiKelvin, Milliamp, Milligram, Millis, Permille, PermilleLfl};

/// Id of a row. Its number is the printed one, and so is its bit in a [`super::RowSet`]: a stored latch means the same row
/// whatever rows the table gains. The emergency stop, which has no number of the series, has the last bit.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(u8)]
pub enum RowId {
    /// Flammable gas in the cabinet.
    I01 = 1,
    /// Vessel at its fill limit.
    I02 = 2,
    /// Vessel or discharge pressure high.
    I03 = 3,
    /// No valid identity of the gas on this connection.
    I05 = 5,
    /// No leave to purge non-condensables.
    I06 = 6,
    /// Charged flow against its model, shaken scale or late scan.
    I08 = 8,
    /// Separator level high.
    I10 = 10,
    /// Pressure on the vacuum pump.
    I11 = 11,
    /// Heater without gas above it, or too hot.
    I12 = 12,
    /// Compressor too hot or starved.
    I13 = 13,
    /// No leak verdict for this connection.
    I14 = 14,
    /// Separator not known to be at ease.
    I17 = 17,
    /// An effect did not follow its command.
    I19 = 19,
    /// Vessel mass not to be believed.
    I20 = 20,
    /// Ventilation lost, not proven, or door open.
    I28 = 28,
    /// Emergency stop.
    Hs1 = 63,
}

/// How many rows there are.
pub const ROW_COUNT: usize = 16;

impl RowId {
    /// Every row id, in order.
    pub const ALL: [Self; ROW_COUNT] = [
        Self::I01,
        Self::I02,
        Self::I03,
        Self::I05,
        Self::I06,
        Self::I08,
        Self::I10,
        Self::I11,
        Self::I12,
        Self::I13,
        Self::I14,
        Self::I17,
        Self::I19,
        Self::I20,
        Self::I28,
        Self::Hs1,
    ];
    /// As printed on reports.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::I01 => "I01",
            Self::I02 => "I02",
            Self::I03 => "I03",
            Self::I05 => "I05",
            Self::I06 => "I06",
            Self::I08 => "I08",
            Self::I10 => "I10",
            Self::I11 => "I11",
            Self::I12 => "I12",
            Self::I13 => "I13",
            Self::I14 => "I14",
            Self::I17 => "I17",
            Self::I19 => "I19",
            Self::I20 => "I20",
            Self::I28 => "I28",
            Self::Hs1 => "HS-1",
        }
    }
    /// Its place in the table, [`ROW_COUNT`] for a row that is not there.
    pub(super) const fn place(self) -> usize {
        let mut at = 0;
        while at < ROW_COUNT && Self::ALL[at] as u8 != self as u8 {
            at += 1;
        }
        at
    }
    /// The row itself.
    pub fn row(self) -> Option<&'static Row> {
        ROWS.get(self.place())
    }
}

impl core::fmt::Display for RowId {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.pad(self.as_str())
    }
}

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
            | Self::Current(Milliamp(v)) => v,
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

/// What one condition looks at. The number is its bit in the evaluation.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(u8)]
pub enum Watch {
    /// AT-2.
    CabinetGas,
    /// WT-1 against the fill limit.
    VesselFill,
    /// PT-1.
    VesselPressure,
    /// PSH-1 open.
    DischargeSwitch,
    /// The job holds no pass of the identifier for this connection.
    Identity,
    /// The job has not found non-condensables on a rested vessel.
    PurgeLeave,
    /// The job's flow model and the measured rate disagree.
    ChargeFlow,
    /// WT-1 bad or shaken.
    ChargeScale,
    /// The last scan came late.
    LateScan,
    /// LS-2 open.
    SeparatorLevel,
    /// max(PT-2, PT-3), whether XV-6 may open.
    PumpAdmission,
    /// max(PT-2, PT-3) while XV-6 is open.
    PumpInlet,
    /// WT-1 while H-1 is on or wanted.
    HeaterCover,
    /// TT-3, whether H-1 is ordered on or not: a contactor may be welded (F069).
    HeaterSkin,
    /// TT-2.
    DischargeTemperature,
    /// min(PT-2, PT-3) while C-1 runs with XV-3 open.
    Suction,
    /// The job holds no leak pass for this connection.
    LeakVerdict,
    /// The job found an effect missing.
    Effect,
    /// WT-1 moves with all valves shut.
    ScaleCreep,
    /// WT-1 bad.
    ScaleLost,
    /// FSL-1 open while anything but the fan is on or wanted.
    AirFlow,
    /// ZS-1 open.
    Door,
    /// The air changes and the FSL-1 test before a start are not done.
    AirProof,
    /// HS-1: either channel open.
    StopPressed,
    /// HS-1: one channel open, the other not.
    StopDisagrees,
    /// H-1 is on and TT-1 does not rise.
    HeaterEffect,
    /// IT-1.
    MotorCurrent,
    /// The hoses have not shown the separator at or below 1.3 bar abs since XV-3 was last open.
    SeparatorEase,
    /// The job does not know that the circuit holds no refrigerant worth recovering.
    Unrecovered,
    /// max(PT-2, PT-3) has not stood for a watched minute.
    HosesRise,
}

/// How many conditions there are.
pub const WATCH_COUNT: usize = 30;

impl Watch {
    /// On which side of the trip point it is dangerous.
    pub const fn side(self) -> Side {
        match self {
            Self::CabinetGas | Self::VesselFill | Self::VesselPressure | Self::PumpAdmission | Self::PumpInlet => {
                Side::High
            }
            Self::HeaterSkin | Self::DischargeTemperature | Self::MotorCurrent => Side::High,
            Self::Suction | Self::HeaterCover => Side::Low,
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
pub struct Effects {
    /// Held off.
    pub inhibits: Actuators,
    /// Held on.
    pub forces: Actuators,
    /// Held off once the valve they serve has been shut for its time: P-1 behind XV-6.
    pub stops: Actuators,
}

/// How long a trip stays after its cause is gone.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Latch {
    /// Not at all.
    None,
    /// Until reset, or until the next phase starts.
    Phase,
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
    pub trip: Effects,
    /// Held off while its permission is withheld.
    pub withholds: Actuators,
    /// How long a trip stays.
    pub latch: Latch,
    /// What clears it, for the operator.
    pub reset: &'static str,
    /// The hazard it answers first.
    pub hazard: Hazard,
    /// Other hazards it answers.
    pub also: &'static [Hazard],
    /// Why it is there.
    pub why: &'static str,
}

impl Row {
    /// Whether any of its causes withholds a permission.
    pub const fn permissive(&self) -> bool {
        !self.withholds.is_empty()
    }
}
