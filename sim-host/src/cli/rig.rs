//! `rig`: a bare network under its schedule, into one CSV.

use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

use serde_json::json;

use super::output::{Exit, Refusal, make_folder, print, print_json, write};
use super::run::{Watch, stop_on_interrupt};
use super::{Global, RigArgs, input, someone_watches};
use crate::plant::rig::{parse_rig, run_rig};
use crate::report::axis::{duration, significant};

/// Runs a rig and writes `<name>.csv`; an interrupted run leaves `<name>-partial.csv`.
pub fn rig(args: &RigArgs, global: Global) -> Result<Exit, Refusal> {
    static STOP: AtomicBool = AtomicBool::new(false);
    let source = input::rig(&args.rig)?;
    let spec = parse_rig(&source).map_err(Refusal::file)?;
    let stem =
        std::path::Path::new(&source.name).file_stem().and_then(|stem| stem.to_str()).unwrap_or("rig").to_owned();
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
    let partial = STOP.load(Ordering::Relaxed);
    let path = if partial { folder.join(format!("{stem}-partial.csv")) } else { path };
    make_folder(&folder)?;
    write(&path, series.to_csv().as_bytes())?;
    let balance = series.balance;
    if global.json {
        print_json(&json!({
            "rig": stem, "title": spec.title, "csv": path.display().to_string(), "rows": series.rows.len(), "partial": partial,
            "sim_seconds": series.seconds, "wall_seconds": wall, "steps": series.steps.accepted, "rejected_steps": series.steps.rejected,
            "mass_balance_error_kg": balance.mass_error_kg, "inventory_kg": balance.inventory_kg,
            "energy_balance_error_J": balance.energy_error_j, "energy_scale_J": balance.energy_scale_j, "stuck": series.stuck,
        }))?;
    } else {
        print(&format!(
            "{}\n  {} simulated in {wall:.3} s, {} steps, {} rows\n  balance error: mass {} kg of {} kg, energy {} J of {} J\n  {}\n",
            spec.title,
            duration(series.seconds),
            series.steps.accepted,
            series.rows.len(),
            significant(balance.mass_error_kg, 2),
            significant(balance.inventory_kg, 4),
            significant(balance.energy_error_j, 2),
            significant(balance.energy_scale_j, 3),
            path.display()
        ))?;
    }
    if series.stuck {
        return Err(Refusal::ours("the integration could not go on; the rows up to there were written"));
    }
    Ok(if partial { Exit::Unfinished } else { Exit::Held })
}
