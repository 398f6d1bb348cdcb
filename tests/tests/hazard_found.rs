//! The monitors alone find what a broken controller does: the core without its gate, and the naive controller over the line. The whole core
//! in the same place is found to do no harm.

use std::path::Path;

use serde_json::Value;
use valvewright_core::frame::{Actuator, Scale};
use valvewright_core::job::PhaseKind;
use valvewright_sim::controller::Controller;
use valvewright_sim::instrument::ScaleHealth;
use valvewright_sim::report::data::{HazardLevel, HazardResult, RunResult};
use valvewright_sim::run::{Control, Disturb, RunOptions, Scene, Seams, Simulation, complete};
use valvewright_sim::scenario::Scenario;
use valvewright_sim::station;
use valvewright_tests::gateless::Gateless;
use valvewright_tests::job_runs::{Edit, scenario};

use crate::cli_bench::Bench;
use crate::line_faults::client;

/// The reference station with a hole of this diameter from its vessel into its cabinet. One of 2 mm loses some 6 g/s of vapour at 6 bar, more
/// than its fan carries away below the limit.
fn holed_station(name: &str, diameter: &str) -> String {
    let shipped = station::source(None).expect("the reference station is shipped").text;
    let hole = format!(
        "\n[element.cabinet_hole]\nkind = \"leak\"\nfrom = \"vessel\"\nto = \"cabinet\"\ndiameter = \"{diameter}\"\n"
    );
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, format!("{shipped}{hole}")).expect("the target folder is writable");
    path.to_string_lossy().into_owned()
}

/// Runs it until `until` s with this at its seams.
fn run<C: Controller>(job: &Scenario, controller: C, until: f64, faults: &mut dyn Disturb) -> RunResult {
    let run = Simulation::with(job, &RunOptions::BARE, controller).expect("it begins");
    let mut seams = Seams { faults: Some(faults), observer: None };
    let stop =
        &mut |at: valvewright_sim::run::Progress<'_>| if at.t_s < until { Control::Continue } else { Control::Stop };
    complete(run, &mut seams, stop).expect("it runs").result
}

fn whole(job: &Scenario) -> valvewright_core::station::Station {
    let config = valvewright_sim::run::station_config(job).expect("a station");
    valvewright_core::station::Station::new(config, valvewright_sim::run::vessel_rest(job))
}

fn of<'a>(result: &'a RunResult, id: &str) -> &'a HazardResult {
    result.hazards.iter().find(|one| one.id == id).unwrap_or_else(|| panic!("no hazard {id}"))
}

/// What was told in a run.
fn story(result: &RunResult) -> String {
    let lines = result.notices.iter().map(|one| format!("{:9.2} {} {}", one.t_s, one.id, one.text));
    lines.collect::<Vec<_>>().join("\n")
}

/// Both runs of a job: without the gate the hazard comes to its accident level, with it there is no accident at all.
#[track_caller]
fn only_without_the_gate(
    id: &str,
    job: &Scenario,
    until: f64,
    faults: &mut dyn FnMut() -> Box<dyn Disturb>,
) -> RunResult {
    let replay = format!("replay: cargo test -p valvewright-tests --test suite hazard_found; {}", job.name);
    let broken = run(job, Gateless::default(), until, &mut *faults());
    let found = of(&broken, id);
    assert_eq!(found.level, HazardLevel::Accident, "{found:?}\n{replay}\n{}", story(&broken));
    let sound = run(job, whole(job), until, &mut *faults());
    let accidents: Vec<_> = sound.hazards.iter().filter(|one| one.level == HazardLevel::Accident).collect();
    assert!(accidents.is_empty(), "{accidents:?}\n{replay}\n{}", story(&sound));
    broken
}

/// The cabinet's hole opens while C-1 runs.
fn hole_in_recovery() -> Box<dyn Disturb> {
    let mut open = false;
    Box::new(move |scene: &mut Scene<'_>| {
        if !open && scene.phase == Some(PhaseKind::Recover) && scene.on.has(Actuator::C1) {
            open = true;
            scene.plant.set_param("cabinet_hole.diameter", 2e-3).expect("the hole is there");
        }
    })
}

/// Both bridges of WT-1 stand still from so long after a phase began, s.
fn stuck_in(kind: PhaseKind, after: f64) -> Box<dyn Disturb> {
    let mut began = None;
    Box::new(move |scene: &mut Scene<'_>| {
        if scene.phase == Some(kind) && scene.t_s - *began.get_or_insert(scene.t_s) >= after {
            for bridge in [Scale::Wt1A, Scale::Wt1B] {
                scene.instruments.set_scale(bridge, ScaleHealth::Frozen);
            }
        }
    })
}

/// Shows H01, LS9.
#[test]
fn h01_is_found_without_the_gate_when_a_hole_opens_into_the_cabinet() {
    let mut job = scenario("mild_hatchback", &[], "");
    job.station.network = Some(holed_station("tight_workshop.toml", "1 um"));
    let broken = only_without_the_gate("H01", &job, 1_500.0, &mut hole_in_recovery);
    assert!(broken.interlocks.iter().any(|row| row.id == "I01"), "the core saw it and could do nothing");
}

/// Shows H02.
#[test]
fn h02_is_found_without_the_gate_when_the_scale_stands_still_in_a_recovery() {
    const BUS: &[Edit<'static>] = &[
        ("vessel_content = \"3.5 kg\"", "vessel_content = \"9.7 kg\""),
        ("content = \"4200 g\"", "content = \"5 kg\""),
        (
            "phases = \"whole\"\ncharge = \"4500 g\"\nevacuate_time = \"30 min\"\nevacuate_depth = \"3 mbar\"\nleak_hold = \"5 min\"",
            "phases = [\"identify\", \"recover\"]",
        ),
        ("leak = \"pass\"\n", ""),
        ("charged_within = \"15 g\"\n", ""),
    ];
    let job = scenario("city_bus", BUS, "");
    only_without_the_gate("H02", &job, 9_000.0, &mut || stuck_in(PhaseKind::Recover, 110.0));
}

/// Shows H06.
#[test]
fn h06_is_found_without_the_gate_when_the_scale_stands_still_in_a_charge() {
    const STOP: &str = "\n[[operator.act]]\ndo = \"abort\"\nphase = \"charge\"\nafter = \"4 min\"\n";
    const QUICK: &[Edit<'static>] = &[("evacuate_time = \"20 min\"", "evacuate_time = \"10 min\"")];
    let job = scenario("mild_hatchback", QUICK, STOP);
    let broken = only_without_the_gate("H06", &job, 7_200.0, &mut || stuck_in(PhaseKind::Charge, 20.0));
    assert!(of(&broken, "H06").figure.value > 15.0, "{:?}", of(&broken, "H06").figure);
}

/// As the evacuation begins the circuit comes back to some 3 bar: a pocket of 60 g that the recovery did not reach.
fn comes_back() -> Box<dyn Disturb> {
    let mut done = false;
    Box::new(move |scene: &mut Scene<'_>| {
        if !done && scene.phase == Some(PhaseKind::Evacuate) {
            done = true;
            let volume = scene.plant.volume("vehicle_low").expect("it is there");
            scene.plant.inject(volume, 0, 0.06);
        }
    })
}

/// Shows H08.
#[test]
fn h08_is_found_without_the_gate_where_pressure_comes_back_before_an_evacuation() {
    let job = scenario("mild_hatchback", &[], "");
    only_without_the_gate("H08", &job, 1_800.0, &mut comes_back);
}

fn naive(edit: impl Fn(String) -> String, scenario: &str, station: Option<&str>) -> Value {
    let shipped = valvewright_sim::scenario::shipped::source(scenario).expect("shipped").text;
    let bench = Bench::new();
    bench.put("job.toml", &edit(shipped));
    let command = client("naive");
    let mut words = vec!["run", "job.toml", "--controller", &command, "--patience", "20000"];
    words.extend(["--trace", "none", "--no-report", "--json"]);
    words.extend(station.into_iter().flat_map(|path| ["--station", path]));
    bench.run(&words).exits(1).json()
}

fn accidents(told: &Value) -> Vec<&str> {
    told["jobs"][0]["accidents"].as_array().expect("a list").iter().filter_map(Value::as_str).collect()
}

#[test]
fn the_naive_controller_is_found_to_overfill_to_vent_and_to_hand_over_an_empty_vehicle() {
    let full = |text: String| {
        let text = text.replace("vessel_content = \"3.5 kg\"", "vessel_content = \"9.7 kg\"");
        text.replace("content = \"4200 g\"", "content = \"5 kg\"")
    };
    let told = naive(full, "city_bus", None);
    assert_eq!(told["verdict"], "pass", "by its own word");
    let found = accidents(&told);
    for id in ["H02", "H06", "H13"] {
        assert!(found.contains(&id), "{id} is not among {found:?}");
    }
}

#[test]
fn the_naive_controller_is_found_to_run_in_gas() {
    let told = naive(|text| text, "mild_hatchback", Some(&holed_station("holed_workshop.toml", "2 mm")));
    assert!(accidents(&told).contains(&"H01"), "{:?}", told["hazards"][0]);
}
