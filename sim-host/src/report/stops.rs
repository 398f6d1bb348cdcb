//! Why a run stopped, told for a terminal and for the page: each stop from its cause to what became of the work, truth apart.

use maud::{Markup, html};

use super::axis::{clock, duration};
use super::data::{Cause, CauseKind, HazardCame, InputSeen, Moment, Places, RunResult, Stop};
use crate::display::wrap::{SOFT, bold, wrapped};
use crate::display::{Amount, Display};
use crate::matrix::Measure;

/// Columns of the text, and of the names at its left.
const WIDTH: usize = 108;
const NAMES: usize = 16;

/// A line of an explanation: its name and its words.
type Line = (&'static str, String);

/// A stop in one line.
fn title(stop: &Stop, display: &Display) -> String {
    let first = stop.causes.first();
    let told = first.is_some_and(|one| one.phase.is_some());
    let place = stop.phase.filter(|_| !told).map(|phase| format!("in the {phase}, ")).unwrap_or_default();
    let what = first.map(|one| head(one, display)).unwrap_or_default();
    format!("at {}, {place}{what}", clock(stop.t_s))
}

fn head(one: &Cause, display: &Display) -> String {
    let row = one.row.unwrap_or_default();
    match one.kind {
        CauseKind::Trip => format!("interlock {row} tripped"),
        CauseKind::Latch => format!("interlock {row} latched"),
        CauseKind::GiveUp => {
            one.phase.map_or_else(|| one.what.on(display), |phase| format!("the {phase} was given up"))
        }
        CauseKind::Refusal => "an order was refused".to_owned(),
        _ => one.what.on(display),
    }
}

fn times(list: &[f64]) -> String {
    const SHOWN: usize = 6;
    let mut words: Vec<String> = list.iter().take(SHOWN).map(|t| clock(*t)).collect();
    if let Some(more) = list.len().checked_sub(SHOWN).filter(|more| *more > 0) {
        words.push(if more == 1 { "once more".to_owned() } else { format!("{more} times more") });
    }
    words.join(", ")
}

/// What was read, and how far it was believed; of several that are believed alike it is said once.
fn inputs(list: &[InputSeen], display: &Display) -> Vec<String> {
    let read = |one: &InputSeen| {
        let since = one.doubted_since_s.map(|t| format!(" (told at {})", clock(t))).unwrap_or_default();
        format!("{} ({}): {}{since}", one.tag, one.name, one.reading.on(display))
    };
    let mut lines = Vec::new();
    let mut rest = list;
    while let Some(first) = rest.first() {
        let alike = rest.iter().take_while(|one| one.believed == first.believed).count();
        let (now, later) = rest.split_at(alike);
        lines.extend(now.iter().map(read));
        if !first.believed.is_empty() {
            let all = if alike > 1 { "all " } else { "" };
            lines.push(format!("{all}{}", first.believed.on(display)));
        }
        rest = later;
    }
    lines
}

fn cause(one: &Cause, display: &Display) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    let mut line = |name, text: String| {
        if !text.is_empty() {
            lines.push((name, text));
        }
    };
    if head(one, display) != one.what.on(display) {
        line(if one.kind == CauseKind::GiveUp { "because" } else { "what happened" }, one.what.on(display));
    }
    for (at, moment) in one.found.iter().enumerate() {
        line(if at == 0 { "found before" } else { "" }, format!("{}  {}", clock(moment.t_s), moment.text.on(display)));
    }
    for (at, read) in inputs(&one.inputs, display).into_iter().enumerate() {
        line(if at == 0 { "it read" } else { "" }, read);
    }
    match one.row {
        Some(row) => line("the rule", format!("row {row} acts on: {}", one.acts.on(display))),
        None => line("waited for", one.acts.on(display)),
    }
    line("why the rule", one.why.on(display));
    for (at, did) in one.did.iter().enumerate() {
        line(if at == 0 { "what it did" } else { "" }, did.on(display));
    }
    line("does it stay", one.latch.on(display));
    line("to clear it", one.to_clear.on(display));
    if !one.again_t_s.is_empty() {
        line("it came again", format!("at {}", times(&one.again_t_s)));
    }
    match (one.row, one.cleared_t_s) {
        (Some(row), Some(t)) => line("did it let go", format!("{row} let go at {}", clock(t))),
        (Some(row), None) if one.kind == CauseKind::Trip => {
            line("did it let go", format!("no: {row} still stood at the end of this stop"))
        }
        _ => {}
    }
    lines
}

fn course(list: &[Moment], display: &Display) -> Vec<Line> {
    let line = |(at, one): (usize, &Moment)| {
        let name = if at == 0 { "in order" } else { "" };
        (name, format!("{:>7}  {:<9} {}", clock(one.t_s), one.who, one.text.on(display)))
    };
    list.iter().enumerate().map(line).collect()
}

fn places(of: &Places, display: &Display) -> String {
    // Rounding makes some micrograms of nothing, with either sign.
    let mass = |gram: f64| display.words(Amount::Mass(if gram.abs() < 0.05 { 0.0 } else { gram } * 1e-3));
    format!(
        "vessel {}, hoses and manifold {}, vehicle {}, elsewhere in the station {}; gone into the air since the run began {}",
        mass(of.vessel_g),
        mass(of.hoses_g),
        mass(of.vehicle_g),
        mass(of.elsewhere_g),
        mass(of.air_g)
    )
}

fn fate(stop: &Stop, display: &Display) -> Vec<Line> {
    let end = stop.end_t_s.map(|t| format!(" (at {}, {} after the first cause)", clock(t), duration(t - stop.t_s)));
    let mut lines = vec![("the work", format!("{}{}", stop.fate.on(display), end.unwrap_or_default()))];
    if let Some((t, book)) = stop.refrigerant.as_ref().and_then(|of| Some((of.t_s, of.book.as_ref()?))) {
        lines.push(("refrigerant", format!("by the station's own book at {}: {}", clock(t), book.on(display))));
    }
    lines
}

fn came(one: &HazardCame, stop: &Stop) -> String {
    let side = if one.t_s < stop.t_s { "before" } else { "after" };
    let apart = duration((one.t_s - stop.t_s).abs());
    format!(
        "{} ({}) came to its {} level at {}, {apart} {side} the stop began",
        one.id,
        one.title,
        one.level.word(),
        clock(one.t_s)
    )
}

/// Whether an input read what was true, as near as a person would call the same.
fn is_true(one: &InputSeen) -> bool {
    /// A fiftieth (own choice: the classes of the instruments lie below).
    const NEAR: f64 = 0.02;
    let pair = one.value.as_ref().zip(one.truth.as_ref());
    let near = |(read, truth): (&Measure, &Measure)| {
        (read.value - truth.value).abs() <= NEAR * read.value.abs().max(truth.value.abs())
    };
    one.reading.to_string().starts_with(&one.truth_words.to_string()) || pair.is_none_or(near)
}

/// What the gauges read and what was true, where that is not the same or nothing was read.
fn gauges(lines: &mut Vec<Line>, stop: &Stop, display: &Display) {
    let mut told: Vec<&str> = Vec::new();
    let mut others = 0;
    let mut line = |told: bool, text: String| lines.push((if told { "" } else { "gauges" }, text));
    for one in stop.causes.iter().flat_map(|one| &one.inputs).filter(|one| one.truth.is_some()) {
        let truth = one.truth_words.on(display);
        let text = match one.quality {
            _ if told.contains(&one.tag) => continue,
            Some("bad" | "none") => format!("{} gave nothing to be believed, true was {truth}", one.tag),
            _ if is_true(one) => {
                others += 1;
                continue;
            }
            _ => format!("{} read {}, true was {truth}", one.tag, one.reading.on(display)),
        };
        line(!told.is_empty(), text);
        told.push(one.tag);
    }
    if others > 0 {
        let which = if told.is_empty() { "every reading above" } else { "every other reading above" };
        line(!told.is_empty(), format!("{which} was true within 2 %"));
    }
}

/// What only the simulator knows of a stop.
fn truth(stop: &Stop, display: &Display) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    for one in &stop.truth.broken {
        let end = one.ended_s.map_or("on".to_owned(), |t| format!("to {}", clock(t)));
        lines.push(("broken", format!("{}, from {} {end}", one.what, clock(one.began_s))));
        let took = if one.seconds < 0.1 { "at once".to_owned() } else { duration(one.seconds) };
        lines.push(("", format!("from its begin to what stopped the work: {took}")));
        lines.push((
            "",
            format!("the catalogue expects: {}; found by: {}; within {}", one.reaction, one.detection, one.budget),
        ));
    }
    lines.extend(stop.truth.vehicle.iter().map(|one| ("vehicle", one.clone())));
    gauges(&mut lines, stop, display);
    for (at, one) in stop.truth.hazards.iter().enumerate() {
        lines.push((if at == 0 { "hazards" } else { "" }, came(one, stop)));
    }
    if let Some(of) = &stop.refrigerant {
        lines.push(("refrigerant", format!("at {}: {}", clock(of.t_s), places(&of.truth, display))));
    }
    lines
}

/// Faults that acted and that no stop followed.
fn quiet(result: &RunResult) -> Vec<String> {
    let told = |id: &str| result.stops.iter().any(|stop| stop.truth.broken.iter().any(|one| one.fault == id));
    let all = result.faults.iter().filter(|one| one.began_s.is_some() && !told(&one.id));
    all.map(|one| {
        format!(
            "{} was broken from {} on, and nothing stopped after it in this run",
            one.words(),
            clock(one.began_s.unwrap_or(0.0))
        )
    })
    .collect()
}

const NOTE_TRUTH: &str = "in truth (the simulator alone knows this; no controller does)";

fn put(out: &mut String, lines: Vec<Line>) {
    for (name, text) in lines {
        wrapped(out, &format!("   {name:<NAMES$}"), &text, WIDTH);
    }
}

/// All stops as text, with ANSI colours, ending in a newline.
pub fn text(result: &RunResult, display: &Display) -> String {
    let mut out = format!("{}\n", bold("Why it stopped"));
    if result.stops.is_empty() {
        out += "  Nothing stopped: no interlock tripped, no phase was given up, nobody paused or ended the work.\n";
    } else {
        out += &format!(
            "{SOFT}  Times are those of the run, m:ss or h:mm:ss. A row is a rule of the interlock table: `valvewright matrix` prints it.{SOFT:#}\n"
        );
    }
    if !result.controller.core {
        out += &format!(
            "{SOFT}  Another controller drove: stops are known by what it told; how far it believed its inputs is not known.{SOFT:#}\n"
        );
    }
    for (at, stop) in result.stops.iter().enumerate() {
        let job = if result.jobs_in_all > 1 { format!("job {}, ", stop.job) } else { String::new() };
        out += &format!("\n{}\n", bold(format!("{}. {job}{}", at + 1, title(stop, display))));
        for (number, one) in stop.causes.iter().enumerate() {
            if number > 0 {
                out += &format!("   {}\n", bold(format!("then, at {}: {}", clock(one.t_s), head(one, display))));
            }
            put(&mut out, cause(one, display));
        }
        put(&mut out, course(&stop.course, display));
        put(&mut out, fate(stop, display));
        out += &format!("   {SOFT}{NOTE_TRUTH}{SOFT:#}\n");
        put(&mut out, truth(stop, display));
    }
    for one in quiet(result) {
        out.push('\n');
        wrapped(&mut out, &format!("   {:<NAMES$}", "in truth"), &one, WIDTH);
    }
    out
}

fn list(lines: Vec<Line>) -> Markup {
    html! {
        dl { @for (name, words) in lines { dt { (name) } dd { (words) } } }
    }
}

/// All stops for the page; nothing where there are none.
pub fn section(result: &RunResult, display: &Display) -> Markup {
    html! {
        @if !result.stops.is_empty() {
            section {
                h2 { "Why it stopped" }
                @for (at, stop) in result.stops.iter().enumerate() {
                    details open {
                        summary { (at + 1) ". " @if result.jobs_in_all > 1 { "job " (stop.job) ", " } (title(stop, display)) }
                        @for (number, one) in stop.causes.iter().enumerate() {
                            @if number > 0 { h3 { "then, at " (clock(one.t_s)) ": " (head(one, display)) } }
                            (list(cause(one, display)))
                        }
                        (list(fate(stop, display)))
                        h3 { (NOTE_TRUTH) }
                        (list(truth(stop, display)))
                    }
                }
            }
        }
    }
}
