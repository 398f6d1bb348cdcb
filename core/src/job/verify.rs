//! Let the charged circuit rest and see whether its static pressures fit the ambient temperature.
//!
//! Done when every side with a coupler stands between 0.4 and 1.5 times saturation at ambient: wide, since the engine bay may be warm and the
//! circuit still cold from flashing; it catches an empty side or a gauge gone wrong, no more (own choice).

use super::context::{Ctx, DONE, Status, failed};
use crate::order::Sides;
use crate::talk::Notice;
use crate::units::*;
use crate::verdict::GiveUp;

/// Liquid runs and hoses even out (own choice).
const REST: Millis = Millis::from_secs(60);

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Verify;

impl Verify {
    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        c.progress_by_time(REST);
        if c.t < REST {
            return Status::Running;
        }
        let (Some(low), Some(high)) = (c.r.pt2.usable(), c.r.pt3.usable()) else { return failed(GiveUp::ReadingBad) };
        c.tell(Notice::StaticPressure(low, high));
        let saturation = i64::from(c.cfg.refrigerant.p_sat(c.ambient()).0);
        let fits = |p: AbsPa| {
            let p = i64::from(p.0) * 10;
            p >= saturation * 4 && p <= saturation * 15
        };
        let (low_fits, high_fits) = (fits(low), fits(high));
        let well = match c.order.sides {
            Sides::Both => low_fits && high_fits,
            Sides::Low => low_fits,
            Sides::High => high_fits,
        };
        if well { DONE } else { failed(GiveUp::PressureImplausible) }
    }
}
