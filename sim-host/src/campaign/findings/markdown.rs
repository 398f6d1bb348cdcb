//! The findings as Markdown, for a page of a change or a book.

use std::fmt::Write;

use super::cell::{Section, Tone};
use super::tables::sections;
use super::{CAUTION, Findings, heat};

/// The document.
pub fn markdown(of: &Findings) -> String {
    let mut out = format!("# Campaign {}\n\n{} runs, digest `{}`. {CAUTION}\n", of.campaign, of.counts.runs, of.digest);
    // Writing to a String cannot fail, here and below.
    let ends: Vec<String> = of.counts.ends.iter().map(|(end, runs)| format!("{end} {runs}")).collect();
    let _ = writeln!(
        out,
        "\nHow they ended: {}.",
        if ends.is_empty() { "none was run".to_owned() } else { ends.join(", ") }
    );
    for (why, runs) in &of.counts.refused {
        let _ = writeln!(out, "\nRefused in {runs} runs: {}.", text(why));
    }
    for one in sections(of) {
        section(&one, &mut out);
    }
    map(of, &mut out);
    out
}

/// In a cell: no bar, no line end, nothing that is taken for a tag.
fn text(of: &str) -> String {
    let mut out = String::new();
    for letter in of.chars() {
        match letter {
            '|' => out += "\\|",
            '\n' | '\r' => out.push(' '),
            '<' => out += "&lt;",
            '*' | '_' | '`' | '[' | ']' | '\\' => out.extend(['\\', letter]),
            other => out.push(other),
        }
    }
    out
}

/// As code: a backtick inside needs a longer fence outside, and a bar is still a bar of the table.
fn code(of: &str) -> String {
    if of.is_empty() {
        return String::new();
    }
    let of = of.replace('|', "\\|").replace(['\n', '\r'], " ");
    if of.contains('`') { format!("``` {of} ```") } else { format!("`{of}`") }
}

fn section(of: &Section, out: &mut String) {
    let _ = writeln!(out, "\n## {}\n", text(&of.title));
    for note in &of.notes {
        let _ = writeln!(out, "{}\n", text(note));
    }
    if of.head.is_empty() {
        return;
    }
    let figure = |at: usize| of.rows.first().and_then(|row| row.get(at)).is_some_and(|cell| cell.tone == Tone::Figure);
    let rule: Vec<&str> = (0..of.head.len()).map(|at| if figure(at) { "---:" } else { "---" }).collect();
    let _ = writeln!(out, "| {} |\n| {} |", of.head.join(" | "), rule.join(" | "));
    for row in &of.rows {
        let cells = row.iter().map(|cell| match cell.tone {
            Tone::Command => code(&cell.text),
            Tone::Accident => format!("**{}**", text(&cell.text)),
            _ => text(&cell.text),
        });
        let _ = writeln!(out, "| {} |", cells.collect::<Vec<_>>().join(" | "));
    }
}

fn map(of: &Findings, out: &mut String) {
    let steps = heat::steps(of);
    if steps.is_empty() {
        return;
    }
    let _ = writeln!(out, "\n## Fault by step\n\n{}\n\n{}\n", heat::KEY, text(&heat::left_out(of)));
    let heads: Vec<String> = steps.iter().map(|step| text(step)).collect();
    let _ = writeln!(out, "| Fault | {} |\n| --- |{}", heads.join(" | "), " --- |".repeat(steps.len()));
    for fault in of.counts.faults.keys() {
        let cells = steps.iter().map(|step| match heat::spot(of, fault, step) {
            Some(spot) if spot.worst.class() == "accident" => format!("**{}**", spot.worst.mark()),
            Some(spot) => spot.worst.mark().to_owned(),
            None => String::new(),
        });
        let _ = writeln!(out, "| {fault} | {} |", cells.collect::<Vec<_>>().join(" | "));
    }
}
