//! What the injector remembers from scan to scan: what was told, and the store as it was.

use valvewright_core::order::PhaseKind;
use valvewright_core::talk::Notice;

use crate::run::store::Store;

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

/// The store as a fault keeps it for later.
#[derive(Clone, Default, Debug)]
pub(super) struct Copies {
    /// As it stood when the job began.
    pub(super) begin: Option<Store>,
    /// As it was before the last scan, and as it is while a start reads it wrong.
    pub(super) before: Option<Store>,
    pub(super) sound: Option<Store>,
}
