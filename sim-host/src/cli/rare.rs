//! `search rare`: how probable a rare accident of a job is under stated rates of its faults.

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::sync::atomic::Ordering;
use std::time::Instant;

use clap::Args;
use serde_json::json;

use super::Global;
use super::campaign_refusal::refusal;
use super::output::{Exit, Refusal, print, print_json};
use super::run::{Watch, stop_on_interrupt};
use super::seek::{CAUTION, STOP, differs, hazard, ours, plan_of, threads};
use super::someone_watches;
use crate::campaign::search::{Event, Ground, Question, Rare};

/// Runs that say how long a run of plain sampling takes.
const MEASURED: u64 = 20;

/// What to estimate.
#[derive(Debug, Args)]
pub struct RareArgs {
    /// A plan with one scenario: its faults are those that may come. A shipped one or a file.
    #[arg(value_name = "PLAN")]
    plan: String,
    /// The hazard that comes to its accident level.
    #[arg(long, value_name = "ID", required_unless_present = "came", conflicts_with = "came")]
    hazard: Option<String>,
    /// In place of a hazard: so many different faults come while the job runs, whose probability is known; to try the method.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=20))]
    came: Option<u32>,
    /// How often each fault comes, per hour of the job.
    #[arg(long, value_name = "PER_HOUR", required_unless_present = "rates")]
    rate: Option<f64>,
    /// A table `fault,per_hour` of those that come at other rates; 0 for never.
    #[arg(long, value_name = "CSV")]
    rates: Option<PathBuf>,
    /// Runs of one estimate.
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = clap::value_parser!(u32).range(10..=100_000))]
    walks: u32,
    /// Independent estimates, whose mean and spread are told.
    #[arg(long, value_name = "N", default_value_t = 20, value_parser = clap::value_parser!(u32).range(5..=10_000))]
    repeats: u32,
    /// Also sample so many runs plainly.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=100_000_000))]
    plain: Option<u64>,
    /// Seed of what is drawn.
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Threads [default: one for each processor].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=256))]
    jobs: Option<u32>,
}

impl RareArgs {
    fn event(&self) -> Result<Event, Refusal> {
        if let Some(count) = self.came {
            return Ok(Event::Came(count));
        }
        hazard(self.hazard.as_deref().unwrap_or_default()).map(Event::Accident)
    }

    /// Arrivals of each way, 1/s.
    fn rates(&self, ground: &Ground) -> Result<Vec<f64>, Refusal> {
        if let Some(rate) = self.rate {
            per_hour(rate).map_err(|why| Refusal::misuse(format!("--rate {rate}: {why}")))?;
        }
        let listed = self.rates.as_deref().map(table).transpose()?.unwrap_or_default();
        let mut found = Vec::new();
        for way in &ground.ways {
            let id = way.planned.id.to_string();
            let own = listed.iter().find(|(one, _)| *one == id).map(|(_, rate)| *rate);
            let Some(rate) = own.or(self.rate) else {
                let wrong = Refusal::misuse(format!("no rate is stated for {id}"));
                return Err(wrong.with_help("add its line to the table, or give all others one with --rate"));
            };
            found.push(rate / 3600.0);
        }
        if found.iter().all(|rate| *rate <= 0.0) {
            return Err(Refusal::misuse("all rates are 0: nothing ever comes").with_help("state one above 0"));
        }
        Ok(found)
    }
}

/// What a rate may be.
fn per_hour(rate: f64) -> Result<f64, &'static str> {
    if (0.0..=3600.0).contains(&rate) { Ok(rate) } else { Err("accepted range: 0 to 3600 per hour") }
}

/// A table `fault,per_hour`.
fn table(path: &Path) -> Result<Vec<(String, f64)>, Refusal> {
    let wrong = |what: String| {
        Refusal::misuse(format!("{}: {what}", path.display()))
            .with_help("write lines such as F070,0.002 below the head fault,per_hour")
    };
    let mut reader = csv::Reader::from_path(path).map_err(|why| wrong(why.to_string()))?;
    let head = reader.headers().map_err(|why| wrong(why.to_string()))?;
    if head.iter().map(str::trim).collect::<Vec<_>>() != ["fault", "per_hour"] {
        return Err(wrong("its head is not fault,per_hour".into()));
    }
    let mut found: Vec<(String, f64)> = Vec::new();
    for (at, line) in reader.records().enumerate() {
        let line = line.map_err(|why| wrong(why.to_string()))?;
        let (id, rate) = (line.get(0).unwrap_or_default().trim(), line.get(1).unwrap_or_default().trim());
        let known = super::fault::find(id).map_err(|_| wrong(format!("line {}: no fault is called `{id}`", at + 2)))?;
        let id = known.id.to_string();
        if found.iter().any(|(one, _)| *one == id) {
            return Err(wrong(format!("line {}: {id} is there twice", at + 2)));
        }
        let rate = rate.parse().map_err(|_| wrong(format!("line {}: `{rate}` is no number", at + 2)))?;
        found.push((id, per_hour(rate).map_err(|why| wrong(format!("line {}: {why}", at + 2)))?));
    }
    Ok(found)
}

/// Estimates it.
pub fn rare(args: &RareArgs, global: Global) -> Result<Exit, Refusal> {
    stop_on_interrupt(&STOP);
    let event = args.event()?;
    let ground = Ground::of(&plan_of(&args.plan)?).map_err(refusal)?;
    let question = Question { rates: args.rates(&ground)?, ground: &ground, event };
    let (repeats, walks) = (args.repeats as usize, args.walks as usize);
    let (started, mut watch) = (Instant::now(), Watch::new(someone_watches(global)));
    let all = repeats as f64;
    let mut each = |done: usize| watch.share(done as f64 / all, &format!("{done} of {repeats} estimates"));
    let found = question.rare((repeats, walks), args.seed, threads(args.jobs), &STOP, &mut each);
    drop(watch);
    let Some(found) = found.map_err(|why| ours(&why))? else {
        return Err(Refusal::unfinished("stopped before all estimates were made")
            .with_help("fewer --repeats or --walks take less time"));
    };
    let plain = question.plain(args.plain.unwrap_or(MEASURED), args.seed, &STOP).map_err(|why| ours(&why))?;
    let each = plain.steps as f64 / plain.walks.max(1) as f64;
    let asked = args.plain.map(|_| plain);
    let known = match event {
        Event::Came(count) => {
            let mut job = ground.begin().map_err(|why| ours(&why))?;
            while job.step().map_err(|why| ours(&why))? == crate::run::Stand::Running {}
            Some(question.closed_form(count, ground.time(job.scans().saturating_sub(1))))
        }
        Event::Accident(_) => None,
    };
    if global.json {
        print_json(&json!({ "plan": ground.plan, "found": found, "plain": asked, "known": known,
            "plain_scans_for_the_same_error": found.estimate.plain_steps(each) }))?;
    } else {
        print(&(text(&question, &found, known, each) + &asked.map(plain_text).unwrap_or_default() + CAUTION))?;
    }
    eprintln!("{} scans in {:.1} s", found.scans, started.elapsed().as_secs_f64());
    if let Some(one) = found.recipes.iter().find(|one| !one.replayed) {
        return Ok(differs(&one.replay));
    }
    Ok(if STOP.load(Ordering::Relaxed) { Exit::Unfinished } else { Exit::Held })
}

fn text(question: &Question<'_>, found: &Rare, known: Option<f64>, each: f64) -> String {
    let what = match question.event {
        Event::Accident(id) => format!("{} comes to its accident level", id.word()),
        Event::Came(count) => format!("{count} faults come"),
    };
    let of = &found.estimate;
    let mut out = format!(
        "{}: {what} with probability {:.3e} in a job, 95 % interval {:.3e} to {:.3e} ({} estimates, {} of them 0)\n",
        question.ground.plan, of.probability, of.low, of.high, of.of, of.empty
    );
    // Writing to a String cannot fail, here and below.
    if let Some(known) = known {
        let word = if (of.low..=of.high).contains(&known) { "within" } else { "outside" };
        let _ = writeln!(out, "  known      {known:.3e}, {word} the interval");
    }
    if of.probability > 0.0 && of.error > 0.0 {
        let plain = of.plain_steps(each);
        let _ = writeln!(
            out,
            "  steps      {:.3e} scans; plain sampling needs {plain:.3e} for this error, {:.1} times as many",
            found.scans as f64,
            plain / found.scans as f64
        );
    }
    for one in found.recipes.iter().take(5) {
        let _ = writeln!(out, "  {:>5.1} %    {}\n    again: {}", one.share * 100.0, one.faults.join(", "), one.replay);
    }
    if found.recipes.len() > 5 {
        let _ = writeln!(out, "  and {} more sets of faults", found.recipes.len() - 5);
    }
    out
}

fn plain_text(of: crate::campaign::search::Plain) -> String {
    let share = of.came as f64 / of.walks.max(1) as f64;
    format!("  plain      {} of {} runs, {share:.3e}, in {:.3e} scans\n", of.came, of.walks, of.steps as f64)
}
