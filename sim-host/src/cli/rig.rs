//! `rig`: a bare network under its schedule, into one CSV.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

use serde_json::json;

use super::output::{Exit, Refusal, make_folder, print, print_json, write};
use super::run::{Watch, stop_on_interrupt};
use super::{Global, RigArgs, input, someone_watches};
use crate::plant::Account;
use crate::plant::rig::{RigSeries, RigSpec, parse_rig, run_rig};
use crate::report::axis::{duration, significant};

/// Runs a rig and writes `<name>.csv`; a run that did not come to its end leaves `<name>-partial.csv`.
pub fn rig(args: &RigArgs, global: Global) -> Result<Exit, Refusal> {
    static STOP: AtomicBool = AtomicBool::new(false);
    let source = input::rig(&args.rig)?;
    let spec = parse_rig(&source).map_err(Refusal::file)?;
    let stem = Path::new(&source.name).file_stem().and_then(|stem| stem.to_str()).unwrap_or("rig").to_owned();
    let folder = args.out.clone().unwrap_or_else(|| PathBuf::from("results/rigs"));
    let path = folder.join(format!("{stem}.csv"));
    if path.exists() && !args.force {
        return Err(Refusal::misuse(format!("{} exists and is not overwritten", path.display()))
            .with_help("give another folder with --out, or --force to overwrite it"));
    }
    stop_on_interrupt(&STOP);
    let mut watch = Watch::new(someone_watches(global));
    let started = Instant::now();
    let series = run_rig(&spec, |t| {
        watch.time(t);
        !STOP.load(Ordering::Relaxed)
    });
    let wall = started.elapsed().as_secs_f64();
    drop(watch);
    let series = series.map_err(|wrong| Refusal::misuse(format!("{}: {wrong}", source.name)))?;
    let partial = STOP.load(Ordering::Relaxed) || series.fault.is_some();
    let path = if partial { folder.join(format!("{stem}-partial.csv")) } else { path };
    make_folder(&folder)?;
    write(&path, series.to_csv().as_bytes())?;
    let done = Done { stem, spec, series, wall, partial, path };
    if global.json {
        done.print_json(&source.name)?;
        return Ok(done.exit());
    }
    print(&done.text())?;
    match &done.series.fault {
        None => Ok(done.exit()),
        Some(fault) => Err(Refusal::unfinished(format!(
            "{}: the run stopped {}; rows up to there are in {}",
            source.name,
            fault.when_and_why(),
            done.path.display()
        ))
        .with_help(fault.advice.clone())),
    }
}

/// A run and where it went.
struct Done {
    stem: String,
    spec: RigSpec,
    series: RigSeries,
    wall: f64,
    partial: bool,
    path: PathBuf,
}

impl Done {
    fn exit(&self) -> Exit {
        if self.partial { Exit::Unfinished } else { Exit::Held }
    }

    fn accounts(&self) -> Vec<Account> {
        self.series.balance.accounts(self.spec.network.second.is_some())
    }

    fn text(&self) -> String {
        let Self { spec, series, wall, path, .. } = self;
        let (steps, rows) = (series.steps.accepted, series.rows.len());
        let mut text = format!(
            "{}\n  {} simulated in {wall:.3} s, {steps} steps, {rows} rows\n",
            spec.title,
            duration(series.seconds)
        );
        text.push_str("  unaccounted for:\n");
        for Account { what, error, scale, unit, .. } in self.accounts() {
            let (error, scale) = (significant(error, 2), significant(scale, 4));
            let _ = writeln!(text, "    {what:<18} {error} {unit} of {scale} {unit}");
        }
        for note in &series.notes {
            let _ = writeln!(text, "  note: {note}");
        }
        let _ = writeln!(text, "  {}", path.display());
        text
    }

    fn print_json(&self, file: &str) -> Result<(), Refusal> {
        let Self { stem, spec, series, wall, partial, path } = self;
        let accounts = self.accounts();
        let balance = accounts
            .iter()
            .map(|one| (one.what.replace(' ', "_"), json!({ "error": one.error, "of": one.scale, "unit": one.unit })));
        let fault = series.fault.as_ref().map(|fault| {
            json!({ "file": file, "time_s": fault.time, "place": fault.place, "what": fault.what, "advice": fault.advice })
        });
        print_json(&json!({
            "rig": stem, "title": spec.title, "csv": path.display().to_string(), "rows": series.rows.len(), "partial": partial,
            "sim_seconds": series.seconds, "wall_seconds": wall, "steps": series.steps.accepted, "rejected_steps": series.steps.rejected,
            "balance": balance.collect::<serde_json::Map<_, _>>(), "notes": series.notes, "fault": fault,
        }))
    }
}
