//! Words of the store: its plan, what a start finds, why it refuses. Each refusal says who acts.

/// Bytes that a value may have (own choice: the longest thing the station keeps in one piece is a settings block of some 200).
pub const MOST: usize = 240;
/// Keys from here on belong to the store itself.
pub const KEYS: u8 = 0xF0;
/// How many logs a store has.
pub const LOGS: usize = if cfg!(feature = "logs") { 2 } else { 0 };
/// Pages that one of the two sides may have: one bit each in a page's header.
pub const SIDE_MOST: u8 = 16;

/// Why something was not done. What was acknowledged before stands.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Refusal {
    /// The plan does not fit the flash. Whoever wires the board corrects it.
    Plan,
    /// The key is the store's own, or the value longer than allowed. A mistake of the caller.
    Input,
    /// No room for it. Caller: refuse what would have to be recorded; an export may make room in a log.
    Full,
    /// It was tried in every way and is not there. Caller: treat what was to be recorded as not done.
    NotStored,
    /// Too few pages still work. Technician: exchange the part; what is stored can be read.
    WornOut,
    /// It was stored once and cannot be believed any more. Caller: take the safe side; supervisor: repair on record.
    Lost,
    /// Never commissioned: every page is blank. Caller: commission, on a supervisor's word.
    Blank,
    /// Written by a later layout, which is told. Caller: leave it alone and say which program is needed.
    TooNew(u8),
}

/// What a start finds.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Found {
    /// Every page was read twice, all is blank, and no page was ever prepared by this store. Only this is new.
    Blank,
    /// All of it, twice, as it was left.
    Sound,
    /// All that was acknowledged is there; a cut, a flip or an unsteady bit was mended from the other copy.
    Repaired,
    /// Some of it can't be believed, on either side: [`Refusal::Lost`] for what is concerned, the rest is there.
    Partly,
    /// Nothing that can be believed. Nothing was touched. Never to be taken for new.
    Lost,
}

/// What a log does when it is full.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum WhenFull {
    /// Refuse, until somebody lets go of what was exported.
    Refuse,
    /// Take the place of the oldest page, if all of it was exported; refuse else.
    OverExported,
}

/// A log's place and habits.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LogPlan {
    /// Pages, at least 2, or 0 for no such log.
    pub pages: u16,
    /// Longest record, 1 to [`MOST`] bytes.
    pub longest: u8,
    /// When it is full.
    pub when_full: WhenFull,
}

/// What lies where: the first side, the second side, the logs, page after page from the start of the flash.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Plan {
    /// Pages of each of the two sides, 2 to [`SIDE_MOST`].
    pub side: u8,
    /// The logs.
    pub logs: [LogPlan; LOGS],
    /// Erase cycles that a page is rated for, from its data sheet.
    pub rating: u32,
}

/// How the part bears up.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Health {
    /// Most erase cycles of a page of the sides, as far as pages tell.
    pub wear: u32,
    /// Most erase cycles of a page of the logs.
    pub log_wear: u32,
    /// One of them has passed 80 % of the rating.
    pub worn: bool,
    /// Pages of the sides that failed and are used no more.
    pub retired: u8,
    /// Reads that needed more than one look, programs and erases that did not do what they said, since the start.
    pub mended: u16,
}

/// What [`crate::record::Store::tidy`] did.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Tidied {
    /// Nothing is left to do.
    Nothing,
    /// Erased a page, or tried to.
    Erased,
    /// Wrote a side anew, to places that were erased before.
    Renewed,
}
