//! Accidents: which faults had begun before each, the shortest recipe of each hazard, and sets that hold no smaller one.

use std::collections::{BTreeMap, BTreeSet};

use super::judge;
use crate::campaign::row::Row;

/// A run that brought an accident about.
#[derive(Clone, Debug, PartialEq)]
pub struct Recipe {
    /// Faults that had begun by then.
    pub faults: Vec<String>,
    /// When it happened, s of the run.
    pub at: f64,
    /// Number of the run.
    pub index: u64,
    /// The command that has it again.
    pub replay: String,
}

impl Recipe {
    /// Fewer faults come first, then the sooner accident, then the lower number.
    fn shorter(&self, than: &Self) -> bool {
        let key = |one: &Self| (one.faults.len(), one.index);
        let by_time = self.at.total_cmp(&than.at);
        self.faults.len().cmp(&than.faults.len()).then(by_time).then(key(self).cmp(&key(than))).is_lt()
    }
}

/// Accidents of all runs, by the hazard's place.
#[derive(Clone, Debug, Default)]
pub struct Cuts {
    /// Sets of faults of each hazard, with how many runs and the shortest of them.
    sets: BTreeMap<usize, BTreeMap<Vec<String>, (u64, Recipe)>>,
}

impl Cuts {
    /// Adds a run.
    pub fn take(&mut self, row: &Row) {
        for hazard in 0..row.hazards.len() {
            let Some(at) = judge::accident(row, hazard) else { continue };
            let faults = judge::causes(row, at);
            let recipe = Recipe { faults: faults.clone(), at, index: row.index, replay: row.replay.clone() };
            let sets = self.sets.entry(hazard).or_default();
            let (runs, best) = sets.entry(faults).or_insert_with(|| (0, recipe.clone()));
            *runs += 1;
            if recipe.shorter(best) {
                *best = recipe;
            }
        }
    }

    /// Hazards that came to an accident: their runs and the shortest recipe.
    pub fn accidents(&self) -> impl Iterator<Item = (usize, u64, &Recipe)> {
        self.sets.iter().filter_map(|(hazard, sets)| {
            let runs = sets.values().map(|(runs, _)| runs).sum();
            let best = sets.values().map(|(_, recipe)| recipe).reduce(|a, b| if b.shorter(a) { b } else { a })?;
            Some((*hazard, runs, best))
        })
    }

    /// Sets of a hazard that hold no smaller one that was seen, the smallest first.
    pub fn minimal(&self, hazard: usize) -> Vec<(&[String], u64, &Recipe)> {
        let Some(sets) = self.sets.get(&hazard) else { return Vec::new() };
        let mut all: Vec<_> = sets.iter().collect();
        all.sort_by_key(|(faults, _)| faults.len());
        let mut kept: Vec<(&[String], u64, &Recipe)> = Vec::new();
        for (faults, (runs, recipe)) in all {
            let own: BTreeSet<&String> = faults.iter().collect();
            if !kept.iter().any(|(smaller, _, _)| smaller.iter().all(|one| own.contains(one))) {
                kept.push((faults, *runs, recipe));
            }
        }
        kept
    }

    /// Whether nothing came to an accident.
    pub fn is_empty(&self) -> bool {
        self.sets.is_empty()
    }
}
