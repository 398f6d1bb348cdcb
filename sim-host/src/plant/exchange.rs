//! What a place exchanges within itself: heat and water with its walls and its puddle, refrigerant with its oil, air with its liquid.

use super::gas;
use super::layout::{DISSOLVED_AIR, ENERGY_IN, OIL, POOL, Seat, WALL};
use super::node::{AIR, CONTENT, ENERGY, Fluids, NodeState, REFRIGERANT, SECOND, STEAM};
use super::oil::{self, OilState};
use super::spec::{AirUptakeSpec, OilLaw, OilSpec, PoolSpec, WallSpec};
use super::wall::{self, Metal};

/// Oil mass at which its heat exchange has halved, kg: the last film hangs in the gas.
const FILM: f64 = 1e-3;
/// Rate at which an open bottle's dissolved refrigerant bubbles off, 1/s (own choice).
const BUBBLES: f64 = 1.0;

/// One place at one evaluation.
pub struct Here<'a> {
    /// Its unknowns.
    pub seat: &'a Seat,
    /// Its state.
    pub node: &'a NodeState,
    /// All unknowns.
    pub y: &'a [f64],
    /// All rates.
    pub f: &'a mut [f64],
    /// The Jacobian.
    pub jacobian: &'a mut [f64],
    /// It is wanted.
    pub slopes: bool,
    /// Where the ledger begins.
    pub ledger: usize,
}

impl Here<'_> {
    #[inline(always)]
    fn slope(&mut self, row: usize, column: usize, value: f64) {
        self.jacobian[self.seat.own[row][column] as usize] += value;
    }

    /// Heat of wall `which`, and the water that settles on it, with the softness of its corner as in [`wall::settle`] (none: a dry network).
    /// `outside` K stands around it.
    pub fn wall(&mut self, which: usize, spec: &WallSpec, metal: &Metal, water: Option<(f64, f64)>, outside: f64) {
        let node = self.node;
        let (base, first) = (self.seat.base, WALL[which]);
        let at = self.seat.at[first] as usize;
        let ua = spec.dry + (spec.wet - spec.dry) * node.m_liq / (node.m_liq + spec.half_mass);
        let q = ua * (metal.t - node.t);
        let outer = spec.to_ambient * (outside - metal.t);
        self.f[base + ENERGY] += q;
        self.f[at] += outer - q;
        self.f[self.ledger + ENERGY_IN] += outer;
        if self.slopes {
            for k in 0..CONTENT {
                let heat = ua * node.dt[k];
                self.slope(ENERGY, k, -heat);
                self.slope(first, k, heat);
            }
            self.slope(ENERGY, first, ua * metal.by_enthalpy);
            self.slope(first, first, -(ua + spec.to_ambient) * metal.by_enthalpy);
        }
        if let Some((water, soft)) = water {
            if self.slopes {
                self.slope(ENERGY, first + 1, ua * metal.by_water);
                self.slope(first, first + 1, -(ua + spec.to_ambient) * metal.by_water);
            }
            self.settle(first, spec, metal, (water, soft));
        }
    }

    fn settle(&mut self, first: usize, spec: &WallSpec, metal: &Metal, water: (f64, f64)) {
        let node = self.node;
        let per_mass = gas::R_WATER * node.t / node.gas_volume;
        let now = wall::settle(spec, metal, water, node.mass[2] * per_mass, node.t);
        if now.rate == 0.0 && now.by_pressure == 0.0 && now.by_water == 0.0 {
            return;
        }
        let (base, at) = (self.seat.base, self.seat.at[first] as usize);
        self.f[base + STEAM] -= now.rate;
        self.f[base + ENERGY] -= now.rate * now.h;
        self.f[at] += now.rate * now.h;
        self.f[at + 1] += now.rate;
        if self.slopes {
            let by_wall = now.by_temperature * metal.by_enthalpy;
            let by_water = now.by_water + now.by_temperature * metal.by_water;
            // The vapour's pressure follows the gas temperature, too.
            let by_gas = now.by_pressure * node.mass[2] * per_mass / node.t;
            let columns = [
                (ENERGY, by_gas * node.dt[ENERGY]),
                (REFRIGERANT, by_gas * node.dt[REFRIGERANT]),
                (AIR, by_gas * node.dt[AIR]),
                (STEAM, now.by_pressure * per_mass + by_gas * node.dt[STEAM]),
                (first, by_wall),
                (first + 1, by_water),
            ];
            for (column, slope) in columns {
                self.slope(STEAM, column, -slope);
                self.slope(ENERGY, column, -slope * now.h);
                self.slope(first, column, slope * now.h);
                self.slope(first + 1, column, slope);
            }
        }
    }

    /// An open bottle: what was dissolved bubbles off.
    pub fn bottle(&mut self) {
        let at = self.seat.at[OIL] as usize + 1;
        let rate = BUBBLES * self.y[at];
        self.f[at] -= rate;
        self.f[self.ledger] += rate;
        if self.slopes {
            self.slope(OIL + 1, OIL + 1, -BUBBLES);
        }
    }

    /// Oil without volume and heat, as the reference model (b) has it.
    pub fn weightless_oil(&mut self, fluids: &Fluids, spec: &OilSpec) {
        let OilLaw::Linear { solubility, time_constant } = spec.law else { return };
        let (node, base, at) = (self.node, self.seat.base, self.seat.at[OIL] as usize);
        let fluid = fluids.main;
        let held = if node.quality < 1.0 {
            1.0
        } else {
            (node.p_main / fluid.p_sat(node.t.min(fluid.t_crit() - 0.5))).min(1.0)
        };
        let release = (self.y[at + 1] - self.y[at].max(0.0) * solubility * held) / time_constant;
        let heat = release * node.h_l;
        self.f[base + REFRIGERANT] += release;
        self.f[at + 1] -= release;
        self.f[base + ENERGY] += heat;
        self.f[self.ledger + ENERGY_IN] += heat;
        if self.slopes {
            let rate = 1.0 / time_constant;
            self.slope(OIL + 1, OIL + 1, -rate);
            self.slope(REFRIGERANT, OIL + 1, rate);
            self.slope(ENERGY, OIL + 1, rate * node.h_l);
        }
    }

    /// Oil as a phase: refrigerant, heat, and the work of its swelling.
    pub fn oil(&mut self, fluids: &Fluids, spec: &OilSpec, state: &OilState) {
        let (node, base, at) = (self.node, self.seat.base, self.seat.at[OIL] as usize);
        let (mass, dissolved) = (self.y[at], self.y[at + 1]);
        let now = oil::uptake(fluids.main, spec, mass, dissolved, state, node.p_main);
        // What enters has the gas's enthalpy, what leaves that of vapour at the oil's temperature.
        let gas = node.gas.parts[0];
        let h = if now.rate > 0.0 { gas } else { gas + node.vapour_cp * (state.t - node.t) };
        let h = h - node.p * state.dissolved[1];
        let ua = spec.to_content * mass.max(0.0) / (mass.max(0.0) + FILM);
        let q = ua * (node.t - state.t);
        self.f[base + REFRIGERANT] -= now.rate;
        self.f[base + ENERGY] -= now.rate * h + q;
        self.f[at + 1] += now.rate;
        self.f[at + 2] += now.rate * h + q;
        if !self.slopes {
            return;
        }
        let [by_p, by_mass, by_t] = now.slope;
        // Oil that grows presses on the gas.
        let closer = by_p * node.squeezed[1];
        let columns = [
            (ENERGY, by_p * node.dp[ENERGY], ua * node.dt[ENERGY]),
            (REFRIGERANT, by_p * node.dp[REFRIGERANT], ua * node.dt[REFRIGERANT]),
            (AIR, 0.0, ua * node.dt[AIR]),
            (STEAM, 0.0, ua * node.dt[STEAM]),
            (SECOND, 0.0, ua * node.dt[SECOND]),
            (OIL, by_t * state.dt[0] + closer * state.dv[0], -ua * state.dt[0]),
            (OIL + 1, by_mass + by_t * state.dt[1] + closer * state.dv[1], -ua * state.dt[1]),
            (OIL + 2, by_t * state.dt[2] + closer * state.dv[2], -ua * state.dt[2]),
        ];
        for (column, rate, heat) in columns {
            self.slope(REFRIGERANT, column, -rate);
            self.slope(OIL + 1, column, rate);
            self.slope(ENERGY, column, -(rate * h + heat));
            self.slope(OIL + 2, column, rate * h + heat);
        }
    }

    /// Heat from the wall to the oil that lies on it. It is slow and follows explicitly, but where steps are `long` its own slopes are in the
    /// Jacobian: those between oil and wall have no place there, and a method that takes any matrix does without.
    pub fn oil_on_wall(&mut self, spec: &OilSpec, state: &OilState, metal: Option<&Metal>, long: bool) {
        let (Some(metal), true) = (metal, spec.to_wall > 0.0) else { return };
        let at = self.seat.at[OIL] as usize;
        // At most what brings a thin film to the wall's temperature in some ten seconds.
        let ua = spec.to_wall.min(0.1 * state.capacity);
        let q = ua * (metal.t - state.t);
        self.f[at + 2] += q;
        self.f[self.seat.at[WALL[0]] as usize] -= q;
        if long && self.slopes {
            for (k, by_own) in state.dt.into_iter().enumerate() {
                self.slope(OIL + 2, OIL + k, -ua * by_own);
            }
            self.slope(WALL[0], WALL[0], -ua * metal.by_enthalpy);
        }
    }

    /// Evaporation from a puddle and heat to it from the wall, or from the content where there is none; `held`: the content's
    /// temperature is held from outside.
    pub fn pool(&mut self, spec: &PoolSpec, metal: Option<&Metal>, held: bool) {
        let (node, base, at) = (self.node, self.seat.base, self.seat.at[POOL] as usize);
        let (mass, energy) = (self.y[at], self.y[at + 1]);
        if mass <= 1e-12 {
            return;
        }
        let state = gas::pool_state(energy / mass);
        let kelvin = state.celsius.max(-60.0) + gas::ZERO_C;
        let saturation = gas::p_sat_water(kelvin, state.celsius < 0.0 || state.frozen >= 1.0);
        let steam = gas::R_WATER * node.t / node.gas_volume;
        let share = mass / (mass + spec.half_mass);
        let drive = saturation - node.mass[2] * steam;
        let evaporation = spec.evaporation * share * drive;
        let latent = gas::h_steam(if drive > 0.0 { state.celsius + gas::ZERO_C } else { node.t });
        let warm = metal.map_or(node.t, |metal| metal.t);
        let q = spec.to_wall * share * (warm - gas::ZERO_C - state.celsius);
        self.f[base + STEAM] += evaporation;
        self.f[base + ENERGY] += evaporation * latent;
        self.f[at] -= evaporation;
        self.f[at + 1] += q - evaporation * latent;
        match metal {
            Some(_) => self.f[self.seat.at[WALL[0]] as usize] -= q,
            None if held => self.f[self.ledger + ENERGY_IN] += q,
            None => self.f[base + ENERGY] -= q,
        }
        if !self.slopes {
            return;
        }
        let rise = saturation * gas::H_STEAM / (gas::R_WATER * kelvin * kelvin);
        let per_energy = state.slope / mass;
        let by_energy = spec.evaporation * share * rise * per_energy;
        let fade = spec.half_mass / ((mass + spec.half_mass) * (mass + spec.half_mass));
        let by_mass = spec.evaporation * drive * fade - by_energy * energy / mass;
        let by_steam = -spec.evaporation * share * steam;
        let by_heat = -spec.to_wall * share * per_energy;
        // The vapour's pressure follows the gas temperature, too.
        let by_gas = by_steam * node.mass[2] / node.t;
        let columns = [
            (ENERGY, by_gas * node.dt[ENERGY]),
            (REFRIGERANT, by_gas * node.dt[REFRIGERANT]),
            (AIR, by_gas * node.dt[AIR]),
            (STEAM, by_steam + by_gas * node.dt[STEAM]),
            (POOL, by_mass),
            (POOL + 1, by_energy),
        ];
        for (column, slope) in columns {
            self.slope(STEAM, column, slope);
            self.slope(ENERGY, column, slope * latent);
            self.slope(POOL, column, -slope);
            self.slope(POOL + 1, column, -slope * latent);
        }
        self.slope(POOL + 1, POOL + 1, by_heat);
        match metal {
            Some(metal) => {
                self.slope(WALL[0], POOL + 1, -by_heat);
                let by_wall = spec.to_wall * share * metal.by_enthalpy;
                self.slope(POOL + 1, WALL[0], by_wall);
                self.slope(WALL[0], WALL[0], -by_wall);
            }
            None if held => {}
            None => self.slope(ENERGY, POOL + 1, -by_heat),
        }
    }

    /// Air between the gas and the liquid.
    pub fn air_uptake(&mut self, spec: &AirUptakeSpec, fluids: &Fluids) {
        let (node, base, at) = (self.node, self.seat.base, self.seat.at[DISSOLVED_AIR] as usize);
        let per_mass = gas::R_AIR * node.t / node.gas_volume;
        let share = node.m_liq * gas::MOLAR_AIR / fluids.main.molar_mass() / spec.henry;
        let rate = (share * node.mass[1] * per_mass - self.y[at].max(0.0)) / spec.time_constant;
        self.f[base + AIR] -= rate;
        self.f[at] += rate;
        if self.slopes {
            let (by_air, by_held) = (share * per_mass / spec.time_constant, -1.0 / spec.time_constant);
            self.slope(AIR, AIR, -by_air);
            self.slope(DISSOLVED_AIR, AIR, by_air);
            self.slope(AIR, DISSOLVED_AIR, -by_held);
            self.slope(DISSOLVED_AIR, DISSOLVED_AIR, by_held);
        }
    }
}
