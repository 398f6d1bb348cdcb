//! The orders of a row one by one, and the station's ledger, for text and page.

use std::fmt::Write;

use maud::{Markup, html};

use super::axis::{clock, duration, significant};
use super::chart::{mark, readable};
use super::data::{JobResult, Outcome, RunResult, Verdict};
use super::proof::balance_unit;
use crate::display::{Amount, Display};

/// The sign that a phase of the same end would have.
fn sign(verdict: Verdict) -> &'static str {
    mark(match verdict {
        Verdict::Pass => Outcome::Pass,
        Verdict::Refused => Outcome::Refused,
        Verdict::Failed => Outcome::Failed,
        Verdict::Aborted => Outcome::Aborted,
        Verdict::Unfinished => Outcome::Unfinished,
    })
}

/// Masses in the display's unit, as wide as it is fine.
struct Masses<'a>(&'a Display);

impl Masses<'_> {
    fn words(&self, gram: f64) -> String {
        self.0.words(Amount::Mass(gram * 1e-3))
    }

    fn said(&self, gram: Option<f64>) -> String {
        gram.map_or("not said".to_owned(), |gram| self.words(gram))
    }
}

/// What of a job is not held.
fn failed(job: &JobResult) -> usize {
    job.expectations.iter().filter(|one| !one.held).count()
}

/// Whether several jobs were to run.
pub const fn is_row(result: &RunResult) -> bool {
    result.jobs_in_all > 1
}

/// What is said of the jobs of a row that were never begun.
pub fn missing(result: &RunResult) -> Option<String> {
    let began = result.jobs.len();
    let left = result.jobs_in_all.checked_sub(began).filter(|left| *left > 0)?;
    let (from, to) = (began + 1, result.jobs_in_all);
    Some(if left == 1 { format!("job {to} was never begun") } else { format!("jobs {from} to {to} were never begun") })
}

/// How many of the jobs of a row passed; nothing where there is one.
pub fn passed(result: &RunResult) -> Option<String> {
    let passed = result.jobs.iter().filter(|job| job.verdict == Verdict::Pass).count();
    is_row(result).then(|| format!("{passed} of {} jobs passed", result.jobs_in_all))
}

/// The job that a phase belongs to, as far as it has to be said.
pub fn job_of(result: &RunResult, phase: usize) -> Option<usize> {
    let mut first = 0;
    let begins = result.jobs.iter().map(|job| {
        first += job.phases.len();
        first
    });
    let before = begins.take_while(|end| *end <= phase).count();
    is_row(result).then_some(before + 1)
}

/// What became of the station's refrigerant, in one line.
pub fn ledger(result: &RunResult, display: &Display) -> String {
    let (of, mass) = (&result.ledger, Masses(display));
    let (by, unit) = balance_unit("g", display);
    let vessels = match of.with_vessels_g {
        0.0 => String::new(),
        went => format!("{} with vessels that were changed, ", mass.words(went)),
    };
    format!(
        "{} at the start, {} from vehicles, {vessels}{} into the air, {} at the end; unaccounted for {} {unit}",
        mass.words(of.start_g),
        mass.words(of.from_vehicles_g),
        mass.words(of.escaped_g),
        mass.words(of.end_g),
        significant(of.error_g * by, 2)
    )
}

/// The jobs of a row as lines, nothing where there is one.
pub fn lines(result: &RunResult, display: &Display) -> String {
    let mut text = String::new();
    if !is_row(result) {
        return text;
    }
    let mass = Masses(display);
    for (at, job) in result.jobs.iter().enumerate() {
        // Writing to a String cannot fail.
        let _ = writeln!(
            text,
            "  {} {:<10} job {:<3} {:>8}  {:>9}  {}",
            sign(job.verdict),
            job.verdict.word(),
            at + 1,
            clock(job.start_s),
            duration(job.seconds()),
            job.vehicle
        );
        let _ = writeln!(
            text,
            "               recovered {} (true {}), charged {} (true {}){}",
            mass.said(job.recovered_g.shown),
            mass.words(job.recovered_g.truth),
            mass.said(job.charged_g.shown),
            mass.words(job.charged_g.truth),
            job.charged_g.target.map_or(String::new(), |target| format!(" of {} ordered", mass.words(target)))
        );
    }
    if let Some(missing) = missing(result) {
        let _ = writeln!(text, "  {} {:<10} {missing}", sign(Verdict::Unfinished), Verdict::Unfinished.word());
    }
    let _ = writeln!(text, "  {:<14}  {}\n", "station", ledger(result, display));
    text
}

/// The jobs of a row as a table, nothing where there is one.
pub fn table(result: &RunResult, display: &Display) -> Markup {
    let mass = Masses(display);
    html! {
        @if is_row(result) {
            section {
                h2 { "Jobs in a row" }
                div.wide { table {
                    thead { tr {
                        th { "Job" } th { "Vehicle" } th { "Begins" } th { "Takes" } th { "Verdict" } th { "Recovered" }
                        th { "Charged" } th { "Ordered" } th { "Leak check" } th { "Expectations" }
                    } }
                    tbody { @for (at, job) in result.jobs.iter().enumerate() {
                        tr {
                            td { (at + 1) } td { (job.vehicle) } td { (clock(job.start_s)) } td { (duration(job.seconds())) }
                            td { (sign(job.verdict)) " " (job.verdict.word()) }
                            td { (mass.said(job.recovered_g.shown)) br; small { "true " (mass.words(job.recovered_g.truth)) } }
                            td { (mass.said(job.charged_g.shown)) br; small { "true " (mass.words(job.charged_g.truth)) } }
                            td { (job.charged_g.target.map_or("–".to_owned(), |target| mass.words(target))) }
                            td { (readable(&job.leak.verdict).to_lowercase()) }
                            td { @match failed(job) { 0 => { "✓ held" } n => { "✕ " (n) " failed" } } }
                        }
                    } }
                } }
                @if let Some(missing) = missing(result) { p { "The run was cut off: " (missing) "." } }
                p { "The station's refrigerant: " (ledger(result, display)) "." }
            }
        }
    }
}
