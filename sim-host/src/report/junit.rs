//! Runs as JUnit XML, for what reads test results: each run a suite, each expectation, property and hazard a case.
//!
//! There is no standard; written is what the schema that the Jenkins xUnit plugin ships (`junit-10.xsd`) accepts, and no more of it than
//! readers know. Times are those that the runs took here, the only figures that two equal runs do not share.

use maud::{Markup, PreEscaped, html};

use super::data::{ExpectationResult, HazardLevel, JobResult, PropertyVerdict, RunResult};
use super::driver::cut_off;
use super::hazards::figure;
use crate::display::STANDARD;
use crate::scenario::Scenario;

/// A run that was asked for, and what came of it.
pub struct Suite<'a> {
    /// What was run.
    pub scenario: &'a Scenario,
    /// What came of it, or why nothing did.
    pub result: Result<&'a RunResult, String>,
}

/// How a case ended, with one line, and more of it.
enum End {
    Held,
    Failed(String, String),
    Error(String, String),
    Skipped(String),
}

struct Case {
    class: String,
    name: String,
    time: f64,
    end: End,
}

/// What no XML document can hold is replaced; line ends in one line are blanks.
fn line(text: &str) -> String {
    let fit = |letter: char| match letter {
        '\n' | '\r' | '\t' => ' ',
        other => legal(other),
    };
    text.chars().map(fit).collect()
}

fn legal(letter: char) -> char {
    match letter {
        '\n' | '\t' => letter,
        '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => '\u{fffd}',
        other => other,
    }
}

fn body(text: &str) -> String {
    text.chars().map(legal).collect()
}

/// The line that a failure ends with.
fn replay(result: &RunResult) -> String {
    result.replay.as_ref().map_or(String::new(), |command| format!("\nreplay: {command}"))
}

/// Whether the run came to its end.
fn ran(name: &str, result: &RunResult) -> Case {
    let unfinished = result.exit_code() == 2;
    let why = match (&result.controller.fault, &result.plant_fault) {
        (Some(fault), _) => format!("the controller was lost: {}", fault.why),
        (None, Some(fault)) => format!("the plant could not go on: {fault}"),
        (None, None) if result.partial => cut_off(result).to_owned(),
        (None, None) => "the time limit came before the work was done".to_owned(),
    };
    let end = if unfinished { End::Error(why.clone(), why + &replay(result)) } else { End::Held };
    Case { class: name.to_owned(), name: "the run comes to its end".to_owned(), time: result.wall_seconds, end }
}

fn judged(class: String, one: &ExpectationResult, result: &RunResult) -> Case {
    let detail = one.detail.to_string();
    let told = format!("expected: {}\nfound: {detail}{}", one.name, replay(result));
    let end = if one.held { End::Held } else { End::Failed(detail, told) };
    Case { class, name: one.name.clone(), time: 0.0, end }
}

/// Names that properties of a job have among the expectations.
fn property_names(result: &RunResult) -> Vec<String> {
    let row = result.jobs_in_all > 1;
    let of = |(at, job): (usize, &JobResult)| {
        let name = move |name: &str| if row { format!("job {}: {name}", at + 1) } else { name.to_owned() };
        job.properties.iter().map(move |one| name(&one.name)).collect::<Vec<_>>()
    };
    result.jobs.iter().enumerate().flat_map(of).collect()
}

/// Properties that were not judged stand in no list of expectations.
fn not_judged(name: &str, result: &RunResult) -> Vec<Case> {
    let all = result.jobs.iter().flat_map(|job| &job.properties);
    let open = all.filter(|one| one.verdict == PropertyVerdict::NotJudged);
    let case = |end: &crate::report::data::PropertyResult| Case {
        class: format!("{name}.properties"),
        name: end.name.clone(),
        time: 0.0,
        end: End::Skipped(end.detail.to_string()),
    };
    open.map(case).collect()
}

/// Each hazard: it may not come to its accident level where its job does not expect it to.
fn hazards(name: &str, scenario: &Scenario, result: &RunResult) -> Vec<Case> {
    let expected = |job: usize, id: &str| {
        let wanted = scenario.job(job).and_then(|job| job.expect.hazards.as_ref());
        wanted.is_some_and(|list| list.iter().any(|one| one == id))
    };
    let case = |one: &crate::report::data::HazardResult| {
        let jobs: Vec<usize> =
            (0..result.jobs.len()).filter(|at| result.jobs[*at].accidents.iter().any(|id| id == one.id)).collect();
        let between = one.level == HazardLevel::Accident && jobs.is_empty();
        let unexpected = between || jobs.iter().any(|at| !expected(*at, one.id));
        let at = one.accident_t_s.unwrap_or(one.worst_t_s);
        let what = format!("accident level reached at {at:.2} s: {}", figure(&one.figure, &STANDARD));
        let end = match one.not_judged {
            Some(why) => End::Skipped(format!("not judged: {why}")),
            None if unexpected => End::Failed(what.clone(), what + &replay(result)),
            None => End::Held,
        };
        Case { class: format!("{name}.hazards"), name: format!("{} {}", one.id, one.title), time: 0.0, end }
    };
    result.hazards.iter().map(case).collect()
}

fn cases(suite: &Suite<'_>) -> Vec<Case> {
    let name = &suite.scenario.name;
    let result = match &suite.result {
        Ok(result) => *result,
        Err(why) => {
            let end = End::Error(why.clone(), why.clone());
            return vec![Case { class: name.clone(), name: "the run comes about".to_owned(), time: 0.0, end }];
        }
    };
    let mut all = vec![ran(name, result)];
    let properties = property_names(result);
    for one in &result.expectations {
        let kind = if properties.contains(&one.name) { "properties" } else { "expectations" };
        all.push(judged(format!("{name}.{kind}"), one, result));
    }
    all.extend(not_judged(name, result));
    all.extend(hazards(name, suite.scenario, result));
    all
}

fn count(cases: &[Case], which: fn(&End) -> bool) -> usize {
    cases.iter().filter(|one| which(&one.end)).count()
}

fn case(one: &Case) -> Markup {
    html! {
        testcase classname=(line(&one.class)) name=(line(&one.name)) time=(format!("{:.3}", one.time)) {
            @match &one.end {
                End::Held => {}
                End::Failed(short, long) => { failure type="expectation" message=(line(short)) { (body(long)) } }
                End::Error(short, long) => { error type="run" message=(line(short)) { (body(long)) } }
                End::Skipped(why) => { skipped message=(line(why)) {} }
            }
        }
        "\n"
    }
}

fn suite(of: &Suite<'_>, cases: &[Case]) -> Markup {
    let time = of.result.as_ref().map_or(0.0, |result| result.wall_seconds);
    let (failed, errors) =
        (count(cases, |end| matches!(end, End::Failed(..))), count(cases, |end| matches!(end, End::Error(..))));
    let skipped = count(cases, |end| matches!(end, End::Skipped(_)));
    html! {
        testsuite name=(line(&of.scenario.name)) tests=(cases.len()) failures=(failed) errors=(errors) skipped=(skipped) time=(format!("{time:.3}")) {
            "\n"
            @if let Ok(result) = &of.result {
                properties {
                    property name="title" value=(line(&of.scenario.title)) {}
                    property name="station" value=(line(&result.station.name)) {}
                    property name="controller" value=(line(&result.controller.name)) {}
                    property name="seed" value=(result.seed) {}
                    property name="simulated_s" value=(format!("{:.2}", result.sim_seconds)) {}
                    property name="trace_hash" value=(result.trace_hash) {}
                    @if let Some(replay) = &result.replay { property name="replay" value=(line(replay)) {} }
                }
                "\n"
            }
            @for one in cases { (case(one)) }
        }
        "\n"
    }
}

/// The document.
pub fn document(suites: &[Suite<'_>]) -> String {
    let all: Vec<Vec<Case>> = suites.iter().map(cases).collect();
    let sum = |which: fn(&End) -> bool| all.iter().map(|one| count(one, which)).sum::<usize>();
    let time: f64 = suites.iter().filter_map(|one| one.result.as_ref().ok()).map(|result| result.wall_seconds).sum();
    let (failed, errors) = (sum(|end| matches!(end, End::Failed(..))), sum(|end| matches!(end, End::Error(..))));
    let markup = html! {
        (PreEscaped("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"))
        testsuites name="valvewright" tests=(sum(|_| true)) failures=(failed) errors=(errors) time=(format!("{time:.3}")) {
            "\n"
            @for (of, cases) in suites.iter().zip(&all) { (suite(of, cases)) }
        }
        "\n"
    };
    markup.into_string()
}
