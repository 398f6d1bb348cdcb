//! `campaign`: many runs of one plan into a table, in shards that outlive whatever stops the work; their merging, and what they say.

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use serde_json::{Map, Value, json};

use super::campaign_refusal::refusal;
use super::output::{Exit, Refusal, print, print_json};
use super::run::stop_on_interrupt;
use super::{Global, input, someone_watches};
use crate::campaign::findings::{Findings, read_rates, sections};
use crate::campaign::plan::{self, Plan};
use crate::campaign::table::{Cell, columns};
use crate::campaign::{Folder, Maker, Part, RESULT, Row, Runs, Summary, Told, merge, work};

/// Where nobody watches, a line is told so often.
const EVERY: Duration = Duration::from_secs(15);
/// A dry run measures so many runs at so many places of the list.
const MEASURED: (u64, u64) = (8, 4);

/// What to run.
#[derive(Debug, Args)]
pub struct CampaignArgs {
    /// A plan: a shipped one (quick, all_single, pairs, pairs_main, weather, swarm, ablation, set_points) or a file.
    #[arg(value_name = "PLAN", required_unless_present_any = ["merge", "report"])]
    plan: Option<String>,
    /// Folder for shards and result; one that this plan was run into is gone on with [default: results/campaigns/<plan>].
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Tell how many runs it would be and about how long they would take.
    #[arg(long)]
    dry_run: bool,
    /// Threads [default: one for each processor].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=256))]
    jobs: Option<u32>,
    /// Make only every n-th shard, beginning with the i-th: for n processes or machines. Nothing is merged then.
    #[arg(long, value_name = "I/N", value_parser = part)]
    shard: Option<Part>,
    /// Do one run from its beginning, by its number, and print its row.
    #[arg(long, value_name = "INDEX", conflicts_with_all = ["out", "dry_run", "shard"])]
    run: Option<u64>,
    /// When it is whole, shrink each kind of accident to the least scenario file that has it again: minimal/ in its folder.
    #[arg(long, conflicts_with_all = ["dry_run", "shard", "run", "merge", "report"])]
    minimal: bool,
    /// Merge the shards in these folders into the result of the first.
    #[arg(long, value_name = "DIR", num_args = 1.., conflicts_with_all = ["plan", "out", "dry_run", "shard", "run", "jobs"])]
    merge: Vec<PathBuf>,
    /// Write what a merged campaign says into its folder: report.html, report.md, report.junit.xml, fault_tree.xml.
    #[arg(long, value_name = "DIR", conflicts_with_all = ["plan", "out", "dry_run", "shard", "run", "jobs", "merge"])]
    report: Option<PathBuf>,
    /// Hold it against another campaign, run by run; exit code 1 where something is worse.
    #[arg(long, value_name = "OTHER_DIR", requires = "report", conflicts_with_all = ["plan", "out", "dry_run", "shard", "run", "jobs", "merge"])]
    against: Option<PathBuf>,
    /// Failure rates (CSV: fault, mode, tag, rate_per_h, source) by which the report's shares are weighted.
    #[arg(long, value_name = "FILE", requires = "report", conflicts_with_all = ["plan", "out", "dry_run", "shard", "run", "jobs", "merge"])]
    rates: Option<String>,
}

/// `3/8`.
fn part(text: &str) -> Result<Part, String> {
    let wrong = || "write which of how many, such as 3/8: from 1/8 to 8/8".to_owned();
    let (which, of) = text.split_once('/').ok_or_else(wrong)?;
    let (which, of): (u64, u64) = (which.parse().map_err(|_| wrong())?, of.parse().map_err(|_| wrong())?);
    if (1..=of).contains(&which) && of <= 1_000_000 { Ok(Part { which, of }) } else { Err(wrong()) }
}

/// Runs a plan, or what else was asked.
pub fn campaign(args: &CampaignArgs, global: Global) -> Result<Exit, Refusal> {
    static STOP: AtomicBool = AtomicBool::new(false);
    if let Some(folder) = &args.report {
        return report(folder, args, global);
    }
    let Some(name) = &args.plan else { return merge_folders(&args.merge, global) };
    let plan: Plan = plan::read(&input::plan(name)?).map_err(Refusal::file)?;
    let runs = Runs::new(plan).map_err(refusal)?;
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let threads = args.jobs.map_or(cores, |n| n as usize);
    if let Some(index) = args.run {
        return one(&runs, index, global);
    }
    if let (Some(controller), true) = (&runs.plan().controller, args.minimal) {
        let wrong = Refusal::misuse(format!("--minimal: runs of `{controller}` cannot be shrunk, which forks them"));
        return Err(wrong.with_help("leave --minimal out: the table has the command of each run"));
    }
    if args.dry_run {
        return dry(&runs, threads, args.shard.unwrap_or(Part::ALL), global);
    }
    let usual = || Path::new("results").join("campaigns").join(&runs.plan().name);
    let folder = Folder::begin(&args.out.clone().unwrap_or_else(usual), &runs).map_err(refusal)?;
    stop_on_interrupt(&STOP);
    let part = args.shard.unwrap_or(Part::ALL);
    let of_part: u64 = part.shards(&runs).map(|number| folder.head.rows_of(number)).sum();
    let mut progress = Progress::new(of_part, someone_watches(global));
    let done = work(&runs, &folder, part, threads, &STOP, &mut |told| progress.hear(told));
    let told = progress.end();
    done.map_err(refusal)?;
    eprintln!("{told}");
    if STOP.load(Ordering::Relaxed) {
        let missing = part.shards(&runs).filter(|number| !folder.has(*number)).count();
        if missing > 0 {
            let wrong = Refusal::unfinished(format!("stopped: {missing} shards are not made yet"));
            return Err(wrong.with_help("the same command goes on from here"));
        }
    }
    if args.shard.is_some() {
        let text = format!("shards {} of {} are whole in {}\n", part.which, part.of, folder.path().display());
        if !global.json {
            print(&(text + "when all are there: valvewright campaign --merge DIR...\n"))?;
        }
        return Ok(Exit::Held);
    }
    if args.minimal {
        let path = folder.path().to_path_buf();
        merge(&[folder], &mut |_| {}).map_err(refusal)?;
        return super::campaign_minimal::shrink(&runs, &path, global, &STOP);
    }
    told_of(&[folder], global)
}

fn merge_folders(paths: &[PathBuf], global: Global) -> Result<Exit, Refusal> {
    let folders = paths.iter().map(|path| Folder::open(path)).collect::<Result<Vec<_>, _>>().map_err(refusal)?;
    told_of(&folders, global)
}

/// Merges and tells what was found.
fn told_of(folders: &[Folder], global: Global) -> Result<Exit, Refusal> {
    let mut watch = super::run::Watch::new(someone_watches(global));
    let all = folders.first().map_or(1, |one| one.head.shards).max(1) as f64;
    let summary = merge(folders, &mut |done| watch.share(done as f64 / all, "merging")).map_err(refusal)?;
    drop(watch);
    let file = folders.first().map(|one| one.path().join(RESULT)).unwrap_or_default();
    if global.json {
        print_json(&json!({ "summary": summary, "file": file }))?;
    } else {
        print(&format!("{}table   {}\n", text(&summary), file.display()))?;
    }
    Ok(if summary.held() { Exit::Held } else { Exit::Failed })
}

/// Adds a merged campaign up, writes the report and tells it in short.
fn report(folder: &Path, args: &CampaignArgs, global: Global) -> Result<Exit, Refusal> {
    let rates =
        args.rates.as_deref().map(|name| read_rates(&input::rates(name)?).map_err(Refusal::file)).transpose()?;
    let mut watch = super::run::Watch::new(someone_watches(global));
    let found = Findings::of(folder, args.against.as_deref(), &mut |share| watch.share(share, "reading"));
    let found = found.map_err(refusal)?.with_rates(rates);
    drop(watch);
    let files = found.write(folder).map_err(refusal)?;
    if global.json {
        let worse = found.comparison.as_ref().map(|one| one.worse.len());
        let better = found.comparison.as_ref().map(|one| one.better.len());
        print_json(&json!({ "campaign": found.campaign, "digest": found.digest, "runs": found.counts.runs,
            "worse": worse, "better": better, "sections": sections(&found), "files": files }))?;
    } else {
        let files: String = files.iter().map(|file| format!("report  {}\n", file.display())).collect();
        print(&(found.text() + &files))?;
    }
    Ok(if found.held() { Exit::Held } else { Exit::Failed })
}

/// The summary for a terminal.
fn text(of: &Summary) -> String {
    let mut out = format!("{}: {} runs\n", of.campaign, of.runs);
    // Writing to a String cannot fail, here and below.
    for (fate, count) in &of.fates {
        let _ = writeln!(out, "  {fate:<12} {count:>9}");
    }
    if of.without_a_row > 0 {
        let _ = writeln!(out, "  {:<12} {:>9}", "without a row", of.without_a_row);
    }
    for (hazard, count) in &of.accidents {
        let unknown = of.unknown.get(hazard).copied().unwrap_or(0);
        let _ =
            writeln!(out, "  {hazard} came to its accident level in {count} runs, {unknown} of them not known so far");
        if let Some(replay) = of.replay.get(hazard) {
            let _ = writeln!(out, "    first: {replay}");
        }
    }
    if of.late > 0 {
        let _ = writeln!(out, "  the reaction was not within its budget in {} runs", of.late);
    }
    if of.stuck > 0 {
        let _ = writeln!(out, "  the station did not come to rest after healing in {} runs", of.stuck);
        let _ = writeln!(out, "    first: {}", of.stuck_replay.as_deref().unwrap_or_default());
    }
    out
}

/// One run by itself.
fn one(runs: &Runs, index: u64, global: Global) -> Result<Exit, Refusal> {
    let Some(spec) = runs.at(index) else {
        let wrong = Refusal::misuse(format!("--run {index}: {} has {} runs", runs.plan().name, runs.count()));
        return Err(wrong.with_help(format!("accepted range: 0 to {}", runs.count().saturating_sub(1))));
    };
    let row: Row = Maker::new(runs).alone(&spec).map_err(refusal)?;
    let cells = columns(&runs.plan().name, &runs.keys()).into_iter().map(|column| (column.cell(&row), column.name));
    let told: Map<String, Value> = cells.map(|(cell, name)| (name, value(cell))).collect();
    if global.json {
        print_json(&told)?;
    } else {
        let shown = told.iter().filter(|(_, value)| !value.is_null());
        print(&shown.map(|(name, value)| format!("{name:<20} {value}\n")).collect::<String>())?;
    }
    Ok(if row.unknown.is_empty() && row.stuck.is_none() { Exit::Held } else { Exit::Failed })
}

fn value(of: Cell) -> Value {
    match of {
        Cell::Whole(value) => json!(value),
        Cell::Number(value) => json!(value),
        Cell::Text(value) => json!(value),
        Cell::Flag(value) => json!(value),
        Cell::Texts(list) => json!(list),
        Cell::Numbers(list) => json!(list),
    }
}

/// How many runs, and how long they would take by a handful that is measured.
fn dry(runs: &Runs, threads: usize, part: Part, global: Global) -> Result<Exit, Refusal> {
    let (count, size) = (runs.count(), runs.plan().shard);
    let mine: u64 = part.shards(runs).map(|number| count.saturating_sub(number * size).min(size)).sum();
    let (block, places) = MEASURED;
    let maker = Maker::new(runs);
    let (started, mut measured) = (Instant::now(), 0);
    for place in 0..places {
        let first = count.saturating_sub(block) * place / (places - 1);
        let rows = maker.span(first..(first + block).min(count), &AtomicBool::new(false), &|| {}).map_err(refusal)?;
        measured += rows.map_or(0, |rows| rows.len());
    }
    let each = started.elapsed().as_secs_f64() / measured.max(1) as f64;
    let seconds = each * mine as f64 / threads as f64;
    if global.json {
        let told = json!({ "campaign": runs.plan().name, "design": runs.plan().design.word(), "runs": count, "shards": runs.shards(),
            "runs_of_this_part": mine, "seconds_a_run": each, "threads": threads, "estimated_seconds": seconds, "digest": runs.digest() });
        print_json(&told)?;
        return Ok(Exit::Held);
    }
    let plan = runs.plan();
    let mut out = format!("{}: {}\n", plan.name, plan.title);
    let _ = writeln!(out, "  design    {}, {} ways to fail", plan.design.word(), plan.ways.len());
    for (at, named) in plan.scenarios.iter().enumerate() {
        let _ = writeln!(out, "  scenario  {}, {} moments", named.name, runs.occasions(at).len());
    }
    let _ = writeln!(out, "  runs      {count} in {} shards of up to {size}", runs.shards());
    if mine != count {
        let _ = writeln!(out, "  this part {mine} runs");
    }
    let _ = writeln!(
        out,
        "  time      about {} with {threads} threads, by {measured} runs that took {:.1} ms each",
        spell(seconds),
        each * 1e3
    );
    print(&out)?;
    Ok(Exit::Held)
}

/// A time for people.
fn spell(seconds: f64) -> String {
    match seconds {
        s if s < 100.0 => format!("{s:.0} s"),
        s if s < 6_000.0 => format!("{:.0} min", s / 60.0),
        s if s < 360_000.0 => format!("{:.1} h", s / 3_600.0),
        s => format!("{:.1} days", s / 86_400.0),
    }
}

/// Runs a second for people.
fn spell_rate(rate: f64) -> String {
    if rate < 10.0 { format!("{rate:.1}") } else { format!("{rate:.0}") }
}

/// How far the work is, with its rate and the time that is left.
struct Progress {
    bar: Option<ProgressBar>,
    started: Instant,
    told: Instant,
    all: u64,
    there: u64,
    runs: u64,
    whole: u64,
}

impl Progress {
    fn new(all: u64, watched: bool) -> Self {
        let style = "{bar:32} {human_pos}/{human_len} runs  {msg}  {eta} left";
        let bar = watched.then(|| {
            let bar = ProgressBar::new(all);
            bar.set_style(ProgressStyle::with_template(style).unwrap_or_else(|_| ProgressStyle::default_bar()));
            bar
        });
        Self { bar, started: Instant::now(), told: Instant::now(), all, there: 0, runs: 0, whole: 0 }
    }

    fn hear(&mut self, told: Told) {
        match told {
            Told::There(runs) => {
                self.there = runs;
                if let Some(bar) = &self.bar {
                    bar.set_position(runs);
                    bar.reset_eta();
                }
            }
            Told::Run => self.runs += 1,
            Told::Shard(runs) => self.whole += runs,
        }
        let rate = self.runs as f64 / self.started.elapsed().as_secs_f64().max(1e-3);
        if let Some(bar) = &self.bar {
            bar.set_position(self.there + self.runs);
            bar.set_message(format!("{}/s", spell_rate(rate)));
        } else if self.told.elapsed() > EVERY {
            self.told = Instant::now();
            let done = self.there + self.runs;
            let left = self.all.saturating_sub(done) as f64 / rate.max(1e-9);
            eprintln!("{done} of {} runs, {} a second, about {} left", self.all, spell_rate(rate), spell(left));
        }
    }

    /// Takes the bar away; what to say of the work.
    fn end(self) -> String {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
        let wall = self.started.elapsed().as_secs_f64();
        let rate = self.runs as f64 / wall.max(1e-3);
        let there = if self.there > 0 { format!(", {} were there", self.there) } else { String::new() };
        format!("{} runs in {wall:.1} s, {} a second{there}", self.whole, spell_rate(rate))
    }
}
