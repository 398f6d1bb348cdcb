//! Sparse LU of one fixed pattern: analysed once, factorised thousands of times, no allocation after `new`.
//!
//! The elimination follows the row order the caller gives (no pivoting). The plant numbers each volume's energy before
//! its masses, which keeps the pivots of its flow matrices away from zero; a vanishing pivot is reported all the same.

/// LU factors of a matrix whose pattern never changes.
#[derive(Debug, Clone)]
pub struct SparseLu {
    /// Start of each row in `columns`, one more entry than rows.
    starts: Vec<u32>,
    /// Column of each stored value, ascending within a row.
    columns: Vec<u32>,
    /// Position of each row's diagonal value.
    diagonals: Vec<u32>,
    values: Vec<f64>,
    /// Inverse pivots.
    inverse: Vec<f64>,
    /// Dense copy of the row in work.
    row: Vec<f64>,
    /// Unknown at each place of the elimination order, and the place of each unknown.
    order: Vec<u32>,
    place: Vec<u32>,
}

impl SparseLu {
    /// Analyses the pattern `entries` (row, column) of an `n` x `n` matrix eliminated in `order`; fill-in and the diagonal are added.
    pub fn new(n: usize, entries: &[(usize, usize)], order: &[usize]) -> Self {
        let mut place = vec![0u32; n];
        for (at, unknown) in order.iter().enumerate() {
            place[*unknown] = at as u32;
        }
        let mut full = vec![vec![false; n]; n];
        for &(i, j) in entries {
            full[place[i] as usize][place[j] as usize] = true;
        }
        for (i, row) in full.iter_mut().enumerate() {
            row[i] = true;
        }
        for i in 0..n {
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
        let count = columns.len();
        Self {
            starts,
            columns,
            diagonals,
            values: vec![0.0; count],
            inverse: vec![0.0; n],
            row: vec![0.0; n],
            order: order.iter().map(|unknown| *unknown as u32).collect(),
            place,
        }
    }

    /// Position of an entry in the value arrays; `None` outside the pattern.
    pub fn position(&self, i: usize, j: usize) -> Option<usize> {
        let (i, j) = (self.place[i] as usize, self.place[j] as usize);
        let (from, to) = (self.starts[i] as usize, self.starts[i + 1] as usize);
        self.columns[from..to].binary_search(&(j as u32)).ok().map(|k| from + k)
    }

    /// Number of stored values (fill-in included); the length a matrix array must have.
    pub fn len(&self) -> usize {
        self.columns.len()
    }

    /// Factorises `shift` * I - `matrix`. Returns `false` where a pivot vanishes or is not finite.
    pub fn factorise(&mut self, shift: f64, matrix: &[f64]) -> bool {
        let n = self.diagonals.len();
        for i in 0..n {
            let (from, to) = (self.starts[i] as usize, self.starts[i + 1] as usize);
            let diagonal = self.diagonals[i] as usize;
            let columns = &self.columns[from..to];
            for (column, value) in columns.iter().zip(&matrix[from..to]) {
                self.row[*column as usize] = -value;
            }
            self.row[i] += shift;
            for k in &self.columns[from..diagonal] {
                let k = *k as usize;
                let multiplier = self.row[k];
                if multiplier == 0.0 {
                    continue;
                }
                let multiplier = multiplier * self.inverse[k];
                self.row[k] = multiplier;
                let (upper, end) = (self.diagonals[k] as usize + 1, self.starts[k + 1] as usize);
                for (column, value) in self.columns[upper..end].iter().zip(&self.values[upper..end]) {
                    self.row[*column as usize] -= multiplier * value;
                }
            }
            for (column, value) in columns.iter().zip(&mut self.values[from..to]) {
                *value = self.row[*column as usize];
            }
            let pivot = self.row[i];
            if !pivot.is_finite() || pivot.abs() < 1e-12 * shift {
                return false;
            }
            self.inverse[i] = 1.0 / pivot;
        }
        true
    }

    /// Solves in place with the last factors.
    pub fn solve(&mut self, x: &mut [f64]) {
        let Self { starts, columns, diagonals, values, inverse, row, order, .. } = self;
        let n = diagonals.len();
        for (value, unknown) in row.iter_mut().zip(order.iter()) {
            *value = x[*unknown as usize];
        }
        for i in 0..n {
            let (from, diagonal) = (starts[i] as usize, diagonals[i] as usize);
            let mut sum = row[i];
            for (column, value) in columns[from..diagonal].iter().zip(&values[from..diagonal]) {
                sum -= value * row[*column as usize];
            }
            row[i] = sum;
        }
        for i in (0..n).rev() {
            let (upper, end) = (diagonals[i] as usize + 1, starts[i + 1] as usize);
            let mut sum = row[i];
            for (column, value) in columns[upper..end].iter().zip(&values[upper..end]) {
                sum -= value * row[*column as usize];
            }
            row[i] = sum * inverse[i];
        }
        for (value, unknown) in row.iter().zip(order.iter()) {
            x[*unknown as usize] = *value;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solves_with_fill_in() {
        let entries = [(0, 0), (0, 3), (1, 1), (1, 0), (2, 2), (2, 1), (3, 3), (3, 0), (3, 2)];
        let mut lu = SparseLu::new(4, &entries, &[2, 0, 3, 1]);
        let mut matrix = vec![0.0; lu.len()];
        let mut dense = [[0.0; 4]; 4];
        for (count, &(i, j)) in entries.iter().enumerate() {
            let value = 0.3 * count as f64 - 1.0;
            matrix[lu.position(i, j).unwrap()] = value;
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
        let mut lu = SparseLu::new(2, &[(0, 0), (1, 1)], &[0, 1]);
        let mut matrix = vec![0.0; lu.len()];
        matrix[lu.position(1, 1).unwrap()] = 2.0;
        assert!(!lu.factorise(2.0, &matrix));
    }
}
