//! Networks from TOML: every key with its unit and range, unknown keys refused with the nearest valid one.
//!
//! ```toml
//! refrigerant = "R1234yf"
//! [volume.loop]
//! volume = "4 L"
//! temperature = "25 degC"
//! refrigerant = "600 g"
//! [element.vent]
//! kind = "orifice"
//! from = "loop"
//! to = "ambient"
//! ```

use super::spec::{
    ActuatorSpec, AmbientSpec, Amount, CompressorSpec, Draw, DuctSpec, ElementSpec, FillSpec, HeaterSpec, LawSpec,
    LiquidOrificeSpec, Mixing, NetworkSpec, Nozzle, OilLaw, OilLineSpec, OilSpec, OrificeSpec, PlaceKind, PoolSpec,
    PumpSpec, ReliefSpec, VolumeSpec, WallSpec,
};
use crate::fluid::FluidKind;
use crate::scenario::diagnostic::{Diagnostic, Problems, Source};
use crate::scenario::quantity::Dim;
use crate::scenario::reader::{self, Node};

type Read<T> = Result<T, Diagnostic>;

/// Largest element or volume count a file may hold.
const MOST_PARTS: usize = 200;
const TEMPERATURES: std::ops::RangeInclusive<f64> = 203.15..=363.15;
const PRESSURES: std::ops::RangeInclusive<f64> = 0.0..=4e6;
const CONDUCTANCES: std::ops::RangeInclusive<f64> = 0.0..=1e5;
const BORES: std::ops::RangeInclusive<f64> = 0.0..=0.1;
const SHARES: std::ops::RangeInclusive<f64> = 0.0..=1.0;
const MASSES: std::ops::RangeInclusive<f64> = 0.0..=200.0;

/// Reads a whole network file.
pub fn network(source: &Source) -> Result<NetworkSpec, Vec<Diagnostic>> {
    let document = reader::parse(source).map_err(|one| vec![one])?;
    let mut root = document.root();
    let mut problems = Problems::new();
    let _ = problems.take(root.opt_string("title"));
    let spec = network_part(&mut root, &mut problems);
    root.finish_into(&mut problems);
    match spec {
        Some(spec) if problems.is_empty() => Ok(spec),
        _ => Err(problems.into_list()),
    }
}

/// Reads the network keys (`refrigerant`, `ambient`, `volume`, `element`) of a file's root.
pub(super) fn network_part(root: &mut Node, problems: &mut Problems) -> Option<NetworkSpec> {
    let fluid = problems.take(refrigerant(root));
    let ambient = problems.take(ambient(root)).unwrap_or_default();
    let mut volumes = Vec::new();
    let mut elements = Vec::new();
    if let Some(mut table) = problems.take(root.node("volume")) {
        for (name, mut node) in problems.take(table.named_nodes()).unwrap_or_default().into_iter().take(MOST_PARTS) {
            let read = volume(name, &mut node, &ambient, problems);
            volumes.extend(problems.take(read));
            node.finish_into(problems);
        }
    }
    if let Some(Some(mut table)) = problems.take(root.opt_node("element")) {
        for (name, mut node) in problems.take(table.named_nodes()).unwrap_or_default().into_iter().take(MOST_PARTS) {
            let read = element(name, &mut node, &volumes);
            elements.extend(problems.take(read));
            node.finish_into(problems);
        }
    }
    Some(NetworkSpec { fluid: fluid?, second: None, mixing: Mixing::Real, ambient, volumes, elements })
}

fn refrigerant(root: &mut Node) -> Read<FluidKind> {
    let text = root.string("refrigerant")?;
    text.parse().map_err(|_| {
        let known = FluidKind::ALL.map(FluidKind::label).join(", ");
        root.error_at("refrigerant", format!("refrigerant `{text}` is not known"))
            .with_help(format!("accepted: {known}"))
    })
}

fn ambient(root: &mut Node) -> Read<AmbientSpec> {
    let usual = AmbientSpec::default();
    let Some(mut node) = root.opt_node("ambient")? else {
        return Ok(usual);
    };
    let read = AmbientSpec {
        temperature: node.quantity_or("temperature", Dim::Temperature, 233.15..=343.15, usual.temperature)?,
        pressure: node.quantity_or("pressure", Dim::Pressure, 5e4..=1.2e5, usual.pressure)?,
        humidity: node.quantity_or("humidity", Dim::Fraction, SHARES, 0.0)?,
    };
    node.finish()?;
    Ok(read)
}

fn volume(name: &str, node: &mut Node, air: &AmbientSpec, problems: &mut Problems) -> Read<VolumeSpec> {
    let kind = match node.opt_one_of("kind", &["closed", "cabinet", "bottle"])? {
        Some("cabinet") => PlaceKind::Cabinet {
            lower_limit: node.quantity_or("lower_flammable_limit", Dim::Fraction, 0.001..=1.0, 0.062)?,
        },
        Some("bottle") => PlaceKind::Bottle,
        _ => PlaceKind::Closed,
    };
    let size = node.quantity("volume", Dim::Volume, 1e-6..=10.0)?;
    let closed = kind == PlaceKind::Closed;
    let fill = if closed { fill(node, air)? } else { empty(air.temperature) };
    let mut made = VolumeSpec {
        name: name.to_owned(),
        kind,
        volume: size,
        fill,
        isothermal: false,
        compliance: 0.0,
        wall: None,
        oil: None,
        cold_wall: None,
        pool: None,
        air_uptake: None,
        dip_margin: 0.0,
    };
    if closed {
        made.isothermal = node.bool_or("isothermal", false)?;
        made.compliance = node.quantity_or("compliance", Dim::Compliance, 0.0..=1e-5, 0.0)?;
        made.dip_margin = node.quantity_or("outlet_margin", Dim::Mass, 0.0..=10.0, 0.0)?;
        if let Some(mut part) = node.opt_node("wall")? {
            made.wall = problems.take(wall(&mut part));
            part.finish_into(problems);
        }
        if let Some(mut part) = node.opt_node("water")? {
            made.pool = problems.take(pool(&mut part));
            part.finish_into(problems);
        }
    }
    if let Some(mut part) = node.opt_node("oil")? {
        made.oil = problems.take(oil(&mut part));
        part.finish_into(problems);
    }
    Ok(made)
}

fn empty(temperature: f64) -> FillSpec {
    FillSpec { temperature, refrigerant: Amount::Mass(0.0), second: 0.0, air: Amount::Mass(0.0), humidity: 0.0 }
}

fn fill(node: &mut Node, air: &AmbientSpec) -> Read<FillSpec> {
    let temperature = node.quantity_or("temperature", Dim::Temperature, TEMPERATURES, air.temperature)?;
    Ok(FillSpec {
        temperature,
        refrigerant: amount(node, "refrigerant", "refrigerant_pressure")?,
        second: 0.0,
        air: amount(node, "air", "air_pressure")?,
        humidity: node.quantity_or("air_humidity", Dim::Fraction, SHARES, 0.0)?,
    })
}

fn amount(node: &mut Node, mass: &str, pressure: &str) -> Read<Amount> {
    let by_mass = node.opt_quantity(mass, Dim::Mass, MASSES)?;
    let by_pressure = node.opt_quantity(pressure, Dim::Pressure, PRESSURES)?;
    match (by_mass, by_pressure) {
        (Some(_), Some(_)) => Err(node
            .error_at(pressure, format!("both `{mass}` and `{pressure}` are given"))
            .with_help("keep one of them")),
        (None, Some(p)) => Ok(Amount::Pressure(p)),
        (mass, None) => Ok(Amount::Mass(mass.unwrap_or(0.0))),
    }
}

fn wall(node: &mut Node) -> Read<WallSpec> {
    let wet = node.quantity("wet", Dim::Conductance, CONDUCTANCES)?;
    Ok(WallSpec {
        capacity: node.quantity("heat_capacity", Dim::HeatCapacity, 1e-3..=1e7)?,
        to_ambient: node.quantity_or("to_surroundings", Dim::Conductance, CONDUCTANCES, 0.0)?,
        wet,
        dry: node.quantity_or("dry", Dim::Conductance, CONDUCTANCES, wet)?,
        half_mass: node.quantity_or("half_liquid", Dim::Mass, 1e-6..=10.0, 0.05)?,
        surroundings: node.opt_quantity("surroundings", Dim::Temperature, TEMPERATURES)?,
        start: node.opt_quantity("temperature", Dim::Temperature, TEMPERATURES)?,
        condensation: 2e-8,
        half_water: 5e-6,
        water: 0.0,
    })
}

fn oil(node: &mut Node) -> Read<OilSpec> {
    Ok(OilSpec {
        mass: node.quantity("mass", Dim::Mass, 0.0..=10.0)?,
        law: OilLaw::Linear {
            solubility: node.quantity_or("solubility", Dim::Fraction, 0.0..=2.0, 0.3)?,
            time_constant: node.quantity_or("time_constant", Dim::Time, 0.1..=1e6, 150.0)?,
        },
        weightless: true,
        density: 980.0,
        heat_capacity: 1900.0,
        to_content: 8.0,
        heat_of_mixing: 0.0,
        dissolved: node.opt_quantity("dissolved", Dim::Mass, 0.0..=10.0)?,
        mist: node.quantity_or("mist", Dim::Fraction, 0.0..=0.5, 0.0)?,
    })
}

fn pool(node: &mut Node) -> Read<PoolSpec> {
    Ok(PoolSpec {
        mass: node.quantity("mass", Dim::Mass, 0.0..=10.0)?,
        to_wall: node.quantity_or("to_wall", Dim::Conductance, CONDUCTANCES, 0.8)?,
        evaporation: node.quantity_or("evaporation", Dim::Permeance, 0.0..=1e-3, 2e-8)?,
        half_mass: node.quantity_or("half_mass", Dim::Mass, 1e-9..=1.0, 5e-5)?,
    })
}

const KINDS: &[&str] = &[
    "orifice",
    "liquid orifice",
    "check valve",
    "leak",
    "duct",
    "compressor",
    "vacuum pump",
    "relief valve",
    "heater",
    "oil line",
    "heat link",
    "fan",
];

fn element(name: &str, node: &mut Node, volumes: &[VolumeSpec]) -> Read<ElementSpec> {
    let kind = node.one_of("kind", KINDS)?;
    let from = end(node, "from", volumes)?;
    let to = match kind {
        "heater" | "fan" => from.clone(),
        _ => end(node, "to", volumes)?,
    };
    let law = match kind {
        "orifice" | "check valve" | "leak" => LawSpec::Orifice(orifice(node, kind)?),
        "liquid orifice" => LawSpec::LiquidOrifice(liquid_orifice(node)?),
        "duct" => LawSpec::Duct(duct(node)?),
        "compressor" => LawSpec::Compressor(compressor(node)?),
        "vacuum pump" => LawSpec::VacuumPump(pump(node)?),
        "relief valve" => LawSpec::Relief(relief(node)?),
        "heater" => LawSpec::Heater(HeaterSpec {
            power: node.quantity("power", Dim::Power, 0.0..=1e5)?,
            capacity: node.quantity_or("heat_capacity", Dim::HeatCapacity, 1.0..=1e6, 200.0)?,
            to_wall: node.quantity_or("to_wall", Dim::Conductance, 1e-3..=1e5, 10.0)?,
        }),
        "oil line" => LawSpec::OilLine(OilLineSpec {
            coefficient: node.quantity("flow_at_1_bar", Dim::MassFlow, 0.0..=10.0)? / 1e5f64.sqrt(),
            margin: node.quantity_or("outlet_margin", Dim::Mass, 1e-6..=1.0, 1e-3)?,
            head: node.opt_quantity("balanced_head", Dim::PressureDifference, 0.0..=1e5)?,
        }),
        "heat link" => LawSpec::HeatLink(node.quantity("conductance", Dim::Conductance, CONDUCTANCES)?),
        _ => LawSpec::Fan(node.quantity("flow", Dim::VolumeFlow, 0.0..=10.0)?),
    };
    let usual = match kind {
        "leak" | "check valve" | "duct" | "heat link" | "relief valve" => 1.0,
        _ => 0.0,
    };
    let actuator = ActuatorSpec {
        start: node.quantity_or("opening", Dim::Fraction, SHARES, usual)?,
        stroke: node.quantity_or("stroke", Dim::Time, 0.0..=600.0, 0.0)?,
        leak_by: node.quantity_or("leak_by", Dim::Fraction, SHARES, 0.0)?,
    };
    Ok(ElementSpec { name: name.to_owned(), from, to, law, actuator })
}

fn end(node: &mut Node, key: &str, volumes: &[VolumeSpec]) -> Read<String> {
    let names: Vec<&str> = volumes.iter().map(|volume| volume.name.as_str()).chain(["ambient", "vacuum"]).collect();
    node.one_of(key, &names).map(str::to_owned)
}

fn orifice(node: &mut Node, kind: &str) -> Read<OrificeSpec> {
    let k = node.opt_quantity("exponent", Dim::Number, 1.01..=1.67)?.unwrap_or(0.0);
    let nozzle = match node.opt_one_of("flow", &["ideal", "real"])? {
        Some("real") => Nozzle::Real { k },
        _ => Nozzle::Ideal { k },
    };
    Ok(OrificeSpec {
        diameter: node.quantity("diameter", Dim::Length, BORES)?,
        discharge: node.quantity_or("discharge", Dim::Fraction, SHARES, 0.8)?,
        nozzle,
        draw: [draw(node)?; 2],
        nonequilibrium: 1.0,
        one_way: node.bool_or("one_way", kind == "check valve")?,
        cracking: node.quantity_or("cracking", Dim::PressureDifference, 0.0..=1e6, 0.0)?,
        regular: node.quantity_or("smoothing", Dim::PressureDifference, 1e-3..=1e5, 2.0)?,
    })
}

fn draw(node: &mut Node) -> Read<Draw> {
    Ok(match node.opt_one_of("draws", &["vapour", "liquid", "mixed"])? {
        Some("liquid") => Draw::Liquid,
        Some("mixed") => Draw::Mixed,
        _ => Draw::Vapour,
    })
}

fn liquid_orifice(node: &mut Node) -> Read<LiquidOrificeSpec> {
    Ok(LiquidOrificeSpec {
        diameter: node.quantity("diameter", Dim::Length, BORES)?,
        discharge: node.quantity_or("discharge", Dim::Fraction, SHARES, 0.6)?,
        regular: node.quantity_or("smoothing", Dim::PressureDifference, 1e-3..=1e5, 10.0)?,
        one_way: node.bool_or("one_way", true)?,
        flashing: node.opt_quantity("flashing_limit", Dim::Fraction, SHARES)?,
    })
}

fn duct(node: &mut Node) -> Read<DuctSpec> {
    Ok(DuctSpec {
        diameter: node.quantity("diameter", Dim::Length, 1e-5..=0.1)?,
        length: node.quantity("length", Dim::Length, 1e-3..=100.0)?,
        count: node.quantity_or("count", Dim::Number, 1.0..=20.0, 1.0)?,
        viscosity: node.quantity_or("viscosity", Dim::Viscosity, 1e-6..=1e-3, 1.8e-5)?,
        entrance: node.quantity_or("entrance_discharge", Dim::Fraction, SHARES, 0.0)?,
    })
}

fn compressor(node: &mut Node) -> Read<CompressorSpec> {
    Ok(CompressorSpec {
        displacement: node.quantity("displacement", Dim::Volume, 1e-9..=1e-2)?,
        speed: node.quantity("speed", Dim::Speed, 0.1..=500.0)?,
        volumetric: node.quantity_or("volumetric_efficiency", Dim::Fraction, SHARES, 0.92)?,
        clearance: node.quantity_or("clearance", Dim::Fraction, 0.0..=0.5, 0.035)?,
        exponent: node.quantity_or("polytropic_exponent", Dim::Number, 1.0..=1.67, 1.12)?,
        isentropic: node.quantity_or("isentropic_efficiency", Dim::Fraction, 0.05..=1.0, 0.6)?,
        shell: node.quantity_or("shell_loss", Dim::Conductance, CONDUCTANCES, 0.0)?,
        condenser: node.quantity_or("condenser", Dim::Conductance, CONDUCTANCES, 0.0)?,
        idle_current: node.quantity_or("idle_current", Dim::Current, 0.0..=1e3, 0.0)?,
        current_per_watt: node.quantity_or("current_per_kilowatt", Dim::Current, 0.0..=1e3, 0.0)? * 1e-3,
    })
}

fn pump(node: &mut Node) -> Read<PumpSpec> {
    let hose = match node.opt_node("hose")? {
        Some(mut part) => {
            let hose = duct(&mut part)?;
            part.finish()?;
            Some(hose)
        }
        None => None,
    };
    Ok(PumpSpec {
        speed: node.quantity("speed", Dim::VolumeFlow, 1e-7..=1.0)?,
        ultimate: node.quantity("ultimate", Dim::Pressure, 0.0..=1e5)?,
        hose,
        stall: 2e5,
        oil: None,
        idle_current: node.quantity_or("idle_current", Dim::Current, 0.0..=1e3, 0.0)?,
        current_per_watt: node.quantity_or("current_per_kilowatt", Dim::Current, 0.0..=1e3, 0.0)? * 1e-3,
    })
}

fn relief(node: &mut Node) -> Read<ReliefSpec> {
    let set = node.quantity("set", Dim::PressureDifference, 1e3..=1e7)?;
    Ok(ReliefSpec {
        diameter: node.quantity("diameter", Dim::Length, BORES)?,
        discharge: node.quantity_or("discharge", Dim::Fraction, SHARES, 0.8)?,
        k: node.quantity_or("exponent", Dim::Number, 1.01..=1.67, 1.1)?,
        set,
        reseat: node.quantity_or("reseat", Dim::PressureDifference, 1e3..=set, 0.85 * set)?,
    })
}
