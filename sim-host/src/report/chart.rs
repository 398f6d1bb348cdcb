//! The chart of a run: phases, measurements, actuators and events on one time axis.

use maud::{Markup, html};

use super::axis::{Axis, clock, duration, significant, time_step};
use super::data::{ActuatorTrack, Outcome, PhaseSpan, RunResult, Trace};
use super::hazards;
use super::lane::{LEFT, Lane, RIGHT, WIDTH, list, px};
use crate::display::Display;

const GAP: f64 = 14.0;
const PHASES: f64 = 30.0;
const EVENTS: f64 = 26.0;
const STRIP: f64 = 13.0;
/// Estimated width of a character at the size of the phase names, px; used only to leave out names that would not fit.
const CHARACTER: f64 = 6.6;

/// Mark and word of an outcome, so that colour is never the only sign.
pub fn mark(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Pass => "✓",
        Outcome::Failed => "✕",
        Outcome::Refused => "!",
        Outcome::Aborted => "■",
        Outcome::Skipped => "–",
        Outcome::Unfinished => "…",
    }
}

/// `leak_check` as `Leak check`.
pub fn readable(word: &str) -> String {
    let mut text = word.replace('_', " ");
    if let Some(first) = text.get_mut(0..1) {
        first.make_ascii_uppercase();
    }
    text
}

/// The whole drawing as one SVG element, of a trace in the units of the display, and a list of its lines for narrow screens.
pub fn chart(result: &RunResult, trace: &Trace, display: &Display) -> Markup {
    let end = trace.end_s().max(1.0);
    let time = Axis::linear(0.0, end, LEFT, RIGHT);
    let step = time_step(end, 14);
    let ticks: Vec<f64> = (0..=(end / step) as u64).map(|at| at as f64 * step).collect();
    let lanes = super::lane::lanes(trace, display);

    let phases_top = 22.0;
    let events_top = phases_top + PHASES + 6.0;
    let mut top = events_top + EVENTS + 8.0;
    let mut tops = Vec::with_capacity(lanes.len());
    for lane in &lanes {
        tops.push(top);
        top += lane.room() + GAP;
    }
    let strips_top = top;
    let strips_height = trace.actuators.len() as f64 * STRIP;
    let bands_top = strips_top + strips_height + GAP;
    let bottom = strips_top + strips_height + hazards::room(trace);
    html! {
        (list(&lanes))
        div.chart-scroll { svg #chart xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {WIDTH} {}", bottom + 26.0)) role="img" tabindex="0"
            data-left=(LEFT) data-right=(RIGHT) data-end=(end) aria-labelledby="chart-title chart-text" {
            title #chart-title { "The job over time" }
            desc #chart-text { (describe(result, &lanes, end)) }
            (time_axis(&time, &ticks, step, 14.0))
            (phase_band(trace, &time, phases_top))
            (event_lane(result, &time, events_top, display))
            @for (lane, top) in lanes.iter().zip(&tops) { (lane.draw(trace, &time, *top, &ticks)) }
            (strips(&trace.actuators, &time, strips_top, &ticks))
            (hazards::bands(trace, &time, bands_top, &ticks))
            (phase_edges(trace, &time, phases_top + PHASES, bottom))
            (fault_spans(result, &time, end, [events_top + EVENTS, bottom]))
            (trip_lines(result, &time, [events_top, bottom], display))
            (time_axis(&time, &ticks, step, bottom + 18.0))
            g #cursor visibility="hidden" {
                line.cursor y1=(phases_top - 2.0) y2=(bottom) {}
                rect.cursor-box y="2" width="58" height="16" rx="3" {}
                text #cursor-time y="14" text-anchor="middle" {}
            }
        } }
    }
}

fn describe(result: &RunResult, lanes: &[Lane], end: f64) -> String {
    let names: Vec<&str> = lanes.iter().map(|lane| lane.title).collect();
    format!(
        "Time from 0 to {}. Lanes from top to bottom: phases, notices and trips, {}, actuator states, margins of hazards. {} phases, {} notices, {} trips.",
        duration(end),
        names.join(", "),
        result.phases.len(),
        result.notices.len(),
        result.interlocks.len()
    )
}

fn time_axis(time: &Axis, ticks: &[f64], step: f64, y: f64) -> Markup {
    let seconds = step < 60.0;
    let label = |t: f64| {
        if seconds { clock(t) } else { significant(t / 60.0, 5) }
    };
    html! {
        @for tick in ticks { text.tick x=(px(time.px(*tick))) y=(y) text-anchor="middle" { (label(*tick)) } }
        text.tick x=(RIGHT + 10.0) y=(y) { @if seconds { "min:s" } @else { "min" } }
    }
}

fn phase_band(trace: &Trace, time: &Axis, top: f64) -> Markup {
    html! {
        text.lane-title x="0" y=(top + 19.0) { "Phases" }
        @for (at, phase) in trace.phases.iter().enumerate() { (phase_box(at + 1, phase, time, top)) }
    }
}

/// Phase limits through all lanes; drawn over them.
fn phase_edges(trace: &Trace, time: &Axis, top: f64, bottom: f64) -> Markup {
    html! {
        @for phase in trace.phases.iter().skip(1) {
            line.phase-edge x1=(px(time.px(phase.span.start_s))) x2=(px(time.px(phase.span.start_s))) y1=(top) y2=(bottom) {}
        }
    }
}

fn phase_box(number: usize, phase: &PhaseSpan, time: &Axis, top: f64) -> Markup {
    let (from, to) = (time.px(phase.span.start_s), time.px(phase.span.end_s));
    let width = (to - from).max(1.0);
    let fits = |text: &str| text.chars().count() as f64 * CHARACTER + 8.0 <= width;
    let name = readable(&phase.name);
    let sign = mark(phase.outcome);
    let choices = [format!("{sign} {number} {name}"), format!("{sign} {number}"), number.to_string()];
    let text = choices.into_iter().find(|text| fits(text)).unwrap_or_default();
    let length = duration(phase.span.end_s - phase.span.start_s);
    html! {
        g.phase.(phase.outcome.word()) {
            title { (number) " " (name) ": " (phase.outcome.word()) ", " (length) }
            rect x=(px(from)) y=(top) width=(px(width)) height=(PHASES) {}
            text x=(px(from + width / 2.0)) y=(top + 19.5) text-anchor="middle" { (text) }
        }
    }
}

/// Notices as numbered flags, trips as red diamonds; a number is left out where it would touch the one before.
fn event_lane(result: &RunResult, time: &Axis, top: f64, display: &Display) -> Markup {
    let mut free_from = f64::NEG_INFINITY;
    let flags: Vec<(f64, usize, bool)> = result
        .notices
        .iter()
        .enumerate()
        .map(|(at, notice)| {
            let x = time.px(notice.t_s);
            let room = x - 8.0 >= free_from;
            free_from = if room { x + 8.0 } else { free_from };
            (x, at + 1, room)
        })
        .collect();
    html! {
        text.lane-title x="0" y=(top + 11.0) { "Notices" }
        text.lane-unit x="0" y=(top + 24.0) { "◆ interlock trips" }
        line.rule x1=(LEFT) x2=(RIGHT) y1=(top + EVENTS) y2=(top + EVENTS) {}
        @for ((x, number, room), notice) in flags.iter().zip(&result.notices) {
            g.notice {
                title lang=[display.foreign()] { (number) ". " (clock(notice.t_s)) " " (notice.on(display)) }
                line x1=(px(*x)) x2=(px(*x)) y1=(top + 13.0) y2=(top + EVENTS) {}
                @if *room { text x=(px(*x)) y=(top + 10.0) text-anchor="middle" { (number) } }
            }
        }
    }
}

/// Each fault from when it came to when it went: a band through all lanes and its id at its head.
fn fault_spans(result: &RunResult, time: &Axis, end: f64, [top, bottom]: [f64; 2]) -> Markup {
    html! {
        @for (at, fault) in result.faults.iter().enumerate() {
            @if let Some(began) = fault.began_s {
                @let (from, to) = (time.px(began), time.px(fault.ended_s.unwrap_or(end)));
                g.fault {
                    title { (fault.words()) ", from " (clock(began)) @if let Some(ended) = fault.ended_s { " to " (clock(ended)) } }
                    rect x=(px(from)) y=(px(top)) width=(px((to - from).max(1.0))) height=(px(bottom - top)) {}
                    text x=(px(from + 2.0)) y=(px(top + 9.0 + 10.0 * (at % 4) as f64)) { (fault.id) }
                }
            }
        }
    }
}

fn trip_lines(result: &RunResult, time: &Axis, [top, bottom]: [f64; 2], display: &Display) -> Markup {
    let y = top + EVENTS - 6.0;
    html! {
        @for trip in &result.interlocks {
            @let x = time.px(trip.t_s);
            g.trip {
                title { (trip.id) " at " (clock(trip.t_s)) ": " (trip.reading.on(display)) }
                line x1=(px(x)) x2=(px(x)) y1=(y) y2=(bottom) {}
                path d=(format!("M{} {}l6 6-6 6-6-6z", px(x), px(y - 6.0))) {}
                text x=(px(x + 8.0)) y=(px(y + 4.0)) { (trip.id) }
            }
        }
    }
}

fn strips(tracks: &[ActuatorTrack], time: &Axis, top: f64, ticks: &[f64]) -> Markup {
    let height = tracks.len() as f64 * STRIP;
    html! {
        rect.lane x=(LEFT) y=(top) width=(RIGHT - LEFT) height=(height) {}
        text.lane-title x="0" y=(top + 12.0) { "Actuators" }
        text.lane-unit x="0" y=(top + 26.0) { "bar: on" }
        @for tick in ticks { line.grid x1=(px(time.px(*tick))) x2=(px(time.px(*tick))) y1=(top) y2=(top + height) {} }
        @for (at, track) in tracks.iter().enumerate() { (strip(at, track, time, top + at as f64 * STRIP)) }
    }
}

fn strip(index: usize, track: &ActuatorTrack, time: &Axis, top: f64) -> Markup {
    let total: f64 = track.on.iter().map(|span| span.end_s - span.start_s).sum();
    let summary =
        if track.on.is_empty() { "off".to_owned() } else { format!("{}, {}×", duration(total), track.on.len()) };
    let kind = if track.tag.starts_with("XV") { "valve" } else { "motor" };
    html! {
        g.strip data-strip=(index) data-on=(spans(track)) {
            text.tick x=(LEFT - 6.0) y=(top + 10.0) text-anchor="end" { (track.tag) }
            line.grid x1=(LEFT) x2=(RIGHT) y1=(top + STRIP) y2=(top + STRIP) {}
            @for span in &track.on {
                @let (from, to) = (time.px(span.start_s), time.px(span.end_s));
                rect class=(kind) x=(px(from)) y=(top + 2.5) width=(px((to - from).max(0.8))) height=(STRIP - 5.0) {}
            }
            text.name x=(RIGHT + 10.0) y=(top + 10.0) { (role(&track.tag)) }
            text.value x=(WIDTH) y=(top + 10.0) text-anchor="end" data-range=(summary) { (summary) }
        }
    }
}

fn spans(track: &ActuatorTrack) -> String {
    let list: Vec<String> = track.on.iter().map(|span| format!("{:.1},{:.1}", span.start_s, span.end_s)).collect();
    list.join(" ")
}

/// What an actuator is for, for readers who do not know the tags.
fn role(tag: &str) -> &'static str {
    match tag {
        "XV-1" => "low-side service",
        "XV-2" => "high-side service",
        "XV-3" => "recovery inlet",
        "XV-4" => "discharge to vessel",
        "XV-5" => "liquid charge",
        "XV-6" => "vacuum isolation",
        "XV-7" => "non-condensable purge",
        "XV-8" => "used-oil drain",
        "XV-9" => "new-oil injection",
        "XV-10" => "vessel liquid isolation",
        "C-1" => "compressor",
        "P-1" => "vacuum pump",
        "H-1" => "vessel heater",
        "K-1" => "cabinet fan",
        _ => "",
    }
}
