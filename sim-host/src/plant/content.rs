//! A refrigerant content on its way to a volume's state: what a pure one has at its energy, beside air, water and oil.

use super::gas::{self, ZERO_C};
use super::spec::Mixing;
use crate::fluid::{Fluid, Phase, State};

/// Unknowns of a volume's content.
pub const CONTENT: usize = 5;
/// Index of the internal energy among them.
pub const ENERGY: usize = 0;
/// Index of the refrigerant mass.
pub const REFRIGERANT: usize = 1;
/// Index of the air mass.
pub const AIR: usize = 2;
/// Index of the water vapour mass.
pub const STEAM: usize = 3;
/// Index of the second refrigerant's mass.
pub const SECOND: usize = 4;
/// Species in the order of their masses.
pub const SPECIES: usize = 4;

/// Temperatures the state may take, K.
pub const COLDEST: f64 = 120.0;
/// Upper end of them.
pub const HOTTEST: f64 = 700.0;

/// The refrigerants of a network.
#[derive(Debug, Clone, Copy)]
pub struct Fluids {
    /// Main refrigerant.
    pub main: &'static Fluid,
    /// Second one.
    pub second: Option<&'static Fluid>,
    /// How they mix.
    pub mixing: Mixing,
}

/// A refrigerant content on its way to a node, whether of one fluid or of two.
pub struct Content {
    /// Like a pure fluid's state: of the whole.
    pub state: State,
    pub t: f64,
    pub capacity: f64,
    /// d energy / d mass at constant temperature of either refrigerant, J/kg.
    pub by_mass: [f64; 2],
    /// d pressure / d mass at constant temperature of either refrigerant, Pa/kg.
    pub push: [f64; 2],
    /// Densities of the two vapours, kg/m3, their enthalpies, and the exponent of the gas.
    pub gas: [f64; 2],
    pub gas_h: [f64; 2],
    pub k: f64,
    pub second_l: f64,
    pub mole: f64,
    /// Partial pressure of the main refrigerant over that of both.
    pub main: f64,
    /// R of either, J/(kg K).
    pub r: [f64; 2],
}

/// What of the state before serves the next one to start from.
#[derive(Debug, Clone, Copy)]
pub struct Known {
    /// Vapour quality of the refrigerant, 0-1.
    pub quality: f64,
    /// Mole fraction of the main refrigerant in the liquid.
    pub mole: f64,
    /// Heat capacity at constant volume of the content, J/K.
    pub capacity: f64,
}

/// What shares energy and room with the refrigerant.
pub struct Others {
    /// Energy of all, J.
    pub energy: f64,
    /// Temperature that is held, K.
    pub held: Option<f64>,
    /// Room, m3.
    pub volume: f64,
    pub air: f64,
    pub steam: f64,
    /// Heat capacity of all but the refrigerant, J/K.
    pub capacity: f64,
    /// Of that, of nothing at all.
    pub empty: f64,
}

impl Others {
    /// Their energy at `t` K, J.
    pub fn energy_at(&self, t: f64) -> f64 {
        self.air * gas::u_air(t) + self.steam * gas::u_steam(t) + self.empty * (t - ZERO_C)
    }
}

/// One refrigerant: Newton on the temperature. `other`: it is the second one.
pub fn pure(fluid: &Fluid, m: f64, others: &Others, guess: f64, other: bool) -> Content {
    let rho = (m / others.volume).max(1e-9);
    let (signed, below) = (m, m < 0.0);
    let m = m.max(0.0);
    let mut t = others.held.unwrap_or(guess).clamp(COLDEST, HOTTEST);
    let mut state = fluid.at_without_entropy(rho, t);
    let mut capacity = m * state.cv + others.capacity;
    if others.held.is_none() {
        for round in 0..30 {
            let step = (others.energy - m * state.u - others.energy_at(t)) / capacity;
            if step.abs() < 1e-4 {
                // The rest is first order; pressure takes it along, the slower properties may stay 1e-4 K behind.
                t += step;
                state.p += state.dp_dt * step;
                break;
            }
            let limit = if round < 8 { 40.0 } else { 10.0 };
            t = (t + step.clamp(-limit, limit)).clamp(COLDEST, HOTTEST);
            state = fluid.at_without_entropy(rho, t);
            capacity = m * state.cv + others.capacity;
        }
    }
    if below {
        state.rho_g = signed / others.volume;
        state.p = state.rho_g * 8.314_462_618 / fluid.molar_mass() * t;
    }
    let k = match state.phase {
        Phase::Vapour if state.p > 0.0 => {
            let stiff = state.dp_drho + t * state.dp_dt * state.dp_dt / (rho * rho * state.cv);
            rho * stiff / state.p
        }
        _ => fluid.sound_exponent_saturated(t),
    };
    let by_mass = [state.u + state.rho * state.du_drho; 2];
    let push = [state.dp_drho / others.volume; 2];
    let r = [8.314_462_618 / fluid.molar_mass(); 2];
    let (mine, gas) = if other { (1.0, [0.0, state.rho_g]) } else { (0.0, [state.rho_g, 0.0]) };
    let gas_h = [state.h_g; 2];
    Content { state, t, capacity, by_mass, push, gas, gas_h, k, second_l: mine, mole: 1.0 - mine, main: 1.0 - mine, r }
}

/// What the unknowns of a content have changed by.
#[inline]
pub fn difference(a: &[f64; CONTENT], b: &[f64; CONTENT]) -> [f64; CONTENT] {
    std::array::from_fn(|k| a[k] - b[k])
}

/// The change of a figure with these slopes.
#[inline]
pub fn dot(a: &[f64; CONTENT], b: &[f64; CONTENT]) -> f64 {
    (0..CONTENT).map(|k| a[k] * b[k]).sum()
}
