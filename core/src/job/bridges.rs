//! What the scales show to a procedure of upkeep: at rest, bridge by bridge, of the scale that it is about.

use crate::order::Procedure;
use crate::sense::{Readings, Weight};
use crate::units::Milligram;

/// What a scale shows, once it rests.
pub(super) fn rests(scale: &Weight) -> Option<Milligram> {
    scale.mass.usable().filter(|_| scale.still)
}

/// What the bridges of the scale that a procedure is about show at rest; one bridge counts for both.
pub(super) fn bridges(r: &Readings, of: Procedure) -> Option<[Milligram; 2]> {
    match of {
        Procedure::UsedOilScale => rests(&r.wt2).map(|mass| [mass; 2]),
        Procedure::NewOilScale => rests(&r.wt3).map(|mass| [mass; 2]),
        _ => Some([rests(&r.wt1a)?, rests(&r.wt1b)?]),
    }
}

/// Whether the bridge at this place is one of the scale that a procedure is about.
pub(super) const fn bridge_of(of: Procedure, place: usize) -> bool {
    match of {
        Procedure::UsedOilScale => place == 2,
        Procedure::NewOilScale => place == 3,
        _ => place < 2,
    }
}

/// The one of two that is further from nothing.
pub(super) fn further([a, b]: [Milligram; 2]) -> Milligram {
    if a.0.saturating_abs() >= b.0.saturating_abs() { a } else { b }
}
