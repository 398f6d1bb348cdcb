//! Each row of the interlock table is missed: with any one of them left out, a shipped scenario that holds with it does not hold any more.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, OnceLock};

use valvewright_core::row::{RowId, RowSet};
use valvewright_sim::run::{Control, RunOptions, run_scenario};
use valvewright_sim::scenario::shipped::{FAULTS, QUESTIONS, SHIPPED, Shipped};
use valvewright_sim::scenario::{Scenario, parse, shipped};

fn read(one: &Shipped) -> Scenario {
    parse::read(&shipped::source(one.name).expect("shipped")).unwrap_or_else(|wrong| panic!("{}: {wrong:?}", one.name))
}

/// What does not hold in a scenario without these rows.
fn fails(scenario: &Scenario, without: RowSet) -> Vec<String> {
    let options = RunOptions { no_samples: true, without, ..RunOptions::default() };
    let result = run_scenario(scenario, &options, &mut |_| Control::Continue).expect("it runs").result;
    result.expectations.iter().filter(|one| !one.held).map(|one| one.name.clone()).collect()
}

/// The row stands among the trips or in the words of the scenario: those are tried first.
fn speaks_of(scenario: &Scenario, row: RowId) -> bool {
    let id = row.as_str();
    scenario.expect.trips.iter().flatten().any(|trip| trip == id)
        || scenario.properties.iter().any(|one| one.formula.contains(id))
}

/// Shows LC3.
#[test]
fn a_row_that_is_left_out_is_missed_by_a_shipped_scenario() {
    let all: Vec<Scenario> = SHIPPED.iter().chain(QUESTIONS).chain(FAULTS).map(read).collect();
    let (next, missed) = (AtomicUsize::new(0), Mutex::new(Vec::new()));
    // Some faults are not met yet: what fails with every row there is no sign of one that is missed.
    let whole: Vec<OnceLock<Vec<String>>> = all.iter().map(|_| OnceLock::new()).collect();
    let fails_anyway = |at: usize| whole[at].get_or_init(|| fails(&all[at], RowSet::NONE));
    let find = |row: RowId| {
        let (first, then): (Vec<usize>, Vec<usize>) = (0..all.len()).partition(|at| speaks_of(&all[*at], row));
        first.into_iter().chain(then).find_map(|at| {
            let broken = fails(&all[at], RowSet::one(row)).into_iter().filter(|one| !fails_anyway(at).contains(one));
            let broken: Vec<String> = broken.collect();
            (!broken.is_empty()).then(|| format!("{row:?}: {} without it: {}", all[at].name, broken.join("; ")))
        })
    };
    std::thread::scope(|scope| {
        for _ in 0..std::thread::available_parallelism().map_or(1, usize::from) {
            scope.spawn(|| {
                while let Some(row) = RowId::ALL.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let found = find(*row);
                    println!("{}", found.clone().unwrap_or_else(|| format!("{row:?}: nothing")));
                    missed.lock().expect("no test panics with it").push((*row, found));
                }
            });
        }
    });
    let missed = missed.into_inner().expect("no test panics with it");
    let unmissed: Vec<&str> = missed.iter().filter(|one| one.1.is_none()).map(|one| one.0.as_str()).collect();
    assert!(
        unmissed.is_empty(),
        "no shipped scenario misses {unmissed:?}: `valvewright run NAME --without ROW` for one that should"
    );
}
