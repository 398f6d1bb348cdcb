//! One lane of the chart: channels on a common axis, thinned so that no peak is lost, with their names and ranges beside.

use std::fmt::Write;

use maud::{Markup, html};

use super::axis::{Axis, round_bounds, significant};
use super::data::{Channel, Group, Trace, View};
use crate::display::Display;

/// Where things lie across the page, px.
pub const LEFT: f64 = 132.0;
/// Right end of the time axis, px.
pub const RIGHT: f64 = 1096.0;
/// Width of the whole drawing, px.
pub const WIDTH: f64 = 1360.0;

/// Colours of the palette.
const COLOURS: usize = 7;
/// Values over this lie above the vacuum lane, mbar.
const VACUUM_TOP: f64 = 200.0;

/// A channel with its place in the trace and its colour, an index into the palette of the style sheet.
pub struct Line<'a> {
    /// The channel.
    pub channel: &'a Channel,
    /// Index in [`Trace::channels`].
    pub index: usize,
    /// Colour index, 0 to 6.
    pub colour: usize,
    /// The colours were used up; this one is drawn with finer dashes.
    pub again: bool,
}

/// Channels that share an axis.
pub struct Lane<'a> {
    /// What is drawn: `Pressures`.
    pub title: &'static str,
    /// Unit with what it counts from.
    pub unit: String,
    /// Height of the plot, px.
    pub height: f64,
    /// Logarithmic axis.
    pub logarithmic: bool,
    /// The channels.
    pub lines: Vec<Line<'a>>,
    low: f64,
    high: f64,
}

fn range(channel: &Channel) -> Option<(f64, f64)> {
    let finite = channel.values.iter().copied().filter(|value| value.is_finite()).map(f64::from);
    finite.fold(None, |found, value| match found {
        None => Some((value, value)),
        Some((low, high)) => Some((low.min(value), high.max(value))),
    })
}

/// The lanes of a trace that is in the units of the display: one for each group that has something to show, masses in two where they
/// lie far apart.
pub fn lanes<'a>(trace: &'a Trace, display: &Display) -> Vec<Lane<'a>> {
    let mut lanes = Vec::new();
    for group in Group::ALL {
        let lines = coloured(trace, group);
        let parts = if group == Group::Mass { split_far_apart(lines) } else { vec![lines] };
        let titles = match parts.len() {
            1 => [title(group); 2],
            _ => ["Mass, upper", "Mass, lower"],
        };
        for (at, lines) in parts.into_iter().enumerate() {
            lanes.extend(lane(group, titles[at.min(1)], lines, display));
        }
    }
    lanes
}

/// A true channel named after a shown one (`pt2`, `pt2_true`) shares its colour; every other channel takes the next.
fn coloured(trace: &Trace, group: Group) -> Vec<Line<'_>> {
    let mut lines: Vec<Line> = Vec::new();
    let mut next = 0;
    for (index, channel) in trace.channels.iter().enumerate().filter(|(_, one)| one.spec.group == group) {
        if range(channel).is_none() {
            continue;
        }
        let partner = channel.spec.name.strip_suffix("_true");
        let shared = partner.and_then(|name| lines.iter().find(|line| line.channel.spec.name == name));
        let colour = shared.map_or(next, |line| line.colour + COLOURS * usize::from(line.again));
        next += usize::from(shared.is_none());
        let (colour, again) = (colour % COLOURS, colour >= COLOURS);
        lines.push(Line { channel, index, colour, again });
    }
    lines
}

/// Parts lines whose values leave a gap wider than what either side spans, so that a vessel of 6 kg does not flatten a charge of 480 g.
fn split_far_apart(mut lines: Vec<Line>) -> Vec<Vec<Line>> {
    let bounds = |line: &Line| range(line.channel).unwrap_or((0.0, 0.0));
    lines.sort_by(|a, b| bounds(a).0.total_cmp(&bounds(b).0).then(a.index.cmp(&b.index)));
    let mut parts: Vec<(f64, f64, Vec<Line>)> = Vec::new();
    for line in lines {
        let (low, high) = bounds(&line);
        match parts.last_mut() {
            Some((from, to, part)) if low - *to <= (*to - *from).max(high - low) => {
                *to = to.max(high);
                part.push(line);
            }
            _ => parts.push((low, high, vec![line])),
        }
    }
    for (_, _, part) in &mut parts {
        part.sort_by_key(|line| line.index);
    }
    parts.into_iter().rev().map(|(_, _, part)| part).collect()
}

const fn title(group: Group) -> &'static str {
    match group {
        Group::Pressure => "Pressures",
        Group::Vacuum => "Vacuum",
        Group::Temperature => "Temperatures",
        Group::Mass => "Masses",
        Group::Flow => "Flows",
        Group::Quality => "Shares",
    }
}

fn lane<'a>(group: Group, title: &'static str, lines: Vec<Line<'a>>, display: &Display) -> Option<Lane<'a>> {
    let ranges: Vec<(f64, f64)> = lines.iter().filter_map(|line| range(line.channel)).collect();
    let low = ranges.iter().map(|r| r.0).reduce(f64::min)?;
    let high = ranges.iter().map(|r| r.1).reduce(f64::max)?;
    let height = match group {
        Group::Pressure => 128.0,
        Group::Vacuum | Group::Temperature => 108.0,
        Group::Mass => 100.0,
        Group::Flow => 80.0,
        Group::Quality => 64.0,
    };
    let unit = match group {
        Group::Quality => String::new(),
        Group::Vacuum => lines.first().map(|line| format!("{}, log", line.channel.spec.unit))?,
        _ => lines.first().map(|line| line.channel.spec.unit.clone())?,
    };
    let per_mbar = display.channel("mbar").0;
    let logarithmic = group == Group::Vacuum;
    let (low, high) = match group {
        Group::Vacuum if low > VACUUM_TOP * per_mbar => return None,
        Group::Vacuum => (10f64.powf(low.max(0.01 * per_mbar).log10().floor()), VACUUM_TOP * per_mbar),
        Group::Pressure => round_bounds(low.min(0.0), high, 4),
        Group::Flow => round_bounds(low.min(0.0), high.max(0.1 * display.channel("g/s").0), 3),
        _ => round_bounds(low, high, 4),
    };
    Some(Lane { title, unit, height, logarithmic, lines, low, high })
}

impl Lane<'_> {
    /// Height that the lane needs for its plot and its list of channels, px.
    pub fn room(&self) -> f64 {
        self.height.max(self.lines.len() as f64 * 15.0 + 4.0)
    }

    /// Draws the lane with its top edge at `top`.
    pub fn draw(&self, trace: &Trace, time: &Axis, top: f64, time_ticks: &[f64]) -> Markup {
        let bottom = top + self.room();
        let axis = if self.logarithmic {
            Axis::logarithmic(self.low, self.high, bottom, top)
        } else {
            Axis::linear(self.low, self.high, bottom, top)
        };
        let clip = format!("lane{top:.0}");
        html! {
            clipPath id=(clip) { rect x=(LEFT) y=(top) width=(RIGHT - LEFT) height=(self.room()) {} }
            rect.lane x=(LEFT) y=(top) width=(RIGHT - LEFT) height=(self.room()) {}
            text.lane-title x="0" y=(top + 12.0) { (self.title) }
            text.lane-unit x="0" y=(top + 26.0) { (self.unit) }
            @for tick in time_ticks { line.grid x1=(px(time.px(*tick))) x2=(px(time.px(*tick))) y1=(top) y2=(bottom) {} }
            @for tick in axis.ticks(4) {
                line.grid x1=(LEFT) x2=(RIGHT) y1=(px(axis.px(tick))) y2=(px(axis.px(tick))) {}
                text.tick x=(LEFT - 6.0) y=(px(axis.px(tick) + 3.5)) text-anchor="end" { (significant(tick, 4)) }
            }
            g clip-path=(format!("url(#{clip})")) {
                // Truth first, so that what the station shows lies on top.
                @for line in self.lines.iter().filter(|l| l.channel.spec.view == View::True) { (path(line, trace, time, &axis)) }
                @for line in self.lines.iter().filter(|l| l.channel.spec.view == View::Shown) { (path(line, trace, time, &axis)) }
            }
            @for (row, line) in self.lines.iter().enumerate() { (legend(line, top + 12.0 + 15.0 * row as f64)) }
        }
    }
}

/// A pixel coordinate with one decimal, so that the same data gives the same bytes.
pub fn px(value: f64) -> String {
    format!("{value:.1}")
}

fn class(line: &Line) -> String {
    let view = if line.channel.spec.view == View::True { "true" } else { "shown" };
    let again = if line.again { " again" } else { "" };
    format!("line c{} {view}{again}", line.colour)
}

/// Lowest and highest value of a line. What is far below the other end is drawn on the zero line and called so, but not on a
/// logarithmic axis.
fn span(line: &Line) -> String {
    let (low, high) = range(line.channel).unwrap_or((0.0, 0.0));
    let size = low.abs().max(high.abs());
    let plain =
        |value: f64| if value.abs() < size * 1e-4 && line.channel.spec.group != Group::Vacuum { 0.0 } else { value };
    format!("{} … {}", significant(plain(low), 3), significant(plain(high), 3))
}

/// The lines of all lanes as a list, for screens so narrow that the drawing's own list lies outside.
pub fn list(lanes: &[Lane]) -> Markup {
    html! {
        div.legend {
            @for lane in lanes {
                p.legend-title { (lane.title) " " span.soft { (lane.unit) } }
                @for line in &lane.lines {
                    span.legend-line {
                        svg viewBox="0 0 26 8" { line class=(class(line)) x1="0" x2="26" y1="4" y2="4" {} }
                        (line.channel.spec.label) " " span.soft { (span(line)) }
                    }
                }
            }
        }
    }
}

fn legend(line: &Line, y: f64) -> Markup {
    let span = span(line);
    html! {
        line class=(class(line)) x1=(RIGHT + 10.0) x2=(RIGHT + 30.0) y1=(y - 4.0) y2=(y - 4.0) {}
        text.name x=(RIGHT + 36.0) y=(y) { (line.channel.spec.label) }
        text.value x=(WIDTH) y=(y) text-anchor="end" data-channel=(line.index) data-range=(span) { (span) }
    }
}

fn path(line: &Line, trace: &Trace, time: &Axis, axis: &Axis) -> Markup {
    let points = thinned(&trace.time_s, &line.channel.values, time);
    html! { path class=(class(line)) d=(path_data(&points, time, axis)) { title { (line.channel.spec.label) } } }
}

/// First, lowest, highest and last sample of each column one pixel wide: the picture is that of all samples. NaN stays as a gap.
fn thinned(times: &[f64], values: &[f32], time: &Axis) -> Vec<(f64, f32)> {
    let column = |t: f64| time.px(t).floor() as i64;
    let samples: Vec<(f64, f32)> = times.iter().copied().zip(values.iter().copied()).collect();
    let mut points = Vec::new();
    for bucket in samples.chunk_by(|a, b| column(a.0) == column(b.0)) {
        let finite = || bucket.iter().enumerate().filter(|(_, sample)| sample.1.is_finite());
        let lowest = finite().min_by(|a, b| a.1.1.total_cmp(&b.1.1)).map(|(at, _)| at);
        let highest = finite().max_by(|a, b| a.1.1.total_cmp(&b.1.1)).map(|(at, _)| at);
        let mut keep = vec![0, lowest.unwrap_or(0), highest.unwrap_or(0), bucket.len() - 1];
        keep.sort_unstable();
        keep.dedup();
        points.extend(keep.into_iter().filter_map(|at| bucket.get(at).copied()));
    }
    points
}

/// The points as path data; points in the middle of a level run are left out.
fn path_data(points: &[(f64, f32)], time: &Axis, axis: &Axis) -> String {
    let mut data = String::with_capacity(points.len() * 12);
    let mut drawn: Option<String> = None;
    let mut waiting: Option<(String, String)> = None;
    for (t, value) in points {
        if !value.is_finite() {
            if let Some((x, y)) = waiting.take() {
                let _ = write!(data, "L{x} {y}");
            }
            drawn = None;
            continue;
        }
        let (x, y) = (px(time.px(*t)), px(axis.px(f64::from(*value))));
        match &drawn {
            Some(last) if *last == y => waiting = Some((x, y)),
            last => {
                if let Some((wx, wy)) = waiting.take() {
                    let _ = write!(data, "L{wx} {wy}");
                }
                let _ = write!(data, "{}{x} {y}", if last.is_some() { 'L' } else { 'M' });
                drawn = Some(y);
            }
        }
    }
    if let Some((x, y)) = waiting {
        let _ = write!(data, "L{x} {y}");
    }
    data
}
