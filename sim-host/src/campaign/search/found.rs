//! Accidents that a search found: each a set of faults that holds no smaller one that brings the hazard about, with the recipe that has it again;
//! and what a campaign of drawn runs found of the same.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::ground::Ground;
use super::looker::Outcome;
use super::recipe::Recipe;
use crate::campaign::findings::Cuts;
use crate::campaign::row::{Fault, Hazard, Row};
use crate::hazard::{HAZARD_COUNT, Id};
use crate::report::data::HazardLevel;

/// A kind of accident: the hazard, and the faults that had begun by then.
pub type Kind = (usize, Vec<String>);

/// One accident.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Accident {
    /// The hazard.
    pub hazard: &'static str,
    /// The faults, each with mode and device, sorted.
    pub faults: Vec<String>,
    /// Runs that came to it.
    pub runs: u64,
    /// Number of the first run that did, from 1.
    pub first: u64,
    /// When it happened, s of the run.
    pub at_s: f64,
    /// Where the last fault was let in.
    pub mark: String,
    /// Digest of the run to its end.
    pub hash: String,
    /// Scans to its end.
    pub scans: u64,
    /// The run from its beginning has this hazard at its accident level too.
    pub replayed: bool,
    /// And the same digest.
    pub same_digest: bool,
    /// The command that has it again.
    pub replay: String,
}

/// What was found on the way.
#[derive(Default)]
pub struct Found {
    cuts: Cuts,
    /// Runs with an accident, by their numbers.
    runs: BTreeMap<u64, (Recipe, Outcome, String)>,
    /// The first run of each kind.
    first: BTreeMap<Kind, u64>,
}

impl Found {
    /// Adds a run.
    pub fn take(&mut self, ground: &Ground, number: u64, recipe: &Recipe, outcome: &Outcome, mark: &str) {
        if outcome.accidents.is_empty() {
            return;
        }
        let row = row(ground, number, recipe, outcome);
        for (hazard, at) in &outcome.accidents {
            let began = row.faults.iter().filter(|one| one.began.is_some_and(|began| began <= at + 1e-6));
            let faults: BTreeSet<String> = began.map(literal).collect();
            self.first.entry((*hazard, faults.into_iter().collect())).or_insert(number);
        }
        self.cuts.take(&row);
        self.runs.insert(number, (recipe.clone(), outcome.clone(), mark.to_owned()));
    }

    /// How many kinds were seen, those of more faults than needed among them.
    pub fn kinds(&self) -> usize {
        self.first.len()
    }

    /// The accidents, by hazard, fewest faults first; each is run again from its beginning.
    ///
    /// # Errors
    /// A run failed for a reason of ours.
    pub fn accidents(&self, ground: &Ground) -> Result<Vec<Accident>, crate::run::RunError> {
        let mut all = Vec::new();
        for hazard in 0..HAZARD_COUNT {
            for (faults, runs, best) in self.cuts.minimal(hazard) {
                let Some((recipe, outcome, mark)) = self.runs.get(&best.index) else { continue };
                let id = Id::EVERY[hazard].word();
                let again = recipe.replay(ground, outcome.scans)?;
                all.push(Accident {
                    hazard: id,
                    faults: faults.to_vec(),
                    runs,
                    first: self.first.get(&(hazard, faults.to_vec())).copied().unwrap_or(best.index),
                    at_s: best.at,
                    mark: mark.clone(),
                    hash: outcome.hash.clone(),
                    scans: outcome.scans,
                    replayed: again.accidents.contains(&id),
                    same_digest: again.hash == outcome.hash,
                    replay: best.replay.clone(),
                });
            }
        }
        Ok(all)
    }
}

/// A fault as sets name it: id, mode and device.
fn literal(fault: &Fault) -> String {
    let words = [fault.id.as_str(), &fault.mode, &fault.tag];
    words.into_iter().filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// A run as a row of a campaign.
fn row(ground: &Ground, number: u64, recipe: &Recipe, outcome: &Outcome) -> Row {
    let fault = |(way, scan): &(usize, u64)| {
        let planned = &ground.ways.get(*way)?.planned;
        Some(Fault {
            id: planned.id.to_string(),
            mode: planned.mode.to_owned(),
            tag: planned.tag.to_owned(),
            began: (outcome.scans > *scan).then(|| ground.time(*scan)),
            ..Fault::default()
        })
    };
    let mut hazards = vec![Hazard { level: Some(HazardLevel::None), ..Hazard::default() }; HAZARD_COUNT];
    for (at, t) in &outcome.accidents {
        hazards[*at] = Hazard { level: Some(HazardLevel::Accident), accident: Some(*t), ..Hazard::default() };
    }
    Row {
        index: number,
        faults: recipe.0.iter().filter_map(fault).collect(),
        hazards,
        replay: ground.replay(&recipe.words(ground)),
        ..Row::default()
    }
}

/// Accidents of two faults held against those of a campaign.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Against {
    /// Its name.
    pub campaign: String,
    /// Its runs.
    pub runs: u64,
    /// Kinds of two faults that it found, without those that one of the two brings about in either.
    pub kinds: usize,
    /// Of these, what the search found too.
    pub both: usize,
    /// Those that it did not find, with the runs of the campaign that came to each.
    pub missed: Vec<(String, Vec<String>, u64)>,
    /// Those that it found and the campaign did not.
    pub more: Vec<(String, Vec<String>)>,
}

impl Against {
    /// Holds what a search found against the accidents of a campaign.
    pub fn new(campaign: &str, runs: u64, theirs: &Cuts, ours: &[Accident]) -> Self {
        let mut them: BTreeMap<Kind, u64> = BTreeMap::new();
        for hazard in 0..HAZARD_COUNT {
            for (faults, count, _) in theirs.minimal(hazard) {
                them.insert((hazard, faults.to_vec()), count);
            }
        }
        let place = |id: &str| Id::EVERY.iter().position(|one| one.word() == id).unwrap_or(HAZARD_COUNT);
        let us: BTreeSet<Kind> = ours.iter().map(|one| (place(one.hazard), one.faults.clone())).collect();
        let alone: BTreeSet<Kind> =
            us.iter().chain(them.keys()).filter(|(_, faults)| faults.len() < 2).cloned().collect();
        let two = |(hazard, faults): &Kind| {
            let single = |fault: &String| alone.contains(&(*hazard, vec![fault.clone()]));
            faults.len() == 2 && !faults.iter().any(single) && !alone.contains(&(*hazard, Vec::new()))
        };
        let word = |hazard: usize| Id::EVERY.get(hazard).map_or("", |id| id.word()).to_owned();
        let theirs: Vec<(&Kind, u64)> = them.iter().filter(|(kind, _)| two(kind)).map(|(a, b)| (a, *b)).collect();
        let missed: Vec<(String, Vec<String>, u64)> = theirs
            .iter()
            .filter(|(kind, _)| !us.contains(*kind))
            .map(|((hazard, faults), runs)| (word(*hazard), faults.clone(), *runs))
            .collect();
        let more = us.iter().filter(|kind| two(kind) && !them.contains_key(*kind));
        Self {
            campaign: campaign.to_owned(),
            runs,
            kinds: theirs.len(),
            both: theirs.len() - missed.len(),
            missed,
            more: more.map(|(hazard, faults)| (word(*hazard), faults.clone())).collect(),
        }
    }
}
