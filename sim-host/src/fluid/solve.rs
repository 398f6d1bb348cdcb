//! States from other pairs than density and temperature: guarded Newton steps on [`Fluid::at`], with a bounded count of calls.

use super::table::Fluid;
use super::{Phase, Sat, State};

/// The caloric quantity that is given together with a pressure.
#[derive(Clone, Copy)]
enum Heat {
    Entropy,
    Enthalpy,
}

impl Fluid {
    /// The state at density `rho` (kg/m3) and internal energy `u` (J/kg); `t_guess` (K) may be anything, a near one is quick.
    ///
    /// The energy of the answer is within 1e-3 J/kg of `u` wherever it lies in the tables.
    #[inline]
    pub fn at_rho_u(&self, rho: f64, u: f64, t_guess: f64) -> State {
        let mut t = self.clamp_t(t_guess);
        let (mut lo, mut hi) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut state = self.at(rho, t);
        for _ in 0..80 {
            let miss = u - state.u;
            let step = miss / state.cv;
            // Written so that a step which is not a number ends the search.
            if !(step.abs() > 1e-6) {
                break;
            }
            if step > 0.0 { lo = t } else { hi = t }
            let next = t + step.clamp(-80.0, 80.0);
            t = if next > lo && next < hi { next } else { 0.5 * (lo + hi) };
            state = self.at(rho, t);
        }
        state
    }

    /// Vapour at pressure `p` (Pa) and temperature `t` (K). Above the saturation pressure: saturated vapour at `t`.
    pub fn vapour_pt(&self, p: f64, t: f64) -> State {
        let tc = self.clamp_t(t);
        let sat = self.sat(tc);
        if !(p > 0.0) {
            return self.at(0.0, t);
        }
        if p >= sat.p {
            return self.saturated_vapour(&sat);
        }
        let mut rho = p / (self.r * tc * (1.0 - (1.0 - sat.p / (sat.rho_v * self.r * tc)) * p / sat.p));
        let mut state = self.at(rho, t);
        for _ in 0..40 {
            let step = (p - state.p) / state.dp_drho;
            // A bound may not be the saturated density itself, which counts as two-phase.
            let next = if state.phase == Phase::Vapour { (rho + step).clamp(0.5 * rho, below(sat.rho_v)) } else { below(sat.rho_v) };
            let done = !((next - rho).abs() > 1e-13 * rho);
            rho = next;
            state = self.at(rho, t);
            if done {
                break;
            }
        }
        state
    }

    /// The state at pressure `p` (Pa) and entropy `s` (J/(kg K)), saturated liquid to superheated vapour.
    ///
    /// Less entropy than saturated liquid gives saturated liquid; below the lowest saturation pressure of the tables
    /// the coldest answer is vapour at `t_min`.
    pub fn at_ps(&self, p: f64, s: f64, t_guess: f64) -> State {
        self.at_p(p, s, t_guess, Heat::Entropy)
    }

    /// The state at pressure `p` (Pa) and enthalpy `h` (J/kg), with the limits of [`Fluid::at_ps`].
    pub fn at_ph(&self, p: f64, h: f64, t_guess: f64) -> State {
        self.at_p(p, h, t_guess, Heat::Enthalpy)
    }

    fn at_p(&self, p: f64, y: f64, t_guess: f64, heat: Heat) -> State {
        let t_s = self.t_sat(p);
        let sat = self.sat(t_s);
        let dry = if p < sat.p * (1.0 - 1e-9) { self.vapour_pt(p, t_s) } else { self.saturated_vapour(&sat) };
        let (y_l, y_v) = match heat {
            Heat::Entropy => (sat.s_l, dry.s),
            Heat::Enthalpy => (sat.h_l, dry.h),
        };
        if !(y > y_v) {
            if p < sat.p * (1.0 - 1e-9) {
                return dry;
            }
            let x = ((y - y_l) / (y_v - y_l)).clamp(0.0, 1.0);
            let (v_l, v_v) = (1.0 / sat.rho_l, 1.0 / sat.rho_v);
            return self.at(if x.is_nan() { sat.rho_l } else { 1.0 / (v_l + x * (v_v - v_l)) }, t_s);
        }
        self.superheated(p, y, &dry, t_guess, heat)
    }

    /// Newton in density and temperature together, from the dry state at `p` or a warmer guess.
    fn superheated(&self, p: f64, y: f64, dry: &State, t_guess: f64, heat: Heat) -> State {
        let (t_s, y_v) = match heat {
            Heat::Entropy => (dry.t, dry.s),
            Heat::Enthalpy => (dry.t, dry.h),
        };
        let cp = dry.cv + self.r;
        let mut t = if t_guess > t_s && t_guess < self.t_max() {
            t_guess
        } else {
            let rise = match heat {
                Heat::Entropy => t_s * ((y - y_v) / cp).clamp(0.0, 1.0),
                Heat::Enthalpy => (y - y_v) / cp,
            };
            t_s + rise.clamp(0.0, 300.0)
        };
        let mut rho = dry.rho * t_s / t;
        let mut e = self.at(rho, t);
        for _ in 0..60 {
            let (f_t, f_rho, f) = match heat {
                Heat::Entropy => (e.cv / e.t, -e.dp_dt / (rho * rho), e.s),
                Heat::Enthalpy => (e.cv + e.dp_dt / rho, e.du_drho + e.dp_drho / rho - e.p / (rho * rho), e.h),
            };
            let (dp, dy) = (p - e.p, y - f);
            let det = e.dp_drho * f_t - e.dp_dt * f_rho;
            let d_rho = (dp * f_t - e.dp_dt * dy) / det;
            let d_t = (e.dp_drho * dy - f_rho * dp) / det;
            if !(d_rho.is_finite() && d_t.is_finite()) {
                break;
            }
            t = (t + d_t.clamp(-60.0, 60.0)).max(t_s);
            let top = below(self.sat(t).rho_v);
            rho = (rho + d_rho.clamp(-0.6 * rho, 1.5 * rho)).min(top);
            e = self.at(rho, t);
            if d_t.abs() < 1e-8 && d_rho.abs() < 1e-10 * rho {
                break;
            }
        }
        e
    }

    /// The saturated vapour of a saturation state, as vapour.
    fn saturated_vapour(&self, sat: &Sat) -> State {
        self.at(below(sat.rho_v), sat.t)
    }
}

/// The largest density that still counts as vapour beside saturated vapour `rho`.
#[inline(always)]
fn below(rho: f64) -> f64 {
    rho * (1.0 - 1e-14)
}
