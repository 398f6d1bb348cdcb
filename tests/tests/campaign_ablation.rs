//! Rows of the interlock table left out one at a time: what a campaign copies is what a run without the row gives, its report says what a row
//! prevents by itself, and the sums of the whole table hold none of it.

use std::collections::BTreeSet;
use std::sync::atomic::AtomicBool;

use valvewright_sim::campaign::findings::{Findings, sections};
use valvewright_sim::campaign::{Maker, Runs, SCHEMA};
use valvewright_sim::report::data::HazardLevel;

use crate::campaign_bench::{bench, read, runs};
use crate::campaign_report::{A, hazard, put, run};
use crate::cli_bench::Bench;

/// Faults that trip rows at drawn moments of the everyday job, with the whole table and without each of seven rows: some act in the healthy job, some
/// after the fault, some never.
const DRAWN: &str = r#"
name = "drawn"
title = "Drawn cases without rows"
design = "swarm"
runs = 3
seed = 3
[factors]
scenario = ["mild_hatchback"]
seeds = [1]
[faults]
which = ["F001", "F052", "F070", "F118"]
least = 1
most = 2
[moments]
each = 3
[ablation]
rows = ["I03", "I13", "I19", "I20", "I28", "I29", "I31"]
"#;

fn rows(runs: &Runs) -> Vec<valvewright_sim::campaign::Row> {
    let made = Maker::new(runs).span(0..runs.count(), &AtomicBool::new(false), &|| {});
    made.unwrap_or_else(|wrong| panic!("{wrong}")).expect("nobody stops it")
}

#[test]
fn a_run_without_a_row_is_that_run_from_its_beginning_whether_it_was_copied_forked_or_made() {
    let bench = bench(DRAWN);
    let runs = runs(&bench, DRAWN);
    let tables = 8;
    assert_eq!(runs.count() as usize, 3 * tables);
    let (rows, maker) = (rows(&runs), Maker::new(&runs));
    let mut changed = BTreeSet::new();
    for (at, row) in rows.iter().enumerate() {
        let alone = maker.alone(&runs.at(at as u64).expect("a run")).unwrap_or_else(|wrong| panic!("{wrong}"));
        assert_eq!(*row, alone, "run {at}");
        let whole = &rows[at / tables * tables];
        assert!(
            whole.without.is_empty() && whole.faults.iter().zip(&row.faults).all(|(a, b)| a.id == b.id),
            "run {at}"
        );
        if row.hash != whole.hash {
            changed.insert(row.without.clone());
        }
    }
    assert!(changed.contains("I28") && changed.len() >= 2, "these rows alone make a difference: {changed:?}");
}

/// One run with the whole table, and without four rows: an accident comes, the same run comes, an order fails and nothing harms, an alert comes.
#[test]
fn the_report_says_what_each_row_prevents_and_counts_it_nowhere_else() {
    use HazardLevel::{Accident, Alert};
    let without = |index: u64, row: &str, hash: &str| {
        let hash = Some(hash.to_owned());
        valvewright_sim::campaign::Row { without: row.to_owned(), hash, ..run(index, &[A]) }
    };
    let failed = valvewright_sim::campaign::Row { verdict: Some("failed"), ..without(3, "I05", "c") };
    let rows = [
        hazard(without(0, "", "a"), 5, Alert, 120.0, 0.4),
        hazard(hazard(without(1, "I03", "b"), 2, Accident, 130.0, -0.25), 5, Alert, 120.0, 0.3),
        hazard(without(2, "I04", "a"), 5, Alert, 120.0, 0.4),
        hazard(failed, 5, Alert, 120.0, 0.4),
        hazard(without(4, "I06", "d"), 7, Alert, 120.0, 0.2),
    ];
    let bench = Bench::new();
    put(&bench, "one", &rows, SCHEMA, rows.len());
    let found = Findings::of(&bench.path("one"), None, &mut |_| {}).unwrap_or_else(|wrong| panic!("{wrong}"));
    assert_eq!((found.counts.runs, found.counts.cuts.is_empty()), (1, true), "sums are of the whole table");
    let of = |id: &str| &found.ablation.rows[id];
    let appears: Vec<_> =
        of("I03").appears.iter().map(|((level, at), one)| (*level, *at, one.runs, one.margin)).collect();
    assert_eq!(appears, [(Accident, 1, 1, -0.25)], "H05 stood at its alert level with the row, too");
    assert_eq!((of("I03").changed, of("I04").changed, of("I05").changed), (1, 0, 1));
    assert_eq!((of("I05").verdicts, of("I05").appears.len()), ((1, 0), 0));
    let sections = sections(&found);
    let table = sections.iter().find(|one| one.id == "ablation").expect("a part of its own");
    let words: Vec<(&str, &str)> = table.rows.iter().map(|row| (row[0].text.as_str(), row[2].text.as_str())).collect();
    let wanted = [
        ("I03", "prevents an accident by itself"),
        ("I04", "untested: it did nothing in any run"),
        ("I05", "no hazard came of it"),
        ("I06", "keeps a hazard below its alert level"),
    ];
    assert_eq!(words, wanted);
    assert!(table.rows[0].iter().any(|cell| cell.text.contains("run 1 ")), "the command of the worst stands beside it");
}

#[test]
fn a_row_that_is_none_is_refused_with_the_nearest() {
    let bench = bench(DRAWN);
    let wrong = read(&bench, &DRAWN.replace("[\"I03\", ", "[\"i03\", ")).expect_err("no such row");
    let told = wrong.iter().map(ToString::to_string).collect::<String>();
    let help = wrong.iter().filter_map(|one| one.help.clone()).collect::<String>();
    assert!(
        told.contains("ablation.rows") && told.contains("`i03`") && help.contains("nearest: `I03`"),
        "{told} {help}"
    );
}
