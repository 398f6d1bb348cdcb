//! The stored tables and their shape in memory: one temperature interval of all saturation properties is one run of 256 bytes.
//!
//! A stored knot is (value, slope); pairs of knots become cubics once, at the first use of a fluid. So does the vapour
//! polynomial's temperature part: its energy and pressure stay those of one Helmholtz function, its heat capacity alone has
//! steps at the knots, of some 1e-6.

use super::cubic::Cubics;
use super::transport::Transport;
use super::{FluidKind, Sat};
use std::fmt;
use std::sync::LazyLock;

/// Lanes of a saturation interval: p, rho_l, rho_v, u_l, u_v, s_l, s_v; one lane is padding.
pub(super) const LANES: usize = 8;
/// Lanes of a gas interval: the six density coefficients of the residual energy, then u0 and s0 of the ideal gas at 1 kg/m3.
pub(super) const GAS: usize = ND + 2;
/// Powers of density in the vapour polynomial.
pub(super) const ND: usize = 6;
/// Powers of reciprocal temperature in the vapour polynomial, the zeroth included.
const NT: usize = 8;
/// Powers of compression in the liquid polynomials.
pub(super) const NY: usize = 6;
/// Coefficients of the ideal-gas energy.
const NU: usize = 8;
/// Lanes of a liquid interval: density at the top pressure, then p, u, s coefficients; one lane is padding.
pub(super) const LIQ: usize = 2 + 3 * NY;

/// Bits of an `f64` below the index into the inverse table: 64 segments per octave of pressure.
const SEG_SHIFT: u32 = 46;
/// Reference temperature of the vapour polynomial and the ideal-gas energy, K.
const T_REF: f64 = 300.0;
/// Centre and half width of its reciprocal temperature; the generator's X_MID and X_HALF.
const X_MID: f64 = 1.2;
const X_HALF: f64 = 0.55;

/// Property tables of one refrigerant; see [`Fluid::get`].
pub struct Fluid {
    kind: FluidKind,
    molar_mass: f64,
    pub(super) r: f64,
    t_crit: f64,
    p_crit: f64,
    t_min: f64,
    t_max: f64,
    t_two: f64,
    pub(super) inv_step: f64,
    inv_liq_step: f64,
    pub(super) inv_rho_s: f64,
    p_min: f64,
    p_max: f64,
    p_liquid_max: f64,
    sat: Box<[Cubics<LANES>]>,
    gas: Box<[Cubics<GAS>]>,
    liq: Box<[Cubics<LIQ>]>,
    seg0: u64,
    t_seg: Box<[f64]>,
    pub(super) transport: Transport,
}

impl fmt::Debug for Fluid {
    /// The name only: the tables are long.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Fluid({})", self.kind)
    }
}

macro_rules! read {
    ($kind:expr, $stem:literal) => {
        Fluid::read($kind, include_bytes!(concat!($stem, ".bin")), include_bytes!(concat!($stem, "_transport.bin")))
    };
}

static R1234YF: LazyLock<Fluid> = LazyLock::new(|| read!(FluidKind::R1234yf, "tables/r1234yf"));
static R134A: LazyLock<Fluid> = LazyLock::new(|| read!(FluidKind::R134a, "tables/r134a"));

impl Fluid {
    /// The tables of a refrigerant; the first call of a process unpacks them (under 1 ms).
    pub fn get(kind: FluidKind) -> &'static Self {
        match kind {
            FluidKind::R1234yf => &R1234YF,
            FluidKind::R134a => &R134A,
        }
    }

    /// Unpacks a file of the generator; its shape is fixed at compile time, so a mismatch is a build fault and may stop the program.
    fn read(kind: FluidKind, bytes: &[u8], transport: &[u8]) -> Self {
        let all: Vec<f64> = bytes
            .chunks_exact(8)
            .map(|b| f64::from_le_bytes([b[0], b[1], b[2], b[3], b[4], b[5], b[6], b[7]]))
            .collect();
        let (head, rest) = all.split_at(16);
        assert!(
            head[12] == ND as f64 && head[13] == NT as f64 && head[14] == NY as f64 && head[15] == NU as f64,
            "property tables of another shape: run the generator"
        );
        let (u0, rest) = rest.split_at(NU);
        let (c, rest) = rest.split_at(ND * NT);
        let (n_sat, n_liq) = (head[7] as usize, head[10] as usize);
        let (sat, liq) = rest.split_at(n_sat * 2 * LANES);
        let sat_rows: Vec<&[f64]> = sat.chunks_exact(2 * LANES).collect();
        let liq_rows: Vec<&[f64]> = liq.chunks_exact(2 * (1 + 3 * NY)).collect();
        assert!(sat_rows.len() == n_sat && liq_rows.len() == n_liq, "property tables cut short: run the generator");
        let (step, liq_step) = (head[6], head[9]);
        // The last knot with saturation data comes twice, with the slopes of either side; no interval lies between the two.
        let two = ((head[8] - head[5]) / step).round() as usize;
        let knot_t = |k: usize| head[5] + step * (k - usize::from(k > two)) as f64;
        let gas_rows: Vec<[f64; 2 * GAS]> =
            sat_rows.iter().enumerate().map(|(k, row)| gas_knot(u0, c, row, knot_t(k))).collect();
        let starts = || (0..n_sat - 1).filter(|&k| k != two);
        let mut out = Self {
            kind,
            molar_mass: head[0],
            r: head[1],
            t_crit: head[2],
            p_crit: head[3],
            t_min: head[5],
            t_max: knot_t(n_sat - 1),
            t_two: head[8],
            inv_step: 1.0 / step,
            inv_liq_step: 1.0 / liq_step,
            inv_rho_s: 1.0 / head[4],
            p_min: sat_rows[0][0],
            p_max: sat_rows[n_sat - 1][0],
            p_liquid_max: head[11],
            sat: starts().map(|k| Cubics::between(sat_rows[k], sat_rows[k + 1], step)).collect(),
            gas: starts().map(|k| Cubics::between(&gas_rows[k], &gas_rows[k + 1], step)).collect(),
            liq: liq_rows.windows(2).map(|w| Cubics::between(w[0], w[1], liq_step)).collect(),
            seg0: 0,
            t_seg: Box::new([]),
            transport: Transport::read(transport),
        };
        out.build_inverse();
        out
    }

    /// Fills the table of saturation temperature over the leading bits of the pressure.
    fn build_inverse(&mut self) {
        self.seg0 = self.p_min.to_bits() >> SEG_SHIFT;
        let last = (self.p_max.to_bits() >> SEG_SHIFT) + 1;
        let mut t = self.t_min;
        let mut table = Vec::new();
        for seg in self.seg0..=last {
            let p = f64::from_bits(seg << SEG_SHIFT);
            for _ in 0..40 {
                let (v, d) = self.p_and_slope(t);
                let step = (p - v) / d;
                t += step;
                if step.abs() < 1e-10 {
                    break;
                }
            }
            table.push(t);
        }
        self.t_seg = table.into();
    }

    /// Whose tables these are.
    pub fn kind(&self) -> FluidKind {
        self.kind
    }
    /// Molar mass, kg/mol.
    pub fn molar_mass(&self) -> f64 {
        self.molar_mass
    }
    /// Critical temperature, K.
    pub fn t_crit(&self) -> f64 {
        self.t_crit
    }
    /// Critical pressure, Pa.
    pub fn p_crit(&self) -> f64 {
        self.p_crit
    }
    /// Lowest temperature of the tables, K (-100 degC).
    pub fn t_min(&self) -> f64 {
        self.t_min
    }
    /// Highest temperature of the tables, K (150 degC).
    pub fn t_max(&self) -> f64 {
        self.t_max
    }
    /// Highest temperature with saturation data, K; two to three kelvin below the critical one.
    pub fn t_sat_max(&self) -> f64 {
        self.t_two
    }

    /// Highest pressure with data for the liquid, Pa (20 MPa).
    pub fn p_liquid_max(&self) -> f64 {
        self.p_liquid_max
    }

    /// Density of the liquid at that pressure, kg/m3, at `t` (K, inside the tables); held above the saturation data.
    #[inline]
    pub(super) fn densest(&self, t: f64) -> f64 {
        self.liquid_lanes(t).0[0]
    }

    /// The temperature brought into the tables; not-a-number becomes the lower end.
    #[inline(always)]
    pub(super) fn clamp_t(&self, t: f64) -> f64 {
        if t > self.t_min { if t < self.t_max { t } else { self.t_max } } else { self.t_min }
    }

    /// The interval of a temperature inside the tables, and the fraction in it.
    #[inline(always)]
    pub(super) fn interval(&self, t: f64) -> (usize, f64) {
        let x = (t - self.t_min) * self.inv_step;
        let k = (x as usize).min(self.sat.len() - 1);
        (k, x - k as f64)
    }

    /// Saturation cubics of an interval.
    #[inline(always)]
    pub(super) fn sat_block(&self, k: usize) -> &Cubics<LANES> {
        &self.sat[k]
    }

    /// Gas cubics of an interval.
    #[inline(always)]
    pub(super) fn gas_block(&self, k: usize) -> &Cubics<GAS> {
        &self.gas[k]
    }

    /// Liquid values and slopes (per K); held at the end of the saturation data above it.
    #[inline(always)]
    pub(super) fn liquid_lanes(&self, t: f64) -> ([f64; LIQ], [f64; LIQ]) {
        let held = t >= self.t_two;
        let x = (if held { self.t_two } else { t } - self.t_min) * self.inv_liq_step;
        let k = (x as usize).min(self.liq.len() - 1);
        let (v, mut d) = (self.liq[k].values(x - k as f64), self.liq[k].slopes(x - k as f64));
        let scale = if held { 0.0 } else { self.inv_liq_step };
        for slope in &mut d {
            *slope *= scale;
        }
        (v, d)
    }

    /// Saturation pressure and slope; continued below the tables as a positive hyperbola, above them as a straight line.
    #[inline(always)]
    fn p_and_slope(&self, t: f64) -> (f64, f64) {
        let tc = self.clamp_t(t);
        let (k, s) = self.interval(tc);
        let (p, d) = self.sat[k].first(s);
        extend_p(p, d * self.inv_step, t - tc)
    }

    /// Saturation pressure (Pa) at `t` (K).
    #[inline]
    pub fn p_sat(&self, t: f64) -> f64 {
        self.p_and_slope(t).0
    }

    /// Saturation temperature (K) at `p` (Pa), held at the ends of the tables.
    #[inline]
    pub fn t_sat(&self, p: f64) -> f64 {
        let p = if p > self.p_min {
            if p < self.p_max { p } else { return self.t_max }
        } else {
            return self.t_min;
        };
        let bits = p.to_bits();
        let k = ((bits >> SEG_SHIFT) - self.seg0) as usize;
        let frac = (bits & ((1 << SEG_SHIFT) - 1)) as f64 * (1.0 / (1u64 << SEG_SHIFT) as f64);
        let (Some(a), Some(b)) = (self.t_seg.get(k), self.t_seg.get(k + 1)) else {
            return self.t_max;
        };
        let mut t = a + frac * (b - a);
        // The guess is within 1e-3 K, so that one step leaves some 1e-8 K; only about the end of the saturation data is it worse.
        for _ in 0..3 {
            let (v, d) = self.p_and_slope(t);
            let step = (p - v) / d;
            t += step;
            if step.abs() < 2e-3 {
                break;
            }
        }
        self.clamp_t(t)
    }

    /// Both phases at `t` (K); outside the tables only the pressure goes on, the rest stays at the end value.
    #[inline]
    pub fn sat(&self, t: f64) -> Sat {
        let tc = self.clamp_t(t);
        let (k, x) = self.interval(tc);
        let (v, d) = (self.sat[k].values(x), self.sat[k].slopes(x).map(|d| d * self.inv_step));
        let (p, dp_dt) = extend_p(v[0], d[0], if t.is_nan() { 0.0 } else { t - tc });
        Sat {
            t: if t.is_finite() { t } else { tc },
            p,
            dp_dt,
            rho_l: v[1],
            rho_v: v[2],
            u_l: v[3],
            u_v: v[4],
            h_l: v[3] + v[0] / v[1],
            h_v: v[4] + v[0] / v[2],
            s_l: v[5],
            s_v: v[6],
            drho_l: d[1],
            drho_v: d[2],
            du_l: d[3],
            du_v: d[4],
        }
    }
}

/// Values and slopes of the gas lanes at `t`: density coefficients from `c`, u0 from its polynomial, s0 from the stored row.
fn gas_knot(u0: &[f64], c: &[f64], row: &[f64], t: f64) -> [f64; 2 * GAS] {
    let mut out = [0.0; 2 * GAS];
    let x = (T_REF / t - X_MID) / X_HALF;
    let dx = -T_REF / (t * t * X_HALF);
    for i in 0..ND {
        let (mut a, mut a1) = (0.0, 0.0);
        for powers in c.chunks_exact(ND).rev() {
            a1 = a1 * x + a;
            a = a * x + powers[i];
        }
        (out[i], out[GAS + i]) = (a, a1 * dx);
    }
    let z = (t - T_REF) / 100.0;
    let (u, cv) = u0.iter().rev().fold((0.0, 0.0), |(u, cv), c| (u * z + c, cv * z + u));
    (out[ND], out[GAS + ND]) = (u, cv / 100.0);
    (out[ND + 1], out[GAS + ND + 1]) = (row[7], row[LANES + 7]);
    out
}

/// Pressure and slope `dt` kelvin outside the tables; `dt` zero or not-a-number changes nothing.
#[inline(always)]
pub(super) fn extend_p(p: f64, dp: f64, dt: f64) -> (f64, f64) {
    if dt > 0.0 {
        (p + dp * dt.min(FAR), dp)
    } else if dt < 0.0 {
        let f = p / (p - dp * dt.max(-FAR));
        (p * f, dp * f * f)
    } else {
        (p, dp)
    }
}

/// Largest distance (K) over which anything is extrapolated.
pub(super) const FAR: f64 = 1e4;
