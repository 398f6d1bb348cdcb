//! Properties of a run's jobs: those that could not be judged beside the expectations, and all of them with their formulas on the page.

use maud::{Markup, html};

use super::axis::significant;
use super::data::{PropertyResult, PropertyVerdict, RunResult};
use crate::display::Display;

/// Each property under the name that the run's expectations give it.
fn named(result: &RunResult) -> impl Iterator<Item = (String, &PropertyResult)> {
    let row = result.jobs_in_all > 1;
    let of = move |(at, one): (usize, &PropertyResult)| {
        if row { format!("job {}: {}", at + 1, one.name) } else { one.name.clone() }
    };
    let jobs = result.jobs.iter().enumerate();
    jobs.flat_map(move |(at, job)| job.properties.iter().map(move |one| (of((at, one)), one)))
}

/// Those that were not judged; they stand in no list of expectations.
pub fn not_judged(result: &RunResult) -> impl Iterator<Item = (String, &PropertyResult)> {
    named(result).filter(|(_, one)| one.verdict == PropertyVerdict::NotJudged)
}

/// All of them for the page; nothing where there are none.
pub fn table(result: &RunResult, display: &Display) -> Markup {
    let all: Vec<(String, &PropertyResult)> = named(result).collect();
    html! {
        @if !all.is_empty() {
            h2 { "Properties" }
            table.list {
                thead { tr { th { "" } th { "Formula" } th.number { "Robustness" } } }
                tbody {
                    @for (name, one) in &all {
                        @let (class, sign) = match one.verdict {
                            PropertyVerdict::Held => ("pass", "✓"),
                            PropertyVerdict::Failed => ("failed", "✕"),
                            PropertyVerdict::NotJudged => ("skipped", "–"),
                        };
                        tr {
                            td { span.pill.(class) { (sign) } }
                            td {
                                (name) div { code { (one.formula) } }
                                @if let Some(why) = &one.why { div.soft { "why: " (why) } }
                                @if one.verdict == PropertyVerdict::NotJudged { div.soft { (one.detail.on(display)) } }
                            }
                            td.number.nowrap { (one.robustness.map_or("–".to_owned(), |value| significant(value, 3))) }
                        }
                    }
                }
            }
        }
    }
}
