//! The vehicle tables of a scenario file: every value with its range.

use std::ops::RangeInclusive;

use valvewright_core::fluid::Refrigerant;
use valvewright_core::job::WorkOrder;

use super::bounds::{KELVIN, choice};
use super::diagnostic::{Diagnostic, Problems};
use super::model::*;
use super::quantity::{Dim, range_text};
use super::reader::Node;
use crate::fluid::{Fluid, FluidKind};

/// Densest filling of a circuit, kg/m3: liquid of both refrigerants at 50 degC is about 1000 to 1100, with some room left for vapour.
const CIRCUIT_MOST: f64 = 900.0;
/// Spellings of the refrigerants, as the trade writes them and as the `fluid` verb is asked.
const REFRIGERANTS: [(&str, &str); 2] = [("R-1234yf", "R1234yf"), ("R-134a", "R134a")];

/// What a station is for, or a label says.
pub(super) fn refrigerant(node: &mut Node) -> Result<Refrigerant, Diagnostic> {
    let [(yf, yf_plain), (a, a_plain)] = REFRIGERANTS;
    let word = node.one_of("refrigerant", &[yf, a, yf_plain, a_plain])?;
    Ok(if [yf, yf_plain].contains(&word) { Refrigerant::R1234yf } else { Refrigerant::R134a })
}

/// One vehicle; `name` is what it is called in a row of them.
pub(super) fn vehicle(
    mut node: Node,
    name: Option<String>,
    site: Option<&Site>,
    station: Option<&Station>,
    p: &mut Problems,
) -> Option<Vehicle> {
    let ambient = site.map_or(KELVIN + 20.0, |site| site.ambient);
    let label = p.take(node.string("label"));
    let refrigerant = p.take(refrigerant(&mut node));
    let charge_label = p.take(node.quantity("charge_label", Dim::Mass, 0.05..=5.0));
    let volumes = volumes(&mut node, p);
    let engine_bay = p.take(node.quantity_or("engine_bay", Dim::Temperature, KELVIN - 10.0..=KELVIN + 80.0, ambient));
    let gas = p.take(node.opt_node("gas")).and_then(|gas| match gas {
        Some(gas) => gas_mix(gas, p),
        None => refrigerant.map(GasMix::pure),
    });
    let densest = station.zip(engine_bay).map_or(CIRCUIT_MOST, |(station, t)| densest(station.refrigerant, gas, t));
    let content = p.take(content(&mut node, volumes.as_ref(), densest));
    let air = p.take(node.quantity_or("air", Dim::Mass, 0.0..=0.02, 0.0));
    let water = p.take(node.quantity_or("water", Dim::Mass, 0.0..=0.05, 0.0));
    let oil = p.take(choice(&mut node, "oil", &OilKind::WORDS, &OilKind::ALL, OilKind::Pag46));
    let oil_amount = p.take(node.quantity_or("oil_amount", Dim::Volume, 0.0..=500e-6, 120e-6));
    let leak = p.take(node.quantity_or("leak", Dim::Length, 0.0..=3e-3, 0.0));
    let leak_side = p.take(choice(&mut node, "leak_side", &["low", "high"], &[Side::Low, Side::High], Side::Low));
    let high_voltage = p.take(node.bool_or("high_voltage", false));
    let flush_port = p.take(node.bool_or("flush_port", false));
    node.finish_into(p);
    Some(Vehicle {
        name,
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
        flush_port: flush_port?,
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
            let wrong = node.error_here(format!("{}: {:.2} L together", node.path(), total * 1e3));
            let range = range_text(Dim::Volume, &(CIRCUIT.start() * 1e-9..=CIRCUIT.end() * 1e-9), None);
            p.push(wrong.with_help(format!("the controller accepts circuits of {range}")));
        }
    }
    node.finish_into(p);
    Some(Volumes { high_side: high_side?, low_side: low_side?, accumulator: accumulator? })
}

/// Densest filling of a warm circuit, kg/m3: its liquid, the lighter one of two, with a tenth of the room left for vapour.
fn densest(station: Refrigerant, gas: Option<GasMix>, engine_bay: f64) -> f64 {
    let holds = |kind: FluidKind| {
        let share = gas.map_or(0.0, |gas| if kind == FluidKind::R1234yf { gas.r1234yf } else { gas.r134a });
        kind == FluidKind::from(station) || share > 0.0
    };
    let kinds = [FluidKind::R1234yf, FluidKind::R134a].into_iter().filter(|kind| holds(*kind));
    kinds.map(|kind| 0.9 * Fluid::get(kind).sat(engine_bay).rho_l).fold(CIRCUIT_MOST, f64::min)
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
        let twice = node.error_at(plain, format!("{}: `{usual}` is given twice, here as `{plain}`", node.path()));
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
        let wrong = node.error_here(format!("{}: the shares sum to {sum:.3} %", node.path()));
        p.push(wrong.with_help("they must sum to 100 %: R-1234yf, R-134a, hydrocarbon, other"));
    }
    node.finish_into(p);
    Some(GasMix { r1234yf: shares.0?, r134a: shares.1?, hydrocarbon: shares.2?, other: shares.3? })
}
