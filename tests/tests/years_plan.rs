//! A plan of years is read as a person wrote it, and each of its mistakes is told with its place, its range and the nearest key.

use valvewright_sim::scenario::diagnostic::{Diagnostic, Source};
use valvewright_sim::years::plan::Kind;
use valvewright_sim::years::{Plan, plan_file};

fn read(text: &str) -> Result<Plan, Vec<Diagnostic>> {
    plan_file::read(&Source::new("plan.toml", text))
}

#[test]
fn an_empty_plan_is_the_usual_one() {
    assert_eq!(read("").expect("reads"), Plan::default());
}

#[test]
fn a_plan_says_all_that_is_drawn() {
    let plan = read(
        r#"
years = 2
seed = 40
services_a_week = 35
refrigerant = "R-134a"
station = "fleet_yard"
scan = "100 ms"
fine = true
[services]
whole = "70 %"
leaking = "30 %"
[weather]
winter = "5 degC"
summer = "35 degC"
spread = "2 K"
[odds]
power_cut = "20 %"
mistake = "0 %"
wrong_code = "100 %"
high_side = "30 %"
[times]
evacuate_least = "2 min"
evacuate_most = "4 min"
[record]
drier_used = "60 kg"
pump_oil_used = "50 h"
"#,
    )
    .unwrap_or_else(|wrong| panic!("{wrong:#?}"));
    assert_eq!((plan.years, plan.seed, plan.a_week, plan.services()), (2, 40, 35, 3_500));
    assert_eq!(plan.shares[Kind::Whole as usize], 0.7);
    assert_eq!(plan.shares[Kind::Recovery as usize], 0.0);
    assert!((plan.seasons[0] - 278.15).abs() < 1e-9 && (plan.seasons[2] - 308.15).abs() < 1e-9);
    assert_eq!((plan.cuts, plan.mistakes, plan.wrong_codes, plan.high_side), (0.2, 0.0, 1.0, 0.3));
    assert_eq!((plan.evacuate, plan.leak_hold), ((120.0, 240.0), Plan::default().leak_hold));
    assert_eq!((plan.drier_used, plan.pump_oil_used), (60.0, 180_000.0));
    assert_eq!(plan.station.as_deref(), Some("fleet_yard"));
    assert!(plan.fine);
}

#[test]
fn each_mistake_is_told_with_its_line_and_what_is_accepted() {
    let cases = [
        ("years = 0", 1, "1 to 40"),
        ("years = 41", 1, "1 to 40"),
        ("seed = 1\nservices_a_weak = 3", 2, "services_a_week"),
        ("services_a_week = 61", 1, "1 to 60"),
        ("refrigerant = \"R-22\"", 1, "R-134a"),
        ("[services]\nwhole = \"120 %\"", 2, "100 %"),
        ("[services]\nhole = \"10 %\"", 2, "whole"),
        ("[services]\nwhole = \"0 %\"", 1, "above 0"),
        ("[weather]\nsummer = \"90 degC\"", 2, "40 degC"),
        ("[weather]\nsummer = \"30 bar\"", 2, "temperature"),
        ("[odds]\npower_cut = \"-1 %\"", 2, "0 %"),
        ("[times]\nevacuate_least = \"20 min\"\nevacuate_most = \"10 min\"", 3, "at least the least"),
        // A bound is told in the unit that was written.
        ("[times]\nleak_hold_most = \"1 s\"", 2, "120 s"),
        ("[times]\nleak_hold_most = \"1 min\"", 2, "2 min"),
        ("[record]\ndrier_used = \"200 kg\"", 2, "100 kg"),
        ("[record]\ndrier = \"2 kg\"", 2, "drier_used"),
        ("station = \"no_such_station\"", 1, "no_such_station"),
        ("years = ", 1, ""),
    ];
    for (text, line, wanted) in cases {
        let wrong = read(text).expect_err(text);
        let told: Vec<String> = wrong.iter().map(ToString::to_string).collect();
        assert!(wrong.iter().any(|one| one.line == line), "`{text}`: {told:?}");
        assert!(told.iter().any(|one| one.contains(wanted)), "`{text}` should name `{wanted}`: {told:?}");
    }
}

#[test]
fn the_plan_in_the_book_reads_and_holds_the_usual_values() {
    let page = include_str!("../../docs/years.md");
    let text = page.split("```toml\n").nth(1).and_then(|rest| rest.split("```").next()).expect("a plan");
    let plan = read(text).unwrap_or_else(|wrong| panic!("{wrong:#?}"));
    let usual = Plan { seed: 7, station: Some("workshop".to_owned()), ..Plan::default() };
    assert_eq!(plan, usual);
}
