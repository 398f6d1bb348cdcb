//! Numbers drawn from a seed for networks: evenly, evenly by order of magnitude, or over all that a file may say.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};
use valvewright_sim::scenario::quantity::short;

/// A source of draws; equal seeds give equal draws in equal order.
pub(super) struct Dice {
    generator: Xoshiro256PlusPlus,
    /// Sizes may now and then be anything that a file accepts.
    odd: bool,
}

impl Dice {
    pub(super) fn new(seed: u64) -> Self {
        let mut made = Self { generator: Xoshiro256PlusPlus::seed_from_u64(seed), odd: false };
        made.odd = made.often(30);
        made
    }

    fn share(&mut self) -> f64 {
        (self.generator.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Between two numbers.
    pub(super) fn even(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// Between two numbers above 0, each order of magnitude as likely as another.
    pub(super) fn log(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.share())
    }

    /// Mostly between the usual numbers; in an odd network now and then between those that a file accepts.
    pub(super) fn size(&mut self, usual: [f64; 2], accepted: [f64; 2]) -> f64 {
        let [low, high] = if self.odd && self.often(10) { accepted } else { usual };
        self.log(low, high)
    }

    /// 0 to `count` - 1.
    pub(super) fn below(&mut self, count: usize) -> usize {
        ((self.share() * count as f64) as usize).min(count.saturating_sub(1))
    }

    /// True in `percent` of a hundred draws.
    pub(super) fn often(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    /// One of a list that is not empty.
    pub(super) fn pick<T: Copy>(&mut self, list: &[T]) -> T {
        list[self.below(list.len())]
    }

    /// One of a list by weights.
    pub(super) fn weighted<T: Copy>(&mut self, list: &[(usize, T)]) -> T {
        let all: usize = list.iter().map(|(weight, _)| weight).sum();
        let mut left = self.below(all);
        for (weight, one) in list {
            if left < *weight {
                return *one;
            }
            left -= weight;
        }
        list[list.len() - 1].1
    }
}

/// `"<value> <unit>"` in quotes; `value` in that unit.
pub(super) fn with_unit(value: f64, unit: &str) -> String {
    format!("\"{} {unit}\"", short(value))
}
