//! The findings in short, for a terminal.

use std::fmt::Write;

use super::differences::summary;
use super::tables::{band, share};
use super::{Findings, judge, weights};

/// Differences that are told on a terminal.
const TOLD: usize = 20;

/// The text.
pub fn text(of: &Findings) -> String {
    let counts = &of.counts;
    let mut out = format!("{}: {} runs\n", of.campaign, counts.runs);
    // Writing to a String cannot fail, here and below.
    for (end, runs) in &counts.ends {
        let _ = writeln!(out, "  {end:<12} {runs:>9}");
    }
    let _ = writeln!(
        out,
        "  {} faults, {} devices of them, {} runs without a fault",
        counts.faults.len(),
        counts.components.len(),
        counts.healthy
    );
    if counts.cuts.is_empty() {
        let _ = writeln!(out, "  no hazard came to its accident level");
    }
    for (hazard, runs, best) in counts.cuts.accidents() {
        let faults = if best.faults.is_empty() { "no fault".to_owned() } else { best.faults.join(" + ") };
        let _ = writeln!(
            out,
            "  {} came to its accident level in {runs} runs; shortest: {faults}",
            judge::hazard_id(hazard)
        );
        let _ = writeln!(out, "    {}", best.replay);
    }
    let mut bands = std::collections::BTreeMap::<&str, u64>::new();
    for (tag, one) in &counts.components {
        let found = weights::shares(of, one, counts.component_ways.get(tag)).found;
        *bands.entry(band(found.0, found.1)).or_default() += 1;
    }
    let count = |name: &str| bands.get(name).copied().unwrap_or(0);
    let (found, all) = counts.components.values().fold((0, 0), |sum, one| (sum.0 + one.found, sum.1 + one.runs));
    if all > 0 {
        let _ = writeln!(
            out,
            "  found before an accident in {} of runs, weighed by device; bands{}: {} high, {} medium, {} low, {} none",
            share(found, all),
            of.rates.as_ref().map(|one| format!(" by the rates of {}", one.file)).unwrap_or_default(),
            count("high"),
            count("medium"),
            count("low"),
            count("none")
        );
    }
    let never: Vec<&str> = counts.rows.iter().filter(|(_, one)| one.tripped == 0).map(|(id, _)| id.as_str()).collect();
    let _ =
        writeln!(out, "  rows never exercised: {}", if never.is_empty() { "none".to_owned() } else { never.join(" ") });
    if counts.late > 0 {
        let _ = writeln!(out, "  the reaction was not within its budget in {} runs", counts.late);
    }
    if let (runs @ 1.., Some(replay)) = &counts.stuck {
        let _ = writeln!(out, "  the station did not come to rest after healing in {runs} runs\n    first: {replay}");
    }
    against(of, &mut out);
    out + "  " + super::CAUTION + "\n"
}

fn against(of: &Findings, out: &mut String) {
    let Some(comparison) = &of.comparison else { return };
    let _ = writeln!(out, "against {}: {}", comparison.other, summary(comparison));
    for (worse, all) in [(true, &comparison.worse), (false, &comparison.better)] {
        let word = if worse { "WORSE" } else { "better" };
        for one in all.iter().take(TOLD) {
            let _ = writeln!(out, "  {word}  {}: {}", one.change.words(worse), one.run);
            if worse {
                let _ = writeln!(out, "    again: {}", one.replay);
            }
        }
        if all.len() > TOLD {
            let _ = writeln!(out, "  {word}  and {} more, in the report", all.len() - TOLD);
        }
    }
}
