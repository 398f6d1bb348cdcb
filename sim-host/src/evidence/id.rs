//! Ids of what evidence joins: hazards, rows, faults, laws, worked examples; and lists of them as people write them.

use std::fmt;

use serde::{Deserialize, Serialize};
use valvewright_core::interlock::table::Hazard;
use valvewright_core::row::RowId;

/// What an id stands for, in the order in which they are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// `H01`.
    Hazard,
    /// `I03`, `HS-1`.
    Row,
    /// `F023`.
    Fault,
    /// `LC6`, law 6 of the controller.
    ControllerLaw,
    /// `LS4`, law 4 of the simulator.
    SimulatorLaw,
    /// `W24`.
    Example,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Self; 6] =
        [Self::Hazard, Self::Row, Self::Fault, Self::ControllerLaw, Self::SimulatorLaw, Self::Example];

    /// What precedes the number, and the digits it is written with; 0 for as many as it needs.
    const fn form(self) -> (&'static str, usize) {
        match self {
            Self::Hazard => ("H", 2),
            Self::Row => ("I", 2),
            Self::Fault => ("F", 3),
            Self::ControllerLaw => ("LC", 0),
            Self::SimulatorLaw => ("LS", 0),
            Self::Example => ("W", 0),
        }
    }

    /// For sentences.
    pub const fn noun(self) -> &'static str {
        match self {
            Self::Hazard => "hazard",
            Self::Row => "interlock row",
            Self::Fault => "fault",
            Self::ControllerLaw => "law of the controller",
            Self::SimulatorLaw => "law of the simulator",
            Self::Example => "worked example",
        }
    }
}

/// One id. They are ordered by kind, then by number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub struct Id {
    /// What it stands for.
    pub kind: Kind,
    /// Its printed number; the emergency stop has that of its row id.
    pub number: u16,
}

/// The emergency stop, the one row without a number of the series.
const STOP: u16 = RowId::Hs1 as u16;

impl Id {
    /// The id of that kind and number.
    pub const fn new(kind: Kind, number: u16) -> Self {
        Self { kind, number }
    }

    /// Reads an id as it is printed.
    pub fn parse(text: &str) -> Option<Self> {
        if text == RowId::Hs1.as_str() {
            return Some(Self::new(Kind::Row, STOP));
        }
        Kind::ALL.into_iter().find_map(|kind| {
            let (head, digits) = kind.form();
            let number = text.strip_prefix(head)?;
            let fits = if digits == 0 { (1..=2).contains(&number.len()) } else { number.len() == digits };
            let plain = number.bytes().all(|one| one.is_ascii_digit()) && (digits > 0 || !number.starts_with('0'));
            let id = Self::new(kind, (fits && plain).then(|| number.parse().ok())??);
            (id.number > 0 && id != Self::new(Kind::Row, STOP)).then_some(id)
        })
    }

    /// Reads an id in any case, with its hyphen or without, as a person types it.
    pub fn typed(text: &str) -> Option<Self> {
        let plain = text.trim().replace('-', "").to_ascii_uppercase();
        if plain == "HS1" { Self::parse("HS-1") } else { Self::parse(&plain) }
    }

    /// Reads one id, or two with a hyphen between them that stand for all from the first to the last.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn parse_range(text: &str) -> Result<Vec<Self>, String> {
        if let Some(one) = Self::parse(text) {
            return Ok(vec![one]);
        }
        let ends = text.split_once(['-', '–']).and_then(|(from, to)| Some((Self::parse(from)?, Self::parse(to)?)));
        match ends {
            Some((from, to)) if from.kind == to.kind && from.number < to.number => {
                Ok((from.number..=to.number).map(|number| Self::new(from.kind, number)).collect())
            }
            Some((from, to)) => Err(format!("`{text}` does not run from a smaller id to a larger one: {from}, {to}")),
            None => Err(format!("`{text}` is no id: H01, I03, F001, F039-F041, LC6, LS4, W24, HS-1")),
        }
    }

    /// Reads ids between commas or `and`, ranges among them.
    ///
    /// # Errors
    /// What is wrong with the first that can't be read.
    pub fn parse_list(text: &str) -> Result<Vec<Self>, String> {
        let mut list = Vec::new();
        for one in text.replace(" and ", ", ").split(',').map(str::trim) {
            list.extend(Self::parse_range(one)?);
        }
        Ok(list)
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (head, digits) = self.kind.form();
        if *self == Self::new(Kind::Row, STOP) {
            return f.pad(RowId::Hs1.as_str());
        }
        f.pad(&format!("{head}{:0digits$}", self.number))
    }
}

impl From<Id> for String {
    fn from(id: Id) -> Self {
        id.to_string()
    }
}

impl TryFrom<String> for Id {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        Self::parse(&text).ok_or_else(|| format!("`{text}` is no id"))
    }
}

impl From<RowId> for Id {
    fn from(row: RowId) -> Self {
        Self::new(Kind::Row, row as u16)
    }
}

impl From<Hazard> for Id {
    fn from(hazard: Hazard) -> Self {
        Self::new(Kind::Hazard, u16::from(hazard.0))
    }
}
