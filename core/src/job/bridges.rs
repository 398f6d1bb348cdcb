//! What the scales show to a procedure of upkeep: at rest, bridge by bridge, of the scale that it is about.

use super::context::Ctx;
use crate::kept::BRIDGES;
use crate::order::Procedure;
use crate::sense::scale::SPAN_CHANGE_LIMIT;
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

/// The gains that make the bridges show the weight as what it weighs, where they showed `span` more with it on; `None` where one is too far both from
/// the one in use and from the one on record (I21).
pub(super) fn gains(c: &Ctx<'_>, span: [Milligram; 2]) -> Option<[i32; BRIDGES]> {
    let mut gains = [0; BRIDGES];
    let all = gains.iter_mut().zip(&c.cfg.sense.scales).zip(c.spans);
    let mut shown = span.into_iter();
    for (place, ((gain, scale), kept)) in all.enumerate() {
        if !bridge_of(c.order.procedure, place) {
            continue;
        }
        let shown = shown.next().filter(|shown| shown.0 > 0)?;
        let exact = i64::from(scale.cal.gain()).saturating_mul(i64::from(c.order.mass.0));
        let fresh = i32::try_from(exact.checked_div(i64::from(shown.0))?).ok()?;
        let near = |was: i32| {
            let was = i64::from(was);
            let moved = i64::from(fresh).saturating_sub(was).saturating_abs();
            was != 0 && moved.saturating_mul(1_000) <= was.saturating_abs().saturating_mul(SPAN_CHANGE_LIMIT)
        };
        (near(scale.cal.gain()) || near(kept)).then_some(())?;
        *gain = fresh;
    }
    Some(gains)
}
