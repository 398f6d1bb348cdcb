//! A sweep in words, and as a table for programs.

use std::fmt::Write;

use super::sweep::Sweep;
use super::tally::{FaultTally, Tally};

/// For a terminal: a line for each fault, accidents below it with the command that has one again.
pub fn text(tally: &Tally) -> String {
    let mut out = format!(
        "{:5} {:>5} {:>8} {:>7} {:>6}  first row, half of the trips sooner than\n",
        "fault", "runs", "tripped", "passed", "stood"
    );
    // Writing to a String cannot fail, here and below.
    for one in &tally.faults {
        let _ = writeln!(
            out,
            "{:5} {:>5} {:>8} {:>7} {:>6}  {}",
            one.fault,
            one.runs,
            one.tripped,
            one.passed,
            one.stood,
            rows(one)
        );
        if let Some(why) = &one.refused {
            let _ = writeln!(out, "      not in every job: {why}");
        }
        if one.undecided > 0 {
            let _ = writeln!(out, "      {} runs were not decided in the time they have", one.undecided);
        }
        for reached in &one.accidents {
            let word = if reached.known.is_some() { "known" } else { "ACCIDENT" };
            let _ = writeln!(
                out,
                "      {word} {} in {} runs, soonest {:.2} s after the fault, at {}\n        again: {}",
                reached.hazard, reached.runs, reached.soonest_s, reached.moment, reached.replay
            );
            if let Some(why) = reached.known {
                let _ = writeln!(out, "        cause: {why}");
            }
        }
    }
    for one in &tally.stale {
        let _ = writeln!(
            out,
            "{} did not reach {} any more: take its line out of sim-host/data/accidents.csv",
            one.fault, one.hazard
        );
    }
    let with = tally.faults.iter().filter(|one| !one.accidents.is_empty()).count();
    let _ = writeln!(
        out,
        "{} faults at {} moments, {} runs{}: {} faults reach an accident, {} kinds of it unknown so far",
        tally.faults.len(),
        tally.moments,
        tally.runs,
        if tally.partial { " (stopped before the end)" } else { "" },
        with,
        tally.unknown()
    );
    out
}

fn rows(one: &FaultTally) -> String {
    let rows: Vec<String> = one.first_rows.iter().take(4).map(|(row, n)| format!("{row} x {n}")).collect();
    match one.median_s {
        Some(time) => format!("{}, {time:.2} s", rows.join(", ")),
        None => "-".to_owned(),
    }
}

/// One line a run, for spreadsheets.
pub fn csv(sweep: &Sweep) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let head = [
        "fault",
        "what",
        "scenario",
        "phase",
        "step",
        "share",
        "t_s",
        "fate",
        "verdict",
        "trips",
        "first_trip_s",
        "accidents",
        "alerts",
        "replay",
    ];
    // Writing to memory cannot fail, here and below.
    let _ = writer.write_record(head);
    for one in sweep.done.iter().flatten() {
        let joined = |all: Vec<String>| all.join(" ");
        let word = |value: serde_json::Value| value.as_str().unwrap_or_default().to_owned();
        let _ = writer.write_record([
            one.fault.clone(),
            one.what.clone(),
            one.scenario.clone(),
            one.moment.phase.map_or("", valvewright_core::job::PhaseKind::name).to_owned(),
            one.moment.step.to_owned(),
            format!("{:.2}", one.moment.share),
            format!("{:.2}", one.moment.t_s),
            word(serde_json::to_value(one.fate).unwrap_or_default()),
            one.verdict.word().to_owned(),
            joined(one.trips.iter().map(|(row, _)| row.clone()).collect()),
            one.trips.first().map_or(String::new(), |(_, after)| format!("{after:.2}")),
            joined(one.accidents.iter().map(|(id, after)| format!("{id}@{after:.2}")).collect()),
            joined(one.alerts.iter().map(|id| (*id).to_owned()).collect()),
            one.replay.clone(),
        ]);
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}
