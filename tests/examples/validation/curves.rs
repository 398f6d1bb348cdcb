//! Pictures of flow laws: curves over a pressure, and the deviations of all rows of a table.

use maud::{Markup, html};
use valvewright_sim::report::axis::{Axis, round_bounds, significant};
use valvewright_tests::law_reference::Checked;

use super::plot::{HEIGHT, LEFT, RIGHT, bounds, heading, path, px, short, spread};

const BOTTOM: f64 = HEIGHT - 32.0;

/// A family of curves.
pub struct Curves {
    /// What is drawn.
    pub title: String,
    /// Unit upwards.
    pub unit: &'static str,
    /// Name and unit of the axis across.
    pub across: &'static str,
    /// Decades on both axes.
    pub logarithmic: bool,
    /// The curves.
    pub lines: Vec<Curve>,
}

/// One curve.
pub struct Curve {
    /// Its name.
    pub name: String,
    /// Reference.
    pub theirs: Vec<(f64, f64)>,
    /// Ours.
    pub ours: Vec<(f64, f64)>,
    /// Another law of the reference, for comparison.
    pub other: Vec<(f64, f64)>,
}

fn axis(values: impl Iterator<Item = f64>, logarithmic: bool, from: f64, to: f64) -> Axis {
    if logarithmic {
        let (low, high) = bounds(values.filter(|value| *value > 0.0));
        return Axis::logarithmic(low * 0.8, high * 1.25, from, to);
    }
    let (low, high) = bounds(values);
    let (low, high) = round_bounds(low.min(0.0), high, 5);
    Axis::linear(low, high, from, to)
}

fn decade(value: f64) -> String {
    if (1e-2..1e5).contains(&value) { significant(value, 3) } else { format!("{value:.0e}").replace('-', "\u{2212}") }
}

/// Frame, grid and labels.
fn frame(across: &Axis, up: &Axis, top: f64, name: &str, logarithmic: (bool, bool)) -> Markup {
    let label = |value: f64, decades: bool| if decades { decade(value) } else { short(value) };
    let few = |axis: &Axis, wanted: usize, decades: bool| {
        let mut all = axis.ticks(wanted);
        if decades && all.len() < 3 {
            let powers = (-12..12).map(|power| 10f64.powi(power));
            let inside = |value: &f64| (LEFT..=RIGHT).contains(&axis.px(*value));
            all = powers.flat_map(|one| [one, 2.0 * one, 5.0 * one]).filter(inside).collect();
        }
        let each = all.len().div_ceil(wanted + 2).max(1);
        all.into_iter().step_by(each).collect::<Vec<f64>>()
    };
    html! {
        rect.room x=(LEFT) y=(px(top)) width=(RIGHT - LEFT) height=(px(BOTTOM - top)) {}
        @for tick in few(up, 6, false) {
            @let y = up.px(tick);
            line.grid x1=(LEFT) x2=(RIGHT) y1=(px(y)) y2=(px(y)) {}
            text.tick x=(LEFT - 5.0) y=(px(y + 3.5)) text-anchor="end" { (label(tick, logarithmic.1)) }
        }
        @for tick in few(across, 5, logarithmic.0) {
            @let x = px(across.px(tick));
            line.grid x1=(x) x2=(x) y1=(px(top)) y2=(px(BOTTOM)) {}
            text.tick x=(x) y=(BOTTOM + 14.0) text-anchor="middle" { (label(tick, logarithmic.0)) }
        }
        text.unit x=(RIGHT) y=(BOTTOM + 28.0) text-anchor="end" { (name) }
    }
}

/// Draws curves: ours as lines, the reference as rings, another law dashed.
pub fn curves(drawn: &Curves) -> Markup {
    let names: Vec<&str> = drawn.lines.iter().map(|line| line.name.as_str()).collect();
    let (head, top) = heading(&drawn.title, drawn.unit, &names);
    let points = || drawn.lines.iter().flat_map(|line| line.theirs.iter().chain(&line.ours));
    let across = axis(points().map(|point| point.0), drawn.logarithmic, LEFT, RIGHT);
    let up = axis(points().map(|point| point.1), drawn.logarithmic, BOTTOM, top);
    html! {
        (head)
        (frame(&across, &up, top, drawn.across, (drawn.logarithmic, drawn.logarithmic)))
        @for (at, line) in drawn.lines.iter().enumerate() {
            path.(format!("other c{at}")) d=(path(&line.other, &across, &up, top..=BOTTOM)) {}
            path.(format!("ours c{at}")) d=(path(&line.ours, &across, &up, top..=BOTTOM)) {}
        }
        @for (at, line) in drawn.lines.iter().enumerate() {
            @for (x, y) in spread(&line.theirs, &across, &up, top..=BOTTOM) {
                circle.(format!("theirs c{at}")) cx=(px(x)) cy=(px(y)) r="2.4" {}
            }
        }
    }
}

/// Draws the deviation of each row over the size of the reference.
pub fn deviations(checked: &Checked, across: &'static str) -> Markup {
    let mut groups: Vec<&str> = Vec::new();
    for row in &checked.rows {
        if !groups.contains(&row.group.as_str()) {
            groups.push(&row.group);
        }
    }
    let limit = 100.0 * checked.limit;
    let names: Vec<String> = groups.iter().map(|group| group.replace('_', " ")).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let (head, top) = heading(&readable(checked.law), "%", &names);
    let worst = checked.rows.iter().map(|row| 100.0 * row.deviation().abs()).filter(|value| value.is_finite());
    let worst = worst.fold(0.0, f64::max);
    let most = if worst > 0.25 * limit { worst.max(1.15 * limit) } else { worst };
    let (_, most) = round_bounds(0.0, most.max(1e-3 * limit), 2);
    let up = Axis::linear(-most, most, BOTTOM, top);
    let across_axis = axis(checked.rows.iter().map(|row| row.theirs), true, LEFT, RIGHT);
    html! {
        (head)
        (frame(&across_axis, &up, top, across, (true, false)))
        @if most >= limit {
            @for limit in [limit, -limit] { line.limit x1=(LEFT) x2=(RIGHT) y1=(px(up.px(limit))) y2=(px(up.px(limit))) {} }
        }
        @for row in checked.rows.iter().filter(|row| row.deviation().is_finite()) {
            @let colour = groups.iter().position(|group| *group == row.group).unwrap_or(0);
            circle.(format!("dot c{colour}")) cx=(px(across_axis.px(row.theirs))) cy=(px(up.px(100.0 * row.deviation()))) r="1.6" {}
        }
    }
}

/// With a capital.
pub fn readable(word: &str) -> String {
    let mut text = word.to_owned();
    if let Some(first) = text.get_mut(0..1) {
        first.make_ascii_uppercase();
    }
    text
}
