//! What must outlive power: handed in when the station starts, taken out whenever it changed. The core stores nothing itself.
//!
//! Promises: what cannot be read is told as lost and never taken for new (LC8); a latch is a latch before and after.

mod keeper;

pub use keeper::{Keeper, KeptFacts, Left, Scanned};

use crate::row::RowSet;
use crate::token::{KIND_COUNT, Part, Used};
use crate::units::{Milligram, Millis};

/// Starts within a minute of each other from which the supply, or the program, is not to be trusted (hazard H24, own choice).
pub const STARTS_MOST: u8 = 3;
/// How long a start must be ago to count no longer.
pub const STARTS_WITHIN: Millis = Millis::from_secs(60);
/// How many bridges the scales have ([`crate::frame::SCALE_COUNT`]).
pub const BRIDGES: usize = 4;

/// How long parts that wear are good for: a setting of the station, inside [`Limits::DRIER`] and [`Limits::PUMP_OIL`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Limits {
    /// Refrigerant that the filter-drier takes before it must be exchanged.
    pub drier: Milligram,
    /// Running time of the vacuum pump's oil, s.
    pub pump_oil: u32,
}

impl Limits {
    /// 68 kg and 60 h (common practice, no source).
    pub const USUAL: Self = Self { drier: Milligram(68_000_000), pump_oil: 60 * 3_600 };
    /// Accepted limits of the filter-drier (own choice).
    pub const DRIER: (Milligram, Milligram) = (Milligram(1_000_000), Milligram(500_000_000));
    /// Accepted limits of the pump oil: 1 to 1000 h (own choice).
    pub const PUMP_OIL: (u32, u32) = (3_600, 3_600_000);
}

impl Default for Limits {
    fn default() -> Self {
        Self::USUAL
    }
}

/// Of a part's life, from which on it is told that a new one is due (own choice), thousandths.
pub const WORN_AT: i32 = 800;
/// A proof test with this date is owed until it is passed, whatever the clock says.
pub const OWED: u32 = 1;
/// The program: with another number than the one on record, nobody has yet seen the scales weigh under it (I21).
pub const PROGRAM: u16 = 1;
/// Wrong codes that count as typed where nobody knows how many were: a start without a record waits before it looks at one.
pub const TRIES_OF_LOST: u8 = 3;
/// In place of a program's number: nobody has seen the scales weigh.
pub const UNPROVEN: u16 = u16::MAX;
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
    /// How long a passed test is good for, s: the gas detector half a year, a relief valve five years, the others one (common practice, no
    /// source; local rules and makers say otherwise).
    pub const fn good_for(self) -> u32 {
        /// Seconds of a day.
        const DAY: u32 = 24 * 3_600;
        match self {
            Self::GasDetector => 182 * DAY,
            Self::ReliefValve => 5 * 365 * DAY,
            _ => 365 * DAY,
        }
    }

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

/// What the hoses were open to since they were last cleaned.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(u8)]
pub enum Hoses {
    /// To vehicles of any kind.
    #[default]
    Used,
    /// Since they were flushed, or new, to nothing but high-voltage vehicles (I15).
    Flushed,
    /// To a gas that is not this station's: it stands in them until they are decontaminated (H04).
    Foreign,
}

impl Hoses {
    /// All of them, in the order of their numbers.
    pub const ALL: [Self; 3] = [Self::Used, Self::Flushed, Self::Foreign];
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
    /// Gains of the bridges of the scales as they were last found good, as [`crate::sense::scale::ScaleCal::gain`] tells
    /// them; 0 where none is on record.
    pub span: [i32; BRIDGES],
    /// The code for this part is used up and the life it buys not yet given: power went in between.
    pub unlocking: Option<Part>,
    /// Serial numbers of codes that were used, in the order of [`crate::token::Kind::ALL`].
    pub used_codes: [Used; KIND_COUNT],
    /// Codes that were typed since the last one that was taken; each counts before it is looked at.
    pub wrong_codes: u8,
    /// When each [`Proof`] is due by KT-1; 0 has no date.
    pub due: [u32; PROOF_COUNT],
    /// The order that runs, 0 for none: found again after a power cut, it was interrupted.
    pub order: u16,
    /// What that order has charged.
    pub charged: Milligram,
    /// The program under which the vessel scale was last seen to weigh; 0 where that is not on record.
    pub program: u16,
    /// Samples that AT-1 was asked for since its filter was new.
    pub samples: u16,
    /// Time for which the station was on, in minutes.
    pub minutes: u32,
    /// What the hoses were open to.
    pub hoses: Hoses,
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
        span: [0; BRIDGES],
        unlocking: None,
        used_codes: [Used::NONE; KIND_COUNT],
        wrong_codes: 0,
        due: [0; PROOF_COUNT],
        order: 0,
        charged: Milligram(0),
        program: PROGRAM,
        samples: 0,
        minutes: 0,
        hoses: Hoses::Flushed,
    };

    /// Of a record that was lost, what stands in its place on a supervisor's release of this serial number: every part is worn, every test owed,
    /// no scale was seen to weigh, and no code up to this number is taken.
    pub fn restored(limits: &Limits, serial: u32) -> Self {
        Self {
            drier: limits.drier,
            pump_oil: limits.pump_oil,
            used_codes: [Used::up_to(serial); KIND_COUNT],
            due: [OWED; PROOF_COUNT],
            program: UNPROVEN,
            samples: u16::MAX,
            // Nobody knows what they hold.
            hoses: Hoses::Foreign,
            ..Self::COMMISSIONED
        }
    }

    /// Whether a release was ever used: what a start without a record begins with has none, until one stands behind it.
    pub fn released(&self) -> bool {
        self.used_codes.last().is_some_and(|used| *used != Used::NONE)
    }

    /// The first proof test that is overdue at this time of KT-1.
    pub fn overdue(&self, clock: u32) -> Option<Proof> {
        Proof::ALL
            .into_iter()
            .zip(self.due)
            .find(|(_, due)| *due == OWED || *due != 0 && *due < clock)
            .map(|(proof, _)| proof)
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
