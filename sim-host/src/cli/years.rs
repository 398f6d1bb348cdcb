//! `years`: years of services on one station, from a seed or a plan, judged after every service.

use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

use clap::Args;

use super::output::{Exit, Refusal, make_folder, print, print_json, write};
use super::run::{Watch, stop_on_interrupt};
use super::{Global, someone_watches};
use crate::scenario::diagnostic::Source;
use crate::years::tally::Tally;
use crate::years::{Going, Plan, page, plan_file, run, text};

/// No plan is longer, bytes.
const LONGEST: u64 = 1 << 20;
/// What is written.
const FILES: [&str; 3] = ["years.json", "years.csv", "years.html"];
/// Without a bar a line is told each time so many services are behind.
const EVERY: u32 = 500;

/// What to run.
#[derive(Debug, Args)]
pub struct YearsArgs {
    /// How many years, each of 50 weeks of work [default: the plan's, or 10].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=40))]
    years: Option<u32>,
    /// Seed of all draws [default: the plan's, or 1].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(..=i64::MAX as u64))]
    seed: Option<u64>,
    /// Services a week [default: the plan's, or 20].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=60))]
    a_week: Option<u32>,
    /// A plan: shares of kinds of service, weather, odds, times, the station's file.
    #[arg(long, value_name = "FILE.toml")]
    plan: Option<String>,
    /// Stop after the service of this number, from 1, and print what it told.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    until: Option<u32>,
    /// Folder for years.json, years.csv (a row a month) and years.html (the drawing), made where it is missing.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Overwrite results in that folder.
    #[arg(long)]
    force: bool,
}

fn plan(args: &YearsArgs) -> Result<Plan, Refusal> {
    let mut plan = match &args.plan {
        None => Plan::default(),
        Some(path) => {
            let unread = |why: &dyn std::fmt::Display| Refusal::misuse(format!("{path} cannot be read: {why}"));
            let size = std::fs::metadata(path).map_err(|why| unread(&why))?.len();
            if size > LONGEST {
                return Err(unread(&format!("it has {size} bytes")).with_help("a plan has at most a megabyte"));
            }
            let source = Source::new(path, std::fs::read_to_string(path).map_err(|why| unread(&why))?);
            plan_file::read(&source).map_err(Refusal::file)?
        }
    };
    plan.years = args.years.unwrap_or(plan.years);
    plan.seed = args.seed.unwrap_or(plan.seed);
    plan.a_week = args.a_week.unwrap_or(plan.a_week);
    if let Some(until) = args.until.filter(|until| *until > plan.services()) {
        let wrong = Refusal::misuse(format!("--until {until}: these years have {} services", plan.services()));
        return Err(wrong.with_help(format!("accepted range: 1 to {}", plan.services())));
    }
    Ok(plan)
}

/// Runs them.
pub fn years(args: &YearsArgs, global: Global) -> Result<Exit, Refusal> {
    static STOP: AtomicBool = AtomicBool::new(false);
    let plan = plan(args)?;
    if let Some(out) = &args.out {
        let there = FILES.iter().map(|name| out.join(name)).find(|path| path.exists() && !args.force);
        if let Some(path) = there {
            let wrong = Refusal::misuse(format!("{} exists and is not overwritten", path.display()));
            return Err(wrong.with_help("give another folder with --out, or --force to overwrite the results in it"));
        }
        make_folder(out)?;
    }
    stop_on_interrupt(&STOP);
    let started = Instant::now();
    let watched = someone_watches(global);
    let mut watch = Watch::new(watched);
    let mut each = |going: Going| {
        let share = f64::from(going.done) / f64::from(going.all.max(1));
        let line = format!("{} of {} services, {} judgements failed", going.done, going.all, going.breaches);
        if !watched && going.done > 0 && going.done.is_multiple_of(EVERY) {
            eprintln!("{line}, {:.0} s", started.elapsed().as_secs_f64());
        }
        watch.share(share, &line);
        !STOP.load(Ordering::Relaxed)
    };
    let tally = run(&plan, args.until, &mut each).map_err(|wrong| Refusal::ours(wrong.to_string()))?;
    drop(watch);
    tell(&tally, args, global)?;
    let wall = started.elapsed().as_secs_f64();
    eprintln!(
        "{} services in {wall:.1} s, {:.1} ms each",
        tally.services,
        wall * 1e3 / f64::from(tally.services.max(1))
    );
    Ok(match (tally.held(), tally.partial) {
        (false, _) => Exit::Failed,
        (true, true) => Exit::Unfinished,
        (true, false) => Exit::Held,
    })
}

fn tell(tally: &Tally, args: &YearsArgs, global: Global) -> Result<(), Refusal> {
    let plan_file = args.plan.as_deref();
    if let Some(out) = &args.out {
        let json = serde_json::to_string_pretty(tally)
            .map_err(|wrong| Refusal::ours(format!("the summary has no JSON form: {wrong}")))?;
        let csv = text::csv(tally).map_err(|wrong| Refusal::ours(format!("the months have no CSV form: {wrong}")))?;
        let page = page::page(tally, plan_file);
        for (name, bytes) in FILES.iter().zip([json + "\n", csv, page]) {
            write(&out.join(name), bytes.as_bytes())?;
        }
    }
    if global.json { print_json(tally) } else { print(&text::text(tally, plan_file)) }
}
