//! One campaign against another, run by run: what got worse and what got better.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::judge;
use crate::campaign::row::Row;

/// A way in which a run differs from the other campaign's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Change {
    /// A hazard comes to its accident level in one of them only.
    Accident(&'static str),
    /// The order passes in one of them only.
    Pass,
    /// The fault is found in time in one of them only.
    Found,
    /// The reaction is within its budget in one of them, and not in the other.
    Budget,
    /// The station comes to rest after healing in one of them, and not in the other.
    Rest,
}

impl Change {
    /// In words, for the worse or the better.
    pub fn words(self, worse: bool) -> String {
        match (self, worse) {
            (Self::Accident(id), true) => format!("new accident {id}"),
            (Self::Accident(id), false) => format!("no accident {id} any more"),
            (Self::Pass, true) => "passed before, does not any more".to_owned(),
            (Self::Pass, false) => "passes now".to_owned(),
            (Self::Found, true) => "not found in time any more".to_owned(),
            (Self::Found, false) => "found in time now".to_owned(),
            (Self::Budget, true) => "out of budget".to_owned(),
            (Self::Budget, false) => "within budget now".to_owned(),
            (Self::Rest, true) => "does not come to rest any more".to_owned(),
            (Self::Rest, false) => "comes to rest now".to_owned(),
        }
    }
}

/// A difference.
#[derive(Clone, Debug, PartialEq)]
pub struct Difference {
    /// What differs.
    pub change: Change,
    /// The run, in words.
    pub run: String,
    /// The command here.
    pub replay: String,
}

/// What is kept of a run for the comparison.
#[derive(Clone, Debug)]
struct Kept {
    ran: bool,
    accidents: Vec<usize>,
    passed: bool,
    found: bool,
    in_budget: Option<bool>,
    rest: Option<bool>,
}

impl Kept {
    fn of(row: &Row) -> Self {
        let rest = if row.stuck.is_some() { Some(false) } else { row.rest_after.map(|_| true) };
        Self {
            ran: judge::ran(row),
            accidents: (0..row.hazards.len()).filter(|at| judge::accident(row, *at).is_some()).collect(),
            passed: row.verdict == Some("pass"),
            found: judge::found_before(row, judge::first_accident(row)),
            in_budget: row.in_budget,
            rest,
        }
    }
}

/// What the run is, whichever station it was on: scenario, seed, changed keys, faults with their moments.
fn key(row: &Row) -> String {
    let mut out = format!("{}, seed {}", row.scenario, row.seed);
    // Writing to a String cannot fail, here and below.
    for (name, value) in &row.changes {
        let _ = write!(out, ", {name} = {value}");
    }
    for one in &row.faults {
        let severity = if one.severity.is_empty() { String::new() } else { format!(" {}", one.severity) };
        let _ = write!(out, ", {}{severity}, {}", judge::literal(one), one.moment);
    }
    if row.faults.is_empty() {
        out += ", no fault";
    }
    out
}

/// A campaign to be compared with, and what was found so far.
#[derive(Debug, Default)]
pub struct Comparison {
    /// The other campaign's name.
    pub other: String,
    there: BTreeMap<(String, u64), Kept>,
    /// How often a key came: the n-th here is held against the n-th there.
    seen: BTreeMap<String, u64>,
    /// Runs that both have.
    pub common: u64,
    /// Runs that only this one has.
    pub only_here: u64,
    /// Runs that were run there and could not be run here.
    pub not_run: u64,
    /// What got worse.
    pub worse: Vec<Difference>,
    /// What got better.
    pub better: Vec<Difference>,
}

impl Comparison {
    /// With this campaign, no row of it yet.
    pub fn new(other: String) -> Self {
        Self { other, ..Self::default() }
    }

    fn numbered(&mut self, row: &Row) -> (String, u64) {
        let key = key(row);
        let count = self.seen.entry(key.clone()).or_default();
        *count += 1;
        (key, *count)
    }

    /// Adds a run of the other campaign.
    pub fn there(&mut self, row: &Row) {
        let key = self.numbered(row);
        self.there.insert(key, Kept::of(row));
    }

    /// The other campaign is whole; rows of this one follow.
    pub fn turn(&mut self) {
        self.seen.clear();
    }

    /// Holds a run of this campaign against the other's.
    pub fn here(&mut self, row: &Row) {
        let key = self.numbered(row);
        let Some(there) = self.there.remove(&key) else {
            self.only_here += 1;
            return;
        };
        self.common += 1;
        let here = Kept::of(row);
        if !here.ran || !there.ran {
            self.not_run += u64::from(there.ran && !here.ran);
            return;
        }
        let (run, replay) = (key.0, row.replay.clone());
        let told = |change| Difference { change, run: run.clone(), replay: replay.clone() };
        self.worse.extend(worse(&there, &here).into_iter().map(told));
        let told = |change| Difference { change, run: run.clone(), replay: replay.clone() };
        self.better.extend(worse(&here, &there).into_iter().map(told));
    }

    /// All rows were held: differences of a kind stand together.
    pub fn end(&mut self) {
        self.worse.sort_by_key(|one| one.change);
        self.better.sort_by_key(|one| one.change);
    }

    /// Runs that only the other has.
    pub fn only_there(&self) -> usize {
        self.there.len()
    }
}

/// In what `b` is worse than `a`.
fn worse(a: &Kept, b: &Kept) -> Vec<Change> {
    let new = b.accidents.iter().filter(|at| !a.accidents.contains(at));
    let mut all: Vec<Change> = new.map(|at| Change::Accident(judge::hazard_id(*at))).collect();
    let rest = [
        (a.passed && !b.passed, Change::Pass),
        (a.found && !b.found, Change::Found),
        (a.in_budget == Some(true) && b.in_budget == Some(false), Change::Budget),
        (a.rest == Some(true) && b.rest == Some(false), Change::Rest),
    ];
    all.extend(rest.into_iter().filter(|(is, _)| *is).map(|(_, change)| change));
    all
}
