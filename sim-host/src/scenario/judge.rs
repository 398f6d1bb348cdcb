//! Whether a result holds what its scenario expects. Each judgement carries the figure it was made by.

use super::expect::Expect;
use crate::display::{Amount, Sentence};
use crate::report::data::{ExpectationResult, HazardResult, JobResult, Outcome, PropertyResult, PropertyVerdict};
use crate::say;

fn held(name: impl Into<String>, held: bool, detail: impl Into<Sentence>) -> ExpectationResult {
    ExpectationResult { name: name.into(), held, detail: detail.into() }
}

/// Judges a job by what was expected of it; `content` is what its vehicle held at first, kg.
pub fn judge_job(expect: &Expect, content: f64, result: &JobResult) -> Vec<ExpectationResult> {
    let mut list = vec![held(
        format!("verdict = {}", expect.verdict.word()),
        result.verdict == expect.verdict,
        format!("the verdict was {}", result.verdict.word()),
    )];
    list.extend(expect.phases.iter().map(|(name, outcome)| judge_phase(result, name, *outcome)));
    if let Some(leak) = &expect.leak {
        let found = &result.leak.verdict;
        list.push(held(format!("leak = {leak}"), found == leak, format!("the leak check said {found}")));
    }
    list.extend(judge_masses(expect, content, result));
    list.extend(judge_times(expect, result));
    list.extend(judge_harm(expect, result));
    if let Some(wanted) = &expect.trips {
        list.push(judge_trips(wanted, result));
    }
    list.extend(judge_hazards(expect.hazards.as_deref(), &result.accidents));
    list
}

/// The properties of a job that were judged.
pub fn judge_properties(properties: &[PropertyResult]) -> Vec<ExpectationResult> {
    let judged = properties.iter().filter(|one| one.verdict != PropertyVerdict::NotJudged);
    judged.map(|one| held(one.name.clone(), one.verdict == PropertyVerdict::Held, one.detail.clone())).collect()
}

fn judge_phase(result: &JobResult, name: &str, wanted: Outcome) -> ExpectationResult {
    let found = result.phases.iter().rev().find(|phase| phase.name == name);
    let detail: Sentence = found.map_or("it did not run".into(), |phase| say!["it ended with ", phase.outcome.word()]);
    let ended = found.map_or(Outcome::Skipped, |phase| phase.outcome);
    held(format!("phase {name} = {}", wanted.word()), ended == wanted, detail)
}

/// By how much a difference, g, lies inside its limit or beyond it.
fn margin(limit: f64, off: f64) -> Sentence {
    let by = Amount::Mass((limit - off.abs()).abs() * 1e-3);
    say![by, if off.abs() <= limit { " inside the limit" } else { " beyond the limit" }]
}

fn judge_masses(expect: &Expect, content: f64, result: &JobResult) -> Vec<ExpectationResult> {
    let mut list = Vec::new();
    if let Some(limit) = expect.recovered_within.map(|kg| kg * 1e3) {
        let name = format!("recovered_within = {limit} g");
        list.push(match result.recovered_g.shown {
            None => held(name, false, "the controller does not say what it recovered"),
            Some(shown) => {
                let off = shown - result.recovered_g.truth;
                let change = Amount::MassDifference(off * 1e-3);
                held(name, off.abs() <= limit, say!["shown ", change, " against truth, ", margin(limit, off)])
            }
        });
    }
    if let Some(limit) = expect.recovered_share {
        let share = if content > 0.0 { result.recovered_g.truth * 1e-3 / content } else { 1.0 };
        let margin = (share - limit) * 100.0;
        let share_of = format!("{:.2} % of ", share * 100.0);
        let rest = format!(" came out, {margin:+.2} points from the limit");
        let detail = say![share_of, Amount::Mass(content), rest];
        list.push(held(format!("recovered_share = {:.0} %", limit * 100.0), share >= limit, detail));
    }
    if let Some(limit) = expect.charged_within.map(|kg| kg * 1e3) {
        let name = format!("charged_within = {limit} g");
        list.push(match result.charged_g.target {
            None => held(name, false, "the order does not charge"),
            Some(target) => {
                let off = result.charged_g.truth - target;
                let change = Amount::MassDifference(off * 1e-3);
                let detail = say!["true charge ", change, " against target, ", margin(limit, off)];
                held(name, off.abs() <= limit, detail)
            }
        });
    }
    list
}

fn judge_times(expect: &Expect, result: &JobResult) -> Vec<ExpectationResult> {
    let minutes = |s: f64| format!("{:.1} min", s / 60.0);
    let mut list = Vec::new();
    if let Some(limit) = expect.recovery_time {
        let name = format!("recovery_time = {}", minutes(limit));
        let all: Vec<_> = result.phases.iter().filter(|phase| phase.name == "recover").collect();
        let taken = all.iter().fold(0.0, |sum, phase| sum + phase.seconds);
        list.push(match all.last() {
            None => held(name, false, "no recovery came to an end"),
            Some(last) if last.outcome != Outcome::Pass => {
                held(name, false, format!("recovery {} after {}", last.outcome.word(), minutes(taken)))
            }
            Some(_) => held(name, taken <= limit, format!("it took {}", minutes(taken))),
        });
    }
    if let Some(limit) = expect.job_time {
        let detail = format!("it took {}", minutes(result.seconds()));
        list.push(held(format!("job_time = {}", minutes(limit)), result.seconds() <= limit, detail));
    }
    list
}

/// Ids in order, each once.
fn sorted<'a>(ids: impl Iterator<Item = &'a str>) -> String {
    let mut ids: Vec<&str> = ids.collect();
    ids.sort_unstable();
    ids.dedup();
    if ids.is_empty() { "none".to_owned() } else { ids.join(", ") }
}

fn judge_trips(wanted: &[String], result: &JobResult) -> ExpectationResult {
    let wanted = sorted(wanted.iter().map(String::as_str));
    let found = sorted(result.trips.iter().map(String::as_str));
    held(format!("trips = {wanted}"), wanted == found, format!("tripped: {found}"))
}

/// Accidents of a job against those that the file names. Where it names none and none happened there is nothing to be said.
fn judge_hazards(wanted: Option<&[String]>, accidents: &[String]) -> Option<ExpectationResult> {
    if wanted.is_none() && accidents.is_empty() {
        return None;
    }
    let wanted = sorted(wanted.unwrap_or_default().iter().map(String::as_str));
    let found = sorted(accidents.iter().map(String::as_str));
    Some(held(format!("hazards = {wanted}"), wanted == found, format!("accident level reached in truth: {found}")))
}

/// What is judged of hazards beside the jobs: accidents between two of them, and hazards for which the plant gave no number.
pub fn judge_hazards_of_run(between: &[&str], hazards: &[HazardResult]) -> Vec<ExpectationResult> {
    let mut list = Vec::new();
    if !between.is_empty() {
        let found = sorted(between.iter().copied());
        list.push(held("between jobs: hazards = none", false, format!("accident level reached in truth: {found}")));
    }
    let unseen = sorted(hazards.iter().filter(|one| one.unseen_t_s.is_some()).map(|one| one.id));
    if unseen != "none" {
        list.push(held("hazards can be judged", false, format!("the plant gave no number to judge {unseen} by")));
    }
    list
}

/// What is judged by the plant alone, whatever the controller says.
fn judge_harm(expect: &Expect, result: &JobResult) -> Vec<ExpectationResult> {
    let mut list = Vec::new();
    if let Some(limit) = expect.escaped_most {
        let escaped = result.reached.escaped_g * 1e-3;
        let detail = say![Amount::Mass(escaped), " went into the air"];
        list.push(held(format!("escaped_most = {} g", limit * 1e3), escaped <= limit, detail));
    }
    if let Some(limit) = expect.vessel_most {
        let most = result.reached.vessel_g * 1e-3;
        let detail = say!["the vessel held ", Amount::Mass(most), " at most"];
        list.push(held(format!("vessel_most = {} g", limit * 1e3), most <= limit, detail));
    }
    if let Some(limit) = expect.vessel_level_most {
        let level = result.reached.vessel_level;
        let detail = format!("the vessel was {:.1} % full of liquid at most", level * 100.0);
        list.push(held(format!("vessel_level_most = {} %", limit * 100.0), level <= limit, detail));
    }
    list
}
