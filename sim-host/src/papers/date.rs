//! Dates of papers: when a simulated moment was, and until when its record is kept.

use chrono::{Datelike, Months, NaiveDate, NaiveDateTime, TimeDelta};

/// Years that a record is kept in the United States: 40 CFR 82.42(b)(4) (read, annual edition 2015).
pub const YEARS_US: u32 = 3;
/// Years that a record is kept in the European Union, at least: operators' information on Regulation (EU) 2024/573 (read; the regulation
/// itself was not).
pub const YEARS_EU: u32 = 5;

/// The day on which a run begins where nothing else is said (own choice of the simulator: 2026-01-01 at 00:00). Papers count from there and
/// do not read KT-1, the station's clock: it labels, may be wrong, and no result has it.
pub fn first_day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 1, 1).unwrap_or_default()
}

/// The moment `t_s` after a run that began on `day` at 00:00; to the second, for papers.
pub fn moment(day: NaiveDate, t_s: f64) -> NaiveDateTime {
    // A run lasts a day for each of its jobs; what is no time counts as its begin.
    let seconds = if t_s.is_finite() { t_s.clamp(0.0, 1e9) as i64 } else { 0 };
    day.and_time(chrono::NaiveTime::MIN) + TimeDelta::seconds(seconds)
}

/// A date as all papers write it: `2026-01-31`.
pub fn day_words(day: NaiveDate) -> String {
    format!("{:04}-{:02}-{:02}", day.year(), day.month(), day.day())
}

/// A moment as all papers write it: `2026-01-31 14:05:09`.
pub fn words(of: NaiveDateTime) -> String {
    format!("{} {}", day_words(of.date()), of.time())
}

/// A date as a person writes it: year, month and day, `2026-01-31`, in the years 1970 to 2199.
pub fn read(text: &str) -> Option<NaiveDate> {
    let shape = |at: usize, byte: u8| if at == 4 || at == 7 { byte == b'-' } else { byte.is_ascii_digit() };
    let fits = text.len() == 10 && text.bytes().enumerate().all(|(at, byte)| shape(at, byte));
    let (year, month, day) = (text.get(0..4)?, text.get(5..7)?, text.get(8..10)?);
    let day = NaiveDate::from_ymd_opt(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?)?;
    (fits && (1970..2200).contains(&day.year())).then_some(day)
}

/// Until when a record of `made` is kept for `years`: the same day of that year. A record of 29 February is kept until 1 March where that
/// year has no such day: a day longer rather than shorter (own choice).
pub fn keep_until(made: NaiveDate, years: u32) -> NaiveDate {
    let year = made.year().saturating_add_unsigned(years);
    let same = made.with_year(year).or_else(|| NaiveDate::from_ymd_opt(year, 3, 1));
    // No year that `read` takes comes to the end of the calendar.
    same.or_else(|| made.checked_add_months(Months::new(12 * years))).unwrap_or(made)
}
