//! Air, water vapour and water as the plant needs them, and the constants of the reference model.
//!
//! Constants as `MODEL.md` of the reference solutions states them (air R 287.05 J/kg/K, cv 718; water R = 8.314462618/0.018015268;
//! h_vapour = 2.501e6 + 1880 t; liquid 4200, ice 2100 J/kg/K, fusion 333.6 kJ/kg).

/// Gas constant of air, J/(kg K).
pub const R_AIR: f64 = 287.05;
/// Gas constant of water vapour, J/(kg K).
pub const R_WATER: f64 = 8.314_462_618 / 0.018_015_268;
/// Heat capacity of air at constant volume, J/(kg K).
pub const CV_AIR: f64 = 718.0;
/// Heat capacity of water vapour at constant pressure, J/(kg K).
pub const CP_STEAM: f64 = 1880.0;
/// Enthalpy of water vapour at 0 degC over liquid at 0 degC, J/kg.
pub const H_STEAM: f64 = 2.501e6;
/// Heat capacity of liquid water, J/(kg K).
pub const CP_LIQUID: f64 = 4200.0;
/// Heat capacity of ice, J/(kg K).
pub const CP_ICE: f64 = 2100.0;
/// Heat of fusion, J/kg.
pub const FUSION: f64 = 333.6e3;
/// 0 degC in kelvin.
pub const ZERO_C: f64 = 273.15;
/// Isentropic exponent of air.
pub const K_AIR: f64 = 1.4;

/// Internal energy of air (0 at 0 degC), J/kg.
pub fn u_air(t: f64) -> f64 {
    CV_AIR * (t - ZERO_C)
}

/// Enthalpy of air on the same footing, J/kg.
pub fn h_air(t: f64) -> f64 {
    CV_AIR * (t - ZERO_C) + R_AIR * t
}

/// Enthalpy of water vapour (liquid at 0 degC = 0), J/kg.
pub fn h_steam(t: f64) -> f64 {
    H_STEAM + CP_STEAM * (t - ZERO_C)
}

/// Internal energy of water vapour, J/kg.
pub fn u_steam(t: f64) -> f64 {
    h_steam(t) - R_WATER * t
}

/// Molar masses of air and water, kg/mol.
pub const MOLAR_AIR: f64 = 0.028_965_2;
/// Molar mass of water, kg/mol.
pub const MOLAR_WATER: f64 = 0.018_015_268;

/// Viscosity of thin air at `t` K, Pa s: CoolProp 8 at 25 degC (reference tables f2), with the slope and bend of Sutherland's formula.
#[inline]
pub fn viscosity_air(t: f64) -> f64 {
    let x = t - 298.15;
    1.8438e-5 + x * (4.9e-8 - 3.06e-11 * x)
}

/// Viscosity of thin water vapour at `t` K, Pa s: CoolProp 8 at 25 degC (reference tables f2), slope from memory.
#[inline]
pub fn viscosity_steam(t: f64) -> f64 {
    9.706e-6 + 3.6e-8 * (t - 298.15)
}

/// A pool's condition from its specific energy.
#[derive(Debug, Clone, Copy)]
pub struct PoolState {
    /// Temperature, degC.
    pub celsius: f64,
    /// Frozen share, 0-1.
    pub frozen: f64,
    /// d temperature / d specific energy, K kg/J (0 while freezing).
    pub slope: f64,
}

/// Temperature and frozen share of water with `energy` J/kg over liquid at 0 degC.
pub fn pool_state(energy: f64) -> PoolState {
    let energy = energy.clamp(-FUSION - 60.0 * CP_ICE, 120.0 * CP_LIQUID);
    if energy >= 0.0 {
        PoolState { celsius: energy / CP_LIQUID, frozen: 0.0, slope: 1.0 / CP_LIQUID }
    } else if energy > -FUSION {
        PoolState { celsius: 0.0, frozen: -energy / FUSION, slope: 0.0 }
    } else {
        PoolState { celsius: (energy + FUSION) / CP_ICE, frozen: 1.0, slope: 1.0 / CP_ICE }
    }
}

/// Saturation pressure of water at `t` K, Pa: liquid line, or the ice line.
pub fn p_sat_water(t: f64, ice: bool) -> f64 {
    crate::fluid::water::p_w_sat(t, ice)
}

/// Saturation pressure over what water is at `t` K, liquid from 0 degC and ice below, Pa, and its slope, Pa/K.
#[inline]
pub fn p_sat_frozen(t: f64) -> (f64, f64) {
    use crate::fluid::water;
    if t < ZERO_C { water::p_ice_slope(t) } else { water::p_liquid_slope(t) }
}
