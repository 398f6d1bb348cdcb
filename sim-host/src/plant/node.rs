//! The thermodynamic state of one volume from its energy and masses, with the derivatives the implicit solver needs.
//!
//! Dalton: p = p_r(m/V, T) + (m_a R_a + m_w R_w) T / V_g with V_g = V - m_liq/rho_l; T from the energy by Newton.

use super::gas::{self, CV_AIR, R_AIR, R_WATER, ZERO_C};
use crate::fluid::{Fluid, Phase, State};

/// Index of the internal energy in a volume's unknowns.
pub const ENERGY: usize = 0;
/// Index of the refrigerant mass.
pub const REFRIGERANT: usize = 1;
/// Index of the air mass.
pub const AIR: usize = 2;
/// Index of the water vapour mass.
pub const STEAM: usize = 3;

/// Heat capacity of an empty volume, J/(K m3): keeps the temperature defined when nothing is inside (as much as 1 Pa of air).
const EMPTY_CAPACITY: f64 = 1e-2;
/// Smallest gas share of a liquid-full volume: keeps the air pressure finite.
const LEAST_GAS: f64 = 1e-3;
/// Gas share below which a vapour outlet carries liquid over.
const CARRY_OVER: f64 = 0.02;
/// dh/dT of saturated vapour and of liquid, J/(kg K), for derivatives only: mid-range values of both refrigerants (own tables).
const SATURATED_CP: f64 = 600.0;
const LIQUID_CP: f64 = 1350.0;
/// Temperatures the state may take, K.
const COLDEST: f64 = 150.0;
const HOTTEST: f64 = 500.0;

/// What leaves through an outlet, per kilogram of stream.
#[derive(Debug, Clone, Copy, Default)]
pub struct Stream {
    /// Density, kg/m3.
    pub rho: f64,
    /// Mass shares of refrigerant, air, water vapour.
    pub x: [f64; 3],
    /// Enthalpy, J/kg.
    pub h: f64,
    /// Enthalpy of each species, J/kg.
    pub parts: [f64; 3],
    /// d(own density) / d(own mass) over the stream's density, 1/kg.
    pub grow: [f64; 3],
    /// d(refrigerant density) / dT over the stream's density, 1/K.
    pub by_t: f64,
    /// Heat capacity along the way the refrigerant's enthalpy changes with temperature, J/(kg K).
    pub cp: f64,
    /// The stream is the volume's mean: 1/mass of the content (1/kg) and its volume (m3).
    pub whole: Option<(f64, f64)>,
}

/// How a stream changes with one of its volume's unknowns.
#[derive(Debug, Clone, Copy, Default)]
pub struct StreamSlope {
    /// Density.
    pub rho: f64,
    /// Mass shares.
    pub x: [f64; 3],
    /// Enthalpy.
    pub h: f64,
}

/// State of one place.
#[derive(Debug, Clone, Copy, Default)]
pub struct NodeState {
    /// Total pressure, Pa.
    pub p: f64,
    /// Refrigerant's share of it, Pa.
    pub p_r: f64,
    /// Temperature, K.
    pub t: f64,
    /// Gas volume, m3.
    pub gas_volume: f64,
    /// Refrigerant liquid, kg.
    pub m_liq: f64,
    /// Density of that liquid, kg/m3.
    pub rho_l: f64,
    /// Enthalpy of that liquid, J/kg.
    pub h_l: f64,
    /// Vapour quality of the refrigerant, 0-1.
    pub quality: f64,
    /// Density, enthalpy, entropy of refrigerant vapour.
    pub vapour: [f64; 3],
    /// Gas stream.
    pub gas: Stream,
    /// Bulk enthalpy of the refrigerant, J/kg, and total density kg/m3.
    pub bulk: [f64; 2],
    /// Masses (refrigerant, air, steam), kg.
    pub mass: [f64; 3],
    /// d temperature / d (energy, masses).
    pub dt: [f64; 4],
    /// d pressure / d (energy, masses).
    pub dp: [f64; 4],
    /// Heat capacity at constant volume of the content, J/K.
    pub capacity: f64,
}

/// Fixed data of a closed volume.
#[derive(Debug, Clone, Copy)]
pub struct NodeData {
    /// Inner volume, m3.
    pub volume: f64,
    /// Constant temperature, K, if held.
    pub isothermal: Option<f64>,
    /// Relative softness, 1/Pa.
    pub compliance: f64,
}

impl NodeState {
    /// Constant state of a boundary: moist air at `p` and `t`.
    pub fn boundary(p: f64, t: f64, steam_share: f64) -> Self {
        let p_w = p * steam_share;
        let (rho_a, rho_w) = ((p - p_w) / (R_AIR * t), p_w / (R_WATER * t));
        let rho = (rho_a + rho_w).max(1e-30);
        let x = [0.0, rho_a / rho, rho_w / rho];
        let parts = [0.0, gas::h_air(t), gas::h_steam(t)];
        let h = x[1] * parts[1] + x[2] * parts[2];
        let gas = Stream { rho, x, h, parts, ..Stream::default() };
        Self { p, t, gas_volume: 1.0, rho_l: 1e3, quality: 1.0, gas, bulk: [h, rho], ..Self::default() }
    }

    /// Evaluates a volume with unknowns `y`, starting Newton from `guess` K.
    pub fn evaluate(fluid: &Fluid, data: &NodeData, y: &[f64; 4], guess: f64) -> Self {
        let volume = data.volume;
        let m = y[REFRIGERANT].max(0.0);
        let (ma, mw) = (y[AIR].max(0.0), y[STEAM].max(0.0));
        let rho = (m / volume).max(1e-9);
        let others = ma * CV_AIR + mw * (gas::CP_STEAM - R_WATER);
        let empty = EMPTY_CAPACITY * volume;
        let energy =
            |state: &State, t: f64| m * state.u + ma * gas::u_air(t) + mw * gas::u_steam(t) + empty * (t - ZERO_C);
        let mut t = data.isothermal.unwrap_or(guess).clamp(COLDEST, HOTTEST);
        let mut state = fluid.at_without_entropy(rho, t);
        let mut capacity = m * state.cv + others + empty;
        if data.isothermal.is_none() {
            for round in 0..30 {
                let step = (y[ENERGY] - energy(&state, t)) / capacity;
                if step.abs() < 1e-4 {
                    // The rest is first order; pressure takes it along, the slower properties may stay 1e-4 K behind.
                    t += step;
                    state.p += state.dp_dt * step;
                    break;
                }
                let limit = if round < 8 { 40.0 } else { 10.0 };
                t = (t + step.clamp(-limit, limit)).clamp(COLDEST, HOTTEST);
                state = fluid.at_without_entropy(rho, t);
                capacity = m * state.cv + others + empty;
            }
        }
        Self::assemble(fluid, data, &state, t, [m, ma, mw], capacity)
    }

    fn assemble(fluid: &Fluid, data: &NodeData, state: &State, t: f64, mass: [f64; 3], capacity: f64) -> Self {
        let volume = data.volume;
        let [m, ma, mw] = mass;
        let m_liq = m * (1.0 - state.quality).clamp(0.0, 1.0);
        let rho_l = state.rho_l.max(1.0);
        let (gas_share, thinning) = gas_space(1.0 - m_liq / (rho_l * volume));
        let gas_volume = gas_share * volume;
        let soft = match state.phase {
            Phase::Vapour => None,
            _ if data.compliance > 0.0 => Some(soften(fluid, state, t, data.compliance)),
            _ => None,
        };
        let Soft { p: p_r, dp_drho, dp_dt } =
            soft.unwrap_or(Soft { p: state.p, dp_drho: state.dp_drho, dp_dt: state.dp_dt });
        let (p_a, p_w) = (ma * R_AIR * t / gas_volume, mw * R_WATER * t / gas_volume);
        let mut dt = [0.0; 4];
        if data.isothermal.is_none() {
            dt = [
                1.0 / capacity,
                -(state.u + state.rho * state.du_drho) / capacity,
                -gas::u_air(t) / capacity,
                -gas::u_steam(t) / capacity,
            ];
        }
        let per_kelvin = dp_dt + (p_a + p_w) / t;
        let swell = match state.phase {
            Phase::TwoPhase => thinning * (p_a + p_w) / gas_volume / (rho_l - state.rho_g).max(1.0),
            _ => 0.0,
        };
        let dp = [
            per_kelvin * dt[0],
            per_kelvin * dt[1] + dp_drho / volume + swell,
            per_kelvin * dt[2] + R_AIR * t / gas_volume,
            per_kelvin * dt[3] + R_WATER * t / gas_volume,
        ];
        let mut made = Self {
            p: p_r + p_a + p_w,
            p_r,
            t,
            gas_volume,
            m_liq,
            rho_l,
            h_l: state.h_l,
            quality: state.quality,
            vapour: [state.rho_g, state.h_g, state.s_g],
            gas: Stream::default(),
            bulk: [state.h, (m + ma + mw) / volume],
            mass,
            dt,
            dp,
            capacity,
        };
        made.gas = made.gas_stream(volume, state, data.isothermal.is_some());
        made
    }

    /// What a vapour outlet draws: the gas space, and in a nearly full volume some of the liquid with it.
    fn gas_stream(&self, volume: f64, state: &State, held: bool) -> Stream {
        let mut refrigerant = [self.vapour[0], self.vapour[1]];
        let mut single = state.phase != Phase::TwoPhase;
        let share = 1.0 - self.m_liq / (self.rho_l * volume);
        if state.phase == Phase::Liquid {
            refrigerant = [state.rho, state.h];
        } else if share < CARRY_OVER {
            let gas = smooth_step(share / CARRY_OVER);
            let rho = gas * refrigerant[0] + (1.0 - gas) * self.rho_l;
            let h = (gas * refrigerant[0] * refrigerant[1] + (1.0 - gas) * self.rho_l * self.h_l) / rho;
            refrigerant = [rho, h];
            single = false;
        }
        if self.mass[0] <= 0.0 {
            refrigerant[0] = 0.0;
        }
        let rho = [refrigerant[0], self.mass[1] / self.gas_volume, self.mass[2] / self.gas_volume];
        let parts = [refrigerant[1], gas::h_air(self.t), gas::h_steam(self.t)];
        let grow = [if single { 1.0 / volume } else { 0.0 }, 1.0 / self.gas_volume, 1.0 / self.gas_volume];
        let mut stream = Stream::mixed(rho, parts, grow);
        if single && !held {
            stream.whole = Some((1.0 / self.mass.iter().sum::<f64>().max(1e-30), volume));
        } else if !single {
            stream.by_t = refrigerant[0] * state.dp_dt / state.p.max(1e-3) / stream.rho;
            stream.cp = SATURATED_CP;
        }
        stream
    }

    /// Entropy of the refrigerant vapour, J/(kg K); worked out where it is needed.
    pub fn entropy(&self, fluid: &Fluid) -> f64 {
        let [rho, _, s] = self.vapour;
        if s.is_nan() { fluid.at(rho, self.t).s } else { s }
    }

    /// What a liquid outlet draws; `margin` kg of liquid and less, gas joins in.
    pub fn liquid_stream(&self, margin: f64) -> (Stream, f64) {
        let wet = if margin > 0.0 { smooth_step(self.m_liq / margin) } else { 1.0 };
        if self.m_liq <= 0.0 || wet <= 0.0 {
            return (self.gas, 0.0);
        }
        let liquid = Stream {
            rho: self.rho_l,
            x: [1.0, 0.0, 0.0],
            h: self.h_l,
            parts: [self.h_l, self.gas.parts[1], self.gas.parts[2]],
            cp: LIQUID_CP,
            ..Stream::default()
        };
        if wet >= 1.0 { (liquid, 1.0) } else { (Stream::blend(&liquid, &self.gas, wet), wet) }
    }

    /// What a well-stirred outlet draws: the mean of everything inside.
    pub fn mixed_stream(&self) -> Stream {
        let total: f64 = self.mass.iter().sum();
        if total <= 0.0 {
            return self.gas;
        }
        let share = self.bulk[1] / total;
        let rho = [self.mass[0] * share, self.mass[1] * share, self.mass[2] * share];
        let mut stream = Stream::mixed(rho, [self.bulk[0], self.gas.parts[1], self.gas.parts[2]], [share; 3]);
        if self.dt[ENERGY] > 0.0 {
            stream.whole = Some((1.0 / total, total / self.bulk[1].max(1e-30)));
        }
        stream
    }
}

/// Share of the volume open to gas for a share `free` of liquid, and its slope: never below [`LEAST_GAS`], without a corner.
fn gas_space(free: f64) -> (f64, f64) {
    if free >= 2.0 * LEAST_GAS {
        return (free, 1.0);
    }
    let free = free.max(0.0);
    (LEAST_GAS + free * free / (4.0 * LEAST_GAS), free / (2.0 * LEAST_GAS))
}

/// Refrigerant pressure in a soft volume, with its slopes by density and temperature.
struct Soft {
    p: f64,
    dp_drho: f64,
    dp_dt: f64,
}

/// Pressure over saturation at which a soft volume is just full, Pa.
const CUSHION: f64 = 3e4;
/// Compressibility of the liquid that joins the wall's, 1/Pa: both refrigerants at 20-40 degC (own tables), rounded.
const LIQUID_GIVE: f64 = 4e-9;

/// A soft volume that fills up: its wall begins to yield shortly before the last gas is gone, and ever more stiffly.
/// At the moment it is full it is as stiff as wall and liquid in series are beyond it; so filling has no corner in the pressure.
fn soften(fluid: &Fluid, state: &State, t: f64, compliance: f64) -> Soft {
    if state.phase == Phase::Liquid {
        // Liquid and soft wall in series: the wall takes part of the volume strain.
        let share = 1.0 / (1.0 + state.rho * state.dp_drho * compliance);
        let sat = fluid.sat(t);
        let base = sat.p.min(state.p);
        return Soft {
            p: base + (state.p - base) * share + CUSHION,
            dp_drho: state.dp_drho * share,
            dp_dt: state.dp_dt * share + sat.dp_dt * (1.0 - share),
        };
    }
    // Bounded so that the cushion is gone well before the volume dries out, however soft it is.
    let reach = (CUSHION * (compliance + LIQUID_GIVE)).min(0.03);
    let gap = (state.rho_l - state.rho_g).max(0.1 * state.rho_l);
    let free = (state.rho_l - state.rho) / gap;
    if free > 30.0 * reach {
        return Soft { p: state.p, dp_drho: state.dp_drho, dp_dt: state.dp_dt };
    }
    let sat = fluid.sat(t);
    let rise = CUSHION * (-free / reach).exp();
    let slope = rise / (reach * gap);
    let shrink = (1.0 - free) * sat.drho_l + free * sat.drho_v;
    Soft { p: state.p + rise, dp_drho: state.dp_drho + slope, dp_dt: state.dp_dt - slope * shrink }
}

impl Stream {
    fn mixed(rho: [f64; 3], parts: [f64; 3], grow: [f64; 3]) -> Self {
        let total = (rho[0] + rho[1] + rho[2]).max(1e-30);
        let x = [rho[0] / total, rho[1] / total, rho[2] / total];
        let h = x[0] * parts[0] + x[1] * parts[1] + x[2] * parts[2];
        Self { rho: total, x, h, parts, grow: grow.map(|g| g / total), ..Self::default() }
    }

    /// Change with unknown `column` of the volume in state `node`.
    pub fn slope(&self, node: &NodeState, column: usize) -> StreamSlope {
        let mut made = StreamSlope::default();
        let heat = self.by_t * node.dt[column];
        let own = column.wrapping_sub(1);
        let grow = self.grow.get(own).copied().unwrap_or(0.0);
        for k in 0..3 {
            let unit = |at: usize| if k == at { 1.0 } else { 0.0 };
            made.x[k] = (unit(own) - self.x[k]) * grow + (unit(0) - self.x[k]) * heat;
        }
        made.rho = self.rho * (grow + heat);
        made.h = match self.whole {
            // h = (U + p V) / m exactly, whatever the phase.
            Some((per_mass, volume)) => {
                let direct = if column == ENERGY { 1.0 } else { -self.h };
                (direct + volume * node.dp[column]) * per_mass
            }
            None => {
                let sensible = self.x[0] * self.cp + (1.0 - self.x[0]) * 1005.0;
                (0..3).map(|k| self.parts[k] * made.x[k]).sum::<f64>() + sensible * node.dt[column]
            }
        };
        made
    }

    fn blend(one: &Self, other: &Self, share: f64) -> Self {
        let rest = 1.0 - share;
        let mix = |a: f64, b: f64| share * a + rest * b;
        let x: [f64; 3] = std::array::from_fn(|k| mix(one.x[k], other.x[k]));
        let parts: [f64; 3] = std::array::from_fn(|k| {
            let weight = mix(one.x[k], other.x[k]);
            if weight > 0.0 {
                (share * one.x[k] * one.parts[k] + rest * other.x[k] * other.parts[k]) / weight
            } else {
                other.parts[k]
            }
        });
        Self {
            rho: mix(one.rho, other.rho),
            x,
            h: mix(one.h, other.h),
            parts,
            cp: mix(one.cp, other.cp),
            by_t: rest * other.by_t,
            grow: other.grow.map(|g| g * rest),
            whole: None,
        }
    }
}

/// Energy of the small heat capacity that keeps an empty volume's temperature defined, J.
pub fn empty_energy(volume: f64, t: f64) -> f64 {
    EMPTY_CAPACITY * volume * (t - ZERO_C)
}

/// 0 below 0, 1 above 1, smooth between.
pub fn smooth_step(x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    x * x * (3.0 - 2.0 * x)
}
