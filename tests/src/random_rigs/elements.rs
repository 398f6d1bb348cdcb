//! Elements of a drawn network: every kind, between places it can join.

use std::fmt::Write as _;

use valvewright_sim::scenario::quantity::short;

use super::dice::{Dice, with_unit};
use super::volumes::Volume;

/// A drawn element, as far as the schedule needs it.
pub(super) struct Element {
    pub name: String,
    pub kind: &'static str,
}

const KINDS: &[(usize, &str)] = &[
    (22, "orifice"),
    (12, "liquid orifice"),
    (8, "check valve"),
    (8, "leak"),
    (10, "duct"),
    (14, "hose"),
    (8, "compressor"),
    (6, "vacuum pump"),
    (5, "relief valve"),
    (6, "heater"),
    (6, "oil line"),
    (5, "heat link"),
    (3, "fan"),
];

/// Adds an element, if the kind drawn finds places to join. `sealed`: nothing may lead out of the network.
pub(super) fn element(
    dice: &mut Dice,
    text: &mut String,
    index: usize,
    volumes: &[Volume],
    sealed: bool,
) -> Option<Element> {
    let kind = dice.weighted(KINDS);
    let (from, to) = ends(dice, kind, volumes, sealed)?;
    let name = format!("e{index}");
    let _ = writeln!(text, "[element.{name}]\nkind = \"{kind}\"\nfrom = \"{from}\"");
    if let Some(to) = to {
        let _ = writeln!(text, "to = \"{to}\"");
    }
    if dice.often(25) {
        let _ = writeln!(text, "opening = {}", dice.pick(&["0", "1", "0.3", "0.02"]));
    }
    if dice.often(25) {
        let _ = writeln!(text, "stroke = {}", with_unit(dice.size([0.02, 5.0], [1e-3, 600.0]), "s"));
    }
    if dice.often(10) {
        let _ = writeln!(text, "leak_by = {}", with_unit(dice.log(1e-4, 10.0), "%"));
    }
    law(dice, text, &name, kind, sealed);
    Some(Element { name, kind })
}

fn ends(dice: &mut Dice, kind: &str, volumes: &[Volume], sealed: bool) -> Option<(String, Option<String>)> {
    let all = |fine: &dyn Fn(&Volume) -> bool| -> Vec<&str> {
        volumes.iter().filter(|volume| fine(volume)).map(|volume| volume.name.as_str()).collect()
    };
    let closed = all(&|volume| volume.closed);
    let (firsts, mut seconds) = match kind {
        "heater" => (all(&|volume| volume.wall), Vec::new()),
        "fan" => (all(&|volume| volume.cabinet), Vec::new()),
        "compressor" | "heat link" => (closed.clone(), closed),
        "oil line" => (all(&|volume| volume.oil), all(&|volume| volume.oil)),
        "vacuum pump" | "relief valve" => (closed, all(&|volume| volume.closed || volume.cabinet)),
        _ => (closed, all(&|_| true)),
    };
    if firsts.is_empty() {
        return None;
    }
    let from = dice.pick(&firsts);
    if matches!(kind, "heater" | "fan") {
        return Some((from.to_owned(), None));
    }
    seconds.retain(|name| *name != from);
    let out = match kind {
        "compressor" | "heat link" | "oil line" => false,
        "vacuum pump" | "relief valve" => dice.often(70),
        _ => dice.often(15),
    };
    let to = if out && !sealed {
        if dice.often(85) { "ambient" } else { "vacuum" }
    } else if seconds.is_empty() {
        return None;
    } else {
        dice.pick(&seconds)
    };
    // Half of them point the other way: what is drawn at the far end matters as well.
    let turned =
        matches!(kind, "orifice" | "liquid orifice" | "check valve" | "leak" | "duct" | "hose") && dice.often(30);
    let (from, to) = if turned { (to, from) } else { (from, to) };
    Some((from.to_owned(), Some(to.to_owned())))
}

fn law(dice: &mut Dice, text: &mut String, name: &str, kind: &str, sealed: bool) {
    match kind {
        "orifice" | "check valve" | "leak" => orifice(dice, text, kind),
        "liquid orifice" => {
            diameter(dice, text, [0.2, 4.0]);
            maybe(dice, text, 30, "discharge", [30.0, 100.0], "%");
            maybe(dice, text, 30, "smoothing", [1.0, 2e4], "Pa");
            maybe(dice, text, 30, "flashing_limit", [20.0, 100.0], "%");
            if dice.often(40) {
                let _ = writeln!(text, "one_way = {}", dice.pick(&["true", "false"]));
            }
        }
        "duct" => {
            pipe(dice, text);
            maybe(dice, text, 50, "entrance_discharge", [20.0, 100.0], "%");
            maybe(dice, text, 30, "viscosity", [8.0, 30.0], "uPa s");
        }
        "hose" => {
            let bore = pipe(dice, text);
            maybe(dice, text, 40, "roughness", [1e-4 * bore, 0.049 * bore], "mm");
            maybe(dice, text, 40, "fittings", [0.5, 60.0], "");
            maybe(dice, text, 30, "smoothing", [0.1, 1e4], "Pa");
            draws(dice, text);
        }
        "compressor" => compressor(dice, text),
        "vacuum pump" => pump(dice, text, name, sealed),
        "relief valve" => {
            diameter(dice, text, [1.0, 6.0]);
            let set = dice.size([1.0, 25.0], [0.02, 100.0]);
            let _ = writeln!(text, "set = {}", with_unit(set, "bar"));
            let _ = writeln!(text, "reseat = {}", with_unit(set * dice.even(0.7, 0.98), "bar"));
            maybe(dice, text, 30, "exponent", [1.02, 1.6], "");
        }
        "heater" => {
            let _ = writeln!(text, "power = {}", with_unit(dice.size([5.0, 800.0], [0.1, 1e5]), "W"));
            maybe(dice, text, 50, "heat_capacity", [20.0, 2e3], "J/K");
            maybe(dice, text, 50, "to_wall", [0.5, 100.0], "W/K");
        }
        "oil line" => {
            let _ = writeln!(text, "flow_at_1_bar = {}", with_unit(dice.size([0.1, 50.0], [1e-3, 1e4]), "g/s"));
            maybe(dice, text, 30, "outlet_margin", [0.1, 20.0], "g");
            maybe(dice, text, 30, "balanced_head", [100.0, 5e3], "Pa");
        }
        "heat link" => {
            let _ = writeln!(text, "conductance = {}", with_unit(dice.size([0.05, 20.0], [1e-4, 1e5]), "W/K"));
        }
        _ => {
            let _ = writeln!(text, "flow = {}", with_unit(dice.size([5.0, 200.0], [0.01, 3e4]), "m3/h"));
        }
    }
}

fn maybe(dice: &mut Dice, text: &mut String, percent: usize, key: &str, [low, high]: [f64; 2], unit: &str) {
    if !dice.often(percent) {
        return;
    }
    let value = dice.log(low, high);
    let written = if unit.is_empty() { short(value) } else { with_unit(value, unit) };
    let _ = writeln!(text, "{key} = {written}");
}

fn diameter(dice: &mut Dice, text: &mut String, usual: [f64; 2]) {
    let value = if dice.often(2) { 0.0 } else { dice.size(usual, [1e-3, 100.0]) };
    let _ = writeln!(text, "diameter = {}", with_unit(value, "mm"));
}

/// Bore, length and number; returns the bore, mm.
fn pipe(dice: &mut Dice, text: &mut String) -> f64 {
    let bore = dice.size([1.5, 10.0], [0.01, 100.0]);
    let _ = writeln!(text, "diameter = {}", with_unit(bore, "mm"));
    let _ = writeln!(text, "length = {}", with_unit(dice.size([0.1, 8.0], [1e-3, 100.0]), "m"));
    if dice.often(20) {
        let _ = writeln!(text, "count = {}", dice.pick(&["2", "3", "20"]));
    }
    bore
}

fn draws(dice: &mut Dice, text: &mut String) {
    let words = ["vapour", "liquid", "mixed"];
    let one_way = dice.often(20);
    if one_way {
        text.push_str("one_way = true\n");
    }
    if dice.often(60) {
        let _ = writeln!(text, "draws = \"{}\"", dice.pick(&words));
    }
    if !one_way && dice.often(30) {
        let _ = writeln!(text, "draws_back = \"{}\"", dice.pick(&words));
    }
}

fn orifice(dice: &mut Dice, text: &mut String, kind: &str) {
    diameter(dice, text, if kind == "leak" { [0.01, 0.3] } else { [0.3, 6.0] });
    maybe(dice, text, 40, "discharge", [30.0, 100.0], "%");
    maybe(dice, text, 30, "exponent", [1.02, 1.6], "");
    maybe(dice, text, 25, "nonequilibrium", [1.0, 2.4], "");
    maybe(dice, text, 30, "smoothing", [0.1, 2e4], "Pa");
    if dice.often(30) {
        let _ = writeln!(text, "flow = \"{}\"", dice.pick(&["real", "ideal"]));
    }
    match kind {
        "check valve" => {
            maybe(dice, text, 50, "cracking", [10.0, 5e4], "Pa");
            if dice.often(50) {
                let _ = writeln!(text, "draws = \"{}\"", dice.pick(&["vapour", "liquid", "mixed"]));
            }
        }
        _ => draws(dice, text),
    }
}

fn compressor(dice: &mut Dice, text: &mut String) {
    let _ = writeln!(text, "displacement = {}", with_unit(dice.size([2.0, 30.0], [1e-3, 1e4]), "cm3"));
    let _ = writeln!(text, "speed = {}", with_unit(dice.size([5.0, 60.0], [0.1, 500.0]), "Hz"));
    maybe(dice, text, 40, "clearance", [1.0, 20.0], "%");
    maybe(dice, text, 40, "isentropic_efficiency", [20.0, 100.0], "%");
    maybe(dice, text, 40, "shell_loss", [0.1, 20.0], "W/K");
    maybe(dice, text, 50, "condenser", [1.0, 200.0], "W/K");
    maybe(dice, text, 30, "current_per_kilowatt", [2.0, 10.0], "A");
}

fn pump(dice: &mut Dice, text: &mut String, name: &str, sealed: bool) {
    let _ = writeln!(text, "speed = {}", with_unit(dice.size([10.0, 200.0], [1e-2, 6e4]), "L/min"));
    let _ = writeln!(text, "ultimate = {}", with_unit(dice.size([0.5, 500.0], [1e-2, 900.0]), "Pa"));
    maybe(dice, text, 40, "stall", [1.1, 5.0], "bar");
    let hose = dice.often(40);
    // In a sealed network ballast would bring in air, and water that stays in the oil would be missed.
    let oil = !sealed && dice.often(50);
    if hose {
        let _ = writeln!(text, "[element.{name}.hose]");
        pipe(dice, text);
    }
    if oil {
        let _ = writeln!(text, "[element.{name}.oil]");
        maybe(dice, text, 50, "mass", [50.0, 2e3], "g");
        maybe(dice, text, 50, "water", [1e-3, 5.0], "g");
        maybe(dice, text, 30, "saturation", [0.05, 5.0], "%");
        maybe(dice, text, 30, "temperature", [20.0, 90.0], "degC");
        maybe(dice, text, 30, "wet_ultimate", [1e3, 5e3], "Pa");
        maybe(dice, text, 50, "ballast", [0.1, 10.0], "L/min");
    }
}
