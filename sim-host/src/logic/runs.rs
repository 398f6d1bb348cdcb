//! A queue of samples that keeps equal ones that follow each other as one: what is true or false for long takes no room.

use std::collections::VecDeque;

use super::degree::Point;

/// First in, first out.
#[derive(Clone, Debug, Default)]
pub struct Runs {
    list: VecDeque<(Point, u32)>,
    len: usize,
}

impl Runs {
    /// Puts one at the end.
    #[inline]
    pub fn push(&mut self, point: Point) {
        self.len += 1;
        match self.list.back_mut() {
            Some((last, count)) if last.degree == point.degree && last.atom == point.atom && *count < u32::MAX => {
                *count += 1;
            }
            _ => self.list.push_back((point, 1)),
        }
    }

    /// Takes the first.
    #[inline]
    pub fn pop(&mut self) -> Option<Point> {
        let (point, count) = self.list.front_mut()?;
        let point = *point;
        *count -= 1;
        if *count == 0 {
            self.list.pop_front();
        }
        self.len -= 1;
        Some(point)
    }

    /// Whether none is.
    #[inline]
    pub const fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// How many entries it takes room for.
    pub fn room(&self) -> usize {
        self.list.len()
    }
}

/// Two streams that do not come equally soon, paired.
#[derive(Clone, Debug, Default)]
pub struct Join {
    left: Runs,
    right: Runs,
}

impl Join {
    /// Takes what came and gives the next pair, if there is one.
    #[inline]
    pub fn push(&mut self, left: Option<Point>, right: Option<Point>) -> Option<(Point, Point)> {
        if let (Some(left), Some(right), true, true) = (left, right, self.left.is_empty(), self.right.is_empty()) {
            return Some((left, right));
        }
        if let Some(left) = left {
            self.left.push(left);
        }
        if let Some(right) = right {
            self.right.push(right);
        }
        if self.left.is_empty() || self.right.is_empty() {
            return None;
        }
        self.left.pop().zip(self.right.pop())
    }

    /// How many entries it takes room for.
    pub fn room(&self) -> usize {
        self.left.room() + self.right.room()
    }
}
