//! Where the time of the demo job goes: `cargo bench -p valvewright-tests --bench job`.
//!
//! Whole runs and each part alone take turns, so that a machine that changes its pace changes it for all of them; the best
//! of all rounds counts, the median tells how quiet it was. The loop is what a whole run takes beyond its parts.

use std::hint::black_box;
use std::time::Instant as Clock;

use valvewright_core::frame::{Outputs, RawFrame};
use valvewright_core::station::Station;
use valvewright_core::units::Instant;
use valvewright_sim::instrument::{InstrumentSpec, Instruments, Truth};
use valvewright_sim::plant::{Plant, Tolerance};
use valvewright_sim::run::{
    Control, PlantAlone, RunOptions, RunOutcome, Scene, Seams, Seen, Simulation, complete, network_of, run_scenario,
    start, station_config,
};
use valvewright_sim::scenario::{Scenario, parse, shipped};

const ROUNDS: usize = 30;

fn run(scenario: &Scenario, options: &RunOptions) -> RunOutcome {
    run_scenario(scenario, options, &mut |_| Control::Continue).expect("the demo runs")
}

/// Seconds that the scans of a whole run took.
fn whole(scenario: &Scenario, no_samples: bool) -> f64 {
    run(scenario, &RunOptions { no_samples, ..RunOptions::default() }).result.wall_seconds
}

fn seconds<T>(work: impl FnOnce() -> T) -> f64 {
    let started = Clock::now();
    black_box(work());
    started.elapsed().as_secs_f64()
}

fn plant(scenario: &Scenario, known: &RunOutcome) -> f64 {
    let mut alone = PlantAlone::new(scenario).expect("the demo has a plant");
    seconds(|| alone.repeat(&known.moves, known.result.ticks))
}

fn core(scenario: &Scenario, known: &RunOutcome) -> f64 {
    let mut station = Station::wake(station_config(scenario).expect("a station"), &start(scenario));
    seconds(|| {
        for (ms, frame) in &known.tape.frames {
            black_box(station.tick(Instant(*ms), frame));
            while station.take_notice().is_some() {}
        }
    })
}

/// Half of the time at rest, half shaken by motors.
fn instruments(scans: u64) -> f64 {
    let (mut devices, mut frame) = (Instruments::new(&InstrumentSpec::default(), 1), RawFrame::default());
    let (mut truth, outputs) = (Truth::default(), Outputs::default());
    seconds(|| {
        for scan in 0..scans {
            truth.p_vessel += 0.01;
            truth.motors_running = scan >= scans / 2;
            devices.frame(scan as f64 * 0.05, 0.05, &truth, &outputs, None, &mut frame);
            black_box(&frame);
        }
    })
}

/// Seconds of a run without samples, with hazards judged or not.
fn hazards(scenario: &Scenario, judged: bool) -> f64 {
    let options = RunOptions { no_samples: true, no_hazards: !judged, ..RunOptions::default() };
    run(scenario, &options).result.wall_seconds
}

/// Seconds of a run with nothing at its seams, or with a disturbance and an onlooker that do nothing.
fn seams(scenario: &Scenario, idle: bool) -> f64 {
    let run = Simulation::new(scenario, &RunOptions { no_samples: true, ..RunOptions::default() }).expect("it begins");
    let (mut faults, mut onlooker) = (
        |scene: &mut Scene<'_>| _ = black_box(scene.t_s),
        |seen: &Seen<'_>| {
            _ = black_box(seen.t_s);
        },
    );
    let mut lent = match idle {
        true => Seams { faults: Some(&mut faults), observer: Some(&mut onlooker) },
        false => Seams::default(),
    };
    complete(run, &mut lent, &mut |_| Control::Continue).expect("it runs").result.wall_seconds
}

/// A run that ends with its first scan.
fn first_scan(scenario: &Scenario) -> f64 {
    let scenario = Scenario { time_limit: 0.0, ..scenario.clone() };
    seconds(|| run(&scenario, &RunOptions { no_samples: true, ..RunOptions::default() }))
}

fn layout(scenario: &Scenario) -> f64 {
    let spec = network_of(scenario).expect("the demo has a network");
    seconds(|| Plant::new(&spec, Tolerance::STATION).expect("it can be built"))
}

/// A fork of a run that keeps no samples, taken in its middle; the copy is let go outside the time.
fn fork(run: &Simulation) -> f64 {
    let started = Clock::now();
    let copy = black_box(run.fork());
    let took = started.elapsed().as_secs_f64();
    drop(copy);
    took
}

/// Best and median.
fn told(mut all: Vec<f64>) -> (f64, f64) {
    all.sort_by(f64::total_cmp);
    (all[0], all[all.len() / 2])
}

type Part<'a> = (&'a str, &'a dyn Fn() -> f64);

fn measured<const N: usize>(parts: &[Part<'_>; N]) -> [(f64, f64); N] {
    let mut all = [const { Vec::new() }; N];
    for _ in 0..ROUNDS {
        for (took, (_, part)) in all.iter_mut().zip(parts) {
            took.push(part());
        }
    }
    all.map(told)
}

fn main() {
    let source = shipped::source(shipped::DEMO).expect("the demo is shipped");
    let scenario = parse::read(&source).expect("the demo is valid");
    let known = run(&scenario, &RunOptions { keep_frames: true, ..RunOptions::default() });
    let (sim, scans) = (known.result.sim_seconds, known.result.ticks);
    println!("demo job: {sim:.1} s simulated, {scans} scans; best and median of {ROUNDS}");

    let parts: [Part<'_>; 5] = [
        ("whole run", &|| whole(&scenario, false)),
        ("without samples", &|| whole(&scenario, true)),
        ("plant alone", &|| plant(&scenario, &known)),
        ("core alone", &|| core(&scenario, &known)),
        ("instruments alone", &|| instruments(scans)),
    ];
    let took = measured(&parts);
    let line = |name: &str, (best, median): (f64, f64)| {
        let (scan, speed) = (best * 1e9 / scans as f64, sim / best);
        println!("{name:<22} {:8.2} ms {:8.2} ms {scan:8.1} ns a scan {speed:10.0} x", best * 1e3, median * 1e3);
    };
    for ((name, _), one) in parts.iter().zip(took) {
        line(name, one);
    }
    let [_, whole, parts @ ..] = took;
    let rest = |pick: fn((f64, f64)) -> f64| pick(whole) - parts.into_iter().map(pick).sum::<f64>();
    line("the loop around them", (rest(|one| one.0), rest(|one| one.1)));

    let parts: [Part<'_>; 2] =
        [("hazards judged", &|| hazards(&scenario, true)), ("hazards not judged", &|| hazards(&scenario, false))];
    let [judged, not] = measured(&parts);
    line("hazards judged", judged);
    line("hazards not judged", not);
    let lost = 100.0 * (1.0 - not.0 / judged.0);
    println!("speed that the monitors of hazards take: {lost:.1} %");

    let parts: [Part<'_>; 2] = [
        ("nothing at the seams", &|| seams(&scenario, false)),
        ("idle fault and onlooker", &|| seams(&scenario, true)),
    ];
    for ((name, _), one) in parts.iter().zip(measured(&parts)) {
        line(name, one);
    }

    let mut half =
        Simulation::new(&scenario, &RunOptions { no_samples: true, ..RunOptions::default() }).expect("the demo runs");
    half.run_until(sim / 2.0).expect("the built-in controller answers");
    let parts: [Part<'_>; 5] = [
        ("scenario read", &|| seconds(|| parse::read(&source))),
        ("its network", &|| seconds(|| network_of(&scenario))),
        ("the plant built of it", &|| layout(&scenario)),
        ("run to its first scan", &|| first_scan(&scenario)),
        ("a fork half way", &|| fork(&half)),
    ];
    for ((name, _), (best, median)) in parts.iter().zip(measured(&parts)) {
        println!("{name:<22} {:8.1} us {:8.1} us", best * 1e6, median * 1e6);
    }
}
