//! `years`: years of services on one station, from a seed or a plan.

use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

use clap::Args;

use super::output::{Exit, Refusal, print, print_json};
use super::run::{Watch, stop_on_interrupt};
use super::{Global, someone_watches};
use crate::years::{Going, Plan, run, text};

/// What to run.
#[derive(Debug, Args)]
pub struct YearsArgs {
    /// How many years.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=40))]
    years: Option<u32>,
    /// Seed of all draws.
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    /// Services a week.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=60))]
    a_week: Option<u32>,
    /// Stop after the service of this number, from 1.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    until: Option<u32>,
    /// Folder for years.json, years.csv and years.html.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Runs them.
pub fn years(args: &YearsArgs, global: Global) -> Result<Exit, Refusal> {
    static STOP: AtomicBool = AtomicBool::new(false);
    stop_on_interrupt(&STOP);
    let usual = Plan::default();
    let plan = Plan {
        years: args.years.unwrap_or(usual.years),
        seed: args.seed.unwrap_or(usual.seed),
        a_week: args.a_week.unwrap_or(usual.a_week),
        ..usual
    };
    let started = Instant::now();
    let mut watch = Watch::new(someone_watches(global));
    let mut each = |going: Going| {
        let share = f64::from(going.done) / f64::from(going.all.max(1));
        watch.share(share, &format!("{} of {} services, {} judgements failed", going.done, going.all, going.breaches));
        !STOP.load(Ordering::Relaxed)
    };
    let tally = run(&plan, args.until, &mut each).map_err(|wrong| Refusal::ours(wrong.to_string()))?;
    drop(watch);
    if global.json {
        print_json(&tally)?;
    } else {
        print(&text::text(&tally))?;
    }
    eprintln!("{} services in {:.1} s", tally.services, started.elapsed().as_secs_f64());
    Ok(match (tally.held(), tally.partial) {
        (false, _) => Exit::Failed,
        (true, true) => Exit::Unfinished,
        (true, false) => Exit::Held,
    })
}
