//! A swarm: each run has its own random subset of the faults, each at a moment of its own, in surroundings of its own.

use xxhash_rust::xxh3::xxh3_64_with_seed;

use super::{Draft, Sizes};
use crate::scenario::random::draw::Draw;

/// A design of so many runs.
pub(in crate::campaign) struct Swarm {
    sizes: Sizes,
    seed: u64,
    runs: u64,
    least: usize,
    most: usize,
}

impl Swarm {
    pub(in crate::campaign) const fn new(sizes: Sizes, seed: u64, runs: u64, (least, most): (usize, usize)) -> Self {
        Self { sizes, seed, runs, least, most }
    }

    pub(in crate::campaign) const fn count(&self) -> u64 {
        self.runs
    }

    pub(in crate::campaign) fn at(&self, index: u64) -> Draft {
        let mut draw = Draw::new(xxh3_64_with_seed(&index.to_le_bytes(), self.seed));
        let mut below = |n: usize| draw.between(0, n.saturating_sub(1) as i64).unsigned_abs() as usize;
        let scenario = below(self.sizes.moments.len());
        let station = below(self.sizes.stations);
        let seed = below(self.sizes.seeds);
        /// Steps in which a span is drawn.
        const FINE: usize = 1 << 30;
        let shares = self.sizes.factors.iter().map(|_| below(FINE) as f64 / FINE as f64).collect();
        let moments = self.sizes.moments.get(scenario).copied().unwrap_or(0);
        let wanted = (self.least + below(self.most - self.least + 1)).min(self.sizes.ways());
        let mut faults: Vec<(usize, Option<usize>)> = Vec::with_capacity(wanted);
        while faults.len() < wanted {
            let way = below(self.sizes.ways());
            if faults.iter().any(|(one, _)| *one == way) {
                continue;
            }
            let moment = self.sizes.any.contains(&way).then(|| below(moments));
            faults.push((way, moment));
        }
        Draft { scenario, station, shares, seed, faults }
    }
}
