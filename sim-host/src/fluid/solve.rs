//! States from other pairs than density and temperature: guarded Newton steps on [`Fluid::at`], with a bounded count of calls.

use super::table::Fluid;
use super::{Sat, State};

/// The caloric quantity that is given together with a pressure.
#[derive(Clone, Copy)]
enum Heat {
    Entropy,
    Enthalpy,
}

impl Heat {
    fn of(self, e: &State) -> f64 {
        match self {
            Self::Entropy => e.s,
            Self::Enthalpy => e.h,
        }
    }
}

impl Fluid {
    /// The state at density `rho` (kg/m3) and internal energy `u` (J/kg); `t_guess` (K) may be anything, a near one is quick.
    ///
    /// The temperature is within 1e-6 K of the exact answer, mostly far closer, also outside the tables; the energy accordingly.
    #[inline]
    pub fn at_rho_u(&self, rho: f64, u: f64, t_guess: f64) -> State {
        let mut t = self.clamp_t(t_guess);
        let (mut lo, mut hi) = (f64::NEG_INFINITY, f64::INFINITY);
        let (mut u_now, mut cv) = self.energy(rho, t);
        for _ in 0..80 {
            let step = (u - u_now) / cv;
            if step.is_nan() {
                break;
            }
            if step > 0.0 {
                lo = t
            } else {
                hi = t
            }
            let next = t + step.clamp(-80.0, 80.0);
            t = if next > lo && next < hi { next } else { 0.5 * (lo + hi) };
            // A short step squares away, so that the whole state is worth its price; the miss shows where it crossed a boundary.
            if step.abs() < 0.02 {
                let e = self.at(rho, t);
                if (u - e.u).abs() < 1e-6 * e.cv {
                    return e;
                }
                (u_now, cv) = (e.u, e.cv);
            } else {
                (u_now, cv) = self.energy(rho, t);
            }
        }
        self.at(rho, t)
    }

    /// Vapour at pressure `p` (Pa) and temperature `t` (K). Above the saturation pressure: saturated vapour at `t`.
    pub fn vapour_pt(&self, p: f64, t: f64) -> State {
        let tc = self.clamp_t(t);
        let sat = self.sat(tc);
        if p.is_nan() || p <= 0.0 {
            return self.at(0.0, t);
        }
        // Saturated vapour itself counts as two-phase, so the bound lies a hair below.
        let top = below(sat.rho_v);
        if p >= sat.p {
            return self.at(top, t);
        }
        let z_sat = sat.p / (sat.rho_v * self.r * tc);
        let mut rho = p / (self.r * tc * (1.0 - (1.0 - z_sat) * p / sat.p));
        let (k, x) = self.interval(tc);
        for _ in 0..40 {
            let (p_now, slope) = if t == tc {
                let b = self.gas(rho, tc, (k, x));
                (b.p, b.dp_drho)
            } else {
                let e = self.at(rho, t);
                (e.p, if e.dp_drho > 0.0 { e.dp_drho } else { self.r * tc })
            };
            let next = (rho + (p - p_now) / slope).clamp(0.5 * rho, top.max(0.5 * rho));
            let done = (next - rho).abs() <= 1e-7 * rho;
            rho = next;
            if done {
                break;
            }
        }
        self.at(rho, t)
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
        let mut sat = self.sat(t_s);
        let y = if y.is_nan() { 0.0 } else { y };
        let thin = p.is_nan() || p < sat.p * (1.0 - 1e-9);
        if thin {
            // Colder saturation than the tables hold: vapour at their cold end takes the place of the dew point.
            let e = self.vapour_pt(p, t_s);
            if y <= heat.of(&e) {
                return e;
            }
            (sat.rho_v, sat.s_v, sat.h_v) = (e.rho, e.s, e.h);
        }
        let (y_l, y_v) = match heat {
            Heat::Entropy => (sat.s_l, sat.s_v),
            Heat::Enthalpy => (sat.h_l, sat.h_v),
        };
        if y > y_v {
            return self.superheated(p.max(1e-6), y, &sat, t_guess, heat);
        }
        let x = ((y - y_l) / (y_v - y_l)).clamp(0.0, 1.0);
        let (v_l, v_v) = (1.0 / sat.rho_l, 1.0 / sat.rho_v);
        self.at(1.0 / (v_l + x * (v_v - v_l)), t_s)
    }

    /// Newton in density and temperature together, from the dew point or a warmer guess.
    fn superheated(&self, p: f64, y: f64, dew: &Sat, t_guess: f64, heat: Heat) -> State {
        let t_s = dew.t;
        let cp = dew.du_v.max(400.0) + self.r;
        let mut t = if t_guess > t_s && t_guess < self.t_max() {
            t_guess
        } else {
            t_s + match heat {
                Heat::Entropy => t_s * ((y - dew.s_v) / cp).clamp(0.0, 1.0),
                Heat::Enthalpy => ((y - dew.h_v) / cp).clamp(0.0, 300.0),
            }
        };
        // The compressibility leaves 1 about with the cube of the temperature.
        let z_dew = p / (dew.rho_v.max(1e-12) * self.r * t_s);
        let cold = t_s / t;
        let mut rho = p / (self.r * t * (1.0 - (1.0 - z_dew) * cold * cold * cold));
        for _ in 0..60 {
            let Some((d_rho, d_t)) = self.newton(p, y, rho, t, heat) else {
                break;
            };
            t = (t + d_t.clamp(-60.0, 60.0)).max(t_s);
            rho = (rho + d_rho.clamp(-0.6 * rho, 1.5 * rho)).min(self.top(t));
            if d_t.abs() < 1e-6 && d_rho.abs() < 1e-8 * rho {
                break;
            }
        }
        self.at(rho, t)
    }

    /// One Newton step in (density, temperature) towards pressure `p` and caloric value `y`; `None` where there is none.
    fn newton(&self, p: f64, y: f64, rho: f64, t: f64, heat: Heat) -> Option<(f64, f64)> {
        let e = if t == self.clamp_t(t) { self.gas(rho, t, self.interval(t)) } else { self.at(rho, t).into() };
        let (f_t, f_rho, f) = match heat {
            Heat::Entropy => (e.cv / t, -e.dp_dt / (rho * rho), e.s),
            Heat::Enthalpy => (e.cv + e.dp_dt / rho, e.du_drho + (e.dp_drho - e.pv) / rho, e.u + e.pv),
        };
        let (dp, dy) = (p - e.p, y - f);
        let det = e.dp_drho * f_t - e.dp_dt * f_rho;
        let d_rho = (dp * f_t - e.dp_dt * dy) / det;
        let d_t = (e.dp_drho * dy - f_rho * dp) / det;
        (d_rho.is_finite() && d_t.is_finite()).then_some((d_rho, d_t))
    }

    /// The largest density that counts as vapour at `t`.
    fn top(&self, t: f64) -> f64 {
        let (k, x) = self.interval(self.clamp_t(t));
        below(self.sat_block(k).values(x)[2])
    }
}

/// The largest density that still counts as vapour beside saturated vapour `rho`.
#[inline(always)]
fn below(rho: f64) -> f64 {
    rho * (1.0 - 1e-14)
}
