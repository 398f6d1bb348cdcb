//! What differs between two campaigns, as a table.

use super::cell::{Cell, Section, Tone};
use super::compare::{Comparison, Difference};

/// The table, with so many differences of each side one by one.
pub fn section(of: &Comparison, listed: usize) -> Section {
    let plain = |text: String| Cell { text, tone: Tone::Plain };
    let row = |worse: bool, one: &Difference| {
        vec![
            Cell {
                text: if worse { "worse" } else { "better" }.into(),
                tone: if worse { Tone::Accident } else { Tone::Plain },
            },
            plain(one.change.words(worse)),
            plain(one.run.clone()),
            Cell { text: one.replay.clone(), tone: Tone::Command },
        ]
    };
    let side = |worse: bool, all: &[Difference]| all.iter().take(listed).map(|one| row(worse, one)).collect::<Vec<_>>();
    let rows = [side(true, &of.worse), side(false, &of.better)].concat();
    let mut notes = vec![
        summary(of),
        "Runs are held against each other by scenario, seed, changed keys, faults and moments, whichever station they were on. Found in time is what the tables of coverage count. A run may differ in several ways.".to_owned(),
    ];
    if of.worse.len().max(of.better.len()) > listed {
        notes.push(format!("The first {listed} of each side are listed."));
    }
    let head = if rows.is_empty() { vec![] } else { vec!["", "What", "Run", "Again, as here"] };
    Section { id: "against", title: format!("Against {}", of.other), notes, head, rows }
}

/// How much differs, in a line.
pub fn summary(of: &Comparison) -> String {
    let mut out =
        format!("{} runs are in both: worse {} times, better {} times.", of.common, of.worse.len(), of.better.len());
    for (count, what) in [
        (of.only_here, "runs are only here"),
        (of.only_there() as u64, "runs are only there"),
        (of.not_run, "runs were run there and are refused or not reached here"),
    ] {
        if count > 0 {
            out += &format!(" {count} {what}.");
        }
    }
    out
}
