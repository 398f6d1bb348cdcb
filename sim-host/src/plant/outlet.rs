//! What a volume gives through its outlets, and how a stream changes with the volume's unknowns.

use super::node::{ENERGY, NodeState, SPECIES};
use super::stream::{LIQUID_CP, Stream, StreamSlope, smooth_slope, smooth_step};

impl Stream {
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
