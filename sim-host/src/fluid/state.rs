//! The state at a density and a temperature: the hot call of the plant. Regions join without a step in p, u and s.

use super::table::{FAR, Fluid, LANES, ND, NY, extend_p};
use super::{Phase, State};

/// Density below which the entropy of the gas no longer grows, kg/m3: some 1e-5 Pa.
const RHO_FLOOR: f64 = 1e-9;

/// Stiffness of a liquid far beyond any data, Pa m3/kg: a bulk modulus of some 1 GPa.
const SPRING: f64 = 1e6;

/// Bulk values of vapour before the common parts are filled in; units as in [`State`].
pub(super) struct Bulk {
    pub(super) p: f64,
    /// p / rho.
    pub(super) pv: f64,
    pub(super) u: f64,
    pub(super) s: f64,
    pub(super) cv: f64,
    pub(super) dp_dt: f64,
    pub(super) dp_drho: f64,
    pub(super) du_drho: f64,
}

impl From<State> for Bulk {
    fn from(e: State) -> Self {
        let State { p, u, s, cv, dp_dt, dp_drho, du_drho, .. } = e;
        Self { p, pv: e.h - e.u, u, s, cv, dp_dt, dp_drho, du_drho }
    }
}

impl Fluid {
    /// The equilibrium state at density `rho` (kg/m3) and temperature `t` (K), any phase.
    ///
    /// Negative density counts as zero. Outside the temperature range see the module's rule.
    #[inline]
    pub fn at(&self, rho: f64, t: f64) -> State {
        self.seen::<true>(rho, t)
    }

    /// The same, without the entropy of vapour: its logarithm costs as much as all the rest.
    #[inline]
    pub fn at_without_entropy(&self, rho: f64, t: f64) -> State {
        self.seen::<false>(rho, t)
    }

    #[inline]
    fn seen<const ENTROPY: bool>(&self, rho: f64, t: f64) -> State {
        let tc = self.clamp_t(t);
        let rho = if rho > 0.0 { rho.min(1e5) } else { 0.0 };
        let (k, x) = self.interval(tc);
        let block = self.sat_block(k);
        let v = block.values(x);
        let state = if rho < v[2] {
            self.vapour::<ENTROPY>(rho, tc, &v, (k, x))
        } else {
            let d = block.slopes(x).map(|d| d * self.inv_step);
            if rho <= v[1] { two_phase(rho, tc, &v, &d) } else { self.liquid(rho, tc, &v, &d) }
        };
        if t == tc { state } else { outside(state, t) }
    }

    /// Energy (J/kg) and heat capacity alone, for a solver's steps.
    #[inline(always)]
    pub(super) fn energy(&self, rho: f64, t: f64) -> (f64, f64) {
        if t == self.clamp_t(t) && rho > 0.0 {
            let (k, x) = self.interval(t);
            let block = self.sat_block(k);
            let v = block.values(x);
            if rho < v[2] {
                let b = self.gas(rho, t, (k, x));
                return (b.u, b.cv);
            }
            if rho <= v[1] {
                let e = two_phase(rho, t, &v, &block.slopes(x).map(|d| d * self.inv_step));
                return (e.u, e.cv);
            }
        }
        let e = self.at(rho, t);
        (e.u, e.cv)
    }

    #[inline(always)]
    fn vapour<const ENTROPY: bool>(&self, rho: f64, t: f64, v: &[f64; LANES], at: (usize, f64)) -> State {
        let b = self.gas_with::<ENTROPY>(rho, t, at);
        let h = b.u + b.pv;
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

    /// The gas at any density up to saturation, from its Helmholtz energy R T sum a_i(T) d^i beside the ideal part.
    #[inline(always)]
    pub(super) fn gas(&self, rho: f64, t: f64, at: (usize, f64)) -> Bulk {
        self.gas_with::<true>(rho, t, at)
    }

    #[inline(always)]
    fn gas_with<const ENTROPY: bool>(&self, rho: f64, t: f64, (k, x): (usize, f64)) -> Bulk {
        let block = self.gas_block(k);
        let (a, a_t, a_tt) = (block.values(x), block.slopes(x), block.bends(x));
        let d = rho * self.inv_rho_s;
        let d2 = d * d;
        let d4 = d2 * d2;
        let dn = [1.0, d, d2, d2 * d, d4, d4 * d];
        // Sums carry one power of density less than the energy, so that nothing is divided by a vanishing density.
        let (mut s_a, mut s_ia, mut s_iia, mut s_t, mut s_it, mut s_tt) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        for i in 0..ND {
            let n = (i + 1) as f64;
            let (ai, ti) = (a[i] * dn[i], a_t[i] * dn[i]);
            s_a += ai;
            s_ia += n * ai;
            s_iia += n * (n + 1.0) * ai;
            s_t += ti;
            s_it += n * ti;
            s_tt += a_tt[i] * dn[i];
        }
        let (r, per_k) = (self.r, self.inv_step);
        let rt = r * t;
        let slope = t * per_k * d;
        let (t_t, t_it, t_tt) = (s_t * slope, s_it * slope, s_tt * slope * t * per_k);
        let z = 1.0 + d * s_ia;
        Bulk {
            p: rho * rt * z,
            pv: rt * z,
            u: a[ND] - rt * t_t,
            s: if ENTROPY { a[ND + 1] - r * (d * s_a + t_t + rho.max(RHO_FLOOR).ln()) } else { f64::NAN },
            cv: a_t[ND] * per_k - r * (2.0 * t_t + t_tt),
            dp_dt: rho * r * (z + t_it),
            dp_drho: rt * (1.0 + d * s_iia),
            du_drho: -rt * s_it * t * per_k * self.inv_rho_s,
        }
    }

    /// Liquid at `t` (K, inside the tables) and `rho` (kg/m3) or, where that is less, at saturation: never the two-phase region.
    #[inline]
    pub(super) fn liquid_at(&self, rho: f64, t: f64) -> State {
        let (k, x) = self.interval(t);
        let block = self.sat_block(k);
        let v = block.values(x);
        self.liquid(rho.max(v[1]), t, &v, &block.slopes(x).map(|d| d * self.inv_step))
    }

    #[inline(always)]
    fn liquid(&self, rho: f64, t: f64, v: &[f64; LANES], d: &[f64; LANES]) -> State {
        let (c, dc) = self.liquid_lanes(t);
        let span = 1.0 / (c[0] - v[1]);
        let y = (rho - v[1]) * span;
        let y_t = -(d[1] + y * (dc[0] - d[1])) * span;
        // Past the top of the data (y = 1, 20 MPa) energy and entropy stay, and a plain spring makes the pressure.
        let solid = y > 1.0;
        let (y, y_t) = if solid { (1.0, 0.0) } else { (y, y_t) };
        let part = |first: usize| {
            let (mut f, mut f_y, mut f_t) = (0.0, 0.0, 0.0);
            for k in (0..NY).rev() {
                f_y = f_y * y + f;
                f = f * y + c[first + k];
                f_t = f_t * y + dc[first + k];
            }
            // The stored polynomials start at the first power of y.
            f_y = f_y * y + f;
            (f * y, f_y, f_t * y + f_y * y_t)
        };
        let (p, p_y, p_t) = part(1);
        let (u, u_y, u_t) = part(1 + NY);
        let s = v[5] + part(1 + 2 * NY).0;
        let (mut p, u) = (v[0] + p, v[3] + u);
        let (mut dp_dt, mut dp_drho, mut du_drho) = (d[0] + p_t, p_y * span, u_y * span);
        if solid {
            p += SPRING * (rho - c[0]);
            dp_dt -= SPRING * dc[0];
            (dp_drho, du_drho) = (SPRING, 0.0);
        }
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
            dp_dt,
            dp_drho,
            cv: d[3] + u_t,
            du_drho,
        }
    }
}

#[inline(always)]
fn two_phase(rho: f64, t: f64, v: &[f64; LANES], d: &[f64; LANES]) -> State {
    // Vapour fraction rho_v (rho_l - rho) / (rho (rho_l - rho_v)): one division on the way to the energy.
    let (gap, below) = (v[1] - v[2], v[1] - rho);
    let inv = 1.0 / (rho * gap);
    let x = v[2] * below * inv;
    let dx = (d[2] * below + v[2] * d[1] - x * rho * (d[1] - d[2])) * inv;
    let vol = gap * inv;
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
        h_l: v[3] + v[0] / v[1],
        rho_g: v[2],
        h_g: v[4] + v[0] / v[2],
        s_g: v[6],
        dp_dt: d[0],
        dp_drho: 0.0,
        cv: d[3] + x * (d[4] - d[3]) + du * dx,
        du_drho: -du * v[1] * v[2] * inv / rho,
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
