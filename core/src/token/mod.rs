//! One-time codes that come with a replacement part: typed by a person, checked, used once.
//!
//! A code is fifteen symbols of Crockford's base 32 and a check symbol, shown as 5-5-5-1: 3 bits version, 4 bits [`Kind`], 20 bits serial number,
//! 48 bits of a keyed digest. [`symbols`] reads what was typed, [`code`] takes it apart, [`seal`] proves who made it, [`used`] knows which
//! serial numbers are gone. What the scheme stops and what it does not is said in the book (`docs/codes.md`).

pub mod code;
pub mod seal;
pub mod symbols;
pub mod used;

pub use code::{Code, Draft};
pub use seal::{CodeKey, Sealing};
pub use symbols::Typed;
pub use used::Used;

use crate::units::Millis;

/// A part of the station that wears and is exchanged against a code.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(u8)]
pub enum Part {
    /// F-1, whose life is the mass that went through it (WQI-1).
    FilterDrier,
    /// The oil of P-1, whose life is its running time (KQI-1).
    PumpOil,
    /// The record itself, which was lost: it wears not, and a supervisor's release alone makes it one again.
    Record,
}

impl Part {
    /// Whatever a code is typed for.
    pub const ALL: [Self; 3] = [Self::FilterDrier, Self::PumpOil, Self::Record];
    /// The parts that wear.
    pub const WEAR: [Self; 2] = [Self::FilterDrier, Self::PumpOil];

    /// Plain lower-case name, as in files and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::FilterDrier => "filter_drier",
            Self::PumpOil => "pump_oil",
            Self::Record => "record",
        }
    }

    /// The kind of code that comes with it.
    pub const fn kind(self) -> Kind {
        match self {
            Self::FilterDrier => Kind::FilterDrier,
            Self::PumpOil => Kind::PumpOil,
            Self::Record => Kind::Release,
        }
    }
}

/// What a code is for.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(u8)]
pub enum Kind {
    /// A filter-drier.
    FilterDrier = 1,
    /// A filling of pump oil.
    PumpOil = 2,
    /// A supervisor's release, made where a part's own code or the whole record is lost, and good for any of them: it leaves a record of its own.
    Release = 15,
}

/// How many kinds there are.
pub const KIND_COUNT: usize = 3;

impl Kind {
    /// Every kind, in the order of what is kept of them.
    pub const ALL: [Self; KIND_COUNT] = [Self::FilterDrier, Self::PumpOil, Self::Release];

    /// The kind of this number in a code.
    pub fn from_number(number: u8) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| *kind as u8 == number)
    }

    /// Plain lower-case name, as in files and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::FilterDrier => "filter_drier",
            Self::PumpOil => "pump_oil",
            Self::Release => "release",
        }
    }
}

/// Why a code is not taken. Each says who acts.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum CodeFault {
    /// A symbol that no code has, or the check symbol does not fit. Operator: read it again and type it again.
    Mistyped,
    /// A version that this program does not know. Operator: ask the supplier of the part.
    OtherVersion,
    /// Not made with this station's key: for another station, or guessed. Operator: ask the supplier of the part.
    NotOurs,
    /// Made for another kind of part. Operator: use the code that came with this one.
    OtherKind(Kind),
    /// Used before. Operator: every new part has a code of its own.
    UsedBefore,
    /// So much older than the newest used one that nobody can tell whether it was used. Supervisor: give a release.
    TooOld,
    /// Too many wrong ones before: no code is looked at for so long. Operator: wait.
    Wait(Millis),
    /// The record store does not take what must be stored first. Service: mend the store; the code is not given away.
    NotStored,
}

/// Wrong codes that cost nothing, for a slip of the finger (own choice),
const FREE: u8 = 3;
/// the wait after the next one, doubled with each more (own choice),
const FIRST: Millis = Millis::from_secs(30);
/// and the longest wait (own choice): a guess an hour needs 3e10 years for one chance in 2^48.
pub const LONGEST_WAIT: Millis = Millis::from_secs(3_600);

/// How long no code is looked at after so many wrong ones in a row.
///
/// ```
/// use valvewright_core::{token::wait_after, units::Millis};
/// assert_eq!(wait_after(2), Millis(0));
/// assert_eq!([3, 4, 5].map(wait_after), [30, 60, 120].map(Millis::from_secs));
/// assert_eq!(wait_after(255), Millis::from_secs(3_600));
/// ```
pub fn wait_after(wrong: u8) -> Millis {
    let Some(doubled) = wrong.checked_sub(FREE) else { return Millis(0) };
    let wait = 1_u32.checked_shl(u32::from(doubled)).map_or(u32::MAX, |times| FIRST.0.saturating_mul(times));
    Millis(wait).or_less(LONGEST_WAIT)
}
