//! Codes as they lie about in a workshop: new ones, used ones, those of another part, of another station, and slips of the finger.
//!
//! All are made with the station's own key or, for another station's, with one that is made of it: codes of a simulation and of nothing else.

use std::collections::BTreeSet;

use serde::Serialize;
use valvewright_core::token::{Code, CodeKey, Kind, Part, Typed};

use super::service::happens;
use crate::scenario::random::draw::Draw;

/// What is typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sort {
    /// The code that came with the part.
    Own,
    /// A supervisor's release.
    Release,
    /// With a wrong symbol.
    Mistyped,
    /// One that was used.
    Used,
    /// Of another kind of part.
    OtherKind,
    /// Made with another station's key.
    OtherKey,
}

impl Sort {
    /// The word in results.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Own => "own",
            Self::Release => "release",
            Self::Mistyped => "mistyped",
            Self::Used => "used",
            Self::OtherKind => "other_kind",
            Self::OtherKey => "other_key",
        }
    }
}

/// A code about to be typed for a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Typing {
    /// For which.
    pub part: Part,
    /// What.
    pub code: Typed,
    /// Of which sort it is.
    pub sort: Sort,
    /// It was typed before, and a power cut swallowed the answer.
    pub again: bool,
}

/// All codes of a station.
#[derive(Clone, Debug)]
pub struct Codes {
    key: CodeKey,
    /// Serial numbers given out so far, in the order of [`Kind::ALL`].
    given: [u32; Kind::ALL.len()],
    /// Codes that were taken, oldest first.
    used: Vec<(Part, Typed)>,
    /// Numbers of all that were ever taken: the copy outside.
    pub taken: BTreeSet<u128>,
}

impl Codes {
    /// Of a station with this key.
    pub const fn new(key: CodeKey) -> Self {
        Self { key, given: [0; Kind::ALL.len()], used: Vec::new(), taken: BTreeSet::new() }
    }

    fn mint(&self, kind: Kind, serial: u32, key: &CodeKey) -> Typed {
        // Serial numbers of a simulation stay far below the last one.
        Code { kind, serial }.mint(key).unwrap_or(Typed([b'0'; 16]))
    }

    /// A new code, with the next serial number of its kind.
    pub fn fresh(&mut self, part: Part, release: bool) -> Typing {
        let kind = if release { Kind::Release } else { part.kind() };
        let at = Kind::ALL.iter().position(|one| *one == kind).unwrap_or(0);
        self.given[at] += 1;
        let sort = if release { Sort::Release } else { Sort::Own };
        Typing { part, code: self.mint(kind, self.given[at], &self.key), sort, again: false }
    }

    /// It was taken.
    pub fn use_up(&mut self, typing: Typing) {
        self.used.push((typing.part, typing.code));
    }

    /// All that is typed for a worn part: perhaps wrong codes first, then its own or a release, perhaps the same once more.
    pub fn script(&mut self, part: Part, wrong: f64, draw: &mut Draw) -> Vec<Typing> {
        let release = draw.chance(8);
        let own = self.fresh(part, release);
        let mut all = Vec::new();
        if happens(draw, wrong) {
            for _ in 0..draw.between(1, 4) {
                all.extend(self.wrong(part, own.code, draw));
            }
        }
        all.push(own);
        if draw.chance(40) {
            all.push(Typing { sort: Sort::Used, ..own });
        }
        all
    }

    fn wrong(&self, part: Part, own: Typed, draw: &mut Draw) -> Option<Typing> {
        let typing = |code, sort| Some(Typing { part, code, sort, again: false });
        match draw.between(0, 4) {
            0 | 1 => {
                // The newest is what lies about; older ones turn up too.
                let back = if draw.chance(60) { 0 } else { draw.between(0, 40) as usize };
                let mine: Vec<Typed> = self.used.iter().filter(|(of, _)| *of == part).map(|(_, code)| *code).collect();
                let at = mine.len().checked_sub(1)?.saturating_sub(back);
                typing(*mine.get(at)?, Sort::Used)
            }
            2 => {
                let mut symbols = own.0;
                let at = draw.between(0, 14) as usize;
                let others: Vec<u8> =
                    b"0123456789ABCDEFGHJKMNPQRSTVWXYZ".iter().copied().filter(|one| *one != symbols[at]).collect();
                symbols[at] = draw.pick(&others);
                typing(Typed(symbols), Sort::Mistyped)
            }
            3 => {
                let other = Part::WEAR.into_iter().find(|one| *one != part)?;
                typing(self.mint(other.kind(), 900_000, &self.key), Sort::OtherKind)
            }
            _ => {
                let CodeKey(mut bytes) = self.key;
                bytes.iter_mut().for_each(|byte| *byte ^= 0x5A);
                typing(self.mint(part.kind(), 1 + draw.between(0, 1_000) as u32, &CodeKey(bytes)), Sort::OtherKey)
            }
        }
    }
}
