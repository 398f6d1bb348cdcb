//! The cut sets as a fault tree in the Open-PSA Model Exchange Format, for whoever reckons on with it.
//!
//! Promises: a tree for each hazard that came to an accident, with a gate for each minimal set and an event for each way to fail; rates only
//! where they were given; valid names, each of one thing.

use std::collections::{BTreeMap, BTreeSet};

use maud::{Markup, PreEscaped, html};

use super::junit::legal;
use super::{CAUTION, Findings, judge, tables, weights};

/// One line that is not empty.
fn line(text: &str) -> String {
    let text = legal(text).replace(['\n', '\t'], " ");
    if text.trim().is_empty() { "-".to_owned() } else { text }
}

/// A name for each way to fail: letters, digits, low lines and single hyphens, and no two alike.
fn names<'a>(literals: impl Iterator<Item = &'a str>) -> BTreeMap<&'a str, String> {
    let mut taken = BTreeSet::new();
    let mut names = BTreeMap::new();
    for literal in literals {
        let fit = |letter: char| if letter.is_ascii_alphanumeric() || letter == '-' { letter } else { '_' };
        let mut name: String = literal.chars().map(fit).collect();
        while name.contains("--") {
            name = name.replace("--", "-");
        }
        let name = name.trim_matches('-');
        // Gates begin with the hazard's H.
        let name = if name.starts_with('F') { name.to_owned() } else { format!("F_{name}") };
        let more = (2..).map(|n| format!("{name}_{n}"));
        let free = std::iter::once(name.clone()).chain(more).find(|one| !taken.contains(one)).unwrap_or_default();
        taken.insert(free.clone());
        names.insert(literal, free);
    }
    names
}

/// The document.
pub fn document(of: &Findings) -> String {
    let cuts = &of.counts.cuts;
    let hazards: Vec<usize> = cuts.accidents().map(|(hazard, _, _)| hazard).collect();
    let sets: Vec<_> = hazards.iter().map(|hazard| cuts.minimal(*hazard)).collect();
    let literals: BTreeSet<&str> =
        sets.iter().flatten().flat_map(|(set, _, _)| set.iter().map(String::as_str)).collect();
    let names = names(literals.into_iter());
    let about = format!(
        "Minimal cut sets of campaign {}, {} runs, digest {}. Complete only as far as the plan asked. {CAUTION}",
        of.campaign, of.counts.runs, of.digest
    );
    let markup = html! {
        (PreEscaped("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"))
        opsa-mef name="valvewright" {
            "\n" label { (line(&about)) } "\n"
            @for (hazard, sets) in hazards.iter().zip(&sets) {
                @let id = judge::hazard_id(*hazard);
                define-fault-tree name=(format!("{id}-tree")) {
                    "\n" label { (line(tables::title(*hazard))) } "\n"
                    (top(id, sets, &names))
                    @for (at, (set, runs, best)) in sets.iter().enumerate().filter(|(_, (set, _, _))| set.len() > 1) {
                        define-gate name=(format!("{id}-{}", at + 1)) {
                            label { (line(&format!("in {runs} runs; again: {}", best.replay))) }
                            and { @for one in *set { (event(&names[one.as_str()])) } }
                        } "\n"
                    }
                } "\n"
            }
            @if !names.is_empty() { model-data { "\n" @for (literal, name) in &names { (basic(of, literal, name)) "\n" } } "\n" }
        }
        "\n"
    };
    markup.into_string()
}

fn event(name: &str) -> Markup {
    html! { basic-event name=(name) {} }
}

/// The hazard comes of any of its sets; of nothing at all where an accident needed no fault.
fn top(id: &str, sets: &[(&[String], u64, &super::Recipe)], names: &BTreeMap<&str, String>) -> Markup {
    let input = |at: usize, set: &[String]| match set {
        [] => html! { constant value="true" {} },
        [one] => event(&names[one.as_str()]),
        _ => html! { gate name=(format!("{id}-{}", at + 1)) {} },
    };
    let inputs: Vec<Markup> = sets.iter().enumerate().map(|(at, (set, _, _))| input(at, set)).collect();
    html! {
        define-gate name=(id) {
            @if let [one] = inputs.as_slice() { (one) } @else { or { @for one in &inputs { (one) } } }
        } "\n"
    }
}

fn basic(of: &Findings, literal: &str, name: &str) -> Markup {
    let id = literal.split(' ').next().unwrap_or_default();
    html! {
        define-basic-event name=(name) {
            label { (line(&format!("{literal}: {}", judge::what(id)))) }
            @if let Some(rate) = weights::rate(of, literal) {
                exponential { float value=(format!("{rate:e}")) {} system-mission-time {} }
            }
        }
    }
}
