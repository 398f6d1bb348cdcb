//! A small campaign from the page: what would come of the altered interlock table, over faults and steps of the job at hand.
//!
//! Promises: it runs the scenario from its beginning and knows nothing of what was done by hand; the answer depends on the scenario, the
//! alterations and the choice of faults alone; how many runs it may take is bounded, and said before the first.

use serde_json::{Value, json};
use valvewright_core::interlock::table::ROWS;
use valvewright_core::row::RowSet;

use super::altered::Altered;
use super::start::Start;
use super::words::count;
use crate::campaign::plan::{Way, of_fault};
use crate::campaign::search::{Ground, Tables};
use crate::evidence::{By, Evidence, Id};
use crate::fault::{self, Begins, FaultId, Injection};
use crate::scenario::{parse, random, shipped};

/// Faults in steps, at most: with either table and the healthy job, 600 runs (own choice: seconds to a minute on one processor).
pub const MOST_CELLS: usize = 299;

/// What the page calls the file that it hands over.
const SAVED: &str = "played.toml";

/// A question that can be answered.
pub struct Campaign {
    /// What it is asked of.
    pub(super) title: String,
    pub(super) name: String,
    /// Later jobs of the scenario are left out.
    pub(super) first_job: bool,
    /// Its order was changed on the page.
    changed: bool,
    pub(super) altered: Altered,
    /// The choice of faults, as it was made.
    pub(super) faults: String,
    pub(super) tables: Tables,
}

impl Campaign {
    /// The altered table of the run at hand, or one row left out alone; faults are `rows` (those that have to do with the altered rows),
    /// `all` (each in its usual way), or one in each of its ways.
    ///
    /// # Errors
    /// It is a lesson, nothing is altered, or there is no such row or fault.
    pub fn of(start: &Start, at_hand: &Altered, row: &str, faults: &str) -> Result<Self, String> {
        if start.lesson.is_some() {
            return Err("a lesson is found out by hand, and a campaign would give answers away: take a scenario under `Begin anew`, and ask \
                        there"
                .to_owned());
        }
        let altered = match row {
            "" => at_hand.clone(),
            row => {
                let mut alone = Altered::default();
                alone.row(row, true)?;
                alone
            }
        };
        if altered.is_nothing() {
            let why = "nothing is altered: take a row out or move a set point above, or choose one row to do without";
            return Err(why.to_owned());
        }
        Self::with(start, altered, faults)
    }

    /// The same of any table.
    ///
    /// # Errors
    /// There is no such fault, none that can come, or the scenario cannot be run.
    pub fn with(start: &Start, altered: Altered, faults: &str) -> Result<Self, String> {
        let ways = ways(faults, altered.rows())?;
        // Nobody sits at a campaign: questions are answered as the scenario has it.
        let mut scenario = Start { by_hand: false, ..start.clone() }.scenario()?;
        let first_job = !scenario.then.is_empty();
        scenario.then.clear();
        let (title, name) = (scenario.title.clone(), scenario.name.clone());
        let ground = Ground::job(scenario, command(start), &ways).map_err(|why| why.to_string())?;
        if ground.ways.is_empty() {
            let why = ground.left_out.first().map_or_else(String::new, |(way, why)| format!(": {way}: {why}"));
            return Err(format!(
                "faults: `{faults}`: none of them can come in the middle of this job{why}; choose others"
            ));
        }
        let tables = Tables::new(ground, altered.options(), MOST_CELLS).map_err(|why| why.to_string())?;
        if tables.cells() == 0 {
            return Err(
                "the healthy job ends before it comes to the middle of a step: choose another scenario".to_owned()
            );
        }
        let changed = start.note.is_some();
        Ok(Self { title, name, first_job, changed, altered, faults: faults.to_owned(), tables })
    }

    /// What it would do, for whoever thinks of asking.
    pub fn told(&self) -> Value {
        json!({ "said": self.words(), "runs": self.tables.runs(), "cells": self.tables.cells() })
    }

    /// In sentences: how many runs, and what is left out.
    pub(super) fn words(&self) -> Vec<String> {
        let Tables { ground, steps, steps_left, ways_left, .. } = &self.tables;
        let (ways, at) = (ground.ways.len(), steps.len());
        let mut all = vec![format!(
            "{}, {}: {} in the middle of {} of the healthy job, each once with the table as it is and once {}; at most {} runs.",
            self.title,
            if self.first_job { "its first job alone" } else { "from its beginning" },
            count(ways, "way to fail", "ways to fail"),
            count(at, "step", "steps"),
            self.altered.words(),
            self.tables.runs(),
        )];
        let bound = format!("for no more than {MOST_CELLS} faults in steps are tried at once");
        if self.changed {
            all.push(format!(
                "The order was changed on this page: the commands below name {SAVED}, which `Save what was done` gives before anything is done by hand."
            ));
        }
        if *steps_left > 0 {
            all.push(format!(
                "Left out: {}, the shorter ones of each phase, {bound}.",
                count(*steps_left, "step", "steps")
            ));
        }
        if *ways_left > 0 {
            all.push(format!(
                "Left out: {}, the last of the list, {bound}.",
                count(*ways_left, "way to fail", "ways to fail")
            ));
        }
        if !ground.left_out.is_empty() {
            let which: Vec<&str> = ground.left_out.iter().map(|(way, _)| way.as_str()).collect();
            all.push(format!("Cannot come in the middle of this job: {}.", which.join(", ")));
        }
        all
    }
}

/// The command that runs the scenario: by its name where it has one.
fn command(start: &Start) -> String {
    let source = &start.source;
    let stem = source.name.strip_suffix(".toml").unwrap_or(&source.name);
    let shipped = shipped::source(stem).filter(|one| one.text == source.text).map(|_| stem.to_owned());
    let drawn = || stem.strip_prefix("random-").map(|seed| format!("{}{seed}", random::PREFIX));
    let is_it = |name: &String| random::source(name).is_some_and(|one| one.is_ok_and(|one| one.text == source.text));
    // What was changed on the page is in no file but the one that it hands over.
    let known = || if start.note.is_some() { SAVED.to_owned() } else { source.name.clone() };
    let name = shipped.or_else(|| drawn().filter(is_it)).unwrap_or_else(known);
    let quoted = |word: &str| shlex::try_quote(word).map_or_else(|_| word.to_owned(), std::borrow::Cow::into_owned);
    let station = start.station.as_ref().map(|station| format!(" --station {}", quoted(station)));
    format!("valvewright run {}{}", quoted(&name), station.unwrap_or_default())
}

/// The ways to fail of a choice.
fn ways(faults: &str, rows: RowSet) -> Result<Vec<Way>, String> {
    let any_time = |one: &&Injection| one.refused.is_none() && one.begins == Begins::AnyTime;
    match faults {
        "all" => Ok(fault::injections().filter(any_time).flat_map(|one| of_fault(one, false)).collect()),
        "rows" => {
            let ids = of_rows(rows);
            let own = fault::injections().filter(|one| ids.contains(&one.id));
            Ok(own.filter(any_time).flat_map(|one| of_fault(one, false)).collect())
        }
        id => {
            let one = FaultId::read(id).and_then(fault::find);
            let accepted = "accepted: rows, all, or a fault of the catalogue such as F056";
            let one = one.ok_or_else(|| format!("faults: `{id}`; {accepted}"))?;
            match one.refused {
                Some(why) => Err(format!("faults: {id} cannot be injected: {why}; {accepted}")),
                None => Ok(of_fault(one, true)),
            }
        }
    }
}

/// Faults that can defeat these rows, and those of the scenarios that show them.
fn of_rows(rows: RowSet) -> Vec<FaultId> {
    let evidence = Evidence::shipped();
    let mut ids = Vec::new();
    for row in rows.iter() {
        let defeats = ROWS.iter().filter(|one| one.id == row).flat_map(|one| evidence.faults_of(one));
        ids.extend(defeats.filter_map(|(one, _)| FaultId::read(&one.id.to_string())));
        let shown = evidence.shown_by(Id::from(row)).filter(|one| one.by == By::Scenario);
        let scenarios = shown.filter_map(|one| parse::read_on(&shipped::source(&one.name)?, None).ok());
        ids.extend(scenarios.flat_map(|one| one.faults).map(|one| one.id));
    }
    ids
}
