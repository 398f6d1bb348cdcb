//! The plant of a scenario: the station's network with the scenario's vehicle, contents and temperatures put in.

use std::fmt;

use crate::fluid::{Fluid, FluidKind};
use crate::plant::spec::{AmbientSpec, Amount, LawSpec, PoolSpec};
use crate::plant::{self, NetworkSpec};
use crate::scenario::Scenario;
use crate::scenario::diagnostic::Source;

/// Why a network could not be used.
#[derive(Debug)]
pub struct NetworkFault(pub String);

impl fmt::Display for NetworkFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Text of the shipped station.
pub const WORKSHOP: &str = include_str!("../../networks/workshop.toml");

/// Reads the scenario's network file, or the shipped one.
fn file(scenario: &Scenario) -> Result<NetworkSpec, NetworkFault> {
    let source = match &scenario.station.network {
        None => Source::new("workshop.toml".to_owned(), WORKSHOP),
        Some(path) => {
            let text = std::fs::read_to_string(path)
                .map_err(|why| NetworkFault(format!("network file {path} cannot be read: {why}; check the path")))?;
            Source::new(path.clone(), &text)
        }
    };
    plant::parse::network(&source)
        .map_err(|problems| NetworkFault(problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")))
}

/// The network of a scenario.
pub fn network_of(scenario: &Scenario) -> Result<NetworkSpec, NetworkFault> {
    use valvewright_core::fluid::Refrigerant;
    let kind = match scenario.station.refrigerant {
        Refrigerant::R1234yf => FluidKind::R1234yf,
        Refrigerant::R134a => FluidKind::R134a,
    };
    let fluid = Fluid::get(kind);
    let mut spec = file(scenario)?;
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
    if let Some(v) = spec.volume_mut("discharge") {
        v.fill.refrigerant = Amount::Pressure(p_vessel.min(fluid.p_sat(site.ambient)) * 0.98);
    }
    vehicle(scenario, fluid, &mut spec);
    Ok(spec)
}

/// Shares of the vehicle's liquid at rest: most lies in the accumulator, some in condenser and evaporator (own choice).
const LIQUID: [(&str, f64); 3] = [("accumulator", 0.6), ("vehicle_high", 0.25), ("vehicle_low", 0.15)];
/// Liquid fills no part further than this.
const FULLEST: f64 = 0.85;

fn vehicle(scenario: &Scenario, fluid: &Fluid, spec: &mut NetworkSpec) {
    let car = &scenario.vehicle;
    let sizes = [
        ("vehicle_high", car.volumes.high_side),
        ("vehicle_low", car.volumes.low_side),
        ("accumulator", car.volumes.accumulator),
    ];
    let sat = fluid.sat(car.engine_bay);
    let total: f64 = sizes.iter().map(|(_, v)| v).sum();
    let dissolved_at_rest = 0.3 * car.oil_amount * 980.0;
    let content = (car.content - dissolved_at_rest).max(0.0);
    let vapour = (sat.rho_v * total).min(content);
    let liquid = (content - vapour) / (1.0 - sat.rho_v / sat.rho_l);
    let mut over = 0.0;
    for (name, size) in sizes {
        let Some(v) = spec.volume_mut(name) else { continue };
        let share = LIQUID.iter().find(|(n, _)| *n == name).map_or(0.0, |(_, s)| *s);
        let wanted = (liquid * share).max(0.0);
        let held = wanted.min(FULLEST * size * sat.rho_l);
        over += wanted - held;
        // Metal and surface grow with the surface of the volume.
        let surface = (size / v.volume).powf(2.0 / 3.0);
        v.volume = size;
        v.fill.temperature = car.engine_bay;
        let gas = vapour * size / total - held * sat.rho_v / sat.rho_l;
        v.fill.refrigerant = Amount::Mass((held + if liquid > 0.0 { gas } else { vapour * size / total }).max(0.0));
        v.fill.air = Amount::Mass(car.air * size / total);
        if let Some(wall) = &mut v.wall {
            for figure in [&mut wall.capacity, &mut wall.to_ambient, &mut wall.wet, &mut wall.dry] {
                *figure *= surface;
            }
            wall.surroundings = Some(car.engine_bay);
        }
    }
    if let Some(v) = spec.volume_mut("vehicle_high")
        && let Amount::Mass(m) = &mut v.fill.refrigerant
    {
        *m += over;
    }
    if let Some(v) = spec.volume_mut("accumulator") {
        if let Some(oil) = &mut v.oil {
            oil.mass = car.oil_amount * 980.0;
            oil.dissolved = Some(dissolved_at_rest.min(car.content));
        }
        if car.water > 0.0 {
            v.pool = Some(PoolSpec { mass: car.water, to_wall: 0.8, evaporation: 2e-8, half_mass: 5e-5 });
        }
    }
    let side = match car.leak_side {
        crate::scenario::model::Side::Low => "vehicle_low",
        crate::scenario::model::Side::High => "vehicle_high",
    };
    spec.elements.retain(|e| e.name != "leak" || car.leak > 0.0);
    if let Some(e) = spec.element_mut("leak") {
        e.from = side.to_owned();
        if let LawSpec::Orifice(o) = &mut e.law {
            o.diameter = car.leak;
        }
    }
}
