//! What each row of the interlock table prevents by itself: runs without the row against the same runs with the whole table.
//!
//! A row whose absence changes nothing is named: it was not needed here, since others hold too, or nothing put it to the test.

use std::collections::BTreeMap;

use valvewright_core::interlock::table::ROWS;
use valvewright_core::row::RowId;

use super::cell::{Cell, Section, Tone};
use super::judge;
use crate::campaign::row::Row;
use crate::report::data::HazardLevel;

/// A hazard that comes without a row and not with the whole table.
#[derive(Clone, Debug, PartialEq)]
pub struct Appears {
    /// Runs in which it does.
    pub runs: u64,
    /// The least margin of them.
    pub margin: f64,
    /// Faults of the run with that margin.
    pub faults: Vec<String>,
    /// Its command.
    pub replay: String,
}

/// What became of the runs without one row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Without {
    /// Runs.
    pub runs: u64,
    /// Of them, those that went otherwise than with the row: another trace hash.
    pub changed: u64,
    /// Orders that passed with the row and do not without it, and the reverse.
    pub verdicts: (u64, u64),
    /// Hazards that come to a worse level than with the row, by level and place.
    pub appears: BTreeMap<(HazardLevel, usize), Appears>,
}

/// All rows that were left out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ablation {
    /// By row.
    pub rows: BTreeMap<String, Without>,
    /// The run with the whole table that those behind it are held against.
    whole: Option<Row>,
}

impl Ablation {
    /// Takes a row of the table, in its order: whole runs come before those without a row.
    pub fn take(&mut self, row: Row) {
        if row.without.is_empty() {
            self.whole = Some(row);
            return;
        }
        let Some(whole) = self.whole.as_ref().filter(|_| judge::ran(&row)) else { return };
        let one = self.rows.entry(row.without.clone()).or_default();
        one.runs += 1;
        one.changed += u64::from(row.hash != whole.hash);
        let passed = |row: &Row| row.verdict == Some("pass");
        one.verdicts.0 += u64::from(passed(whole) && !passed(&row));
        one.verdicts.1 += u64::from(!passed(whole) && passed(&row));
        for (at, (now, before)) in row.hazards.iter().zip(&whole.hazards).enumerate() {
            let (Some(now_level), Some(before)) = (now.level, before.level) else { continue };
            if now_level <= before {
                continue;
            }
            let margin = now.margin.unwrap_or(f64::INFINITY);
            let fresh = || Appears {
                runs: 0,
                margin,
                faults: row.faults.iter().filter(|one| one.began.is_some()).map(judge::literal).collect(),
                replay: row.replay.clone(),
            };
            let known = one.appears.entry((now_level, at)).or_insert_with(fresh);
            if margin < known.margin {
                *known = Appears { runs: known.runs, ..fresh() };
            }
            known.runs += 1;
        }
    }

    /// The row alone holds off an accident in some run.
    pub fn is_needed(of: &Without) -> bool {
        of.appears.keys().any(|(level, _)| *level == HazardLevel::Accident)
    }

    /// What a row is, in a word.
    fn verdict(of: &Without) -> &'static str {
        let alert = of.appears.keys().any(|(level, _)| *level == HazardLevel::Alert);
        match (Self::is_needed(of), alert, of.changed) {
            (true, ..) => "prevents an accident by itself",
            (false, true, _) => "keeps a hazard below its alert level",
            (false, false, 0) => "untested: it did nothing in any run",
            (false, false, _) => "no hazard came of it",
        }
    }
}

fn plain(text: impl Into<String>) -> Cell {
    Cell { text: text.into(), tone: Tone::Plain }
}

fn figure(of: u64) -> Cell {
    Cell { text: of.to_string(), tone: Tone::Figure }
}

/// The table of it; nothing where no row was left out.
pub fn section(of: &Ablation) -> Section {
    let mut rows = Vec::new();
    for id in RowId::ALL.iter().map(|id| id.as_str()) {
        let Some(one) = of.rows.get(id) else { continue };
        let why = ROWS.iter().find(|row| row.id.as_str() == id).map_or("", |row| row.why.text());
        let worst = one.appears.iter().rev();
        let hazards: Vec<String> = worst
            .clone()
            .map(|((level, at), appears)| {
                let (id, level, runs) = (judge::hazard_id(*at), level.word(), appears.runs);
                let margin =
                    if appears.margin.is_finite() { format!(", {:.2}", appears.margin) } else { String::new() };
                format!("{id} {level} {runs}{margin}")
            })
            .collect();
        let tone = match worst.clone().next() {
            Some(((HazardLevel::Accident, _), _)) => Tone::Accident,
            Some(((HazardLevel::Alert, _), _)) => Tone::Alert,
            _ => Tone::Plain,
        };
        let first = worst.clone().next().map(|(_, appears)| appears);
        let text = if hazards.is_empty() { "\u{2013}".to_owned() } else { hazards.join("; ") };
        rows.push(vec![
            plain(id),
            plain(why),
            plain(Ablation::verdict(one)),
            figure(one.changed),
            Cell { text: format!("{} / {}", one.verdicts.0, one.verdicts.1), tone: Tone::Figure },
            Cell { text, tone },
            plain(first.map_or_else(|| "\u{2013}".to_owned(), |one| one.faults.join(" + "))),
            Cell { text: first.map(|one| one.replay.clone()).unwrap_or_default(), tone: Tone::Command },
        ]);
    }
    if rows.is_empty() {
        return Section::default();
    }
    let runs = of.rows.values().map(|one| one.runs).max().unwrap_or(0);
    Section {
        id: "ablation",
        title: "What each interlock row prevents by itself".into(),
        notes: vec![
            format!("{runs} runs, each once with the whole table and once without each row. Changed: runs that go otherwise without the row. Passed: orders that pass only with it, and only without it. Hazards: those that come to a worse level without the row than in the same run with it, with the number of runs and the least margin; faults and command are those of the worst."),
            "A row that prevents nothing here is not superfluous: these runs did not need it, because another row or the phase itself holds too, or because no fault of the plan put it to the test.".into(),
        ],
        head: vec!["Row", "Why it is there", "Without it", "Changed", "Passed", "Hazards", "Faults", "Again"],
        rows,
    }
}
