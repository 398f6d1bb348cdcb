//! The heat map of fault by step: its order, and the cells that are worth a look.

use super::Findings;
use super::cell::{Cell, Section, Tone};
use super::count::Spot;
use super::judge::{Outcome, hazard_id};

/// What the marks mean.
pub const KEY: &str = "Each cell is the worst run of a fault in a step, by the hazard that came nearest or by how it ended: p passed, r refused, f failed, a aborted, s stands (held and at rest), g goes on or unfinished, b broken, \u{b7} not run. An id of a hazard is its alert or accident level.";

/// Which alerts are not there.
pub fn left_out(of: &Findings) -> String {
    let usual = if of.usual.is_empty() { "none here".to_owned() } else { of.usual.join("; ") };
    format!(
        "Alerts that came before the first fault are not shown, here and below, nor those taken for the job's own, which more than half of a scenario's runs have with ten or more different faults: {usual}. Accidents are always shown."
    )
}

/// Steps in the order in which faults first came in them.
pub fn steps(of: &Findings) -> Vec<&str> {
    let mut all: Vec<(&String, f64)> = of.counts.steps.iter().map(|(step, at)| (step, *at)).collect();
    all.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(b.0)));
    all.into_iter().map(|(step, _)| step.as_str()).collect()
}

/// The cell of a fault in a step.
pub fn spot<'a>(of: &'a Findings, fault: &str, step: &str) -> Option<&'a Spot> {
    of.counts.spots.get(&(fault.to_owned(), step.to_owned()))
}

/// What a cell says to who points at it.
pub fn told(fault: &str, step: &str, spot: &Spot) -> String {
    let runs = if spot.runs == 1 { "1 run".to_owned() } else { format!("{} runs", spot.runs) };
    let again = if spot.replay.is_empty() { String::new() } else { format!("\nagain: {}", spot.replay) };
    format!("{fault}, {step}: {runs}, worst {} (run {}){again}", spot.worst.words(), spot.index)
}

/// Cells whose worst run came to a hazard, accidents first, each with its command.
pub fn hot(of: &Findings) -> Section {
    let mut all: Vec<(&(String, String), &Spot)> =
        of.counts.spots.iter().filter(|(_, spot)| spot.worst.rank() >= Outcome::Alert(hazard_id(0)).rank()).collect();
    all.sort_by_key(|(_, spot)| std::cmp::Reverse(spot.worst.rank()));
    let plain = |text: &str| Cell { text: text.to_owned(), tone: Tone::Plain };
    let row = |(key, spot): (&(String, String), &Spot)| {
        let tone = if matches!(spot.worst, Outcome::Accident(_)) { Tone::Accident } else { Tone::Alert };
        vec![
            Cell { text: spot.worst.words(), tone },
            plain(&key.0),
            plain(&key.1),
            Cell { text: spot.runs.to_string(), tone: Tone::Figure },
            Cell { text: spot.replay.clone(), tone: Tone::Command },
        ]
    };
    let rows: Vec<Vec<Cell>> = all.into_iter().map(row).collect();
    let head = if rows.is_empty() { vec![] } else { vec!["Worst", "Fault", "Step", "Runs", "Again"] };
    Section { id: "hot", title: "Cells with a hazard".into(), notes: vec![], head, rows }
}
