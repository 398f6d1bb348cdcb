//! What one run says: whether its fault was found in time, which faults came before an accident, how it ended.

use crate::campaign::row::{Row, hazard_ids};
use crate::fault::catalogue;
use crate::report::data::HazardLevel;

/// Times in the table are told to the microsecond.
pub const SAME_S: f64 = 1e-6;

/// When the first fault of a run began, s.
pub fn began(row: &Row) -> Option<f64> {
    row.faults.iter().filter_map(|one| one.began).reduce(f64::min)
}

/// When the first fault was noticed, s: a row tripped, or the order ended refused or failed. The table does not say when an order ended; the
/// run's end, which is not before that, stands for it.
pub fn noticed(row: &Row) -> Option<f64> {
    let tripped = row.rows.first().and_then(|(_, after)| Some(began(row)? + after));
    let ended = row.end.filter(|_| matches!(row.verdict, Some("refused" | "failed")));
    [tripped, ended].into_iter().flatten().reduce(f64::min)
}

/// When this hazard came to its accident level, s; without a time at the very beginning, so that nothing counts as found before it.
pub fn accident(row: &Row, hazard: usize) -> Option<f64> {
    let one = row.hazards.get(hazard).filter(|one| one.level == Some(HazardLevel::Accident))?;
    Some(one.accident.unwrap_or(0.0))
}

/// The first accident of any hazard, s.
pub fn first_accident(row: &Row) -> Option<f64> {
    (0..row.hazards.len()).filter_map(|at| accident(row, at)).reduce(f64::min)
}

/// Whether the fault was noticed before this time; at any time where there is none.
pub fn found_before(row: &Row, limit: Option<f64>) -> bool {
    noticed(row).is_some_and(|at| limit.is_none_or(|limit| at < limit - SAME_S))
}

/// How a run ended, in a word: as its order did where this ended, otherwise as the run did.
pub fn ending(row: &Row) -> &'static str {
    match (row.fate, row.verdict) {
        ("ended", Some(verdict)) => verdict,
        ("refused", _) => "not run",
        (fate, _) => fate,
    }
}

/// Whether it was run at all.
pub fn ran(row: &Row) -> bool {
    !matches!(row.fate, "refused" | "not_reached")
}

/// The way in which a fault comes into a cut set: id, mode and device, at whatever severity and moment.
pub fn literal(fault: &crate::campaign::row::Fault) -> String {
    let words = [fault.id.as_str(), &fault.mode, &fault.tag];
    words.into_iter().filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// Faults that had begun when this happened, each once, sorted.
pub fn causes(row: &Row, at: f64) -> Vec<String> {
    let came = row.faults.iter().filter(|one| one.began.is_some_and(|began| began <= at + SAME_S));
    let mut all: Vec<String> = came.map(literal).collect();
    all.sort();
    all.dedup();
    all
}

/// The step of a moment: `charge fill` of `charge fill 50 %`. Times and conditions are one step each, for there may be any number of them.
pub fn step(moment: &str) -> &str {
    if let Some((step, share)) = moment.strip_suffix(" %").and_then(|rest| rest.rsplit_once(' '))
        && share.parse::<f64>().is_ok()
    {
        return step;
    }
    match moment {
        "with the job" => moment,
        time if time.starts_with("at ") => "at a time",
        _ => "on a condition",
    }
}

/// What a fault's device is called: its tag, or its kind in the catalogue where it has none.
pub fn component(fault: &crate::campaign::row::Fault) -> String {
    if !fault.tag.is_empty() && fault.tag != "-" {
        return fault.tag.clone();
    }
    let entry = catalogue::entries().iter().find(|one| one.id == fault.id);
    entry.map_or_else(|| fault.id.clone(), |one| format!("({})", one.kind))
}

/// What fails, and how, in the catalogue's words.
pub fn what(fault: &str) -> String {
    let entry = catalogue::entries().iter().find(|one| one.id == fault);
    entry.map_or_else(String::new, |one| format!("{}: {}", one.component, one.failure_mode))
}

/// Ids of hazards by their place in a row.
pub fn hazard_id(at: usize) -> &'static str {
    hazard_ids().nth(at).unwrap_or_default()
}

/// How bad a run came out, and by which hazard: the worst first in this order.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// Not run: refused or not reached.
    NotRun,
    /// The order passed.
    Pass,
    /// It ended otherwise, or the station stands, goes on or broke.
    Ended(&'static str),
    /// A hazard came to its alert level.
    Alert(&'static str),
    /// A hazard came to its accident level.
    Accident(&'static str),
}

/// How bad this run came out. Of several hazards at the worst level, the one with the least margin is named.
pub fn outcome(row: &Row) -> Outcome {
    let worst = |level: HazardLevel| {
        let at = row.hazards.iter().enumerate().filter(|(_, one)| one.level == Some(level));
        let least =
            at.min_by(|(_, a), (_, b)| a.margin.unwrap_or(f64::INFINITY).total_cmp(&b.margin.unwrap_or(f64::INFINITY)));
        least.map(|(at, _)| hazard_id(at))
    };
    if !ran(row) {
        return Outcome::NotRun;
    }
    if let Some(id) = worst(HazardLevel::Accident) {
        return Outcome::Accident(id);
    }
    if let Some(id) = worst(HazardLevel::Alert) {
        return Outcome::Alert(id);
    }
    match ending(row) {
        "pass" => Outcome::Pass,
        other => Outcome::Ended(other),
    }
}

impl Outcome {
    /// How bad it is, whichever hazard or word it is of.
    pub fn rank(&self) -> u8 {
        match self {
            Self::NotRun => 0,
            Self::Pass => 1,
            Self::Ended(_) => 2,
            Self::Alert(_) => 3,
            Self::Accident(_) => 4,
        }
    }

    /// What stands in a cell.
    pub fn mark(&self) -> &'static str {
        match self {
            Self::NotRun => "\u{b7}",
            Self::Pass => "p",
            Self::Ended("refused") => "r",
            Self::Ended("failed") => "f",
            Self::Ended("aborted") => "a",
            Self::Ended("stands") => "s",
            Self::Ended("broken") => "b",
            Self::Ended(_) => "g",
            Self::Alert(id) | Self::Accident(id) => id,
        }
    }

    /// In words.
    pub fn words(&self) -> String {
        match self {
            Self::NotRun => "not run".to_owned(),
            Self::Pass | Self::Ended(_) => {
                let Self::Ended(word) = self else { return "pass".to_owned() };
                (*word).to_owned()
            }
            Self::Alert(id) => format!("{id} at its alert level"),
            Self::Accident(id) => format!("{id} at its accident level"),
        }
    }

    /// Its class on the page.
    pub fn class(&self) -> &'static str {
        match self {
            Self::NotRun => "none",
            Self::Pass => "pass",
            Self::Ended(_) => "ended",
            Self::Alert(_) => "alert",
            Self::Accident(_) => "accident",
        }
    }
}
