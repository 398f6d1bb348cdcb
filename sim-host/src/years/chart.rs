//! The years as drawings: lines over time and bars, as SVG without scripts, coloured by the page in light and dark.

use maud::{Markup, html};

use crate::report::axis::{Axis, round_bounds, significant};

const WIDTH: f64 = 900.0;
const LEFT: f64 = 58.0;
const RIGHT: f64 = 888.0;
const TOP: f64 = 26.0;
/// Points that a line is drawn with at most, a few for each pixel.
const MOST: usize = 2_000;
/// Names of periods below an axis at most.
const NAMES: usize = 12;

fn px(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// A line over time.
pub struct Lane<'a> {
    /// What it is, for readers who hear it.
    pub title: &'a str,
    /// Unit of its axis.
    pub unit: &'a str,
    /// Class of its colour, `c0` to `c6`.
    pub class: &'a str,
    /// Time in days, and value.
    pub points: &'a [(f64, f64)],
    /// A limit, and what it is.
    pub limit: Option<(f64, &'a str)>,
    /// Times that get a tick at the foot, in days.
    pub ticks: &'a [f64],
    /// Length of a year, days, and how many.
    pub years: (f64, usize),
}

/// Fewer points that keep every bucket's first, lowest and highest.
pub fn thin(points: &[(f64, f64)], most: usize) -> Vec<(f64, f64)> {
    let size = (3 * points.len()).div_ceil(most.max(3)).max(1);
    if size <= 3 {
        return points.to_vec();
    }
    let mut out: Vec<(f64, f64)> = Vec::new();
    for bucket in points.chunks(size) {
        let least = bucket.iter().copied().reduce(|a, b| if b.1 < a.1 { b } else { a });
        let highest = bucket.iter().copied().reduce(|a, b| if b.1 > a.1 { b } else { a });
        let mut few: Vec<(f64, f64)> = [bucket.first().copied(), least, highest].into_iter().flatten().collect();
        few.sort_by(|a, b| a.0.total_cmp(&b.0));
        few.dedup();
        out.extend(few);
    }
    out.extend(points.last());
    out
}

impl Lane<'_> {
    /// The drawing.
    pub fn draw(&self) -> Markup {
        let (height, bottom) = (190.0, 158.0);
        let values = self.points.iter().map(|(_, value)| *value).chain(self.limit.map(|(limit, _)| limit));
        let high = values.fold(0.0_f64, f64::max);
        let (low, high) = round_bounds(0.0, high * 1.04, 4);
        let axis = Axis::linear(low, high, bottom, TOP);
        let (year, years) = self.years;
        let time = Axis::linear(0.0, year * years.max(1) as f64, LEFT, RIGHT);
        let line: Vec<String> = thin(self.points, MOST)
            .into_iter()
            .map(|(day, value)| format!("{},{}", px(time.px(day)), px(axis.px(value))))
            .collect();
        let last = self.points.last().map_or(0.0, |(_, value)| *value);
        html! {
            svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {WIDTH} {height}")) role="img" {
                title { (self.title) }
                desc { "In " (self.unit) " over " (years) " years; at the end " (significant(last, 4)) "." @if let Some((limit, what)) = self.limit { " " (what) ": " (significant(limit, 4)) "." } }
                (grid(&axis, self.unit))
                @for at in 0..years {
                    line.grid x1=(px(time.px(at as f64 * year))) x2=(px(time.px(at as f64 * year))) y1=(TOP) y2=(bottom) {}
                }
                (names(years, &|at| time.px((at as f64 + 0.5) * year), bottom, &|at| format!("year {}", at + 1)))
                @if let Some((limit, what)) = self.limit {
                    line.limit x1=(LEFT) x2=(RIGHT) y1=(px(axis.px(limit))) y2=(px(axis.px(limit))) {}
                    text.limit-name x=(RIGHT - 4.0) y=(px(axis.px(limit) - 4.0)) text-anchor="end" { (what) }
                }
                @for day in self.ticks {
                    line.cut x1=(px(time.px(*day))) x2=(px(time.px(*day))) y1=(bottom - 7.0) y2=(bottom) {}
                }
                polyline class=(format!("line {}", self.class)) points=(line.join(" ")) {}
                line.foot x1=(LEFT) x2=(RIGHT) y1=(bottom) y2=(bottom) {}
            }
        }
    }
}

fn grid(axis: &Axis, unit: &str) -> Markup {
    html! {
        @for tick in axis.ticks(4) {
            line.grid x1=(LEFT) x2=(RIGHT) y1=(px(axis.px(tick))) y2=(px(axis.px(tick))) {}
            text x=(LEFT - 6.0) y=(px(axis.px(tick) + 4.0)) text-anchor="end" { (significant(tick, 4)) }
        }
        text.unit x="4" y="12" { (unit) }
    }
}

fn names(count: usize, at: &dyn Fn(usize) -> f64, bottom: f64, name: &dyn Fn(usize) -> String) -> Markup {
    let every = count.div_ceil(NAMES).max(1);
    html! {
        @for one in (0..count).step_by(every) {
            text x=(px(at(one))) y=(bottom + 17.0) text-anchor="middle" { (name(one)) }
        }
    }
}

/// Bars of several parts for each period; what is negative stands below the line.
pub struct Bars<'a> {
    /// What they are.
    pub title: &'a str,
    /// Unit of the axis.
    pub unit: &'a str,
    /// Name and class of each part.
    pub parts: &'a [(&'a str, &'a str)],
    /// For each period the value of each part.
    pub periods: &'a [Vec<f64>],
    /// Names below the axis, as many as wanted, spread evenly.
    pub names: &'a [String],
}

impl Bars<'_> {
    /// The drawing.
    pub fn draw(&self) -> Markup {
        let (height, bottom) = (230.0, 176.0);
        let side = |period: &Vec<f64>, up: bool| period.iter().filter(|v| (**v > 0.0) == up).sum::<f64>();
        let low = self.periods.iter().map(|period| side(period, false)).fold(0.0_f64, f64::min);
        let high = self.periods.iter().map(|period| side(period, true)).fold(0.0_f64, f64::max);
        let (low, high) = round_bounds(low, high, 4);
        let axis = Axis::linear(low, high, bottom, TOP);
        let step = (RIGHT - LEFT) / self.periods.len().max(1) as f64;
        let wide = (RIGHT - LEFT) / self.names.len().max(1) as f64;
        html! {
            svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {WIDTH} {height}")) role="img" {
                title { (self.title) }
                desc { "In " (self.unit) ", " (self.periods.len()) " periods." }
                (grid(&axis, self.unit))
                (names(self.names.len(), &|at| LEFT + (at as f64 + 0.5) * wide, bottom, &|at| self.names[at].clone()))
                @for (at, period) in self.periods.iter().enumerate() {
                    @for (class, from, to) in self.stack(period) {
                        @let (a, b) = (axis.px(from), axis.px(to));
                        rect class=(format!("bar {class}")) x=(px(LEFT + (at as f64 + 0.12) * step)) y=(px(a.min(b))) width=(px(step * 0.76)) height=(px((a - b).abs())) {}
                    }
                }
                line.foot x1=(LEFT) x2=(RIGHT) y1=(px(axis.px(0.0))) y2=(px(axis.px(0.0))) {}
                @for (at, (name, class)) in self.parts.iter().enumerate() {
                    rect class=(format!("bar {class}")) x=(LEFT + at as f64 * 118.0) y=(height - 20.0) width="12" height="12" {}
                    text x=(LEFT + at as f64 * 118.0 + 17.0) y=(height - 10.0) { (name) }
                }
            }
        }
    }

    /// Class and ends of each part of a bar.
    fn stack(&self, period: &[f64]) -> Vec<(&str, f64, f64)> {
        let (mut up, mut down) = (0.0, 0.0);
        let parts = self.parts.iter().zip(period).filter(|(_, value)| **value != 0.0);
        parts
            .map(|((_, class), value)| {
                let side = if *value > 0.0 { &mut up } else { &mut down };
                let from = *side;
                *side += value;
                (*class, from, *side)
            })
            .collect()
    }
}
