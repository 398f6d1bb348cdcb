//! The injections as text: a list, one fault in full, the book's table, and JSON.

use std::fmt::Write;

use anstyle::Style;
use serde::Serialize;

use super::injection::{Begins, Injection, Mode};
use super::table::injections;

const BOLD: Style = Style::new().bold();
const SOFT: Style = Style::new().dimmed();
/// Columns of the names at the left of a fault in full.
const NAMES: usize = 12;

/// A way of a fault for programs.
#[derive(Serialize)]
struct ModeRecord {
    #[serde(skip_serializing_if = "str::is_empty")]
    mode: &'static str,
    acts: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    severity: Option<SeverityRecord>,
}

/// What a severity means, for programs.
#[derive(Serialize)]
struct SeverityRecord {
    what: &'static str,
    unit: &'static str,
    accepted: String,
    usual: String,
}

/// A fault for programs: its line of the catalogue, and how it is injected.
#[derive(Serialize)]
pub struct FaultRecord {
    #[serde(flatten)]
    entry: &'static super::Entry,
    tags: &'static [&'static str],
    begins: &'static str,
    stays: bool,
    modes: Vec<ModeRecord>,
    #[serde(skip_serializing_if = "Option::is_none")]
    refused: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    also: Option<&'static str>,
}

impl From<&'static Injection> for FaultRecord {
    fn from(one: &'static Injection) -> Self {
        let severity = |mode: &Mode| {
            mode.severity.map(|severity| SeverityRecord {
                what: severity.what,
                unit: severity.unit,
                accepted: severity.accepted(),
                usual: severity.text(severity.usual_si()),
            })
        };
        let modes = one.modes.iter();
        let modes = modes.map(|mode| ModeRecord { mode: mode.name, acts: mode.acts, severity: severity(mode) });
        Self {
            entry: one.entry(),
            tags: one.tags,
            begins: one.begins.words(),
            stays: one.stays,
            modes: modes.collect(),
            refused: one.refused,
            also: one.also,
        }
    }
}

/// Every fault on a line of its own.
pub fn list() -> String {
    let mut out = String::new();
    // Writing to a String cannot fail, here and below.
    for one in injections() {
        let entry = one.entry();
        let what = format!("{}: {}", entry.component, entry.failure_mode);
        let end = if one.refused.is_some() { "  cannot be injected" } else { "" };
        let _ = writeln!(out, "{BOLD}{}{BOLD:#} {:<10} {what}{SOFT}{end}{SOFT:#}", one.id, entry.tag);
    }
    let refused = injections().filter(|one| one.refused.is_some()).count();
    let _ = writeln!(
        out,
        "\n{SOFT}{} faults, {} can be injected. One in full: valvewright fault show F023.{SOFT:#}",
        injections().count(),
        injections().count() - refused
    );
    out
}

/// One fault in full, with a table to be copied into a scenario.
pub fn full(one: &'static Injection) -> String {
    let entry = one.entry();
    let mut out = format!("{BOLD}{}{BOLD:#}  {}, {}\n\n", one.id, entry.component, entry.failure_mode);
    let mut line = |name: &str, text: &str| {
        let _ = writeln!(out, "{SOFT}{name:<NAMES$}{SOFT:#}{text}");
    };
    line("at", &one.tags.join(", "));
    line("catalogue", &entry.parameters);
    line("leads to", &entry.hazards);
    line("found by", &entry.detection);
    line("reaction", &entry.expected_safe_reaction);
    line("within", &budget(&entry.budget_s));
    if entry.is_latent() {
        line("latent", "nothing shows it by itself");
    }
    if let Some(why) = one.refused {
        line("refused", why);
        return out;
    }
    for mode in one.modes {
        line(&heading(mode), mode.acts);
        if let Some(severity) = mode.severity {
            let usual = severity.text(severity.usual_si());
            line("  severity", &format!("{}: {}; {usual} where nothing is said", severity.what, severity.accepted()));
        }
    }
    line("begins", one.begins.words());
    if one.stays {
        line("ends", "what it does stays");
    }
    if let Some(elsewhere) = one.also {
        line("also", elsewhere);
    }
    let _ = writeln!(out, "\n{}", example(one));
    out
}

fn heading(mode: &Mode) -> String {
    if mode.name.is_empty() { "does".to_owned() } else { format!("{} ", mode.name) }
}

/// A budget of the catalogue in words.
pub fn budget(text: &str) -> String {
    match text {
        "pre" => "before the act that it would spoil".to_owned(),
        "pt" => "at the next proof test".to_owned(),
        seconds => format!("{seconds} s"),
    }
}

/// A `[[fault]]` table with every key that the fault takes.
fn example(one: &Injection) -> String {
    let mut out = format!("[[fault]]\nid = \"{}\"\n", one.id);
    let Some(mode) = one.modes.first() else { return out };
    if !mode.name.is_empty() {
        let _ = writeln!(out, "mode = \"{}\"", mode.name);
    }
    if one.tags.len() > 1 {
        let _ = writeln!(out, "tag = \"{}\"", one.tags[0]);
    }
    if let Some(severity) = mode.severity {
        let _ = writeln!(out, "severity = \"{}\"", severity.text(severity.usual_si()));
    }
    match one.begins {
        Begins::AnyTime => out += "at = \"10 min\"\n",
        Begins::AtATime => out += "at = \"10 min\"\n",
        Begins::WithTheJob => {}
    }
    if !one.stays && one.begins != Begins::WithTheJob && mode.lasts.is_none() {
        out += "for = \"1 min\"\n";
    }
    out
}

/// The table of the book.
pub fn book() -> String {
    let mut out = String::from(
        "| fault | at | what breaks | injected as | severity; where nothing is said | begins | hazards | found by | expected reaction | within |\n\
         | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    for one in injections() {
        let entry = one.entry();
        let named = |mode: &Mode| if mode.name.is_empty() { String::new() } else { format!("`{}`: ", mode.name) };
        let mut acts: Vec<String> = one.modes.iter().map(|mode| format!("{}{}", named(mode), mode.acts)).collect();
        let severities: Vec<String> = one
            .modes
            .iter()
            .filter_map(|mode| {
                let severity = mode.severity?;
                let usual = severity.text(severity.usual_si());
                Some(format!("{}{}, {}; {usual}", named(mode), severity.what, severity.accepted()))
            })
            .collect();
        if let Some(why) = one.refused {
            acts.push(format!("**not**: {why}"));
        }
        if one.stays {
            acts.push("(stays)".to_owned());
        }
        acts.extend(one.also.map(str::to_owned));
        let cells = [
            one.id.to_string(),
            one.tags.join(" "),
            format!("{}: {}", entry.component, entry.failure_mode),
            acts.join("<br>"),
            severities.join("<br>"),
            if one.refused.is_some() { String::new() } else { one.begins.words().to_owned() },
            entry.hazards.replace(',', " "),
            entry.detection.clone(),
            entry.expected_safe_reaction.clone(),
            format!("{}{}", budget(&entry.budget_s), if entry.is_latent() { ", latent" } else { "" }),
        ];
        let cells = cells.map(|cell| cell.replace('|', "\\|").replace('<', "&lt;").replace("&lt;br>", "<br>"));
        let _ = writeln!(out, "| {} |", cells.join(" | "));
    }
    out
}
