//! States from other pairs than density and temperature: guarded Newton steps on [`Fluid::at`], with a bounded count of calls.

use super::state::Bulk;
use super::table::Fluid;
use super::{Found, Sat, State};

/// Highest pressure that a liquid is solved for, Pa; far beyond the data (20 MPa), and dense without being infinite.
const FIRM: f64 = 1e10;
/// Relative distance from the saturation pressure within which pressure and temperature say nothing of the phases: what the vapour's
/// own pressure at saturation may differ by between the knots; some 1e-5 K.
const SATURATED: f64 = 2e-7;

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

    /// Slopes over temperature and density, and the value, of bulk `e` at `t` and `rho`.
    #[inline(always)]
    fn slopes(self, e: &Bulk, t: f64, rho: f64) -> (f64, f64, f64) {
        match self {
            Self::Entropy => (e.cv / t, -e.dp_dt / (rho * rho), e.s),
            Self::Enthalpy => (e.cv + e.dp_dt / rho, e.du_drho + (e.dp_drho - e.pv) / rho, e.u + e.pv),
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
            // A guess that is the answer already moves nowhere, and there is nothing yet to halve.
            t = if (next > lo && next < hi) || next == t { next } else { 0.5 * (lo + hi) };
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

    /// The state at pressure `p` (Pa) and temperature `t` (K): vapour below the saturation pressure, compressed liquid above it.
    ///
    /// Within 2e-7 of the saturation pressure (some 1e-5 K) the pair leaves open how much is liquid: [`Found::Saturated`].
    /// Vapour is answered outside the temperature range as [`Fluid::at`] does; liquid is held at the ends of the tables.
    pub fn at_pt(&self, p: f64, t: f64) -> Found {
        let p_sat = self.p_sat(t);
        if (p - p_sat).abs() <= SATURATED * p_sat {
            Found::Saturated(self.sat(t))
        } else if p > p_sat {
            Found::Single(self.liquid_pt(p, self.clamp_t(t)))
        } else {
            Found::Single(self.vapour_pt(p, t))
        }
    }

    /// The state at pressure `p` (Pa) and entropy `s` (J/(kg K)): compressed liquid, both phases or superheated vapour.
    ///
    /// `t_guess` (K) may be anything, a near one is quick. The coldest answer is liquid at [`Fluid::t_min`], below the lowest
    /// saturation pressure of the tables vapour at `t_min`. Above the saturation pressure at [`Fluid::t_max`] the hottest answer is
    /// dense fluid at `t_max`. Pressures below 1e-6 Pa count as that.
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
        if y < y_l || p > sat.p * (1.0 + 1e-6) {
            return self.compressed(p, y, &sat, heat);
        }
        if y > y_v {
            return self.superheated(p.max(1e-6), y, &sat, t_guess, heat);
        }
        let x = (y - y_l) / (y_v - y_l);
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

    /// Compressed liquid at `p` (Pa) and `t` (K, inside the tables): Newton's method on a pressure that is convex in density.
    fn liquid_pt(&self, p: f64, t: f64) -> State {
        let mut e = self.liquid_at(0.0, t);
        let p = p.min(FIRM);
        for _ in 0..40 {
            let step = (p - e.p) / e.dp_drho;
            e = self.liquid_at(e.rho + step, t);
            if step.abs() <= 1e-9 * e.rho {
                break;
            }
        }
        e
    }

    /// Compressed liquid at `p` and caloric value `y`, colder than the bubble point `bubble`: Newton in temperature, density with it.
    #[inline(never)]
    fn compressed(&self, p: f64, y: f64, bubble: &Sat, heat: Heat) -> State {
        let p = p.min(FIRM);
        let t_top = self.clamp_t(bubble.t);
        let mut e = self.liquid_pt(p, t_top);
        for _ in 0..60 {
            let (f_t, f_rho, f) = heat.slopes(&Bulk::from(e), e.t, e.rho);
            // Along the isobar density follows temperature; what is left of the pressure error goes with it.
            let along = e.dp_dt / e.dp_drho;
            let late = (p - e.p) / e.dp_drho;
            let d_t = (y - f - f_rho * late) / (f_t - f_rho * along);
            if d_t.is_nan() {
                break;
            }
            let t = (e.t + d_t.clamp(-80.0, 80.0)).clamp(self.t_min(), t_top);
            let d_rho = late - along * (t - e.t);
            let done = (t - e.t).abs() < 1e-7 && d_rho.abs() < 1e-9 * e.rho;
            e = self.liquid_at(e.rho + d_rho, t);
            if done {
                break;
            }
        }
        e
    }

    /// One Newton step in (density, temperature) towards pressure `p` and caloric value `y`; `None` where there is none.
    fn newton(&self, p: f64, y: f64, rho: f64, t: f64, heat: Heat) -> Option<(f64, f64)> {
        let e = if t == self.clamp_t(t) { self.gas(rho, t, self.interval(t)) } else { self.at(rho, t).into() };
        let (f_t, f_rho, f) = heat.slopes(&e, t, rho);
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
