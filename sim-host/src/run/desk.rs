//! What a run has of its workshop: the part that goes in, its clock, who serves, and the books that are kept.

use valvewright_core::kept::{Kept, Memory};
use valvewright_core::record::settings::Clock;

use super::error::RunError;
use super::journal::Journal;
use super::store::Store;
use crate::flash::Image;

/// KT-1 when a run begins: 2026-01-01 00:00 in seconds since 2000-01-01 (own choice; nothing depends on it).
pub const EPOCH: u32 = 820_540_800;

/// What a run takes from its workshop.
#[derive(Debug, Clone)]
pub struct Workshop {
    /// The part; none where the workshop begins.
    pub image: Option<Image>,
    /// True time when the run begins, s since 2000-01-01.
    pub now: u32,
    /// How the station's clock differs from it.
    pub clock: Clock,
    /// Who serves; 0 for nobody.
    pub operator: u16,
    /// Number in the book of the vehicle of each job; 0 for none.
    pub book: Vec<u32>,
}

/// The desk of a run.
#[derive(Debug, Clone)]
pub(super) struct Desk {
    pub(super) now: u32,
    clock: Clock,
    pub(super) operator: u16,
    pub(super) book: Vec<u32>,
    pub(super) journal: Journal,
}

impl Desk {
    /// At the begin of a run.
    pub(super) fn of(workshop: &Workshop) -> Self {
        Self {
            now: workshop.now,
            clock: workshop.clock,
            operator: workshop.operator,
            book: workshop.book.clone(),
            journal: Journal::default(),
        }
    }

    /// KT-1 so long after the run began; 0 where it was never set.
    pub(super) fn clock(&self, seconds: u32) -> u32 {
        match self.clock {
            Clock::NotSet => 0,
            Clock::Offset(offset) => self.now.wrapping_add(seconds).wrapping_add_signed(offset),
        }
    }
}

/// A store as a workshop has it, and what a start on it finds; where there is none yet, a new one that holds `first`.
///
/// # Errors
/// The image is of another part.
pub fn opened(first: Kept, image: Option<&Image>) -> Result<(Store, Memory), RunError> {
    match image {
        Some(image) => Store::from_image(image).ok_or_else(|| RunError::Plant("the store is of another part".into())),
        None => Ok((Store::of_workshop(&first), Memory::Sound(first))),
    }
}
