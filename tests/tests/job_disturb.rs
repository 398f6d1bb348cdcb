//! The seam for faults: a run with nothing broken is the run without it; what is held acts in the plant and shows in the same scan.

use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::job::PhaseKind;
use valvewright_sim::run::{Control, Hold, Holds, PlantAlone, RunOptions, RunOutcome, Scene, run_with_faults};
use valvewright_tests::job_runs::{Run, scenario};

/// The hatchback's job with something done to it once a scan.
fn disturbed(faults: &mut dyn FnMut(&mut Scene<'_>)) -> RunOutcome {
    let options = RunOptions { keep_frames: true, no_samples: true, ..RunOptions::default() };
    let mut faults = |scene: &mut Scene<'_>| faults(scene);
    run_with_faults(&scenario("mild_hatchback", &[], ""), &options, &mut faults, &mut |_| Control::Continue)
        .expect("the hatchback's job runs")
}

#[test]
fn a_disturbance_that_only_looks_changes_nothing() {
    let plain = Run::shipped("mild_hatchback");
    let mut asked = 0_u64;
    let mut phases = Vec::new();
    let run = disturbed(&mut |scene| {
        asked += 1;
        if phases.last() != Some(&scene.phase) {
            phases.push(scene.phase);
        }
    });
    assert_eq!(run.result.trace_hash, plain.result().trace_hash);
    assert_eq!(asked, run.result.ticks, "once a scan");
    for kind in [PhaseKind::Identify, PhaseKind::Charge, PhaseKind::ClearHoses] {
        assert!(phases.contains(&Some(kind)), "{kind:?} was not seen in {phases:?}");
    }
}

#[test]
fn a_hold_that_is_set_and_freed_in_one_scan_changes_nothing() {
    let run = disturbed(&mut |scene| {
        scene.holds.set(Actuator::Xv7, Hold::On);
        scene.holds.set(Actuator::Xv7, Hold::Free);
    });
    assert_eq!(run.result.trace_hash, Run::shipped("mild_hatchback").result().trace_hash);
}

#[test]
fn a_held_valve_acts_on_the_plant_and_is_free_again_when_healed() {
    let mut openings = Vec::new();
    let run = disturbed(&mut |scene| {
        let signal = scene.plant.signal("XV-7.opening").expect("XV-7 has an opening");
        let hold = match scene.t_s {
            t if t < 100.0 => Hold::Free,
            t if t < 110.0 => Hold::On,
            t if t < 120.0 => Hold::LeakBy(0.02),
            _ => Hold::Free,
        };
        scene.holds.set(Actuator::Xv7, hold);
        if scene.t_s.fract() == 0.0 && (99.0..=122.0).contains(&scene.t_s) {
            openings.push(((scene.t_s) as u32, scene.plant.read(signal)));
        }
    });
    let at = |t: u32| openings.iter().find(|(when, _)| *when == t).expect("a whole second").1;
    assert_eq!([at(99), at(105), at(115), at(122)], [0.0, 1.0, 0.02, 0.0], "{openings:?}");
    // What was done stands in the moves, so that the plant alone goes where it went.
    let mut alone = PlantAlone::new(&scenario("mild_hatchback", &[], "")).expect("the plant can be built");
    alone.repeat(&run.moves, run.result.ticks);
    assert_eq!(alone.plant().balance().mass_error_kg * 1e3, run.result.mass_balance_error_g);
}

#[test]
fn a_standing_fan_shows_in_speed_and_switch_while_the_controller_has_it_on() {
    let mut told = Actuators::NONE;
    let run = disturbed(&mut |scene| {
        scene.holds.set(Actuator::K1, if scene.t_s >= 200.0 { Hold::Off } else { Hold::Free });
        if scene.t_s == 201.0 {
            told = scene.on;
            assert!(!scene.truth.fan_on, "it stands");
        }
    });
    assert!(told.has(Actuator::K1), "the controller has it on");
    let trip = run.result.interlocks.iter().find(|row| row.id == "I28");
    let trip = trip.unwrap_or_else(|| panic!("no I28 in {:?}", run.result.interlocks));
    assert!(trip.t_s > 200.0 && trip.t_s < 206.0, "run down, 2 s of hold: {} s", trip.t_s);
}

#[test]
fn a_way_through_two_valves_is_as_open_as_its_tighter_one() {
    let two = Actuators::of(&[Actuator::Xv5, Actuator::Xv10]);
    let mut holds = Holds::default();
    assert_eq!(holds.acting(two), two);
    holds.set(Actuator::Xv5, Hold::Off);
    assert_eq!(holds.acting(two), Actuators::of(&[Actuator::Xv10]));
    holds.set(Actuator::Xv5, Hold::On);
    assert_eq!(holds.acting(Actuators::NONE), Actuators::of(&[Actuator::Xv5]));
    holds.set(Actuator::Xv5, Hold::LeakBy(0.1));
    assert_eq!(holds.acting(Actuators::NONE), Actuators::NONE, "a leak-by is no open valve");
    holds.set(Actuator::Xv5, Hold::Free);
    assert_eq!(holds, Holds::default(), "healed");
}
