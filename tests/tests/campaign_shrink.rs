//! A run with an accident is shrunk to a scenario file that has it again, with nothing in it that the accident does not need.

use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::parse;

use crate::campaign_bench::bench;

/// A valve that leaks to the pump (F057) brings H08 about by itself; a stale identifier (F037), dry air and the seed have nothing to do with it. In
/// the other run nothing happens.
const PLAN: &str = r#"
name = "three"
title = "One accident among what has nothing to do with it"
design = "list"
shard = 10
[factors]
scenario = ["mild_hatchback"]
[[run]]
scenario = "mild_hatchback"
seed = 77
set = { "site.humidity" = "40 %" }
faults = ["F037 at=60.35s", "F057 at=79.35s"]
[[run]]
scenario = "mild_hatchback"
faults = ["F037 at=60.35s"]
"#;

#[test]
fn an_accident_comes_down_to_its_fault_at_a_plain_moment_in_a_file_that_has_it_again() {
    let bench = bench(PLAN);
    let told = bench.run(&["campaign", "plan.toml", "--out", "out", "--minimal", "--json"]).exits(0).json();
    let all = told["minimal"].as_array().expect("a list");
    let one = all.iter().find(|one| one["hazard"] == "H08").unwrap_or_else(|| panic!("{told:#}"));
    assert_eq!(one["faults"], serde_json::json!(["F057"]), "{told:#}");
    assert_eq!(one["changes"], serde_json::json!([]), "{told:#}");
    assert_eq!(one["run"], 0);
    let path = one["file"].as_str().expect("a file");
    let text = std::fs::read_to_string(bench.path(path)).expect("it is there");
    let scenario = parse::read(&Source::new(path, text.clone())).unwrap_or_else(|wrong| panic!("{wrong:#?}\n{text}"));
    let at = one["accident_s"].as_f64().expect("a time");
    assert!(scenario.time_limit >= at && scenario.time_limit <= (at + 3.0).max(60.0), "{text}");
    assert_eq!((scenario.faults.len(), scenario.seed), (1, 1), "{text}");
    let run = bench.run(&["run", path, "--no-report", "--trace", "none", "--json"]);
    let result = run.json();
    let hazards = result["hazards"].as_array().expect("hazards");
    assert!(hazards.iter().any(|one| one["id"] == "H08" && one["level"] == "accident"), "{result:#}");
}

/// Told as it is: what a file cannot say by itself is not shrunk.
#[test]
fn without_an_accident_there_is_nothing_to_shrink() {
    let bench = bench(&PLAN.replace(", \"F057 at=79.35s\"", ""));
    let said = bench.run(&["campaign", "plan.toml", "--out", "out", "--minimal"]).exits(0);
    assert!(said.out.contains("nothing to shrink"), "{}", said.out);
}
