//! Runs of a campaign: a fork is the run from its beginning, shards are the same however they are shared out and whenever they are stopped,
//! and the table says what was run.

use std::path::Path;
use std::process::Stdio;
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::{Row as Record, RowAccessor};
use valvewright_sim::campaign::plan;
use valvewright_sim::campaign::{Maker, Row, Runs};
use valvewright_sim::run::{Control, RunOptions, run_scenario};
use valvewright_sim::scenario::{Scenario, parse, parse_fault};

use crate::campaign_bench::{PLAN, bench, runs, short_job};
use crate::cli_bench::Bench;

/// Drawn faults at drawn moments of the whole everyday job, one to three in a run.
const DRAWN: &str = r#"
name = "drawn"
title = "Drawn cases"
design = "swarm"
runs = 12
seed = 5
[factors]
scenario = ["mild_hatchback"]
seeds = [1]
[faults]
which = "all"
modes = "all"
tags = "all"
severities = ["30 %", "100 %"]
least = 1
most = 3
[moments]
each = 7
"#;

fn made(runs: &Runs) -> Vec<Row> {
    let maker = Maker::new(runs);
    let rows = maker.span(0..runs.count(), &AtomicBool::new(false), &|| {}).unwrap_or_else(|wrong| panic!("{wrong}"));
    rows.expect("nobody stops it")
}

#[test]
fn a_forked_run_is_the_run_from_its_beginning_to_the_hash() {
    let bench = bench(DRAWN);
    let runs = runs(&bench, DRAWN);
    let rows = made(&runs);
    let maker = Maker::new(&runs);
    let mut ran = 0;
    for (at, row) in rows.iter().enumerate() {
        let alone = maker.alone(&runs.at(at as u64).expect("a run")).unwrap_or_else(|wrong| panic!("{wrong}"));
        assert_eq!(*row, alone, "run {at}");
        ran += usize::from(row.hash.is_some());
    }
    assert!(ran >= 9, "only {ran} of {} were run", rows.len());
    let several = rows.iter().filter(|row| row.faults.len() > 1 && row.hash.is_some()).count();
    assert!(several >= 3, "{several} with several faults");
}

/// What the command beside a row says does the same, where the order ended.
/// A circuit under nitrogen that is held for 40 min: nothing but the fan is on, no step moves, and what comes after the hold still has to come.
#[test]
fn a_long_hold_is_no_standstill_and_the_run_goes_on_behind_it() {
    let text = PLAN.replace("\"short.toml\"", "\"held.toml\"").replace("[\"F001\", \"F070\", \"F111\"]", "[\"F043\"]");
    let text = text.replace("each = 2", "at = [\"20 s\"]");
    let bench = bench(&text);
    let proof = valvewright_sim::scenario::shipped::source("proof_under_nitrogen").expect("shipped").text;
    let held = proof.replace("test_hold = \"20 min\"", "test_hold = \"40 min\"");
    assert_ne!(held, proof);
    bench.put("held.toml", &held);
    let rows = made(&runs(&bench, &text));
    assert_eq!(rows.len(), 1);
    assert_eq!((rows[0].fate, rows[0].verdict), ("ended", Some("pass")), "{:?}", rows[0]);
}

#[test]
fn the_command_of_a_row_has_its_hash_again() {
    let bench = bench(PLAN);
    let runs = runs(&bench, PLAN);
    let mut compared = 0;
    for row in made(&runs).iter().filter(|row| row.fate == "ended") {
        let words = shlex::split(&row.replay).expect("a shell takes it");
        let faults = words.windows(2).filter(|pair| pair[0] == "--fault").map(|pair| {
            parse_fault::read_words(&pair[1]).unwrap_or_else(|wrong| panic!("{}: {wrong:?}", row.replay)).0
        });
        let source = valvewright_sim::scenario::diagnostic::Source::new("short.toml", short_job());
        let job = parse::read(&source).expect("it reads");
        let options = RunOptions { seed: Some(row.seed), ..RunOptions::BARE };
        let scenario = Scenario { faults: faults.collect(), ..job };
        let result = run_scenario(&scenario, &options, &mut |_| Control::Continue).expect("it runs").result;
        assert_eq!(Some(result.trace_hash), row.hash, "{}", row.replay);
        assert_eq!(Some(result.verdict.word()), row.verdict, "{}", row.replay);
        compared += 1;
    }
    assert!(compared >= 5, "only {compared} could be compared");
}

fn campaign(bench: &Bench, out: &str, more: &[&str]) -> crate::cli_bench::Said {
    let words: Vec<&str> = ["campaign", "plan.toml", "--out", out].into_iter().chain(more.iter().copied()).collect();
    bench.run(&words).exits(0)
}

fn bytes(bench: &Bench, path: &str) -> Vec<u8> {
    std::fs::read(bench.path(path)).unwrap_or_else(|wrong| panic!("{path}: {wrong}"))
}

#[test]
fn shards_of_any_number_of_processes_and_threads_merge_into_the_same_bytes() {
    let bench = bench(PLAN);
    campaign(&bench, "one", &["--jobs", "1"]);
    campaign(&bench, "three", &["--shard", "1/3", "--jobs", "2"]);
    campaign(&bench, "three", &["--shard", "3/3"]);
    bench.run(&["campaign", "--merge", "three"]).exits(64).complains(&["shards are missing: 1"]);
    // The third part is made elsewhere.
    campaign(&bench, "elsewhere", &["--shard", "2/3"]);
    bench.run(&["campaign", "--merge", "three", "elsewhere"]).exits(0);
    for part in 1..=8 {
        campaign(&bench, "eight", &["--shard", &format!("{part}/8"), "--jobs", "1"]);
    }
    bench.run(&["campaign", "--merge", "eight"]).exits(0);
    let whole = bytes(&bench, "one/result.parquet");
    assert_eq!(whole, bytes(&bench, "three/result.parquet"));
    assert_eq!(whole, bytes(&bench, "eight/result.parquet"));
}

#[test]
fn a_merge_takes_no_shard_twice_with_two_contents_and_none_of_another_campaign() {
    let bench = bench(PLAN);
    campaign(&bench, "one", &[]);
    campaign(&bench, "two", &[]);
    // A shard in another's place, one cut off, one that no number belongs to.
    let shard = |folder: &str, number: u64| format!("{folder}/shards/{number:06}.parquet");
    let first = bytes(&bench, &shard("one", 0));
    std::fs::write(bench.path(&shard("two", 1)), &first).expect("writable");
    bench.run(&["campaign", "--merge", "two"]).exits(2).complains(&["its shard is 0, here it is 1"]);
    bench.run(&["campaign", "--merge", "one", "two"]).exits(64).complains(&["one shard with two contents"]);
    std::fs::write(bench.path(&shard("two", 1)), &first[..first.len() / 2]).expect("writable");
    bench.run(&["campaign", "--merge", "two"]).exits(2).complains(&["000001.parquet"]);
    // Gone on with, what is no whole shard is made anew.
    campaign(&bench, "two", &[]);
    assert_eq!(bytes(&bench, "one/result.parquet"), bytes(&bench, "two/result.parquet"));
    std::fs::write(bench.path(&shard("two", 900)), &first).expect("writable");
    bench.run(&["campaign", "--merge", "two"]).exits(64).complains(&["is no shard of this campaign"]);
    bench.put("plan.toml", &PLAN.replace("each = 2", "each = 3"));
    bench.run(&["campaign", "plan.toml", "--out", "one"]).exits(64).complains(&["has changed since"]);
}

/// More runs than a moment has time for.
fn long_plan() -> String {
    PLAN.replace("\"F001\", \"F070\", \"F111\"", "\"scale\"")
}

#[test]
fn what_was_finished_outlives_a_kill_and_the_end_is_the_same() {
    let bench = bench(&long_plan());
    let mut killed = 0;
    for shards in [1, 4] {
        let mut child = bench
            .command(&["campaign", "plan.toml", "--out", "cut", "--jobs", "2"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the command starts");
        let (began, folder) = (Instant::now(), bench.path("cut/shards"));
        let whole = |folder: &Path| {
            let names = std::fs::read_dir(folder).into_iter().flatten().flatten().map(|one| one.file_name());
            names.filter(|name| name.to_string_lossy().ends_with(".parquet")).count()
        };
        while whole(&folder) < shards && child.try_wait().expect("a process of ours").is_none() {
            assert!(began.elapsed() < Duration::from_secs(120), "no shard in two minutes");
            std::thread::sleep(Duration::from_millis(2));
        }
        child.kill().expect("a process of ours");
        child.wait().expect("it ends");
        killed += usize::from(!bench.path("cut/result.parquet").exists());
    }
    assert_eq!(killed, 2, "it was killed in the middle");
    let said = campaign(&bench, "cut", &["--jobs", "2"]);
    assert!(said.err.contains("were there"), "{}", said.err);
    campaign(&bench, "whole", &["--jobs", "1"]);
    assert_eq!(bytes(&bench, "cut/result.parquet"), bytes(&bench, "whole/result.parquet"));
}

/// Healed faults: the station comes to rest, or the row says in what it is stuck.
#[test]
fn after_healing_the_station_comes_to_rest_or_the_row_says_why_not() {
    let text = PLAN.to_owned() + "[heal]\nafter = \"1 min\"\nwithin = \"5 min\"\n";
    let bench = bench(&text);
    let runs = runs(&bench, &text);
    let rows = made(&runs);
    let ran: Vec<&Row> = rows.iter().filter(|row| row.hash.is_some()).collect();
    assert!(ran.len() >= 12, "{} rows", ran.len());
    for row in &ran {
        assert!(row.rest_after.is_some() != row.stuck.is_some(), "{row:?}");
        let fault = &row.faults[0];
        if let (Some(began), Some(ended)) = (fault.began, fault.ended) {
            assert!((ended - began - 60.0).abs() < 0.06, "{fault:?}");
        }
        assert!(row.replay.contains("--run"), "{}", row.replay);
    }
    let rests = ran.iter().filter(|row| row.rest_after.is_some()).count();
    assert!(
        rests * 2 > ran.len(),
        "{rests} of {} came to rest: {:?}",
        ran.len(),
        ran.iter().filter_map(|row| row.stuck.clone()).collect::<Vec<_>>()
    );
    let alone = Maker::new(&runs).alone(&runs.at(3).expect("a run")).expect("it runs");
    assert_eq!(alone, rows[3]);
}

/// The shipped quick plan, here and there: no hazard comes to its accident level that is not known to follow from the fault.
#[test]
fn a_sample_of_the_quick_plan_holds() {
    let plan = plan::read(&plan::source("quick").expect("shipped")).expect("it reads");
    let runs = Runs::new(plan).unwrap_or_else(|wrong| panic!("{wrong}"));
    assert!((1_000..2_500).contains(&runs.count()), "{} runs in under a minute", runs.count());
    let maker = Maker::new(&runs);
    let mut ran = 0;
    for at in (0..runs.count()).step_by(131) {
        let rows = maker.span(at..at + 1, &AtomicBool::new(false), &|| {}).unwrap_or_else(|wrong| panic!("{wrong}"));
        for row in rows.expect("nobody stops it") {
            assert_eq!(row.unknown, Vec::<String>::new(), "{}", row.replay);
            assert_ne!(row.fate, "not_reached", "run {at}");
            ran += usize::from(row.hash.is_some());
        }
    }
    assert!(ran >= 8, "{ran} were run");
}

fn records(path: &Path) -> Vec<Record> {
    let file = std::fs::File::open(path).expect("a table");
    let reader = SerializedFileReader::new(file).expect("it opens");
    reader.get_row_iter(None).expect("rows").map(|row| row.expect("a row")).collect()
}

/// Read by the records of the format, not by the batches that wrote it.
#[test]
fn the_table_says_of_each_run_what_was_run_and_what_came_of_it() {
    let bench = bench(PLAN);
    campaign(&bench, "out", &[]);
    let rows = made(&runs(&bench, PLAN));
    let path = bench.path("out/result.parquet");
    let found = records(&path);
    assert_eq!(found.len(), rows.len());
    for (record, row) in found.iter().zip(&rows) {
        let text = |name: &str| {
            let column = record.get_column_iter().find(|(one, _)| *one == name);
            column.unwrap_or_else(|| panic!("no column {name}")).1.to_string()
        };
        assert_eq!(text("campaign"), "\"tiny\"");
        assert_eq!(text("index"), row.index.to_string());
        assert_eq!(text("scenario"), "\"short.toml\"");
        assert_eq!(text("fault"), format!("[\"{}\"]", row.faults[0].id));
        assert_eq!(text("fate"), format!("\"{}\"", row.fate));
        assert_eq!(text("hash"), row.hash.as_ref().map_or("null".to_owned(), |hash| format!("\"{hash}\"")));
        assert_eq!(
            text("h01_level"),
            row.hazards[0].level.map_or("null".to_owned(), |one| format!("\"{}\"", one.word()))
        );
        let first = row.rows.first().map_or("null".to_owned(), |(id, _)| format!("\"{id}\""));
        assert_eq!(text("first_row"), first);
    }
    assert!(found.iter().any(|record| record.get_string(0).is_ok()), "columns are typed");
    let gauge =
        rows.iter().filter(|row| row.faults[0].id == "F001" && row.rows.first().is_some_and(|row| row.0 == "I03"));
    assert!(gauge.count() >= 6, "a vessel gauge without current trips I03");
    let facts = SerializedFileReader::new(std::fs::File::open(&path).expect("a table")).expect("it opens");
    let facts = facts.metadata().file_metadata().key_value_metadata().cloned().unwrap_or_default();
    let fact = |name: &str| facts.iter().find(|one| one.key == name).and_then(|one| one.value.clone());
    assert_eq!(fact("valvewright.schema").as_deref(), Some(valvewright_sim::campaign::SCHEMA));
    assert_eq!(fact("valvewright.plan").as_deref(), Some(PLAN), "the table says itself what it is of");
}
