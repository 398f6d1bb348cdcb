//! The thermodynamic state of one volume from its energy and masses, with the derivatives the implicit solver needs.
//!
//! Dalton: p = p_r(m/V, T) + (m_a R_a + m_w R_w) T / V_g with V_g = V - m_liq/rho_l and V what the oil leaves of the volume;
//! T from the energy by Newton. Two refrigerants together are worked out in `mixed`.

pub use super::content::{AIR, COLDEST, CONTENT, ENERGY, Fluids, HOTTEST, REFRIGERANT, SECOND, SPECIES, STEAM};
use super::content::{Content, Known, Others, pure};
use super::gas::{self, CV_AIR, K_AIR, R_AIR, R_WATER, ZERO_C};
use super::mixed;
use super::stream::{Stream, smooth_slope, smooth_step};
use crate::fluid::{Fluid, Phase, State};

/// Heat capacity of an empty volume, J/(K m3): keeps the temperature defined when nothing is inside (as much as 0.1 Pa of air).
const EMPTY_CAPACITY: f64 = 1e-3;
/// Smallest gas share of a liquid-full volume: keeps the air pressure finite.
const LEAST_GAS: f64 = 1e-3;
/// Gas share below which a vapour outlet carries liquid over.
const CARRY_OVER: f64 = 0.02;
/// dh/dT of saturated vapour, J/(kg K), for derivatives only: mid-range values of both refrigerants (own tables).
const SATURATED_CP: f64 = 600.0;
/// Exponent of water vapour.
const K_STEAM: f64 = 1.33;
/// State of one place.
#[derive(Debug, Clone, Copy, Default)]
pub struct NodeState {
    /// Total pressure, Pa.
    pub p: f64,
    /// The refrigerants' share of it, Pa.
    pub p_r: f64,
    /// Of that, the main refrigerant's, Pa.
    pub p_main: f64,
    /// Temperature, K.
    pub t: f64,
    /// Volume that the oil leaves, m3.
    pub volume: f64,
    /// Gas volume, m3.
    pub gas_volume: f64,
    /// Refrigerant liquid, kg.
    pub m_liq: f64,
    /// How it changes with temperature, kg/K, and with the mass of refrigerant at constant temperature.
    pub liquid: [f64; 2],
    /// Density of that liquid, kg/m3.
    pub rho_l: f64,
    /// Enthalpy of that liquid under the total pressure, J/kg.
    pub h_l: f64,
    /// Mass share of the second refrigerant in that liquid.
    pub second_l: f64,
    /// Mole fraction of the main refrigerant in that liquid: where the next evaluation starts.
    pub mole: f64,
    /// Vapour quality of the refrigerant, 0-1.
    pub quality: f64,
    /// Density, enthalpy, entropy of refrigerant vapour; the entropy only where the volume holds gas alone.
    pub vapour: [f64; 3],
    /// d h / d T of that vapour at constant pressure, J/(kg K).
    pub vapour_cp: f64,
    /// Gas stream.
    pub gas: Stream,
    /// Bulk enthalpy of the refrigerant, J/kg, and total density kg/m3.
    pub bulk: [f64; 2],
    /// Masses (refrigerant, air, steam, second), kg.
    pub mass: [f64; SPECIES],
    /// Air dissolved in each kilogram of liquid, kg/kg.
    pub air_in_liquid: f64,
    /// d temperature / d (energy, masses).
    pub dt: [f64; CONTENT],
    /// d pressure / d (energy, masses).
    pub dp: [f64; CONTENT],
    /// d temperature and d pressure / d room that oil takes from it, K/m3 and Pa/m3.
    pub squeezed: [f64; 2],
    /// Heat capacity at constant volume of the content, J/K.
    pub capacity: f64,
    /// Nothing but liquid: the pressure is that of compression.
    pub full: bool,
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

/// What a content shares its volume with.
#[derive(Debug, Clone, Copy, Default)]
pub struct Company {
    /// Room the oil takes, m3.
    pub oil: f64,
    /// Air dissolved in the liquid, kg.
    pub air: f64,
}

impl NodeState {
    /// Constant state of a boundary: moist air at `p` and `t`.
    pub fn boundary(p: f64, t: f64, steam_share: f64) -> Self {
        let p_w = p * steam_share;
        let (rho_a, rho_w) = ((p - p_w) / (R_AIR * t), p_w / (R_WATER * t));
        let parts = [0.0, gas::h_air(t), gas::h_steam(t), 0.0];
        let mut gas = Stream::mixed([0.0, rho_a, rho_w, 0.0], parts, [0.0; SPECIES]);
        gas.k = K_AIR;
        gas.thin = (gas.x[1] * R_AIR + gas.x[2] * R_WATER) * t;
        let bulk = [gas.h, gas.rho];
        Self { p, t, gas_volume: 1.0, volume: 1.0, rho_l: 1e3, quality: 1.0, mole: 1.0, gas, bulk, ..Self::default() }
    }

    /// Becomes the state of a volume with unknowns `y`, starting from the composition `known` and the temperature `guess` K. What it was
    /// before is of no matter: it is written in place, because a state is long and is made thousands of times a second of the plant.
    pub fn evaluate(
        &mut self,
        fluids: &Fluids,
        data: &NodeData,
        y: &[f64; CONTENT],
        company: Company,
        known: Known,
        guess: f64,
    ) {
        let volume = (data.volume - company.oil).max(0.02 * data.volume);
        // What the integrator leaves below nothing keeps its sign, so that it flows back: a corner at nothing would gather it.
        let mass = [y[1], y[2], y[3], y[4]];
        let all = mass[0] + mass[3];
        let others = Others {
            energy: y[ENERGY],
            held: data.isothermal,
            volume,
            air: mass[1] + company.air,
            steam: mass[2],
            capacity: (mass[1] + company.air).max(0.0) * CV_AIR
                + mass[2].max(0.0) * (gas::CP_STEAM - R_WATER)
                + EMPTY_CAPACITY * data.volume,
            empty: EMPTY_CAPACITY * data.volume,
        };
        let content = match fluids.second {
            Some(second) if mass[3] > mixed::TRACE * all && mass[0] > mixed::TRACE * all => {
                mixed::content(fluids, second, [mass[0], mass[3]], &others, known, guess)
            }
            Some(second) if mass[3] > 0.0 && mass[3] >= mass[0] => pure(second, mass[3], &others, guess, true),
            _ => pure(fluids.main, mass[0], &others, guess, false),
        };
        self.assemble(fluids, data, volume, &content, mass);
        self.air_in_liquid = company.air / (self.m_liq + 0.02 * all + 1e-6);
    }

    /// What the next evaluation starts from.
    pub const fn known(&self) -> Known {
        Known { quality: self.quality, mole: self.mole, capacity: self.capacity }
    }

    fn assemble(&mut self, fluids: &Fluids, data: &NodeData, volume: f64, content: &Content, mass: [f64; SPECIES]) {
        let Content { state, t, capacity, .. } = content;
        let t = *t;
        let m_liq = (mass[0] + mass[3]).max(0.0) * (1.0 - state.quality).clamp(0.0, 1.0);
        let rho_l = state.rho_l.max(1.0);
        let free = 1.0 - m_liq / (rho_l * volume);
        let (gas_share, thinning) = gas_space(free);
        let gas_volume = gas_share * volume;
        let soft = if data.compliance > 0.0 && state.phase != Phase::Vapour {
            soften(fluids.main, state, t, data.compliance)
        } else {
            Soft { p: state.p, dp_drho: state.dp_drho, dp_dt: state.dp_dt }
        };
        let Soft { p: p_r, dp_drho, dp_dt } = soft;
        let (p_a, p_w) = (mass[1] * R_AIR * t / gas_volume, mass[2] * R_WATER * t / gas_volume);
        let p = p_r + p_a + p_w;
        let mut dt = [0.0; CONTENT];
        if data.isothermal.is_none() {
            let per = 1.0 / capacity;
            dt = [
                per,
                -content.by_mass[0] * per,
                -gas::u_air(t) * per,
                -gas::u_steam(t) * per,
                -content.by_mass[1] * per,
            ];
        }
        // Liquid that comes in or grows warm takes room from air and steam: the less there is, the more that presses.
        let boils = state.phase == Phase::TwoPhase;
        let apart = (rho_l - state.rho_g).max(1.0);
        let squeeze = if boils { thinning * (p_a + p_w) / gas_volume / apart } else { 0.0 };
        let grows = LIQUID_SWELL * m_liq - state.rho_g * (state.dp_dt / state.p.max(1e-3) - 1.0 / t) * gas_volume;
        let per_kelvin = dp_dt + (p_a + p_w) / t + squeeze * grows;
        let stiff = (dp_drho - state.dp_drho) / volume + squeeze;
        let dp = [
            per_kelvin * dt[0],
            per_kelvin * dt[1] + content.push[0] + stiff,
            per_kelvin * dt[2] + R_AIR * t / gas_volume,
            per_kelvin * dt[3] + R_WATER * t / gas_volume,
            per_kelvin * dt[4] + content.push[1] + stiff,
        ];
        // At constant energy, dT = (T dp/dT - p) dV/C backwards; air counts as ideal.
        let warms = if data.isothermal.is_none() { (t * state.dp_dt - state.p) / capacity } else { 0.0 };
        let closer = (content.push[0] * mass[0] + content.push[1] * mass[3]) / volume + (p_a + p_w) / gas_volume;
        // One by one: a whole one would be put together elsewhere and copied.
        self.p = p;
        self.p_r = p_r;
        self.p_main = p_r * content.main;
        self.t = t;
        self.volume = volume;
        self.gas_volume = gas_volume;
        self.m_liq = m_liq;
        self.liquid = if boils { [rho_l * grows / apart - LIQUID_SWELL * m_liq, rho_l / apart] } else { [0.0; 2] };
        self.rho_l = rho_l;
        self.h_l = if m_liq > 0.0 { state.h_l + (p - state.p) / rho_l } else { state.h_l };
        self.second_l = content.second_l;
        self.mole = content.mole;
        self.quality = state.quality;
        self.vapour = [state.rho_g, state.h_g, state.s_g];
        self.vapour_cp = if state.phase == Phase::Vapour { state.cv + content.r[0] } else { VAPOUR_CP };
        self.bulk = [state.h, mass.iter().sum::<f64>() / volume];
        self.mass = mass;
        self.dt = dt;
        self.dp = dp;
        self.squeezed = [warms, per_kelvin * warms + closer];
        self.capacity = *capacity;
        self.full = state.phase == Phase::Liquid;
        self.gas = self.gas_stream(content, free, data.isothermal.is_some());
    }

    /// What a vapour outlet draws: the gas space, and in a nearly full volume some of the liquid with it.
    fn gas_stream(&self, content: &Content, free: f64, held: bool) -> Stream {
        let state = &content.state;
        let t = self.t;
        let mut rho = [content.gas[0], self.mass[1] / self.gas_volume, self.mass[2] / self.gas_volume, content.gas[1]];
        let mut parts = [content.gas_h[0], gas::h_air(t), gas::h_steam(t), content.gas_h[1]];
        let mut single = state.phase != Phase::TwoPhase;
        let mut wet = 0.0;
        // Density of the refrigerants' vapour, and that times its enthalpy.
        let mut dry = [0.0; 2];
        if state.phase == Phase::Liquid {
            let whole = [self.rho_l * (1.0 - self.second_l), self.rho_l * self.second_l];
            (rho[0], rho[3], parts[0], parts[3]) = (whole[0], whole[1], self.h_l, self.h_l);
            wet = 1.0;
        } else if free < CARRY_OVER && self.m_liq > 0.0 {
            let gas = smooth_step(free / CARRY_OVER);
            let liquid = (1.0 - gas) * self.rho_l;
            dry = [rho[0] + rho[3], rho[0] * parts[0] + rho[3] * parts[3]];
            for (k, share) in [(0, 1.0 - self.second_l), (3, self.second_l)] {
                let (vapour, drop) = (gas * rho[k], liquid * share);
                parts[k] = (vapour * parts[k] + drop * self.h_l) / (vapour + drop).max(1e-30);
                rho[k] = vapour + drop;
            }
            wet = liquid / rho.iter().sum::<f64>();
            single = false;
        }
        if self.mass[0] == 0.0 {
            rho[0] = 0.0;
        }
        if self.mass[3] == 0.0 {
            rho[3] = 0.0;
        }
        if rho.iter().sum::<f64>() < 0.5 * rho.iter().map(|one| one.abs()).sum::<f64>() {
            // As much below nothing as above: there is nothing.
            rho = rho.map(|one| one.max(0.0));
        }
        let own = if single { 1.0 / self.volume } else { 0.0 };
        let open = 1.0 / self.gas_volume;
        let mut stream = Stream::mixed(rho, parts, [own, open, open, own]);
        stream.wet = wet;
        if single && !held {
            stream.whole = Some((1.0 / self.mass.iter().sum::<f64>().max(1e-30), self.volume));
        } else if !single {
            stream.by_t = (rho[0] + rho[3]) * state.dp_dt / state.p.max(1e-3) / stream.rho;
            stream.cp = SATURATED_CP;
        }
        if dry[0] > 0.0 {
            let less = smooth_slope(free / CARRY_OVER) / (CARRY_OVER * self.rho_l * self.volume);
            let [rho, heat] = [dry[0] - self.rho_l, dry[1] - self.rho_l * self.h_l];
            stream.by_liquid = [-less * rho, -less * (heat - stream.h * rho) / stream.rho];
        }
        let [r0, r1] = content.r;
        stream.thin = (stream.x[0] * r0 + stream.x[1] * R_AIR + stream.x[2] * R_WATER + stream.x[3] * r1) * t;
        stream.k = self.exponent(content.k);
        stream
    }

    /// Isentropic exponent of the gas from that of its refrigerant: 1/(k - 1) adds up by partial pressures, as heat capacities do.
    fn exponent(&self, refrigerant: f64) -> f64 {
        let pure = self.mass[1] + self.mass[2] <= 0.0;
        if pure || self.p <= 0.0 {
            return refrigerant;
        }
        let (a, w) = (self.mass[1] * R_AIR, self.mass[2] * R_WATER);
        let rest = (self.p - self.p_r).max(0.0) / (a + w).max(1e-30);
        let soft = self.p_r / (refrigerant - 1.0).max(0.02) + rest * (a / (K_AIR - 1.0) + w / (K_STEAM - 1.0));
        1.0 + self.p / soft.max(1e-30)
    }

    /// Change of the liquid's mass with unknown `column` (energy, masses).
    #[inline]
    pub fn liquid_slope(&self, column: usize) -> f64 {
        let own = if column == REFRIGERANT || column == SECOND { self.liquid[1] } else { 0.0 };
        own + self.liquid[0] * self.dt[column]
    }

    /// Entropy of the refrigerant vapour, J/(kg K); worked out where it is needed.
    pub fn entropy(&self, fluid: &Fluid) -> f64 {
        let [rho, _, s] = self.vapour;
        if s.is_nan() { fluid.at(rho, self.t).s } else { s }
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
/// Heat capacity of saturated vapour that is warmed at its pressure, J/(kg K): 780 to 950 for both refrigerants at -30 to 5 degC (own tables,
/// over 4 K), rounded.
const VAPOUR_CP: f64 = 870.0;
/// Expansion of the liquid, 1/K, for derivatives only: both refrigerants at 0-30 degC (own tables), rounded.
pub(super) const LIQUID_SWELL: f64 = 2.9e-3;
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

/// Energy of the small heat capacity that keeps an empty volume's temperature defined, J.
pub fn empty_energy(volume: f64, t: f64) -> f64 {
    EMPTY_CAPACITY * volume * (t - ZERO_C)
}

/// Energy (J) of a content at `t` K, and its pressure (Pa), liquid density (kg/m3) and share of the volume that liquid takes.
pub fn content_at(fluids: &Fluids, volume: f64, mass: [f64; SPECIES], company: Company, t: f64) -> (f64, NodeState) {
    let data = NodeData { volume, isothermal: Some(t), compliance: 0.0 };
    let y = [0.0, mass[0], mass[1], mass[2], mass[3]];
    let mut state = NodeState { quality: 0.5, ..NodeState::default() };
    state.evaluate(fluids, &data, &y, company, state.known(), t);
    let refrigerant = mass[0] + mass[3];
    let room = volume - company.oil;
    let inner = if refrigerant > 0.0 { refrigerant * state.bulk[0] - state.p_r * room } else { 0.0 };
    let air = mass[1] + company.air;
    let rest = air * gas::u_air(t) + mass[2] * gas::u_steam(t) + empty_energy(volume, t);
    (inner + rest, state)
}
