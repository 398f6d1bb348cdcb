//! Block LU of one fixed pattern: analysed once, factorised thousands of times, no allocation after `new`.
//!
//! Unknowns stand in blocks of four, filled up with identity where fewer belong together; four numbers are one or two vector
//! registers on any host. The elimination follows the caller's order (no pivoting): the plant numbers each volume's
//! energy before its masses, which keeps the pivots of its flow matrices away from zero; a vanishing pivot is reported.
//! A shut valve leaves blocks of zeros: they are found while factorising and skipped in every solve.

use std::sync::Arc;

pub use super::block::{AREA, SIDE};
use super::block::{Block, Lane, invert, is_zero, product, subtract, take, times};

/// A pattern, analysed: what many runs of one network share.
#[derive(Debug)]
pub struct Pattern {
    /// Start of each block row in `columns`, one more entry than rows.
    starts: Vec<u32>,
    /// Block column of each stored block, ascending within a row.
    columns: Vec<u32>,
    /// Position of each block row's diagonal block.
    diagonals: Vec<u32>,
    /// For each stored block left of the diagonal, where in `targets` its updates begin.
    updates: Vec<u32>,
    /// Stored block that the next block of the pivot row is to be taken from.
    targets: Vec<u32>,
    /// Place of each unknown, block by block; of those that stand alone, their number among them, past the blocks.
    place: Vec<u32>,
    /// Unknowns that hang on one block alone, and that block: eliminated one by one, before all others.
    singles: Vec<(u32, u32)>,
}

/// LU factors of a matrix whose pattern never changes.
#[derive(Debug, Clone)]
pub struct SparseLu {
    pattern: Arc<Pattern>,
    values: Vec<Block>,
    /// Which of them hold anything.
    some: Vec<bool>,
    /// Inverse diagonal blocks.
    inverse: Vec<Block>,
    /// Non-zero blocks left of the diagonal (row, column, position), and right of it, row by row from the last.
    lower: Vec<[u32; 3]>,
    upper: Vec<[u32; 3]>,
    work: Vec<Lane>,
    singles: Vec<Single>,
}

/// An unknown coupled with the unknowns of one block only.
#[derive(Debug, Clone, Default)]
struct Single {
    inverse: f64,
    /// What the block loses per unit of this unknown's right hand side.
    multiplier: Lane,
    /// This unknown's row.
    row: Lane,
    given: f64,
}

/// Matrix values of a single: its diagonal, its column in the block, its row in the block.
const SINGLE: usize = 1 + 2 * SIDE;

impl Pattern {
    /// Analyses the pattern `entries` (row, column) of an `n` x `n` matrix eliminated in `order`, whose groups share blocks;
    /// fill-in and the diagonal are added.
    pub fn new(n: usize, entries: &[(usize, usize)], order: &[Vec<usize>]) -> Self {
        let mut place = vec![0u32; n];
        let mut count = 0;
        let hosts = hosts(n, entries, order);
        for group in order {
            let group: Vec<usize> = group.iter().copied().filter(|&unknown| hosts[unknown].is_none()).collect();
            for chunk in group.chunks(SIDE) {
                for (at, unknown) in chunk.iter().enumerate() {
                    place[*unknown] = (count * SIDE + at) as u32;
                }
                count += 1;
            }
        }
        let mut singles = Vec::new();
        for (unknown, host) in hosts.iter().enumerate() {
            if let Some(host) = host {
                place[unknown] = (count * SIDE + singles.len()) as u32;
                singles.push((unknown as u32, place[*host] / SIDE as u32));
            }
        }
        let mut full = vec![vec![false; count]; count];
        for &(i, j) in entries.iter().filter(|(i, j)| hosts[*i].is_none() && hosts[*j].is_none()) {
            full[place[i] as usize / SIDE][place[j] as usize / SIDE] = true;
        }
        for (i, row) in full.iter_mut().enumerate() {
            row[i] = true;
        }
        for i in 0..count {
            let (above, rest) = full.split_at_mut(i);
            let Some(row) = rest.first_mut() else { break };
            for (k, pivot) in above.iter().enumerate() {
                if row[k] {
                    for (mine, theirs) in row.iter_mut().zip(pivot).skip(k + 1) {
                        *mine |= *theirs;
                    }
                }
            }
        }
        let (mut starts, mut columns, mut diagonals) = (vec![0u32], Vec::new(), Vec::new());
        for (i, row) in full.iter().enumerate() {
            for (j, used) in row.iter().enumerate() {
                if *used {
                    if i == j {
                        diagonals.push(columns.len() as u32);
                    }
                    columns.push(j as u32);
                }
            }
            starts.push(columns.len() as u32);
        }
        let find = |i: usize, j: u32| {
            let (from, to) = (starts[i] as usize, starts[i + 1] as usize);
            columns[from..to].binary_search(&j).map_or(0, |k| (from + k) as u32)
        };
        let (mut updates, mut targets) = (Vec::with_capacity(columns.len()), Vec::new());
        for i in 0..count {
            for at in starts[i] as usize..starts[i + 1] as usize {
                updates.push(targets.len() as u32);
                let k = columns[at] as usize;
                if k < i {
                    let row = diagonals[k] as usize + 1..starts[k + 1] as usize;
                    targets.extend(columns[row].iter().map(|&j| find(i, j)));
                }
            }
        }
        Self { starts, columns, diagonals, updates, targets, place, singles }
    }

    /// Position of an entry in the value arrays; `None` outside the pattern.
    pub fn position(&self, i: usize, j: usize) -> Option<usize> {
        let (i, j) = (self.place[i] as usize, self.place[j] as usize);
        let first = self.diagonals.len() * SIDE;
        let values = |number: usize| self.columns.len() * AREA + number * SINGLE;
        match (i.checked_sub(first), j.checked_sub(first)) {
            (Some(i), Some(j)) => return (i == j).then(|| values(i)),
            (Some(number), None) => {
                return (j / SIDE == self.singles[number].1 as usize).then(|| values(number) + 1 + SIDE + j % SIDE);
            }
            (None, Some(number)) => {
                return (i / SIDE == self.singles[number].1 as usize).then(|| values(number) + 1 + i % SIDE);
            }
            (None, None) => {}
        }
        let (from, to) = (self.starts[i / SIDE] as usize, self.starts[i / SIDE + 1] as usize);
        let at = self.columns[from..to].binary_search(&((j / SIDE) as u32)).ok()?;
        Some((from + at) * AREA + j % SIDE * SIDE + i % SIDE)
    }

    /// Number of stored values (fill-in included); the length a matrix array must have.
    pub fn len(&self) -> usize {
        self.columns.len() * AREA + self.singles.len() * SINGLE
    }
}

impl SparseLu {
    /// Room for factors of `pattern`.
    pub fn new(pattern: Arc<Pattern>) -> Self {
        let (stored, count) = (pattern.columns.len(), pattern.diagonals.len());
        Self {
            values: vec![[0.0; AREA]; stored],
            some: vec![false; stored],
            inverse: vec![[0.0; AREA]; count],
            lower: Vec::with_capacity(stored),
            upper: Vec::with_capacity(stored),
            work: vec![[0.0; SIDE]; count],
            singles: vec![Single::default(); pattern.singles.len()],
            pattern,
        }
    }

    /// Factorises `shift` * I - `matrix`. Returns `false` where a pivot vanishes or is not finite.
    pub fn factorise(&mut self, shift: f64, matrix: &[f64]) -> bool {
        let Self { pattern, values, some, inverse, lower, upper, singles, .. } = self;
        let Pattern { starts, columns, diagonals, updates, targets, .. } = &**pattern;
        let (blocks, _) = matrix.as_chunks::<AREA>();
        for ((value, some), block) in values.iter_mut().zip(some.iter_mut()).zip(blocks) {
            *value = block.map(|one| -one);
            *some = !is_zero(block);
        }
        let alone = matrix.get(columns.len() * AREA..).map_or(&[][..], |rest| rest.as_chunks::<SINGLE>().0);
        for ((single, [own, parts @ ..]), (_, block)) in singles.iter_mut().zip(alone).zip(&pattern.singles) {
            let pivot = shift - own;
            if !pivot.is_finite() || pivot.abs() < 1e-12 * shift {
                return false;
            }
            single.inverse = 1.0 / pivot;
            let diagonal = &mut values[diagonals[*block as usize] as usize];
            for k in 0..SIDE {
                single.multiplier[k] = -parts[k] * single.inverse;
                single.row[k] = -parts[SIDE + k];
            }
            for c in 0..SIDE {
                for r in 0..SIDE {
                    diagonal[c * SIDE + r] -= single.multiplier[r] * single.row[c];
                }
            }
        }
        lower.clear();
        upper.clear();
        for (i, &diagonal) in diagonals.iter().enumerate() {
            let diagonal = diagonal as usize;
            for k in 0..SIDE {
                values[diagonal][k * SIDE + k] += shift;
            }
            for at in starts[i] as usize..diagonal {
                let k = columns[at] as usize;
                if !some[at] {
                    continue;
                }
                let multiplier = product(&values[at], &inverse[k]);
                values[at] = multiplier;
                lower.push([i as u32, k as u32, at as u32]);
                let row = diagonals[k] as usize + 1..starts[k + 1] as usize;
                for (from, to) in row.zip(&targets[updates[at] as usize..]) {
                    if some[from] {
                        let source = values[from];
                        take(&mut values[*to as usize], &multiplier, &source);
                        some[*to as usize] = true;
                    }
                }
            }
            let Some(inverted) = invert(&values[diagonal], 1e-12 * shift) else { return false };
            inverse[i] = inverted;
        }
        for (i, &diagonal) in diagonals.iter().enumerate().rev() {
            for at in diagonal as usize + 1..starts[i + 1] as usize {
                if some[at] {
                    upper.push([i as u32, columns[at], at as u32]);
                }
            }
        }
        true
    }

    /// Solves in place with the last factors.
    pub fn solve(&mut self, x: &mut [f64]) {
        let Self { pattern, values, inverse, lower, upper, work, singles, .. } = self;
        let place = &pattern.place;
        work.fill([0.0; SIDE]);
        let flat = work.as_flattened_mut();
        for (value, place) in x.iter().zip(place.iter()) {
            if let Some(slot) = flat.get_mut(*place as usize) {
                *slot = *value;
            }
        }
        for (single, (unknown, block)) in singles.iter_mut().zip(&pattern.singles) {
            single.given = x[*unknown as usize];
            let part = single.multiplier.map(|one| one * single.given);
            subtract(&mut work[*block as usize], &part);
        }
        let mut rest = lower.as_slice();
        while let [[row, ..], ..] = rest {
            // Row by row, so that no sum waits for its own store.
            let mut sum = work[*row as usize];
            while let [[i, k, at], tail @ ..] = rest
                && i == row
            {
                subtract(&mut sum, &times(&values[*at as usize], &work[*k as usize]));
                rest = tail;
            }
            work[*row as usize] = sum;
        }
        let mut rest = upper.as_slice();
        for (i, inverse) in inverse.iter().enumerate().rev() {
            let mut sum = work[i];
            while let [[row, j, at], tail @ ..] = rest
                && *row as usize == i
            {
                subtract(&mut sum, &times(&values[*at as usize], &work[*j as usize]));
                rest = tail;
            }
            work[i] = times(inverse, &sum);
        }
        let flat = work.as_flattened();
        for (value, place) in x.iter_mut().zip(place.iter()) {
            if let Some(slot) = flat.get(*place as usize) {
                *value = *slot;
            }
        }
        for (single, (unknown, block)) in singles.iter().zip(&pattern.singles) {
            let block = &work[*block as usize];
            let sum = single.row[0] * block[0]
                + single.row[1] * block[1]
                + (single.row[2] * block[2] + single.row[3] * block[3]);
            x[*unknown as usize] = (single.given - sum) * single.inverse;
        }
    }
}

/// For each unknown that is coupled with the unknowns of one other group only, one of these.
fn hosts(n: usize, entries: &[(usize, usize)], order: &[Vec<usize>]) -> Vec<Option<usize>> {
    let mut group = vec![usize::MAX; n];
    for (at, members) in order.iter().enumerate() {
        members.iter().for_each(|&unknown| group[unknown] = at);
    }
    let mut near: Vec<Vec<usize>> = vec![Vec::new(); n];
    for &(i, j) in entries.iter().filter(|(i, j)| i != j) {
        near[i].push(j);
        near[j].push(i);
    }
    let mut found: Vec<Option<usize>> = vec![None; n];
    for unknown in 0..n {
        let mut beside = near[unknown].iter().copied();
        let Some(first) = beside.next() else { continue };
        let home = group[first];
        let fits = home != group[unknown] && order.get(home).is_some_and(|members| members.len() <= SIDE);
        if fits && found[first].is_none() && beside.all(|other| group[other] == home && found[other].is_none()) {
            found[unknown] = Some(first);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solves_with_fill_in() {
        let entries = [(0, 0), (0, 3), (1, 1), (1, 0), (2, 2), (2, 1), (3, 3), (3, 0), (3, 2)];
        let pattern = Arc::new(Pattern::new(4, &entries, &[vec![2], vec![0, 3], vec![1]]));
        let mut lu = SparseLu::new(pattern.clone());
        let mut matrix = vec![0.0; pattern.len()];
        let mut dense = [[0.0; 4]; 4];
        for (count, &(i, j)) in entries.iter().enumerate() {
            let value = 0.3 * count as f64 - 1.0;
            matrix[pattern.position(i, j).unwrap()] = value;
            dense[i][j] = value;
        }
        assert!(lu.factorise(5.0, &matrix));
        let truth = [1.0, -2.0, 3.0, 0.5];
        let mut x: Vec<f64> =
            (0..4).map(|i| 5.0 * truth[i] - (0..4).map(|j| dense[i][j] * truth[j]).sum::<f64>()).collect();
        lu.solve(&mut x);
        for (found, wanted) in x.iter().zip(truth) {
            assert!((found - wanted).abs() < 1e-12, "{found} instead of {wanted}");
        }
    }

    #[test]
    fn reports_a_vanishing_pivot() {
        let pattern = Arc::new(Pattern::new(2, &[(0, 0), (1, 1)], &[vec![0, 1]]));
        let mut lu = SparseLu::new(pattern.clone());
        let mut matrix = vec![0.0; pattern.len()];
        matrix[pattern.position(1, 1).unwrap()] = 2.0;
        assert!(!lu.factorise(2.0, &matrix));
    }
}
