//! Evidence for a terminal: all hazards on a few screens, or one id in full.

use std::fmt::Write;

use valvewright_core::interlock::table::Row;

use super::{By, Evidence, Fault, Id, Kind, Node, Shown, Where};
use crate::display::wrap::{SOFT, bold, entries, entry, wrapped};
use crate::matrix::words;

/// Columns of a small terminal.
const SCREEN: usize = 80;

/// Ids as a list in which three and more in a row become first and last.
pub fn list(ids: &[Id]) -> String {
    let mut parts: Vec<(Id, Id)> = Vec::new();
    for &id in ids {
        match parts.last_mut() {
            Some((_, last)) if last.kind == id.kind && last.number + 1 == id.number => *last = id,
            _ => parts.push((id, id)),
        }
    }
    let told = |(first, last): &(Id, Id)| match last.number - first.number {
        0 => first.to_string(),
        1 => format!("{first}, {last}"),
        _ => format!("{first}-{last}"),
    };
    parts.iter().map(told).collect::<Vec<_>>().join(", ")
}

/// What shows an id, or why nothing does, in a few words.
pub fn state(evidence: &Evidence, id: Id) -> String {
    let count = |by: &[By]| evidence.shown_by(id).filter(|one| by.contains(&one.by)).count();
    let (tests, scenarios) = (count(&[By::Core, By::Library, By::Suite]), count(&[By::Scenario]));
    let many = |count: usize, noun: &str| format!("{count} {noun}{}", if count == 1 { "" } else { "s" });
    match (tests, scenarios) {
        _ if evidence.open(id).is_some() => {
            evidence.open(id).map_or_else(String::new, |one| format!("open: {}", one.why))
        }
        (0, 0) => "nothing".to_owned(),
        (_, 0) => many(tests, "test"),
        (0, _) => many(scenarios, "scenario"),
        _ => format!("{}, {}", many(tests, "test"), many(scenarios, "scenario")),
    }
}

/// How many of the ids that are defined are shown, kind by kind.
pub fn counts(evidence: &Evidence) -> Vec<(Kind, usize, usize)> {
    let ids = evidence.ids();
    Kind::ALL
        .into_iter()
        .map(|kind| {
            let of: Vec<&Id> = ids.iter().filter(|id| id.kind == kind).collect();
            let shown = of
                .iter()
                .filter(|id| evidence.shown_by(***id).next().is_some() && evidence.open(***id).is_none())
                .count();
            (kind, shown, of.len())
        })
        .collect()
}

/// Every hazard with its rows, faults, figures, and what shows it.
pub fn overview(evidence: &Evidence) -> String {
    let mut out =
        format!("{}\n", bold("Evidence: hazard, rows that answer it, faults that defeat them, what shows it"));
    for one in &evidence.hazards {
        // Writing to a String cannot fail, here and below.
        let _ = writeln!(out, "\n{} {}", bold(one.id), one.title);
        let rows: Vec<Id> = evidence.rows_of(one.id).into_iter().map(|row| Id::from(row.id)).collect();
        let mut line = |name: &str, text: &str| {
            if !text.is_empty() {
                wrapped(&mut out, &format!("    {name:<9}"), text, SCREEN);
            }
        };
        line("rows", &list(&rows));
        line("beside", &one.beyond_rows);
        line("faults", &list(&one.defeated_by));
        line("worked", &list(&one.worked));
        line("shown by", &state(evidence, one.id));
    }
    out.push('\n');
    for (kind, shown, of) in counts(evidence) {
        let _ = writeln!(out, "{:<24}{shown:>4} of {of:>3} shown", kind.noun());
    }
    let _ = writeln!(out, "\n{SOFT}One in full: valvewright matrix --evidence F023, H06, I11, LC6 or W24.{SOFT:#}");
    out
}

/// The name of what shows an id, with the kind of thing it is.
fn name(one: &Shown) -> String {
    match one.by {
        By::Core => format!("controller test {}", one.name),
        By::Library | By::Suite => format!("test {}", one.name),
        By::Scenario => format!("valvewright run {}", one.name),
    }
}

fn shown(out: &mut String, evidence: &Evidence, id: Id) {
    let lines: Vec<String> = evidence.shown_by(id).map(name).collect();
    if lines.is_empty() {
        entry(out, "Shown by", &state(evidence, id));
    }
    entries(out, "Shown by", lines);
}

/// The faults that can defeat a row by where they meet it, then what shows the row: the end of a row in full.
pub fn proof(out: &mut String, row: &Row, evidence: &Evidence) {
    let faults = evidence.faults_of(row);
    let met = |place: Where| faults.iter().filter(|one| one.1 == place).map(|one| one.0.id).collect::<Vec<_>>();
    let lines = Where::ALL.into_iter().map(|place| (place, met(place))).filter(|(_, ids)| !ids.is_empty());
    entries(out, "Can be defeated", lines.map(|(place, ids)| format!("{}: {}", place.words(), list(&ids))));
    shown(out, evidence, Id::from(row.id));
}

/// With its first letter large.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

fn fault_line(one: &Fault) -> String {
    format!("{} {} ({}): {}", one.id, one.component, one.tag, one.failure_mode)
}

fn named(evidence: &Evidence, ids: &[Id]) -> Vec<String> {
    ids.iter().map(|id| format!("{id} {}", evidence.node(*id).map_or(String::new(), |node| node.title()))).collect()
}

/// One id in full; nothing where it is not defined.
pub fn full(evidence: &Evidence, id: Id) -> Option<String> {
    let node = evidence.node(id)?;
    let mut out = format!("{}  {}\n\n", bold(id), node.title());
    match node {
        Node::Hazard(one) => {
            entry(&mut out, "Limit", &one.limit);
            entry(&mut out, "Accident", &one.accident);
            entries(&mut out, "Leads there", one.acts.iter().cloned());
            entries(&mut out, "Can be seen by", [one.sensing.join(", ")].into_iter().filter(|tags| !tags.is_empty()));
            let rows = evidence.rows_of(id).into_iter().map(|row| format!("{} {}", row.id, row.why.text()));
            entries(&mut out, "Answered by", rows);
            entries(
                &mut out,
                "and beside rows by",
                [&one.beyond_rows].into_iter().filter(|text| !text.is_empty()).cloned(),
            );
            entries(&mut out, "Can be defeated by", named(evidence, &one.defeated_by));
            let figures = one.figure.iter().map(|figure| {
                format!(
                    "{} {}: {} {} ({}: {})",
                    figure.id,
                    figure.what,
                    figure.value,
                    figure.unit,
                    figure.mark.word(),
                    figure.how
                )
            });
            entries(&mut out, "Figures", figures);
            entries(&mut out, "Worked examples", named(evidence, &one.worked));
        }
        Node::Row(row) => {
            entries(
                &mut out,
                "Answers",
                words::hazards(row).map(|one| format!("{one} {}", evidence.hazard_title(one))),
            );
            out.push_str("\n  Faults that can defeat it\n");
            for place in Where::ALL {
                let of = evidence.faults_of(row).into_iter().filter(|one| one.1 == place).map(|one| fault_line(one.0));
                entries(&mut out, &capital(place.words()), of);
            }
        }
        Node::Fault(one) => {
            entry(
                &mut out,
                "Kind",
                &format!("{}{}", one.kind, if one.latent { ", latent: shows only with a second fault" } else { "" }),
            );
            entries(&mut out, "Leads to", named(evidence, &one.hazards));
            entry(&mut out, "Found by", &one.detection);
            entry(&mut out, "Safe reaction", &one.expected_safe_reaction);
            entry(&mut out, "Within", &one.budget());
            let rows: Vec<Id> = evidence.around(id).into_iter().filter(|id| id.kind == Kind::Row).collect();
            entries(&mut out, "Can defeat", named(evidence, &rows));
        }
        Node::Law(one) => entry(&mut out, "Law", &one.text.replace('\n', " ")),
        Node::Example(one) => {
            entry(&mut out, "Given", &one.given);
            entry(&mut out, "Rule", &one.rule);
            entry(&mut out, "Figure", &format!("{} ({})", one.figure, one.unit));
            entry(&mut out, "Within", &one.tolerance);
            entry(&mut out, "Source", &evidence.source_words(one));
            entries(&mut out, "Used by", named(evidence, &evidence.around(id)));
        }
        Node::RowToCome(_) => {}
    }
    shown(&mut out, evidence, id);
    Some(out)
}
