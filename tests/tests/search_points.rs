//! How far a set point can move: the bracket is true of runs from their beginning, and what depends on no run is said to.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use valvewright_sim::campaign::search::{Ground, Reaches, reaches};
use valvewright_sim::campaign::{Runs, plan};
use valvewright_sim::matrix::points;
use valvewright_sim::report::data::HazardLevel;
use valvewright_sim::run::{Control, RunOptions, run_scenario};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::parse_fault::read_words;

const PLAN: &str = r#"
name = "two_faults"
title = "A joint that leaks and a bridge that stands still"
design = "full"
seed = 1
shard = 10
[factors]
scenario = ["mild_hatchback"]
seeds = [1]
[faults]
which = ["F128", "F109"]
[moments]
steps = ["recover pull 50 %"]
"#;

fn ground() -> Ground {
    let read = plan::read(&Source::new("two_faults.toml", PLAN)).unwrap_or_else(|wrong| panic!("{wrong:#?}"));
    Ground::of(&Runs::new(read).unwrap_or_else(|why| panic!("{why}"))).unwrap_or_else(|why| panic!("{why}"))
}

fn found(threads: usize) -> Reaches {
    reaches(&ground(), threads, &AtomicBool::new(false), &|_, _| {}).expect("the job runs")
}

/// Whether a hazard comes to its accident or alert level in a run from its beginning.
fn level(words: &str, set_point: &str, hazard: &str) -> HazardLevel {
    let mut scenario = ground().scenario;
    scenario.faults.push(read_words(words).expect("the words of --fault").0);
    let moved = vec![points::read(set_point).expect("a set point")];
    let options = RunOptions { moved, ..RunOptions::BARE };
    let done = run_scenario(&scenario, &options, &mut |progress| {
        // The search lets a run go on for two hours after its fault at most.
        if progress.t_s > 12_000.0 { Control::Stop } else { Control::Continue }
    });
    let result = done.expect("it runs").result;
    result.hazards.iter().find(|one| one.id == hazard).map_or(HazardLevel::None, |one| one.level)
}

#[test]
fn a_bracket_is_true_of_runs_from_their_beginning() {
    let all = found(2);
    assert!(!all.partial && all.points.len() >= 15, "{all:?}");
    let gas = all.points.iter().find(|one| one.name == "cabinet_gas").expect("it is a set point");
    assert!(gas.runs > 0, "{gas:?}");
    let worse = gas.worse.as_ref().expect("a row that acts only on a burning cabinet comes too late");
    assert_eq!((worse.hazard, worse.accident), ("H01", true), "{worse:?}");
    assert!(gas.table < gas.safe && gas.safe < worse.at && worse.at < gas.far, "{gas:?}");
    assert!(worse.margin <= 0.0 && worse.before > 0.0, "{worse:?}");

    let words =
        worse.replay.split("--fault '").nth(1).and_then(|rest| rest.split('\'').next()).expect("it has a fault");
    let at = |figure: f64| format!("cabinet_gas={figure}");
    assert_eq!(level(words, &at(worse.at), "H01"), HazardLevel::Accident, "{}", worse.replay);
    assert_ne!(level(words, &at(gas.safe), "H01"), HazardLevel::Accident, "at {} nothing comes", gas.safe);
    assert!(worse.replay.ends_with(&format!("--set-point {}", at(worse.at))), "{}", worse.replay);
}

#[test]
fn the_same_for_any_number_of_threads_and_silent_where_no_run_speaks() {
    let one = found(1);
    assert_eq!(one, found(3));
    let silent: Vec<_> = one.points.iter().filter(|point| point.runs == 0).collect();
    assert!(!silent.is_empty(), "two faults trip every row");
    assert!(silent.iter().all(|point| point.worse.is_none()), "{silent:?}");
}

/// A search that is broken off says nothing of a set point whose runs were not all made: silence is not "nothing worse". Whenever it comes,
/// what is told is what the whole search tells.
#[test]
fn what_was_broken_off_is_not_told_as_safe() {
    let whole = found(2);
    for later in [2, 20, 80] {
        let (stop, base_done) = (AtomicBool::new(false), AtomicBool::new(false));
        let cases = whole.base - 1;
        let tell = |done: usize, of: usize| base_done.store(of == 0 || done >= cases, Ordering::Relaxed);
        let part = std::thread::scope(|scope| {
            scope.spawn(|| {
                while !base_done.load(Ordering::Relaxed) {
                    std::thread::yield_now();
                }
                std::thread::sleep(Duration::from_millis(later));
                stop.store(true, Ordering::Relaxed);
            });
            reaches(&ground(), 2, &stop, &tell).expect("the job runs")
        });
        let told = part.points.len();
        assert_eq!(part.points[..], whole.points[..told], "broken off {later} ms after the first runs");
        assert!(part.partial || told == whole.points.len());
    }
    let none = reaches(&ground(), 2, &AtomicBool::new(true), &|_, _| {}).expect("the job runs");
    assert!(none.partial && none.points.is_empty(), "{none:?}");
}
