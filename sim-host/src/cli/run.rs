//! `run`: scenarios through the run loop, and their results into folders.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;
use valvewright_core::interlock::MOST_MOVED;
use valvewright_core::row::{RowId, RowSet, Watch as Condition};

use super::again;
use super::driver::{self, Driver};
use super::fault;
use super::output::{Exit, Refusal, make_folder, print, print_json, write};
use super::run_args::{RunArgs, TraceForm};
use super::workshop::{self, Visit};
use super::{Global, input, someone_watches};
use crate::controller::Controller;
use crate::display::Display;
use crate::explain::Explainer;
use crate::matrix::points;
use crate::report::data::RunResult;
use crate::report::service::Service;
use crate::report::{axis, files, junit, page, stops, text};
use crate::run::{Control, Progress, RunError, RunOptions, RunOutcome, Seams, Simulation, complete};
use crate::scenario::diagnostic::{Source, nearest};
use crate::scenario::{Scenario, parse};

/// Work that is done sooner needs no progress bar.
const PATIENCE: Duration = Duration::from_millis(400);
/// Every file a run can write; `--force` takes old ones away first, so that none is left of an earlier run.
const FILES: [&str; 7] = [
    "result.json",
    "report.html",
    "ticket.txt",
    "trace.csv",
    "trace.arrow",
    "trace-partial.csv",
    "trace-partial.arrow",
];

/// A progress bar that appears when work takes long and somebody looks.
pub struct Watch {
    watched: bool,
    started: Instant,
    bar: Option<ProgressBar>,
}

impl Watch {
    /// A watch over work that begins now.
    pub fn new(watched: bool) -> Self {
        Self { watched, started: Instant::now(), bar: None }
    }

    fn bar(&mut self, style: &str) -> Option<&ProgressBar> {
        if self.bar.is_none() && self.watched && self.started.elapsed() > PATIENCE {
            let bar = ProgressBar::new(1000);
            bar.set_style(ProgressStyle::with_template(style).unwrap_or_else(|_| ProgressStyle::default_bar()));
            self.bar = Some(bar);
        }
        self.bar.as_ref()
    }

    /// Work whose end is known: `share` from 0 to 1, and what goes on.
    pub fn share(&mut self, share: f64, what: &str) {
        if let Some(bar) = self.bar("{bar:32} {percent:>3} %  {msg}") {
            bar.set_position((share.clamp(0.0, 1.0) * 1000.0) as u64);
            bar.set_message(what.to_owned());
        }
    }

    /// Work whose end is not known: the simulated time reached, s.
    pub fn time(&mut self, t_s: f64) {
        if let Some(bar) = self.bar("{spinner} {msg} simulated") {
            bar.set_message(axis::clock(t_s));
            bar.tick();
        }
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}

/// The first interrupt asks the work to stop and leave what it has; the second ends the process.
pub fn stop_on_interrupt(stop: &'static AtomicBool) {
    // A second handler in one process cannot be set; the first then stays, which is what is wanted.
    let _ = ctrlc::set_handler(move || {
        if stop.swap(true, Ordering::Relaxed) {
            std::process::exit(130);
        }
    });
}

#[derive(Serialize)]
struct Answer<'a> {
    #[serde(flatten)]
    result: &'a RunResult,
    service: Service,
    files: Vec<String>,
}

/// A scenario that is ready to run: all that could be wrong with it has been looked at.
struct Ready<'a> {
    /// As it was named.
    name: &'a str,
    source: Source,
    scenario: Scenario,
    folder: PathBuf,
}

/// What came of one of them.
struct Ran {
    result: RunResult,
    service: Service,
    files: Vec<String>,
}

/// Runs scenarios one after another. Nothing is written before every input is known to be good and every folder to be free.
pub fn run(args: &RunArgs, global: Global) -> Result<Exit, Refusal> {
    static STOP: AtomicBool = AtomicBool::new(false);
    let ready = all_ready(args)?;
    stop_on_interrupt(&STOP);
    let mut done: Vec<Ran> = Vec::new();
    let mut broken = None;
    for one in &ready {
        if STOP.load(Ordering::Relaxed) {
            broken = Some(Refusal::unfinished("interrupted"));
            break;
        }
        match run_one(args, one, global, &STOP) {
            Ok(ran) => done.push(ran),
            Err(why) => {
                broken = Some(why);
                break;
            }
        }
    }
    if let Some(path) = &args.junit {
        write(path, junit_of(&ready, &done, broken.as_ref()).as_bytes())?;
    }
    if let Some(why) = broken {
        return Err(why);
    }
    if global.json {
        let answers: Vec<Answer<'_>> = done
            .iter()
            .map(|one| Answer { result: &one.result, service: one.service.clone(), files: one.files.clone() })
            .collect();
        match answers.as_slice() {
            [one] => print_json(one)?,
            several => print_json(&several)?,
        }
    }
    // Of several the worst counts.
    Ok(done.iter().map(|one| exit_of(&one.result)).max().unwrap_or(Exit::Held))
}

fn exit_of(result: &RunResult) -> Exit {
    match result.exit_code() {
        0 => Exit::Held,
        1 => Exit::Failed,
        _ => Exit::Unfinished,
    }
}

/// Every scenario read, every folder chosen.
fn all_ready(args: &RunArgs) -> Result<Vec<Ready<'_>>, Refusal> {
    if let Some(path) = args.junit.as_ref().filter(|path| path.exists() && !args.force) {
        let wrong = Refusal::misuse(format!("{} exists and is not overwritten", path.display()));
        return Err(wrong.with_help("give another file with --junit, or --force to overwrite it"));
    }
    let station = args.station.as_deref().map(input::station).transpose()?;
    let several = args.scenarios.len() > 1;
    let mut ready: Vec<Ready<'_>> = Vec::new();
    for name in &args.scenarios {
        let source = input::scenario(name)?;
        let mut scenario = parse::read_on(&source, station.as_deref()).map_err(Refusal::file)?;
        fault::add(&args.fault, &mut scenario)?;
        let taken: Vec<&Path> = ready.iter().map(|one| one.folder.as_path()).collect();
        let folder = folder(args, &scenario.name, several, &taken)?;
        ready.push(Ready { name, source, scenario, folder });
    }
    Ok(ready)
}

fn junit_of(ready: &[Ready<'_>], done: &[Ran], broken: Option<&Refusal>) -> String {
    let suites: Vec<junit::Suite<'_>> = ready
        .iter()
        .enumerate()
        .map(|(at, one)| {
            let why = || match broken {
                Some(why) if at == done.len() => why.why().to_owned(),
                _ => "not run: the run before it did not come about".to_owned(),
            };
            junit::Suite { scenario: &one.scenario, result: done.get(at).map(|ran| &ran.result).ok_or_else(why) }
        })
        .collect();
    junit::document(&suites)
}

/// Rows that are to be left out.
fn left_out(ids: &[String]) -> Result<RowSet, Refusal> {
    let row = |id: &String| RowId::ALL.into_iter().find(|row| row.as_str() == id);
    let mut rows = ids.iter().map(|id| {
        row(id).map(RowSet::one).ok_or_else(|| {
            let all: Vec<&str> = RowId::ALL.iter().map(|row| row.as_str()).collect();
            let near = nearest(id, all.iter().copied()).map(|near| format!("nearest: {near}; ")).unwrap_or_default();
            let wrong = Refusal::misuse(format!("--without {id}: the interlock table has no such row"));
            wrong.with_help(format!("{near}rows: {}", all.join(", ")))
        })
    });
    rows.try_fold(RowSet::NONE, |all, row| Ok(all.or(row?)))
}

/// Set points that are to lie elsewhere.
fn moved(words: &[String]) -> Result<Vec<(Condition, i32)>, Refusal> {
    if words.len() > MOST_MOVED {
        let wrong = Refusal::misuse(format!("--set-point: {} of them", words.len()));
        return Err(wrong.with_help(format!("accepted: up to {MOST_MOVED} at once")));
    }
    words.iter().map(|one| points::read(one).map_err(|why| Refusal::misuse(format!("--set-point {why}")))).collect()
}

/// Runs one, writes its results, and tells them where text is asked for.
fn run_one(args: &RunArgs, ready: &Ready<'_>, global: Global, stop: &'static AtomicBool) -> Result<Ran, Refusal> {
    let mut scenario = ready.scenario.clone();
    let enter = |path: &PathBuf| workshop::enter(path, args, &mut scenario, &ready.source);
    let visit = args.store.as_ref().map(enter).transpose()?;
    let scenario = &scenario;
    let mut watch = Watch::new(someone_watches(global));
    let no_samples = args.no_report && matches!(args.trace, TraceForm::None);
    let without = left_out(&args.without)?;
    let moved = moved(&args.set_point)?;
    let options = RunOptions { seed: args.seed, no_samples, without, moved, ..RunOptions::default() };
    let mut each = |progress: Progress<'_>| {
        watch.share(progress.share, progress.phase.unwrap_or("start"));
        if stop.load(Ordering::Relaxed) { Control::Stop } else { Control::Continue }
    };
    let mut explainer = Explainer::default();
    let mut seams = Seams { faults: None, observer: Some(&mut explainer) };
    let outcome = match driver::find(args)? {
        Driver::BuiltIn => {
            built_in(scenario, &options, visit.as_ref()).and_then(|run| complete(run, &mut seams, &mut each))
        }
        Driver::Emulated(board) => with(board, scenario, &options, &mut seams, &mut each),
        Driver::Serial(board) => with(board, scenario, &options, &mut seams, &mut each),
        Driver::Outside(outside) => with(outside, scenario, &options, &mut seams, &mut each),
    };
    drop(watch);
    let mut outcome = outcome.map_err(driver::refusal)?;
    explainer.finish(scenario, &mut outcome.result);
    outcome.result.without = without.iter().map(|row| row.as_str().to_owned()).collect();
    outcome.result.moved = options.moved.iter().map(|(watch, by)| points::words(*watch, *by)).collect();
    // In a history the same command goes on from where this one ended.
    outcome.result.replay = visit.is_none().then(|| again::command(args, ready.name, outcome.result.seed));
    let language = args.language.language();
    let display = Display { language, ..args.display.display(scenario.site.barometer) };
    let display = visit.as_ref().map_or(display, |visit| visit.display(args, display));
    let kept = visit.as_ref().map(|visit| visit.leave(outcome.store.as_ref())).transpose()?;
    let service = Service { workshop: visit.as_ref().map(Visit::service), ..Service::of(scenario) };
    let written = write_all(args, (scenario, &service, visit.as_ref()), &outcome, &ready.folder, &display)?;
    if !global.json {
        let mut words = text::summary(&scenario.title, &outcome.result, &display);
        words.push('\n');
        if args.explain {
            words += &stops::text(&outcome.result, &display);
            words.push('\n');
        }
        for path in &written {
            words += &format!("{:<8}{}\n", label(path), path.display());
        }
        if let (Some(visit), Some(kept)) = (&visit, &kept) {
            words += &visit.presets.iter().map(|one| format!("preset  {one}\n")).collect::<String>();
            words += &format!("store   {kept}\n");
        }
        if args.scenarios.len() > 1 {
            words.push('\n');
        }
        print(&words)?;
    }
    let files = written.iter().map(|path| path.display().to_string()).collect();
    Ok(Ran { result: outcome.result, service, files })
}

/// The built-in controller, in its workshop where there is one.
fn built_in(scenario: &Scenario, options: &RunOptions, visit: Option<&Visit>) -> Result<Simulation, RunError> {
    match visit {
        Some(visit) => Simulation::in_workshop(scenario, options, &visit.workshop),
        None => Simulation::new(scenario, options),
    }
}

/// Runs it with a controller that is not the built-in one.
fn with<C: Controller>(
    controller: C,
    scenario: &Scenario,
    options: &RunOptions,
    seams: &mut Seams<'_>,
    each: &mut dyn FnMut(Progress<'_>) -> Control,
) -> Result<RunOutcome, RunError> {
    complete(Simulation::with(scenario, options, controller)?, seams, each)
}

/// The folder for the results. A named one must be new; without a name the first free one is taken. Of several scenarios each has its
/// own in the named one.
fn folder(args: &RunArgs, name: &str, several: bool, taken: &[&Path]) -> Result<PathBuf, Refusal> {
    let own = |base: &Path| {
        let free = |path: &PathBuf| !taken.contains(&path.as_path()) && (args.force || !path.exists());
        let first = std::iter::once(base.join(name));
        first.chain((2..10_000).map(|number| base.join(format!("{name}-{number}")))).find(free)
    };
    if let Some(out) = &args.out {
        if out.exists() && !(args.force && out.is_dir()) {
            let (what, help) = if out.is_dir() {
                let help = "give another folder with --out, or --force to overwrite the results in it";
                ("exists and is not overwritten", help)
            } else {
                ("is a file, not a folder", "give a folder with --out")
            };
            return Err(Refusal::misuse(format!("{} {what}", out.display())).with_help(help));
        }
        return if several { own(out).ok_or_else(|| too_many(name)) } else { Ok(out.clone()) };
    }
    own(Path::new("results")).ok_or_else(|| too_many(name))
}

fn too_many(name: &str) -> Refusal {
    Refusal::misuse(format!("results/ holds too many runs of {name}")).with_help("tidy up, or give --out or --force")
}

fn label(path: &Path) -> &'static str {
    match path.file_name().and_then(|name| name.to_str()) {
        Some("report.html") => "report",
        Some("result.json") => "result",
        Some("ticket.txt") => "ticket",
        _ => "trace",
    }
}

fn write_all(
    args: &RunArgs,
    (scenario, service, visit): (&Scenario, &Service, Option<&Visit>),
    outcome: &RunOutcome,
    folder: &Path,
    display: &Display,
) -> Result<Vec<PathBuf>, Refusal> {
    make_folder(folder)?;
    for old in FILES {
        // Most are not there; one that cannot be removed shows when it is written.
        let _ = std::fs::remove_file(folder.join(old));
    }
    let (result, trace) = (&outcome.result, &outcome.trace);
    let partial = if result.partial { "-partial" } else { "" };
    let mut written = Vec::new();
    let mut put = |name: String, bytes: &[u8]| -> Result<(), Refusal> {
        let path = folder.join(name);
        write(&path, bytes)?;
        written.push(path);
        Ok(())
    };
    if !args.no_report {
        put("report.html".to_owned(), page::page(scenario, result, trace, display).as_bytes())?;
    }
    let json = files::filed(result, service)
        .map_err(|wrong| Refusal::ours(format!("the result has no JSON form: {wrong}")))?;
    put("result.json".to_owned(), json.as_bytes())?;
    if let Some(text) = visit.and_then(|visit| visit.tickets(&json)) {
        put("ticket.txt".to_owned(), text.as_bytes())?;
    }
    if matches!(args.trace, TraceForm::Csv | TraceForm::Both) {
        let mut bytes = Vec::new();
        files::csv(trace, &mut bytes).map_err(|wrong| Refusal::ours(format!("the trace has no CSV form: {wrong}")))?;
        put(format!("trace{partial}.csv"), &bytes)?;
    }
    if matches!(args.trace, TraceForm::Arrow | TraceForm::Both) {
        let mut bytes = Vec::new();
        files::arrow(result, trace, &mut bytes)
            .map_err(|wrong| Refusal::ours(format!("the trace has no Arrow form: {wrong}")))?;
        put(format!("trace{partial}.arrow"), &bytes)?;
    }
    Ok(written)
}
