//! How long records are kept, and what refrigerant stands for: the worked examples through the program's own functions.

use chrono::NaiveDate;
use valvewright_sim::fluid::FluidKind;
use valvewright_sim::papers::date::{YEARS_EU, YEARS_US, day_words, first_day, keep_until, moment, read, words};
use valvewright_sim::papers::gwp;

fn kept(made: &str) -> [String; 2] {
    let made = read(made).unwrap_or_else(|| panic!("{made} is a date"));
    [YEARS_US, YEARS_EU].map(|years| day_words(keep_until(made, years)))
}

/// Shows W39.
#[test]
fn w39_a_record_of_2025_is_kept_for_three_years_and_for_five() {
    assert_eq!(kept("2025-03-01"), ["2028-03-01", "2030-03-01"]);
}

#[test]
fn a_record_of_29_february_is_kept_a_day_longer_rather_than_shorter() {
    assert_eq!(kept("2024-02-29"), ["2027-03-01", "2029-03-01"]);
    assert_eq!(kept("2024-02-28"), ["2027-02-28", "2029-02-28"]);
    assert_eq!(kept("2023-12-31"), ["2026-12-31", "2028-12-31"]);
    let leap = keep_until(read("2024-02-29").expect("a date"), 4);
    assert_eq!(day_words(leap), "2028-02-29");
    // No record of sixty years is kept less than its time.
    let mut day = NaiveDate::from_ymd_opt(1990, 1, 1).expect("a date");
    while day < NaiveDate::from_ymd_opt(2050, 1, 1).expect("a date") {
        for years in [YEARS_US, YEARS_EU] {
            let days = (keep_until(day, years) - day).num_days();
            let least = i64::from(years) * 365;
            assert!((least..=least + 2).contains(&days), "{day}: {days} days in {years} years");
        }
        day = day.succ_opt().expect("a next day");
    }
}

/// Shows W33.
#[test]
fn w33_half_a_kilogram_of_r134a_and_a_step_of_five_tonnes() {
    assert!((gwp::tonnes(FluidKind::R134a, 0.5) - 0.715).abs() < 0.715e-3);
    assert!((gwp::kilograms(FluidKind::R134a, 5.0) - 3.497).abs() < 3.497e-3);
}

#[test]
fn every_potential_says_where_it_is_from_and_what_was_not_read() {
    for of in FluidKind::ALL {
        let potential = gwp::potential(of);
        assert!(potential.value > 0.0 && potential.source.contains("2024/573") && potential.source.contains("IPCC AR"));
        assert!(
            potential.source.contains("(read") || potential.source.contains("(from memory)"),
            "{}",
            potential.source
        );
    }
}

#[test]
fn a_date_is_read_as_written_or_not_at_all() {
    assert_eq!(read("2026-01-31").map(day_words).as_deref(), Some("2026-01-31"));
    let wrong = [
        "2026-1-31",
        "2026-02-30",
        "2025-02-29",
        "31.01.2026",
        "",
        "2026-01-31 ",
        "1969-12-31",
        "2200-01-01",
        "２026-01-1",
        "+026-01-01",
    ];
    for text in wrong {
        assert_eq!(read(text), None, "`{text}`");
    }
}

#[test]
fn a_moment_counts_from_midnight_of_the_first_day() {
    assert_eq!(day_words(first_day()), "2026-01-01");
    assert_eq!(words(moment(first_day(), 3_725.9)), "2026-01-01 01:02:05");
    assert_eq!(words(moment(first_day(), f64::NAN)), "2026-01-01 00:00:00");
    assert_eq!(words(moment(first_day(), 86_400.0)), "2026-01-02 00:00:00");
}
