//! The watchdog is fed only by a scan that went through all of its stages, in order, with time moving.
//!
//! Control-flow monitoring as IEC 60730-1 Annex H and IEC 60335-1 Annex R ask of class B software (from memory): each
//! stage leaves its mark in one word, in a way that depends on order, and at the end the word is compared with what it
//! must be. The time slot is judged too: two scans at the same tick mean a stopped clock, on which no duration of the
//! controller can be relied.
//!
//! Not promised: that a stage did its work well. That is judged by the stages themselves and by effect checks.

use crate::units::Instant;

/// An independent watchdog: unless fed in time it takes the valve rail away and restarts the processor.
///
/// Its time must lie above five scans and at or below 0.5 s, in which [`Outputs`](crate::frame::Outputs) must be refreshed.
pub trait Watchdog {
    /// Tells it that one whole scan was done.
    fn feed(&mut self);
}

/// A stage of the scan.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Stage {
    /// The frame was read.
    Read,
    /// The controller judged it, at this tick.
    Judged(Instant),
    /// The outputs were set.
    Applied,
}

impl Stage {
    /// Constants with about as many ones as zeros and far from each other; the tick is mixed in so that it cannot be
    /// altered between judging and the comparison.
    const fn mark(self) -> u32 {
        match self {
            Self::Read => 0x5A3C_96E1,
            Self::Judged(at) => 0xC396_1E5B ^ at.0,
            Self::Applied => 0x96E1_B4D2,
        }
    }
}

/// The marks of the scan under way.
///
/// ```
/// use valvewright_core::port::watchdog::{Flow, Stage};
/// use valvewright_core::units::Instant;
///
/// let mut flow = Flow::new();
/// for tick in [50, 100] {
///     flow.pass(Stage::Read);
///     flow.pass(Stage::Judged(Instant(tick)));
///     flow.pass(Stage::Applied);
///     assert!(flow.complete());
/// }
/// flow.pass(Stage::Read);
/// flow.pass(Stage::Applied); // nobody judged
/// assert!(!flow.complete() && flow.broken());
/// ```
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Flow {
    word: u32,
    scan: u32,
    judged: Option<Instant>,
    last: Option<Instant>,
    broken: bool,
}

impl Default for Flow {
    fn default() -> Self {
        Self::new()
    }
}

impl Flow {
    /// Before the first scan.
    pub const fn new() -> Self {
        Self { word: begin(0), scan: 0, judged: None, last: None, broken: false }
    }

    /// Leaves the mark of a stage.
    pub fn pass(&mut self, stage: Stage) {
        self.word = mix(self.word, stage.mark());
        if let Stage::Judged(at) = stage {
            self.judged = Some(at);
        }
    }

    /// Whether the scan went through all of its stages in order, at another tick than the last; then begins the next.
    ///
    /// Once wrong, always wrong: a program that lost its way is not to be trusted because it found back, so only a
    /// restart makes a flow whole again.
    pub fn complete(&mut self) -> bool {
        let whole = self.judged.is_some_and(|at| {
            let stages = [Stage::Read, Stage::Judged(at), Stage::Applied];
            let due = stages.iter().fold(begin(self.scan), |word, stage| mix(word, stage.mark()));
            self.word == due && self.last != Some(at)
        });
        self.broken |= !whole;
        self.last = self.judged.take();
        self.scan = self.scan.wrapping_add(1);
        self.word = begin(self.scan);
        !self.broken
    }

    /// Whether a scan was ever incomplete since the start.
    pub const fn broken(&self) -> bool {
        self.broken
    }

    /// How many scans were ended, wrapping; goes into the word, so that the marks of one scan are worthless in the next.
    pub const fn scan(&self) -> u32 {
        self.scan
    }
}

const fn begin(scan: u32) -> u32 {
    mix(0x3C96_E15A, scan)
}

/// Each step is a bijection of the word (rotation, exclusive or, odd factor) and no two of them commute.
const fn mix(word: u32, mark: u32) -> u32 {
    (word.rotate_left(7) ^ mark).wrapping_mul(0x9E37_79B1)
}
