//! What each shipped scenario does, to the last bit of every frame, output and notice: a change of behaviour is seen and has to be meant.
//!
//! `VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests --test suite job_hashes` puts the new hashes on record and says which moved; the
//! commit says why.

use std::fmt::Write;
use std::path::PathBuf;

use valvewright_sim::run::{Control, RunOptions, run_scenario};
use valvewright_sim::scenario::shipped::SHIPPED;
use valvewright_tests::job_runs::scenario;

const HEAD: &str = "scenario,scans,verdict,trace_hash";

fn file() -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/data/runs/hashes.csv"))
}

/// One line a scenario.
fn now() -> Vec<String> {
    let options = RunOptions { no_samples: true, ..RunOptions::default() };
    let line = |name: &str| {
        let run = run_scenario(&scenario(name, &[], ""), &options, &mut |_| Control::Continue);
        let result = run.unwrap_or_else(|why| panic!("{name}: {why}")).result;
        format!("{name},{},{},{}", result.ticks, result.verdict.word(), result.trace_hash)
    };
    SHIPPED.iter().map(|one| line(one.name)).collect()
}

/// Lines of `now` that do not stand in the record, each with what stands there.
fn moved(record: &str, now: &[String]) -> Vec<String> {
    let mut lines = record.lines();
    assert_eq!(lines.next(), Some(HEAD), "{}", file().display());
    let known: Vec<&str> = lines.collect();
    let of = |name: &str| known.iter().find(|line| line.split(',').next() == Some(name)).copied();
    let mut list: Vec<String> = Vec::new();
    for line in now {
        let name = line.split(',').next().unwrap_or_default();
        match of(name) {
            Some(old) if old == line => {}
            Some(old) => list.push(format!("{old} -> {line}")),
            None => list.push(format!("new: {line}")),
        }
    }
    let gone = known.iter().filter(|line| !now.iter().any(|one| one.split(',').next() == line.split(',').next()));
    list.extend(gone.map(|line| format!("gone: {line}")));
    list
}

#[test]
fn every_shipped_scenario_does_what_is_on_record() {
    let lines = now();
    if std::env::var("VALVEWRIGHT_WRITE").is_ok_and(|value| value == "1") {
        let mut text = format!("{HEAD}\n");
        lines.iter().for_each(|line| writeln!(text, "{line}").expect("text"));
        let old = std::fs::read_to_string(file()).unwrap_or_else(|_| format!("{HEAD}\n"));
        std::fs::write(file(), text).expect("the record can be written");
        panic!(
            "recorded; a record proves nothing, run again without VALVEWRIGHT_WRITE. Moved:\n{}",
            moved(&old, &lines).join("\n")
        );
    }
    let record = std::fs::read_to_string(file()).expect("tests/data/runs/hashes.csv");
    let moved = moved(&record, &lines);
    assert!(
        moved.is_empty(),
        "behaviour changed; look with `valvewright run NAME`, and where it is meant, record it:\n  VALVEWRIGHT_WRITE=1 cargo test -p \
         valvewright-tests --test suite job_hashes\n{}",
        moved.join("\n")
    );
}

#[test]
fn a_hash_that_moves_comes_or_goes_is_told() {
    let record = format!("{HEAD}\na,1,pass,00\nb,2,pass,01\n");
    let now = ["a,1,pass,00", "c,3,pass,02"].map(str::to_owned);
    assert_eq!(moved(&record, &now), ["new: c,3,pass,02", "gone: b,2,pass,01"]);
    let now = ["a,1,pass,ff", "b,2,pass,01"].map(str::to_owned);
    assert_eq!(moved(&record, &now), ["a,1,pass,00 -> a,1,pass,ff"]);
}
