//! The fault tree of a campaign, read by a program that nobody here wrote: its minimal cut sets and probabilities are those of the report.
//!
//! The program is SCRAM 0.16 (Debian's package `scram`), whose three algorithms are asked; it holds the file against the schema first.
//! `.ci/run` installs it; by hand: `cargo test -p valvewright-tests --test suite -- --ignored campaign_tree`.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

use serde_json::Value;
use valvewright_sim::campaign::Row;
use valvewright_sim::campaign::findings::{Findings, read_rates};
use valvewright_sim::report::data::HazardLevel;
use valvewright_sim::scenario::diagnostic::Source;

use crate::campaign_report::{found, hazard, put, run};
use crate::cli_bench::Bench;

/// Reads both files with Python's own reader: of each hazard its sets in the words of the labels, and its probability.
const READ: &str = r#"
import json, sys, xml.etree.ElementTree as xml
tree, report = xml.parse(sys.argv[1]).getroot(), xml.parse(sys.argv[2]).getroot()
events = tree.findall("model-data/define-basic-event")
words = {one.get("name"): one.find("label").text.split(": ")[0] for one in events}
assert len(words) == len(events) == len(set(words.values())), "each way to fail has a name of its own"
sums = report.findall("results/sum-of-products")
print(json.dumps({one.get("name"): {
    "sets": sorted(sorted(words[event.get("name")] for event in product) for product in one.findall("product")),
    "probability": float(one.get("probability", "nan")) if one.get("probability") else None,
} for one in sums}))
"#;

/// What SCRAM makes of a tree.
fn reckoned(bench: &Bench, tree: &Path, more: &[&str]) -> BTreeMap<String, Value> {
    let report = bench.path("scram.xml");
    let scram = Command::new("scram").arg(tree).args(more).arg("-o").arg(&report).output();
    let scram = scram.expect("SCRAM is there: apt-get install scram");
    assert!(scram.status.success(), "{}", String::from_utf8_lossy(&scram.stderr));
    let read = Command::new("python3").args(["-c", READ]).arg(tree).arg(&report).output().expect("python3 starts");
    assert!(read.status.success(), "{}", String::from_utf8_lossy(&read.stderr));
    serde_json::from_slice(&read.stdout).expect("JSON")
}

fn sets(of: &Value) -> Vec<Vec<String>> {
    serde_json::from_value(of["sets"].clone()).expect("lists of words")
}

/// Our own, in the same order.
fn ours(of: &Findings) -> BTreeMap<String, Vec<Vec<String>>> {
    let cuts = &of.counts.cuts;
    let hazards = cuts.accidents().map(|(hazard, _, _)| {
        let mut sets: Vec<Vec<String>> = cuts.minimal(hazard).into_iter().map(|(set, _, _)| set.to_vec()).collect();
        sets.sort();
        (format!("H{:02}", hazard + 1), sets)
    });
    hazards.collect()
}

/// A fault: id, device and moment.
type Planned = (&'static str, &'static str, &'static str);
const A: (&str, &str, &str) = ("F001", "PT-1", "at 5 s");
const B: (&str, &str, &str) = ("F003", "PT-1", "at 5 s");
const C: (&str, &str, &str) = ("F070", "K-1", "at 5 s");
const D: (&str, &str, &str) = ("F040", "AT-2", "at 5 s");
const E: (&str, &str, &str) = ("F057", "XV-6", "at 5 s");

/// Sets of one, two and three faults, some of them within others; one hazard that needs none, and words that no name may hold.
fn rows() -> Vec<Row> {
    let accidents: [(&[Planned], usize); 10] = [
        (&[A, B, C], 1),
        (&[B, D], 1),
        (&[B, C, D], 1),
        (&[E], 1),
        (&[E, A], 1),
        (&[A, C], 2),
        (&[C, D], 2),
        (&[A, D], 2),
        (&[], 4),
        (&[A], 4),
    ];
    let made = accidents
        .iter()
        .zip(0..)
        .map(|((faults, at), index)| hazard(run(index, faults), *at, HazardLevel::Accident, 200.0, -0.1));
    let mut all: Vec<Row> = made.collect();
    // Three ways to fail whose words become one name unless they are told apart, and a label of marks.
    for (mode, at) in ["half <open> & \"shut\"", "half _open_ & _shut_", "half--open"].into_iter().zip(10..) {
        let mut row = hazard(run(at, &[E, C]), 9, HazardLevel::Accident, 200.0, -0.1);
        row.faults[0].mode = mode.to_owned();
        all.push(row);
    }
    all
}

/// Three algorithms of an outside program find the sets of the report.
#[test]
#[ignore = "needs SCRAM: `.ci/run` installs it and runs this"]
fn an_outside_program_finds_the_minimal_sets_of_the_tree_to_be_those_of_the_report() {
    let bench = Bench::new();
    let rows = rows();
    put(&bench, "one", &rows, valvewright_sim::campaign::SCHEMA, rows.len());
    bench.run(&["campaign", "--report", "one"]).exits(0);
    let found = found(&bench.path("one"));
    let tree = bench.path("one/fault_tree.xml");
    assert_eq!(std::fs::read_to_string(&tree).expect("written"), found.fault_tree());
    let ours = ours(&found);
    let orders: Vec<Vec<usize>> = ours.values().map(|sets| sets.iter().map(Vec::len).collect()).collect();
    assert_eq!(orders, [vec![3, 2, 1], vec![2, 2, 2], vec![0], vec![2, 2, 2]]);
    for algorithm in ["--mocus", "--bdd", "--zbdd"] {
        let theirs = reckoned(&bench, &tree, &[algorithm]);
        let theirs: BTreeMap<String, Vec<Vec<String>>> =
            theirs.iter().map(|(hazard, one)| (hazard.clone(), sets(one))).collect();
        assert_eq!(theirs, ours, "{algorithm}");
    }
}

/// Rates reach the outside program in its own unit: of one event it reckons 1 - exp(-rate x time), of several sets what they give together.
#[test]
#[ignore = "needs SCRAM: `.ci/run` installs it and runs this"]
fn rates_in_the_tree_give_an_outside_program_the_probability_reckoned_by_hand() {
    let bench = Bench::new();
    let rows = [
        hazard(run(0, &[E]), 8, HazardLevel::Accident, 200.0, -0.1),
        hazard(run(1, &[A, C]), 1, HazardLevel::Accident, 200.0, -0.1),
        hazard(run(2, &[B, C]), 1, HazardLevel::Accident, 200.0, -0.1),
    ];
    put(&bench, "one", &rows, valvewright_sim::campaign::SCHEMA, rows.len());
    let text = "fault,rate_per_h,source\nF057,2e-5,made up\nF001,1e-3,made up\nF003,3e-4,made up\nF070,5e-4,made up\n";
    bench.put("rates.csv", text);
    bench.run(&["campaign", "--report", "one", "--rates", "rates.csv"]).exits(0);
    let tree = bench.path("one/fault_tree.xml");
    let rates = read_rates(&Source::new("rates.csv", text)).expect("they read");
    assert_eq!(
        std::fs::read_to_string(&tree).expect("written"),
        found(&bench.path("one")).with_rates(Some(rates)).fault_tree()
    );
    let theirs = reckoned(&bench, &tree, &["--bdd", "--probability", "1", "--mission-time", "1000"]);
    let p = |rate: f64| 1.0 - (-rate * 1_000.0).exp();
    let (a, b, c) = (p(1e-3), p(3e-4), p(5e-4));
    for (hazard, wanted) in [("H08", p(2e-5)), ("H01", c * (1.0 - (1.0 - a) * (1.0 - b)))] {
        let told = theirs[hazard]["probability"].as_f64().expect("a probability");
        // It prints six digits.
        assert!((told / wanted - 1.0).abs() < 1e-5, "{hazard}: {told}, by hand {wanted}");
    }
    // Without the file no rate is made up.
    bench.run(&["campaign", "--report", "one"]).exits(0);
    assert!(!std::fs::read_to_string(&tree).expect("written").contains("exponential"));
}

#[test]
#[ignore = "needs SCRAM: `.ci/run` installs it and runs this"]
fn a_campaign_without_accidents_gives_an_empty_tree_that_the_schema_takes() {
    let bench = Bench::new();
    put(&bench, "one", &[run(0, &[A])], valvewright_sim::campaign::SCHEMA, 1);
    bench.run(&["campaign", "--report", "one"]).exits(0);
    let checked = Command::new("scram").arg("--validate").arg(bench.path("one/fault_tree.xml")).output();
    let checked = checked.expect("SCRAM is there: apt-get install scram");
    assert!(checked.status.success(), "{}", String::from_utf8_lossy(&checked.stderr));
    // What is no such tree is refused by the same check.
    bench.put("wrong.xml", &found(&bench.path("one")).fault_tree().replace("opsa-mef", "opsa-mfe"));
    let refused = Command::new("scram").arg("--validate").arg(bench.path("wrong.xml")).output().expect("it starts");
    assert!(!refused.status.success());
}
