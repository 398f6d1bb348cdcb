//! What a stretch of two streams says of `until` and `since`, and that of a sliding stretch in amortised constant time: summaries of
//! stretches that follow each other make the summary of both, so that two stacks are a queue of them.

use super::degree::{Degree, Point};

/// A stretch of samples of a left side that must hold and a right side that must come.
#[derive(Clone, Copy, Debug)]
pub struct Stretch {
    /// How far the left side holds all along.
    pub kept: Point,
    /// How far the right side comes, the left side holding until then, or since then.
    pub came: Point,
}

impl Stretch {
    /// Of no sample.
    pub const NONE: Self = Self { kept: Point::bare(Degree::MOST), came: Point::bare(Degree::LEAST) };

    /// Of one sample.
    pub const fn one(left: Point, right: Point) -> Self {
        Self { kept: left, came: right }
    }

    /// This stretch and the one after it; looking ahead for `until`, back for `since`.
    #[inline]
    #[must_use]
    pub fn and(self, later: Self, ahead: bool) -> Self {
        let (first, second) = if ahead { (self, later) } else { (later, self) };
        Self { kept: self.kept.least(later.kept), came: first.came.most(first.kept.least(second.came)) }
    }
}

/// A queue of samples with the summary of all of them.
#[derive(Clone, Debug)]
pub struct Sliding {
    ahead: bool,
    /// The older ones, the oldest at the end, each with the summary of itself and the older ones' successors in this stack.
    old: Vec<(Point, Stretch)>,
    new: Vec<(Point, Point)>,
    sum: Stretch,
}

impl Sliding {
    /// Empty; for `until` it looks ahead, for `since` back.
    pub const fn new(ahead: bool) -> Self {
        Self { ahead, old: Vec::new(), new: Vec::new(), sum: Stretch::NONE }
    }

    /// A sample comes in at the new end.
    #[inline]
    pub fn push(&mut self, left: Point, right: Point) {
        self.sum = self.sum.and(Stretch::one(left, right), self.ahead);
        self.new.push((left, right));
    }

    /// The oldest leaves; its left side.
    #[inline]
    pub fn pop(&mut self) -> Option<Point> {
        if self.old.is_empty() {
            let mut sum = Stretch::NONE;
            for (left, right) in self.new.drain(..).rev() {
                sum = Stretch::one(left, right).and(sum, self.ahead);
                self.old.push((left, sum));
            }
            self.sum = Stretch::NONE;
        }
        self.old.pop().map(|(left, _)| left)
    }

    /// Of all that is in it.
    #[inline]
    pub fn value(&self) -> Stretch {
        self.old.last().map_or(self.sum, |(_, old)| old.and(self.sum, self.ahead))
    }

    /// How many samples are in it.
    pub fn len(&self) -> usize {
        self.old.len() + self.new.len()
    }
}
