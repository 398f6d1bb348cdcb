//! A pairwise design: few runs in which every two levels of two factors meet, as far as they may.
//!
//! Greedy: the first pair that has not met opens a run; each other factor takes the level that brings most pairs together, the one used least
//! among equals. The rows stand in memory: their number goes with the two longest factors, not with the product of all.

/// Whether level `a` of factor `f` and level `b` of factor `g` may not meet (f below g).
pub type Forbids<'a> = &'a dyn Fn((usize, usize), (usize, usize)) -> bool;

/// Which pairs have met: one table for each two factors.
struct Met<'a> {
    sizes: &'a [usize],
    tables: Vec<Vec<bool>>,
}

impl<'a> Met<'a> {
    /// Pairs that may not meet count as done.
    fn new(sizes: &'a [usize], forbids: Forbids<'_>) -> Self {
        let n = sizes.len();
        let mut tables = vec![Vec::new(); n * n];
        for f in 0..n {
            for g in f + 1..n {
                let all = (0..sizes[f]).flat_map(|a| (0..sizes[g]).map(move |b| (a, b)));
                tables[f * n + g] = all.map(|(a, b)| forbids((f, a), (g, b))).collect();
            }
        }
        Self { sizes, tables }
    }

    fn place(&self, one: (usize, usize), other: (usize, usize)) -> (usize, usize) {
        let ((f, a), (g, b)) = if one.0 < other.0 { (one, other) } else { (other, one) };
        (f * self.sizes.len() + g, a * self.sizes[g] + b)
    }

    fn has(&self, one: (usize, usize), other: (usize, usize)) -> bool {
        let (table, at) = self.place(one, other);
        self.tables[table][at]
    }

    fn meet(&mut self, row: &[usize]) {
        for f in 0..row.len() {
            for g in f + 1..row.len() {
                let (table, at) = self.place((f, row[f]), (g, row[g]));
                self.tables[table][at] = true;
            }
        }
    }
}

/// Rows of levels, one for each factor of these sizes, in which every pair that may meets. Every level of a factor must be free to meet some
/// level of each other one.
pub fn cover(sizes: &[usize], forbids: Forbids<'_>) -> Vec<Vec<u32>> {
    let n = sizes.len();
    if sizes.contains(&0) {
        return Vec::new();
    }
    if n == 1 {
        return (0..sizes[0]).map(|level| vec![level as u32]).collect();
    }
    let mut met = Met::new(sizes, forbids);
    let mut used: Vec<Vec<u32>> = sizes.iter().map(|size| vec![0; *size]).collect();
    let mut rows = Vec::new();
    for f in 0..n {
        for g in f + 1..n {
            for at in 0..sizes[f] * sizes[g] {
                let (a, b) = (at / sizes[g], at % sizes[g]);
                if met.has((f, a), (g, b)) {
                    continue;
                }
                let row = filled(&met, &used, forbids, ((f, a), (g, b)));
                met.meet(&row);
                row.iter().enumerate().for_each(|(factor, level)| used[factor][*level] += 1);
                rows.push(row.into_iter().map(|level| level as u32).collect());
            }
        }
    }
    rows
}

/// A row that begins with this pair.
fn filled(met: &Met, used: &[Vec<u32>], forbids: Forbids<'_>, pair: ((usize, usize), (usize, usize))) -> Vec<usize> {
    let sizes = met.sizes;
    let mut row: Vec<Option<usize>> = vec![None; sizes.len()];
    row[pair.0.0] = Some(pair.0.1);
    row[pair.1.0] = Some(pair.1.1);
    for factor in 0..sizes.len() {
        if row[factor].is_some() {
            continue;
        }
        let set: Vec<(usize, usize)> = row.iter().enumerate().filter_map(|(g, level)| Some((g, (*level)?))).collect();
        let may = |level: &usize| {
            set.iter().all(|other| {
                let one = (factor, *level);
                !if one.0 < other.0 { forbids(one, *other) } else { forbids(*other, one) }
            })
        };
        let gain = |level: usize| set.iter().filter(|other| !met.has((factor, level), **other)).count();
        let best = (0..sizes[factor]).filter(may).min_by_key(|level| (usize::MAX - gain(*level), used[factor][*level]));
        row[factor] = Some(best.unwrap_or(0));
    }
    row.into_iter().map(|level| level.unwrap_or(0)).collect()
}
