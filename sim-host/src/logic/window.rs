//! What an operator looks at over a time: windows ahead and back, and `until` and `since` in them. Each takes samples in their order and
//! gives values in their order; one that looks ahead gives them as many scans later as it looks.

use super::degree::{Degree, Point};
use super::runs::Runs;
use super::segment::Sliding;
use super::wedge::Wedge;

/// A span in scans, both ends counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Steps {
    /// The nearer end.
    pub from: u32,
    /// The farther end.
    pub to: u32,
}

impl Steps {
    /// The scans of this period, s, that lie in a span; none where it falls between two of them.
    pub fn of(span: super::formula::Span, period: f64) -> Option<Self> {
        // A multiple of the period is that scan, however it was rounded.
        let close = 1e-6;
        let (from, to) = ((span.from / period - close).ceil(), (span.to / period + close).floor());
        let most = f64::from(u32::MAX / 4);
        (from <= to).then_some(Self { from: from.clamp(0.0, most) as u32, to: to.clamp(0.0, most) as u32 })
    }
}

/// How what lies beyond the end of a run is taken by what looks there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Beyond {
    /// As if it were not in the window: the rule for finite runs.
    Nothing,
    /// The worst that could come.
    Worst,
    /// The best that could come.
    Best,
}

impl Beyond {
    /// What it is for a part that counts as it is, or by its contrary; nothing where it is not in the window.
    pub const fn degree(self, contrary: bool) -> Option<Degree> {
        match (self, contrary) {
            (Self::Nothing, _) => None,
            (Self::Worst, false) | (Self::Best, true) => Some(Degree::LEAST),
            (Self::Worst, true) | (Self::Best, false) => Some(Degree::MOST),
        }
    }
}

/// `always` and `eventually` over a span.
#[derive(Clone, Debug)]
pub struct Ahead {
    steps: Steps,
    most: bool,
    seen: u32,
    given: u32,
    wedge: Wedge,
}

impl Ahead {
    /// The largest or the smallest over these steps.
    pub fn new(steps: Steps, most: bool) -> Self {
        Self { steps, most, seen: 0, given: 0, wedge: Wedge::new(most) }
    }

    /// A sample, and the value that is known with it.
    #[inline]
    pub fn push(&mut self, point: Point) -> Option<Point> {
        let index = self.seen;
        self.seen += 1;
        self.wedge.push(index, point);
        if index < self.steps.to {
            return None;
        }
        self.wedge.leave(self.given + self.steps.from);
        self.given += 1;
        Some(self.wedge.value())
    }

    /// The values that were not known yet, the run being over.
    pub fn rest(&mut self, beyond: Option<Degree>, out: &mut Vec<Point>) {
        while self.given < self.seen {
            self.wedge.leave(self.given.saturating_add(self.steps.from));
            self.given += 1;
            let known = self.wedge.value();
            out.push(beyond.map_or(known, |degree| known.pick(Point::bare(degree), self.most)));
        }
    }

    /// How many entries it takes room for.
    pub fn room(&self) -> usize {
        self.wedge.room()
    }
}

/// `historically` and `once` over a span.
#[derive(Clone, Debug)]
pub struct Back {
    steps: Steps,
    seen: u32,
    wait: Runs,
    wedge: Wedge,
}

impl Back {
    /// The largest or the smallest over these steps.
    pub fn new(steps: Steps, most: bool) -> Self {
        Self { steps, seen: 0, wait: Runs::default(), wedge: Wedge::new(most) }
    }

    /// A sample, and its value.
    #[inline]
    pub fn push(&mut self, point: Point) -> Point {
        let index = self.seen;
        self.seen += 1;
        self.wait.push(point);
        if let Some(entered) = index.checked_sub(self.steps.from)
            && let Some(point) = self.wait.pop()
        {
            self.wedge.push(entered, point);
        }
        self.wedge.leave(index.saturating_sub(self.steps.to));
        self.wedge.value()
    }

    /// How many entries it takes room for.
    pub fn room(&self) -> usize {
        self.wait.room() + self.wedge.room()
    }
}

/// `until` over a span.
#[derive(Clone, Debug)]
pub struct Until {
    steps: Steps,
    seen: u32,
    given: u32,
    /// The left side before the window.
    before: Wedge,
    window: Sliding,
}

impl Until {
    /// Over these steps.
    pub fn new(steps: Steps) -> Self {
        Self { steps, seen: 0, given: 0, before: Wedge::new(false), window: Sliding::new(true) }
    }

    /// A sample of both sides, and the value that is known with it.
    #[inline]
    pub fn push(&mut self, left: Point, right: Point) -> Option<Point> {
        let index = self.seen;
        self.seen += 1;
        if index < self.steps.from {
            self.before.push(index, left);
        } else {
            self.window.push(left, right);
        }
        (index >= self.steps.to).then(|| self.give(false))
    }

    /// The values that were not known yet, the run being over.
    pub fn rest(&mut self, beyond: Option<Degree>, out: &mut Vec<Point>) {
        while self.given < self.seen {
            let value = self.give(beyond == Some(Degree::MOST));
            out.push(value);
        }
    }

    /// The next value; where all is well beyond the end, the right side comes there.
    #[inline]
    fn give(&mut self, well: bool) -> Point {
        let window = self.window.value();
        let came = if well { window.came.most(window.kept) } else { window.came };
        let value = self.before.value().least(came);
        let leaves = self.given.saturating_add(self.steps.from);
        if let Some(left) = self.window.pop()
            && self.steps.from > 0
        {
            self.before.push(leaves, left);
        }
        self.given += 1;
        self.before.leave(self.given);
        value
    }

    /// How many entries it takes room for.
    pub fn room(&self) -> usize {
        self.before.room() + self.window.len()
    }
}

/// `since` over a span.
#[derive(Clone, Debug)]
pub struct Since {
    steps: Steps,
    seen: u32,
    /// Samples after the window.
    after: (Runs, Runs),
    kept: Wedge,
    window: Sliding,
}

impl Since {
    /// Over these steps.
    pub fn new(steps: Steps) -> Self {
        Self {
            steps,
            seen: 0,
            after: (Runs::default(), Runs::default()),
            kept: Wedge::new(false),
            window: Sliding::new(false),
        }
    }

    /// A sample of both sides, and its value.
    #[inline]
    pub fn push(&mut self, left: Point, right: Point) -> Point {
        let index = self.seen;
        self.seen += 1;
        self.after.0.push(left);
        self.after.1.push(right);
        self.kept.push(index, left);
        if index >= self.steps.from
            && let Some((left, right)) = self.after.0.pop().zip(self.after.1.pop())
        {
            self.window.push(left, right);
        }
        if index > self.steps.to {
            self.window.pop();
        }
        self.kept.leave((index + 1).saturating_sub(self.steps.from));
        self.kept.value().least(self.window.value().came)
    }

    /// How many entries it takes room for.
    pub fn room(&self) -> usize {
        self.after.0.room() + self.after.1.room() + self.kept.room() + self.window.len()
    }
}
