//! The hazards of a run in truth: a few lines for a terminal, a table for the page, bands of margins under the traces.

use std::fmt::Write;

use maud::{Markup, html};

use super::axis::{Axis, clock, duration, significant};
use super::data::{HazardBand, HazardFigure, HazardLevel, HazardResult, Kind, RunResult, Trace};
use super::lane::{LEFT, RIGHT, WIDTH, px};
use crate::display::Display;

/// Height of a band, px.
pub const BAND: f64 = 13.0;

/// A figure with what it is.
pub fn figure(of: &HazardFigure, display: &Display) -> String {
    let (si, kind) = of.si;
    let words = match (kind, kind.amount(si)) {
        (_, Some(amount)) => display.words(amount),
        (Kind::Time, None) => duration(si),
        (Kind::Count, None) => significant(of.value, 3),
        (Kind::Flow, None) => {
            let (scale, _, unit) = display.channel("g/s");
            format!("{} {unit}", significant(of.value * scale, 3))
        }
        (_, None) => format!("{} {}", significant(of.value, 3), of.unit),
    };
    format!("{words} {}", of.what)
}

/// Sign of a level, so that colour is never the only one.
fn sign(level: HazardLevel) -> &'static str {
    match level {
        HazardLevel::None => "✓",
        HazardLevel::Alert => "!",
        HazardLevel::Accident => "✕",
    }
}

fn first(one: &HazardResult) -> Option<f64> {
    one.accident_t_s.or(one.alert_t_s)
}

/// What is judged and far away, and what could not be judged, in a sentence each.
fn rest(result: &RunResult) -> Vec<String> {
    let judged = || result.hazards.iter().filter(|one| one.not_judged.is_none());
    let calm = judged().filter(|one| one.level == HazardLevel::None);
    let closest = calm.clone().min_by(|a, b| a.worst_margin.total_cmp(&b.worst_margin));
    let mut told = Vec::new();
    if let Some(one) = closest {
        let (count, id, title, margin) = (calm.count(), one.id, one.title, significant(one.worst_margin, 3));
        let others = if count == 1 { "other" } else { "others" };
        told.push(format!(
            "{count} {others} stayed below the alert level; the closest was {id} ({title}), margin {margin}"
        ));
    }
    let mut reasons: Vec<(&str, Vec<&str>)> = Vec::new();
    for one in &result.hazards {
        let Some(why) = one.not_judged else { continue };
        match reasons.iter_mut().find(|(known, _)| *known == why) {
            Some((_, ids)) => ids.push(one.id),
            None => reasons.push((why, vec![one.id])),
        }
    }
    told.extend(reasons.into_iter().map(|(why, ids)| format!("not judged: {} ({why})", ids.join(", "))));
    let unseen = result.hazards.iter().filter_map(|one| Some((one.id, one.unseen_t_s?)));
    told.extend(unseen.map(|(id, t)| format!("from {} on the plant gave no number to judge {id} by", clock(t))));
    told
}

/// Those that came to a level as lines, each with its level for a colour, and what else is worth saying.
pub fn lines(result: &RunResult, display: &Display) -> Vec<(HazardLevel, String)> {
    let reached = result.hazards.iter().filter(|one| one.level > HazardLevel::None);
    let mut all: Vec<(HazardLevel, String)> = reached
        .map(|one| {
            let mut line = format!("  {} {:<9} {} {:<36}", sign(one.level), one.level.word(), one.id, one.title);
            let (margin, worst) = (significant(one.worst_margin, 3), figure(&one.figure, display));
            let from = first(one).map_or(String::new(), clock);
            // Writing to a String cannot fail.
            let _ = write!(line, "from {from:>7}, worst at {}: margin {margin}, {worst}", clock(one.worst_t_s));
            (one.level, line)
        })
        .collect();
    all.extend(rest(result).into_iter().map(|line| (HazardLevel::None, format!("  {line}"))));
    all
}

/// Every hazard that came to a level or near it as a table.
pub fn table(result: &RunResult, display: &Display) -> Markup {
    let shown = |one: &&HazardResult| one.level > HazardLevel::None || one.worst_margin < 0.75;
    html! {
        @if result.hazards.is_empty() { p { "They were not judged in this run." } }
        @else {
            table {
                thead { tr { th { "" } th { "Hazard" } th { "Level" } th.number { "First" } th.number { "Least margin" } th { "Then" } } }
                tbody {
                    @for one in result.hazards.iter().filter(shown) {
                        tr {
                            td.nowrap { (one.id) }
                            td { (one.title) }
                            td.nowrap { span.pill.(pill(one.level)) { (sign(one.level)) " " (one.level.word()) } }
                            td.number.nowrap { (first(one).map_or("–".to_owned(), clock)) }
                            td.number.nowrap { (significant(one.worst_margin, 3)) " at " (clock(one.worst_t_s)) }
                            td { (figure(&one.figure, display)) }
                        }
                    }
                }
            }
            @for line in rest(result) { p.soft { (line) "." } }
        }
    }
}

const fn pill(level: HazardLevel) -> &'static str {
    match level {
        HazardLevel::None => "pass",
        HazardLevel::Alert => "refused",
        HazardLevel::Accident => "failed",
    }
}

/// Height that the bands take, px.
pub fn room(trace: &Trace) -> f64 {
    if trace.hazards.is_empty() { 0.0 } else { trace.hazards.len() as f64 * BAND + 14.0 }
}

/// The margins of the hazards that moved as bands: the nearer the accident, the higher and the more marked.
pub fn bands(trace: &Trace, time: &Axis, top: f64, ticks: &[f64]) -> Markup {
    let height = trace.hazards.len() as f64 * BAND;
    html! {
        @if !trace.hazards.is_empty() {
            rect.lane x=(LEFT) y=(top) width=(RIGHT - LEFT) height=(height) {}
            text.lane-title x="0" y=(top + 12.0) { "Hazards" }
            text.lane-unit x="0" y=(top + 26.0) { "margin, in truth" }
            @for tick in ticks { line.grid x1=(px(time.px(*tick))) x2=(px(time.px(*tick))) y1=(top) y2=(top + height) {} }
            @for (at, one) in trace.hazards.iter().enumerate() { (band(one, trace.end_s(), time, top + at as f64 * BAND)) }
        }
    }
}

fn band(one: &HazardBand, end: f64, time: &Axis, top: f64) -> Markup {
    let ends = one.steps.iter().skip(1).map(|step| step.0).chain([end]);
    let worst = one.steps.iter().map(|step| step.1).fold(1.0, f32::min);
    html! {
        g.hazard {
            text.tick x=(LEFT - 6.0) y=(top + 10.0) text-anchor="end" { (one.id) }
            line.grid x1=(LEFT) x2=(RIGHT) y1=(top + BAND) y2=(top + BAND) {}
            @for ((from, margin), to) in one.steps.iter().zip(ends) {
                @if let Some((class, share)) = grade(*margin) {
                    @let (x, height) = (time.px(*from), (BAND - 3.0) * share);
                    rect class=(class) x=(px(x)) y=(px(top + BAND - 1.5 - height)) width=(px((time.px(to) - x).max(0.8))) height=(px(height)) {
                        title { (one.id) ", margin " (significant(f64::from(*margin), 3)) " from " (clock(*from)) " to " (clock(to)) }
                    }
                }
            }
            text.name x=(RIGHT + 10.0) y=(top + 10.0) { (one.title) }
            text.value x=(WIDTH) y=(top + 10.0) text-anchor="end" { (significant(f64::from(worst), 3)) }
        }
    }
}

/// Class and height of a margin; nothing where the hazard is far.
fn grade(margin: f32) -> Option<(&'static str, f64)> {
    match margin {
        m if m <= 0.0 => Some(("accident", 1.0)),
        m if m <= 0.5 => Some(("alert", 0.75)),
        m if m <= 0.75 => Some(("near", 0.5)),
        m if m <= 0.9 => Some(("far", 0.25)),
        _ => None,
    }
}

/// What the bands mean.
pub fn key(trace: &Trace) -> Markup {
    let one = |class: &'static str, share: f64, words: &'static str| {
        html! {
            span {
                svg viewBox="0 0 26 10" { rect class=(class) x="0" y=(10.0 - 10.0 * share) width="26" height=(10.0 * share) {} }
                (words)
            }
        }
    };
    html! {
        @if !trace.hazards.is_empty() {
            p.key.hazard {
                span { "Hazards: margin 1 at rest, 0 at the accident level; figure at the right: the least." }
                (one("far", 0.25, "0.9 and less"))
                (one("near", 0.5, "0.75 and less"))
                (one("alert", 0.75, "0.5 and less: alert"))
                (one("accident", 1.0, "0 and less: accident"))
            }
        }
    }
}
