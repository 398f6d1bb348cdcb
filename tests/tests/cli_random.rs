//! `random:SEED` on the command line: it stands wherever a shipped name does, and a seed that is none is refused.

use crate::cli_bench::Bench;
use valvewright_sim::scenario::{random, shipped};

#[test]
fn a_drawn_job_runs_and_writes_under_its_name() {
    let bench = Bench::new();
    // Seed 17 does not pass; what counts is that the same job comes out as from its own text.
    bench.put("same.toml", &random::text(17));
    let named = bench.run(&["run", "random:17", "--no-report", "--trace", "none", "--json"]);
    let named: serde_json::Value = serde_json::from_str(&named.out).expect("JSON");
    let same = bench.run(&["run", "same.toml", "--no-report", "--trace", "none", "--json"]);
    let same: serde_json::Value = serde_json::from_str(&same.out).expect("JSON");
    assert_eq!(named["scenario"], "random-17");
    assert_eq!(named["trace_hash"], same["trace_hash"]);
    assert!(named["ticks"].as_u64().is_some_and(|ticks| ticks > 1_000), "{named}");
    let listing = bench.listing();
    assert!(listing.contains(&"results/random-17/result.json".to_owned()), "{listing:?}");
}

#[test]
fn check_takes_a_drawn_name_and_list_tells_of_it() {
    let bench = Bench::new();
    let told = bench.run(&["check", "random:17", "random:18446744073709551615"]).exits(0).out;
    assert!(told.contains("random-17.toml: scenario is well"), "{told}");
    assert!(bench.run(&["list"]).exits(0).out.contains("random:SEED"));
    assert_eq!(bench.run(&["list", "--json"]).exits(0).json()["random"]["prefix"], "random:");
    for verb in ["run", "check"] {
        assert!(bench.run(&[verb, "--help"]).exits(0).out.contains("random:SEED"));
    }
}

#[test]
fn list_prints_the_text_of_a_name() {
    let bench = Bench::new();
    assert_eq!(bench.run(&["list", "random:17"]).exits(0).out, random::text(17));
    let shipped = shipped::source(shipped::DEMO).expect("shipped").text;
    assert_eq!(bench.run(&["list", shipped::DEMO]).exits(0).out, shipped);
    assert_eq!(bench.run(&["list", "random:17", "--json"]).exits(0).json()["text"], random::text(17));
    bench.run(&["list", "random:x"]).exits(64).complains(&["`x` is no whole number"]);
    bench.run(&["list", "mild_hatchbak"]).exits(64).complains(&["nearest shipped name: `mild_hatchback`"]);
}

#[test]
fn a_seed_that_is_none_is_refused() {
    let bench = Bench::new();
    for verb in ["run", "check"] {
        for (name, says) in [
            ("random:", "the seed is missing"),
            ("random:x", "`x` is no whole number"),
            ("random:18446744073709551616", "outside the accepted range"),
        ] {
            bench.run(&[verb, name]).exits(64).complains(&[name, says, "0 to 18446744073709551615"]);
            let json = bench.run(&[verb, name, "--json"]).exits(64).json();
            assert!(json["error"].as_str().is_some_and(|error| error.contains(says)), "{json}");
        }
    }
    assert_eq!(bench.listing(), Vec::<String>::new());
}

#[test]
fn a_file_of_that_name_comes_first() {
    let bench = Bench::new();
    bench.put("random:17", "name = 1");
    bench.run(&["check", "random:17"]).exits(64).complains(&["random:17:1"]);
}
