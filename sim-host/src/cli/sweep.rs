//! `fault sweep`: every fault at every step of healthy jobs, in forks, judged by the monitors of hazards.

use std::path::PathBuf;
use std::sync::atomic::AtomicBool;
use std::time::Instant;

use clap::Args;

use super::output::{Exit, Refusal, print, print_json, write};
use super::run::{Watch, stop_on_interrupt};
use super::{Global, input, someone_watches};
use crate::campaign::{BASES, Bases, Sweep, Tally, cases, csv, text};
use crate::fault::{self, Injection};
use crate::scenario::{Scenario, parse};

/// What to sweep.
#[derive(Debug, Args)]
pub struct SweepArgs {
    /// Faults, such as F023 [default: all that can be injected].
    #[arg(value_name = "ID")]
    faults: Vec<String>,
    /// Healthy jobs to fork from, shipped or files [default: six that come to every step that lasts, together].
    #[arg(long, value_name = "NAME|FILE")]
    scenario: Vec<String>,
    /// Moments of each step: its first scan, its last, and those between.
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=1000))]
    moments: u32,
    /// Each fault in every way and at every device, not only in its usual one.
    #[arg(long)]
    full: bool,
    /// Write one line a run into this file.
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Threads [default: one for each processor].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=256))]
    threads: Option<u32>,
}

/// Runs the sweep.
pub fn sweep(args: &SweepArgs, global: Global) -> Result<Exit, Refusal> {
    static STOP: AtomicBool = AtomicBool::new(false);
    stop_on_interrupt(&STOP);
    let faults: Vec<&'static Injection> = if args.faults.is_empty() {
        fault::injections().filter(|one| one.refused.is_none()).collect()
    } else {
        args.faults.iter().map(|id| injectable(id)).collect::<Result<_, _>>()?
    };
    let names: Vec<String> =
        if args.scenario.is_empty() { BASES.map(str::to_owned).to_vec() } else { args.scenario.clone() };
    let scenarios = names.iter().map(|name| base(name)).collect::<Result<Vec<_>, _>>()?;
    let started = Instant::now();
    let ours = |wrong: crate::run::RunError| Refusal::ours(wrong.to_string());
    let bases = Bases::run(scenarios, args.moments as usize).map_err(ours)?;
    let cases = cases(&bases, &faults, args.full);
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let mut watch = Watch::new(someone_watches(global));
    let threads = args.threads.map_or(cores, |n| n as usize);
    let all = cases.len().max(1) as f64;
    let mut each = |done: usize| watch.share(done as f64 / all, &format!("{done} of {all} runs"));
    let sweep = Sweep::run(&bases, &cases, threads, &STOP, &mut each).map_err(ours)?;
    drop(watch);
    let whole = args.faults.is_empty() && args.scenario.is_empty();
    let tally = Tally::of(&sweep, bases.moments(), whole && !args.full && args.moments == 3);
    if let Some(path) = &args.csv {
        write(path, csv(&sweep).as_bytes())?;
    }
    if global.json {
        print_json(&tally)?;
    } else {
        print(&text(&tally))?;
        let missed = bases.missed();
        if !missed.is_empty() {
            let steps = missed.join(", ");
            print(&format!(
                "steps that none of these jobs comes to, or that end in the scan in which they begin: {steps}\n"
            ))?;
        }
        eprintln!("{} runs in {:.1} s", tally.runs, started.elapsed().as_secs_f64());
    }
    Ok(match (tally.partial, tally.unknown() + tally.stale.len()) {
        (true, _) => Exit::Unfinished,
        (false, 0) => Exit::Held,
        (false, _) => Exit::Failed,
    })
}

fn injectable(id: &str) -> Result<&'static Injection, Refusal> {
    let found = super::fault::find(id)?;
    match found.refused {
        None => Ok(found),
        Some(why) => Err(Refusal::misuse(format!("{id} cannot be injected: {why}"))),
    }
}

/// A job to fork from: one vehicle, no faults of its own.
fn base(name: &str) -> Result<Scenario, Refusal> {
    let scenario = parse::read(&input::scenario(name)?).map_err(Refusal::file)?;
    if !scenario.then.is_empty() {
        let wrong = Refusal::misuse(format!("{name} is a row of {} jobs", 1 + scenario.then.len()));
        return Err(wrong.with_help("a sweep forks from scenarios of one job"));
    }
    if !scenario.faults.is_empty() {
        let wrong = Refusal::misuse(format!("{name} has faults of its own"));
        return Err(wrong.with_help("a sweep lets one fault at a time into a healthy job; take [[fault]] out"));
    }
    Ok(scenario)
}
