//! What `rig` says of a run: all balances, and for one that cannot go on the file, the moment, the cause, what to do and the rows so far.

use crate::cli_bench::Bench;

const BOTH: &str = r#"title = "two refrigerants named"
refrigerant = "R1234yf"
second_refrigerant = "R134a"
[volume.a]
volume = "1 L"
refrigerant = "50 g"
air = "1 g"
[[step]]
name = "rest"
for = "10 s"
"#;

/// A compressor that pumps into a millilitre without an outlet: a few strokes on it is hotter than the tables reach.
const DEAD_END: &str = r#"title = "a compressor into a dead end"
refrigerant = "R1234yf"
[volume.lake]
volume = "20 L"
refrigerant_pressure = "2 bar"
[volume.drop]
volume = "1 mL"
refrigerant_pressure = "2 bar"
[element.gate]
kind = "compressor"
from = "lake"
to = "drop"
displacement = "14 cm3"
speed = "50 Hz"
[[step]]
name = "rest"
for = "10 s"
[[step]]
name = "open"
set = { gate = 1 }
for = "1 h"
"#;

#[test]
fn every_balance_is_printed() {
    let bench = Bench::new();
    bench.put("both.toml", BOTH);
    let said = bench.run(&["rig", "both.toml"]).exits(0).out;
    for account in ["refrigerant", "second refrigerant", "air", "water", "oil", "energy"] {
        let line = said.lines().find(|line| line.trim_start().starts_with(account));
        assert!(line.is_some_and(|line| line.contains(" of ")), "no balance of {account} in:\n{said}");
    }
    let json = bench.run(&["rig", "both.toml", "--json", "--force"]).exits(0).json();
    for (account, unit) in [
        ("refrigerant", "kg"),
        ("second_refrigerant", "kg"),
        ("air", "kg"),
        ("water", "kg"),
        ("oil", "kg"),
        ("energy", "J"),
    ] {
        let one = &json["balance"][account];
        assert_eq!(one["unit"], unit, "{account}: {json}");
        assert!(one["error"].is_number() && one["of"].is_number(), "{account}: {json}");
    }
    assert!((json["balance"]["air"]["of"].as_f64().expect("a number") - 1e-3).abs() < 1e-15, "{json}");
    assert!(json["fault"].is_null() && json["notes"].as_array().is_some_and(Vec::is_empty), "{json}");
    bench.put("one.toml", &BOTH.replace("second_refrigerant = \"R134a\"\n", ""));
    let said = bench.run(&["rig", "one.toml"]).exits(0).out;
    assert!(!said.contains("second"), "one refrigerant has one balance:\n{said}");
}

#[test]
fn a_run_that_cannot_go_on_keeps_its_rows_and_says_where_it_ended() {
    let bench = Bench::new();
    bench.put("dead-end.toml", DEAD_END);
    let said = bench.run(&["rig", "dead-end.toml", "--out", "rigs"]).exits(2);
    said.complains(&["dead-end.toml: the run stopped at 10.", "rigs/dead-end-partial.csv", "help: "]);
    assert_eq!(bench.listing(), ["dead-end.toml", "rigs", "rigs/dead-end-partial.csv"]);
    let csv = std::fs::read_to_string(bench.path("rigs/dead-end-partial.csv")).expect("written");
    assert_eq!(csv.lines().filter(|line| line.contains(",rest,")).count(), 11, "{csv}");
    let last = csv.lines().last().and_then(|line| line.split(',').next()).and_then(|time| time.parse::<f64>().ok());
    assert!(last.is_some_and(|time| time < 10.1), "rows end where the run did: {csv}");

    let json = bench.run(&["rig", "dead-end.toml", "--out", "rigs", "--json"]).exits(2).json();
    assert_eq!((&json["partial"], &json["fault"]["file"]), (&true.into(), &"dead-end.toml".into()), "{json}");
    let time = json["fault"]["time_s"].as_f64().expect("a time");
    assert!((time - 10.0).abs() < 0.1, "{json}");
    for key in ["what", "advice"] {
        assert!(json["fault"][key].as_str().is_some_and(|text| !text.is_empty()), "{key}: {json}");
    }
    // What was begun can be run again: a partial file is in nobody's way.
    bench.run(&["rig", "dead-end.toml", "--out", "rigs"]).exits(2);
}
