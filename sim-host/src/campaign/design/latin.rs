//! A Latin hypercube: of so many runs each factor visits as many strata of its range, each once, in an order of its own.

use xxhash_rust::xxh3::xxh3_64_with_seed;

use super::{Draft, Sizes};
use crate::campaign::plan::{Together, level};

/// A design of so many runs.
pub(in crate::campaign) struct Latin {
    sizes: Sizes,
    together: Together,
    seed: u64,
    runs: u64,
}

impl Latin {
    pub(in crate::campaign) const fn new(sizes: Sizes, together: Together, seed: u64, runs: u64) -> Self {
        Self { sizes, together, seed, runs }
    }

    pub(in crate::campaign) const fn count(&self) -> u64 {
        self.runs
    }

    /// Where in its range, 0 to below 1, factor number `factor` is in this run.
    fn share(&self, factor: u64, index: u64) -> f64 {
        let key = mixed(self.seed, factor);
        let stratum = permuted(index, self.runs, key);
        let within = (mixed(key, index) >> 11) as f64 / (1u64 << 53) as f64;
        ((stratum as f64 + within) / self.runs as f64).min(1.0 - f64::EPSILON)
    }

    pub(in crate::campaign) fn at(&self, index: u64) -> Draft {
        let mut factor = 0;
        let mut next = || {
            factor += 1;
            self.share(factor, index)
        };
        let scenario = level(next(), self.sizes.moments.len());
        let station = level(next(), self.sizes.stations);
        let seed = level(next(), self.sizes.seeds);
        let shares = self.sizes.factors.iter().map(|_| next()).collect();
        let mut faults: Vec<(usize, Option<usize>)> = Vec::new();
        let slots = if self.together == Together::One { 1 } else { 2 };
        for slot in 0..slots.min(self.sizes.ways()) {
            let (which, when) = (next(), next());
            let mut way = level(which, self.sizes.ways() - slot);
            // The second is one of the others.
            way += usize::from(faults.first().is_some_and(|(first, _)| way >= *first));
            let moment = match (self.together, faults.first()) {
                (Together::TwoAtOnce, Some((_, first @ Some(_)))) => *first,
                _ => Some(level(when, self.sizes.moments.get(scenario).copied().unwrap_or(0))),
            };
            faults.push((way, moment));
        }
        for (way, moment) in &mut faults {
            *moment = moment.filter(|_| self.sizes.any.contains(way));
        }
        Draft { scenario, station, shares, seed, faults }
    }
}

fn mixed(seed: u64, number: u64) -> u64 {
    xxh3_64_with_seed(&number.to_le_bytes(), seed)
}

/// Where number `index` of `count` goes in the order that `key` gives: a shuffle of which no list is kept, by a Feistel network over the
/// next even number of bits, walked on where it leaves the range.
pub fn permuted(index: u64, count: u64, key: u64) -> u64 {
    let bits = u64::BITS - count.saturating_sub(1).leading_zeros();
    let half = bits.div_ceil(2).max(1);
    let mask = (1u64 << half) - 1;
    let mut at = index;
    loop {
        let (mut left, mut right) = (at >> half, at & mask);
        for round in 0..4 {
            (left, right) = (right, left ^ (mixed(key ^ round, right) & mask));
        }
        at = left << half | right;
        if at < count {
            return at;
        }
    }
}
