//! Whole jobs of controllers from outside, over pipes: one that works, and one whose harm the truth shows.

use serde_json::Value;

use crate::cli_bench::Bench;
use crate::line_faults::client;

fn job(scenario: &str, name: &str, code: i32) -> Value {
    let bench = Bench::new();
    let options = ["--patience", "20000", "--trace", "none", "--no-report", "--json"];
    let command = client(name);
    bench.run(&[&["run", scenario, "--controller", &command], &options[..]].concat()).exits(code).json()
}

fn number(of: &Value) -> f64 {
    of.as_f64().unwrap_or_else(|| panic!("{of} is no number"))
}

/// Shows LS6.
#[test]
fn a_small_honest_controller_in_python_recovers_evacuates_and_charges_to_the_order() {
    // The expectations of the scenario speak of a leak check, which it does not do.
    let told = job("mild_hatchback", "fill_by_weight", 1);
    assert_eq!(
        (&told["controller"]["name"], &told["controller"]["joined"]),
        (&"fill by weight".into(), &"program".into())
    );
    assert_eq!(told["controller"]["fault"], Value::Null);
    assert_eq!(told["verdict"], "pass");
    let (recovered, charged) = (&told["recovered_g"], &told["charged_g"]);
    assert!((number(&charged["true"]) - 480.0).abs() < 5.0, "{charged}");
    assert!((number(&charged["true"]) - number(&charged["shown"])).abs() < 5.0, "{charged}");
    assert!((number(&recovered["true"]) - number(&recovered["shown"])).abs() < 15.0, "{recovered}");
    let phases: Vec<_> = told["phases"].as_array().expect("a list").iter().map(|one| one["name"].clone()).collect();
    assert_eq!(phases, ["recover", "evacuate", "charge"]);
}

#[test]
fn a_naive_controller_says_that_all_is_well_and_the_truth_says_what_it_did() {
    let told = job("vessel_nearly_full", "naive", 1);
    assert_eq!(told["verdict"], "pass", "by its own word");
    assert_eq!(number(&told["charged_g"]["shown"]), 650.0);
    assert_eq!(number(&told["charged_g"]["true"]), 0.0);
    // 9.7 kg stood in a vessel that is rated for 10 kg; what it let out then it had put in before.
    let recovered = number(&told["recovered_g"]["true"]);
    assert!(9_700.0 + recovered > 10_200.0, "{recovered} g");
    assert!(number(&told["reached"]["escaped_g"]) > 100.0, "{}", told["reached"]);
}
