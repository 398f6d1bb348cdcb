//! Smallest or largest sample of a sliding window, amortised in constant time: the monotonic wedge (Lemire 2006, as Donze, Ferrere and Maler
//! 2013 use it for temporal logic).

use std::collections::VecDeque;

use super::degree::Point;

/// The samples of a window that may still be the one looked for.
#[derive(Clone, Debug)]
pub struct Wedge {
    most: bool,
    list: VecDeque<(u32, Point)>,
}

impl Wedge {
    /// Nothing in the window; the largest is looked for, or the smallest.
    pub fn new(most: bool) -> Self {
        Self { most, list: VecDeque::new() }
    }

    /// A sample comes in at the new end.
    #[inline]
    pub fn push(&mut self, index: u32, point: Point) {
        while let Some((_, last)) = self.list.back() {
            let stays = if self.most { last.degree > point.degree } else { last.degree < point.degree };
            if stays {
                break;
            }
            self.list.pop_back();
        }
        self.list.push_back((index, point));
    }

    /// Samples before this one leave.
    #[inline]
    pub fn leave(&mut self, before: u32) {
        while self.list.front().is_some_and(|(index, _)| *index < before) {
            self.list.pop_front();
        }
    }

    /// The one looked for; of an empty window what that is worth.
    #[inline]
    pub fn value(&self) -> Point {
        self.list.front().map_or(Point::empty(self.most), |(_, point)| *point)
    }

    /// How many entries it takes room for.
    pub fn room(&self) -> usize {
        self.list.len()
    }
}
