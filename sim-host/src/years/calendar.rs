//! When the services of a plan fall: weeks of five days, days of nine hours, and the weather of the day.

use std::f64::consts::TAU;

use super::plan::{Plan, WEEKS};
use crate::scenario::random::draw::Draw;

/// A day, s.
pub const DAY: f64 = 86_400.0;
/// A year of the calendar, s: 52 weeks, so that every year begins on the same day of the week.
pub const YEAR: f64 = 364.0 * DAY;
/// The doors open at eight and the last vehicle is taken in nine hours later, s (own choice).
const OPENS: f64 = 8.0 * 3_600.0;
const OPEN: f64 = 9.0 * 3_600.0;
/// Working days of a week.
const DAYS: u32 = 5;

/// When the service of this number, from 0, is to begin, s since the first midnight. The shop is closed in the last two weeks of a year.
pub fn due(plan: &Plan, number: u32) -> f64 {
    let week = number / plan.a_week;
    let in_week = number % plan.a_week;
    let (year, week) = (week / WEEKS, week % WEEKS);
    // As even over the days as whole services can be.
    let day = in_week * DAYS / plan.a_week;
    let first = (day * plan.a_week).div_ceil(DAYS);
    let here = ((day + 1) * plan.a_week).div_ceil(DAYS) - first;
    let slot = OPEN / f64::from(here.max(1));
    let days = f64::from(week * 7 + day);
    f64::from(year) * YEAR + days * DAY + OPENS + f64::from(in_week - first) * slot
}

/// The month, from 0, counted through all years; a month is a twelfth of a year.
pub fn month(t: f64) -> u32 {
    (t / (YEAR / 12.0)).max(0.0) as u32
}

/// Air temperature in the workshop at that time, K: the season's, gone over smoothly, and the day's own.
pub fn ambient(plan: &Plan, t: f64, draw: &mut Draw) -> f64 {
    let day = draw.between(-1_000, 1_000) as f64 * 1e-3;
    let share = (t / YEAR).fract();
    // Winter's middle is in mid-January, a twenty-fourth of the year.
    let quarter = (share - 1.0 / 24.0).rem_euclid(1.0) * 4.0;
    let (at, over) = (quarter.floor() as usize % 4, quarter.fract());
    let smooth = 0.5 - 0.5 * (TAU * 0.5 * over).cos();
    let mean = plan.seasons[at] + (plan.seasons[(at + 1) % 4] - plan.seasons[at]) * smooth;
    // To a tenth of a degree, so that it is the same on every host.
    ((mean + day * plan.spread) * 10.0).round() / 10.0
}
