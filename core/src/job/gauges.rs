//! The readings that steps of upkeep go by, as plain numbers, or why there is none.

use super::context::Ctx;
use crate::sense::{Doubt, Quality, Reading};
use crate::upkeep::steps::Gauge;

/// Why there is no reading.
pub(super) enum Unread {
    /// Its instrument is broken.
    Bad,
    /// It is not to be believed at this moment.
    Doubtful,
}

/// The number of a reading. At the end of a gauge's range the pressure is there or beyond: that much is known.
fn number<T: Copy>(of: &Reading<T>, number: impl Fn(T) -> i32) -> Result<i32, Unread> {
    match of.quality {
        Quality::Good | Quality::Held(_) | Quality::Uncertain(Doubt::Saturated) => Ok(number(of.value)),
        Quality::Uncertain(_) => Err(Unread::Doubtful),
        Quality::Bad(_) | Quality::None => Err(Unread::Bad),
    }
}

/// The number that a step goes by.
pub(super) fn read(c: &Ctx<'_>, gauge: Gauge) -> Result<i32, Unread> {
    match gauge {
        Gauge::Hoses => c.r.service_pressure().map(|p| p.0).ok_or(Unread::Bad),
        Gauge::Separator => number(&c.r.pt5, |p| p.0),
        Gauge::Vacuum => number(&c.r.pt4, |p| p.0),
        Gauge::VesselPressure => number(&c.r.pt1, |p| p.0),
        Gauge::CabinetGas => number(&c.r.at2, |share| share.0),
        Gauge::Vessel => number(&c.r.wt1.mass, |mass| mass.0),
    }
}
