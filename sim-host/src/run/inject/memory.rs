//! What the injector remembers from scan to scan: what was told, and the store as it was.

use valvewright_core::order::PhaseKind;
use valvewright_core::talk::Notice;

use crate::run::store::Store;

/// Times that are equal but for rounding, s.
pub(super) const HALF: f64 = 1e-6;

/// What was told and seen since the last scan.
#[derive(Clone, Default)]
pub(super) struct Heard {
    /// Notices, their ids, and rows that tripped.
    pub(super) told: Vec<Notice>,
    pub(super) notices: Vec<&'static str>,
    pub(super) rows: Vec<&'static str>,
    pub(super) phase: Option<PhaseKind>,
    pub(super) step: &'static str,
    /// Phases that began and ended in this scan.
    pub(super) began: Option<PhaseKind>,
    pub(super) ended: Option<PhaseKind>,
    pub(super) came_to: bool,
}

impl Heard {
    /// Nothing was told, and phase and step are those of the last look.
    #[inline]
    pub(super) fn is_the_same(&self, phase: Option<PhaseKind>, step: &'static str) -> bool {
        self.told.is_empty() && self.phase == phase && (std::ptr::eq(self.step, step) || self.step == step)
    }
}

/// The store as a fault keeps it for later.
#[derive(Clone, Default, Debug)]
pub(super) struct Copies {
    /// As it stood when the job began.
    pub(super) begin: Option<Store>,
}

impl Copies {
    /// Knows the store as it stands when the first fault is planned.
    pub(super) fn know(&mut self, store: &Store) {
        self.begin.get_or_insert_with(|| store.clone());
    }
}
