//! `campaign --minimal`: each kind of accident of a campaign as the least scenario file that has it again.

use std::fmt::Write;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};

use serde_json::json;

use super::campaign_refusal::refusal;
use super::output::{Exit, Refusal, print, print_json};
use super::run::Watch;
use super::{Global, someone_watches};
use crate::campaign::Runs;
use crate::campaign::findings::Findings;
use crate::campaign::shrink::{Found, minimal};

/// The folder of the files, within the campaign's.
const FOLDER: &str = "minimal";

/// Shrinks what the merged table of a campaign holds, writes the files, and tells them.
pub fn shrink(runs: &Runs, folder: &Path, global: Global, stop: &AtomicBool) -> Result<Exit, Refusal> {
    let found = Findings::of(folder, None, &mut |_| {}).map_err(refusal)?;
    let mut watch = Watch::new(someone_watches(global));
    let mut each = |done: usize, all: usize| {
        watch.share(done as f64 / all.max(1) as f64, "shrinking");
        !stop.load(Ordering::Relaxed)
    };
    let all = minimal(runs, &found.counts.cuts, &mut each).map_err(refusal)?;
    drop(watch);
    let into = folder.join(FOLDER);
    let broken = |why: std::io::Error| Refusal::unfinished(format!("{}: {why}", into.display()));
    std::fs::create_dir_all(&into).map_err(broken)?;
    for (name, text) in all.iter().filter_map(|one| one.minimal.as_ref().map(|(_, file)| (&one.name, &file.text))) {
        std::fs::write(into.join(format!("{name}.toml")), text).map_err(broken)?;
    }
    if global.json {
        let told: Vec<_> = all.iter().map(|one| told(one, &into)).collect();
        print_json(&json!({ "campaign": runs.plan().name, "minimal": told }))?;
    } else {
        print(&text(&all, &into))?;
    }
    if stop.load(Ordering::Relaxed) {
        return Err(Refusal::unfinished("stopped: not every cause was shrunk").with_help("give the same command again"));
    }
    Ok(Exit::Held)
}

fn told(one: &Found, into: &Path) -> serde_json::Value {
    let least = one.minimal.as_ref().map(|(least, _)| least);
    json!({
        "hazard": one.hazard,
        "run": one.index,
        "scenario": one.scenario,
        "seed": least.and_then(|least| least.trial.seed),
        "file": least.map(|_| into.join(format!("{}.toml", one.name))),
        "faults": least.map(|least| &least.trial.faults),
        "changes": least.map(|least| &least.trial.changes),
        "accident_s": least.map(|least| least.at),
        "tries": least.map(|least| least.tries),
    })
}

fn text(all: &[Found], into: &Path) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail, here and below.
    for one in all {
        let Some((least, _)) = &one.minimal else {
            let _ = writeln!(out, "{}  run {} does not come to it by itself: not shrunk", one.hazard, one.index);
            continue;
        };
        let faults = if least.trial.faults.is_empty() { "no fault".to_owned() } else { least.trial.faults.join(" + ") };
        let set: String = least.trial.changes.iter().map(|(key, value)| format!(", {key} = {value}")).collect();
        let file = into.join(format!("{}.toml", one.name));
        let (hazard, at, tries) = (one.hazard, least.at, least.tries);
        let _ = writeln!(out, "{hazard}  {faults}{set}: at {at:.1} s, in {tries} runs\n     {}", file.display());
    }
    if all.is_empty() {
        out += "no hazard came to its accident level: nothing to shrink\n";
    }
    out
}
