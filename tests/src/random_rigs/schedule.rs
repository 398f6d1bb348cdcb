//! Schedules of a drawn network: steps that open, change and wait, ramps among them.

use std::fmt::Write as _;

use super::dice::{Dice, with_unit};
use super::elements::Element;
use super::volumes::Volume;

/// Adds the steps.
pub(super) fn steps(dice: &mut Dice, text: &mut String, volumes: &[Volume], elements: &[Element]) {
    for index in 0..1 + dice.below(5) {
        let time = dice.log(0.5, 3000.0);
        let _ = writeln!(text, "[[step]]\nname = \"s{index}\"\nfor = {}", with_unit(time, "s"));
        let _ = writeln!(text, "output = {}", with_unit((time / 25.0).max(0.02), "s"));
        let set: Vec<String> = elements
            .iter()
            .filter(|element| !matches!(element.kind, "heat link" | "relief valve") && dice.often(55))
            .map(|element| element.name.clone())
            .collect();
        let set: Vec<String> = set
            .into_iter()
            .map(|name| format!("{name} = {}", dice.weighted(&[(45, "1"), (25, "0"), (20, "0.3"), (10, "0.01")])))
            .collect();
        if !set.is_empty() {
            let _ = writeln!(text, "set = {{ {} }}", set.join(", "));
        }
        let ramp = ramp(dice, volumes);
        if ramp.is_none() && dice.often(20) {
            until(dice, text, volumes);
        }
        if dice.often(20) {
            change(dice, text, volumes, elements);
        }
        if let Some((name, celsius)) = ramp {
            let _ = writeln!(text, "[step.ramp]\n\"{name}.surroundings\" = {}", with_unit(celsius, "degC"));
        }
    }
}

fn ramp(dice: &mut Dice, volumes: &[Volume]) -> Option<(String, f64)> {
    if !dice.often(15) {
        return None;
    }
    let walls = volumes.iter().filter(|volume| volume.wall).map(|volume| volume.name.clone());
    let cold = volumes.iter().filter(|volume| volume.cold_wall).map(|volume| format!("{}.cold_wall", volume.name));
    let all: Vec<String> = walls.chain(cold).collect();
    if all.is_empty() {
        return None;
    }
    let at = dice.below(all.len());
    Some((all[at].clone(), dice.even(-40.0, 70.0)))
}

fn until(dice: &mut Dice, text: &mut String, volumes: &[Volume]) {
    let closed: Vec<&str> = volumes.iter().filter(|volume| volume.closed).map(|volume| volume.name.as_str()).collect();
    let name = dice.pick(&closed);
    let _ = match dice.below(4) {
        0 => writeln!(text, "until = \"{name}.p < {:.1} kPa\"", dice.log(0.1, 500.0)),
        1 => writeln!(text, "until = \"{name}.p > {:.1} kPa\"", dice.log(50.0, 2000.0)),
        2 => writeln!(text, "until = \"{name}.m rises by {:.2} g\"", dice.log(0.1, 500.0)),
        _ => writeln!(text, "until = \"{name}.m falls by {:.2} g\"", dice.log(0.1, 500.0)),
    };
}

fn change(dice: &mut Dice, text: &mut String, volumes: &[Volume], elements: &[Element]) {
    let mut lines = Vec::new();
    for element in elements {
        if !dice.often(25) {
            continue;
        }
        let (key, value) = match element.kind {
            "orifice" | "liquid orifice" | "check valve" => ("diameter", with_unit(dice.log(0.1, 5.0), "mm")),
            "hose" | "duct" => ("length", with_unit(dice.log(0.2, 5.0), "m")),
            "compressor" => ("speed", with_unit(dice.log(5.0, 60.0), "Hz")),
            "vacuum pump" => ("speed", with_unit(dice.log(10.0, 200.0), "L/min")),
            "heater" => ("power", with_unit(dice.log(5.0, 500.0), "W")),
            "heat link" => ("conductance", with_unit(dice.log(0.1, 10.0), "W/K")),
            _ => continue,
        };
        lines.push(format!("\"{}.{key}\" = {value}", element.name));
    }
    for volume in volumes.iter().filter(|volume| volume.wall) {
        if dice.often(20) {
            lines.push(format!("\"{}.surroundings\" = {}", volume.name, with_unit(dice.even(-40.0, 70.0), "degC")));
        }
    }
    if dice.often(30) {
        lines.push(format!("\"ambient.temperature\" = {}", with_unit(dice.even(-20.0, 55.0), "degC")));
    }
    if !lines.is_empty() {
        let _ = writeln!(text, "[step.change]\n{}", lines.join("\n"));
    }
}
