//! The findings as JUnit XML: a case per fault, one for rest after healing, one per kind of regression. No times: the same table, the same bytes.

use maud::{Markup, PreEscaped, html};

use super::Findings;

struct Case {
    class: String,
    name: String,
    failed: Option<(String, String)>,
}

/// What no XML document can hold is replaced.
pub fn legal(text: &str) -> String {
    let fit = |letter: char| match letter {
        '\n' | '\t' => letter,
        '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => '\u{fffd}',
        other => other,
    };
    text.chars().map(fit).collect()
}

fn cases(of: &Findings) -> Vec<Case> {
    let counts = &of.counts;
    let class = |what: &str| format!("{}.{what}", of.campaign);
    let mut all: Vec<Case> = Vec::new();
    for (id, mode) in &counts.faults {
        let failed = counts.unknown.get(id).map(|(runs, replay)| {
            let what = format!(
                "in {runs} of {} runs a hazard came to its accident level and is not known to follow from a fault",
                mode.runs
            );
            (what.clone(), format!("{what}\nreplay: {replay}"))
        });
        all.push(Case { class: class("faults"), name: format!("{id} brings no unknown accident"), failed });
    }
    if let (runs, replay) = &counts.stuck
        && *runs > 0
    {
        let what = format!("the station did not come to rest after healing in {runs} runs");
        let told = format!("{what}\nreplay: {}", replay.as_deref().unwrap_or_default());
        all.push(Case {
            class: class("healing"),
            name: "the station comes to rest".into(),
            failed: Some((what, told)),
        });
    }
    if let Some(comparison) = &of.comparison {
        for one in &comparison.worse {
            let what = one.change.words(true);
            let told = format!("{what}\nagainst: {}\nreplay: {}", comparison.other, one.replay);
            all.push(Case {
                class: class("against"),
                name: format!("{}: {what}", one.run),
                failed: Some((what, told)),
            });
        }
        if comparison.worse.is_empty() {
            all.push(Case {
                class: class("against"),
                name: format!("nothing is worse than in {}", comparison.other),
                failed: None,
            });
        }
    }
    if all.is_empty() {
        all.push(Case { class: class("runs"), name: "the table is whole".into(), failed: None });
    }
    all
}

fn case(of: &Case) -> Markup {
    html! {
        testcase classname=(legal(&of.class)) name=(legal(&of.name)) time="0.000" {
            @if let Some((message, told)) = &of.failed { failure type="failed" message=(legal(message)) { (legal(told)) } }
        }
        "\n"
    }
}

/// The document.
pub fn document(of: &Findings) -> String {
    let cases = cases(of);
    let failed = cases.iter().filter(|one| one.failed.is_some()).count();
    let markup = html! {
        (PreEscaped("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"))
        testsuites name="valvewright" tests=(cases.len()) failures=(failed) errors="0" time="0.000" {
            "\n"
            testsuite name=(legal(&of.campaign)) tests=(cases.len()) failures=(failed) errors="0" skipped="0" time="0.000" {
                "\n"
                properties { property name="runs" value=(of.counts.runs) {} property name="digest" value=(legal(&of.digest)) {} }
                "\n"
                @for one in &cases { (case(one)) }
            }
            "\n"
        }
        "\n"
    };
    markup.into_string()
}
