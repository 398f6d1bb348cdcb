//! Exit codes of the command, several scenarios in one call, the command that replays a failure, JUnit, and what `check` tells of a scenario.
//!
//! Code 3, our own fault, is shown in `sim-host/src/cli/mod.rs`: no input that can be typed brings it about.

use crate::cli_bench::Bench;
use valvewright_sim::scenario::shipped;

/// A short job: the gas is identified, and that is all.
fn short(more: &str) -> String {
    let demo = shipped::source(shipped::DEMO).expect("shipped").text;
    let (head, _) = demo.split_once("[expect]").expect("it expects something");
    let head = head
        .replace("phases = \"whole\"", "phases = [\"identify\"]")
        .replace("inject_oil = \"10 mL\"\n", "")
        .replace("charge = \"480 g\"\n", "");
    format!("{head}{more}")
}

const BARE: [&str; 3] = ["--no-report", "--trace", "none"];

fn words<'a>(all: &[&'a str]) -> Vec<&'a str> {
    [all, &BARE].concat()
}

#[test]
fn each_exit_code_comes_as_documented() {
    let bench = Bench::new();
    bench.put("held.toml", &short(""));
    bench.put("failed.toml", &short("[expect]\nverdict = \"refused\"\n"));
    bench.put("hazard.toml", &short("[expect]\nhazards = [\"H01\"]\n"));
    bench.put("property.toml", &short("[[property]]\nname = \"never pumps\"\nformula = \"always K-1 is off\"\n"));
    bench.put("cut.toml", &short("").replace("seed = 1", "seed = 1\ntime_limit = \"1 min\""));
    bench.put("wrong.toml", &short("").replace("ambient", "ambiant"));
    for (file, code) in [("held", 0), ("failed", 1), ("hazard", 1), ("property", 1), ("cut", 2), ("wrong", 64)] {
        bench.run(&words(&["run", &format!("{file}.toml")])).exits(code);
    }
    bench.run(&["run", "--no-such-flag"]).exits(64);
    // Of several the worst counts, in whatever order they stand.
    bench.run(&words(&["run", "held.toml", "failed.toml"])).exits(1);
    bench.run(&words(&["run", "cut.toml", "failed.toml", "held.toml"])).exits(2);
}

#[test]
fn of_several_scenarios_nothing_is_run_where_one_is_wrong() {
    let bench = Bench::new();
    bench.put("held.toml", &short(""));
    bench.put("wrong.toml", &short("").replace("ambient", "ambiant"));
    bench.run(&words(&["run", "held.toml", "wrong.toml", "--junit", "all.xml"])).exits(64).complains(&["wrong.toml:"]);
    assert_eq!(bench.listing(), ["held.toml", "wrong.toml"]);
}

#[test]
fn several_scenarios_have_a_folder_and_a_result_each() {
    let bench = Bench::new();
    bench.put("a.toml", &short("").replace("name = \"mild_hatchback\"", "name = \"a\""));
    bench.put("b.toml", &short("").replace("name = \"mild_hatchback\"", "name = \"b\""));
    let json = bench.run(&words(&["run", "a.toml", "b.toml", "a.toml", "--json", "--out", "all"])).exits(0).json();
    let names: Vec<_> = json.as_array().expect("a list").iter().map(|one| one["scenario"].as_str()).collect();
    assert_eq!(names, [Some("a"), Some("b"), Some("a")]);
    let results = ["all/a/result.json", "all/a-2/result.json", "all/b/result.json"];
    assert!(results.iter().all(|file| bench.path(file).is_file()), "{:?}", bench.listing());
    // One scenario is answered as ever, not as a list of one.
    assert_eq!(bench.run(&words(&["run", "a.toml", "--json"])).exits(0).json()["scenario"], "a");
}

#[test]
fn a_failure_is_told_with_the_command_that_does_the_same_again() {
    let bench = Bench::new();
    std::fs::create_dir(bench.path("my jobs")).expect("a folder");
    bench.put("my jobs/one.toml", &short("[expect]\nverdict = \"refused\"\n"));
    let break_it = "F070 at=20s for='5 s'";
    let first = bench.run(&words(&["run", "my jobs/one.toml", "--seed", "9", "--fault", break_it, "--json"])).exits(1);
    let json = first.json();
    let command = json["replay"].as_str().expect("it is there");
    let told = bench.run(&words(&["run", "my jobs/one.toml", "--seed", "9", "--fault", break_it])).exits(1).out;
    assert!(told.lines().any(|line| line == format!("  to see it again: {command}")), "{told}");
    let again = shlex::split(command).expect("a shell takes it");
    let again: Vec<&str> = again.iter().skip(1).map(String::as_str).chain(["--json"]).collect();
    let second = bench.run(&words(&again)).exits(1).json();
    assert_eq!(second["trace_hash"], json["trace_hash"], "{command}");
    assert_ne!(bench.run(&words(&["run", "my jobs/one.toml", "--json"])).json()["trace_hash"], json["trace_hash"]);
    // What held needs no replaying.
    bench.put("held.toml", &short(""));
    assert!(!bench.run(&words(&["run", "held.toml"])).exits(0).out.contains("to see it again"));
}

#[test]
fn junit_has_a_suite_for_each_scenario_and_an_old_file_is_kept() {
    let bench = Bench::new();
    bench.put("held.toml", &short(""));
    bench.put("failed.toml", &short("[expect]\nverdict = \"refused\"\n").replace("\"mild_hatchback\"", "\"failed\""));
    bench.run(&words(&["run", "held.toml", "failed.toml", "--junit", "all.xml"])).exits(1);
    let text = std::fs::read_to_string(bench.path("all.xml")).expect("written");
    assert!(text.starts_with("<?xml version=\"1.0\" encoding=\"UTF-8\"?>"), "{text}");
    assert_eq!(text.matches("<testsuite ").count(), 2, "{text}");
    assert!(text.contains("<testcase classname=\"failed.expectations\" name=\"verdict = refused\""), "{text}");
    assert!(text.contains("replay: valvewright run failed.toml --seed 1</failure>"), "{text}");
    assert!(text.contains("classname=\"mild_hatchback.hazards\" name=\"H01 "), "{text}");
    bench.run(&words(&["run", "held.toml", "--junit", "all.xml"])).exits(64).complains(&["all.xml exists", "--force"]);
    bench.run(&words(&["run", "held.toml", "--junit", "all.xml", "--force"])).exits(0);
}

#[test]
fn explain_tells_on_the_terminal_what_json_has_anyway() {
    let bench = Bench::new();
    bench.put(
        "job.toml",
        &short("[[operator.act]]\ndo = \"abort\"\nat = \"90 s\"\n\n[expect]\nverdict = \"aborted\"\n"),
    );
    let told = bench.run(&words(&["run", "job.toml", "--explain"])).exits(0).out;
    assert!(told.contains("Why it stopped\n") && told.contains("operator  ended the order"), "{told}");
    assert!(!told.contains('\u{1b}'), "colour without a terminal");
    assert!(!bench.run(&words(&["run", "job.toml"])).exits(0).out.contains("Why it stopped"));
    let json = bench.run(&words(&["run", "job.toml", "--json"])).exits(0).json();
    assert_eq!(json["stops"][0]["causes"][0]["kind"], "operator", "{json}");
}

#[test]
fn check_tells_what_will_run_and_what_will_never_come() {
    let bench = Bench::new();
    let job = short(
        "[[operator.act]]\ndo = \"pause\"\nphase = \"charge\"\n\n[[fault]]\nid = \"F023\"\nphase = \"recover\"\nafter = \"40 s\"\n\
         for = \"30 s\"\n\n[[property]]\nname = \"calm\"\nformula = \"always vessel.p < 20 bar\"\n",
    );
    bench.put("job.toml", &job);
    let said = bench.run(&["check", "job.toml"]).exits(0);
    for part in [
        "job.toml will run",
        "air at 22.0 degC, barometer 1013 mbar abs, 50 % humidity",
        "workshop, for R-1234yf, with 6 kg of it and 0.3 g of air",
        "Small hatchback: 445 g of R-1234yf in a circuit of 3.8 L",
        "in this order: identification",
        "says yes to every question after 5 s",
        "presses pause when the charge begins",
        "F023 vessel load cell WT-1",
        "begins 40 s after recover begins, for 30 s",
        "the order ends as pass",
        "no hazard comes to its accident level",
        "calm: at all times vessel.p < 20 bar",
        "seed 1; broken off where it is not done after 8 h",
        "job.toml: scenario is well, and so is its station workshop",
    ] {
        assert!(said.out.replace("\n             ", " ").contains(part), "{part} is missing in:\n{}", said.out);
    }
    said.complains(&[
        "job.toml: warning: F023 waits for the phase recover, which the order does not have",
        "job.toml: warning: the operator waits for the phase charge, which the order does not have",
    ]);
    let json = bench.run(&["check", "job.toml", "--json"]).exits(0).json();
    assert_eq!(json[0]["warnings"].as_array().map(Vec::len), Some(2));
    let about: Vec<_> = json[0]["plan"].as_array().expect("a list").iter().map(|one| one["about"].as_str()).collect();
    let all = ["site", "station", "vehicle", "order", "operator", "breaks", "expected", "must hold", "run"];
    assert_eq!(about, all.map(Some));
    // A shipped job and a row of jobs are told without a warning.
    let row = bench.run(&["check", "fresh_off_the_road", "monday_morning"]).exits(0);
    assert!(row.out.contains("job 2") && row.err.is_empty(), "{}\n{}", row.out, row.err);
}
