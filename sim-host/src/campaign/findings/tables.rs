//! The findings as tables that every form of the report shares, with what each figure means beside it.

use std::collections::BTreeMap;

use valvewright_core::interlock::table::ROWS;

use super::cell::{Cell, Section, Tone};
use super::count::{Cover, Mode};
use super::{Findings, judge, weights};
use crate::hazard::CATALOGUE;
use crate::report::data::HazardLevel;

/// Differences that are listed one by one; all are counted.
const LISTED: usize = 200;

fn plain(text: impl Into<String>) -> Cell {
    Cell { text: text.into(), tone: Tone::Plain }
}

fn figure(text: impl ToString) -> Cell {
    Cell { text: text.to_string(), tone: Tone::Figure }
}

fn command(text: &str) -> Cell {
    Cell { text: text.to_owned(), tone: Tone::Command }
}

/// Seconds for people; a dash where there are none.
fn seconds(of: Option<f64>) -> String {
    of.map_or_else(|| "\u{2013}".to_owned(), |s| format!("{s:.2}"))
}

/// A share in per cent, never rounded up; a dash of none.
pub fn share(part: u64, all: u64) -> String {
    match (part * 1_000).checked_div(all) {
        Some(tenths) => format!("{}.{} %", tenths / 10, tenths % 10),
        None => "\u{2013}".to_owned(),
    }
}

/// The band of a coverage, in the words of ISO 13849-1; a dash of no run.
pub fn band(part: u64, all: u64) -> &'static str {
    match (part * 100, all) {
        (_, 0) => "\u{2013}",
        (part, all) if part < 60 * all => "none",
        (part, all) if part < 90 * all => "low",
        (part, all) if part < 99 * all => "medium",
        _ => "high",
    }
}

/// `I11 3, I03 1`: the most often first, then by name.
fn counted<K: AsRef<str> + Ord>(all: &BTreeMap<K, u64>) -> String {
    let mut list: Vec<(&str, u64)> = all.iter().map(|(name, count)| (name.as_ref(), *count)).collect();
    list.sort_by_key(|(name, count)| (std::cmp::Reverse(*count), (*name).to_owned()));
    list.into_iter().map(|(name, count)| format!("{name} {count}")).collect::<Vec<_>>().join(", ")
}

fn dash(text: String) -> String {
    if text.is_empty() { "\u{2013}".to_owned() } else { text }
}

pub fn title(hazard: usize) -> &'static str {
    CATALOGUE.get(hazard).map_or("", |one| one.title)
}

/// All tables, in the order of the report.
pub fn sections(of: &Findings) -> Vec<Section> {
    let compared = of.comparison.as_ref().map(|one| super::differences::section(one, LISTED));
    let rest = [
        accidents(of),
        cuts(of),
        modes(of),
        components(of),
        hazards(of),
        rates(of),
        rows(of),
        super::ablation::section(&of.ablation),
    ];
    compared.into_iter().chain(rest).filter(|one| !(one.head.is_empty() && one.notes.is_empty())).collect()
}

fn modes(of: &Findings) -> Section {
    let empty = of.counts.faults.is_empty();
    let head = vec![
        "Fault",
        "What",
        "Runs",
        "Ended",
        "First row",
        "First after, s: median",
        "longest",
        "Reaction, s: longest",
        "budget",
        "late",
        "Safe state",
        "Hazards, least margin",
    ];
    Section {
        id: "modes",
        title: "Failure modes".into(),
        notes: vec![if empty {
            "No fault was planned in any run.".into()
        } else {
            "Runs in which the fault began, alone or with others. First row: which row tripped first from the first fault on, and in how many runs; a row that the healthy job trips too counts as well, for the table does not tell them apart. The median of an even number is the mean of the two in the middle. Reaction: the time to what the fault's own scenario asks for, of runs with this fault alone. Safe state: share of runs in which at some time from the fault on nothing but the fan was on. Margin: 1 at rest, 0 at the accident level, negative beyond.".into()
        }],
        head: if empty { Vec::new() } else { head },
        rows: of.counts.faults.iter().map(|(id, mode)| mode_row(id, mode)).collect(),
    }
}

fn mode_row(id: &str, mode: &Mode) -> Vec<Cell> {
    let idle = if mode.idle > 0 { format!(" (and {} without it)", mode.idle) } else { String::new() };
    let mut first = counted(&mode.first);
    if mode.silent > 0 {
        first += &format!("{}no row {}", if first.is_empty() { "" } else { ", " }, mode.silent);
    }
    let worst = mode.hazards.values().map(|one| one.0).max();
    let hazards: Vec<String> = mode
        .hazards
        .iter()
        .map(|(id, (level, runs, margin))| {
            let margin = if margin.is_finite() { format!(", {}", unsigned(*margin)) } else { String::new() };
            format!("{id} {} {runs}{margin}", level.word())
        })
        .collect();
    let tone = match worst {
        Some(HazardLevel::Accident) => Tone::Accident,
        Some(HazardLevel::Alert) => Tone::Alert,
        _ => Tone::Plain,
    };
    vec![
        plain(id),
        plain(judge::what(id)),
        figure(format!("{}{idle}", mode.runs)),
        plain(dash(counted(&mode.ends))),
        plain(dash(first)),
        figure(seconds(mode.median())),
        figure(seconds(mode.worst())),
        figure(seconds(mode.reaction)),
        figure(seconds(mode.budget)),
        figure(if mode.budget.is_some() {
            format!("{} of {}", mode.kept.1, mode.kept.0 + mode.kept.1)
        } else {
            "\u{2013}".into()
        }),
        figure(share(mode.safe, mode.runs)),
        Cell { text: dash(hazards.join("; ")), tone },
    ]
}

/// Two decimals, and no minus before a zero.
fn unsigned(of: f64) -> String {
    let text = format!("{of:.2}");
    if text == "-0.00" { "0.00".to_owned() } else { text }
}

/// What coverage means here; it stands at both tables of it.
const FOUND: &str = "Found: a row tripped, or the order ended refused or failed, before the accident; where no accident came, at any time. An instrument that is called unsound trips its rows, so it is among them. The table does not say when an order ended; the end of the run stands for it. Bands after ISO 13849-1: none below 60 %, low from 60 %, medium from 90 %, high from 99 %. A fault that did no harm and was not noticed counts as not found. They describe this campaign, and are no diagnostic coverage of a certificate.";
/// How runs are weighed.
const ALIKE: &str = "Every run weighs the same: no failure rates stand behind these shares.";
/// The two other shares.
const ALONE: &str = "Single-point: share of runs with one fault that came to the accident. Latent: share of runs with one fault acting to the end in which nothing noticed it and no accident came. Both in the manner of ISO 26262-5 (from memory).";
/// Ways to fail without a rate that are named one by one.
const NAMED: usize = 30;

/// How runs are weighed, and what counts for nothing.
fn weighing(of: &Findings) -> String {
    let Some(rates) = &of.rates else { return ALIKE.to_owned() };
    let without = weights::unrated(of);
    let named = without.iter().take(NAMED).copied().collect::<Vec<_>>().join(", ");
    let rest = match without.len() {
        0 => "Each way to fail that began has one.".to_owned(),
        n if n > NAMED => format!("Without a rate, and so without weight: {named} and {} more.", n - NAMED),
        _ => format!("Without a rate, and so without weight: {named}."),
    };
    let file = &rates.file;
    format!(
        "Shares and bands are weighted by the failure rates of {file}, over runs with one fault: each way to fail counts by its rate, however many runs it has. {rest}"
    )
}

fn cover(of: &Findings, all: &Cover, ways: Option<&BTreeMap<String, Cover>>) -> Vec<Cell> {
    let shares = weights::shares(of, all, ways);
    let told = |(part, all): (u64, u64)| figure(share(part, all));
    vec![
        figure(all.runs),
        figure(all.accidents),
        figure(all.found),
        told(shares.found),
        plain(band(shares.found.0, shares.found.1)),
        told(shares.single),
        told(shares.latent),
    ]
}

fn components(of: &Findings) -> Section {
    let line =
        |(tag, one): (&String, &Cover)| [vec![plain(tag)], cover(of, one, of.counts.component_ways.get(tag))].concat();
    let rows: Vec<Vec<Cell>> = of.counts.components.iter().map(line).collect();
    let runs = "Runs in which a fault of the device began; a device without a tag stands under its kind, in brackets. The accident is the first of any hazard.";
    Section {
        id: "components",
        title: "Coverage by component".into(),
        notes: if rows.is_empty() {
            vec!["No fault began in any run.".into()]
        } else {
            vec![runs.into(), FOUND.into(), weighing(of), ALONE.into()]
        },
        head: if rows.is_empty() {
            vec![]
        } else {
            vec!["Device", "Runs", "Accidents", "Found", "Share", "Band", "Single-point", "Latent"]
        },
        rows,
    }
}

fn hazards(of: &Findings) -> Section {
    let rows: Vec<Vec<Cell>> = of
        .counts
        .hazards
        .iter()
        .map(|(at, one)| {
            let told = cover(of, one, of.counts.hazard_ways.get(at));
            [vec![plain(judge::hazard_id(*at)), plain(title(*at))], told].concat()
        })
        .collect();
    let runs = "Runs with a fault in which the hazard came to its alert or accident level, alerts of the job's own left out as in the map; the accident is this hazard's. Found and the shares as above.";
    Section {
        id: "hazards",
        title: "Coverage by hazard".into(),
        notes: vec![
            if rows.is_empty() { "No hazard came to its alert level in a run with a fault." } else { runs }.into(),
        ],
        head: if rows.is_empty() {
            vec![]
        } else {
            vec!["Hazard", "What", "Runs", "Accidents", "Found", "Share", "Band", "Single-point", "Latent"]
        },
        rows,
    }
}

fn rates(of: &Findings) -> Section {
    let Some(rates) = &of.rates else { return Section::default() };
    let of_way = |(literal, way): (&String, &[String; 3])| {
        let rate = rates.of(way)?;
        Some(vec![plain(literal), figure(format!("{:e}", rate.per_hour)), plain(&rate.source)])
    };
    let rows: Vec<Vec<Cell>> = of.counts.literals.iter().filter_map(of_way).collect();
    let what = "Ways to fail that began in a run and have a rate: that of the row which says most about them. Whoever wrote the file answers for the figures; they are no measurement of this program.";
    Section {
        id: "rates",
        title: "Failure rates".into(),
        notes: vec![if rows.is_empty() { "No way to fail that began has a rate." } else { what }.into()],
        head: if rows.is_empty() { vec![] } else { vec!["Fault", "Failures an hour", "Source"] },
        rows,
    }
}

fn rows(of: &Findings) -> Section {
    let (used, idle): (Vec<_>, Vec<_>) = of.counts.rows.iter().partition(|(_, one)| one.tripped > 0);
    let why = |id: &str| ROWS.iter().find(|row| row.id.as_str() == id).map_or("", |row| row.why.text());
    let never: Vec<&str> = idle.iter().map(|(id, _)| id.as_str()).collect();
    let idle = if never.is_empty() { "none".to_owned() } else { never.join(", ") };
    Section {
        id: "rows",
        title: "Interlock rows exercised".into(),
        notes: vec![
            format!("{} of {} rows tripped. Never exercised: {idle}.", used.len(), of.counts.rows.len()),
            "Trips from the first fault on, in runs without a fault those of the whole run. A row that never tripped here is untested by this campaign, not superfluous.".into(),
        ],
        head: if used.is_empty() { vec![] } else { vec!["Row", "Why it is there", "Runs", "First", "Soonest, s"] },
        rows: used.into_iter().map(|(id, one)| {
            vec![plain(id), plain(why(id)), figure(one.tripped), figure(one.first), figure(seconds(one.soonest))]
        }).collect(),
    }
}

fn accidents(of: &Findings) -> Section {
    let rows: Vec<Vec<Cell>> = of
        .counts
        .cuts
        .accidents()
        .map(|(hazard, runs, best)| {
            vec![
                Cell { text: judge::hazard_id(hazard).into(), tone: Tone::Accident },
                plain(title(hazard)),
                figure(runs),
                plain(if best.faults.is_empty() { "no fault".to_owned() } else { best.faults.join(" + ") }),
                figure(format!("{:.2}", best.at)),
                figure(best.index),
                command(&best.replay),
            ]
        })
        .collect();
    let some = "Every hazard that came to its accident level, with its shortest recipe: fewest faults that had begun by then, of these the soonest in its run.";
    Section {
        id: "accidents",
        title: "Accidents".into(),
        notes: vec![if rows.is_empty() { "No hazard came to its accident level in any run." } else { some }.into()],
        head: if rows.is_empty() { vec![] } else { vec!["Hazard", "What", "Runs", "Faults", "At, s", "Run", "Again"] },
        rows,
    }
}

fn cuts(of: &Findings) -> Section {
    let mut rows = Vec::new();
    for (hazard, _, _) in of.counts.cuts.accidents() {
        for (faults, runs, recipe) in of.counts.cuts.minimal(hazard) {
            let set = if faults.is_empty() { "no fault".to_owned() } else { faults.join(" + ") };
            rows.push(vec![
                plain(judge::hazard_id(hazard)),
                figure(faults.len()),
                plain(set),
                figure(runs),
                command(&recipe.replay),
            ]);
        }
    }
    if rows.is_empty() {
        return Section::default();
    }
    Section {
        id: "cuts",
        title: "Cut sets".into(),
        notes: vec!["Sets of faults that had begun when the hazard came to its accident level, that hold no smaller set of that hazard which was seen; id, mode and device, at whatever severity and moment. Complete only as far as the plan asked: a set that was not run is not here. The same sets as a fault tree: fault_tree.xml.".into()],
        head: vec!["Hazard", "Order", "Faults", "Runs", "Again"],
        rows,
    }
}
