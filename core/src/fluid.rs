//! Integer saturation properties of each supported refrigerant and of water, from -40 to 90 degC; any argument has an answer.
//!
//! Rule outside the range: the argument is held at the nearer end, so -60 degC reads as -40 degC and 20 bar above the table
//! reads as 90 degC. Whoever must tell "cold" from "off the table" compares with [`T_MIN`] and [`T_MAX`].
//!
//! Errors against the equations of state named in `fluid/tables.rs`, measured over every 0.01 K by `tests/tests/core_fluid.rs`:
//! pressure 32 Pa, temperature 3 mK plus the rounding to 0.01 K, densities as stated at each function.

mod curve;
mod log2;
mod tables;

use crate::units::{AbsPa, CentiKelvin, isqrt};
use curve::{Curve, clamp_i32};
use log2::{exp2_q24, log2_q24};

/// Coldest temperature of the tables, -40 degC.
pub const T_MIN: CentiKelvin = CentiKelvin(23_315);
/// Warmest temperature of the tables, 90 degC.
pub const T_MAX: CentiKelvin = CentiKelvin(36_315);

/// Refrigerants the station is built for.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Refrigerant {
    /// R-1234yf, ASHRAE 34 class A2L.
    R1234yf,
    /// R-134a, class A1.
    R134a,
}

/// The curves of one refrigerant.
struct Curves {
    log2_p: Curve,
    t64: Curve,
    rho_l: Curve,
    log2_rho_v: Curve,
    /// Gas constant by mass in uJ/(g K): 8.314 462 618 J/(mol K) over the molar mass.
    r_micro: i64,
}

static R1234YF: Curves = Curves {
    log2_p: tables::R1234YF_LOG2_P,
    t64: tables::R1234YF_T64,
    rho_l: tables::R1234YF_RHO_L,
    log2_rho_v: tables::R1234YF_LOG2_RHO_V,
    r_micro: 72_907,
};

static R134A: Curves = Curves {
    log2_p: tables::R134A_LOG2_P,
    t64: tables::R134A_T64,
    rho_l: tables::R134A_RHO_L,
    log2_rho_v: tables::R134A_LOG2_RHO_V,
    r_micro: 81_489,
};

/// `t` held inside the tables.
fn held(t: CentiKelvin) -> i32 {
    t.0.clamp(T_MIN.0, T_MAX.0)
}

impl Refrigerant {
    fn curves(self) -> &'static Curves {
        match self {
            Self::R1234yf => &R1234YF,
            Self::R134a => &R134A,
        }
    }

    /// Saturation pressure at `t`, absolute; within 40 Pa.
    #[inline(never)]
    pub fn p_sat(self, t: CentiKelvin) -> AbsPa {
        AbsPa(exp2_q24(self.curves().log2_p.at(held(t))))
    }

    /// Saturation temperature at absolute pressure `p`; within 5 mK and the rounding to 0.01 K.
    #[inline(never)]
    pub fn t_sat(self, p: AbsPa) -> CentiKelvin {
        let t64 = self.curves().t64.at(log2_q24(p.0));
        CentiKelvin(t64.saturating_add(32) >> 6).or_more(T_MIN).or_less(T_MAX)
    }

    /// Density of saturated liquid at `t` in g/m3 (1 000 000 = 1 kg/L = 1 000 mg/mL); within 1e-4.
    #[inline(never)]
    pub fn liquid_density(self, t: CentiKelvin) -> i32 {
        self.curves().rho_l.at(held(t))
    }

    /// Density of saturated vapour at `t` in g/m3, that is mg per litre; within 2e-4, which at -40 degC is the rounding.
    #[inline(never)]
    pub fn vapour_density(self, t: CentiKelvin) -> i32 {
        exp2_q24(self.curves().log2_rho_v.at(held(t)))
    }

    /// Density of an ideal gas at `p` and 25 degC in g/m3: what gas weighs at least, to some 15 % over the temperatures of a workshop.
    ///
    /// ```
    /// use valvewright_core::{fluid::Refrigerant, units::AbsPa};
    /// // p M / (R T): 5e5 Pa x 114.04 g/mol / (8.3145 J/(mol K) x 298.15 K)
    /// assert!((22_900..23_100).contains(&Refrigerant::R1234yf.ideal_density(AbsPa(500_000))));
    /// ```
    pub const fn ideal_density(self, p: AbsPa) -> i32 {
        let per_thousand = match self {
            Self::R1234yf => 46,
            Self::R134a => 41,
        };
        p.0.saturating_mul(per_thousand) / 1_000
    }

    /// Density of gas at `p` and `t` in g/m3 (mg per litre), for the content of a hose: ideal at zero pressure, exact at saturation,
    /// between them a virial equation of two terms. At or above saturation pressure: saturated vapour.
    ///
    /// Within 0.2 % from -40 to 25 degC and 1.5 % to 60 degC at any pressure; up to 25 % too low between 80 and 90 degC.
    #[inline(never)]
    pub fn gas_density(self, p: AbsPa, t: CentiKelvin) -> i32 {
        let top = self.p_sat(t);
        if p.0 <= 0 {
            return 0;
        }
        if p >= top {
            return self.vapour_density(t);
        }
        // Ideal-gas density in g/m3 is p/(R T); R in uJ/(g K) and T in 0.01 K make p * 1e8 / (R T).
        let rt = self.curves().r_micro.saturating_mul(i64::from(held(t))).max(1);
        let ideal = |q: AbsPa| i64::from(q.0).saturating_mul(100_000_000).checked_div(rt).unwrap_or(0);
        let rho_top = i64::from(self.vapour_density(t)).max(1);
        // With c = 1 - Z at saturation, rho (1 - c rho / rho_top) = ideal; its root, in q28, without the difference of near numbers.
        let one = 1i64 << 28;
        let c = one.saturating_sub(ideal(top).saturating_mul(one) / rho_top).clamp(0, one / 2);
        let bend = c.saturating_mul(4).saturating_mul(ideal(p)) / rho_top;
        let inside = u64::try_from(one.saturating_sub(bend).saturating_mul(one)).unwrap_or(0);
        let root = i64::try_from(isqrt(inside)).unwrap_or(0);
        let rho = ideal(p).saturating_mul(2).saturating_mul(one) / one.saturating_add(root).max(1);
        clamp_i32(rho.min(rho_top))
    }
}

/// Vapour pressure of liquid water at `t`, -40 to 90 degC; below 0.01 degC that of supercooled water.
/// Within 2e-5 and the rounding to 1 Pa of IAPWS SR1-86(1992).
pub fn p_sat_water(t: CentiKelvin) -> AbsPa {
    AbsPa(exp2_q24(tables::WATER_LOG2_P.at(held(t))).saturating_add(500) / 1000)
}
