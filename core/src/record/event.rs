//! What happened to a station, as its log of events keeps it: 20 bytes of fixed places, little-endian.
//!
//! Promises: the same bytes on host and board; a kind that this program does not know is not read, and not taken for another one.

use super::bytes::{Reader, Writer};
use super::words::Found;
use crate::kept::{Boot, Proof};
use crate::row::RowId;
use crate::token::{CodeFault, Kind, Part};
use crate::units::Milligram;

/// The layout that is written; another one is not read.
const VERSION: u8 = 1;
/// How many bytes an event has.
pub const EVENT_BYTES: usize = 20;
/// In place of what a trip looked at where only a latch from before power-on holds it; no [`crate::row::Watch`] has this number.
const NO_WATCH: u8 = u8::MAX;

/// The first reading of a trip.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Reading {
    /// Number of its [`crate::row::Watch`].
    pub watch: u8,
    /// In the unit of the cause's set point.
    pub value: i32,
    /// The input was bad.
    pub bad: bool,
}

/// What of the workshop's was changed.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Changed {
    /// Language, header, ticket, buzzer, units.
    Settings,
    /// The wall clock.
    Clock,
    /// The list of operators.
    Operators,
    /// Presets of phase parameters.
    Presets,
    /// The vehicle book.
    Vehicles,
}

impl Changed {
    /// Every one, in the order of its bytes.
    pub const ALL: [Self; 5] = [Self::Settings, Self::Clock, Self::Operators, Self::Presets, Self::Vehicles];
}

/// What happened.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum What {
    /// An interlock tripped.
    Tripped(RowId, Option<Reading>),
    /// The station started: why, whether its memory could be believed, and what the store found.
    Started(Boot, bool, Found),
    /// Power went in an order: its number, and what it had charged.
    Interrupted(u16, Milligram),
    /// A part was exchanged; whether a supervisor's release stood in for its own code.
    Exchanged(Part, bool),
    /// A code was not taken.
    CodeRefused(Part, CodeFault),
    /// Something of the workshop's was changed, by the operator of this number (0: none was named).
    Changed(Changed, u16),
    /// A scale (its place in [`crate::frame::Scale::ALL`]) was adjusted; the new gain as [`crate::sense::scale::ScaleCal::gain`] tells it.
    Calibrated(u8, i32),
    /// A proof test was made, and is due next at this time of KT-1 (0: no date).
    Proved(Proof, u32),
    /// The store does not take what it is given.
    NotStored,
}

/// What happened, and when by KT-1 (0: the clock was not set).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Event {
    /// KT-1, s.
    pub clock: u32,
    /// What.
    pub what: What,
}

/// Reasons of a start in the order of their bytes.
const BOOTS: [Boot; 3] = [Boot::PowerOn, Boot::Watchdog, Boot::BrownOut];
/// What a start finds in the order of its bytes.
const FOUND: [Found; 5] = [Found::Blank, Found::Sound, Found::Repaired, Found::Partly, Found::Lost];

fn place<T: PartialEq>(all: &[T], one: &T) -> u8 {
    all.iter().position(|of| of == one).unwrap_or(0) as u8
}

/// A fault of a code as two bytes and a word.
fn fault_bytes(fault: CodeFault) -> (u8, u8, u32) {
    match fault {
        CodeFault::Mistyped => (0, 0, 0),
        CodeFault::OtherVersion => (1, 0, 0),
        CodeFault::NotOurs => (2, 0, 0),
        CodeFault::OtherKind(kind) => (3, place(&Kind::ALL, &kind), 0),
        CodeFault::UsedBefore => (4, 0, 0),
        CodeFault::TooOld => (5, 0, 0),
        CodeFault::Wait(time) => (6, 0, time.0),
        CodeFault::NotStored => (7, 0, 0),
    }
}

fn fault_of(of: u8, kind: u8, time: u32) -> Option<CodeFault> {
    Some(match of {
        0 => CodeFault::Mistyped,
        1 => CodeFault::OtherVersion,
        2 => CodeFault::NotOurs,
        3 => CodeFault::OtherKind(*Kind::ALL.get(usize::from(kind))?),
        4 => CodeFault::UsedBefore,
        5 => CodeFault::TooOld,
        6 => CodeFault::Wait(crate::units::Millis(time)),
        7 => CodeFault::NotStored,
        _ => return None,
    })
}

/// Kind, three bytes and two words of an event.
type Parts = (u8, [u8; 3], [u32; 2]);

impl What {
    fn parts(self) -> Parts {
        match self {
            Self::Tripped(row, None) => (1, [row as u8, NO_WATCH, 0], [0; 2]),
            Self::Tripped(row, Some(first)) => {
                (1, [row as u8, first.watch, u8::from(first.bad)], [first.value.cast_unsigned(), 0])
            }
            Self::Started(boot, lost, found) => {
                (2, [place(&BOOTS, &boot), u8::from(lost), place(&FOUND, &found)], [0; 2])
            }
            Self::Interrupted(order, charged) => (3, [0; 3], [u32::from(order), charged.0.cast_unsigned()]),
            Self::Exchanged(part, release) => (4, [place(&Part::ALL, &part), u8::from(release), 0], [0; 2]),
            Self::CodeRefused(part, fault) => {
                let (of, kind, time) = fault_bytes(fault);
                (5, [place(&Part::ALL, &part), of, kind], [time, 0])
            }
            Self::Changed(what, who) => (6, [place(&Changed::ALL, &what), 0, 0], [u32::from(who), 0]),
            Self::Calibrated(scale, gain) => (7, [scale, 0, 0], [gain.cast_unsigned(), 0]),
            Self::Proved(proof, due) => (8, [place(&Proof::ALL, &proof), 0, 0], [due, 0]),
            Self::NotStored => (9, [0; 3], [0; 2]),
        }
    }

    fn of((kind, [a, b, c], [x, y]): Parts) -> Option<Self> {
        let yes = |byte: u8| if byte < 2 { Some(byte == 1) } else { None };
        let part = |at: u8| Part::ALL.get(usize::from(at)).copied();
        Some(match kind {
            1 => {
                let row = RowId::ALL.into_iter().find(|row| *row as u8 == a)?;
                let first = Reading { watch: b, value: x.cast_signed(), bad: yes(c)? };
                Self::Tripped(row, Some(first).filter(|first| first.watch != NO_WATCH))
            }
            2 => Self::Started(*BOOTS.get(usize::from(a))?, yes(b)?, *FOUND.get(usize::from(c))?),
            3 => Self::Interrupted(u16::try_from(x).ok()?, Milligram(y.cast_signed())),
            4 => Self::Exchanged(part(a)?, yes(b)?),
            5 => Self::CodeRefused(part(a)?, fault_of(b, c, x)?),
            6 => Self::Changed(*Changed::ALL.get(usize::from(a))?, u16::try_from(x).ok()?),
            7 => Self::Calibrated(a, x.cast_signed()),
            8 => Self::Proved(*Proof::ALL.get(usize::from(a))?, x),
            9 => Self::NotStored,
            _ => return None,
        })
    }
}

impl Event {
    /// As it is stored.
    pub fn encode(&self) -> [u8; EVENT_BYTES] {
        let (kind, bytes, words) = self.what.parts();
        let mut to = Writer::<EVENT_BYTES>::new();
        to.put(&[VERSION, kind]);
        to.word(self.clock);
        to.put(&bytes);
        to.byte(0);
        words.into_iter().for_each(|word| to.word(word));
        to.done().0
    }

    /// What these bytes hold; `None` for another version, or a kind that this program does not know.
    pub fn decode(bytes: &[u8]) -> Option<Self> {
        let mut from = Reader(bytes);
        (from.byte()? == VERSION).then_some(())?;
        let kind = from.byte()?;
        let clock = from.word()?;
        let three = from.take::<3>()?;
        (from.byte()? == 0).then_some(())?;
        let words = [from.word()?, from.word()?];
        let rest = from.take::<2>()?;
        let what = What::of((kind, three, words))?;
        (from.ended() && rest == [0; 2]).then_some(Self { clock, what })
    }
}
