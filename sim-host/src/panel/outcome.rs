//! What came of a small campaign: sentences, a map of faults and steps with either table side by side, and what is worse with its command; as
//! JSON and as a table.

use std::collections::BTreeMap;
use std::sync::atomic::AtomicBool;

use serde_json::{Value, json};
use valvewright_core::job::PhaseKind;

use super::campaign::Campaign;
use super::words::count;
use crate::campaign::search::{Came, Cell, Compared, Middle};
use crate::hazard::{CATALOGUE, HAZARD_COUNT};
use crate::report::data::HazardLevel;

/// The answer, as files.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    /// For pages and programs.
    pub json: String,
    /// A line for each fault in each step.
    pub csv: String,
}

/// How a hazard came differently.
struct Other {
    hazard: &'static str,
    was: HazardLevel,
    now: HazardLevel,
    margin: f64,
}

/// To four places, and no zero below zero.
fn rounded(margin: f64) -> f64 {
    (margin * 1e4).round() / 1e4 + 0.0
}

fn step_words(one: &Middle) -> String {
    format!("{} {}", one.phase.map_or("between phases", PhaseKind::name), one.step).trim().to_owned()
}

/// The hazard that came furthest: level, id, margin.
fn worst(came: &Came) -> (HazardLevel, &'static str, f64) {
    let all = (0..HAZARD_COUNT).map(|at| (came.levels[at], CATALOGUE[at].id.word(), rounded(came.worst[at])));
    let further = |a: &(HazardLevel, &str, f64), b: &(HazardLevel, &str, f64)| a.0.cmp(&b.0).then(b.2.total_cmp(&a.2));
    // Of two that are alike the first is told.
    all.rev().max_by(further).unwrap_or((HazardLevel::None, "", 1.0))
}

/// Hazards that come to another level.
fn others(cell: &Cell) -> Vec<Other> {
    let Some(now) = &cell.now else { return Vec::new() };
    let all = (0..HAZARD_COUNT).map(|at| Other {
        hazard: CATALOGUE[at].id.word(),
        was: cell.was.levels[at],
        now: now.levels[at],
        margin: rounded(now.worst[at]),
    });
    all.filter(|one| one.was != one.now).collect()
}

/// It goes otherwise, whatever comes of that.
fn changed(cell: &Cell) -> bool {
    cell.now.as_ref().is_some_and(|now| now.hash != cell.was.hash)
}

/// The level to which the worst of what became worse came; none where nothing did.
fn worse(cell: &Cell) -> Option<HazardLevel> {
    others(cell).iter().filter(|one| one.now > one.was).map(|one| one.now).max()
}

fn better(cell: &Cell) -> bool {
    others(cell).iter().any(|one| one.now < one.was)
}

/// The command that has a cell again with the altered table.
fn command(of: &Campaign, way: Option<usize>, step: Option<&Middle>) -> String {
    let ground = &of.tables.ground;
    let faults: Vec<String> = way.zip(step).iter().map(|(way, step)| ground.words(*way, step.scan)).collect();
    ground.replay(&faults) + &of.altered.flags()
}

/// Runs a campaign; nothing where it was stopped. `tell` hears of how many runs it is known what comes of them.
///
/// # Errors
/// A run failed for a reason of ours.
pub fn run(
    of: &Campaign,
    threads: usize,
    stop: &AtomicBool,
    tell: &(dyn Fn(usize) + Sync),
) -> Result<Option<Outcome>, String> {
    let found = of.tables.compare(threads, stop, tell).map_err(|why| why.to_string())?;
    Ok(found.map(|found| Outcome { json: as_json(of, &found).to_string(), csv: as_table(of, &found) }))
}

fn as_json(of: &Campaign, found: &Compared) -> Value {
    let tables = &of.tables;
    let steps = tables.steps.iter().map(|one| {
        let t = (tables.ground.time(one.scan) * 1e3).round() / 1e3;
        json!({ "phase": one.phase.map(PhaseKind::name), "step": one.step, "words": step_words(one), "t_s": t })
    });
    let faults = tables.ground.ways.iter().map(|way| {
        let entry = way.planned.injection().map(crate::fault::Injection::entry);
        let what = entry.map(|one| format!("{}: {}", one.component, one.failure_mode)).unwrap_or_default();
        json!({ "id": way.planned.id.to_string(), "words": way.words, "device": way.planned.tag, "what": what })
    });
    let cells = found.cells.iter().enumerate().map(|(way, row)| {
        let cells = row.iter().zip(&tables.steps);
        Value::from(cells.map(|(cell, step)| cell_json(cell, &command(of, Some(way), Some(step)))).collect::<Vec<_>>())
    });
    let left: Vec<Value> =
        tables.ground.left_out.iter().map(|(way, why)| json!({ "fault": way, "why": why })).collect();
    json!({
        "schema": "valvewright-what-if-1",
        "scenario": of.name, "title": of.title, "first_job_only": of.first_job,
        "altered": of.altered.words(), "faults_chosen": of.faults,
        "command": command(of, None, None),
        "asked": of.words(), "said": said(of, found),
        "steps": steps.collect::<Vec<_>>(), "faults": faults.collect::<Vec<_>>(),
        "healthy": cell_json(&found.healthy, &command(of, None, None)),
        "cells": cells.collect::<Vec<_>>(),
        "runs": found.runs,
        "left_out": { "steps": tables.steps_left, "ways": tables.ways_left, "cannot_come": left },
    })
}

fn cell_json(cell: &Cell, command: &str) -> Value {
    let came = |came: &Came| {
        let (level, hazard, margin) = worst(came);
        json!({ "level": level.word(), "hazard": hazard, "margin": margin })
    };
    let list = |is: fn(&Other) -> bool| -> Vec<Value> {
        let other = |one: &Other| json!({ "hazard": one.hazard, "level": one.now.word(), "was": one.was.word(), "margin": one.margin });
        others(cell).iter().filter(|one| is(one)).map(other).collect()
    };
    let (worse, better) = (list(|one| one.now > one.was), list(|one| one.now < one.was));
    let command = (!worse.is_empty()).then_some(command);
    let now = cell.now.as_ref().map(came);
    json!({ "was": came(&cell.was), "now": now, "worse": worse, "better": better, "changed": changed(cell), "command": command })
}

fn as_table(of: &Campaign, found: &Compared) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let head = [
        "fault",
        "phase",
        "step",
        "t_s",
        "level",
        "hazard",
        "margin",
        "altered_level",
        "altered_hazard",
        "altered_margin",
        "worse",
        "better",
        "changed",
        "command",
    ];
    // Writing to memory cannot fail, here and below.
    let _ = writer.write_record(head);
    let healthy = [(None, None, &found.healthy)].into_iter();
    let rows =
        found.cells.iter().enumerate().flat_map(|(way, row)| {
            row.iter().zip(&of.tables.steps).map(move |(cell, step)| (Some(way), Some(step), cell))
        });
    for (way, step, cell) in healthy.chain(rows) {
        let three = |came: Option<&Came>| {
            came.map(worst).map_or_else(Default::default, |(level, hazard, margin)| {
                [level.word().to_owned(), hazard.to_owned(), margin.to_string()]
            })
        };
        let [level, hazard, margin] = three(Some(&cell.was));
        let [now_level, now_hazard, now_margin] = three(cell.now.as_ref());
        let _ = writer.write_record([
            way.and_then(|way| of.tables.ground.ways.get(way)).map_or(String::new(), |way| way.words.clone()),
            step.and_then(|step| step.phase).map_or("", PhaseKind::name).to_owned(),
            step.map_or("", |step| step.step).to_owned(),
            step.map_or(String::new(), |step| format!("{:.3}", of.tables.ground.time(step.scan))),
            level,
            hazard,
            margin,
            now_level,
            now_hazard,
            now_margin,
            worse(cell).map_or("", HazardLevel::word).to_owned(),
            better(cell).to_string(),
            changed(cell).to_string(),
            command(of, way, step),
        ]);
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// In sentences, the worst first.
fn said(of: &Campaign, found: &Compared) -> Vec<String> {
    let cells: Vec<&Cell> = found.cells.iter().flatten().collect();
    let runs = cells.len();
    let altered = of.altered.words();
    let mut all = Vec::new();
    let healthy = others(&found.healthy);
    for one in healthy.iter().filter(|one| one.now > one.was) {
        all.push(format!("Already the healthy job comes to an {} {altered}: {}.", one.now.word(), one.hazard));
    }
    for level in [HazardLevel::Accident, HazardLevel::Alert] {
        let with = cells.iter().filter(|cell| worse(cell) == Some(level)).count();
        if with > 0 {
            let (come, level_word) = (if with == 1 { "comes" } else { "come" }, level.word());
            let which = hazards(&cells, level);
            all.push(format!(
                "{with} of {runs} faulted runs {come} to an {level_word} {altered} and not with the table as it is: {which}."
            ));
        }
    }
    if all.is_empty() {
        all.push(format!("No hazard comes further {altered} than with the table as it is, in {runs} faulted runs and the healthy job."));
    }
    let other = cells.iter().filter(|cell| changed(cell)).count();
    let acted = cells.iter().filter(|cell| !cell.was.acted.and(of.altered.rows()).is_empty()).count();
    all.push(match (other, acted) {
        (0, 0) => "No run goes otherwise: no altered row acted in any, and they say nothing of it.".to_owned(),
        (0, acted) => {
            format!("No run goes otherwise: in {acted} of {runs} an altered row acted, and others held as well.")
        }
        (other, _) => format!("{other} of {runs} go otherwise in any way."),
    });
    let less = cells.iter().filter(|cell| better(cell)).count();
    if less > 0 {
        all.push(format!("In {} a hazard stays at a lower level.", count(less, "run", "runs")));
    }
    let over = cells.iter().filter(|cell| cell.now.is_none()).count();
    if over > 0 {
        all.push(format!("In {} the altered job is over before the fault comes.", count(over, "case", "cases")));
    }
    all
}

/// Hazards that come newly to this level in the runs of which it is the worst, with how many.
fn hazards(cells: &[&Cell], level: HazardLevel) -> String {
    let mut each: BTreeMap<&str, usize> = BTreeMap::new();
    for cell in cells.iter().filter(|cell| worse(cell) == Some(level)) {
        for one in others(cell).iter().filter(|one| one.now == level && one.now > one.was) {
            *each.entry(one.hazard).or_default() += 1;
        }
    }
    let title = |id: &str| CATALOGUE.iter().find(|one| one.id.word() == id).map_or("", |one| one.title);
    let one = |(id, n): (&str, usize)| format!("{id} ({}) in {n}", title(id));
    each.into_iter().map(one).collect::<Vec<_>>().join("; ")
}
