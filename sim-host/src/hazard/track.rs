//! What became of one hazard so far: its margin at the last look, the levels reached and when, the worst margin and when, and the margin over time.

use crate::report::data::{HazardLevel, What};

use super::limits::Scale;

/// A margin below which it does not count while another condition of the accident is missing: one barrier is left.
pub const BARRED: f64 = 0.05;
/// Steps of margin that a history tells apart.
const GRAIN: f64 = 0.05;
/// A margin is not followed further than this below the accident level.
const DEEPEST: f64 = -1.0;

/// What a monitor found at one moment.
#[derive(Debug, Clone, Copy)]
pub struct Finding {
    /// Distance from the accident: 1 at rest, one half at the alert level, 0 at the accident level.
    pub margin: f64,
    /// The quantity it was judged by, SI; not a number where none was to be had.
    pub figure: f64,
    /// What that is.
    pub what: &'static What,
}

impl Finding {
    /// Nothing of it.
    pub const fn calm(what: &'static What) -> Self {
        Self { margin: 1.0, figure: 0.0, what }
    }

    /// A figure on its scale, straight between rest, alert and accident and beyond.
    pub fn on(scale: &Scale, figure: f64, what: &'static What) -> Self {
        let Scale { rest, alert, accident } = *scale;
        let margin = if figure < alert {
            1.0 - 0.5 * (figure - rest) / (alert - rest)
        } else if accident.is_finite() {
            0.5 * (accident - figure) / (accident - alert)
        } else {
            // It has no accident level: twice the alert level is half way to the last barrier.
            0.5 * (alert - rest) / (figure - rest)
        };
        Self { margin: margin.clamp(DEEPEST, 1.0), figure, what }
    }

    /// No accident yet: something else that it takes is missing.
    pub fn barred(self) -> Self {
        Self { margin: self.margin.max(BARRED), ..self }
    }

    /// At the alert level at least.
    pub fn alerted(self) -> Self {
        Self { margin: self.margin.min(0.5), ..self }
    }

    /// At the accident level at least.
    pub fn happened(self) -> Self {
        Self { margin: self.margin.min(0.0), ..self }
    }

    /// The worse of two.
    pub fn or(self, other: Self) -> Self {
        if other.margin < self.margin || other.figure.is_nan() { other } else { self }
    }

    /// How far it has come.
    pub fn level(&self) -> HazardLevel {
        if self.margin <= 0.0 {
            HazardLevel::Accident
        } else if self.margin <= 0.5 {
            HazardLevel::Alert
        } else {
            HazardLevel::None
        }
    }
}

/// One hazard over a run.
#[derive(Debug, Clone)]
pub struct Track {
    /// What was found at the last look.
    pub last: Finding,
    /// The worst finding and when it was made, s.
    pub worst: (f64, Finding),
    /// When each level was first reached, s.
    pub alert: Option<f64>,
    /// The same of the accident.
    pub accident: Option<f64>,
    /// When the plant first gave no number for it, s.
    pub unseen: Option<f64>,
    /// Margin over time: from when on, s, and how much in steps.
    pub history: Vec<(f64, i8)>,
}

impl Track {
    /// At the start.
    pub fn new(what: &'static What) -> Self {
        Self {
            last: Finding::calm(what),
            worst: (0.0, Finding::calm(what)),
            alert: None,
            accident: None,
            unseen: None,
            history: Vec::new(),
        }
    }

    /// Notes a finding at either end of a span of time, s, between which it went straight; whether an accident was reached by it.
    pub fn note(&mut self, (from, to): (f64, f64), a: Finding, b: Finding, keep: bool) -> bool {
        if a.figure.is_nan() || a.margin.is_nan() || b.figure.is_nan() || b.margin.is_nan() {
            self.unseen.get_or_insert(from);
            return false;
        }
        self.last = b;
        let (t, worse) = if b.margin < a.margin { (to, b) } else { (from, a) };
        if worse.margin < self.worst.1.margin {
            self.worst = (t, worse);
        }
        let crossing = |limit: f64| {
            if a.margin <= limit {
                Some(from)
            } else if b.margin <= limit {
                Some(from + (to - from) * (a.margin - limit) / (a.margin - b.margin))
            } else {
                None
            }
        };
        if worse.margin <= 0.5 && self.alert.is_none() {
            self.alert = crossing(0.5);
        }
        if worse.margin <= 0.0 && self.accident.is_none() {
            self.accident = crossing(0.0);
        }
        if keep {
            let step = (worse.margin / GRAIN).floor() as i8;
            if self.history.last().is_none_or(|(_, last)| *last != step) {
                self.history.push((from, step));
            }
        }
        worse.margin <= 0.0
    }

    /// How far it came at most.
    pub fn level(&self) -> HazardLevel {
        match (self.alert, self.accident) {
            (_, Some(_)) => HazardLevel::Accident,
            (Some(_), None) => HazardLevel::Alert,
            (None, None) => HazardLevel::None,
        }
    }

    /// The history with its margins.
    pub fn over_time(&self) -> Vec<(f64, f32)> {
        self.history.iter().map(|(t, step)| (*t, (f64::from(*step) * GRAIN) as f32)).collect()
    }
}
