//! Runs jobs drawn from seeds and holds what the station said against what was so:
//! `cargo run --release -p valvewright-tests --example jobs -- [COUNT] [FIRST_SEED]`, 1000 from seed 0 without. Told are plant faults and seven
//! kinds of false word: an overcharge over 15 g told as passed, a tight circuit told as leaking, a leak well above the limit told as
//! passed, a good gauge told as broken, pressure on the pump (PSH-2) where no valve is broken, a sound input
//! told as bad, an effect, the separator or a scale told as wrong where all is sound. Leaves with 1 where there is one. The same seeds give the same answer with any number of processors.

use std::collections::BTreeMap;
use std::process::ExitCode;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

use valvewright_sim::report::data::Verdict;
use valvewright_sim::run::{Control, RunOptions, run_scenario, station_config};
use valvewright_sim::scenario::Scenario;
use valvewright_tests::job_runs::drawn;

/// Charge tolerance, g (40 CFR 82 Subpart B App. C).
const TOLERANCE: f64 = 15.0;
/// Air through a hole into vacuum at 20 degC and 1 bar, Pa m3/s per m2: choked flow of an ideal gas with k = 1.4, 0.0404 p/sqrt(T) kg/(m2 s)
/// (textbook), times R T, times a discharge coefficient of 0.6 (common value, from memory).
const INFLOW: f64 = 0.6 * 0.0404 * 101_325.0 * 287.0 * 17.1;
/// A leak this much above the limit is well above it, whatever coefficient the hole has.
const WELL: f64 = 2.0;

const FAULT: &str = "ends in a plant fault";
const OVER: &str = "overcharge told as passed";
const LEAK: &str = "tight told as leak";
const TIGHT: &str = "leak above the limit told as passed";
const GAUGE: &str = "good gauge told as broken";
const PUMP: &str = "pressure on the pump behind sound valves";
const INPUT: &str = "sound input told as bad";
const EFFECT: &str = "effect, separator or scale told as wrong";
/// Each is counted, also where there is none.
const KINDS: [&str; 8] = [FAULT, OVER, LEAK, TIGHT, GAUGE, PUMP, INPUT, EFFECT];
/// Words that accuse a gauge.
const ACCUSED: [&str; 2] = ["check PT-4", "mend the one that is off"];
/// Words that accuse the oil of P-1, and PT-4 after it: false where nothing wetted that oil, for no other harm comes to either.
const OIL: &str = "change the oil, and where that does not help";

/// What was false of one job.
fn judge(seed: u64) -> Vec<String> {
    let scenario = drawn(seed);
    let options = RunOptions { no_samples: true, ..RunOptions::default() };
    let run = match run_scenario(&scenario, &options, &mut |_| Control::Continue) {
        Ok(run) => run.result,
        Err(why) => return vec![format!("does not run: {why}")],
    };
    let mut found = Vec::new();
    if run.plant_fault.is_some() {
        found.push(FAULT.to_owned());
    }
    if let (Verdict::Pass, Some(target)) = (run.verdict, run.charged_g.target)
        && run.charged_g.truth - target > TOLERANCE
    {
        found.push(OVER.to_owned());
    }
    match run.leak.verdict.as_str() {
        "leak" if scenario.vehicle.leak == 0.0 => found.push(LEAK.to_owned()),
        "pass" if inflow(&scenario) > WELL * limit(&scenario) => found.push(TIGHT.to_owned()),
        _ => {}
    }
    let said = |words: &str| run.phases.iter().any(|phase| phase.detail.contains(words));
    if ACCUSED.iter().any(|words| said(words)) || said(OIL) && scenario.vehicle.water == 0.0 {
        found.push(GAUGE.to_owned());
    }
    let mut watches = run.interlocks.iter().filter_map(|row| row.watch.as_deref());
    if watches.any(|watch| matches!(watch, "pump_inlet_switch" | "pump_valve_stuck")) {
        found.push(PUMP.to_owned());
    }
    if run.notices.iter().any(|notice| notice.id == "unsound") {
        found.push(INPUT.to_owned());
    }
    // A vessel that lifts its relief valve does lose mass.
    let relieves = run.interlocks.iter().any(|row| row.id == "I29");
    if let (Some(row), false) =
        (run.interlocks.iter().find(|row| matches!(row.id.as_str(), "I10" | "I19" | "I20")), relieves)
    {
        found.push(format!(
            "{EFFECT}: {} at {:.0} s by {}",
            row.id,
            row.t_s,
            row.watch.as_deref().unwrap_or("a latch")
        ));
    }
    found
}

fn inflow(scenario: &Scenario) -> f64 {
    let d = scenario.vehicle.leak;
    std::f64::consts::PI * d * d / 4.0 * INFLOW
}

/// The station's limit, Pa m3/s.
fn limit(scenario: &Scenario) -> f64 {
    f64::from(station_config(scenario).expect("a station").leak_limit) * 1e-6
}

fn main() -> ExitCode {
    let numbers: Result<Vec<u64>, _> = std::env::args().skip(1).map(|one| one.parse()).collect();
    let (count, first) = match numbers.as_deref() {
        Ok([]) => (1000, 0),
        Ok([count]) => (*count, 0),
        Ok([count, first]) => (*count, *first),
        _ => {
            eprintln!("give COUNT and FIRST_SEED at most, as whole numbers");
            return ExitCode::from(64);
        }
    };
    let (next, started) = (AtomicU64::new(first), Instant::now());
    let work = || {
        let mut mine = Vec::new();
        loop {
            let seed = next.fetch_add(1, Ordering::Relaxed);
            if seed >= first + count {
                return mine;
            }
            mine.extend(judge(seed).into_iter().map(|what| (what, seed)));
            if (seed - first) % 250 == 249 {
                eprintln!("{} of {count} jobs, {:.0} s", seed - first + 1, started.elapsed().as_secs_f64());
            }
        }
    };
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let all: Vec<(String, u64)> = std::thread::scope(|scope| {
        let running: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
        running.into_iter().flat_map(|one| one.join().expect("a job panicked")).collect()
    });
    let mut classes: BTreeMap<String, Vec<u64>> = BTreeMap::new();
    for (what, seed) in all {
        classes.entry(what).or_default().push(seed);
    }
    println!("{count} jobs in {:.0} s", started.elapsed().as_secs_f64());
    let found = !classes.is_empty();
    for kind in KINDS {
        classes.entry(kind.to_owned()).or_default();
    }
    for (what, seeds) in &mut classes {
        seeds.sort_unstable();
        println!("{:6}  {what}; random: {:?}", seeds.len(), &seeds[..seeds.len().min(12)]);
    }
    if !found { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
