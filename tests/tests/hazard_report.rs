//! What is told of hazards: on the terminal, on the page, in the result for programs; and what a scenario may expect of them.

use serde_json::Value;
use valvewright_sim::display::{Display, STANDARD, Units};
use valvewright_sim::report::{files, page, text};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::{Scenario, parse, shipped};

use crate::cli_bench::Bench;
use crate::report_sample;

fn demo() -> Scenario {
    parse::read(&shipped::source(shipped::DEMO).expect("shipped")).expect("reads")
}

fn told(display: &Display) -> String {
    text::summary("A sample", &report_sample::result(), display)
}

#[test]
fn the_terminal_tells_what_was_reached_what_was_close_and_what_was_not_judged() {
    let told = told(&STANDARD);
    for part in [
        "Hazards, in truth",
        "✕ accident  H08 vacuum pump sees pressure",
        "from   17:40, worst at 17:45: margin −0.09, 5.2 g/s of refrigerant out of the vacuum pump",
        "1 other stayed below the alert level; the closest was H09 (heater or compressor too hot), margin 0.65",
        "not judged: H17 (this run has no record store)",
    ] {
        assert!(told.contains(part), "`{part}` is not in:\n{told}");
    }
}

#[test]
fn the_page_has_a_table_and_bands_that_rise_with_the_danger() {
    let (result, trace) = (report_sample::result(), report_sample::trace());
    let us = Display { units: Units::Us, ..STANDARD };
    let pages = [&STANDARD, &us].map(|display| page::page(&demo(), &result, &trace, display));
    for part in [
        "Hazards, in truth",
        "class=\"accident\"",
        "class=\"alert\"",
        "class=\"near\"",
        "H08, margin −0.1 from 17:40 to 17:50",
    ] {
        assert!(pages[0].contains(part), "{part}");
    }
    // The band is at rest for most of the job: nothing is drawn there.
    assert_eq!(pages[0].matches("<rect class=\"alert\"").count(), 2, "one in the band, one in the legend");
    assert!(
        pages[0].contains("96.9 degC in the gas behind C-1") && pages[1].contains("206.3 degF in the gas behind C-1")
    );
}

#[test]
fn programs_get_every_hazard_with_level_times_and_figure() {
    let json: Value =
        serde_json::from_str(&files::json(&report_sample::result()).expect("it has a form")).expect("it reads");
    let one = &json["hazards"][0];
    assert_eq!((&one["id"], &one["level"], &one["accident_t_s"]), (&"H08".into(), &"accident".into(), &1_060.0.into()));
    assert_eq!((&one["figure"]["value"], &one["figure"]["unit"]), (&5.2.into(), &"g/s".into()));
    assert_eq!(json["hazards"][2]["not_judged"], "this run has no record store");
}

fn expecting(line: &str) -> Source {
    let text = shipped::source("f113").expect("shipped").text.replace("[expect]\n", &format!("[expect]\n{line}\n"));
    Source::new("torn.toml", text)
}

#[test]
fn a_hazard_that_is_none_is_refused_with_those_there_are() {
    let wrong = parse::read(&expecting("hazards = [\"fire\", \"I03\", \"H25\"]")).expect_err("two are wrong");
    let told = wrong.iter().map(ToString::to_string).collect::<String>();
    assert!(told.contains("expect.hazards: `fire` and `I03` are no hazards") && told.contains("H01 to H25"), "{told}");
}

#[test]
fn an_accident_fails_a_run_unless_exactly_it_is_expected() {
    for (line, code, said) in [
        ("hazards = [\"H25\"]", 0, "hazards = H25"),
        ("", 1, "hazards = none"),
        ("hazards = []", 1, "hazards = none"),
        ("hazards = [\"H25\", \"H08\"]", 1, "hazards = H08, H25"),
    ] {
        let bench = Bench::new();
        bench.put("torn.toml", &expecting(line).text);
        let ran = bench.run(&["run", "torn.toml", "--trace", "none", "--no-report", "--json"]).exits(code).json();
        let list = ran["expectations"].as_array().expect("a list");
        let found =
            list.iter().find(|one| one["name"] == said).unwrap_or_else(|| panic!("`{said}` is not in {list:?}"));
        assert_eq!(found["held"], code == 0, "{found}");
        assert!(found["detail"].as_str().expect("words").ends_with("in truth: H25"), "{found}");
        assert_eq!(ran["jobs"][0]["accidents"], serde_json::json!(["H25"]));
    }
}

#[test]
fn a_healthy_job_has_no_word_of_hazards_among_its_expectations() {
    let bench = Bench::new();
    let ran = bench.run(&["run", "new_condenser", "--trace", "none", "--no-report", "--json"]).exits(0).json();
    assert!(!ran["expectations"].to_string().contains("hazards"), "{}", ran["expectations"]);
    assert_eq!(ran["hazards"].as_array().map(Vec::len), Some(25));
}
