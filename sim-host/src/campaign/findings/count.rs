//! A campaign added up, row by row: per fault, per cell of the heat map, per component, hazard and interlock row.

use std::collections::{BTreeMap, BTreeSet};

use valvewright_core::row::RowId;

use super::cuts::Cuts;
use super::judge::{self, Outcome};
use crate::campaign::row::Row;
use crate::report::data::HazardLevel;

/// What a fault did.
#[derive(Clone, Debug, Default)]
pub struct Mode {
    /// Runs in which it began.
    pub runs: u64,
    /// Runs in which it did not: refused, not reached, or its condition never came.
    pub idle: u64,
    /// How the runs ended.
    pub ends: BTreeMap<&'static str, u64>,
    /// Rows that tripped first.
    pub first: BTreeMap<String, u64>,
    /// Runs in which no row tripped.
    pub silent: u64,
    /// Latencies of first rows, s.
    pub latencies: Vec<f64>,
    /// Latest reaction of those that have a budget, s.
    pub reaction: Option<f64>,
    /// The budget, s.
    pub budget: Option<f64>,
    /// Runs in which it was kept, and in which it was missed.
    pub kept: (u64, u64),
    /// Runs in which nothing but the fan was on at some time from the fault on.
    pub safe: u64,
    /// Hazards at alert or accident level, with their runs and least margin.
    pub hazards: BTreeMap<&'static str, (HazardLevel, u64, f64)>,
}

/// A cell of the heat map.
#[derive(Clone, Debug)]
pub struct Spot {
    /// Runs.
    pub runs: u64,
    /// The worst of them, by the first that came to it.
    pub worst: Outcome,
    /// Number of that run.
    pub index: u64,
    /// Its command.
    pub replay: String,
}

/// How well faults were found.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cover {
    /// Runs that count.
    pub runs: u64,
    /// Of them, those in which the fault was noticed before the accident, or noticed where there was none.
    pub found: u64,
    /// Runs with an accident.
    pub accidents: u64,
    /// Runs with one fault, and those of them with an accident.
    pub single: (u64, u64),
    /// Runs with one fault that acted to the end, and those of them without accident and never noticed.
    pub latent: (u64, u64),
}

impl Cover {
    fn take(&mut self, row: &Row, limit: Option<f64>) {
        let mut came = row.faults.iter().filter(|one| one.began.is_some());
        let alone = came.next().filter(|_| came.next().is_none());
        self.runs += 1;
        self.found += u64::from(judge::found_before(row, limit));
        self.accidents += u64::from(limit.is_some());
        if let Some(fault) = alone {
            self.single.0 += 1;
            self.single.1 += u64::from(limit.is_some());
            if fault.ended.is_none() {
                self.latent.0 += 1;
                self.latent.1 += u64::from(limit.is_none() && judge::noticed(row).is_none());
            }
        }
    }
}

/// How a row of the interlock table was exercised.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Exercise {
    /// Runs in which it tripped.
    pub tripped: u64,
    /// Runs in which it tripped first.
    pub first: u64,
    /// Its least latency, s.
    pub soonest: Option<f64>,
}

/// All sums.
#[derive(Clone, Debug, Default)]
pub struct Counts {
    /// Runs.
    pub runs: u64,
    /// Runs without a fault that began.
    pub healthy: u64,
    /// How the runs ended.
    pub ends: BTreeMap<&'static str, u64>,
    /// Why runs were refused, each with how often.
    pub refused: BTreeMap<String, u64>,
    /// Faults by id.
    pub faults: BTreeMap<String, Mode>,
    /// Cells by fault and step.
    pub spots: BTreeMap<(String, String), Spot>,
    /// Steps and when a fault first came in them, s.
    pub steps: BTreeMap<String, f64>,
    /// Coverage of components.
    pub components: BTreeMap<String, Cover>,
    /// Coverage of hazards, over runs in which they came to alert or accident level, by their place.
    pub hazards: BTreeMap<usize, Cover>,
    /// The same of runs with one fault, by the way to fail.
    pub component_ways: BTreeMap<String, BTreeMap<String, Cover>>,
    /// The same of hazards.
    pub hazard_ways: BTreeMap<usize, BTreeMap<String, Cover>>,
    /// Ways to fail that began in a run: id, mode and device of each.
    pub literals: BTreeMap<String, [String; 3]>,
    /// Rows of the interlock table, all of them.
    pub rows: BTreeMap<String, Exercise>,
    /// What came before accidents.
    pub cuts: Cuts,
    /// Runs with an accident that is not known to follow from one of the faults: their first faults, with the first such run.
    pub unknown: BTreeMap<String, (u64, String)>,
    /// Runs with the reaction too late.
    pub late: u64,
    /// Runs that were healed and did not come to rest, and the first of them.
    pub stuck: (u64, Option<String>),
}

impl Counts {
    /// None yet.
    pub fn new() -> Self {
        let rows = RowId::ALL.iter().map(|id| (id.as_str().to_owned(), Exercise::default())).collect();
        Self { rows, ..Self::default() }
    }

    /// Adds a run.
    pub fn take(&mut self, row: &Row) {
        self.runs += 1;
        *self.ends.entry(judge::ending(row)).or_default() += 1;
        if let Some(why) = &row.refused {
            *self.refused.entry(why.clone()).or_default() += 1;
        }
        self.late += u64::from(row.in_budget == Some(false));
        if row.stuck.is_some() {
            self.stuck.0 += 1;
            self.stuck.1.get_or_insert_with(|| row.replay.clone());
        }
        if !row.unknown.is_empty() {
            let faults: BTreeSet<&str> = row.faults.iter().map(|one| one.id.as_str()).collect();
            for id in faults {
                self.unknown.entry(id.to_owned()).or_insert_with(|| (0, row.replay.clone())).0 += 1;
            }
        }
        self.map(row);
        self.modes(row);
        for (at, (id, after)) in row.rows.iter().enumerate() {
            let one = self.rows.entry(id.clone()).or_default();
            one.tripped += 1;
            one.first += u64::from(at == 0);
            one.soonest = Some(one.soonest.map_or(*after, |least| least.min(*after)));
        }
        self.cuts.take(row);
        self.cover(row);
    }

    fn map(&mut self, row: &Row) {
        let outcome = judge::outcome(row);
        let cells: BTreeMap<(&str, &str), Option<f64>> =
            row.faults.iter().map(|one| ((one.id.as_str(), judge::step(&one.moment)), one.at)).collect();
        for ((fault, step), at) in cells {
            let usual = if step == "with the job" { -1.0 } else { f64::INFINITY };
            let first = self.steps.entry(step.to_owned()).or_insert(f64::INFINITY);
            *first = first.min(at.unwrap_or(usual));
            let fresh = || Spot { runs: 0, worst: outcome.clone(), index: row.index, replay: row.replay.clone() };
            let spot = self.spots.entry((fault.to_owned(), step.to_owned())).or_insert_with(fresh);
            spot.runs += 1;
            if outcome.rank() > spot.worst.rank() {
                *spot = Spot { runs: spot.runs, ..fresh() };
            }
        }
    }

    fn modes(&mut self, row: &Row) {
        let ids: BTreeMap<&str, bool> = row.faults.iter().fold(BTreeMap::new(), |mut all, one| {
            *all.entry(one.id.as_str()).or_default() |= one.began.is_some();
            all
        });
        for (id, began) in ids {
            let mode = self.faults.entry(id.to_owned()).or_default();
            if began { mode.take(row) } else { mode.idle += 1 }
        }
    }

    fn cover(&mut self, row: &Row) {
        let came: Vec<_> = row.faults.iter().filter(|one| one.began.is_some()).collect();
        for one in &came {
            let way = [one.id.clone(), one.mode.clone(), one.tag.clone()];
            self.literals.entry(judge::literal(one)).or_insert(way);
        }
        let alone = if let [one] = came.as_slice() { Some(judge::literal(one)) } else { None };
        let components: BTreeSet<String> = came.into_iter().map(judge::component).collect();
        if components.is_empty() {
            self.healthy += u64::from(judge::ran(row));
            return;
        }
        let limit = judge::first_accident(row);
        for one in components {
            if let Some(way) = &alone {
                self.component_ways.entry(one.clone()).or_default().entry(way.clone()).or_default().take(row, limit);
            }
            self.components.entry(one).or_default().take(row, limit);
        }
        for (at, one) in row.hazards.iter().enumerate() {
            if matches!(one.level, Some(HazardLevel::Alert | HazardLevel::Accident)) {
                let limit = judge::accident(row, at);
                if let Some(way) = &alone {
                    self.hazard_ways.entry(at).or_default().entry(way.clone()).or_default().take(row, limit);
                }
                self.hazards.entry(at).or_default().take(row, limit);
            }
        }
    }
}

impl Mode {
    fn take(&mut self, row: &Row) {
        self.runs += 1;
        *self.ends.entry(judge::ending(row)).or_default() += 1;
        match row.rows.first() {
            Some((id, after)) => {
                *self.first.entry(id.clone()).or_default() += 1;
                self.latencies.push(*after);
            }
            None => self.silent += 1,
        }
        let later = |a: Option<f64>, b: Option<f64>| [a, b].into_iter().flatten().reduce(f64::max);
        self.budget = later(self.budget, row.budget);
        if row.budget.is_some() {
            self.reaction = later(self.reaction, row.reaction);
        }
        self.kept.0 += u64::from(row.in_budget == Some(true));
        self.kept.1 += u64::from(row.in_budget == Some(false));
        self.safe += u64::from(row.safe_after.is_some());
        for (at, one) in row.hazards.iter().enumerate() {
            let Some(level) = one.level.filter(|level| *level > HazardLevel::None) else { continue };
            let entry = self.hazards.entry(judge::hazard_id(at)).or_insert((level, 0, f64::INFINITY));
            *entry = (entry.0.max(level), entry.1 + 1, entry.2.min(one.margin.unwrap_or(f64::INFINITY)));
        }
    }

    /// Median of the latencies of first rows, s: of an even number the mean of the two in the middle.
    pub fn median(&self) -> Option<f64> {
        let mut all = self.latencies.clone();
        all.sort_by(f64::total_cmp);
        let (low, high) = (all.len().checked_sub(1)? / 2, all.len() / 2);
        Some(f64::midpoint(*all.get(low)?, *all.get(high)?))
    }

    /// The longest of them, s.
    pub fn worst(&self) -> Option<f64> {
        self.latencies.iter().copied().reduce(f64::max)
    }
}
