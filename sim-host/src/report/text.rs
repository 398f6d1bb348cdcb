//! The result for a terminal: a verdict, the figures, the phases, what was said. Colours are stripped by the printer where there is no terminal.

use std::fmt::Write;

use anstyle::{AnsiColor, Style};

use super::axis::{clock, duration, significant};
use super::chart::{mark, readable};
use super::data::{HazardLevel, Outcome, RunResult, Verdict};
use super::driver::{self, driven};
use super::proof::{self, balance_unit};
use super::properties;
use super::{hazards, jobs};
use crate::display::{Amount, Display, STANDARD};

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
pub fn summary(title: &str, result: &RunResult, display: &Display) -> String {
    let mut text = String::new();
    // Writing to a String cannot fail, so the results below are let go.
    let verdict = jobs::passed(result).unwrap_or_else(|| result.verdict.word().to_uppercase());
    let verdict = driver::verdict(result, &verdict);
    let _ = writeln!(text, "{}   {}", paint(BOLD, title), paint(verdict_style(result.verdict).bold(), verdict));
    let facts = format!(
        "{} on {}, seed {}: {} simulated in {:.3} s, {} x real time, {} scans",
        result.scenario,
        result.station.name,
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
            paint(YELLOW, format!("Partial: {}; the figures stand for the part that ran.", driver::cut_off(result)))
        );
    }
    if !result.without.is_empty() {
        let words =
            format!("WHAT IF: row {} of the interlock table left out; no station is run so", result.without.join(", "));
        let _ = writeln!(text, "{}", paint(YELLOW, words));
    }
    if !result.moved.is_empty() {
        let words = format!(
            "WHAT IF: set point {} of the interlock table moved; no station is run so",
            result.moved.join(", ")
        );
        let _ = writeln!(text, "{}", paint(YELLOW, words));
    }
    if let Some(words) = driven(result) {
        let style = if result.controller.fault.is_some() { YELLOW } else { SOFT };
        let _ = writeln!(text, "{}", paint(style, words));
    }
    if *display != STANDARD {
        let _ = writeln!(text, "{}", paint(SOFT, format!("figures in {}", display.setting())));
    }
    text.push('\n');
    text += &jobs::lines(result, display);
    figures(&mut text, result, display);
    phases(&mut text, result, display);
    faults(&mut text, result);
    trips(&mut text, result, display);
    told_hazards(&mut text, result, display);
    notices(&mut text, result, display);
    expectations(&mut text, result, display);
    text
}

fn faults(text: &mut String, result: &RunResult) {
    if result.faults.is_empty() {
        return;
    }
    let _ = writeln!(text, "\n{}", paint(BOLD, "Faults"));
    for one in &result.faults {
        let when = match (one.began_s, one.ended_s) {
            (None, _) => paint(RED, format!("never came, which was to be {}", one.begins)),
            (Some(from), None) => format!("from {} on", clock(from)),
            (Some(from), Some(to)) => format!("{} to {}", clock(from), clock(to)),
        };
        let _ = writeln!(text, "  {}  {when}", one.words());
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

fn figures(text: &mut String, result: &RunResult, display: &Display) {
    let (recovered, charged) = (result.recovered_g, result.charged_g);
    let _ = writeln!(text, "  {:<14}{:>10}{:>12}{:>12}", "", "shown", "true", "difference");
    let mut row = |name: &str, shown: Option<Amount>, truth: Amount| {
        let truth = display.figure(truth);
        let (places, unit) = (truth.places, truth.unit);
        let line = match shown.map(|shown| display.figure(shown).value) {
            Some(shown) => {
                let off = shown - truth.value;
                format!("{shown:>10.places$}{:>12.places$}{off:>+12.places$} {unit}", truth.value)
            }
            None => format!("{:>10}{:>12.places$}{:>12} {unit}", "not said", truth.value, ""),
        };
        let _ = writeln!(text, "  {name:<14}{line}");
    };
    let gram = |value: f64| Amount::Mass(value * 1e-3);
    let oil = |ml: f64| Amount::Oil(ml * 1e-6);
    row("recovered", recovered.shown.map(gram), gram(recovered.truth));
    row("charged", charged.shown.map(gram), gram(charged.truth));
    row("oil drained", result.oil_drained_ml.map(oil), oil(result.oil_drained_ml_true));
    let single = !jobs::is_row(result);
    if let Some(target) = charged.target.filter(|_| single) {
        let (goal, off) = (display.figure(gram(target)), Amount::MassDifference((charged.truth - target) * 1e-3));
        let (places, unit) = (goal.places, goal.unit);
        let off = display.words(off);
        let _ = writeln!(text, "  {:<14}{:>8.places$} {unit}  (true charge {off} off)", "charge target", goal.value);
    }
    if single {
        leak(text, result, display);
    }
    for (at, one) in result.balances.iter().enumerate() {
        let name = if at == 0 { "balances" } else { "" };
        let (by, unit) = balance_unit(&one.unit, display);
        let figures = (significant(one.scale * by, 4), significant(one.left * by, 3), significant(one.error * by, 2));
        let (scale, left, error) = figures;
        let _ = writeln!(
            text,
            "  {name:<14}  {}: {scale} {unit}, of which {left} {unit} left; error {error} {unit}",
            one.what
        );
    }
    let _ = writeln!(text, "  {:<14}  {}", "in truth", proof::reached(result, display));
    if let Some(fault) = &result.plant_fault {
        let _ = writeln!(text, "  {:<14}  the plant could not go on: {fault}", "ended early");
    }
    let _ = writeln!(text, "  {:<14}  {}\n", "trace hash", result.trace_hash);
}

fn leak(text: &mut String, result: &RunResult, display: &Display) {
    let leak = &result.leak;
    let year = |gram: f64| {
        let figure = display.figure(Amount::Loss(gram * 1e-3));
        format!("{} {}", significant(figure.value, 3), figure.unit)
    };
    let rate = match (leak.below_pa_m3_per_s, leak.below_g_per_year, leak.pa_m3_per_s, leak.g_per_year) {
        (Some(si), Some(gram), ..) => {
            format!(", air inflow below {} Pa m3/s, as refrigerant below {}", significant(si, 3), year(gram))
        }
        (_, _, Some(si), Some(gram)) => format!(", {} Pa m3/s, {}", significant(si, 3), year(gram)),
        _ => String::new(),
    };
    let _ = writeln!(text, "  {:<14}  {}{rate}", "leak check", readable(&leak.verdict).to_lowercase());
    if let (Some(si), Some(gram)) = (leak.smallest_pa_m3_per_s, leak.smallest_g_per_year) {
        let figures = (significant(si, 3), year(gram));
        let _ = writeln!(text, "  {:<14}  smallest this hold could see: {} Pa m3/s, {}", "", figures.0, figures.1);
    }
}

fn phases(text: &mut String, result: &RunResult, display: &Display) {
    let mut last = None;
    for (at, phase) in result.phases.iter().enumerate() {
        let job = jobs::job_of(result, at);
        if let Some(number) = job.filter(|_| job != last) {
            let _ = writeln!(text, "{}", paint(SOFT, format!("  job {number}")));
        }
        last = job;
        let sign = paint(outcome_style(phase.outcome), format!("{} {:<10}", mark(phase.outcome), phase.outcome.word()));
        let (name, detail) = (readable(&phase.name), phase.detail.on(display));
        let _ = writeln!(text, "  {sign} {name:<12} {:>13}  {detail}", duration(phase.seconds));
    }
}

fn trips(text: &mut String, result: &RunResult, display: &Display) {
    if !result.interlocks.is_empty() {
        let _ = writeln!(text, "\n{}", paint(BOLD, "Interlock trips"));
    }
    for trip in &result.interlocks {
        let end = trip.cleared_t_s.map_or("stands".to_owned(), |t| format!("released {}", clock(t)));
        let line = format!("{:>8}  {}  {} ({end})", clock(trip.t_s), trip.id, trip.reading.on(display));
        let _ = writeln!(text, "{}", paint(RED, line));
        let waits = trip.waits_for.on(display);
        for (name, what) in [("waits for", waits.as_str()), ("to clear", &trip.to_clear), ("why", &trip.cause)] {
            if !what.is_empty() {
                let _ = writeln!(text, "               {}", paint(SOFT, format!("{name}: {what}")));
            }
        }
    }
}

fn told_hazards(text: &mut String, result: &RunResult, display: &Display) {
    if !result.hazards.is_empty() {
        let _ = writeln!(text, "\n{}", paint(BOLD, "Hazards, in truth"));
    }
    for (level, line) in hazards::lines(result, display) {
        let style = match level {
            HazardLevel::None => SOFT,
            HazardLevel::Alert => YELLOW,
            HazardLevel::Accident => RED,
        };
        let _ = writeln!(text, "{}", paint(style, line));
    }
}

fn notices(text: &mut String, result: &RunResult, display: &Display) {
    if result.notices.is_empty() {
        return;
    }
    let _ = writeln!(text, "\n{}", paint(BOLD, "Notices"));
    let hidden = result.notices.len().saturating_sub(MOST_NOTICES);
    if hidden > 0 {
        let _ = writeln!(text, "{}", paint(SOFT, format!("          ... {hidden} earlier ones stand in the report")));
    }
    for notice in result.notices.iter().skip(hidden) {
        let _ = writeln!(text, "{:>8}  {}", clock(notice.t_s), notice.on(display));
    }
}

fn expectations(text: &mut String, result: &RunResult, display: &Display) {
    if result.expectations.is_empty() && properties::not_judged(result).next().is_none() {
        return;
    }
    let _ = writeln!(text, "\n{}", paint(BOLD, "Expectations"));
    for one in &result.expectations {
        let sign = if one.held { paint(GREEN, "✓ held  ") } else { paint(RED, "✕ failed") };
        // A name that is longer than its column has the line for itself.
        let gap = if one.name.chars().count() > 28 { "\n           " } else { "" };
        let _ = writeln!(text, "  {sign} {:<28} {gap}{}", one.name, one.detail.on(display));
    }
    for (name, one) in properties::not_judged(result) {
        let _ = writeln!(text, "  {} {name:<28} {}", paint(YELLOW, "– open  "), one.detail.on(display));
    }
    let failed = result.expectations.iter().any(|one| !one.held);
    if let Some(command) = result.replay.as_ref().filter(|_| failed) {
        let _ = writeln!(text, "  to see it again: {command}");
    }
}
