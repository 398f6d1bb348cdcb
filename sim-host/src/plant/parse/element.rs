//! Elements from TOML: kind, ends and actuator; which ends a kind can join.

use super::keys::Keys;
use super::range::{AIRINGS, CONDUCTANCES, JOINTS, OIL_FLOWS, POWERS, SHARES, STROKES};
use super::{Declared, flow, machine};
use crate::plant::spec::{ActuatorSpec, ElementSpec, HeaterSpec, LawSpec, OilLineSpec, PlaceKind};
use crate::scenario::diagnostic::Problems;
use crate::scenario::quantity::Dim;
use crate::scenario::reader::Node;

const KINDS: &[&str] = &[
    "orifice",
    "liquid orifice",
    "check valve",
    "leak",
    "duct",
    "hose",
    "compressor",
    "vacuum pump",
    "draw off",
    "relief valve",
    "heater",
    "oil line",
    "heat link",
    "fan",
];

/// Reads one element: none if anything is wrong with it; and whether its kind, hence its keys, are known.
pub(super) fn element(
    name: &str,
    node: &mut Node,
    volumes: &[Declared],
    problems: &mut Problems,
) -> (Option<ElementSpec>, bool) {
    let mut keys = Keys::new(node, problems);
    let keys = &mut keys;
    let Some(kind) = keys.need_word("kind", KINDS) else {
        return (None, false);
    };
    let from = end(keys, "from", volumes);
    let to = match kind {
        "heater" | "fan" => {
            keys.out_of_place(&["to"], "a heater or fan has one end: `from`");
            from.clone()
        }
        _ => end(keys, "to", volumes),
    };
    let law = law(keys, kind);
    let usual = match kind {
        "leak" | "check valve" | "duct" | "hose" | "heat link" | "relief valve" => 1.0,
        _ => 0.0,
    };
    let actuator = ActuatorSpec {
        start: keys.or("opening", Dim::Fraction, SHARES, usual),
        stroke: keys.or("stroke", Dim::Time, STROKES, 0.0),
        leak_by: keys.or("leak_by", Dim::Fraction, SHARES, 0.0),
    };
    let (Some(from), Some(to)) = (from, to) else {
        return (None, true);
    };
    joins(keys, &law, &from, &to, volumes);
    let made = ElementSpec { name: name.to_owned(), from, to, law, actuator };
    (keys.whole().then_some(made), true)
}

fn end(keys: &mut Keys, key: &str, volumes: &[Declared]) -> Option<String> {
    let names: Vec<&str> = volumes.iter().map(|volume| volume.name).chain(["ambient", "vacuum"]).collect();
    keys.need_word(key, &names).map(str::to_owned)
}

fn law(keys: &mut Keys, kind: &str) -> LawSpec {
    match kind {
        "orifice" | "check valve" | "leak" => LawSpec::Orifice(flow::orifice(keys, kind == "check valve")),
        "liquid orifice" => LawSpec::LiquidOrifice(flow::liquid_orifice(keys)),
        "duct" => LawSpec::Duct(flow::duct(keys)),
        "hose" => LawSpec::Hose(flow::hose(keys)),
        "relief valve" => LawSpec::Relief(flow::relief(keys)),
        "compressor" => LawSpec::Compressor(machine::compressor(keys)),
        "vacuum pump" => LawSpec::VacuumPump(machine::pump(keys)),
        "draw off" => LawSpec::DrawOff(flow::draw_off(keys)),
        "heater" => LawSpec::Heater(HeaterSpec {
            power: keys.need("power", Dim::Power, POWERS),
            capacity: keys.or("heat_capacity", Dim::HeatCapacity, 1.0..=1e6, 200.0),
            to_wall: keys.or("to_wall", Dim::Conductance, JOINTS, 10.0),
        }),
        "oil line" => LawSpec::OilLine(OilLineSpec {
            coefficient: keys.need("flow_at_1_bar", Dim::MassFlow, OIL_FLOWS) / 1e5f64.sqrt(),
            margin: keys.or("outlet_margin", Dim::Mass, 1e-6..=1.0, 1e-3),
            head: keys.get("balanced_head", Dim::PressureDifference, 0.0..=1e5),
        }),
        "heat link" => LawSpec::HeatLink(keys.need("conductance", Dim::Conductance, CONDUCTANCES)),
        _ => LawSpec::Fan(keys.need("flow", Dim::VolumeFlow, AIRINGS)),
    }
}

/// What a law asks of its ends, as far as these are known.
fn joins(keys: &mut Keys, law: &LawSpec, from: &str, to: &str, volumes: &[Declared]) {
    let one_ended = matches!(law, LawSpec::Heater(_) | LawSpec::Fan(_));
    if from == to && !one_ended {
        keys.refuse_at("to", format!("`from` and `to` are both `{from}`"), "join two different places");
        return;
    }
    let around = |name: &str| matches!(name, "ambient" | "vacuum");
    let known = |name: &str| volumes.iter().find(|volume| volume.name == name);
    if [from, to].into_iter().any(|name| !around(name) && known(name).is_none_or(|found| found.read.is_none())) {
        return;
    }
    let volume = |name: &str| known(name).and_then(|found| found.read.as_ref());
    let closed = |name: &str| volume(name).is_some_and(|found| found.kind == PlaceKind::Closed);
    let mut want = |fine: bool, key: &str, message: &str| {
        if !fine {
            keys.refuse_at(key, message, "name a volume of that kind");
        }
    };
    match law {
        LawSpec::Fan(_) => {
            let cabinet = volume(from).is_some_and(|found| matches!(found.kind, PlaceKind::Cabinet { .. }));
            want(cabinet, "from", "a fan airs a cabinet");
        }
        LawSpec::Heater(_) => {
            want(volume(from).is_some_and(|found| found.wall.is_some()), "from", "a heater warms a volume with a wall");
        }
        LawSpec::HeatLink(_) => {
            want(closed(from), "from", "a heat link joins two closed volumes");
            want(closed(to), "to", "a heat link joins two closed volumes");
        }
        LawSpec::Compressor(_) => {
            want(closed(from), "from", "a compressor joins two closed volumes");
            want(closed(to), "to", "a compressor joins two closed volumes");
        }
        LawSpec::VacuumPump(_) => want(closed(from), "from", "a vacuum pump draws from a closed volume"),
        LawSpec::Relief(_) => want(closed(from), "from", "a relief valve protects a closed volume"),
        _ => {}
    }
}
