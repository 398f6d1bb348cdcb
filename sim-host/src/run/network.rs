//! The plant of a scenario: the station's network with the scenario's vehicle, contents and temperatures put in.

use std::fmt;

use crate::fluid::{Fluid, FluidKind};
use crate::plant::NetworkSpec;
use crate::plant::spec::*;
use crate::scenario::Scenario;

/// Why a network could not be used.
#[derive(Debug)]
pub struct NetworkFault(pub String);

impl fmt::Display for NetworkFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

fn wall(capacity: f64, to_ambient: f64, wet: f64, dry: f64, half_mass: f64) -> Option<WallSpec> {
    Some(WallSpec { capacity, to_ambient, wet, dry, half_mass, surroundings: None, start: None })
}

fn volume(name: &str, litre: f64, wall: Option<WallSpec>) -> VolumeSpec {
    VolumeSpec {
        name: name.to_owned(),
        kind: PlaceKind::Closed,
        volume: litre * 1e-3,
        fill: FillSpec { temperature: 298.15, refrigerant: Amount::Pressure(40e3), air: Amount::Mass(0.0), humidity: 0.0 },
        isothermal: false,
        compliance: 0.0,
        wall,
        oil: None,
        pool: None,
        dip_margin: 2e-3,
    }
}

fn oil(mass: f64, mist: f64) -> Option<OilSpec> {
    Some(OilSpec { mass, solubility: 0.3, time_constant: 150.0, dissolved: None, mist })
}

fn element(name: &str, from: &str, to: &str, law: LawSpec) -> ElementSpec {
    ElementSpec {
        name: name.to_owned(),
        from: from.to_owned(),
        to: to.to_owned(),
        law,
        actuator: ActuatorSpec { start: 0.0, stroke: 0.04, leak_by: 0.0 },
    }
}

fn orifice(mm: f64, draw: Draw, one_way: bool) -> LawSpec {
    LawSpec::Orifice(OrificeSpec {
        diameter: mm * 1e-3, discharge: 0.7, nozzle: Nozzle::Ideal { k: 1.1 }, draw, one_way, cracking: 0.0, regular: std::env::var("REG").map_or(500.0, |s| s.parse().unwrap()),
    })
}

fn liquid(mm: f64) -> LawSpec {
    LawSpec::LiquidOrifice(LiquidOrificeSpec { diameter: mm * 1e-3, discharge: 0.6, regular: std::env::var("REG").map_or(500.0, |s| s.parse().unwrap()), one_way: true, flashing: None })
}

fn duct(mm: f64, length: f64) -> LawSpec {
    LawSpec::Duct(DuctSpec { diameter: mm * 1e-3, length, count: 1.0, viscosity: 1.3e-5, entrance: 0.6 })
}

fn open(mut e: ElementSpec) -> ElementSpec {
    e.actuator.start = 1.0;
    e
}

fn workshop(fluid: FluidKind) -> NetworkSpec {
    let mut volumes = vec![
        volume("vessel", 12.5, wall(4000.0, 6.0, 40.0, 5.0, 0.3)),
        volume("discharge", 0.1, wall(400.0, 4.0, 10.0, 2.0, 0.01)),
        volume("separator", 0.6, wall(1500.0, 3.0, 40.0, 1.5, 0.05)),
        volume("manifold", 0.03, wall(500.0, 1.0, 3.0, 0.5, 0.005)),
        volume("pump_inlet", 0.1, wall(500.0, 1.0, 2.0, 0.5, 0.01)),
        volume("hose_low", 0.0543, wall(600.0, 3.0, 8.0, 1.0, 0.004)),
        volume("hose_high", 0.0543, wall(600.0, 3.0, 8.0, 1.0, 0.004)),
        volume("vehicle_high", 1.6, wall(5000.0, 8.0, 30.0, 3.0, 0.05)),
        volume("vehicle_low", 1.4, wall(3500.0, 4.0, 15.0, 2.0, 0.05)),
        volume("accumulator", 0.8, wall(900.0, 1.2, 4.0, 0.5, 0.03)),
        volume("used_oil", 1.0, None),
        volume("new_oil", 1.0, None),
        volume("cabinet", 150.0, None),
    ];
    for v in &mut volumes {
        match v.name.as_str() {
            "hose_low" | "hose_high" | "manifold" => v.compliance = std::env::var("COMP").map_or(2e-8, |s| s.parse().unwrap()),
            "separator" => v.oil = oil(0.01, 0.0),
            "accumulator" => v.oil = oil(0.118, 0.02),
            "vehicle_low" | "vehicle_high" => v.oil = oil(0.002, 0.01),
            "used_oil" => (v.kind, v.oil) = (PlaceKind::Bottle, oil(0.05, 0.0)),
            "new_oil" => (v.kind, v.oil) = (PlaceKind::Bottle, oil(0.25, 0.0)),
            "cabinet" => v.kind = PlaceKind::Cabinet { lower_limit: 0.062 },
            _ => {}
        }
    }
    let elements = vec![
        element("XV-1", "hose_low", "manifold", duct(4.8, 3.0)),
        element("XV-2", "hose_high", "manifold", duct(4.8, 3.0)),
        element("XV-3", "manifold", "separator", orifice(4.0, Draw::Mixed, false)),
        element("XV-4", "discharge", "vessel", orifice(5.0, Draw::Liquid, true)),
        element("XV-5+XV-10+XV-1", "vessel", "hose_low", liquid(0.65)),
        element("XV-5+XV-10+XV-2", "vessel", "hose_high", liquid(0.65)),
        element("XV-6", "manifold", "pump_inlet", orifice(10.0, Draw::Vapour, false)),
        element("XV-7", "vessel", "ambient", orifice(0.6, Draw::Vapour, true)),
        element("XV-8", "separator", "used_oil", LawSpec::OilLine(OilLineSpec { coefficient: 3e-5, margin: 1e-3, head: Some(1000.0) })),
        element("XV-9+XV-2", "new_oil", "hose_high", LawSpec::OilLine(OilLineSpec { coefficient: 5e-6, margin: 1e-3, head: None })),
        element("C-1", "separator", "discharge", LawSpec::Compressor(CompressorSpec {
            displacement: 8e-6, speed: 24.0, volumetric: 0.92, clearance: 0.035, exponent: 1.12, isentropic: 0.6, shell: 1.0,
            condenser: 60.0, idle_current: 1.5, current_per_watt: 1.0 / 180.0,
        })),
        element("P-1", "pump_inlet", "ambient", LawSpec::VacuumPump(PumpSpec {
            speed: 70e-3 / 60.0, ultimate: 3.0, hose: None, idle_current: 1.0, current_per_watt: 0.005,
        })),
        element("H-1", "vessel", "vessel", LawSpec::Heater(HeaterSpec { power: 300.0, capacity: 300.0, to_wall: 15.0 })),
        element("K-1", "cabinet", "ambient", LawSpec::Fan(60.0 / 3600.0)),
        open(element("PSV-1", "vessel", "ambient", LawSpec::Relief(ReliefSpec {
            diameter: 4e-3, discharge: 0.7, k: 1.1, set: 20e5, reseat: 18e5,
        }))),
        open(element("coupler_low", "vehicle_low", "hose_low", orifice(2.2, Draw::Vapour, true))),
        open(element("coupler_low/in", "hose_low", "vehicle_low", liquid(1.6))),
        open(element("coupler_high", "vehicle_high", "hose_high", orifice(2.2, Draw::Vapour, true))),
        open(element("coupler_high/in", "hose_high", "vehicle_high", liquid(1.6))),
        open(element("expansion", "vehicle_high", "vehicle_low", orifice(1.5, Draw::Vapour, false))),
        open(element("suction", "vehicle_low", "accumulator", orifice(6.0, Draw::Vapour, false))),
        element("vehicle_compressor", "accumulator", "vehicle_high", LawSpec::Compressor(CompressorSpec {
            displacement: 1e-4, speed: 12.0, volumetric: 0.7, clearance: 0.04, exponent: 1.1, isentropic: 0.6, shell: 1.0,
            condenser: 0.0, idle_current: 0.0, current_per_watt: 0.0,
        })),
        open(element("leak", "vehicle_low", "ambient", orifice(0.02, Draw::Vapour, false))),
    ];
    NetworkSpec { fluid, ambient: AmbientSpec::default(), volumes, elements }
}

/// The network of a scenario.
pub fn network_of(scenario: &Scenario) -> Result<NetworkSpec, NetworkFault> {
    use valvewright_core::fluid::Refrigerant;
    let kind = match scenario.station.refrigerant {
        Refrigerant::R1234yf => FluidKind::R1234yf,
        Refrigerant::R134a => FluidKind::R134a,
    };
    let fluid = Fluid::get(kind);
    let mut spec = workshop(kind);
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
    let sizes = [("vehicle_high", car.volumes.high_side), ("vehicle_low", car.volumes.low_side), ("accumulator", car.volumes.accumulator)];
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
        v.volume = size;
        v.fill.temperature = car.engine_bay;
        let gas = vapour * size / total - held * sat.rho_v / sat.rho_l;
        v.fill.refrigerant = Amount::Mass((held + if liquid > 0.0 { gas } else { vapour * size / total }).max(0.0));
        v.fill.air = Amount::Mass(car.air * size / total);
        if let Some(wall) = &mut v.wall {
            wall.surroundings = Some(car.engine_bay);
        }
    }
    if let (true, Some(v)) = (over > 0.0, spec.volume_mut("vehicle_high")) {
        if let Amount::Mass(m) = &mut v.fill.refrigerant {
            *m += over;
        }
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
