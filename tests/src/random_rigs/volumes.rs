//! Volumes of a drawn network: what is in them always fits, everything else is anyone's guess.

use std::fmt::Write as _;

use valvewright_sim::fluid::{Fluid, FluidKind, water};
use valvewright_sim::scenario::quantity::short;

use super::dice::{Dice, with_unit};

/// A drawn volume, as far as the elements and the schedule need it.
pub(super) struct Volume {
    pub name: String,
    pub closed: bool,
    pub cabinet: bool,
    pub wall: bool,
    pub cold_wall: bool,
    pub oil: bool,
}

/// The refrigerants of a drawn network.
#[derive(Clone, Copy)]
pub(super) struct Fluids {
    pub main: FluidKind,
    pub second: Option<FluidKind>,
}

const BAR: f64 = 1e5;

/// Adds the cabinet or the bottle.
pub(super) fn open_place(dice: &mut Dice, text: &mut String, kind: &str) -> Volume {
    let _ = writeln!(text, "[volume.{kind}]\nkind = \"{kind}\"");
    let litres = if kind == "cabinet" { dice.log(20.0, 500.0) } else { dice.log(0.2, 2.0) };
    let _ = writeln!(text, "volume = {}", with_unit(litres, "L"));
    if kind == "bottle" {
        let _ = writeln!(text, "[volume.bottle.oil]\nmass = {}", with_unit(dice.log(1.0, 300.0), "g"));
    }
    Volume {
        name: kind.to_owned(),
        closed: false,
        cabinet: kind == "cabinet",
        wall: false,
        cold_wall: false,
        oil: kind == "bottle",
    }
}

/// Adds a closed volume.
pub(super) fn closed(dice: &mut Dice, text: &mut String, index: usize, fluids: Fluids, around: f64) -> Volume {
    let name = format!("v{index}");
    let volume = dice.size([5e-5, 2e-2], [1e-6, 2e-2]);
    let celsius = match dice.below(10) {
        0 => dice.even(-40.0, 80.0),
        1..4 => dice.even((around - 25.0).max(-40.0), (around + 25.0).min(80.0)),
        _ => around,
    };
    let isothermal = dice.often(10);
    let soft = dice.often(25);
    let oil = Oil::draw(dice, volume, Fluid::get(fluids.main), celsius + 273.15);
    let _ = writeln!(text, "[volume.{name}]\nvolume = {}", with_unit(volume * 1e3, "L"));
    let _ = writeln!(text, "temperature = {}", with_unit(celsius, "degC"));
    let room = volume - oil.as_ref().map_or(0.0, |oil| oil.takes);
    content(dice, text, fluids, room, celsius + 273.15);
    if isothermal {
        text.push_str("isothermal = true\n");
    }
    if soft {
        let _ = writeln!(text, "compliance = {}", with_unit(dice.size([1e-9, 1e-7], [1e-12, 1e-5]), "1/Pa"));
    }
    if dice.often(30) {
        let _ = writeln!(text, "outlet_margin = {}", with_unit(dice.size([0.5, 50.0], [0.01, 1e4]), "g"));
    }
    let wall = !isothermal && dice.often(65);
    let cold_wall = !isothermal && dice.often(15);
    if wall {
        self::wall(dice, text, &format!("{name}.wall"), around);
    }
    if cold_wall {
        self::wall(dice, text, &format!("{name}.cold_wall"), around - colder(around));
    }
    if dice.often(15) {
        pool(dice, text, &name);
    }
    if let Some(oil) = &oil {
        oil.write(dice, text, &name);
    }
    if dice.often(10) {
        let _ = writeln!(text, "[volume.{name}.air_uptake]");
        if dice.often(50) {
            let _ = writeln!(text, "henry = {}", with_unit(dice.size([5.0, 100.0], [0.1, 1e4]), "MPa"));
            let _ = writeln!(text, "time_constant = {}", with_unit(dice.size([10.0, 3e3], [0.1, 1e7]), "s"));
        }
    }
    Volume { name, closed: true, cabinet: false, wall, cold_wall, oil: oil.is_some() }
}

/// How much colder a cold wall's surroundings are: down to the coldest air a file takes.
fn colder(around: f64) -> f64 {
    (around + 40.0).clamp(0.0, 30.0)
}

/// Refrigerants, air and moisture that fit into `room` (m3) at `t` (K).
fn content(dice: &mut Dice, text: &mut String, fluids: Fluids, room: f64, t: f64) {
    let sat = Fluid::get(fluids.main).sat(t);
    let mut filled = 0.0;
    match dice.weighted(&[(20, 0), (35, 1), (38, 2), (7, 3)]) {
        0 => {}
        1 => {
            let p = sat.p * dice.log(1e-4, 0.98);
            let _ = writeln!(text, "refrigerant_pressure = {}", with_unit(p, "Pa"));
        }
        much => {
            filled = if much == 2 { dice.even(0.005, 0.85) } else { dice.even(0.9, 1.0) };
            let mass = room * (filled * sat.rho_l + (1.0 - filled) * sat.rho_v);
            let _ = writeln!(text, "refrigerant = {}", with_unit(mass * 1e3, "g"));
        }
    }
    if let Some(second) = fluids.second.filter(|_| dice.often(60)) {
        let sat = Fluid::get(second).sat(t);
        let liquid = (0.9 - filled).max(0.0) * dice.log(1e-3, 0.8);
        let wet = dice.often(60);
        let mass = if wet { room * liquid * sat.rho_l } else { room * sat.rho_v * dice.log(1e-4, 0.9) };
        let _ = writeln!(text, "second_refrigerant = {}", with_unit(mass * 1e3, "g"));
        filled += if wet { liquid } else { 0.0 };
    }
    if dice.often(55) {
        air(dice, text, room * (1.0 - filled).max(0.05), t);
    }
}

/// Air in `space` (m3) of gas.
fn air(dice: &mut Dice, text: &mut String, space: f64, t: f64) {
    let p = dice.size([100.0, 1.5 * BAR], [1.0, 20.0 * BAR]);
    let steam = water::p_liquid(t);
    if dice.often(50) {
        let _ = writeln!(text, "air = {}", with_unit(p * space / (287.0 * t) * 1e3, "g"));
    } else {
        let _ = writeln!(text, "air_pressure = {}", with_unit(p, "Pa"));
    }
    if dice.often(50) {
        let most = (0.9 * p / steam).min(1.0);
        let _ = writeln!(text, "air_humidity = {}", with_unit(100.0 * most * dice.even(0.0, 1.0), "%"));
    }
}

fn wall(dice: &mut Dice, text: &mut String, path: &str, around: f64) {
    let _ = writeln!(text, "[volume.{path}]");
    let _ = writeln!(text, "heat_capacity = {}", with_unit(dice.size([20.0, 1e4], [1e-3, 1e7]), "J/K"));
    let wet = dice.size([1.0, 100.0], [1e-3, 1e5]);
    let _ = writeln!(text, "wet = {}", with_unit(wet, "W/K"));
    if dice.often(70) {
        let _ = writeln!(text, "dry = {}", with_unit(wet * dice.log(0.05, 1.0), "W/K"));
    }
    if dice.often(70) {
        let _ = writeln!(text, "to_surroundings = {}", with_unit(dice.size([0.1, 20.0], [1e-4, 1e5]), "W/K"));
    }
    if dice.often(60) {
        let _ = writeln!(text, "half_liquid = {}", with_unit(dice.size([1.0, 300.0], [1e-3, 1e4]), "g"));
    }
    let other = (around + dice.even(-30.0, 30.0)).clamp(-60.0, 85.0);
    if dice.often(30) {
        let _ = writeln!(text, "surroundings = {}", with_unit(other, "degC"));
    }
    if dice.often(20) {
        let _ = writeln!(text, "temperature = {}", with_unit((other + 10.0).clamp(-60.0, 85.0), "degC"));
    }
    if dice.often(20) {
        let _ = writeln!(text, "water = {}", with_unit(dice.size([1e-3, 3.0], [1e-6, 1e3]), "g"));
    }
    if dice.often(15) {
        let _ = writeln!(text, "condensation = {}", with_unit(dice.size([2e-9, 2e-7], [1e-12, 1e-3]), "kg/s/Pa"));
        let _ = writeln!(text, "half_water = {}", with_unit(dice.size([1.0, 50.0], [1e-3, 1e6]), "mg"));
    }
}

fn pool(dice: &mut Dice, text: &mut String, name: &str) {
    let _ = writeln!(text, "[volume.{name}.water]");
    let mass = if dice.often(10) { 0.0 } else { dice.size([1e-2, 5.0], [1e-6, 1e3]) };
    let _ = writeln!(text, "mass = {}", with_unit(mass, "g"));
    if dice.often(40) {
        let _ = writeln!(text, "to_wall = {}", with_unit(dice.size([0.05, 5.0], [1e-3, 1e5]), "W/K"));
        let _ = writeln!(text, "evaporation = {}", with_unit(dice.size([2e-9, 2e-7], [1e-12, 1e-3]), "kg/s/Pa"));
        let _ = writeln!(text, "half_mass = {}", with_unit(dice.size([10.0, 200.0], [1e-3, 1e6]), "mg"));
    }
}

/// Oil in a closed volume.
struct Oil {
    law: &'static str,
    mass: f64,
    weightless: bool,
    /// Refrigerant per oil; none: in equilibrium.
    dissolved: Option<f64>,
    /// Volume it takes with what is in it, at most, m3.
    takes: f64,
}

/// Oil's density where none is given, kg/m3.
const OIL: f64 = 980.0;
/// Smallest molar mass of oil that is drawn, kg/mol.
const LIGHTEST: f64 = 0.3;
/// Most of a volume that oil with refrigerant in it may take, 1: the rest is for what the volume is filled with.
const OILY: f64 = 0.6;

impl Oil {
    fn draw(dice: &mut Dice, volume: f64, fluid: &Fluid, t: f64) -> Option<Self> {
        if !dice.often(30) {
            return None;
        }
        let law = dice.pick(&["flory", "raoult", "linear"]);
        let weightless = law == "linear" && dice.often(50);
        let most = 0.3 * volume * OIL;
        let mut mass = if dice.often(5) { 0.0 } else { most * dice.log(1e-3, 1.0) };
        let dissolved = match dice.below(4) {
            0 => Some(0.0),
            1 => Some(dice.log(0.01, 0.6)),
            _ => None,
        };
        let rho_l = fluid.sat(t).rho_l;
        // At rest a run starts in equilibrium at no more than 0.9 of saturation, which the heat of mixing drawn raises to 0.95 at most: 19
        // moles per mole of oil by Raoult's law; 0.75 of the volume by that of Flory and Huggins with an interaction of -0.2, the least
        // that is drawn; the oil's own mass by the linear one.
        let most = dissolved.unwrap_or(match law {
            "raoult" => 19.0 * fluid.molar_mass() / LIGHTEST,
            "flory" => 0.75 / 0.25 * rho_l / OIL,
            _ => 1.0,
        });
        let each = 1.0 / OIL + most / rho_l;
        if !weightless {
            mass = mass.min(OILY * volume / each);
        }
        let takes = if weightless { 0.0 } else { mass * each };
        Some(Self { law, mass, weightless, dissolved, takes })
    }

    fn write(&self, dice: &mut Dice, text: &mut String, name: &str) {
        let _ = writeln!(text, "[volume.{name}.oil]\nlaw = \"{}\"", self.law);
        let _ = writeln!(text, "mass = {}", with_unit(self.mass * 1e3, "g"));
        if let Some(share) = self.dissolved {
            let _ = writeln!(text, "dissolved = {}", with_unit(self.mass * share * 1e3, "g"));
        }
        if dice.often(30) {
            let _ = writeln!(text, "mist = {}", with_unit(dice.even(0.0, 30.0), "%"));
        }
        match self.law {
            "linear" => {
                let _ = writeln!(text, "weightless = {}", self.weightless);
                let _ = writeln!(text, "solubility = {}", with_unit(dice.even(0.0, 100.0), "%"));
            }
            "raoult" if dice.often(40) => {
                let _ = writeln!(
                    text,
                    "molar_mass = {}",
                    with_unit(dice.size([300.0, 900.0], [LIGHTEST * 1e3, 2e4]), "g/mol")
                );
            }
            "flory" if dice.often(40) => {
                let _ = writeln!(text, "interaction = {}", short(dice.even(-0.2, 1.2)));
                let _ = writeln!(text, "rate = {}", with_unit(dice.size([1e-10, 1e-7], [1e-14, 1e-5]), "kg/s/Pa"));
            }
            _ => {}
        }
        if self.law != "flory" && dice.often(60) {
            let _ = writeln!(text, "time_constant = {}", with_unit(dice.size([5.0, 600.0], [0.1, 1e6]), "s"));
        }
        if !self.weightless && dice.often(40) {
            let _ = writeln!(text, "heat_capacity = {}", with_unit(dice.even(1500.0, 2500.0), "J/kg/K"));
            let _ = writeln!(text, "to_content = {}", with_unit(dice.size([0.5, 50.0], [1e-3, 1e5]), "W/K"));
            // Much heat shifts the equilibrium: oil that starts in it far from 25 degC would take up without end.
            let share = if self.dissolved.is_none() { 0.2 } else { 1.0 };
            let heat = share * dice.even(-20.0, 10.0);
            let _ = writeln!(text, "heat_of_mixing = {}", with_unit(heat, "kJ/kg"));
        }
    }
}
