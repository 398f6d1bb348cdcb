//! Who serves a station: numbers, names and roles. One item of the store, fixed places, little-endian.
//!
//! Promises: a list that has anybody has a supervisor; no number stands twice.

use heapless::{String, Vec};

use super::bytes::{Reader, Writer};

/// The layout that is written; another one is not read.
const VERSION: u8 = 1;
/// How many bytes a list has.
pub const ROSTER_BYTES: usize = 226;
/// How many operators a station knows: what one item of the store holds.
pub const OPERATORS: usize = 8;
/// Letters of a name: what stands beside its word on the narrowest paper (own choice).
pub const NAME_LETTERS: usize = 16;
/// Bytes of a name: half of its letters may take two.
pub const NAME_BYTES: usize = 24;
/// The highest number of an operator: four digits to be typed (own choice).
pub const NUMBER_MOST: u16 = 9_999;

/// What an operator may do.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Role {
    /// Serves vehicles.
    Technician,
    /// And changes what is protected.
    Supervisor,
}

impl Role {
    /// Every one, in the order of its bytes.
    pub const ALL: [Self; 2] = [Self::Technician, Self::Supervisor];
    /// Plain lower-case name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Technician => "technician",
            Self::Supervisor => "supervisor",
        }
    }
}

/// An operator.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Operator {
    /// 1 to [`NUMBER_MOST`].
    pub number: u16,
    /// What they may do.
    pub role: Role,
    /// See [`name`].
    pub name: String<NAME_BYTES>,
}

/// A name of 1 to [`NAME_LETTERS`] letters and at most [`NAME_BYTES`] bytes, without control characters; `None` for another one.
pub fn name(text: &str) -> Option<String<NAME_BYTES>> {
    let letters = text.chars().count();
    let fits = (1..=NAME_LETTERS).contains(&letters) && !text.chars().any(char::is_control);
    String::try_from(text).ok().filter(|_| fits && text.trim() == text)
}

/// Why the list stays as it is.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Denied {
    /// [`OPERATORS`] are on it: take one off.
    Full,
    /// The number is somebody's: take another one.
    Taken,
    /// The number is outside 1 to [`NUMBER_MOST`].
    Number,
    /// Nobody has this number.
    Nobody,
    /// It is the last supervisor: add another one before.
    LastSupervisor,
    /// The first on an empty list has to be a supervisor.
    FirstSupervisor,
}

/// Operators, in the order in which they came.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Roster(Vec<Operator, OPERATORS>);

impl Roster {
    /// All of them.
    pub fn all(&self) -> &[Operator] {
        &self.0
    }

    /// The one of this number.
    pub fn get(&self, number: u16) -> Option<&Operator> {
        self.0.iter().find(|one| one.number == number)
    }

    /// Adds one.
    ///
    /// # Errors
    /// The list stays as it is.
    pub fn add(&mut self, one: Operator) -> Result<(), Denied> {
        if !(1..=NUMBER_MOST).contains(&one.number) {
            return Err(Denied::Number);
        }
        if self.get(one.number).is_some() {
            return Err(Denied::Taken);
        }
        if self.0.is_empty() && one.role != Role::Supervisor {
            return Err(Denied::FirstSupervisor);
        }
        self.0.push(one).map_err(|_| Denied::Full)
    }

    /// Takes one off.
    ///
    /// # Errors
    /// The list stays as it is.
    pub fn remove(&mut self, number: u16) -> Result<(), Denied> {
        let Some(at) = self.0.iter().position(|one| one.number == number) else { return Err(Denied::Nobody) };
        let others = self.0.iter().enumerate().filter(|(place, _)| *place != at);
        if others.filter(|(_, one)| one.role == Role::Supervisor).count() == 0 {
            return Err(Denied::LastSupervisor);
        }
        let mut kept = Vec::new();
        for (_, one) in self.0.iter().enumerate().filter(|(place, _)| *place != at) {
            // One less than before has its place.
            let _fits = kept.push(one.clone());
        }
        self.0 = kept;
        Ok(())
    }

    /// As it is stored.
    pub fn encode(&self) -> [u8; ROSTER_BYTES] {
        let mut to = Writer::<ROSTER_BYTES>::new();
        to.put(&[VERSION, self.0.len() as u8]);
        for one in &self.0 {
            to.half(one.number);
            to.byte(one.role as u8);
            to.text(&one.name, NAME_BYTES);
        }
        to.done().0
    }

    /// What these bytes hold; `None` for what no station writes.
    pub fn decode(bytes: &[u8]) -> Option<Self> {
        let mut from = Reader(bytes);
        (bytes.len() == ROSTER_BYTES && from.byte()? == VERSION).then_some(())?;
        let count = from.byte()?;
        let mut read = Vec::<Operator, OPERATORS>::new();
        for _ in 0..count {
            let (number, role) = (from.half()?, from.one_of(&Role::ALL)?);
            let twice = read.iter().any(|one| one.number == number);
            (!twice && (1..=NUMBER_MOST).contains(&number)).then_some(())?;
            read.push(Operator { number, role, name: name(from.text(NAME_BYTES)?)? }).ok()?;
        }
        let led = read.is_empty() || read.iter().any(|one| one.role == Role::Supervisor);
        (led && from.0.iter().all(|byte| *byte == 0)).then_some(Self(read))
    }
}
