//! What leaves a volume through an outlet, and how it changes with the volume's unknowns.

use super::node::{ENERGY, NodeState, SPECIES};

/// dh/dT of liquid, J/(kg K), for derivatives only: mid-range value of both refrigerants (own tables).
const LIQUID_CP: f64 = 1350.0;

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

    /// Change with unknown `column` (energy, masses) of the volume in state `node`.
    #[inline]
    pub fn slope(&self, node: &NodeState, column: usize) -> StreamSlope {
        let mut made = StreamSlope::default();
        let heat = self.by_t * node.dt[column];
        let own = column.wrapping_sub(1);
        let grow = self.grow.get(own).copied().unwrap_or(0.0);
        let refrigerant = self.x[0] + self.x[3];
        for k in 0..SPECIES {
            let unit = if k == own { 1.0 } else { 0.0 };
            // Warmer, there is more refrigerant vapour, in the proportion it has.
            let share = if k == 0 || k == 3 { self.x[k] / refrigerant.max(1e-30) } else { 0.0 };
            made.x[k] = (unit - self.x[k]) * grow + (share - self.x[k]) * heat;
        }
        let liquid = node.liquid_slope(column);
        made.rho = self.rho * (grow + heat) + self.by_liquid[0] * liquid;
        made.h = match self.whole {
            // h = (U + p V) / m exactly, whatever the phase.
            Some((per_mass, volume)) => {
                let direct = if column == ENERGY { 1.0 } else { -self.h };
                (direct + volume * node.dp[column]) * per_mass
            }
            None => {
                let sensible = refrigerant * self.cp + (1.0 - refrigerant) * 1005.0;
                let mixing: f64 = (0..SPECIES).map(|k| self.parts[k] * made.x[k]).sum();
                mixing + sensible * node.dt[column] + self.by_liquid[1] * liquid
            }
        };
        made
    }

    /// Change with the room that oil takes from the volume in state `node`, per m3.
    pub fn squeezed(&self, node: &NodeState) -> StreamSlope {
        let warmer = node.squeezed[0];
        let denser: f64 = (0..SPECIES).map(|k| self.grow[k] * node.mass[k]).sum::<f64>() / node.gas_volume.max(1e-12);
        StreamSlope { rho: self.rho * (denser + self.by_t * warmer), h: self.cp * warmer, ..StreamSlope::default() }
    }

    /// Liquid and gas side by side, `share` of the outlet's area wetted: densities and enthalpies add by what flows.
    fn blend(liquid: &Self, gas: &Self, share: f64) -> Self {
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

impl NodeState {
    /// What a liquid outlet draws; `margin` kg of liquid and less, gas joins in.
    pub fn liquid_stream(&self, margin: f64) -> Stream {
        // Without a margin the last ten-thousandth of a filling serves: an outlet that runs dry from one gram to none is a jump.
        let margin = margin.max(1e-4 * self.rho_l * self.volume);
        let share = smooth_step(self.m_liq / margin);
        if self.m_liq <= 0.0 || share <= 0.0 {
            return self.gas;
        }
        let air = self.air_in_liquid;
        let per = 1.0 / (1.0 + air);
        let x = [(1.0 - self.second_l) * per, air * per, 0.0, self.second_l * per];
        let parts = [self.h_l, self.gas.parts[1], self.gas.parts[2], self.h_l];
        let h = (x[0] + x[3]) * self.h_l + x[1] * parts[1];
        let liquid = Stream {
            rho: self.rho_l,
            x,
            h,
            parts,
            cp: LIQUID_CP,
            wet: 1.0,
            dissolved_air: x[1],
            thin: self.gas.thin,
            k: self.gas.k,
            ..Stream::default()
        };
        if share >= 1.0 {
            return liquid;
        }
        let mut mixed = Stream::blend(&liquid, &self.gas, share);
        let more = smooth_slope(self.m_liq / margin) / margin;
        let by_share = (liquid.h - self.gas.h) * liquid.rho * self.gas.rho / (mixed.rho * mixed.rho);
        mixed.by_liquid = [(liquid.rho - self.gas.rho) * more, by_share * more];
        mixed
    }

    /// What a well-stirred outlet draws: the mean of everything inside.
    pub fn mixed_stream(&self) -> Stream {
        let total: f64 = self.mass.iter().sum();
        if total <= 0.0 || self.mass.iter().any(|one| *one < 0.0) {
            return self.gas;
        }
        let share = self.bulk[1] / total;
        let rho = self.mass.map(|m| m * share);
        let bulk = self.bulk[0];
        let mut stream = Stream::mixed(rho, [bulk, self.gas.parts[1], self.gas.parts[2], bulk], [share; SPECIES]);
        if self.dt[ENERGY] > 0.0 {
            stream.whole = Some((1.0 / total, total / self.bulk[1].max(1e-30)));
        }
        stream.wet = (self.m_liq / total).clamp(0.0, 1.0);
        (stream.thin, stream.k) = (self.gas.thin, self.gas.k);
        stream
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
