//! A sweep is the same for any number of threads, does in a fork what a run from the start does, and finds what is there to be found.

use std::sync::atomic::AtomicBool;

use valvewright_sim::campaign::{BASES, Bases, Case, Fate, KNOWN, Sweep, Tally, cases, csv, moments};
use valvewright_sim::fault::{self, FaultId, Injection};
use valvewright_sim::report::data::HazardLevel;
use valvewright_sim::run::{Control, RunOptions, run_scenario};
use valvewright_sim::scenario::{Scenario, parse, parse_fault, shipped};

use crate::cli_bench::Bench;

fn demo() -> Scenario {
    parse::read(&shipped::source(shipped::DEMO).expect("shipped")).expect("it reads")
}

fn faults(ids: &[&str]) -> Vec<&'static Injection> {
    ids.iter().map(|id| FaultId::read(id).and_then(fault::find).expect("a fault")).collect()
}

fn sweep(bases: &Bases, list: &[Case], threads: usize) -> Sweep {
    Sweep::run(bases, list, threads, &AtomicBool::new(false), &mut |_| {}).expect("they run")
}

#[test]
fn the_answer_is_the_same_for_any_number_of_threads() {
    let bases = Bases::run(vec![demo()], 1).expect("it runs");
    let list = cases(&bases, &faults(&["F023", "F070", "F110"]), false);
    assert!(list.len() > 2 * bases.moments(), "each at every moment, the order's fault once");
    let (one, five) = (sweep(&bases, &list, 1), sweep(&bases, &list, 5));
    assert_eq!(csv(&one), csv(&five));
    let tally = Tally::of(&one, bases.moments(), false);
    assert_eq!(tally, Tally::of(&five, bases.moments(), false));
    assert_eq!((tally.faults.len(), tally.partial), (3, false));
    let fan = tally.faults.iter().find(|one| one.fault == "F070").expect("it was swept");
    // Of the fan that stands every run with a running phase trips by I28.
    assert_eq!(fan.first_rows.first().map(|one| one.0.as_str()), Some("I28"), "{fan:?}");
}

/// The command that a line names does the same from the start: same trips, same end, same accidents.
#[test]
fn a_fork_does_what_the_command_beside_it_does() {
    let bases = Bases::run(vec![demo()], 1).expect("it runs");
    let list = cases(&bases, &faults(&["F053", "F064"]), false);
    let done = sweep(&bases, &list, 2).done;
    let mut ended = 0;
    for one in done.iter().flatten().filter(|one| one.fate == Fate::Ended).step_by(7) {
        let words = one.replay.split('"').nth(1).expect("a fault in quotes");
        let (planned, _) = parse_fault::read_words(words).expect("it reads");
        let scenario = Scenario { faults: vec![planned], ..demo() };
        let options = RunOptions { no_samples: true, ..RunOptions::default() };
        let result = run_scenario(&scenario, &options, &mut |_| Control::Continue).expect("it runs").result;
        let accidents: Vec<&str> =
            result.hazards.iter().filter(|one| one.level == HazardLevel::Accident).map(|one| one.id).collect();
        assert_eq!(accidents, one.accidents.iter().map(|one| one.0).collect::<Vec<_>>(), "{}", one.replay);
        assert_eq!(result.verdict, one.verdict, "{}", one.replay);
        let mut rows: Vec<&str> = Vec::new();
        for trip in &result.interlocks {
            rows.extend((!rows.contains(&trip.id.as_str())).then_some(trip.id.as_str()));
        }
        assert_eq!(rows, one.trips.iter().map(|one| one.0.as_str()).collect::<Vec<_>>(), "{}", one.replay);
        ended += 1;
    }
    assert!(ended >= 3, "only {ended} runs could be compared");
}

/// The look at the rested vessel ends in the scan in which the purge begins: no moment lies between them. The scan before it is swept.
#[test]
fn the_jobs_of_a_sweep_come_to_every_step_that_lasts() {
    let read = |name: &str| parse::read(&shipped::source(name).expect("shipped")).expect("it reads");
    let bases = Bases::run(BASES.map(read).to_vec(), 1).expect("they run");
    assert_eq!(bases.missed(), ["purge judge"]);
    let fewer = Bases::run(BASES[..4].iter().map(|name| read(name)).collect(), 1).expect("they run");
    assert!(fewer.missed().contains(&"purge pulse".to_owned()), "a step that is missed is told: {:?}", fewer.missed());
}

#[test]
fn a_step_has_its_first_scan_its_middle_and_its_last() {
    let all = moments(&demo(), 3).expect("it runs");
    assert!(all.windows(2).all(|two| two[0].t_s <= two[1].t_s));
    let of = |phase: &str, step: &str| {
        all.iter().filter(|one| one.phase.is_some_and(|kind| kind.name() == phase) && one.step == step).count()
    };
    assert_eq!((of("charge", "fill"), of("evacuate", ""), of("leak_check", "hold")), (3, 3, 3), "{all:?}");
    assert!(all.iter().any(|one| one.phase.is_none()), "before the first phase, too");
}

#[test]
fn what_a_sweep_is_told_wrong_is_refused_with_what_there_is() {
    let bench = Bench::new();
    let short = ["F", "02"].concat();
    bench.run(&["fault", "sweep", &short]).exits(64).complains(&["has no fault", "nearest: "]);
    bench.run(&["fault", "sweep", "F023", "--scenario", "monday_morning"]).exits(64).complains(&["is a row of 5 jobs"]);
    bench.run(&["fault", "sweep", "F023", "--scenario", "f023"]).exits(64).complains(&["has faults of its own"]);
    bench.run(&["fault", "sweep", "F023", "--moments", "0"]).exits(64).complains(&["0 is not in 1..=1000"]);
}

#[test]
fn a_known_accident_names_a_fault_a_hazard_and_its_cause() {
    let mut reader = csv::Reader::from_reader(KNOWN.as_bytes());
    for row in reader.records() {
        let row = row.expect("a line of three");
        assert!(FaultId::read(&row[0]).and_then(fault::find).is_some(), "{row:?}");
        assert!(valvewright_sim::hazard::CATALOGUE.iter().any(|one| one.id.word() == &row[1]), "{row:?}");
        assert!(row[2].len() > 30, "{row:?}");
    }
}
