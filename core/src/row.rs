//! Names of the interlock rows and of what they watch, and a set of rows: the words of a trip.

use crate::bits::bit_set;
use crate::units::Instant;

/// Id of a row. Its number is the printed one, and so is its bit in a [`RowSet`]: a stored latch means the same row
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
    /// Liquid locked in between shut valves.
    I04 = 4,
    /// No valid identity of the gas on this connection.
    I05 = 5,
    /// No leave to purge non-condensables.
    I06 = 6,
    /// A recovery drew air.
    I07 = 7,
    /// Charged flow against its model, shaken scale or late scan.
    I08 = 8,
    /// More charge than is usual, or than was ordered.
    I09 = 9,
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
    /// Oil into what may be a high-voltage compressor.
    I15 = 15,
    /// Identifier not sound.
    I16 = 16,
    /// Separator not known to be at ease.
    I17 = 17,
    /// Purge open for too long, or venting too much.
    I18 = 18,
    /// An effect did not follow its command.
    I19 = 19,
    /// Vessel mass not to be believed.
    I20 = 20,
    /// Span of the vessel scale not the one on record.
    I21 = 21,
    /// Upkeep expired.
    I22 = 22,
    /// A replacement's code used and its life not given.
    I23 = 23,
    /// Record store not to be believed.
    I24 = 24,
    /// Wall clock not to be believed.
    I25 = 25,
    /// The controller's own machine failed.
    I26 = 26,
    /// Inputs stale, or a proof test overdue.
    I27 = 27,
    /// Ventilation lost, not proven, or door open.
    I28 = 28,
    /// Near the relief valve's set point, or losing mass at rest.
    I29 = 29,
    /// Supply or valve rail low, or starts too close to each other.
    I30 = 30,
    /// Coupler or hose come open.
    I31 = 31,
    /// Emergency stop.
    Hs1 = 63,
}

/// How many rows there are.
pub const ROW_COUNT: usize = 32;

impl RowId {
    /// Every row id, in order.
    pub const ALL: [Self; ROW_COUNT] = [
        Self::I01,
        Self::I02,
        Self::I03,
        Self::I04,
        Self::I05,
        Self::I06,
        Self::I07,
        Self::I08,
        Self::I09,
        Self::I10,
        Self::I11,
        Self::I12,
        Self::I13,
        Self::I14,
        Self::I15,
        Self::I16,
        Self::I17,
        Self::I18,
        Self::I19,
        Self::I20,
        Self::I21,
        Self::I22,
        Self::I23,
        Self::I24,
        Self::I25,
        Self::I26,
        Self::I27,
        Self::I28,
        Self::I29,
        Self::I30,
        Self::I31,
        Self::Hs1,
    ];
    /// As printed on reports.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::I01 => "I01",
            Self::I02 => "I02",
            Self::I03 => "I03",
            Self::I04 => "I04",
            Self::I05 => "I05",
            Self::I06 => "I06",
            Self::I07 => "I07",
            Self::I08 => "I08",
            Self::I09 => "I09",
            Self::I10 => "I10",
            Self::I11 => "I11",
            Self::I12 => "I12",
            Self::I13 => "I13",
            Self::I14 => "I14",
            Self::I15 => "I15",
            Self::I16 => "I16",
            Self::I17 => "I17",
            Self::I18 => "I18",
            Self::I19 => "I19",
            Self::I20 => "I20",
            Self::I21 => "I21",
            Self::I22 => "I22",
            Self::I23 => "I23",
            Self::I24 => "I24",
            Self::I25 => "I25",
            Self::I26 => "I26",
            Self::I27 => "I27",
            Self::I28 => "I28",
            Self::I29 => "I29",
            Self::I30 => "I30",
            Self::I31 => "I31",
            Self::Hs1 => "HS-1",
        }
    }
    /// Its place in the table.
    pub(crate) const fn place(self) -> usize {
        Self::place_of(self as u32)
    }
    /// The place of the row that has this bit: by its number, because many rows may trip in one scan and a search costs as much as they do.
    const fn place_of(bit: u32) -> usize {
        if bit < ROW_COUNT as u32 { bit.wrapping_sub(1) as usize } else { ROW_COUNT - 1 }
    }
}

// Every row stands where its number says.
const _: () = {
    let mut at = 0;
    while at < ROW_COUNT {
        assert!(RowId::ALL[at].place() == at);
        at += 1;
    }
};

impl core::fmt::Display for RowId {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.pad(self.as_str())
    }
}

bit_set! {
    /// A set of rows.
    RowSet(u64) of RowId
}

impl RowSet {
    /// Every row.
    pub const ALL: Self = Self::of(&RowId::ALL);

    /// The one row.
    pub const fn one(id: RowId) -> Self {
        Self::NONE.with(id)
    }
    /// How many rows are in the set.
    pub const fn len(self) -> u32 {
        self.0.count_ones()
    }
    /// The rows in table order.
    ///
    /// ```
    /// use valvewright_core::row::{RowId, RowSet};
    /// assert!(RowSet::ALL.iter().eq(RowId::ALL));
    /// let stray = RowSet(1 | 1 << 40 | RowSet::of(&[RowId::I03, RowId::Hs1]).0);
    /// assert!(stray.iter().eq([RowId::I03, RowId::Hs1]));
    /// ```
    pub fn iter(self) -> impl Iterator<Item = RowId> {
        // A bit that is no row's is nobody's.
        let mut left = self.and(Self::ALL);
        core::iter::from_fn(move || {
            // Nearly always empty, and asked several times a scan.
            if left.is_empty() {
                return None;
            }
            let id = *RowId::ALL.get(RowId::place_of(left.0.trailing_zeros()))?;
            left = left.without(Self::one(id));
            Some(id)
        })
    }
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
    /// WT-1 while the heater is on or wanted.
    HeaterCover,
    /// TT-3, whether the heater is ordered on or not: a contactor may be welded (F069).
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
    /// The heater is on and TT-1 does not rise.
    HeaterEffect,
    /// IT-1.
    MotorCurrent,
    /// PT-5, whether XV-8 may open.
    SeparatorPressure,
    /// The job does not know that the circuit holds no refrigerant worth recovering.
    Unrecovered,
    /// max(PT-2, PT-3) has not stood for a watched minute.
    HosesRise,
    /// LS-1 open: the used-oil bottle is full.
    OilBottle,
    /// WT-1A against WT-1B.
    BridgesApart,
    /// ST-1 while anything but the fan is on or wanted.
    FanSpeed,
    /// TT-3 rises with one contactor of the heater on: the other is welded (F069).
    HeaterWelded,
    /// PSH-2 open.
    PumpInletSwitch,
    /// PSH-2 open while XV-6 is off.
    PumpValveStuck,
    /// XV-1 and XV-2 shut on a line that may hold liquid.
    LineLocked,
    /// The recovery drew air, and nothing took that back since.
    DrawsAir,
    /// A charge that is out of the usual, not confirmed a second time.
    ChargeUnconfirmed,
    /// The vessel has given more than the order and its tolerance.
    ChargeBeyond,
    /// Nothing says that the vehicle's compressor is no high-voltage one.
    OilVoltage,
    /// The last samples were not all sound by flow and self-check.
    IdentifierUnsound,
    /// XV-7 has been open for its time of a day.
    PurgeSpent,
    /// WT-1 has fallen too far by one opening of XV-7.
    PurgeLoss,
    /// PT-1 against the set point of the relief valve.
    ReliefNear,
    /// WT-1 goes on falling with every way shut.
    VesselLoses,
    /// PT-2 or PT-3 falls faster than the station's own valves can make it.
    HoseFalls,
    /// ZS-2 opened in the work, or in an order with pressure in a hose.
    CouplersOff,
    /// Coils carry other current than ordered.
    Coils,
    /// The span of WT-1A or WT-1B is not the one on record.
    SpanMoved,
    /// Filter-drier (WQI-1) or pump oil (KQI-1) past its limit when the order began.
    Upkeep,
    /// A replacement was cut off between code and life.
    Unlocking,
    /// The record store gave nothing that can be believed.
    StoreLost,
    /// KT-1 jumped, went back or stands.
    WallClock,
    /// The controller stalled or was restarted by its watchdog.
    Restarted,
    /// KT-2 against the other oscillator.
    TickRate,
    /// A self-check of the board failed, or the self-test at power-on.
    SelfCheck,
    /// The inputs are those of an earlier scan.
    StaleImage,
    /// A proof test was overdue when the order began.
    ProofDue,
    /// ET-1.
    SupplyLow,
    /// ET-2 while the rail's relay is closed.
    RailLow,
    /// Starts within a minute of each other.
    StartsAgain,
}

/// How many conditions there are.
pub const WATCH_COUNT: usize = 62;

bit_set! {
    /// A set of conditions.
    WatchSet(u64) of Watch
}

impl WatchSet {
    /// Conditions that are found over many scans, or by the job, and handed to the evaluation as found.
    pub const FOUND: Self = Self::of(&[
        Watch::LineLocked,
        Watch::DrawsAir,
        Watch::ChargeUnconfirmed,
        Watch::ChargeBeyond,
        Watch::OilVoltage,
        Watch::IdentifierUnsound,
        Watch::PurgeSpent,
        Watch::PurgeLoss,
        Watch::VesselLoses,
        Watch::HoseFalls,
        Watch::CouplersOff,
    ]);
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
