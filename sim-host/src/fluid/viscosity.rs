//! What the transport table answers for a refrigerant: viscosities, and the exponent of sound of saturated vapour.

use super::table::Fluid;
use super::{Phase, State};

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
