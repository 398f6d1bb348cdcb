//! `search near`: the fault, moment, severity and surroundings at which a hazard comes nearest.

use std::fmt::Write;
use std::path::PathBuf;
use std::sync::atomic::Ordering;
use std::time::Instant;

use clap::Args;
use serde_json::json;

use super::campaign_refusal::refusal;
use super::output::{Exit, Refusal, print, print_json, write};
use super::run::{Watch, stop_on_interrupt};
use super::seek::{CAUTION, STOP, hazard, ours, plan_of};
use super::{Global, someone_watches};
use crate::campaign::search::{Aim, Choice, Ground, Nearest};

/// What to look for.
#[derive(Debug, Args)]
pub struct NearArgs {
    /// A plan with one scenario: its faults, and its factors with `{ from, to }` or lists. A shipped one or a file.
    #[arg(value_name = "PLAN")]
    plan: String,
    /// The hazard.
    #[arg(long, value_name = "ID")]
    hazard: String,
    /// Runs.
    #[arg(long, value_name = "N", default_value_t = 500, value_parser = clap::value_parser!(u64).range(1..=10_000_000))]
    runs: u64,
    /// End with the first accident.
    #[arg(long)]
    first: bool,
    /// Draw evenly over all ranges, to compare.
    #[arg(long)]
    even: bool,
    /// Seed of what is drawn.
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Write the scenario of the nearest run, with its keys changed, into this file.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Looks for it.
pub fn near(args: &NearArgs, global: Global) -> Result<Exit, Refusal> {
    stop_on_interrupt(&STOP);
    let id = hazard(&args.hazard)?;
    let runs = plan_of(&args.plan)?;
    let ground = Ground::varied(&runs).map_err(refusal)?;
    let aim = Aim::new(&runs, &ground, id).map_err(refusal)?;
    let choice = if args.even { Choice::Even } else { Choice::Guided };
    let (started, mut watch) = (Instant::now(), Watch::new(someone_watches(global)));
    let mut each = |done: u64, margin: f64| {
        let words = format!("{done} of {} runs, least margin {margin:.3}", args.runs);
        watch.share(done as f64 / args.runs as f64, &words);
    };
    let found = aim.approach(choice, (args.runs, args.first), args.seed, &STOP, &mut each);
    drop(watch);
    let found = found.map_err(|why| ours(&why))?;
    let file = args.out.as_ref().map_or_else(|| "FILE".to_owned(), |path| path.display().to_string());
    let again = found.best.as_ref().and_then(|best| aim.replay(best, &file));
    if let (Some(path), Some((text, _))) = (&args.out, &again) {
        write(path, text.as_bytes())?;
    }
    let command = again.map(|(_, command)| command);
    if global.json {
        print_json(&json!({ "plan": ground.plan, "hazard": id.word(), "found": found, "replay": command }))?;
    } else {
        print(&(text(&ground.plan, id.word(), &found, command.as_deref()) + CAUTION))?;
    }
    eprintln!("{} runs in {:.1} s", found.runs, started.elapsed().as_secs_f64());
    Ok(match (STOP.load(Ordering::Relaxed), found.first) {
        (true, _) => Exit::Unfinished,
        (false, Some(_)) => Exit::Failed,
        (false, None) => Exit::Held,
    })
}

fn text(plan: &str, hazard: &str, found: &Nearest, command: Option<&str>) -> String {
    let how = if found.choice == Choice::Even { "drawn evenly" } else { "guided by the margin" };
    let mut out = format!("{plan}: {} runs, {how}\n", found.runs);
    // Writing to a String cannot fail, here and below.
    let _ = match found.first {
        Some(first) => writeln!(out, "  {hazard} came to its accident level first in run {first}"),
        None => writeln!(out, "  {hazard} did not come to its accident level"),
    };
    if found.unfit > 0 {
        let _ = writeln!(out, "  {} points do not fit together and were not run", found.unfit);
    }
    if let Some(best) = &found.best {
        let _ = writeln!(out, "  least margin {:.3}: {}", best.margin, best.fault);
        for (key, value) in &best.changes {
            let _ = writeln!(out, "    {key} = {value}");
        }
        let _ = writeln!(out, "  again: {}", command.unwrap_or_default());
    }
    out
}
