//! `search explore`: accidents of one fault, of two and of three in one job, by forks at its marks.

use std::fmt::Write;
use std::path::PathBuf;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};

use clap::Args;
use serde_json::json;

use super::campaign_refusal::refusal;
use super::output::{Exit, Refusal, print, print_json};
use super::run::{Watch, stop_on_interrupt};
use super::seek::{CAUTION, STOP, differs, ours, plan_of, threads};
use super::{Global, someone_watches};
use crate::campaign::findings::Findings;
use crate::campaign::search::{self, Accident, Against, Bounds, Explored, Ground, Told};

/// Where nobody watches, a line is told so often.
const EVERY: Duration = Duration::from_secs(15);
/// What to explore.
#[derive(Debug, Args)]
pub struct ExploreArgs {
    /// A plan with one scenario: its faults are those that may come. A shipped one or a file.
    #[arg(value_name = "PLAN")]
    plan: String,
    /// Runs that each new mark gets.
    #[arg(long, value_name = "N", default_value_t = 4, value_parser = clap::value_parser!(u32).range(1..=1000))]
    budget: u32,
    /// Runs in all, at most.
    #[arg(long, value_name = "N", default_value_t = 10_000, value_parser = clap::value_parser!(u64).range(1..=100_000_000))]
    runs: u64,
    /// Faults of a run, at most.
    #[arg(long, value_name = "N", default_value_t = 2, value_parser = clap::value_parser!(u32).range(2..=3))]
    faults: u32,
    /// Seed of what is drawn [default: that of the plan].
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    /// Threads [default: one for each processor].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=256))]
    jobs: Option<u32>,
    /// Hold what was found against the accidents of a merged campaign; exit code 1 where it has one of two faults that is missing here.
    #[arg(long, value_name = "DIR")]
    against: Option<PathBuf>,
}

/// Explores it.
pub fn explore(args: &ExploreArgs, global: Global) -> Result<Exit, Refusal> {
    stop_on_interrupt(&STOP);
    let runs = plan_of(&args.plan)?;
    let ground = Ground::of(&runs).map_err(refusal)?;
    // Read first: a wrong folder is told before the work.
    let theirs = args.against.as_deref().map(|folder| Findings::of(folder, None, &mut |_| {}));
    let theirs = theirs.transpose().map_err(refusal)?;
    let bounds = Bounds {
        budget: args.budget as usize,
        runs: args.runs,
        faults: args.faults as usize,
        seed: args.seed.unwrap_or_else(|| runs.plan().seed),
    };
    let mut progress = Progress::new(global);
    let started = Instant::now();
    let found = search::explore(&ground, bounds, threads(args.jobs), &STOP, &mut |told| progress.hear(told));
    drop(progress);
    let found = found.map_err(|why| ours(&why))?;
    let against = theirs.map(|all| Against::new(&all.campaign, all.counts.runs, &all.counts.cuts, &found.accidents));
    if global.json {
        print_json(&json!({ "plan": ground.plan, "found": found, "against": against }))?;
    } else {
        let told = against.as_ref().map(against_text).unwrap_or_default();
        print(&(text(&ground.plan, &found) + &told + CAUTION))?;
    }
    eprintln!("{} runs, {} scans in {:.1} s", found.runs, found.scans, started.elapsed().as_secs_f64());
    if let Some(one) = found.accidents.iter().find(|one| !one.replayed) {
        return Ok(differs(&one.replay));
    }
    Ok(match (STOP.load(Ordering::Relaxed), &against) {
        (true, _) => Exit::Unfinished,
        (false, Some(against)) if !against.missed.is_empty() => Exit::Failed,
        (false, None) if !found.accidents.is_empty() => Exit::Failed,
        (false, _) => Exit::Held,
    })
}

fn text(plan: &str, found: &Explored) -> String {
    let mut out = format!("{plan}: {} runs{}\n", found.runs, if found.partial { ", and marks are left" } else { "" });
    // Writing to a String cannot fail, here and below.
    for (at, round) in found.rounds.iter().enumerate() {
        let _ = writeln!(
            out,
            "  round {}  {} new marks, {} runs, {} new kinds of accident",
            at + 1,
            round.marks,
            round.runs,
            round.accidents
        );
    }
    for (words, why) in &found.left_out {
        let _ = writeln!(out, "  left out: {words}: {why}");
    }
    for one in &found.accidents {
        let Accident { hazard, faults, runs, first, at_s, mark, replay, .. } = one;
        let _ = writeln!(
            out,
            "{hazard}  {}  in {runs} runs, first in run {first}; at {at_s:.1} s, let in at {mark}\n  again: {replay}",
            if faults.is_empty() { "without a fault".to_owned() } else { faults.join(" + ") },
        );
    }
    let of = |faults: usize| found.accidents.iter().filter(|one| one.faults.len() == faults).count();
    let three = if found.faults > 2 { format!(", {} of three", of(3)) } else { String::new() };
    let _ =
        writeln!(out, "{} accidents of one fault, {} of two{three}; each came again from its beginning", of(1), of(2));
    for one in found.accidents.iter().filter(|one| !one.same_digest) {
        let _ = writeln!(out, "  with another digest than its fork: {}", one.replay);
    }
    out
}

fn against_text(of: &Against) -> String {
    let mut out = format!(
        "against {}: of {} accidents of two faults that {} runs came to, {} were found\n",
        of.campaign, of.kinds, of.runs, of.both
    );
    for (hazard, faults, runs) in &of.missed {
        let _ = writeln!(out, "  not found: {hazard}  {}, in {runs} runs there", faults.join(" + "));
    }
    for (hazard, faults) in &of.more {
        let _ = writeln!(out, "  only here: {hazard}  {}", faults.join(" + "));
    }
    out
}

/// How far a round is.
struct Progress {
    watch: Watch,
    watched: bool,
    round: (usize, usize),
    told: Instant,
}

impl Progress {
    fn new(global: Global) -> Self {
        let watched = someone_watches(global);
        Self { watch: Watch::new(watched), watched, round: (0, 0), told: Instant::now() }
    }

    fn hear(&mut self, told: Told) {
        let (number, all) = self.round;
        match told {
            Told::Round(all) => self.round = (number + 1, all),
            Told::Done(done) => {
                let words = format!("round {number}, {done} of {all} runs");
                self.watch.share(done as f64 / all.max(1) as f64, &words);
                if !self.watched && self.told.elapsed() > EVERY {
                    self.told = Instant::now();
                    eprintln!("{words}");
                }
            }
        }
    }
}
