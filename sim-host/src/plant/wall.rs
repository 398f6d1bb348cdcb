//! Metal and the water on it: one enthalpy node, so that freezing, melting and drying need no temperature of their own.
//!
//! H = C t + m c t - m_ice L_f with liquid at 0 degC as zero. Water settles where the vapour's pressure is above saturation at the
//! metal's temperature, and leaves the faster the more of it there is. No supercooling, no fog, no frost insulation.

use super::gas::{self, CP_ICE, CP_LIQUID, FUSION, ZERO_C};
use super::spec::WallSpec;

/// Condition of a wall.
#[derive(Debug, Clone, Copy)]
pub struct Metal {
    /// Temperature, K.
    pub t: f64,
    /// Ice on it, kg.
    pub ice: f64,
    /// d t / d enthalpy, K/J (0 while the water freezes).
    pub by_enthalpy: f64,
    /// d t / d water mass, K/kg.
    pub by_water: f64,
}

/// The wall of heat capacity `capacity` J/K with enthalpy `h` J and `water` kg on it.
#[inline]
pub fn metal(capacity: f64, h: f64, water: f64) -> Metal {
    if water <= 0.0 {
        return Metal { t: ZERO_C + h / capacity, ice: 0.0, by_enthalpy: 1.0 / capacity, by_water: 0.0 };
    }
    if h >= 0.0 {
        let all = capacity + water * CP_LIQUID;
        let t = h / all;
        return Metal { t: ZERO_C + t, ice: 0.0, by_enthalpy: 1.0 / all, by_water: -t * CP_LIQUID / all };
    }
    if h > -FUSION * water {
        return Metal { t: ZERO_C, ice: -h / FUSION, by_enthalpy: 0.0, by_water: 0.0 };
    }
    let all = capacity + water * CP_ICE;
    let t = (h + FUSION * water) / all;
    Metal { t: ZERO_C + t, ice: water, by_enthalpy: 1.0 / all, by_water: (FUSION - t * CP_ICE) / all }
}

/// Enthalpy of a wall of heat capacity `capacity` J/K at `t` K with `water` kg on it, J.
pub fn enthalpy(capacity: f64, t: f64, water: f64) -> f64 {
    let celsius = t - ZERO_C;
    if celsius >= 0.0 {
        (capacity + water * CP_LIQUID) * celsius
    } else {
        (capacity + water * CP_ICE) * celsius - FUSION * water
    }
}

/// Water that settles on a wall.
#[derive(Debug, Clone, Copy, Default)]
pub struct Settling {
    /// kg/s onto the wall; negative: it evaporates.
    pub rate: f64,
    /// Enthalpy it carries, J/kg.
    pub h: f64,
    /// d rate / d vapour pressure, kg/(s Pa).
    pub by_pressure: f64,
    /// d rate / d wall temperature, kg/(s K).
    pub by_temperature: f64,
    /// d rate / d water on the wall, 1/s.
    pub by_water: f64,
}

/// Vapour over saturation within which condensation comes to its whole rate while nobody looks for hours, Pa (own choice: a fiftieth of the
/// pressure of water at 13 degC). Water leaves an all but dry wall a thousand times as slowly as it comes, and a long step that lands beyond
/// the corner between the two is thrown back.
pub const SOFT: f64 = 30.0;

/// Share of the whole rate at `drive` Pa over saturation, and its slope times that pressure with it: from `least` on, straight to 1 at `soft`.
fn softened(drive: f64, soft: f64, least: f64) -> (f64, f64) {
    if drive >= soft {
        return (1.0 - 0.5 * (1.0 - least) * soft / drive, 1.0);
    }
    let rise = (1.0 - least) * drive / soft;
    (least + 0.5 * rise, least + rise)
}

/// What settles on the wall `metal` that holds `water` kg, beside vapour of `vapour` Pa in gas of `t` K. Condensation comes to its whole rate
/// within `soft` Pa over saturation, at once where that is 0.
#[inline]
pub fn settle(spec: &WallSpec, metal: &Metal, (water, soft): (f64, f64), vapour: f64, t: f64) -> Settling {
    let (saturation, rise) = gas::p_sat_frozen(metal.t);
    let drive = vapour - saturation;
    let water = water.max(0.0);
    let all = water + spec.half_water;
    if drive > 0.0 {
        let k = spec.condensation;
        let (share, slope) = if soft > 0.0 { softened(drive, soft, water / all) } else { (1.0, 1.0) };
        return Settling {
            rate: k * share * drive,
            h: gas::h_steam(t),
            by_pressure: k * slope,
            by_temperature: -k * slope * rise,
            by_water: 0.0,
        };
    }
    let k = spec.condensation * water / all;
    Settling {
        rate: k * drive,
        h: gas::h_steam(metal.t),
        by_pressure: k,
        by_temperature: -k * rise,
        by_water: spec.condensation * drive * spec.half_water / (all * all),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn temperature_and_enthalpy_undo_each_other() {
        for (t, water) in [(-30.0, 0.0), (-30.0, 2e-3), (-1e-6, 2e-3), (0.0, 1e-3), (25.0, 0.0), (25.0, 5e-3)] {
            let h = enthalpy(300.0, t + ZERO_C, water);
            let back = metal(300.0, h, water);
            assert!((back.t - ZERO_C - t).abs() < 1e-9, "{t} degC with {water} kg came back as {}", back.t - ZERO_C);
            assert_eq!(back.ice, if t < 0.0 { water } else { 0.0 }, "ice at {t} degC");
        }
    }

    #[test]
    fn half_frozen_water_stands_at_zero() {
        let half = metal(300.0, -0.5 * FUSION * 4e-3, 4e-3);
        assert_eq!(half.t, ZERO_C);
        assert!((half.ice - 2e-3).abs() < 1e-12, "{} kg of ice", half.ice);
    }

    #[test]
    fn softened_condensation_meets_both_sides_without_a_corner() {
        let least = 0.02;
        let rate = |drive: f64| drive * softened(drive, SOFT, least).0;
        for drive in [0.01, 5.0, 29.0, 29.999, 30.001, 31.0, 500.0] {
            let slope = (rate(drive + 1e-4) - rate(drive - 1e-4)) / 2e-4;
            assert!((slope - softened(drive, SOFT, least).1).abs() < 1e-6, "{slope} at {drive} Pa");
        }
        assert!((softened(1e-9, SOFT, least).0 - least).abs() < 1e-9, "begins with what evaporation has");
        assert!(rate(1e4) > 0.99 * 1e4, "comes to the whole rate");
    }

    #[test]
    fn a_dry_wall_gives_no_water() {
        let spec = WallSpec {
            capacity: 300.0,
            to_ambient: 1.0,
            wet: 1.0,
            dry: 1.0,
            half_mass: 0.05,
            surroundings: None,
            start: None,
            condensation: 2e-8,
            half_water: 5e-6,
            water: 0.0,
        };
        let dry = settle(&spec, &metal(300.0, 7500.0, 0.0), (0.0, 0.0), 0.0, 298.15);
        assert_eq!(dry.rate, 0.0);
    }
}
