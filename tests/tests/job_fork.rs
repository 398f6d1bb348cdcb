//! A run held as a value: forks go on to the same hash, whatever becomes of the original, and stepping is the same as running.

use valvewright_core::job::PhaseKind;
use valvewright_sim::run::{Control, RunOptions, Simulation, Stand, run_scenario};
use valvewright_sim::scenario::shipped::{DEMO, SHIPPED};
use valvewright_tests::job_runs::scenario;

fn begun(name: &str) -> Simulation {
    Simulation::new(&scenario(name, &[], ""), &RunOptions::BARE).unwrap_or_else(|why| panic!("{name}: {why}"))
}

fn to_the_end(run: &mut Simulation) -> (Stand, u64, String) {
    let stand = run.run_until(f64::INFINITY).expect("the built-in controller answers");
    (stand, run.scans(), run.hash())
}

/// Each phase is forked thirty seconds on, and in its first scan in the demo.
/// Shows LS8.
#[test]
fn a_fork_in_any_phase_of_any_scenario_goes_on_to_the_hash_of_the_whole_run() {
    let mut count = 0;
    for shipped in SHIPPED {
        let (mut run, mut forks) = (begun(shipped.name), Vec::new());
        let (mut phase, mut since) = (None::<PhaseKind>, 0.0);
        while run.step().expect("a scan") == Stand::Running {
            let first = run.phase() != phase;
            if first {
                (phase, since) = (run.phase(), run.time());
            }
            let later = (run.time() - since - 30.0).abs() < 0.02;
            if phase.is_some() && (later || first && shipped.name == DEMO) {
                forks.push((phase, run.time(), run.fork()));
            }
        }
        let whole = to_the_end(&mut run);
        count += forks.len();
        for (phase, at, mut fork) in forks {
            assert_eq!(to_the_end(&mut fork), whole, "{} forked in {phase:?} at {at} s", shipped.name);
        }
        let known = run_scenario(&scenario(shipped.name, &[], ""), &RunOptions::BARE, &mut |_| Control::Continue)
            .expect("a run");
        assert_eq!((known.result.ticks, known.result.trace_hash), (whole.1, whole.2), "{}", shipped.name);
    }
    assert!(count > 100, "{count} forks");
}

/// What becomes of one is nothing to the other.
#[test]
fn a_fork_that_goes_its_own_way_leaves_the_original_alone() {
    let mut run = begun("mild_hatchback");
    assert_eq!(run.run_until(600.0).expect("scans"), Stand::Running);
    let at = run.hash();
    let mut fork = run.fork();
    let ended = to_the_end(&mut fork);
    assert_eq!((run.hash(), run.time()), (at, 600.0));
    assert_eq!(to_the_end(&mut run), ended);
}

#[test]
fn a_run_that_is_over_takes_no_more_scans_and_is_judged_as_a_whole() {
    let mut run = begun("mild_hatchback");
    let (stand, scans, hash) = to_the_end(&mut run);
    assert_eq!(stand, Stand::Over);
    assert_eq!(run.step().expect("nothing"), Stand::Over);
    assert_eq!((run.scans(), run.hash()), (scans, hash.clone()));
    let outcome = run.finish();
    assert!(!outcome.result.partial && outcome.result.trace_hash == hash, "{:?}", outcome.result.verdict);
    // What is judged on the way is marked as a part.
    let mut half = begun("mild_hatchback");
    half.run_until(300.0).expect("scans");
    assert!(half.finish().result.partial);
}

/// Signals are read by their names, in SI units.
#[test]
fn a_simulation_shows_plant_truth_frame_and_controller() {
    let mut run = begun("mild_hatchback");
    run.run_until(200.0).expect("scans");
    let vessel = run.signal("vessel.p").expect("a signal of the network");
    assert!((vessel - run.truth().p_vessel).abs() < 1.0 && vessel > 3e5, "{vessel} Pa");
    let shown = f64::from(run.station().readings().pt1.value.0);
    assert!((shown - vessel).abs() < 20_000.0, "{shown} Pa for {vessel} Pa");
    assert_eq!(run.signal("no such.p"), None);
    assert!(run.frame().analog[0] > 10_000);
}
