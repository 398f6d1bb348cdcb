//! Faults of single instruments in whole jobs: each is said in its time, with the tag of what is wrong, and the job does not pass.

use valvewright_sim::report::data::Verdict;
use valvewright_tests::sensing::FAULTS;

/// Seeds that each claim is held to.
const SEEDS: std::ops::RangeInclusive<u64> = 1..=2;

/// Every fault of the list whose name begins so.
fn told_in_time(names: &[&str]) {
    for fault in FAULTS.iter().filter(|fault| names.iter().any(|name| fault.harm.name.starts_with(name))) {
        for seed in SEEDS {
            let run = fault.harm.run(Some(seed));
            let broke = run.seen.broke.unwrap_or_else(|| panic!("nothing broke\n{}", run.replay()));
            let said: Vec<_> = run.result.notices.iter().filter(|n| n.t_s >= broke).collect();
            for words in fault.told {
                let at = said.iter().find(|n| n.text.to_string().contains(words)).map(|n| n.t_s - broke);
                let at = at.unwrap_or_else(|| panic!("{}: `{words}` was not said\n{}", fault.harm.name, run.replay()));
                println!("{} seed {seed}: `{words}` after {at:.2} s of {}", fault.harm.name, fault.within);
                assert!(at <= fault.within, "{}: `{words}` after {at} s\n{}", fault.harm.name, run.replay());
            }
            assert_ne!(run.result.verdict, Verdict::Pass, "{}", run.replay());
        }
    }
}

#[test]
fn a_vessel_gauge_that_is_wrong_is_told_in_time() {
    told_in_time(&["F001", "F002", "F003", "F004", "F006"]);
}

#[test]
fn a_hose_gauge_that_is_wrong_is_told_in_time() {
    told_in_time(&["F009", "F011"]);
}

#[test]
fn a_vacuum_gauge_that_is_wrong_is_told_in_time() {
    told_in_time(&["F013", "F014"]);
}

#[test]
fn a_temperature_that_is_wrong_is_told_in_time() {
    told_in_time(&["F015", "F016", "F018", "F019"]);
}

#[test]
fn a_scale_that_is_wrong_is_told_in_time() {
    told_in_time(&["F02", "F133"]);
}

#[test]
fn a_detector_switch_or_separator_gauge_that_is_wrong_is_told_in_time() {
    told_in_time(&["F039", "F044", "F134", "F136"]);
}
