//! The stock of one place over its periods: bars of what came and went, a line of what was there, as one drawing without scripts.

use maud::{Markup, html};

use super::ledger::Line;
use super::ledger_text::{kg, plain};
use crate::report::axis::{Axis, round_bounds, significant};

const WIDTH: f64 = 900.0;
const HEIGHT: f64 = 300.0;
const LEFT: f64 = 64.0;
const RIGHT: f64 = 884.0;
const TOP: f64 = 34.0;
const BOTTOM: f64 = 258.0;
/// Room that a period's name needs, px: names that have less are left out, but never the first.
const NAME: f64 = 76.0;

/// What is drawn of a line upwards and downwards: name, colour (Okabe and Ito 2008), pattern against colour alone, and how much, mg. What
/// is negative is drawn on the other side.
fn parts(line: &Line) -> [(&'static str, &'static str, i64); 7] {
    let of = &line.flows;
    [
        ("bought", "#0072b2", of.bought),
        ("recovered", "#56b4e9", of.recovered),
        ("moved", "#999999", of.moved),
        ("charged", "#009e73", -of.charged),
        ("vented", "#d55e00", -of.vented),
        ("disposed", "#e69f00", -of.disposed),
        ("unknown", "#b3261e", -of.unknown),
    ]
}

fn px(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// Lowest and highest sum of bars and stock, kg.
fn reach(lines: &[&Line]) -> (f64, f64) {
    let mut reach = (0.0_f64, 0.0_f64);
    for line in lines {
        let side = |up: bool| parts(line).iter().map(|(_, _, mg)| *mg).filter(|mg| (*mg > 0) == up).sum::<i64>();
        for value in [kg(side(false)), kg(side(true)), kg(line.opening), kg(line.closing)] {
            reach = (reach.0.min(value), reach.1.max(value));
        }
    }
    reach
}

/// The drawing.
pub fn chart(lines: &[&Line], title: &str) -> Markup {
    let (low, high) = reach(lines);
    let (low, high) = round_bounds(low, high, 6);
    let mass = Axis::linear(low, high, BOTTOM, TOP);
    let step = (RIGHT - LEFT) / lines.len().max(1) as f64;
    let middle = |at: usize| LEFT + (at as f64 + 0.5) * step;
    let every = (NAME / step).ceil().max(1.0) as usize;
    let points: Vec<String> = lines
        .iter()
        .enumerate()
        .map(|(at, line)| format!("{},{}", px(middle(at)), px(mass.px(kg(line.closing)))))
        .collect();
    let told: Vec<String> =
        lines.iter().map(|line| format!("{}: {} kg", line.period, plain(kg(line.closing)))).collect();
    html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) width=(WIDTH) height=(HEIGHT) role="img" font-family="sans-serif" font-size="12" {
            title { (title) }
            desc { "Closing stock by period. " (told.join("; ")) }
            text x="8" y=(TOP - 14.0) { "kg" }
            @for tick in mass.ticks(6) {
                line x1=(LEFT) x2=(RIGHT) y1=(px(mass.px(tick))) y2=(px(mass.px(tick))) stroke="#d9dee2" {}
                text x=(LEFT - 8.0) y=(px(mass.px(tick) + 4.0)) text-anchor="end" { (significant(tick, 4)) }
            }
            @for (at, line) in lines.iter().enumerate() {
                (bars(line, &mass, middle(at), (step * 0.6).min(60.0)))
                @if at % every == 0 { text x=(px(middle(at))) y=(BOTTOM + 18.0) text-anchor="middle" { (line.period) } }
            }
            line x1=(LEFT) x2=(RIGHT) y1=(px(mass.px(0.0))) y2=(px(mass.px(0.0))) stroke="#14191d" {}
            polyline points=(points.join(" ")) fill="none" stroke="#14191d" stroke-width="2" {}
            @for (at, line) in lines.iter().enumerate() {
                circle cx=(px(middle(at))) cy=(px(mass.px(kg(line.closing)))) r="3.5" fill="#14191d" {}
            }
            (key(lines))
        }
    }
}

fn bars(line: &Line, mass: &Axis, middle: f64, width: f64) -> Markup {
    let (mut up, mut down) = (0_i64, 0_i64);
    let boxes: Vec<(&str, &str, i64, i64)> = parts(line)
        .into_iter()
        .filter(|(_, _, mg)| *mg != 0)
        .map(|(name, colour, mg)| {
            let side = if mg > 0 { &mut up } else { &mut down };
            let from = *side;
            *side += mg;
            (name, colour, from, *side)
        })
        .collect();
    html! {
        @for (name, colour, from, to) in boxes {
            @let (a, b) = (mass.px(kg(from)), mass.px(kg(to)));
            rect x=(px(middle - width / 2.0)) y=(px(a.min(b))) width=(px(width)) height=(px((a - b).abs().max(0.5))) fill=(colour) stroke="#ffffff" stroke-width="0.5" {
                title { (line.period) ": " (name) " " (plain(kg((to - from).abs()))) " kg" }
            }
        }
    }
}

/// Names of what is drawn, of those that are there at all.
fn key(lines: &[&Line]) -> Markup {
    let here = |name: &str| lines.iter().any(|line| parts(line).iter().any(|(one, _, mg)| *one == name && *mg != 0));
    let names = lines.first().map(|line| parts(line)).into_iter().flatten().filter(|(name, ..)| here(name));
    let all: Vec<(&str, &str)> = names.map(|(name, colour, _)| (name, colour)).collect();
    html! {
        @for (at, (name, colour)) in all.iter().enumerate() {
            rect x=(LEFT + at as f64 * 100.0) y=(HEIGHT - 15.0) width="12" height="12" fill=(colour) {}
            text x=(LEFT + at as f64 * 100.0 + 17.0) y=(HEIGHT - 5.0) { (name) }
        }
        line x1=(LEFT + all.len() as f64 * 100.0) x2=(LEFT + all.len() as f64 * 100.0 + 22.0) y1=(HEIGHT - 9.0) y2=(HEIGHT - 9.0) stroke="#14191d" stroke-width="2" {}
        text x=(LEFT + all.len() as f64 * 100.0 + 28.0) y=(HEIGHT - 5.0) { "closing stock" }
    }
}
