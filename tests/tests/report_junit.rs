//! JUnit XML of runs: well formed whatever stands in it, by an independent reader; counts that fit; failures with the command that replays.
//!
//! The rules are those of `junit-10.xsd` of the Jenkins xUnit plugin (MIT licence), against which what this test writes was held once by
//! hand with the Python package `xmlschema`; here they are asked one by one, for no package of its kind is on every machine.

use std::io::Write;
use std::process::{Command, Stdio};

use valvewright_sim::report::data::{ExpectationResult, PropertyResult, PropertyVerdict, RunResult, Verdict};
use valvewright_sim::report::junit::{Suite, document};
use valvewright_sim::scenario::Scenario;
use valvewright_tests::job_runs::scenario;

use crate::report_sample;

/// Python's own reader (expat) takes the document apart and gives it back as JSON, or says where it is broken.
const READ: &str = r#"
import json, sys, xml.etree.ElementTree as tree
def plain(node):
    return {"tag": node.tag, "attributes": dict(node.attrib), "text": node.text or "", "children": [plain(one) for one in node]}
print(json.dumps(plain(tree.fromstring(sys.stdin.buffer.read()))))
"#;

fn read(document: &str) -> serde_json::Value {
    let mut python = Command::new("python3");
    let mut child =
        python.args(["-c", READ]).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("python3 starts");
    child.stdin.take().expect("a pipe").write_all(document.as_bytes()).expect("it listens");
    let answer = child.wait_with_output().expect("it ends");
    assert!(answer.status.success(), "not well formed:\n{document}");
    serde_json::from_slice(&answer.stdout).expect("JSON")
}

fn children<'a>(node: &'a serde_json::Value, tag: &str) -> Vec<&'a serde_json::Value> {
    let all = node["children"].as_array().expect("a list");
    all.iter().filter(|one| one["tag"] == tag).collect()
}

fn number(node: &serde_json::Value, name: &str) -> usize {
    node["attributes"][name].as_str().and_then(|text| text.parse().ok()).unwrap_or_else(|| panic!("{name} in {node}"))
}

/// What the schema allows: elements, their attributes, which of these must be there.
type Allowed = (&'static str, &'static [&'static str], &'static [&'static str], &'static [&'static str]);
const SCHEMA: [Allowed; 7] = [
    ("testsuites", &["name", "time", "tests", "failures", "errors"], &[], &["testsuite"]),
    (
        "testsuite",
        &["name", "tests", "failures", "errors", "time", "skipped"],
        &["name", "tests", "failures", "errors"],
        &["properties", "testcase"],
    ),
    ("properties", &[], &[], &["property"]),
    ("property", &["name", "value"], &["name", "value"], &[]),
    ("testcase", &["name", "time", "classname"], &["name"], &["skipped", "error", "failure"]),
    ("failure", &["type", "message"], &[], &[]),
    ("error", &["type", "message"], &[], &[]),
];

fn fits(node: &serde_json::Value) {
    let tag = node["tag"].as_str().expect("a name");
    if tag == "skipped" {
        assert!(node["attributes"].as_object().is_some_and(|of| of.keys().all(|key| key == "message")), "{node}");
        return;
    }
    let (_, may, must, holds) =
        SCHEMA.iter().find(|one| one.0 == tag).unwrap_or_else(|| panic!("<{tag}> is not known"));
    let attributes = node["attributes"].as_object().expect("a table");
    assert!(attributes.keys().all(|key| may.contains(&key.as_str())), "{tag}: {attributes:?}");
    assert!(must.iter().all(|key| attributes.contains_key(*key)), "{tag}: {attributes:?}");
    if let Some(time) = attributes.get("time").and_then(|time| time.as_str()) {
        let (whole, parts) = time.split_once('.').expect("three decimals");
        assert!(
            !whole.is_empty() && parts.len() == 3 && format!("{whole}{parts}").bytes().all(|b| b.is_ascii_digit()),
            "{time}"
        );
    }
    for one in node["children"].as_array().expect("a list") {
        assert!(holds.contains(&one["tag"].as_str().expect("a name")), "<{}> in <{tag}>", one["tag"]);
        fits(one);
    }
}

fn demo() -> Scenario {
    scenario("mild_hatchback", &[], "")
}

/// Everything that XML has to take care of, and what it cannot hold at all.
const NASTY: &str = "a < b & \"c\" > 'd' ]]> \u{1} \u{b} \u{fffe} é \u{1f6d1}\nnext";

fn nasty() -> RunResult {
    let mut result = report_sample::result();
    result.replay = Some("valvewright run 'a & b.toml' --seed 1 --fault \"F023 when='vessel.p > 10 bar'\"".to_owned());
    let mut job = report_sample::job(&result);
    let property = |name: &str, verdict| PropertyResult {
        name: name.to_owned(),
        formula: "always true".to_owned(),
        why: None,
        verdict,
        robustness: None,
        closest: None,
        certain_s: None,
        whole: true,
        met: None,
        detail: NASTY.to_owned().into(),
    };
    job.properties = vec![property(NASTY, PropertyVerdict::Failed), property("rows", PropertyVerdict::NotJudged)];
    job.accidents = vec!["H08".to_owned()];
    result.jobs = vec![job];
    result.expectations.push(ExpectationResult {
        name: NASTY.to_owned(),
        held: false,
        detail: NASTY.to_owned().into(),
    });
    result
}

#[test]
fn the_document_is_well_formed_whatever_stands_in_it_and_fits_the_schema() {
    let (of, result) = (demo(), nasty());
    let text = document(&[
        Suite { scenario: &of, result: Ok(&result) },
        Suite { scenario: &of, result: Err("the controller <python3> & co. does not start".to_owned()) },
    ]);
    let root = read(&text);
    fits(&root);
    let suites = children(&root, "testsuite");
    assert_eq!((root["tag"].as_str(), suites.len()), (Some("testsuites"), 2));
    let (mut tests, mut failures, mut errors) = (0, 0, 0);
    for suite in &suites {
        let cases = children(suite, "testcase");
        let count = |tag: &str| cases.iter().filter(|one| !children(one, tag).is_empty()).count();
        assert_eq!(number(suite, "tests"), cases.len());
        assert_eq!(number(suite, "failures"), count("failure"));
        assert_eq!(number(suite, "errors"), count("error"));
        assert_eq!(number(suite, "skipped"), count("skipped"));
        tests += cases.len();
        failures += count("failure");
        errors += count("error");
    }
    assert_eq!((number(&root, "tests"), number(&root, "failures"), number(&root, "errors")), (tests, failures, errors));
    assert_eq!(errors, 1);
    // The failed expectation by its own name, and the accident that nobody expected.
    assert_eq!(failures, 2, "{text}");
    assert!(text.contains("a &lt; b &amp; &quot;c&quot;"), "{text}");
}

#[test]
fn each_failure_ends_with_the_command_that_replays_it() {
    let (of, result) = (demo(), nasty());
    let root = read(&document(&[Suite { scenario: &of, result: Ok(&result) }]));
    let suite = children(&root, "testsuite")[0].clone();
    let failures: Vec<_> = children(&suite, "testcase").into_iter().flat_map(|one| children(one, "failure")).collect();
    let command = result.replay.as_ref().expect("there");
    for one in &failures {
        let last = one["text"].as_str().and_then(|text| text.lines().last()).expect("text");
        assert_eq!(last, format!("replay: {command}"));
        assert!(one["attributes"]["message"].as_str().is_some_and(|text| !text.is_empty() && !text.contains('\n')));
    }
    assert_eq!(failures.len(), 2);
}

fn named<'a>(suite: &'a serde_json::Value, start: &str) -> &'a serde_json::Value {
    let cases = children(suite, "testcase");
    let found = cases.iter().find(|one| one["attributes"]["name"].as_str().is_some_and(|name| name.starts_with(start)));
    found.unwrap_or_else(|| panic!("no case {start} in {suite}"))
}

#[test]
fn an_accident_that_the_scenario_expects_is_no_failure_and_what_was_not_judged_is_skipped() {
    let (of, mut result) = (demo(), nasty());
    let mut expecting = of.clone();
    expecting.expect.hazards = Some(vec!["H08".to_owned()]);
    let suite = |of: &Scenario, result: &RunResult| {
        children(&read(&document(&[Suite { scenario: of, result: Ok(result) }])), "testsuite")[0].clone()
    };
    let (surprised, ready) = (suite(&of, &result), suite(&expecting, &result));
    assert_eq!(children(named(&surprised, "H08"), "failure").len(), 1);
    assert_eq!(children(named(&ready, "H08"), "failure").len(), 0);
    assert_eq!(children(named(&surprised, "H17"), "skipped").len(), 1);
    assert_eq!(children(named(&surprised, "rows"), "skipped").len(), 1);
    // Between two jobs nobody expects one.
    result.jobs[0].accidents.clear();
    assert_eq!(children(named(&suite(&expecting, &result), "H08"), "failure").len(), 1);
}

#[test]
fn a_run_that_did_not_finish_is_an_error_and_not_a_failure() {
    let (of, mut result) = (demo(), report_sample::result());
    result.verdict = Verdict::Unfinished;
    let root = read(&document(&[Suite { scenario: &of, result: Ok(&result) }]));
    let suite = children(&root, "testsuite")[0].clone();
    assert_eq!(children(named(&suite, "the run comes to its end"), "error").len(), 1);
    assert_eq!((number(&suite, "errors"), number(&suite, "failures")), (1, 1), "H08 of the sample fails");
}
