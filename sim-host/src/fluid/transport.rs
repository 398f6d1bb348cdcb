//! Viscosities, and the exponent of sound of saturated vapour: cheap, smooth in temperature, finite for any input.
//!
//! Tables of `sim-host/generator`: R-1234yf after Bell's residual-entropy correlation (Purdue 2016), R-134a after Huber, Laesecke and
//! Perkins 2003, both as CoolProp 8.0.0 has them, also below the range of the measurements. Saturated they agree within 3e-5, vapour
//! at any density up to saturated within 0.2 %.

use super::table::{Cubics, Fluid};
use super::{Phase, State};

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
    fn lanes(&self, t: f64) -> [f64; LANES] {
        let t = if t > self.t_min { t.min(self.t_max) } else { self.t_min };
        let x = (t - self.t_min) * self.inv_step;
        let k = (x as usize).min(self.cubics.len() - 1);
        self.cubics[k].values(x - k as f64)
    }

    /// The same with `t` held at the end of the saturation data.
    #[inline(always)]
    fn saturated(&self, t: f64) -> [f64; LANES] {
        self.lanes(t.min(self.t_two))
    }
}

impl Fluid {
    /// Viscosity of saturated liquid (Pa s) at `t` (K), held at [`Fluid::t_min`] and [`Fluid::t_sat_max`].
    ///
    /// Compressed liquid is thicker, by some 2 % per 10 bar at 20 degC: [`Fluid::viscosity_compressed`].
    #[inline]
    pub fn viscosity_liquid(&self, t: f64) -> f64 {
        self.transport.saturated(t)[0]
    }

    /// Viscosity of the gas without density (Pa s) at `t` (K), held at [`Fluid::t_min`] and [`Fluid::t_max`].
    #[inline]
    pub fn viscosity_dilute(&self, t: f64) -> f64 {
        self.transport.lanes(t)[1]
    }

    /// Viscosity of vapour (Pa s) at density `rho` (kg/m3) and `t` (K), temperature held as in [`Fluid::viscosity_dilute`].
    ///
    /// A parabola in density through the dilute gas, half and all of the density of saturated vapour (a straight line would miss by
    /// 5 % at 80 degC). A density below zero counts as zero, one beyond saturated vapour as saturated; above
    /// [`Fluid::t_sat_max`] that is the density of saturated vapour there.
    #[inline]
    pub fn viscosity_vapour(&self, rho: f64, t: f64) -> f64 {
        let [_, dilute, b, c, ..] = self.transport.lanes(t);
        let (k, x) = self.interval(self.clamp_t(t));
        let top = self.sat_block(k).values(x)[2];
        let rho = if rho > 0.0 { rho.min(top) } else { 0.0 };
        dilute + rho * (b + rho * c)
    }

    /// Viscosity of compressed liquid (Pa s) at density `rho` (kg/m3) and `t` (K), within 0.3 % of the correlation to 20 MPa.
    ///
    /// A density below saturated liquid counts as saturated, one beyond 20 MPa as that; temperature held as in
    /// [`Fluid::viscosity_liquid`].
    pub fn viscosity_compressed(&self, rho: f64, t: f64) -> f64 {
        let t = self.clamp_t(t).min(self.t_sat_max());
        let [saturated, .., m1, m2, m3] = self.transport.saturated(t);
        let (k, x) = self.interval(t);
        let rho_l = self.sat_block(k).values(x)[1];
        let y = (rho - rho_l) / (self.densest(t) - rho_l);
        let y = if y > 0.0 { y.min(1.0) } else { 0.0 };
        saturated + y * (m1 + y * (m2 + y * m3))
    }

    /// Viscosity (Pa s) of a state of one phase, saturated ones included; `None` for a mixture of liquid and vapour.
    pub fn viscosity(&self, state: &State) -> Option<f64> {
        match state.phase {
            Phase::Vapour => Some(self.viscosity_vapour(state.rho, state.t)),
            Phase::Liquid => Some(self.viscosity_compressed(state.rho, state.t)),
            Phase::TwoPhase if state.quality <= 0.0 => Some(self.viscosity_liquid(state.t)),
            Phase::TwoPhase if state.quality >= 1.0 => Some(self.viscosity_vapour(state.rho_g, state.t)),
            Phase::TwoPhase => None,
        }
    }

    /// Exponent of sound `rho a^2 / p` of saturated vapour at `t` (K), `a` its speed of sound; held as in [`Fluid::viscosity_liquid`].
    ///
    /// The exponent with which pressure follows density along an isentrope that starts there: that of a nozzle. It is the ratio of heat
    /// capacities only for an ideal gas, and falls below 1 towards the critical point.
    #[inline]
    pub fn sound_exponent_saturated(&self, t: f64) -> f64 {
        self.transport.saturated(t)[4]
    }
}
