//! What a sweep says of each fault: how often which row tripped and how soon, and which hazards came to their accident level.

use std::collections::BTreeMap;

use serde::Serialize;

use super::accidents::{Known, known};
use super::one::{Done, Fate};
use super::sweep::Sweep;
use crate::report::data::Verdict;

/// One hazard that a fault led to its accident level.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reached {
    /// The hazard.
    pub hazard: &'static str,
    /// In how many runs.
    pub runs: usize,
    /// Soonest after the fault, s.
    pub soonest_s: f64,
    /// The moment of that run, in words.
    pub moment: String,
    /// The command that has that run again.
    pub replay: String,
    /// Why it is known and stands, where it is.
    pub known: Option<&'static str>,
}

/// What became of one fault.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FaultTally {
    /// The fault.
    pub fault: String,
    /// Its usual way in words.
    pub what: String,
    /// Runs.
    pub runs: usize,
    /// Of them: a row tripped.
    pub tripped: usize,
    /// Of them: the order passed.
    pub passed: usize,
    /// Of them: stood under a row or a question until nothing could come any more.
    pub stood: usize,
    /// Of them: went on for as long as a run may, or could not be reckoned on.
    pub undecided: usize,
    /// The row that tripped first, in how many runs, most frequent first.
    pub first_rows: Vec<(String, usize)>,
    /// Time from the fault to the first trip, half of the runs that tripped were sooner, s.
    pub median_s: Option<f64>,
    /// Accidents.
    pub accidents: Vec<Reached>,
    /// Why it cannot come in some job, where it cannot.
    pub refused: Option<String>,
}

/// What a sweep found, fault by fault.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tally {
    /// Runs.
    pub runs: usize,
    /// Moments of the healthy jobs.
    pub moments: usize,
    /// Each fault, in the order of the catalogue.
    pub faults: Vec<FaultTally>,
    /// Known accidents that did not come any more: their line can go.
    pub stale: Vec<Known>,
    /// Not all runs were made.
    pub partial: bool,
}

impl Tally {
    /// Adds up a sweep; `whole` where it had all faults, so that a known accident that did not come is stale.
    pub fn of(sweep: &Sweep, moments: usize, whole: bool) -> Self {
        let mut by_fault: BTreeMap<String, Vec<&Done>> = BTreeMap::new();
        for done in sweep.done.iter().flatten() {
            by_fault.entry(done.fault.clone()).or_default().push(done);
        }
        let mut refused: BTreeMap<String, &String> = BTreeMap::new();
        for (case, why) in &sweep.refused {
            let id = case.planned.id.to_string();
            by_fault.entry(id.clone()).or_default();
            refused.entry(id).or_insert(why);
        }
        let faults: Vec<FaultTally> =
            by_fault.iter().map(|(id, all)| of_fault(id, all, refused.get(id).map(|why| (*why).clone()))).collect();
        let came = |one: &Known| {
            faults
                .iter()
                .any(|fault| fault.fault == one.fault && fault.accidents.iter().any(|a| a.hazard == one.hazard))
        };
        let stale = known().iter().filter(|one| whole && !came(one)).copied().collect();
        Self { runs: sweep.done.iter().flatten().count(), moments, faults, stale, partial: sweep.partial() }
    }

    /// Accidents that no line of `sim-host/data/accidents.csv` knows of.
    pub fn unknown(&self) -> usize {
        self.faults.iter().flat_map(|one| &one.accidents).filter(|one| one.known.is_none()).count()
    }
}

fn of_fault(id: &str, all: &[&Done], refused: Option<String>) -> FaultTally {
    let mut rows: BTreeMap<&str, usize> = BTreeMap::new();
    let mut times: Vec<f64> = Vec::new();
    for (row, after) in all.iter().filter_map(|one| one.trips.first()) {
        *rows.entry(row.as_str()).or_default() += 1;
        times.push(*after);
    }
    times.sort_by(f64::total_cmp);
    let mut first_rows: Vec<(String, usize)> = rows.into_iter().map(|(row, n)| (row.to_owned(), n)).collect();
    first_rows.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    let count = |of: fn(&Done) -> bool| all.iter().filter(|one| of(one)).count();
    FaultTally {
        fault: id.to_owned(),
        what: all.first().map_or_else(String::new, |one| one.what.clone()),
        runs: all.len(),
        tripped: times.len(),
        passed: count(|one| one.verdict == Verdict::Pass),
        stood: count(|one| one.fate == Fate::Stands),
        undecided: count(|one| matches!(one.fate, Fate::Goes | Fate::Broken)),
        first_rows,
        median_s: times.get(times.len() / 2).copied(),
        accidents: accidents(id, all),
        refused,
    }
}

fn accidents(id: &str, all: &[&Done]) -> Vec<Reached> {
    let mut list: BTreeMap<&'static str, Reached> = BTreeMap::new();
    for (one, (hazard, after)) in all.iter().flat_map(|one| one.accidents.iter().map(move |found| (one, *found))) {
        let new = || Reached {
            hazard,
            runs: 0,
            soonest_s: f64::INFINITY,
            moment: String::new(),
            replay: String::new(),
            known: known().iter().find(|known| known.fault == id && known.hazard == hazard).map(|known| known.cause),
        };
        let reached = list.entry(hazard).or_insert_with(new);
        reached.runs += 1;
        if after < reached.soonest_s {
            reached.soonest_s = after;
            reached.moment = format!("{} {}", one.scenario, one.moment.words());
            reached.replay.clone_from(&one.replay);
        }
    }
    list.into_values().collect()
}
