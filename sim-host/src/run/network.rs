//! The plant of a scenario: the station's network with the scenario's vehicle, contents and temperatures put in.

use std::sync::Arc;

use crate::fluid::{Fluid, FluidKind};
use crate::plant::spec::{AmbientSpec, Amount, LawSpec, OilSpec, PoolSpec};
use crate::plant::{self, NetworkSpec};
use crate::scenario::Scenario;
use crate::scenario::model::{Phase, Side, Sides, Vehicle};
use crate::station::{self, StationFile};

use super::bind::{OIL_DENSITY, VEHICLE};
use super::error::NetworkFault;

/// The station of a scenario: its network, what its controller must know of it, its name and title.
pub fn station_of(scenario: &Scenario) -> Result<Arc<StationFile>, NetworkFault> {
    station::load(scenario.station.network.as_deref()).map_err(|why| NetworkFault(why.to_string()))
}

/// The network of a scenario with the vehicle of its first job; [`super::network_for`] takes any of them.
pub fn network_of(scenario: &Scenario) -> Result<NetworkSpec, NetworkFault> {
    let kind = FluidKind::from(scenario.station.refrigerant);
    let fluid = Fluid::get(kind);
    let mut spec = station_of(scenario)?.network.clone();
    spec.fluid = kind;
    let site = &scenario.site;
    spec.ambient = AmbientSpec { temperature: site.ambient, pressure: site.barometer, humidity: site.humidity };
    for v in &mut spec.volumes {
        v.fill.temperature = site.ambient;
    }
    let station = &scenario.station;
    let vessel = spec.volume_mut("vessel").ok_or_else(|| NetworkFault("no volume `vessel`".into()))?;
    vessel.fill.temperature = station.temperature;
    vessel.fill.refrigerant = Amount::Mass(station.vessel_content);
    vessel.fill.air = Amount::Mass(station.vessel_air);
    let p_vessel = fluid.p_sat(station.temperature);
    for name in ["discharge", "condenser"] {
        if let Some(v) = spec.volume_mut(name) {
            v.fill.refrigerant = Amount::Pressure(p_vessel.min(fluid.p_sat(site.ambient)) * 0.98);
        }
    }
    if let Some(oil) = spec.volume_mut("new_oil").and_then(|v| v.oil.as_mut()) {
        oil.mass = station.new_oil_amount * OIL_DENSITY;
    }
    vehicle(scenario, fluid, &mut spec)?;
    couplers(scenario, &mut spec);
    nitrogen(scenario, &mut spec)?;
    foreign_in_hoses(station.foreign_in_hoses, &mut spec);
    Ok(spec)
}

/// What a refused vehicle left in the hoses, in place of what stands there otherwise.
fn foreign_in_hoses(mass: f64, spec: &mut NetworkSpec) {
    let volumes = HOSES.map(|name| spec.volume_mut(name).map_or(0.0, |v| v.volume));
    if mass <= 0.0 {
        return;
    }
    spec.second = Some(the_other(spec.fluid));
    for (name, volume) in HOSES.into_iter().zip(volumes) {
        let Some(fill) = spec.volume_mut(name).map(|v| &mut v.fill) else { continue };
        fill.refrigerant = Amount::Mass(0.0);
        fill.second = mass * volume / volumes.iter().sum::<f64>();
    }
}

/// The hoses of a station.
pub const HOSES: [&str; 2] = ["hose_low", "hose_high"];

/// A coupler that the vehicle has not hangs in its holder, shut.
fn couplers(scenario: &Scenario, spec: &mut NetworkSpec) {
    let coupler = match scenario.order.sides {
        Sides::Both => return,
        Sides::Low => "coupler_high",
        Sides::High => "coupler_low",
    };
    for element in spec.elements.iter_mut().filter(|e| e.name.starts_with(coupler)) {
        element.actuator.start = 0.0;
    }
}

/// The bottle is brought only where a test is ordered, and stands a fifth over the test pressure.
fn nitrogen(scenario: &Scenario, spec: &mut NetworkSpec) -> Result<(), NetworkFault> {
    if !scenario.order.has(Phase::PressureTest) {
        spec.elements.retain(|e| e.name != "nitrogen");
        spec.volumes.retain(|v| v.name != "nitrogen_bottle");
    } else if let Some(bottle) = spec.volume_mut("nitrogen_bottle") {
        bottle.fill.air = Amount::Pressure(1.2 * (scenario.site.barometer + scenario.order.test_over));
        spec.element_mut("nitrogen").ok_or_else(|| lacks("the order has a pressure test", "[element.nitrogen]"))?;
    } else {
        return Err(lacks("the order has a pressure test", "[volume.nitrogen_bottle]"));
    }
    Ok(())
}

/// What a scenario needs of a station that its file has not: without it the run would be another job.
fn lacks(what: &str, part: &str) -> NetworkFault {
    NetworkFault(format!("{what}, and the station's file has no {part}: add it, `valvewright list workshop` shows one"))
}

/// Shares of the vehicle's liquid at rest, in the order of [`VEHICLE`]: most lies in the accumulator, some in condenser and
/// evaporator (own choice).
const LIQUID: [f64; 3] = [0.25, 0.15, 0.6];
/// Liquid fills no part further than this while another has room; what is over goes to the high side, then to all.
const FULLEST: f64 = 0.85;

fn vehicle(scenario: &Scenario, fluid: &Fluid, spec: &mut NetworkSpec) -> Result<(), NetworkFault> {
    let car = &scenario.vehicle;
    if let Some(oil) = spec.volume_mut("accumulator").and_then(|v| v.oil.as_mut()) {
        oil.mass = car.oil_amount * OIL_DENSITY;
    }
    let dissolved = dissolve(car, fluid, spec);
    fill(car, car.content - dissolved, fluid, spec);
    foreign(car, spec);
    if let (true, Some(v)) = (car.water > 0.0, spec.volume_mut("accumulator")) {
        v.pool = Some(PoolSpec { mass: car.water, to_wall: 0.8, evaporation: 2e-8, half_mass: 5e-5 });
    }
    leak(car, spec)
}

/// Share of saturation that oil beside liquid has reached: it would take all of it, but in hours (own choice).
const RESTED: f64 = 0.9;

/// At rest the oil is in equilibrium with the gas over it, as far as the content goes. Returns what it holds, kg.
fn dissolve(car: &Vehicle, fluid: &Fluid, spec: &mut NetworkSpec) -> f64 {
    let t = car.engine_bay;
    let oils: Vec<(&str, OilSpec)> =
        VEHICLE.iter().filter_map(|name| Some((*name, spec.volume_mut(name)?.oil?))).collect();
    let held = |p: f64| -> Vec<f64> { oils.iter().map(|(_, oil)| plant::oil_holds(fluid, oil, p, t)).collect() };
    let all = |p: f64| fluid.vapour_pt(p, t).rho * car.volumes.total() + held(p).iter().sum::<f64>();
    let (mut low, mut high) = (0.0, RESTED * fluid.p_sat(t));
    if all(high) > car.content {
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if all(middle) > car.content { high = middle } else { low = middle }
        }
    }
    let mut sum = 0.0;
    for ((name, _), mass) in oils.iter().zip(held(high)) {
        let Some(v) = spec.volume_mut(name) else { continue };
        if let Some(oil) = &mut v.oil {
            oil.dissolved = Some(mass);
            sum += mass;
        }
    }
    sum.min(car.content)
}

/// The other of the two refrigerants, and its share of the vehicle's content.
const fn other(car: &Vehicle, main: FluidKind) -> (FluidKind, f64) {
    let share = match main {
        FluidKind::R1234yf => car.gas.r134a,
        FluidKind::R134a => car.gas.r1234yf,
    };
    (the_other(main), share)
}

const fn the_other(of: FluidKind) -> FluidKind {
    match of {
        FluidKind::R1234yf => FluidKind::R134a,
        FluidKind::R134a => FluidKind::R1234yf,
    }
}

/// What of the content is the other of the two refrigerants; hydrocarbons and others have no properties here and count as the main one.
fn foreign(car: &Vehicle, spec: &mut NetworkSpec) {
    let (kind, share) = other(car, spec.fluid);
    if share <= 0.0 {
        return;
    }
    spec.second = Some(kind);
    for name in VEHICLE {
        let Some(fill) = spec.volume_mut(name).map(|v| &mut v.fill) else { continue };
        if let Amount::Mass(mass) = &mut fill.refrigerant {
            fill.second = *mass * share;
            *mass -= fill.second;
        }
    }
}

/// Spreads the free refrigerant over the vehicle's volumes: gas by volume, liquid by [`LIQUID`].
fn fill(car: &Vehicle, content: f64, fluid: &Fluid, spec: &mut NetworkSpec) {
    let sizes = [car.volumes.high_side, car.volumes.low_side, car.volumes.accumulator];
    let sat = fluid.sat(car.engine_bay);
    let total = car.volumes.total();
    let vapour = (sat.rho_v * total).min(content);
    // Liquid takes the place of gas.
    let net = 1.0 - sat.rho_v / sat.rho_l;
    let liquid = (content - vapour) / net;
    // As full as what is in it can be: the other refrigerant may be the lighter one.
    let (kind, share) = other(car, fluid.kind());
    let lighter = if share > 0.0 { Fluid::get(kind).sat(car.engine_bay).rho_l.min(sat.rho_l) } else { sat.rho_l };
    let most = sizes.map(|size| FULLEST * size * lighter);
    let mut held: [f64; 3] = std::array::from_fn(|k| (liquid * LIQUID[k]).min(most[k]));
    let over = liquid - held.iter().sum::<f64>();
    let high = over.min(most[0] - held[0]);
    held[0] += high;
    let room: [f64; 3] = std::array::from_fn(|k| sizes[k] * lighter - held[k]);
    let share = (over - high) / room.iter().sum::<f64>();
    for (k, name) in VEHICLE.into_iter().enumerate() {
        let Some(v) = spec.volume_mut(name) else { continue };
        // Metal and surface grow with the surface of the volume.
        let surface = (sizes[k] / v.volume).powf(2.0 / 3.0);
        // A vehicle's volumes are stated as what gas and liquid can fill; its oil needs room besides.
        let oil = v.oil.map_or(0.0, |oil| oil.mass / oil.density + oil.dissolved.unwrap_or(0.0) / sat.rho_l);
        v.volume = sizes[k] + oil;
        v.fill.temperature = car.engine_bay;
        let liquid = held[k] + share * room[k];
        v.fill.refrigerant = Amount::Mass(vapour * sizes[k] / total + liquid * net);
        v.fill.air = Amount::Mass(car.air * sizes[k] / total);
        if let Some(wall) = &mut v.wall {
            for figure in [&mut wall.capacity, &mut wall.to_ambient, &mut wall.wet, &mut wall.dry] {
                *figure *= surface;
            }
            wall.surroundings = Some(car.engine_bay);
        }
    }
}

fn leak(car: &Vehicle, spec: &mut NetworkSpec) -> Result<(), NetworkFault> {
    spec.elements.retain(|e| e.name != "leak" || car.leak > 0.0);
    if car.leak <= 0.0 {
        return Ok(());
    }
    let e = spec.element_mut("leak").ok_or_else(|| lacks("the vehicle leaks", "[element.leak]"))?;
    e.from = match car.leak_side {
        Side::Low => "vehicle_low".to_owned(),
        Side::High => "vehicle_high".to_owned(),
    };
    if let LawSpec::Orifice(o) = &mut e.law {
        o.diameter = car.leak;
    }
    Ok(())
}
