//! Monitors along whole runs: they change nothing, go on in a fork, follow vehicles that come and go, and work on any station.

use valvewright_core::frame::Actuator;
use valvewright_core::job::PhaseKind;
use valvewright_core::kept::Boot;
use valvewright_sim::report::data::{HazardLevel, HazardResult, RunResult};
use valvewright_sim::run::{Control, Hand, Hold, RunOptions, Scene, Simulation, Stand, run_scenario, run_with_faults};
use valvewright_sim::scenario::shipped::SHIPPED;
use valvewright_sim::scenario::{Scenario, parse, shipped};
use valvewright_tests::job_runs::{Run, scenario};

fn read(name: &str) -> Scenario {
    parse::read(&shipped::source(name).expect("shipped")).expect("it reads")
}

fn run(job: &Scenario, options: &RunOptions) -> RunResult {
    run_scenario(job, options, &mut |_| Control::Continue).expect("it runs").result
}

fn of<'a>(result: &'a RunResult, id: &str) -> &'a HazardResult {
    result.hazards.iter().find(|one| one.id == id).unwrap_or_else(|| panic!("no hazard {id}"))
}

fn accidents(result: &RunResult) -> Vec<&str> {
    result.hazards.iter().filter(|one| one.level == HazardLevel::Accident).map(|one| one.id).collect()
}

#[test]
fn no_shipped_scenario_in_which_nothing_breaks_comes_to_an_accident() {
    let whole = |name: &str| read(name).jobs().all(|job| job.faults.is_empty());
    for one in SHIPPED.iter().filter(|one| whole(one.name)) {
        let result = Run::shipped(one.name).result();
        assert!(accidents(result).is_empty(), "{:?}: valvewright run {}", accidents(result), one.name);
        assert!(result.hazards.iter().all(|one| one.unseen_t_s.is_none()), "{}", one.name);
        let not: Vec<&str> = result.hazards.iter().filter(|one| one.not_judged.is_some()).map(|one| one.id).collect();
        assert!(not == ["H19"] || not == ["H01", "H19"], "{}: {not:?}", one.name);
    }
}

#[test]
fn monitors_change_no_hash_and_samples_change_no_finding() {
    let job = read("nearly_empty");
    let bare = run(&job, &RunOptions::BARE);
    let off = run(&job, &RunOptions { no_hazards: true, ..RunOptions::BARE });
    let sampled = run(&job, &RunOptions { no_samples: false, ..RunOptions::BARE });
    assert_eq!([&off.trace_hash, &sampled.trace_hash], [&bare.trace_hash; 2]);
    assert!(off.hazards.is_empty() && bare.hazards.len() == 25);
    assert_eq!(bare.hazards, sampled.hazards);
}

/// A coupler is torn off in the fill.
/// Shows H25, F113.
#[test]
fn a_fork_goes_on_with_its_monitors() {
    let job = read("f113");
    let mut whole = Simulation::new(&job, &RunOptions::BARE).expect("it begins");
    whole.run_until(240.0).expect("it runs");
    assert_eq!(whole.hazards().expect("judged").results()[24].accident_t_s, None);
    let mut fork = whole.fork();
    while whole.step().expect("it runs") == Stand::Running {}
    while fork.step().expect("it runs") == Stand::Running {}
    let (a, b) = (whole.finish().result, fork.finish().result);
    assert_eq!(accidents(&a), ["H25"]);
    assert_eq!(a.hazards, b.hazards);
}

/// The yard has no heater, a condenser and two stages; the row has five vehicles.
#[test]
fn a_row_of_vehicles_on_another_station_is_judged_to_its_end() {
    let source = shipped::source("monday_morning").expect("shipped");
    let job = parse::read_on(&source, Some("fleet_yard")).expect("it reads");
    let result = run(&job, &RunOptions::BARE);
    assert_eq!(result.jobs.len(), 5);
    assert!(accidents(&result).is_empty(), "{:?}", accidents(&result));
    // The last charge is judged against its own order: 520 g, not that of the first vehicle.
    let off = of(&result, "H06").figure.value.abs();
    assert!(off < 15.0, "{off} g");
    assert!(of(&result, "H09").figure.what != "at the skin of the heater", "{:?}", of(&result, "H09"));
}

#[test]
fn an_accident_belongs_to_the_job_in_which_it_happens() {
    let job = read("monday_morning");
    let mut phases = 0;
    let mut last = None;
    // In the second charge of the row a bag of sand is taken off the platform: 40 g come too much.
    let mut faults = |scene: &mut Scene<'_>| {
        if scene.phase != last {
            phases += usize::from(scene.phase == Some(PhaseKind::Verify));
            last = scene.phase;
        }
        if phases == 2 {
            phases += 1;
            let volume = scene.plant.volume("vehicle_low").expect("it is there");
            scene.plant.inject(volume, 0, 0.04);
        }
    };
    let result =
        run_with_faults(&job, &RunOptions::BARE, &mut faults, &mut |_| Control::Continue).expect("it runs").result;
    let per_job: Vec<bool> = result.jobs.iter().map(|job| job.accidents.iter().any(|id| id == "H06")).collect();
    assert_eq!(per_job, [false, true, false, false, false], "{:?}", of(&result, "H06"));
    let failed: Vec<_> = result.expectations.iter().filter(|one| one.name.contains("hazards")).collect();
    assert!(failed.len() == 1 && failed[0].name == "job 2: hazards = none" && !failed[0].held, "{failed:?}");
}

/// On a hot engine liquid stands in the high-side hose after the charge.
/// Shows H25.
#[test]
fn a_coupler_that_is_torn_off_a_hose_of_liquid_is_found_and_one_that_waits_is_not() {
    let torn = |from: f64| {
        let mut faults = |scene: &mut Scene<'_>| {
            let mass = |name: &str| scene.plant.read(scene.plant.signal(name).expect("it is there"));
            if scene.t_s > from && mass("hose_low.m").max(mass("hose_high.m")) > 6e-3 {
                scene.operator.hands.push(Hand::Coupled(false));
            }
        };
        run_with_faults(&read("fresh_off_the_road"), &RunOptions::BARE, &mut faults, &mut |_| Control::Continue)
            .expect("it runs")
            .result
    };
    let found = torn(3_000.0);
    assert_eq!(of(&found, "H25").level, HazardLevel::Accident, "{:?}", of(&found, "H25"));
    assert_eq!(of(&torn(f64::INFINITY), "H25").level, HazardLevel::None);
}

/// A step of the plant reaches far ahead; what a valve that shuts in time keeps from happening is no accident.
#[test]
fn what_the_plant_only_looked_ahead_to_is_not_judged() {
    let job = scenario("mild_hatchback", &[], "");
    let mut opened = None;
    let mut faults = |scene: &mut Scene<'_>| {
        if scene.phase == Some(PhaseKind::Recover) && scene.t_s > 400.0 {
            let at = *opened.get_or_insert(scene.t_s);
            scene.holds.set(Actuator::Xv7, if scene.t_s - at < 2.0 { Hold::On } else { Hold::Free });
        }
    };
    let result = run_with_faults(&job, &RunOptions::BARE, &mut faults, &mut |at| {
        if at.t_s < 800.0 { Control::Continue } else { Control::Stop }
    });
    let result = result.expect("it runs").result;
    let (vented, escaped) = (of(&result, "H13").figure.value, result.reached.escaped_g);
    assert!(vented > 2.0 && (vented - escaped).abs() < 0.1 * escaped, "{vented} g of {escaped} g");
}

#[test]
fn an_unfinished_run_judges_what_it_saw() {
    let mut run = Simulation::new(&read("mild_hatchback"), &RunOptions::BARE).expect("it begins");
    run.run_until(10.0).expect("it runs");
    let result = run.finish().result;
    assert!(result.partial && result.hazards.len() == 25 && accidents(&result).is_empty());
    assert!(of(&result, "H23").worst_margin < 0.9, "{:?}", of(&result, "H23"));
}

#[test]
fn a_stalled_machine_and_one_that_comes_back_moving_are_found() {
    let mut began = None;
    let mut stall = |scene: &mut Scene<'_>| {
        if scene.on.has(Actuator::C1) {
            let at = *began.get_or_insert(scene.t_s);
            scene.platform.stalled = (3.0..4.0).contains(&(scene.t_s - at));
        }
    };
    let stop =
        &mut |at: valvewright_sim::run::Progress<'_>| if at.t_s < 300.0 { Control::Continue } else { Control::Stop };
    let result = run_with_faults(&read("mild_hatchback"), &RunOptions::BARE, &mut stall, stop).expect("it runs").result;
    // The hardware drops the outputs after half a second: the alert level is touched, no more.
    assert!(
        of(&result, "H20").worst_margin < 0.6 && of(&result, "H20").level < HazardLevel::Accident,
        "{:?}",
        of(&result, "H20")
    );
    let mut restart = |scene: &mut Scene<'_>| {
        scene.platform.restart = ((scene.t_s - 200.0).abs() < 0.01).then_some(Boot::Watchdog);
    };
    let result =
        run_with_faults(&read("mild_hatchback"), &RunOptions::BARE, &mut restart, stop).expect("it runs").result;
    assert_eq!(of(&result, "H24").level, HazardLevel::None, "the core waits for its operator");
}
