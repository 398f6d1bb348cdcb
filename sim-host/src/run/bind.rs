//! Joins the parts by name: scenario and network file to plant, plant signals to truth, controller outputs to elements.
//!
//! Names are looked up as they stand here; `crate::station` has seen to it that a file has them, and docs/station-file.md lists them:
//! - the volumes of [`FIELDS`], [`VEHICLE`] and [`STATION`]; any further closed volume counts as the station;
//! - an element for each actuator that is fitted, by its tag (see [`Wiring`]);
//! - `C-1`, `C-1/second` and so on: IT-1 carries the current of all stages, TT-2 sits behind the last;
//! - `condenser`, which stands on the vessel's platform and is weighed with it, where there is one;
//! - `H-1+H-2`, whose skin TT-3 touches, where there is a heater.

use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::job::Sides;
use valvewright_core::order::Procedure;

use crate::instrument::{GasTruth, Truth};
use crate::plant::spec::{ElementSpec, PlaceKind};
use crate::plant::{ElementId, NetworkSpec, Plant, Signal, Step};
use crate::scenario::Scenario;
use crate::scenario::model::GasMix;
use crate::station::stages;

use super::RunError;
use crate::fault::Holds;

/// Molar masses of air and of the two refrigerants differ little enough that 29 / 114 serves both, g/mol.
const MOLAR: (f64, f64) = (28.965, 114.0);

/// Volumes that count as the vehicle.
pub const VEHICLE: [&str; 3] = ["vehicle_high", "vehicle_low", "accumulator"];

/// Volumes that count as the station; the hoses stand open to the vehicle and hold its gas before anything is recovered.
pub const STATION: [&str; 4] = ["vessel", "discharge", "separator", "manifold"];

/// Volumes that count neither as the station nor as the vehicle. Any other that is closed is the station's.
const BETWEEN: [&str; 4] = ["hose_low", "hose_high", "pump_inlet", "nitrogen_bottle"];

/// Density of compressor oil, kg/m3 (PAG and POE stand near 980: from memory), and in kg/L.
pub const OIL_DENSITY: f64 = 980.0;
const OIL: f64 = OIL_DENSITY / 1e3;

/// Signals that the instruments read each tick, in the order of [`FIELDS`].
const FIELD_COUNT: usize = 18;
const FIELDS: [&str; FIELD_COUNT] = [
    "vessel.p",
    "hose_low.p",
    "hose_high.p",
    "manifold.p",
    "separator.p",
    "discharge.p",
    "pump_inlet.p",
    "vessel.t_wall",
    LAST_OUT,
    "discharge.t_wall",
    HEATER,
    FIRST_CURRENT,
    "vessel.weight",
    "used_oil.m_oil",
    "new_oil.m_oil",
    "separator.m_liq",
    "separator.m_oil",
    "cabinet.lfl",
];

/// Behind the last stage of C-1.
const LAST_OUT: &str = "C-1 last.t_out";
/// Motor current of the first stage of C-1.
const FIRST_CURRENT: &str = "C-1 first.current";
/// The heater's skin; without one, a place that is as warm.
const HEATER: &str = "H-1+H-2.t_out";

/// Signals that the instruments and the ledger need.
#[derive(Debug, Clone)]
pub struct Signals {
    fields: [Signal; FIELD_COUNT],
    step: Step,
    start: [f64; FIELD_COUNT],
    slope: [f64; FIELD_COUNT],
    /// Motor currents of the further stages of C-1.
    stages: Vec<Signal>,
    /// A condenser that stands on the vessel's platform.
    condenser: Option<Signal>,
    /// Volumes of separator and used-oil bottle, L.
    litres: (f64, f64),
    /// Of the side that the sample is drawn from.
    air: Signal,
    gas: Signal,
    second: Option<Signal>,
    /// It is drawn from the high side, because the vehicle has no other coupler.
    high: bool,
    mix: GasMix,
    refrigerant: Refrigerant,
    used_oil: Signal,
    level: Signal,
    vessel: (Signal, Option<Signal>),
    vehicle: Vec<Signal>,
    station: Vec<Signal>,
}

fn need(plant: &Plant, name: &str) -> Result<Signal, RunError> {
    plant.signal(name).ok_or_else(|| RunError::MissingSignal(name.to_owned()))
}

impl Signals {
    /// Finds them all.
    pub fn find(plant: &Plant, spec: &NetworkSpec, scenario: &Scenario) -> Result<Self, RunError> {
        let one = |name: &str| need(plant, name);
        let stages = stages(spec);
        let of = |stage: Option<&&ElementSpec>, what: &str| {
            stage.map_or_else(|| format!("C-1.{what}"), |stage| format!("{}.{what}", stage.name))
        };
        let litres = |name: &str| spec.volumes.iter().find(|v| v.name == name).map_or(1.0, |v| v.volume * 1e3);
        let contents = |volumes: &[&str]| {
            let mut found = Vec::new();
            for volume in volumes {
                found.push(one(&format!("{volume}.m"))?);
                found.extend(
                    ["m_dissolved", "m_second"].iter().filter_map(|part| plant.signal(&format!("{volume}.{part}"))),
                );
            }
            Ok::<_, RunError>(found)
        };
        let others = spec.volumes.iter().filter(|v| v.kind == PlaceKind::Closed).map(|v| v.name.as_str());
        let others = others.filter(|name| ![&STATION[..], &VEHICLE, &BETWEEN].concat().contains(name));
        let others: Vec<&str> = others.collect();
        let (vehicle, station) = (contents(&VEHICLE)?, contents(&[&STATION, others.as_slice()].concat())?);
        let mut fields = [one(FIELDS[0])?; FIELD_COUNT];
        for (field, name) in fields.iter_mut().zip(FIELDS) {
            *field = match name {
                LAST_OUT => one(&of(stages.last(), "t_out"))?,
                FIRST_CURRENT => one(&of(stages.first(), "current"))?,
                HEATER => plant.signal(HEATER).map_or_else(|| one("vessel.t_wall"), Ok)?,
                other => one(other)?,
            };
        }
        let high = scenario.order.sides == Sides::High;
        // AT-1 draws at the station's end of the hose: from the vehicle behind it, but where the hose is shut off from what is on it.
        let shut_off = scenario.order.upkeep.is_some_and(|(of, _)| of == Procedure::Decontaminate);
        let sampled = match (shut_off, high) {
            (true, _) => "hose_low",
            (false, true) => "vehicle_high",
            (false, false) => "vehicle_low",
        };
        let further = stages.iter().skip(1).map(|stage| one(&format!("{}.current", stage.name)));
        Ok(Self {
            fields,
            step: Step::default(),
            start: [0.0; FIELD_COUNT],
            slope: [0.0; FIELD_COUNT],
            condenser: plant.signal("condenser.weight"),
            stages: further.collect::<Result<_, _>>()?,
            litres: (litres("separator"), litres("used_oil")),
            air: one(&format!("{sampled}.m_air"))?,
            gas: one(&format!("{sampled}.m"))?,
            second: plant.signal(&format!("{sampled}.m_second")),
            high,
            mix: scenario.vehicle.gas,
            refrigerant: scenario.station.refrigerant,
            used_oil: one("used_oil.m_oil")?,
            level: one("vessel.level")?,
            vessel: (one("vessel.m")?, plant.signal("vessel.m_second")),
            vehicle,
            station,
        })
    }

    /// Refrigerant in the station, kg; what escapes through a leak is in neither.
    pub fn station_mass(&self, plant: &Plant) -> f64 {
        self.station.iter().map(|s| plant.read(*s)).sum()
    }

    /// Refrigerant in the vehicle's volumes and in its oil, kg.
    pub fn vehicle_mass(&self, plant: &Plant) -> f64 {
        self.vehicle.iter().map(|s| plant.read(*s)).sum()
    }

    /// Refrigerant of both kinds in the whole network, kg.
    pub fn all_mass(&self, plant: &Plant) -> f64 {
        let balance = plant.balance();
        balance.inventory_kg + balance.second_kg
    }

    /// Refrigerant of both kinds that went into the air, kg.
    pub fn escaped(&self, plant: &Plant) -> f64 {
        let balance = plant.balance();
        balance.out_kg + balance.second_out_kg
    }

    /// Oil in the used-oil bottle, kg.
    pub fn used_oil(&self, plant: &Plant) -> f64 {
        plant.read(self.used_oil)
    }

    /// Share of the vessel that is full of liquid, its pressure, Pa, and the refrigerant of both kinds in it, kg.
    pub fn vessel(&self, plant: &Plant) -> (f64, f64, f64) {
        let mass = plant.read(self.vessel.0) + self.vessel.1.map_or(0.0, |second| plant.read(second));
        (plant.read(self.level), plant.read(self.fields[0]), mass)
    }

    /// What the instruments touch now. Returns whether the plant has another step in hand than before.
    pub fn fill(&mut self, plant: &Plant, on: Actuators, truth: &mut Truth) -> bool {
        let new = self.step.is_new(plant);
        if new {
            for ((field, start), slope) in self.fields.iter().zip(&mut self.start).zip(&mut self.slope) {
                (*start, *slope) = self.step.line(plant.ends(*field));
            }
        }
        let t = self.step.since(plant);
        let now: [f64; FIELD_COUNT] = std::array::from_fn(|k| self.start[k] + self.slope[k] * t);
        let [
            p_vessel,
            p_low,
            p_high,
            p_manifold,
            p_separator,
            p_discharge,
            p_pump_inlet,
            wall,
            gas_out,
            pipe,
            heater,
            current,
            rest @ ..,
        ] = now;
        let [vessel, used_oil, new_oil, liquid, oil, lfl] = rest;
        truth.p_vessel = p_vessel;
        truth.p_low = p_low;
        truth.p_high = p_high;
        truth.p_vacuum = p_manifold;
        truth.p_charge_line = p_manifold;
        truth.p_separator = p_separator;
        truth.p_discharge = p_discharge;
        truth.p_pump_inlet = p_pump_inlet;
        truth.t_vessel_wall = wall;
        // At rest the pocket takes the temperature of its pipe.
        truth.t_discharge = if on.has(Actuator::C1) { gas_out } else { pipe };
        truth.t_heater = heater;
        truth.c1_current_a = self.stages.iter().fold(current, |sum, stage| sum + plant.read(*stage));
        truth.m_vessel_kg = self.condenser.map_or(vessel, |condenser| vessel + plant.read(condenser));
        truth.m_used_oil_kg = used_oil;
        truth.m_new_oil_kg = new_oil;
        // Oil and liquid refrigerant are both near 1 kg/L.
        truth.separator_level = (liquid + oil) / self.litres.0;
        truth.used_oil_level = used_oil / (OIL * self.litres.1);
        truth.lfl_share = lfl;
        truth.motors_running = on.has(Actuator::C1) || on.has(Actuator::P1);
        truth.fan_on = on.has(Actuator::K1);
        truth.gas.pressure_pa = if self.high { p_high } else { p_low };
        new
    }

    /// What the identifier would draw: air by volume, and how the refrigerants share the rest; slow to change, so not read each tick.
    pub fn sample(&self, plant: &Plant, gas: &mut GasTruth) {
        let main = plant.read(self.gas);
        let second = self.second.map_or(0.0, |signal| plant.read(signal));
        let (air, refrigerant) = (plant.read(self.air) / MOLAR.0, (main + second) / MOLAR.1);
        gas.air = if air + refrigerant > 0.0 { air / (air + refrigerant) } else { 1.0 };
        if self.second.is_some() && main + second > 0.0 {
            let mix = self.mix;
            let both = mix.r1234yf + mix.r134a;
            let (main, second) = (both * main / (main + second), both * second / (main + second));
            (gas.r1234yf, gas.r134a) = match self.refrigerant {
                Refrigerant::R1234yf => (main, second),
                Refrigerant::R134a => (second, main),
            };
        }
    }
}

/// Truth at the start, with what does not come from the plant.
pub fn first_truth(scenario: &Scenario) -> Truth {
    let mix = scenario.vehicle.gas;
    Truth {
        t_ambient: scenario.site.ambient,
        barometer: scenario.site.barometer,
        flush_port: scenario.vehicle.flush_port,
        gas: GasTruth {
            r134a: mix.r134a,
            r1234yf: mix.r1234yf,
            other: mix.other,
            hydrocarbon: mix.hydrocarbon,
            air: 0.0,
            oil_film: false,
            pressure_pa: 0.0,
        },
        ..Truth::default()
    }
}

/// Elements that follow the actuators. `XV-1` follows XV-1, and so does `XV-1/liquid`, a second way through the same valve;
/// `XV-5+XV-10` is a way through two valves in series, open only while both are.
#[derive(Debug, Clone)]
pub struct Wiring {
    elements: Vec<(Actuators, ElementId)>,
}

impl Wiring {
    /// Finds them; an actuator that is fitted and has no element is an error, except the fan: a cabinet may be aired by none.
    pub fn find(plant: &Plant, names: &[&str], fitted: Actuators) -> Result<Self, RunError> {
        let mut elements = Vec::new();
        let mut found = Actuators::NONE;
        for name in names {
            let tags = name.split('/').next().unwrap_or(name);
            let parts = tags.split('+').map(|tag| Actuator::ALL.into_iter().find(|a| a.tag() == tag));
            let Some(parts) = parts.collect::<Option<Vec<_>>>() else { continue };
            let series = Actuators::of(&parts);
            if let Some(element) = plant.element(name) {
                elements.push((series, element));
                found = found.or(series);
            }
        }
        match Actuator::ALL.into_iter().find(|a| fitted.has(*a) && !found.has(*a) && *a != Actuator::K1) {
            Some(missing) => Err(RunError::MissingElement(missing.tag().to_owned())),
            None => Ok(Self { elements }),
        }
    }

    /// Passes on what changed from one to the other: what the controller has on, and what is held whatever it says.
    pub fn apply(&self, plant: &mut Plant, before: (Actuators, &Holds), now: (Actuators, &Holds)) {
        for (series, element) in &self.elements {
            let open = |(told, holds): (Actuators, &Holds)| holds.opening(*series, told);
            let (was, is) = (open(before), open(now));
            if was != is {
                plant.set(*element, is);
            }
        }
    }
}
