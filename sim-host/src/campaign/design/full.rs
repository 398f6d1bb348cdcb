//! Every combination: the number of a run is taken apart like the digits of a number, the moment last, so that neighbours share a base.

use super::{Draft, Sizes, share_of};
use crate::campaign::plan::Together;

/// A full factorial.
pub(in crate::campaign) struct Full {
    sizes: Sizes,
    together: Together,
    /// The first number of each scenario, and behind them the count of all.
    starts: Vec<u64>,
}

const fn pairs(n: u64) -> u64 {
    n.saturating_mul(n.saturating_sub(1)) / 2
}

impl Full {
    pub(in crate::campaign) fn new(sizes: Sizes, together: Together) -> Self {
        let levels = sizes.factors.iter().map(|levels| levels.unwrap_or(1) as u64);
        let bases = levels.fold((sizes.stations * sizes.seeds) as u64, u64::saturating_mul);
        let mut made = Self { sizes, together, starts: vec![0] };
        for scenario in 0..made.sizes.moments.len() {
            let last = made.starts.last().copied().unwrap_or(0);
            made.starts.push(last.saturating_add(bases.saturating_mul(made.inner(scenario))));
        }
        made
    }

    /// How many runs there are.
    pub(in crate::campaign) fn count(&self) -> u64 {
        self.starts.last().copied().unwrap_or(0)
    }

    /// Faults and moments of one base.
    fn inner(&self, scenario: usize) -> u64 {
        let (any, once) = (self.sizes.any.len() as u64, self.sizes.once.len() as u64);
        let m = self.moments(scenario);
        if self.sizes.ways() == 0 {
            return 1;
        }
        match self.together {
            Together::One => any * m + once,
            Together::TwoAtOnce => pairs(any) * m + any * once * m + pairs(once),
            Together::TwoApart => pairs(any) * m * m + any * once * m + pairs(once),
        }
    }

    fn moments(&self, scenario: usize) -> u64 {
        self.sizes.moments.get(scenario).map_or(0, |n| *n as u64)
    }

    pub(in crate::campaign) fn at(&self, index: u64) -> Draft {
        let scenario = self.starts.partition_point(|start| *start <= index).saturating_sub(1);
        let within = index - self.starts.get(scenario).copied().unwrap_or(0);
        let inner = self.inner(scenario).max(1);
        let (mut base, rest) = (within / inner, within % inner);
        let mut digit = |levels: usize| {
            let found = base % levels.max(1) as u64;
            base /= levels.max(1) as u64;
            found as usize
        };
        let seed = digit(self.sizes.seeds);
        let levels: Vec<usize> = self.sizes.factors.iter().map(|levels| levels.unwrap_or(1)).collect();
        let mut shares: Vec<f64> = levels.iter().rev().map(|levels| share_of(digit(*levels), *levels)).collect();
        shares.reverse();
        let station = digit(self.sizes.stations);
        Draft { scenario, station, shares, seed, faults: self.faults(scenario, rest) }
    }

    fn faults(&self, scenario: usize, rest: u64) -> Vec<(usize, Option<usize>)> {
        let (any, once) = (&self.sizes.any, &self.sizes.once);
        let m = self.moments(scenario).max(1);
        let moment = |at: u64| Some((at % m) as usize);
        if self.sizes.ways() == 0 {
            return Vec::new();
        }
        let a = any.len() as u64;
        if self.together == Together::One {
            return match rest.checked_sub(a * self.moments(scenario)) {
                None => vec![(any[(rest / m) as usize], moment(rest))],
                Some(at) => vec![(once[at as usize], None)],
            };
        }
        let apart = self.together == Together::TwoApart;
        let each = if apart { m * m } else { m };
        let both = if self.moments(scenario) == 0 { 0 } else { pairs(a) * each };
        let Some(rest) = rest.checked_sub(both) else {
            let (i, j) = pair(rest / each, any.len());
            let (first, second) = if apart { (rest / m, rest) } else { (rest, rest) };
            return vec![(any[i], moment(first)), (any[j], moment(second))];
        };
        let mixed = a * once.len() as u64 * self.moments(scenario);
        match rest.checked_sub(mixed) {
            None => {
                let at = rest / m;
                let (i, j) = ((at / once.len() as u64) as usize, (at % once.len() as u64) as usize);
                vec![(once[j], None), (any[i], moment(rest))]
            }
            Some(at) => {
                let (i, j) = pair(at, once.len());
                vec![(once[i], None), (once[j], None)]
            }
        }
    }
}

/// The pair of this number among those of `n` things, in the order of a dictionary.
fn pair(number: u64, n: usize) -> (usize, usize) {
    let (mut first, mut rest) = (0, number as usize);
    while first + 2 < n && rest >= n - 1 - first {
        rest -= n - 1 - first;
        first += 1;
    }
    (first, first + 1 + rest)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    fn sizes() -> Sizes {
        Sizes {
            moments: vec![3, 5],
            stations: 2,
            factors: vec![Some(2), Some(3)],
            seeds: 2,
            any: vec![0, 2, 3],
            once: vec![1, 4],
        }
    }

    #[test]
    fn every_number_is_another_run_and_none_is_left_out() {
        for (together, inner) in [
            (Together::One, [3 * 3 + 2, 3 * 5 + 2]),
            (Together::TwoAtOnce, [3 * 3 + 6 * 3 + 1, 3 * 5 + 6 * 5 + 1]),
            (Together::TwoApart, [3 * 9 + 6 * 3 + 1, 3 * 25 + 6 * 5 + 1]),
        ] {
            let full = Full::new(sizes(), together);
            assert_eq!(full.count(), 2 * 6 * 2 * (inner[0] + inner[1]), "{together:?}");
            let all: BTreeSet<String> = (0..full.count()).map(|at| format!("{:?}", full.at(at))).collect();
            assert_eq!(all.len() as u64, full.count(), "{together:?}");
        }
    }

    #[test]
    fn without_faults_each_base_is_one_run() {
        let full = Full::new(Sizes { any: vec![], once: vec![], ..sizes() }, Together::One);
        assert_eq!(full.count(), 2 * 2 * 6 * 2);
        assert!((0..full.count()).all(|at| full.at(at).faults.is_empty()));
    }
}
