//! Draws a picture: our lines under the points of the reference, and beneath them how far the two are apart.

use std::fmt::Write;
use std::ops::RangeInclusive;

use maud::{Markup, PreEscaped, html};
use valvewright_sim::report::axis::{Axis, nice_step, round_bounds, significant};

use super::panel::{Line, Panel};

/// Size of one picture with its margins, px.
pub const WIDTH: f64 = 346.0;
/// Its height, px.
pub const HEIGHT: f64 = 322.0;
/// Left end of the values, px.
pub const LEFT: f64 = 52.0;
/// Right end of the values, px.
pub const RIGHT: f64 = WIDTH - 14.0;
const LEGEND_TOP: f64 = 34.0;
const LEGEND_LINE: f64 = 15.0;
const VALUES_BOTTOM: f64 = 208.0;
const DEVIATION_TOP: f64 = 229.0;
const DEVIATION_BOTTOM: f64 = 289.0;
/// Distance of points of the reference, px.
const APART: f64 = 11.0;
/// Share of a limit from which on it is drawn.
const NEAR: f64 = 0.25;
/// Estimated width of a character of the legend, px.
const CHARACTER: f64 = 6.2;

/// Style of the drawing, for page and file alike.
pub const STYLE: &str = include_str!("plot.css");

/// A pixel coordinate.
pub fn px(value: f64) -> String {
    format!("{value:.1}")
}

/// One picture, to be put into an SVG.
pub fn picture(panel: &Panel) -> Markup {
    let names: Vec<&str> = panel.lines.iter().map(|line| line.name).collect();
    let unit = format!("{}{}", panel.unit, if panel.logarithmic { ", decades" } else { "" });
    let (heading, top) = heading(panel.title, &unit, &names);
    let end = bounds(panel.lines.iter().flat_map(|line| &line.ours).map(|point| point.0)).1;
    let start = bounds(panel.lines.iter().flat_map(|line| &line.ours).map(|point| point.0)).0;
    let across = Axis::linear(start, end, LEFT, RIGHT);
    let up = upwards(panel, top);
    let (deviation, most, limits) = deviation_axis(panel);
    let unit = panel.lines.first().map_or("", |line| line.found.unit().1);
    html! {
        (heading)
        rect.room x=(LEFT) y=(px(top)) width=(RIGHT - LEFT) height=(px(VALUES_BOTTOM - top)) {}
        rect.room x=(LEFT) y=(DEVIATION_TOP) width=(RIGHT - LEFT) height=(DEVIATION_BOTTOM - DEVIATION_TOP) {}
        @for tick in up.ticks(5) { (rule(&up, tick, &label(tick, panel.logarithmic))) }
        @for tick in [-most, 0.0, most] { (rule(&deviation, tick, &short(tick))) }
        @for tick in across.ticks(6) {
            @let x = px(across.px(tick));
            line.grid x1=(x) x2=(x) y1=(px(top)) y2=(VALUES_BOTTOM) {}
            line.grid x1=(x) x2=(x) y1=(DEVIATION_TOP) y2=(DEVIATION_BOTTOM) {}
            text.tick x=(x) y=(DEVIATION_BOTTOM + 14.0) text-anchor="middle" { (significant(tick, 4)) }
        }
        text.unit x=(RIGHT) y=(DEVIATION_BOTTOM + 28.0) text-anchor="end" { (panel.across) }
        text.unit x=(LEFT) y=(DEVIATION_TOP - 6.0) { (beneath(panel, unit)) }
        @for limit in &limits { line.limit x1=(LEFT) x2=(RIGHT) y1=(px(deviation.px(*limit))) y2=(px(deviation.px(*limit))) {} }
        @for (at, line) in panel.lines.iter().enumerate() {
            path.(format!("ours c{at}")) d=(path(&line.ours, &across, &up, top..=VALUES_BOTTOM)) {}
            path.(format!("deviation c{at}")) d=(path(&line.deviation, &across, &deviation, DEVIATION_TOP..=DEVIATION_BOTTOM)) {}
        }
        @for (at, line) in panel.lines.iter().enumerate() {
            @for (x, y) in spread(&line.theirs, &across, &up, top..=VALUES_BOTTOM) { circle.(format!("theirs c{at}")) cx=(px(x)) cy=(px(y)) r="2.4" {} }
        }
    }
}

/// What the lower part shows, with the worst value and what is allowed.
fn beneath(panel: &Panel, unit: &str) -> String {
    let share = |line: &Line| line.found.worst().deviation.abs() / line.found.quantity.limit;
    let Some(worst) = panel.lines.iter().max_by(|a, b| share(a).total_cmp(&share(b))) else {
        return String::new();
    };
    let factor = worst.found.unit().0;
    let number = |value: f64| format!("{} {unit}", significant(value.abs() * factor, 2)).trim_end().to_owned();
    let (at, limit) = (number(worst.found.worst().deviation), number(worst.found.quantity.limit));
    format!("ours − reference: {at} at most, {limit} allowed")
}

/// Smallest and largest finite value.
pub fn bounds(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let finite = values.filter(|value| value.is_finite());
    let (low, high) =
        finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
    if low <= high { (low, high) } else { (0.0, 1.0) }
}

fn upwards(panel: &Panel, top: f64) -> Axis {
    let all = || panel.lines.iter().flat_map(|line| line.ours.iter().chain(&line.theirs)).map(|point| point.1);
    if panel.logarithmic {
        let (low, high) = bounds(all().filter(|value| *value > 0.0));
        // Gas that is all but gone says nothing any more.
        let low = low.max(high * 1e-6).log10().floor();
        // One atmosphere may stand a hair above its decade.
        let high = (high.log10() - 0.02).ceil();
        return Axis::logarithmic(10f64.powf(low), 10f64.powf(high), VALUES_BOTTOM, top);
    }
    let (low, high) = bounds(all());
    let low = if low.abs() < 1e-3 * high { 0.0 } else { low };
    // What hardly changes is not spread over the whole height.
    let more = (0.01 * high.abs() - (high - low)).max(0.0) / 2.0;
    let (low, high) = round_bounds(low - more, high + more, 5);
    Axis::linear(low, high, VALUES_BOTTOM, top)
}

/// The axis of the deviations, its end, and the limits that lie on it.
fn deviation_axis(panel: &Panel) -> (Axis, f64, Vec<f64>) {
    let mut most: f64 = 0.0;
    let mut limits = Vec::new();
    for line in &panel.lines {
        let size =
            line.deviation.iter().map(|point| point.1.abs()).filter(|value| value.is_finite()).fold(0.0, f64::max);
        let limit = line.found.quantity.limit * line.found.unit().0;
        most = most.max(size).max(1e-6 * limit);
        if size >= NEAR * limit && !limits.contains(&limit) {
            most = most.max(1.15 * limit);
            limits.extend([limit, -limit]);
        }
    }
    let step = nice_step(most / 2.0);
    let most = (most / step).ceil().max(1.0) * step;
    (Axis::linear(-most, most, DEVIATION_BOTTOM, DEVIATION_TOP), most, limits)
}

/// A tick of few characters.
pub fn short(tick: f64) -> String {
    let plain = tick == 0.0 || (1e-3..1e5).contains(&tick.abs());
    if plain { significant(tick, 3) } else { format!("{tick:.1e}").replace(".0e", "e").replace('-', "\u{2212}") }
}

fn label(tick: f64, logarithmic: bool) -> String {
    if logarithmic && tick >= 1e4 { format!("{}k", significant(tick / 1e3, 4)) } else { significant(tick, 4) }
}

fn rule(axis: &Axis, tick: f64, label: &str) -> Markup {
    let y = axis.px(tick);
    html! {
        line.grid x1=(LEFT) x2=(RIGHT) y1=(px(y)) y2=(px(y)) {}
        text.tick x=(LEFT - 5.0) y=(px(y + 3.5)) text-anchor="end" { (label) }
    }
}

/// Rows of the legend: index and position of each name.
fn legend(names: &[&str]) -> Vec<Vec<(usize, f64)>> {
    let mut rows: Vec<Vec<(usize, f64)>> = vec![Vec::new()];
    let mut x = LEFT;
    for (at, name) in names.iter().enumerate() {
        let width = 34.0 + CHARACTER * name.chars().count() as f64;
        if x + width > RIGHT + 12.0 && x > LEFT {
            rows.push(Vec::new());
            x = LEFT;
        }
        if let Some(row) = rows.last_mut() {
            row.push((at, x));
        }
        x += width;
    }
    rows
}

/// Title, unit and legend, and where the room for values begins.
pub fn heading(title: &str, unit: &str, names: &[&str]) -> (Markup, f64) {
    let legend = legend(names);
    let made = html! {
        text.title x="0" y="12" {
            (title) " "
            tspan.unit { (unit) }
        }
        @for (row, places) in legend.iter().enumerate() {
            @for (at, x) in places {
                @let y = LEGEND_TOP - 6.0 + LEGEND_LINE * row as f64;
                line.(format!("ours c{at}")) x1=(px(*x)) x2=(px(x + 16.0)) y1=(px(y - 4.0)) y2=(px(y - 4.0)) {}
                circle.(format!("theirs c{at}")) cx=(px(x + 8.0)) cy=(px(y - 4.0)) r="2.4" {}
                text.name x=(px(x + 20.0)) y=(px(y)) { (names[*at]) }
            }
        }
    };
    (made, LEGEND_TOP + LEGEND_LINE * legend.len() as f64 - 4.0)
}

/// Whether a point lies in the room or on its edge.
fn near(room: &RangeInclusive<f64>, y: f64) -> bool {
    (room.start() - 2.0..=room.end() + 2.0).contains(&y)
}

/// A line through all points; what would move it by less than 0.6 px is left out, a peak never.
pub fn path(points: &[(f64, f64)], across: &Axis, up: &Axis, room: RangeInclusive<f64>) -> String {
    let mut text = String::new();
    let mut drawn: Option<(f64, f64)> = None;
    let mut passed: Option<(f64, f64)> = None;
    for (x, y) in points {
        let here = (across.px(*x), up.px(*y));
        if !y.is_finite() || !near(&room, here.1) {
            drawn = None;
            continue;
        }
        match drawn {
            None => _ = write!(text, "M{:.1} {:.1}", here.0, here.1),
            Some(last) if (here.1 - last.1).abs() < 0.6 && here.0 - last.0 < 40.0 => {
                passed = Some(here);
                continue;
            }
            Some(last) => {
                // A level run ends where it ends, not where it began.
                if let Some(before) = passed.filter(|before| before.0 - last.0 > 1.0) {
                    _ = write!(text, "L{:.1} {:.1}", before.0, before.1);
                }
                _ = write!(text, "L{:.1} {:.1}", here.0, here.1);
            }
        }
        drawn = Some(here);
        passed = None;
    }
    if let Some(last) = passed {
        _ = write!(text, "L{:.1} {:.1}", last.0, last.1);
    }
    text
}

/// Some of the points, no closer to each other along the curve than can be told apart.
pub fn spread(points: &[(f64, f64)], across: &Axis, up: &Axis, room: RangeInclusive<f64>) -> Vec<(f64, f64)> {
    let mut kept: Vec<(f64, f64)> = Vec::new();
    for (x, y) in points.iter().filter(|point| point.1.is_finite()) {
        let here = (across.px(*x), up.px(*y));
        if near(&room, here.1) && kept.last().is_none_or(|last| (here.0 - last.0).hypot(here.1 - last.1) >= APART) {
            kept.push(here);
        }
    }
    kept
}

/// The pictures of a case side by side, as a file of its own.
pub fn alone(panels: &[Panel]) -> String {
    let width = WIDTH * panels.len() as f64;
    let drawing = html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("-10 -6 {} {}", width + 10.0, HEIGHT + 6.0)) {
            style { (PreEscaped(STYLE)) }
            rect.paper x="-10" y="-6" width=(width + 10.0) height=(HEIGHT + 6.0) {}
            @for (at, panel) in panels.iter().enumerate() {
                g transform=(format!("translate({} 0)", WIDTH * at as f64)) { (picture(panel)) }
            }
        }
    };
    drawing.into_string()
}
