//! Changes the shipped stations at random, and runs a job on what still checks: whole, and with the vessel nearly full.
//! `cargo run --release -p valvewright-tests --example stations -- [COUNT] [FIRST_SEED]`, 1000 from seed 0 without. Told are panics, plant
//! faults, books that do not close, an overfilled vessel, and a charge off by more than 15 g told as passed. Leaves with 1 where there is one.

use std::panic::catch_unwind;
use std::process::ExitCode;
use std::time::Instant;

use valvewright_sim::report::data::Verdict;
use valvewright_sim::run::{Control, RunOptions, run_scenario};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::{Scenario, parse, shipped};
use valvewright_sim::station;
use valvewright_tests::random_stations::text;

/// Runs it and says what is wrong.
fn judge(scenario: &Scenario, rated: f64) -> Vec<String> {
    let options = RunOptions { no_samples: true, ..RunOptions::default() };
    let started = Instant::now();
    let r = match run_scenario(scenario, &options, &mut |_| {
        if started.elapsed().as_secs() > 20 { Control::Stop } else { Control::Continue }
    }) {
        Ok(run) => run.result,
        Err(why) => return vec![format!("does not run: {why}")],
    };
    let mut wrong = Vec::new();
    if let Some(fault) = &r.plant_fault {
        wrong.push(format!("plant fault: {fault}"));
    } else if r.partial {
        wrong.push(format!("slow: {:.0} s in 20 s", r.sim_seconds));
    }
    if r.ledger.error_g.abs() > 1e-6 || r.mass_balance_rel > 1e-9 || r.energy_balance_error_rel > 1e-6 {
        wrong.push(format!("books: {:?} {:e} {:e}", r.ledger, r.mass_balance_rel, r.energy_balance_error_rel));
    }
    if r.reached.vessel_g > rated * 1e3 || r.reached.vessel_level > 0.95 {
        wrong.push(format!("vessel rated for {rated} kg: {:?}", r.reached));
    }
    let off = r.charged_g.target.map_or(0.0, |target| r.charged_g.truth - target);
    if r.verdict == Verdict::Pass && off.abs() > 15.0 {
        wrong.push(format!("passed, charge off by {off:.1} g: {:?}", r.charged_g));
    }
    if r.verdict == Verdict::Pass && r.recovered_g.off().abs() > 30.0 {
        wrong.push(format!("passed, {:?}", r.recovered_g));
    }
    wrong
}

fn main() -> ExitCode {
    let numbers: Vec<u64> = std::env::args().skip(1).filter_map(|one| one.parse().ok()).collect();
    let (count, first) = (numbers.first().copied().unwrap_or(1_000), numbers.get(1).copied().unwrap_or(0));
    let folder = std::env::temp_dir().join(format!("stations-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    let demo = shipped::source(shipped::DEMO).expect("shipped");
    let (started, mut good, mut jobs, mut bad) = (Instant::now(), 0, 0, 0);
    for seed in first..first + count {
        let text = text(seed, seed % 2 == 1);
        let read = catch_unwind(|| station::read(&Source::new("station.toml", text.as_str())));
        let Ok(read) = read else {
            println!("{seed}: check panics");
            bad += 1;
            continue;
        };
        let Ok(file) = read else { continue };
        good += 1;
        let path = folder.join(format!("{seed}.toml"));
        std::fs::write(&path, &text).expect("written");
        let place = path.to_str().expect("a path");
        let rated = file.facts.rated;
        let full = demo
            .text
            .replace("\"6 kg\"", &format!("\"{} kg\"", rated - 0.2))
            .replace("phases = \"whole\"", "phases = [\"identify\", \"recover\"]")
            .replace("charge = \"480 g\"", "");
        let full = full.split("[expect]").next().unwrap_or_default().to_owned();
        for source in [demo.clone(), Source::new("full.toml", full)] {
            let Ok(scenario) = parse::read_on(&source, Some(place)) else { continue };
            jobs += 1;
            let found = catch_unwind(|| judge(&scenario, rated)).unwrap_or_else(|_| vec!["panics".to_owned()]);
            for what in found {
                println!("{seed} {}: {what}", source.name);
                bad += 1;
            }
        }
    }
    println!("{good} of {count} pass the check, {jobs} jobs, {bad} wrong, {:.0} s", started.elapsed().as_secs_f64());
    if bad == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
