//! Reads result files as papers need them: what the station said, never the truth beside it.
//!
//! The one exception is [`Run::stock`], the station's refrigerant before and after the run, which stands for an inventory by weight and
//! goes into the ledger alone. A file that is not whole, of another kind or of another shape is refused with what it is.

use serde::Deserialize;
use serde_json::Value;
use valvewright_core::talk::Notice;

use crate::report::data::{Outcome, Verdict};
use crate::report::service::{FORMAT, Service};

/// A result file as papers see it.
#[derive(Clone, Debug, Deserialize)]
pub struct Run {
    /// Name of the scenario.
    pub scenario: String,
    /// Its seed.
    pub seed: u64,
    /// Rows of the interlock table that were left out.
    #[serde(default)]
    pub without: Vec<String>,
    /// Simulated time, s.
    pub sim_seconds: f64,
    /// It was broken off.
    pub partial: bool,
    /// Same run, same hash.
    pub trace_hash: String,
    /// Who drove.
    pub controller: Driver,
    /// The station.
    pub station: Named,
    /// All that was told.
    pub notices: Vec<Told>,
    /// All trips.
    pub interlocks: Vec<Trip>,
    /// The jobs that were begun.
    pub jobs: Vec<Job>,
    /// How many there were to be.
    pub jobs_in_all: usize,
    /// Station and vehicles.
    pub service: Service,
    /// Refrigerant in the station before and after.
    #[serde(rename = "ledger")]
    pub stock: Stock,
}

/// Who drove the station.
#[derive(Clone, Debug, Deserialize)]
pub struct Driver {
    /// Whether it was the core.
    pub core: bool,
}

/// A station.
#[derive(Clone, Debug, Deserialize)]
pub struct Named {
    /// Its name or the path of its file.
    pub name: String,
}

/// What the station told.
#[derive(Clone, Debug, Deserialize)]
pub struct Told {
    /// Simulated time, s.
    pub t_s: f64,
    /// In English.
    pub text: String,
    /// As it was told; absent where this program does not know it.
    #[serde(default, deserialize_with = "known")]
    pub told: Option<Notice>,
}

/// A notice that a later program may have added is still told by its text.
fn known<'de, D: serde::Deserializer<'de>>(from: D) -> Result<Option<Notice>, D::Error> {
    let value = Value::deserialize(from)?;
    Ok(Notice::deserialize(value).ok())
}

/// A trip.
#[derive(Clone, Debug, Deserialize)]
pub struct Trip {
    /// Simulated time, s.
    pub t_s: f64,
    /// Its row.
    pub id: String,
    /// What tripped it, in English.
    pub reading: String,
    /// When it let go, s.
    pub cleared_t_s: Option<f64>,
}

/// A figure that was said or was not.
#[derive(Clone, Copy, Debug, Deserialize)]
pub struct Said {
    /// By the station.
    pub shown: Option<f64>,
    /// What was ordered, where something is.
    #[serde(default)]
    pub target: Option<f64>,
}

/// A leak check.
#[derive(Clone, Debug, Deserialize)]
pub struct Leak {
    /// `pass`, `leak`, `moisture`, `inconclusive` or `not_checked`.
    pub verdict: String,
}

/// A phase.
#[derive(Clone, Debug, Deserialize)]
pub struct Phase {
    /// Its name in files.
    pub name: String,
    /// How it ended.
    pub outcome: Outcome,
    /// How long it took, s.
    pub seconds: f64,
}

/// A job.
#[derive(Clone, Debug, Deserialize)]
pub struct Job {
    /// What the vehicle is.
    pub vehicle: String,
    /// When it was ordered, s.
    pub start_s: f64,
    /// When it was over, s.
    pub end_s: f64,
    /// How it ended.
    pub verdict: Verdict,
    /// Its phases.
    pub phases: Vec<Phase>,
    /// Recovered, g.
    pub recovered_g: Said,
    /// Charged, g.
    pub charged_g: Said,
    /// Used oil, mL.
    pub oil_drained_ml: Option<f64>,
    /// Its leak check.
    pub leak: Leak,
}

/// The station's refrigerant by weight.
#[derive(Clone, Copy, Debug, Deserialize)]
pub struct Stock {
    /// Before the run, g.
    pub start_g: f64,
    /// After it, g.
    pub end_g: f64,
}

/// Why a file makes no paper, and what to do.
#[derive(Debug, PartialEq, Eq)]
pub struct Unfit {
    /// What it is or lacks.
    pub why: String,
    /// What to do about it.
    pub help: String,
}

fn unfit<T>(why: impl Into<String>, help: impl Into<String>) -> Result<T, Unfit> {
    Err(Unfit { why: why.into(), help: help.into() })
}

const MAKE: &str = "make a result with `valvewright run SCENARIO`; its file is result.json";

/// A result from the text of its file.
pub fn run(text: &str) -> Result<Run, Unfit> {
    let value: Value = match serde_json::from_str(text) {
        Ok(value) => value,
        Err(wrong) if wrong.is_eof() => {
            return unfit(
                format!("is not whole: it ends in line {}, column {}, in mid-value", wrong.line(), wrong.column()),
                format!("the file was cut short; {MAKE}"),
            );
        }
        Err(wrong) => return unfit(format!("is no JSON: {wrong}"), MAKE),
    };
    let whole = match &value {
        Value::Array(list) => {
            let what = if list.iter().any(is_result) { "holds several results" } else { "is a list, and no result" };
            return unfit(what, "give the result.json of each run by itself");
        }
        Value::Object(whole) if is_result(&value) => whole,
        _ => return unfit(format!("is no result of a run{}", looks_like(&value)), MAKE),
    };
    let format = whole.get("service").map(|service| service.get("format").and_then(Value::as_u64));
    match format {
        None => {
            return unfit("says nothing of station and vehicles: an older program wrote it", "run its scenario again");
        }
        Some(Some(format)) if format == u64::from(FORMAT) => {}
        Some(Some(format)) => {
            return unfit(
                format!("has the shape {format} for papers, and this program reads shape {FORMAT}"),
                "use the program that wrote it, or run its scenario again with this one",
            );
        }
        Some(None) => return unfit("has no shape for papers (`service.format`)", "run its scenario again"),
    }
    let run: Run = match serde_json::from_value(value) {
        Ok(run) => run,
        Err(wrong) => {
            return unfit(format!("is no result as this program writes it: {wrong}"), "run its scenario again");
        }
    };
    let (vehicles, jobs) = (run.service.jobs.len(), run.jobs.len());
    if jobs > vehicles || vehicles != run.jobs_in_all {
        let all = run.jobs_in_all;
        return unfit(
            format!("contradicts itself: {jobs} of {all} jobs, {vehicles} vehicles"),
            "run its scenario again",
        );
    }
    Ok(run)
}

fn is_result(value: &Value) -> bool {
    ["trace_hash", "phases", "jobs"].iter().all(|key| value.get(key).is_some())
}

fn looks_like(value: &Value) -> &'static str {
    let has = |key: &str| value.get(key).is_some();
    if has("tickets") {
        ", but tickets that were made of one"
    } else if has("rows") && has("records") {
        ", but a ledger"
    } else if has("notices") && has("language") {
        ", but a list of notices"
    } else {
        ""
    }
}
