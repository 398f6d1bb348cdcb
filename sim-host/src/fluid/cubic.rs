//! Cubics between the knots of a table, several quantities side by side.

/// Cubics of `N` quantities over one temperature interval, lowest power first.
#[repr(C, align(64))]
#[derive(Clone)]
pub(super) struct Cubics<const N: usize>([[f64; N]; 4]);

impl<const N: usize> Cubics<N> {
    pub(super) fn between(lo: &[f64], hi: &[f64], step: f64) -> Self {
        let half = lo.len() / 2;
        let mut c = [[0.0; N]; 4];
        for k in 0..half {
            let (a, b) = (lo[k], hi[k]);
            let (da, db) = (lo[half + k] * step, hi[half + k] * step);
            c[0][k] = a;
            c[1][k] = da;
            c[2][k] = 3.0 * (b - a) - 2.0 * da - db;
            c[3][k] = 2.0 * (a - b) + da + db;
        }
        Self(c)
    }

    /// Values at fraction `s` of the interval.
    #[inline(always)]
    pub(super) fn values(&self, s: f64) -> [f64; N] {
        let [a, b, c, d] = &self.0;
        std::array::from_fn(|k| ((d[k] * s + c[k]) * s + b[k]) * s + a[k])
    }

    /// Slopes per step.
    #[inline(always)]
    pub(super) fn slopes(&self, s: f64) -> [f64; N] {
        let [_, b, c, d] = &self.0;
        let s3 = 3.0 * s;
        std::array::from_fn(|k| (d[k] * s3 + 2.0 * c[k]) * s + b[k])
    }

    /// Second derivatives per step squared.
    #[inline(always)]
    pub(super) fn bends(&self, s: f64) -> [f64; N] {
        let [_, _, c, d] = &self.0;
        let s6 = 6.0 * s;
        std::array::from_fn(|k| d[k] * s6 + 2.0 * c[k])
    }

    #[inline(always)]
    pub(super) fn first(&self, s: f64) -> (f64, f64) {
        let (a, b, c, d) = (self.0[0][0], self.0[1][0], self.0[2][0], self.0[3][0]);
        (((d * s + c) * s + b) * s + a, (3.0 * d * s + 2.0 * c) * s + b)
    }
}
