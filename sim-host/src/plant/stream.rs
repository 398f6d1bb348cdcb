//! What leaves a volume through an outlet, per kilogram.

use super::content::SPECIES;

/// dh/dT of liquid, J/(kg K), for derivatives only: mid-range value of both refrigerants (own tables).
pub(super) const LIQUID_CP: f64 = 1350.0;

/// What leaves through an outlet, per kilogram of stream.
#[derive(Debug, Clone, Copy, Default)]
pub struct Stream {
    /// Density, kg/m3.
    pub rho: f64,
    /// Mass shares of refrigerant, air, water vapour, second refrigerant.
    pub x: [f64; SPECIES],
    /// Enthalpy, J/kg.
    pub h: f64,
    /// Enthalpy of each species, J/kg.
    pub parts: [f64; SPECIES],
    /// d(own density) / d(own mass) over the stream's density, 1/kg.
    pub grow: [f64; SPECIES],
    /// d(refrigerant density) / dT over the stream's density, 1/K.
    pub by_t: f64,
    /// Heat capacity along the way the refrigerant's enthalpy changes with temperature, J/(kg K).
    pub cp: f64,
    /// Slopes of density and enthalpy by the volume's mass of liquid, where an outlet draws more of it the more there is.
    pub by_liquid: [f64; 2],
    /// The stream is the volume's mean: 1/mass of the content (1/kg) and its volume (m3).
    pub whole: Option<(f64, f64)>,
    /// Mass share that is liquid, 0-1.
    pub wet: f64,
    /// Mass share of air that comes out of the liquid.
    pub dissolved_air: f64,
    /// R T of its gas, J/kg: p/rho at vanishing pressure.
    pub thin: f64,
    /// Isentropic exponent rho a^2/p of its gas.
    pub k: f64,
}

/// How a stream changes with one of its volume's unknowns.
#[derive(Debug, Clone, Copy, Default)]
pub struct StreamSlope {
    /// Density.
    pub rho: f64,
    /// Mass shares.
    pub x: [f64; SPECIES],
    /// Enthalpy.
    pub h: f64,
}

impl Stream {
    /// A stream of species with densities `rho` (kg/m3) and enthalpies `parts` (J/kg); `grow` is d density / d mass, 1/m3.
    pub fn mixed(rho: [f64; SPECIES], parts: [f64; SPECIES], grow: [f64; SPECIES]) -> Self {
        let total = (rho[0] + rho[1] + rho[2] + rho[3]).max(1e-30);
        let per = 1.0 / total;
        let x = rho.map(|one| one * per);
        let h = x[0] * parts[0] + x[1] * parts[1] + x[2] * parts[2] + x[3] * parts[3];
        Self { rho: total, x, h, parts, grow: grow.map(|g| g * per), ..Self::default() }
    }

    /// Liquid and gas side by side, `share` of the outlet's area wetted: densities and enthalpies add by what flows.
    pub(super) fn blend(liquid: &Self, gas: &Self, share: f64) -> Self {
        let (a, b) = (share * liquid.rho, (1.0 - share) * gas.rho);
        let rho: [f64; SPECIES] = std::array::from_fn(|k| a * liquid.x[k] + b * gas.x[k]);
        let parts: [f64; SPECIES] = std::array::from_fn(|k| {
            let (one, two) = (a * liquid.x[k], b * gas.x[k]);
            if one + two > 0.0 { (one * liquid.parts[k] + two * gas.parts[k]) / (one + two) } else { gas.parts[k] }
        });
        let mut made = Self::mixed(rho, parts, [0.0; SPECIES]);
        let weight = b / (a + b).max(1e-30);
        made.grow = gas.grow.map(|g| g * weight);
        made.by_t = gas.by_t * weight;
        made.cp = LIQUID_CP + (gas.cp - LIQUID_CP) * weight;
        made.dissolved_air = liquid.dissolved_air * (1.0 - weight);
        made.wet = ((1.0 - weight) + weight * gas.wet).min(1.0);
        (made.thin, made.k) = (gas.thin, gas.k);
        made
    }
}

/// 0 below 0, 1 above 1, smooth between.
#[inline]
pub fn smooth_step(x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    x * x * (3.0 - 2.0 * x)
}

/// Slope of [`smooth_step`].
#[inline]
pub fn smooth_slope(x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    6.0 * x * (1.0 - x)
}
