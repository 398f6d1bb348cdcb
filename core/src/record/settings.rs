//! Settings of a workshop: language, clock, head of the tickets, ticket, buzzer, units. One item of the store, fixed places, little-endian.
//!
//! Promises: the layout before this one is read and written anew with the next change; what no station writes is not read.

use heapless::String;

use super::bytes::{Reader, Writer};

/// The layout that is written,
const VERSION: u8 = 1;
/// and the one before it, which had no units and two lines of 32 bytes.
const BEFORE: u8 = 0;
/// How many bytes settings have.
pub const SETTINGS_BYTES: usize = 205;
/// Lines of a ticket's head: what a narrow paper bears without becoming all head (own choice).
pub const HEADER_LINES: usize = 4;
/// Letters of such a line: the narrowest paper has 32 columns (own choice).
pub const HEADER_LETTERS: usize = 32;
/// Bytes of such a line: letters beyond ASCII take two, and half of a line may be such (own choice: four lines fit one item).
pub const HEADER_BYTES: usize = 47;
/// Bytes of a line in the layout before.
const BYTES_BEFORE: usize = 32;
/// How far the clock may be moved against the one of the board, s: a day and an hour each way (own choice: time zones and summer time).
pub const CLOCK_MOST: i32 = 90_000;

/// Language of tickets and display.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Language {
    /// English.
    #[default]
    En,
    /// German.
    De,
    /// Spanish.
    Es,
    /// French.
    Fr,
}

impl Language {
    /// Every one, in the order of its bytes.
    pub const ALL: [Self; 4] = [Self::En, Self::De, Self::Es, Self::Fr];
}

/// The wall clock.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Clock {
    /// It was never set, and labels nothing.
    NotSet,
    /// It is so far ahead of the board's own, s, at most [`CLOCK_MOST`] each way.
    Offset(i32),
}

/// A line of a ticket's head.
pub type Line = String<HEADER_BYTES>;

/// A line of at most [`HEADER_LETTERS`] letters and [`HEADER_BYTES`] bytes, without control characters; `None` for another one.
pub fn line(text: &str) -> Option<Line> {
    let fits = text.chars().count() <= HEADER_LETTERS && !text.chars().any(char::is_control);
    Line::try_from(text).ok().filter(|_| fits)
}

/// Settings.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Settings {
    /// Of tickets and display.
    pub language: Language,
    /// A ticket is printed after each service.
    pub ticket: bool,
    /// The buzzer sounds.
    pub buzzer: bool,
    /// The display shows psi, oz and degF in place of bar, g and degC.
    pub us_units: bool,
    /// The wall clock.
    pub clock: Clock,
    /// Head of the tickets; lines after the last one that is not empty are none.
    pub header: [Line; HEADER_LINES],
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            language: Language::En,
            ticket: true,
            buzzer: true,
            us_units: false,
            clock: Clock::Offset(0),
            header: [const { Line::new() }; HEADER_LINES],
        }
    }
}

fn clock(set: bool, offset: i32) -> Option<Clock> {
    match (set, offset) {
        (false, 0) => Some(Clock::NotSet),
        (true, offset) if offset.unsigned_abs() <= CLOCK_MOST.unsigned_abs() => Some(Clock::Offset(offset)),
        _ => None,
    }
}

impl Settings {
    /// As they are stored.
    pub fn encode(&self) -> [u8; SETTINGS_BYTES] {
        let mut to = Writer::<SETTINGS_BYTES>::new();
        let (set, offset) = match self.clock {
            Clock::NotSet => (false, 0),
            Clock::Offset(offset) => (true, offset),
        };
        let flags = [self.ticket, self.buzzer, self.us_units, set];
        to.put(&[VERSION, self.language as u8]);
        flags.into_iter().for_each(|flag| to.byte(u8::from(flag)));
        to.int(offset);
        // Spare: zeros until something needs them.
        to.put(&[0; 3]);
        self.header.iter().for_each(|line| to.text(line, HEADER_BYTES));
        to.done().0
    }

    /// What these bytes hold, in this layout or the one before; `None` for what no station writes.
    pub fn decode(bytes: &[u8]) -> Option<Self> {
        let mut from = Reader(bytes);
        match from.byte()? {
            VERSION => Self::read(&mut from),
            BEFORE => Self::read_before(&mut from),
            _ => None,
        }
        .filter(|_| from.ended())
    }

    fn read(from: &mut Reader<'_>) -> Option<Self> {
        let language = from.one_of(&Language::ALL)?;
        let [ticket, buzzer, us_units, set] = [from.flag()?, from.flag()?, from.flag()?, from.flag()?];
        let clock = clock(set, from.int()?)?;
        (from.take::<3>()? == [0; 3]).then_some(())?;
        let mut header = [const { Line::new() }; HEADER_LINES];
        for one in &mut header {
            *one = line(from.text(HEADER_BYTES)?)?;
        }
        Some(Self { language, ticket, buzzer, us_units, clock, header })
    }

    /// Layout 0: language, ticket, buzzer, the clock's offset, two lines.
    fn read_before(from: &mut Reader<'_>) -> Option<Self> {
        let language = from.one_of(&Language::ALL)?;
        let [ticket, buzzer] = [from.flag()?, from.flag()?];
        let clock = clock(true, from.int()?)?;
        let mut read = Self { language, ticket, buzzer, clock, ..Self::default() };
        for one in read.header.iter_mut().take(2) {
            *one = line(from.text(BYTES_BEFORE)?)?;
        }
        Some(read)
    }
}
