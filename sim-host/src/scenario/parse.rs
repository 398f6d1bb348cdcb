//! From a scenario file to a [`Scenario`]: every value with its range, every mistake with its place, as many as there are.

use std::ops::RangeInclusive;

use valvewright_core::fluid::Refrigerant;
use valvewright_core::job::WorkOrder;

use super::bounds::{MINUTE, choice, rating};
use super::diagnostic::{Diagnostic, Problems, Source};
use super::model::*;
use super::parse_order::{expect, operator, order};
use super::quantity::{Dim, range_text};
use super::reader::{self, Node};
use crate::fluid::{Fluid, FluidKind};

const KELVIN: f64 = 273.15;

/// Densest filling of a circuit, kg/m3: liquid of both refrigerants at 50 degC is about 1000 to 1100, with some room left for vapour.
const CIRCUIT_MOST: f64 = 900.0;
/// Air and wall temperatures the plant is made for, K.
const AMBIENT: RangeInclusive<f64> = KELVIN - 10.0..=KELVIN + 50.0;
/// Spellings of the refrigerants, as the trade writes them and as the `fluid` verb is asked.
const REFRIGERANTS: [(&str, &str); 2] = [("R-1234yf", "R1234yf"), ("R-134a", "R134a")];

/// Reads a scenario, or says everything that is wrong with it.
pub fn read(source: &Source) -> Result<Scenario, Vec<Diagnostic>> {
    read_on(source, None)
}

/// The same on another station than the file names: a shipped name or a path from here.
pub fn read_on(source: &Source, station: Option<&str>) -> Result<Scenario, Vec<Diagnostic>> {
    let document = reader::parse(source).map_err(|one| vec![one])?;
    let mut problems = Problems::new();
    let scenario = read_root(document.root(), station, &mut problems);
    scenario.filter(|_| problems.is_empty()).ok_or_else(|| problems.into_list())
}

/// Reads the table of a whole file.
pub(super) fn read_root(mut root: Node, other: Option<&str>, p: &mut Problems) -> Option<Scenario> {
    let name = p.take(name(&mut root));
    let title = p.take(root.string("title"));
    let summary = p.take(root.opt_string("summary"));
    let seed = p.take(root.opt_integer("seed", 0..=i64::MAX));
    let time_limit = p.take(root.quantity_or("time_limit", Dim::Time, MINUTE..=86_400.0, 8.0 * 3600.0));
    let site = p.take(root.node("site")).and_then(|node| read_site(node, p));
    let station = p.take(root.node("station")).and_then(|node| station(node, site.as_ref(), other, p));
    let vehicle = p.take(root.node("vehicle")).and_then(|node| vehicle(node, site.as_ref(), station.as_ref(), p));
    let order = p.take(root.node("order")).and_then(|node| order(node, station.as_ref(), vehicle.as_ref(), p));
    let operator = p.take(root.opt_node("operator")).and_then(|node| operator(node, p));
    let expect = p.take(root.opt_node("expect")).and_then(|node| expect(node, order.as_ref(), p));
    for later in ["fault", "sweep"] {
        if root.has(later) {
            let what = format!("[[{later}]] is not supported yet; the file would not do what it says");
            p.push(root.error_at(later, what).with_help(format!("take the [[{later}]] tables out")));
            p.take(root.nodes(later));
        }
    }
    root.finish_into(p);
    Some(Scenario {
        name: name?,
        title: title?,
        summary: summary?.unwrap_or_default().trim().to_owned(),
        seed: seed?.unwrap_or(1).unsigned_abs(),
        time_limit: time_limit?,
        site: site?,
        station: station?,
        vehicle: vehicle?,
        order: order?,
        operator: operator?,
        expect: expect?,
    })
}

/// The name becomes a folder, so it holds nothing that means something to a file system.
fn name(root: &mut Node) -> Result<String, Diagnostic> {
    let name = root.string("name")?;
    let plain = name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-');
    if plain && (1..=64).contains(&name.len()) {
        return Ok(name);
    }
    let wrong = root.error_at("name", format!("name: `{name}` cannot name a folder"));
    Err(wrong.with_help("1 to 64 letters, digits, `_` and `-`"))
}

fn read_site(mut node: Node, p: &mut Problems) -> Option<Site> {
    let ambient = p.take(node.quantity("ambient", Dim::Temperature, AMBIENT));
    let barometer = p.take(node.quantity_or("barometer", Dim::Pressure, 60e3..=110e3, 101_325.0));
    let humidity = p.take(node.quantity_or("humidity", Dim::Fraction, 0.0..=1.0, 0.5));
    node.finish_into(p);
    Some(Site { ambient: ambient?, barometer: barometer?, humidity: humidity? })
}

fn refrigerant(node: &mut Node) -> Result<Refrigerant, Diagnostic> {
    let [(yf, yf_plain), (a, a_plain)] = REFRIGERANTS;
    let word = node.one_of("refrigerant", &[yf, a, yf_plain, a_plain])?;
    Ok(if [yf, yf_plain].contains(&word) { Refrigerant::R1234yf } else { Refrigerant::R134a })
}

fn station(mut node: Node, site: Option<&Site>, other: Option<&str>, p: &mut Problems) -> Option<Station> {
    let ambient = site.map_or(KELVIN + 20.0, |site| site.ambient);
    let refrigerant = p.take(refrigerant(&mut node));
    let named = p.take(node.opt_string("network"));
    // A path counts from the file that names it.
    let own = named.as_ref().map(|named| named.as_deref().map(|name| crate::station::resolve(&node.source.name, name)));
    let network = own.map(|own| other.map(str::to_owned).or(own));
    let most = rating(network.as_ref().and_then(|network| network.as_deref())).rated;
    let vessel_content = p.take(node.quantity("vessel_content", Dim::Mass, 0.0..=most));
    let vessel_air = p.take(node.quantity_or("vessel_air", Dim::Mass, 0.0..=0.2, 0.0));
    let temperature = p.take(node.quantity_or("temperature", Dim::Temperature, AMBIENT, ambient));
    let rested = p.take(node.quantity_or("rested", Dim::Time, 0.0..=30.0 * 86_400.0, 0.0));
    let new_oil = p.take(choice(&mut node, "new_oil", &OilKind::WORDS, &OilKind::ALL, OilKind::Pag46));
    let new_oil_amount = p.take(node.quantity_or("new_oil_amount", Dim::Volume, 0.0..=1e-3, 250e-6));
    let scan = p.take(node.quantity_or("scan", Dim::Time, 0.01..=0.1, 0.05));
    node.finish_into(p);
    Some(Station {
        refrigerant: refrigerant?,
        vessel_content: vessel_content?,
        vessel_air: vessel_air?,
        temperature: temperature?,
        rested: rested?,
        new_oil: new_oil?,
        new_oil_amount: new_oil_amount?,
        scan: scan?,
        network: network?,
    })
}

fn vehicle(mut node: Node, site: Option<&Site>, station: Option<&Station>, p: &mut Problems) -> Option<Vehicle> {
    let ambient = site.map_or(KELVIN + 20.0, |site| site.ambient);
    let label = p.take(node.string("label"));
    let refrigerant = p.take(refrigerant(&mut node));
    let charge_label = p.take(node.quantity("charge_label", Dim::Mass, 0.05..=5.0));
    let volumes = volumes(&mut node, p);
    let engine_bay = p.take(node.quantity_or("engine_bay", Dim::Temperature, KELVIN - 10.0..=KELVIN + 80.0, ambient));
    let densest = station.zip(engine_bay).map_or(CIRCUIT_MOST, |(station, t)| densest(station.refrigerant, t));
    let content = p.take(content(&mut node, volumes.as_ref(), densest));
    let gas = p.take(node.opt_node("gas")).and_then(|gas| match gas {
        Some(gas) => gas_mix(gas, p),
        None => refrigerant.map(GasMix::pure),
    });
    let air = p.take(node.quantity_or("air", Dim::Mass, 0.0..=0.02, 0.0));
    let water = p.take(node.quantity_or("water", Dim::Mass, 0.0..=0.05, 0.0));
    let oil = p.take(choice(&mut node, "oil", &OilKind::WORDS, &OilKind::ALL, OilKind::Pag46));
    let oil_amount = p.take(node.quantity_or("oil_amount", Dim::Volume, 0.0..=500e-6, 120e-6));
    let leak = p.take(node.quantity_or("leak", Dim::Length, 0.0..=3e-3, 0.0));
    let leak_side = p.take(choice(&mut node, "leak_side", &["low", "high"], &[Side::Low, Side::High], Side::Low));
    let high_voltage = p.take(node.bool_or("high_voltage", false));
    node.finish_into(p);
    Some(Vehicle {
        label: label?,
        refrigerant: refrigerant?,
        charge_label: charge_label?,
        content: content?,
        gas: gas?,
        air: air?,
        water: water?,
        volumes: volumes?,
        oil: oil?,
        oil_amount: oil_amount?,
        leak: leak?,
        leak_side: leak_side?,
        high_voltage: high_voltage?,
        engine_bay: engine_bay?,
    })
}

const VOLUME: RangeInclusive<f64> = 0.05e-3..=10e-3;
/// What the controller's orders accept for a whole circuit, uL.
const CIRCUIT: RangeInclusive<f64> = WorkOrder::CIRCUIT.0.0 as f64..=WorkOrder::CIRCUIT.1.0 as f64;

fn volumes(vehicle: &mut Node, p: &mut Problems) -> Option<Volumes> {
    let found = vehicle.node("volumes").map_err(|mut missing| {
        let range = range_text(Dim::Volume, &VOLUME, None);
        let keys = format!("high_side, low_side and accumulator, each {range}");
        missing.help = Some(missing.help.map_or(keys.clone(), |help| format!("{help}; it holds {keys}")));
        missing
    });
    let mut node = p.take(found)?;
    let high_side = p.take(node.quantity("high_side", Dim::Volume, VOLUME));
    let low_side = p.take(node.quantity("low_side", Dim::Volume, VOLUME));
    let accumulator = p.take(node.quantity("accumulator", Dim::Volume, VOLUME));
    if let (Some(high_side), Some(low_side), Some(accumulator)) = (high_side, low_side, accumulator) {
        let total = Volumes { high_side, low_side, accumulator }.total();
        if !CIRCUIT.contains(&(total * 1e9).round()) {
            let wrong = node.error_here(format!("vehicle.volumes: {:.2} L together", total * 1e3));
            let range = range_text(Dim::Volume, &(CIRCUIT.start() * 1e-9..=CIRCUIT.end() * 1e-9), None);
            p.push(wrong.with_help(format!("the controller accepts circuits of {range}")));
        }
    }
    node.finish_into(p);
    Some(Volumes { high_side: high_side?, low_side: low_side?, accumulator: accumulator? })
}

/// Densest filling of a warm circuit, kg/m3: its liquid with a tenth of the room left for vapour.
fn densest(refrigerant: Refrigerant, engine_bay: f64) -> f64 {
    CIRCUIT_MOST.min(0.9 * Fluid::get(FluidKind::from(refrigerant)).sat(engine_bay).rho_l)
}

/// A circuit holds no more than its volumes have room for, in whole grams.
fn content(vehicle: &mut Node, volumes: Option<&Volumes>, densest: f64) -> Result<f64, Diagnostic> {
    let room = volumes.map_or(5.0, |volumes| (volumes.total() * densest).min(5.0));
    // A whole gram stays one where its product with a volume falls a rounding short of it.
    vehicle.quantity("content", Dim::Mass, 0.0..=(room * 1e3 + 1e-6).floor() / 1e3)
}

/// Share of a refrigerant under either of its spellings.
fn share_of(node: &mut Node, (usual, plain): (&str, &str), p: &mut Problems) -> Option<f64> {
    let first = p.take(node.opt_quantity(usual, Dim::Fraction, 0.0..=1.0));
    let second = p.take(node.opt_quantity(plain, Dim::Fraction, 0.0..=1.0));
    if node.has(usual) && node.has(plain) {
        let twice = node.error_at(plain, format!("vehicle.gas: `{usual}` is given twice, here as `{plain}`"));
        p.push(twice.with_help("keep one of them"));
    }
    Some(first?.or(second?).unwrap_or(0.0))
}

fn gas_mix(mut node: Node, p: &mut Problems) -> Option<GasMix> {
    let [yf, a] = REFRIGERANTS.map(|spelled| share_of(&mut node, spelled, p));
    let mut share = |key: &str| p.take(node.quantity_or(key, Dim::Fraction, 0.0..=1.0, 0.0));
    let shares = (yf, a, share("hydrocarbon"), share("other"));
    if let (Some(a), Some(b), Some(c), Some(d)) = shares
        && (a + b + c + d - 1.0).abs() > 1e-6
    {
        let sum = (a + b + c + d) * 100.0;
        let wrong = node.error_here(format!("vehicle.gas: the shares sum to {sum:.3} %"));
        p.push(wrong.with_help("they must sum to 100 %: R-1234yf, R-134a, hydrocarbon, other"));
    }
    node.finish_into(p);
    Some(GasMix { r1234yf: shares.0?, r134a: shares.1?, hydrocarbon: shares.2?, other: shares.3? })
}
