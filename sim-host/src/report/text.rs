//! The result for a terminal: a verdict, the figures, the phases, what was said. Colours are stripped by the printer where there is no terminal.

use std::fmt::Write;

use anstyle::{AnsiColor, Style};

use super::axis::{clock, duration, significant};
use super::chart::{mark, readable};
use super::data::{BoardResult, LeakResult, Outcome, RunResult, Verdict};

const BOLD: Style = Style::new().bold();
const SOFT: Style = Style::new().dimmed();
const GREEN: Style = AnsiColor::Green.on_default();
const YELLOW: Style = AnsiColor::Yellow.on_default();
const RED: Style = AnsiColor::Red.on_default();

/// Notices shown; the report holds all of them.
const MOST_NOTICES: usize = 12;

fn paint(style: Style, text: impl std::fmt::Display) -> String {
    format!("{style}{text}{style:#}")
}

fn verdict_style(verdict: Verdict) -> Style {
    match verdict {
        Verdict::Pass => GREEN,
        Verdict::Refused => YELLOW,
        Verdict::Failed => RED,
        Verdict::Aborted | Verdict::Unfinished => Style::new(),
    }
}

fn outcome_style(outcome: Outcome) -> Style {
    match outcome {
        Outcome::Pass => GREEN,
        Outcome::Refused => YELLOW,
        Outcome::Failed => RED,
        Outcome::Aborted | Outcome::Skipped | Outcome::Unfinished => Style::new(),
    }
}

/// The summary, with ANSI colours, ending in a newline.
pub fn summary(title: &str, result: &RunResult) -> String {
    let mut text = String::new();
    // Writing to a String cannot fail, so the results below are let go.
    let verdict = result.verdict.word().to_uppercase();
    let _ = writeln!(text, "{}   {}", paint(BOLD, title), paint(verdict_style(result.verdict).bold(), verdict));
    let facts = format!(
        "{}, seed {}: {} simulated in {:.3} s, {} x real time, {} scans",
        result.scenario,
        result.seed,
        duration(result.sim_seconds),
        result.wall_seconds,
        grouped(result.speed),
        result.ticks
    );
    let _ = writeln!(text, "{}", paint(SOFT, facts));
    if result.partial {
        let _ = writeln!(
            text,
            "{}",
            paint(YELLOW, "Partial: the run was interrupted; the figures stand for the part that ran.")
        );
    }
    if let Some(board) = &result.board {
        let style = if board.fault.is_some() { YELLOW } else { SOFT };
        let _ = writeln!(text, "{}", paint(style, board_words(board)));
    }
    text.push('\n');
    figures(&mut text, result);
    phases(&mut text, result);
    events(&mut text, result);
    expectations(&mut text, result);
    text
}

/// How a board did, for text and page.
pub fn board_words(board: &BoardResult) -> String {
    match &board.fault {
        None => format!("on the board by {}: the same as on the host in every scan", board.line),
        Some(fault) => {
            let on = if fault.on.is_empty() { "nothing".to_owned() } else { fault.on.join(", ") };
            format!("on the board by {}, lost at {}: {}; then on: {on}", board.line, clock(fault.t_s), fault.why)
        }
    }
}

/// A whole number with thin groups of three, for long speeds.
fn grouped(value: f64) -> String {
    let digits = format!("{:.0}", value.max(0.0));
    let mut out = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            out.push(' ');
        }
        out.push(digit);
    }
    out
}

fn figures(text: &mut String, result: &RunResult) {
    let gram = |value: f64| format!("{value:>8.1} g");
    let (recovered, charged) = (result.recovered_g, result.charged_g);
    let _ = writeln!(text, "  {:<14}{:>10}{:>12}{:>12}", "", "shown", "true", "difference");
    let mut row = |name: &str, shown: f64, truth: f64, unit: &str| {
        let _ = writeln!(text, "  {name:<14}{shown:>10.1}{truth:>12.1}{:>+12.1} {unit}", shown - truth);
    };
    row("recovered", recovered.shown, recovered.truth, "g");
    row("charged", charged.shown, charged.truth, "g");
    row("oil drained", result.oil_drained_ml, result.oil_drained_ml_true, "mL");
    if let Some(target) = charged.target {
        let _ = writeln!(
            text,
            "  {:<14}{}  (true charge {:+.1} g off)",
            "charge target",
            gram(target),
            charged.truth - target
        );
    }
    let leak = &result.leak;
    let rate = match (leak.below_pa_m3_per_s, leak.below_g_per_year) {
        (Some(si), Some(year)) => format!(
            ", air inflow below {} Pa m3/s, as refrigerant below {} g/year",
            significant(si, 3),
            significant(year, 3)
        ),
        _ => measured(leak),
    };
    let _ = writeln!(text, "  {:<14}  {}{rate}", "leak check", readable(&leak.verdict).to_lowercase());
    if let (Some(si), Some(year)) = (leak.smallest_pa_m3_per_s, leak.smallest_g_per_year) {
        let figures = (significant(si, 3), significant(year, 3));
        let _ =
            writeln!(text, "  {:<14}  smallest this hold could see: {} Pa m3/s, {} g/year", "", figures.0, figures.1);
    }
    for (at, one) in result.balances.iter().enumerate() {
        let name = if at == 0 { "balances" } else { "" };
        let figures = (significant(one.scale, 4), significant(one.left, 3), significant(one.error, 2));
        let (scale, left, error) = figures;
        let unit = &one.unit;
        let _ = writeln!(
            text,
            "  {name:<14}  {}: {scale} {unit}, of which {left} {unit} left; error {error} {unit}",
            one.what
        );
    }
    if let Some(fault) = &result.plant_fault {
        let _ = writeln!(text, "  {:<14}  the plant could not go on: {fault}", "ended early");
    }
    let _ = writeln!(text, "  {:<14}  {}\n", "trace hash", result.trace_hash);
}

/// What was measured, where that is more than a limit.
fn measured(leak: &LeakResult) -> String {
    match (leak.pa_m3_per_s, leak.g_per_year) {
        (Some(si), Some(year)) => format!(", {} Pa m3/s, {} g/year", significant(si, 3), significant(year, 3)),
        _ => String::new(),
    }
}

fn phases(text: &mut String, result: &RunResult) {
    for phase in &result.phases {
        let sign = paint(outcome_style(phase.outcome), format!("{} {:<10}", mark(phase.outcome), phase.outcome.word()));
        let _ =
            writeln!(text, "  {sign} {:<12} {:>13}  {}", readable(&phase.name), duration(phase.seconds), phase.detail);
    }
}

fn events(text: &mut String, result: &RunResult) {
    for trip in &result.interlocks {
        let end = trip.cleared_t_s.map_or("stands".to_owned(), |t| format!("released {}", clock(t)));
        let line = format!("{:>8}  {}  {}: {} ({end})", clock(trip.t_s), trip.id, trip.cause, trip.reading);
        let _ = writeln!(text, "{}", paint(RED, line));
    }
    if result.notices.is_empty() {
        return;
    }
    let _ = writeln!(text, "\n{}", paint(BOLD, "Notices"));
    let hidden = result.notices.len().saturating_sub(MOST_NOTICES);
    if hidden > 0 {
        let _ = writeln!(text, "{}", paint(SOFT, format!("          ... {hidden} earlier ones stand in the report")));
    }
    for notice in result.notices.iter().skip(hidden) {
        let _ = writeln!(text, "{:>8}  {}", clock(notice.t_s), notice.text);
    }
}

fn expectations(text: &mut String, result: &RunResult) {
    if result.expectations.is_empty() {
        return;
    }
    let _ = writeln!(text, "\n{}", paint(BOLD, "Expectations"));
    for one in &result.expectations {
        let sign = if one.held { paint(GREEN, "✓ held  ") } else { paint(RED, "✕ failed") };
        let _ = writeln!(text, "  {sign} {:<28} {}", one.name, one.detail);
    }
}
