//! The state at a density and a temperature: the hot call of the plant. Regions join without a step in p, u and s.

use super::table::{FAR, Fluid, LANES, ND, NY, extend_p};
use super::{Phase, State};

/// Reference temperature of the reciprocal-temperature variable, K.
const T_REF: f64 = 300.0;
/// Centre and half width of that variable; the generator's X_MID and X_HALF.
const X_MID: f64 = 1.2;
const X_HALF: f64 = 0.55;
/// Density below which the entropy of the gas no longer grows, kg/m3: some 1e-5 Pa.
const RHO_FLOOR: f64 = 1e-9;

/// Bulk values of one phase before the common parts are filled in.
struct Bulk {
    p: f64,
    u: f64,
    s: f64,
    cv: f64,
    dp_dt: f64,
    dp_drho: f64,
    du_drho: f64,
}

impl Fluid {
    /// The equilibrium state at density `rho` (kg/m3) and temperature `t` (K), any phase.
    ///
    /// Negative density counts as zero. Outside the temperature range see the module's rule.
    #[inline]
    pub fn at(&self, rho: f64, t: f64) -> State {
        let tc = self.clamp_t(t);
        let rho = if rho > 0.0 { rho.min(1e5) } else { 0.0 };
        let (v, d) = self.lanes(tc);
        let state = if rho < v[2] {
            self.vapour(rho, tc, &v)
        } else if rho <= v[1] {
            two_phase(rho, tc, &v, &d)
        } else {
            self.liquid(rho, tc, &v, &d)
        };
        if t == tc { state } else { outside(state, t) }
    }

    #[inline(always)]
    fn vapour(&self, rho: f64, t: f64, v: &[f64; LANES]) -> State {
        let b = self.gas(rho, t, v[7]);
        // p / rho without a division by a vanishing density.
        let h = b.u + if rho > RHO_FLOOR { b.p / rho } else { self.r * t };
        State {
            phase: Phase::Vapour,
            rho,
            t,
            p: b.p,
            u: b.u,
            h,
            s: b.s,
            quality: 1.0,
            rho_l: v[1],
            h_l: v[3] + v[0] / v[1],
            rho_g: rho,
            h_g: h,
            s_g: b.s,
            dp_dt: b.dp_dt,
            dp_drho: b.dp_drho,
            cv: b.cv,
            du_drho: b.du_drho,
        }
    }

    /// Vapour polynomial at any density up to saturation; `s0` is the ideal-gas entropy at 1 kg/m3.
    #[inline(always)]
    fn gas(&self, rho: f64, t: f64, s0: f64) -> Bulk {
        let tau = T_REF / t;
        let x = (tau - X_MID) * (1.0 / X_HALF);
        let (mut a, mut a1, mut a2) = ([0.0; ND], [0.0; ND], [0.0; ND]);
        for row in self.c.iter().rev() {
            for i in 0..ND {
                a2[i] = a2[i] * x + a1[i];
                a1[i] = a1[i] * x + a[i];
                a[i] = a[i] * x + row[i];
            }
        }
        let k1 = tau * (1.0 / X_HALF);
        let k2 = 2.0 * k1 * k1;
        let d = rho * self.inv_rho_s;
        let d2 = d * d;
        let dn = [d, d2, d2 * d, d2 * d2, d2 * d2 * d, d2 * d2 * d2];
        let (mut s_a, mut s_ia, mut s_iia, mut s_t, mut s_it, mut s_tt) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        for i in 0..ND {
            let n = (i + 1) as f64;
            let (ai, ti) = (a[i] * dn[i], a1[i] * dn[i]);
            s_a += ai;
            s_ia += n * ai;
            s_iia += n * (n + 1.0) * ai;
            s_t += ti;
            s_it += n * ti;
            s_tt += a2[i] * dn[i];
        }
        // du/drho sums i*t/rho: one power of density less, right down to zero.
        let du_first = if rho > RHO_FLOOR { s_it * k1 / rho } else { a1[0] * k1 * self.inv_rho_s };
        let (s_t, s_it, s_tt) = (s_t * k1, s_it * k1, s_tt * k2);
        let rt = self.r * t;
        let (u0, cv0) = self.ideal(t);
        Bulk {
            p: rho * rt * (1.0 + s_ia),
            u: u0 + rt * s_t,
            s: s0 + self.r * (s_t - s_a - rho.max(RHO_FLOOR).ln()),
            cv: cv0 - self.r * s_tt,
            dp_dt: rho * self.r * (1.0 + s_ia - s_it),
            dp_drho: rt * (1.0 + s_iia),
            du_drho: rt * du_first,
        }
    }

    /// Energy (J/kg) and heat capacity of the ideal gas.
    #[inline(always)]
    fn ideal(&self, t: f64) -> (f64, f64) {
        let x = (t - T_REF) * 0.01;
        let (mut u, mut cv) = (0.0, 0.0);
        for c in self.u0.iter().rev() {
            cv = cv * x + u;
            u = u * x + c;
        }
        (u, cv * 0.01)
    }

    #[inline(always)]
    fn liquid(&self, rho: f64, t: f64, v: &[f64; LANES], d: &[f64; LANES]) -> State {
        let (c, dc) = self.liquid_lanes(t);
        let span = 1.0 / (c[0] - v[1]);
        let y = (rho - v[1]) * span;
        let y_t = -(d[1] + y * (dc[0] - d[1])) * span;
        // Past the top of the data every polynomial goes on as its tangent.
        let (yc, over) = (y.min(1.0), (y - 1.0).max(0.0));
        let part = |first: usize| {
            let (mut f, mut f_y, mut f_t, mut f_ty) = (0.0, 0.0, 0.0, 0.0);
            for k in (0..NY).rev() {
                f_y = f_y * yc + f;
                f_ty = f_ty * yc + f_t;
                f = f * yc + c[first + k];
                f_t = f_t * yc + dc[first + k];
            }
            // The stored polynomials start at the first power of y.
            f_y = f_y * yc + f;
            f_ty = f_ty * yc + f_t;
            (f * yc + over * f_y, f_y, f_t * yc + over * f_ty + f_y * y_t)
        };
        let (p, p_y, p_t) = part(1);
        let (u, u_y, u_t) = part(1 + NY);
        let s = v[5] + part(1 + 2 * NY).0;
        let (p, u) = (v[0] + p, v[3] + u);
        let h = u + p / rho;
        State {
            phase: Phase::Liquid,
            rho,
            t,
            p,
            u,
            h,
            s,
            quality: 0.0,
            rho_l: rho,
            h_l: h,
            rho_g: rho,
            h_g: h,
            s_g: s,
            dp_dt: d[0] + p_t,
            dp_drho: p_y * span,
            cv: d[3] + u_t,
            du_drho: u_y * span,
        }
    }
}

#[inline(always)]
fn two_phase(rho: f64, t: f64, v: &[f64; LANES], d: &[f64; LANES]) -> State {
    let (vl, vv, vol) = (1.0 / v[1], 1.0 / v[2], 1.0 / rho);
    let dvl = -d[1] * vl * vl;
    let dvv = -d[2] * vv * vv;
    let inv = 1.0 / (vv - vl);
    let x = (vol - vl) * inv;
    let dx = -(dvl + x * (dvv - dvl)) * inv;
    let du = v[4] - v[3];
    let u = v[3] + x * du;
    State {
        phase: Phase::TwoPhase,
        rho,
        t,
        p: v[0],
        u,
        h: u + v[0] * vol,
        s: v[5] + x * (v[6] - v[5]),
        quality: x,
        rho_l: v[1],
        h_l: v[3] + v[0] * vl,
        rho_g: v[2],
        h_g: v[4] + v[0] * vv,
        s_g: v[6],
        dp_dt: d[0],
        dp_drho: 0.0,
        cv: d[3] + x * (d[4] - d[3]) + du * dx,
        du_drho: -du * inv * vol * vol,
    }
}

/// Moves a state from the edge of the tables to `t`: energy with the edge's heat capacity, pressure kept positive.
#[cold]
fn outside(mut e: State, t: f64) -> State {
    if t.is_nan() {
        return e;
    }
    let dt = (t - e.t).clamp(-FAR, FAR);
    let old_pv = e.h - e.u;
    let p0 = e.p;
    (e.p, e.dp_dt) = if e.p > 0.0 { extend_p(e.p, e.dp_dt, dt) } else { (e.p, e.dp_dt) };
    let pv = if p0 > 0.0 { old_pv * (e.p / p0) } else { old_pv };
    let gain_h = e.cv * dt + pv - old_pv;
    let gain_s = e.cv * dt / (e.t + dt.max(0.0));
    e.u += e.cv * dt;
    e.h += gain_h;
    e.s += gain_s;
    e.t += dt;
    if e.phase != Phase::TwoPhase {
        (e.h_g, e.s_g) = (e.h, e.s);
    }
    if e.phase == Phase::Liquid {
        e.h_l = e.h;
    }
    e
}
