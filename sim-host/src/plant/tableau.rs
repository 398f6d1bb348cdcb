//! Rosenbrock-W coefficients, turned into the form that needs no matrix products.
//!
//! A W-method keeps its order whatever matrix stands in the linear solves, so the plant may use an approximate and even
//! an old Jacobian. With U_i = sum_j gamma_ij k_j a step reads
//! (I/(h gamma) - A) U_i = F(t + alpha_i h, u + sum_j a_ij U_j) + sum_j (c_ij/h) U_j, u' = u + sum_i m_i U_i.

/// Most stages of any method here.
pub const MOST_STAGES: usize = 4;

/// One method, transformed.
#[derive(Debug, Clone)]
pub struct Tableau {
    /// Stages in use, at most `MOST_STAGES`.
    pub stages: usize,
    /// The diagonal coefficient.
    pub gamma: f64,
    /// Stage times as a share of the step.
    pub alpha: [f64; MOST_STAGES],
    /// Weights of earlier stages in a stage's argument.
    pub a: [[f64; MOST_STAGES]; MOST_STAGES],
    /// Weights of earlier stages on the right hand side (over h).
    pub c: [[f64; MOST_STAGES]; MOST_STAGES],
    /// Weights of the step.
    pub m: [f64; MOST_STAGES],
    /// Weights of the error estimate.
    pub e: [f64; MOST_STAGES],
    /// One over the order of the error estimate plus one: exponent of the step size control.
    pub exponent: f64,
}

type Square = [[f64; MOST_STAGES]; MOST_STAGES];

impl Tableau {
    /// ROS34PW2 of Rang and Angermann (2005): order 3 for any matrix, stiffly accurate, embedded order 2.
    /// Coefficients from memory; `order_conditions_hold` checks them.
    pub fn third_order() -> Self {
        let alpha: Square = [
            [0.0; 4],
            [8.717_330_430_169_18e-1, 0.0, 0.0, 0.0],
            [8.445_706_001_536_942e-1, -1.129_906_423_648_418_5e-1, 0.0, 0.0],
            [0.0, 0.0, 1.0, 0.0],
        ];
        let g = 4.358_665_215_084_59e-1;
        let gamma: Square = [
            [g, 0.0, 0.0, 0.0],
            [-8.717_330_430_169_18e-1, g, 0.0, 0.0],
            [-9.033_805_701_304_408e-1, 5.418_067_238_809_533e-2, g, 0.0],
            [2.421_238_070_609_535e-1, -1.223_250_583_904_514_7, 5.452_602_553_351_021e-1, g],
        ];
        let b = [2.421_238_070_609_535e-1, -1.223_250_583_904_514_7, 1.545_260_255_335_102, 4.358_665_215_084_59e-1];
        let low = [3.781_090_314_581_937e-1, -9.604_229_221_242_318e-2, 0.5, 2.179_332_607_542_295e-1];
        Self::transformed(4, &alpha, &gamma, &b, &low, 1.0 / 3.0)
    }

    // Indices are those of the formulas.
    #[allow(clippy::needless_range_loop)]
    fn transformed(stages: usize, alpha: &Square, gamma: &Square, b: &[f64; 4], low: &[f64; 4], exponent: f64) -> Self {
        let mut inverse: Square = [[0.0; 4]; 4];
        for column in 0..stages {
            for row in column..stages {
                let unit = if row == column { 1.0 } else { 0.0 };
                let known: f64 = (column..row).map(|k| gamma[row][k] * inverse[k][column]).sum();
                inverse[row][column] = (unit - known) / gamma[row][row];
            }
        }
        let product =
            |left: &[f64; 4], column: usize| -> f64 { (0..stages).map(|k| left[k] * inverse[k][column]).sum() };
        let mut made = Self {
            stages,
            gamma: gamma[0][0],
            alpha: [0.0; 4],
            a: [[0.0; 4]; 4],
            c: [[0.0; 4]; 4],
            m: [0.0; 4],
            e: [0.0; 4],
            exponent,
        };
        for i in 0..stages {
            made.alpha[i] = alpha[i].iter().sum();
            made.m[i] = product(b, i);
            made.e[i] = product(b, i) - product(low, i);
            for j in 0..i {
                made.a[i][j] = product(&alpha[i], j);
                made.c[i][j] = -inverse[i][j];
            }
        }
        made
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One step of the method on u' = f(u) with a matrix `jacobian` that may be wrong.
    fn integrate(method: &Tableau, steps: usize, share: f64) -> f64 {
        let f = |u: [f64; 2]| [-u[0] * u[1], u[0] * u[1] - 0.5 * u[1] * u[1]];
        let mut u = [1.0, 0.5];
        let h = 1.0 / steps as f64;
        for _ in 0..steps {
            let j = [[-share * u[1], -share * u[0]], [share * u[1], share * (u[0] - u[1])]];
            let s = 1.0 / (h * method.gamma);
            let (p, q, r, t) = (s - j[0][0], -j[0][1], -j[1][0], s - j[1][1]);
            let det = p * t - q * r;
            let mut stages = [[0.0; 2]; MOST_STAGES];
            for i in 0..method.stages {
                let mut at = u;
                let mut add = [0.0; 2];
                for (k, stage) in stages.iter().enumerate().take(i) {
                    for n in 0..2 {
                        at[n] += method.a[i][k] * stage[n];
                        add[n] += method.c[i][k] / h * stage[n];
                    }
                }
                let v = f(at);
                let rhs = [v[0] + add[0], v[1] + add[1]];
                stages[i] = [(t * rhs[0] - q * rhs[1]) / det, (p * rhs[1] - r * rhs[0]) / det];
            }
            for (weight, stage) in method.m.iter().zip(&stages).take(method.stages) {
                for n in 0..2 {
                    u[n] += weight * stage[n];
                }
            }
        }
        u[1]
    }

    #[test]
    fn order_conditions_hold() {
        let method = Tableau::third_order();
        for share in [1.0, 0.6, 0.0] {
            let truth = integrate(&method, 4096, share);
            let coarse = (integrate(&method, 16, share) - truth).abs();
            let fine = (integrate(&method, 32, share) - truth).abs();
            let seen = (coarse / fine).log2();
            assert!(seen > 2.75, "order {seen} with {share} of the Jacobian");
        }
    }
}
