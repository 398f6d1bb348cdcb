//! Oil with refrigerant in solution: what it takes up or gives off, its heat and its room.
//!
//! The oil phase holds U = m c t + m_d (u_l(t) + dh) with u_l of the saturated liquid and t from 0 degC, and takes m/rho + m_d/rho_l.

use super::gas::ZERO_C;
use super::node::LIQUID_SWELL;
use super::spec::{OilLaw, OilSpec};
use crate::fluid::{Fluid, Sat};

/// Temperature at which the heat of mixing leaves the vapour pressure as the law gives it, K.
const NEUTRAL: f64 = 298.15;
/// Relative pressure that Raoult's law is held at: it has no end at saturation.
const HIGHEST: f64 = 0.98;
/// Smallest oil mass that counts as a phase, kg.
pub const LEAST: f64 = 1e-9;
/// Most refrigerant per oil, kg/kg: beyond, the liquid is refrigerant with a little oil and belongs to the content.
pub const MOST_DISSOLVED: f64 = 49.0;

/// The oil phase at one moment.
#[derive(Debug, Clone, Copy, Default)]
pub struct OilState {
    /// Temperature, K.
    pub t: f64,
    /// Heat capacity, J/K.
    pub capacity: f64,
    /// Room it takes, m3.
    pub volume: f64,
    /// d volume / d oil (m3/kg), / d dissolved (m3/kg), / d energy (m3/J).
    pub dv: [f64; 3],
    /// d t / d oil (K/kg), / d dissolved (K/kg), / d energy (K/J).
    pub dt: [f64; 3],
    /// Energy of dissolved refrigerant u_l + dh, J/kg, and specific volume of it, m3/kg.
    pub dissolved: [f64; 2],
    /// Density of dissolved refrigerant as liquid, kg/m3.
    pub rho_l: f64,
    /// Saturation pressure at its temperature, Pa.
    pub p_sat: f64,
    /// Slope of that pressure, Pa/K.
    pub dp_sat: f64,
}

impl OilState {
    /// The phase with `oil` kg, `dissolved` kg and energy `energy` J, from a guess of its temperature.
    pub fn evaluate(fluid: &Fluid, spec: &OilSpec, oil: f64, dissolved: f64, energy: f64, guess: f64) -> Self {
        let (oil, dissolved) = (oil.max(0.0), dissolved.max(0.0));
        let mut t = if guess > 100.0 { guess } else { NEUTRAL };
        let own = oil * spec.heat_capacity + LEAST * spec.heat_capacity;
        let mut sat = at(fluid, t);
        let mut capacity = own + dissolved * sat.du_l.max(500.0);
        for _ in 0..20 {
            let miss = energy - own * (t - ZERO_C) - dissolved * (sat.u_l + spec.heat_of_mixing);
            let step = miss / capacity;
            t = (t + step.clamp(-60.0, 60.0)).clamp(150.0, 600.0);
            if step.abs() < 1e-5 {
                break;
            }
            sat = at(fluid, t);
            capacity = own + dissolved * sat.du_l.max(500.0);
        }
        let u_d = sat.u_l + spec.heat_of_mixing;
        let dt = [-spec.heat_capacity * (t - ZERO_C) / capacity, -u_d / capacity, 1.0 / capacity];
        let swells = LIQUID_SWELL * dissolved / sat.rho_l;
        Self {
            t,
            capacity,
            volume: oil / spec.density + dissolved / sat.rho_l,
            dv: [1.0 / spec.density + swells * dt[0], 1.0 / sat.rho_l + swells * dt[1], swells * dt[2]],
            dt,
            dissolved: [u_d, 1.0 / sat.rho_l],
            rho_l: sat.rho_l,
            p_sat: sat.p,
            dp_sat: sat.dp_dt,
        }
    }

    /// Energy of the phase at `t` K, J.
    pub fn energy(fluid: &Fluid, spec: &OilSpec, oil: f64, dissolved: f64, t: f64) -> f64 {
        let sat = at(fluid, t);
        (oil + LEAST) * spec.heat_capacity * (t - ZERO_C) + dissolved * (sat.u_l + spec.heat_of_mixing)
    }
}

/// Saturation, held below the critical point: hotter oil keeps the liquid of the table's end.
fn at(fluid: &Fluid, t: f64) -> Sat {
    fluid.sat(t.min(fluid.t_sat_max()))
}

/// Uptake of refrigerant by oil and how it changes.
#[derive(Debug, Clone, Copy, Default)]
pub struct Uptake {
    /// kg/s into the oil; negative: released.
    pub rate: f64,
    /// d rate / d pressure (kg/(s Pa)), / d dissolved (1/s), / d oil temperature (kg/(s K)).
    pub slope: [f64; 3],
}

/// Pressure over the oil that counts for its law: saturation changed by the heat of mixing, and its slope by temperature.
fn reference(fluid: &Fluid, spec: &OilSpec, state: &OilState) -> (f64, f64) {
    if spec.heat_of_mixing == 0.0 {
        return (state.p_sat, state.dp_sat);
    }
    let per = spec.heat_of_mixing * fluid.molar_mass() / 8.314_462_618;
    let factor = (per * (1.0 / state.t - 1.0 / NEUTRAL)).exp();
    (state.p_sat * factor, factor * (state.dp_sat - state.p_sat * per / (state.t * state.t)))
}

/// Pressure in equilibrium with `dissolved` in `oil` kg after Flory and Huggins, Pa, its slope by dissolved mass, and by temperature.
fn flory(
    fluid: &Fluid,
    spec: &OilSpec,
    (oil, dissolved): (f64, f64),
    state: &OilState,
    molar: f64,
    chi: f64,
) -> [f64; 3] {
    let (p_ref, dp_ref) = reference(fluid, spec, state);
    let (room, room_oil) = (dissolved * state.dissolved[1], oil.max(LEAST) / spec.density);
    let all = room + room_oil;
    let (v, rest) = (room / all, room_oil / all);
    let m = molar / spec.density * state.rho_l / fluid.molar_mass();
    let share = 1.0 - 1.0 / m;
    let activity = v * (share * rest + chi * rest * rest).exp();
    // d ln a / dv = 1/v - share - 2 chi (1 - v); v cancels against the activity.
    let by_v = activity / v.max(1e-12) * (1.0 - v * (share + 2.0 * chi * rest));
    let by_mass = by_v * rest * state.dissolved[1] / all;
    [p_ref * activity, p_ref * by_mass, dp_ref * activity]
}

/// Oil mass at which exchange has halved, kg: no law rules the last tenth of a gram.
const LAST: f64 = 1e-4;

/// What the oil takes up beside refrigerant of `p` Pa.
pub fn uptake(fluid: &Fluid, spec: &OilSpec, oil: f64, dissolved: f64, state: &OilState, p: f64) -> Uptake {
    let made = whole_uptake(fluid, spec, oil, dissolved, state, p);
    let share = oil.max(0.0) / (oil.max(0.0) + LAST);
    Uptake { rate: made.rate * share, slope: made.slope.map(|slope| slope * share) }
}

fn whole_uptake(fluid: &Fluid, spec: &OilSpec, oil: f64, dissolved: f64, state: &OilState, p: f64) -> Uptake {
    let (oil, dissolved) = (oil.max(0.0), dissolved.max(0.0));
    match spec.law {
        OilLaw::Film => Uptake::default(),
        OilLaw::Flory { molar_mass, interaction, rate } => {
            let [p_eq, by_mass, by_t] = flory(fluid, spec, (oil, dissolved), state, molar_mass, interaction);
            Uptake { rate: rate * (p - p_eq), slope: [rate, -rate * by_mass, -rate * by_t] }
        }
        OilLaw::Linear { solubility, time_constant } => {
            let (p_ref, dp_ref) = reference(fluid, spec, state);
            let phi = p / p_ref;
            let full = oil * solubility;
            let free = if phi < 1.0 { full / p_ref } else { 0.0 };
            let slope = [free / time_constant, -1.0 / time_constant, -free * phi * dp_ref / time_constant];
            Uptake { rate: (full * phi.min(1.0) - dissolved) / time_constant, slope }
        }
        OilLaw::Raoult { molar_mass, time_constant } => {
            let (p_ref, dp_ref) = reference(fluid, spec, state);
            let phi = (p / p_ref).clamp(0.0, HIGHEST);
            let full = oil * fluid.molar_mass() / molar_mass;
            let steep = full / ((1.0 - phi) * (1.0 - phi)) / time_constant;
            let free = if p / p_ref < HIGHEST { steep / p_ref } else { 0.0 };
            Uptake {
                rate: (full * phi / (1.0 - phi) - dissolved) / time_constant,
                slope: [free, -1.0 / time_constant, -free * phi * dp_ref],
            }
        }
    }
}

/// Refrigerant that `spec`'s oil holds in equilibrium at `p` Pa (below saturation) and `t` K, kg.
pub fn holds(fluid: &Fluid, spec: &OilSpec, p: f64, t: f64) -> f64 {
    if spec.law == OilLaw::Film { 0.0 } else { equilibrium(fluid, spec, spec.mass, p, t) }
}

/// Refrigerant in equilibrium with `oil` kg of it at `p` Pa and `t` K, kg; at most [`MOST_DISSOLVED`] per oil.
pub fn equilibrium(fluid: &Fluid, spec: &OilSpec, oil: f64, p: f64, t: f64) -> f64 {
    let (mut low, mut high) = (0.0, MOST_DISSOLVED * oil);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        let energy = OilState::energy(fluid, spec, oil, middle, t);
        let state = OilState::evaluate(fluid, spec, oil, middle, energy, t);
        if uptake(fluid, spec, oil, middle, &state, p).rate > 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}
