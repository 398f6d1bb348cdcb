//! What is drawn over time: a row of figures each simulated second, of the run at hand and of ways that were left by going back.

use serde::Serialize;
use valvewright_core::station::Station;

use crate::run::Simulation;

/// Simulated time between two rows, s.
const EVERY: f64 = 1.0;
/// Ways that are kept beside the one at hand, and rows of each (some four hours).
const WAYS: usize = 6;
const ROWS: usize = 15_000;

/// Where a figure is read.
enum Source {
    /// What the station reads.
    Shown(fn(&Station) -> f64),
    /// What is true: a signal of the plant, times a scale, plus an offset.
    True(&'static str, f64, f64),
}

/// A line of the drawing.
pub struct Line {
    name: &'static str,
    label: &'static str,
    unit: &'static str,
    source: Source,
}

const fn shown(name: &'static str, label: &'static str, unit: &'static str, read: fn(&Station) -> f64) -> Line {
    Line { name, label, unit, source: Source::Shown(read) }
}

const fn truth(name: &'static str, label: &'static str, unit: &'static str, of: (&'static str, f64, f64)) -> Line {
    Line { name, label, unit, source: Source::True(of.0, of.1, of.2) }
}

/// Every line, in the order of a row.
pub const LINES: [Line; 12] = [
    shown("pt1", "PT-1 vessel", "bar abs", |s| f64::from(s.readings().pt1.value.0) * 1e-5),
    shown("pt2", "PT-2 low side", "bar abs", |s| f64::from(s.readings().pt2.value.0) * 1e-5),
    shown("pt3", "PT-3 high side", "bar abs", |s| f64::from(s.readings().pt3.value.0) * 1e-5),
    shown("pt4", "PT-4 vacuum", "mbar abs", |s| f64::from(s.readings().pt4.value.0) * 1e-2),
    shown("tt1", "TT-1 vessel wall", "degC", |s| f64::from(s.readings().tt1.value.0) * 1e-2 - 273.15),
    shown("wt1", "WT-1 vessel", "kg", |s| f64::from(s.readings().wt1.mass.value.0) * 1e-6),
    truth("vehicle_high_p", "vehicle, high side", "bar abs", ("vehicle_high.p", 1e-5, 0.0)),
    truth("vehicle_low_p", "vehicle, low side", "bar abs", ("vehicle_low.p", 1e-5, 0.0)),
    truth("vehicle_high_m", "in vehicle, high side", "g", ("vehicle_high.m", 1e3, 0.0)),
    truth("vehicle_low_m", "in vehicle, low side", "g", ("vehicle_low.m", 1e3, 0.0)),
    truth("accumulator_m", "in vehicle, accumulator", "g", ("accumulator.m", 1e3, 0.0)),
    truth("cabinet_lfl", "cabinet gas", "% LFL", ("cabinet.lfl", 1e2, 0.0)),
];

/// One row: its time, then a figure a line; none where there is none.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row(f64, Vec<Option<f32>>);

/// A way that was left.
#[derive(Debug, Clone, Serialize)]
struct Left {
    way: u32,
    rows: Vec<Row>,
}

/// The rows.
#[derive(Debug, Clone, Default)]
pub struct History {
    way: u32,
    rows: Vec<Row>,
    left: Vec<Left>,
}

impl History {
    /// Takes a row down where one is due.
    pub fn look(&mut self, run: &Simulation) {
        let t = run.time();
        // Before the first scan the station has read nothing.
        if run.scans() == 0 || self.rows.len() >= ROWS || self.rows.last().is_some_and(|last| t < last.0 + EVERY - 1e-6)
        {
            return;
        }
        let read = |line: &Line| {
            let value = match line.source {
                Source::Shown(read) => Some(read(run.station())),
                Source::True(name, scale, offset) => run.signal(name).map(|value| value * scale + offset),
            };
            value.filter(|value| value.is_finite()).map(|value| value as f32)
        };
        self.rows.push(Row(t, LINES.iter().map(read).collect()));
    }

    /// The run went back to `t`: what came later is a way that was left.
    pub fn back(&mut self, t: f64) {
        let keep = self.rows.partition_point(|row| row.0 <= t);
        // From its last row before, so that the ways part at a point.
        let rows = self.rows.get(keep.saturating_sub(1)..).unwrap_or_default().to_vec();
        if rows.len() > 1 {
            self.left.push(Left { way: self.way, rows });
            if self.left.len() > WAYS {
                self.left.remove(0);
            }
        }
        self.rows.truncate(keep);
        self.way += 1;
    }

    /// Which way, and how many rows.
    pub fn stand(&self) -> (u32, usize) {
        (self.way, self.rows.len())
    }

    /// As a page reads it: the way at hand from row `from` on, the ways that were left, and what the figures are.
    pub fn told(&self, from: usize) -> serde_json::Value {
        let lines: Vec<_> = LINES
            .iter()
            .map(|line| {
                let is_true = matches!(line.source, Source::True(..));
                serde_json::json!({ "name": line.name, "label": line.label, "unit": line.unit, "true": is_true })
            })
            .collect();
        let rows = self.rows.get(from..).unwrap_or_default();
        serde_json::json!({ "way": self.way, "from": from, "lines": lines, "rows": rows, "left": self.left })
    }
}
