//! `search set-points`: how far each set point of the interlock table can move before a hazard comes about.

use std::fmt::Write;
use std::sync::Mutex;
use std::sync::atomic::Ordering;
use std::time::Instant;

use clap::Args;
use serde_json::json;

use super::campaign_refusal::refusal;
use super::output::{Exit, Refusal, print, print_json};
use super::run::{Watch, stop_on_interrupt};
use super::seek::{CAUTION, STOP, ours, plan_of, threads};
use super::{Global, someone_watches};
use crate::campaign::search::{Ground, Reach, Reaches, reaches};

/// Cells of a bar.
const CELLS: usize = 32;

/// What to look at.
#[derive(Debug, Args)]
pub struct SetPointsArgs {
    /// A plan with one scenario: its faults come in the middle of each of the job's steps. A shipped one or a file.
    #[arg(value_name = "PLAN", default_value = "set_points")]
    plan: String,
    /// Threads [default: one for each processor].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=256))]
    jobs: Option<u32>,
}

/// Looks.
pub fn set_points(args: &SetPointsArgs, global: Global) -> Result<Exit, Refusal> {
    stop_on_interrupt(&STOP);
    let runs = plan_of(&args.plan)?;
    let ground = Ground::of(&runs).map_err(refusal)?;
    let started = Instant::now();
    let watch = Mutex::new(Watch::new(someone_watches(global)));
    let tell = |done: usize, of: usize| {
        if let Ok(mut watch) = watch.lock() {
            match of {
                0 => watch.share(1.0, &format!("set point {done}")),
                of => watch.share(done as f64 / of as f64, "with the table as it is"),
            }
        }
    };
    let found = reaches(&ground, threads(args.jobs), &STOP, &tell).map_err(|why| ours(&why))?;
    drop(watch);
    if global.json {
        print_json(&json!({ "plan": ground.plan, "found": found }))?;
    } else {
        print(&(text(&ground.plan, &found) + CAUTION))?;
    }
    eprintln!("{} runs in {:.1} s", found.runs, started.elapsed().as_secs_f64());
    Ok(if STOP.load(Ordering::Relaxed) { Exit::Unfinished } else { Exit::Held })
}

/// From where the table has it to where no reading comes: `=` nothing worse came, `x` something did.
fn bar(one: &Reach) -> String {
    let whole = (one.far - one.table).abs().max(f64::MIN_POSITIVE);
    let share = (one.safe - one.table).abs() / whole;
    let free = if one.worse.is_none() { CELLS } else { (share * CELLS as f64).round() as usize };
    format!("|{}{}|", "=".repeat(free.min(CELLS)), "x".repeat(CELLS - free.min(CELLS)))
}

/// To four places: what the halving leaves of a figure says no more.
fn rounded(figure: f64) -> f64 {
    (figure * 1e4).round() / 1e4
}

fn text(plan: &str, found: &Reaches) -> String {
    let mut out = format!(
        "{plan}: {} runs with the table as it is, {} in all{}\n\n",
        found.base,
        found.runs,
        if found.partial { ", broken off" } else { "" }
    );
    // Writing to a String cannot fail, here and below.
    for one in &found.points {
        let Reach { row, name, unit, runs, worse, .. } = one;
        let [table, far, safe] = [one.table, one.far, one.safe].map(rounded);
        let _ = writeln!(out, "{row:<5} {name:<22} {} {table} to {far} {unit}, its row in {runs} runs", bar(one));
        let _ = match worse {
            None if *runs == 0 => writeln!(out, "      its row trips in none of these runs: they say nothing of it"),
            None => writeln!(out, "      nothing worse comes, wherever it lies: other rows and phases hold too"),
            Some(bad) => writeln!(
                out,
                "      nothing worse up to {safe}; at {} {} comes to its {} level (margin {:.2}, {:.2} as it is)\n      again: {}",
                rounded(bad.at),
                bad.hazard,
                if bad.accident { "accident" } else { "alert" },
                bad.margin,
                bad.before,
                bad.replay
            ),
        };
    }
    out.push('\n');
    out
}
