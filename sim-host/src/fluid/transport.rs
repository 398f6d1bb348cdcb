//! Viscosities, and the exponent of sound of saturated vapour: cheap, smooth in temperature, finite for any input.
//!
//! Tables of `sim-host/generator`: R-1234yf after Bell's residual-entropy correlation (Purdue 2016), R-134a after Huber, Laesecke and
//! Perkins 2003, both as CoolProp 8.0.0 has them, also below the range of the measurements. Saturated they agree within 3e-5, vapour
//! at any density up to saturated within 0.2 %.

use super::cubic::Cubics;

/// Stored quantities: viscosity of saturated liquid, of the dilute gas, two density coefficients of the gas, exponent of sound, three
/// coefficients of compressed liquid.
const LANES: usize = 8;
/// Numbers in front of the knots: first temperature, step, count of knots, highest temperature with saturation data.
const HEAD: usize = 4;

/// The table of one refrigerant.
pub(super) struct Transport {
    t_min: f64,
    t_max: f64,
    t_two: f64,
    inv_step: f64,
    cubics: Box<[Cubics<LANES>]>,
}

impl Transport {
    /// Unpacks a file of the generator; a file of another shape is a build fault and may stop the program.
    pub(super) fn read(bytes: &[u8]) -> Self {
        let all: Vec<f64> = bytes
            .chunks_exact(8)
            .map(|b| f64::from_le_bytes([b[0], b[1], b[2], b[3], b[4], b[5], b[6], b[7]]))
            .collect();
        let (head, rest) = all.split_at(HEAD);
        let rows: Vec<&[f64]> = rest.chunks_exact(2 * LANES).collect();
        let (t_min, step, t_two) = (head[0], head[1], head[3]);
        assert!(rows.len() == head[2] as usize, "transport table cut short: run the generator");
        // The knot at the end of the saturation data comes twice, with the slopes of either side; no interval lies between the two.
        let two = ((t_two - t_min) / step).round() as usize;
        Self {
            t_min,
            t_max: t_min + step * (rows.len() - 2) as f64,
            t_two,
            inv_step: 1.0 / step,
            cubics: (0..rows.len() - 1)
                .filter(|&k| k != two)
                .map(|k| Cubics::between(rows[k], rows[k + 1], step))
                .collect(),
        }
    }

    /// All lanes at `t`, held at the ends; the compiler drops those that a caller leaves.
    #[inline(always)]
    pub(super) fn lanes(&self, t: f64) -> [f64; LANES] {
        let t = if t > self.t_min { t.min(self.t_max) } else { self.t_min };
        let x = (t - self.t_min) * self.inv_step;
        let k = (x as usize).min(self.cubics.len() - 1);
        self.cubics[k].values(x - k as f64)
    }

    /// The same with `t` held at the end of the saturation data.
    #[inline(always)]
    pub(super) fn saturated(&self, t: f64) -> [f64; LANES] {
        self.lanes(t.min(self.t_two))
    }
}
