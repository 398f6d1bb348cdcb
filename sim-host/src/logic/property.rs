//! Properties of a scenario: what shall hold of a job, and the result's words for what came of it.

use serde::Serialize;

use super::degree::NOWHERE;
use super::formula::{Atom, Look, Parsed};
use super::monitor::Finding;
use crate::display::{Amount, Sentence};
use crate::report::data::{ClosestResult, PropertyResult, PropertyVerdict};
use crate::say;
use crate::scenario::quantity::Dim;

/// What shall hold of a job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Property {
    /// What reports call it.
    pub name: String,
    /// The formula as it was written.
    pub formula: String,
    /// Why it is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// The formula as it was read.
    #[serde(skip)]
    pub parsed: Parsed,
}

/// Why a property is not judged in a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotJudged {
    /// It asks for rows, which this controller does not have.
    NoRows,
    /// The plant of this job has no such signal.
    NoSignal(String),
    /// A span of it lies between two scans.
    BetweenScans,
}

/// Times of a job: when it began, s, and the period of its scans, s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Times {
    /// Time of its first scan.
    pub began: f64,
    /// From scan to scan.
    pub period: f64,
}

impl Times {
    fn of(self, scan: u32) -> f64 {
        self.began + f64::from(scan) * self.period
    }
}

/// A time in a sentence, exact to the scan.
fn clock(seconds: f64) -> String {
    let centis = (seconds * 100.0).round();
    let minutes = (centis / 6_000.0).floor();
    let rest = (centis - minutes * 6_000.0) / 100.0;
    if minutes > 0.0 { format!("{minutes:.0} min {rest:05.2} s") } else { format!("{rest:.2} s") }
}

impl Property {
    /// What came of it, in the words of a result.
    pub fn result(&self, found: &Result<Finding, NotJudged>, times: Times) -> PropertyResult {
        let mut result = PropertyResult {
            name: self.name.clone(),
            formula: self.formula.clone(),
            why: self.why.clone(),
            verdict: PropertyVerdict::NotJudged,
            robustness: None,
            closest: None,
            certain_s: None,
            whole: true,
            met: None,
            detail: Sentence::default(),
        };
        let found = match found {
            Ok(found) => found,
            Err(why) => {
                (result.detail, result.verdict) = match why {
                    NotJudged::NoRows => {
                        ("not judged: the controller tells no rows".into(), PropertyVerdict::NotJudged)
                    }
                    NotJudged::NoSignal(name) => {
                        (say!["the plant of this job has no ", name.clone()], PropertyVerdict::Failed)
                    }
                    NotJudged::BetweenScans => ("a time of it lies between two scans".into(), PropertyVerdict::Failed),
                };
                return result;
            }
        };
        let held = found.value.degree.holds();
        let value = found.value.degree.get();
        result.verdict = if held { PropertyVerdict::Held } else { PropertyVerdict::Failed };
        result.robustness = value.is_finite().then_some(value);
        result.certain_s = found.certain.map(|scan| times.of(scan));
        (result.whole, result.met) = (found.known(), found.met);
        result.closest = self
            .wanted(found)
            .filter(|_| value.is_finite())
            .map(|(_, comparison)| ClosestResult { comparison, t_s: times.of(found.value.at) });
        result.detail = self.detail(found, held, times);
        result
    }

    /// The comparison that made the value, as it was wanted: by its contrary where it counts so.
    fn wanted(&self, found: &Finding) -> Option<(&Look, String)> {
        let look = self.parsed.atoms.get(found.value.atom as usize).filter(|_| found.value.atom != NOWHERE)?;
        Some((look, if found.contrary { look.no.clone() } else { look.yes.clone() }))
    }

    fn detail(&self, found: &Finding, held: bool, times: Times) -> Sentence {
        let value = found.value.degree.get();
        let at = format!(" at {}", clock(times.of(found.value.at)));
        let mut told = match self.wanted(found) {
            Some((look, wanted)) if value.is_finite() => {
                let side = if held { " to spare on `" } else { " too much on `" };
                say![if held { "closest" } else { "worst" }, at, ": ", margin(look, value), side, wanted, "`"]
            }
            Some((look, _)) if !held => {
                say!["broken by `", if found.contrary { look.yes.clone() } else { look.no.clone() }, "`", at]
            }
            _ if held && found.met == Some(true) => "held each time its condition came".into(),
            _ if held => "held".into(),
            _ => "what it waits for did not come".into(),
        };
        if let (Some(scan), false) = (found.certain, held) {
            told = say![told, format!("; certain at {}", clock(times.of(scan)))];
        }
        if let Some((scan, atom)) = found.unknown {
            let what = self.parsed.atoms.get(atom as usize).map(|look| look.yes.clone()).unwrap_or_default();
            told = say![told, format!("; no value for `{what}` at {}, which counts against it", clock(times.of(scan)))];
        }
        if found.met == Some(false) {
            told = say![told, "; its condition never came, so nothing was shown"];
        }
        if !found.known() {
            told = say![told, "; the run ended before a time of it was over, judged by what ran"];
        }
        told
    }
}

/// A margin in the unit of its comparison.
fn margin(look: &Look, value: f64) -> Sentence {
    let Atom::Compare { dim, scale, .. } = &look.atom else { return Sentence::default() };
    let si = (value * scale).abs();
    match dim {
        Dim::Pressure | Dim::PressureDifference => say![Amount::Margin(si)],
        Dim::Mass => say![Amount::Mass(si)],
        Dim::Temperature => say![rough(Dim::TemperatureDifference, si)],
        other => say![rough(*other, si)],
    }
}

/// A quantity in the usual unit of its dimension, to three digits.
fn rough(dim: Dim, si: f64) -> String {
    let unit = dim.units().next().and_then(|name| dim.unit(name).ok());
    let number = unit.map_or(si, |unit| unit.of_si(si));
    let digits: f64 = format!("{number:.2e}").parse().unwrap_or(number);
    unit.map_or(digits.to_string(), |unit| format!("{digits} {}", unit.name()))
}
