//! Presets of the phases: shown, changed within the ranges of a work order, and put where a scenario's order says nothing.

use std::ops::RangeInclusive;

use serde::Serialize;
use toml_edit::{Document, Item};
use valvewright_core::order::{Sides, WorkOrder};
use valvewright_core::record::presets::Presets;
use valvewright_core::units::{AbsPa, Microlitre, Milligram, Millis};

use super::Trouble;
use crate::scenario::Scenario;
use crate::scenario::diagnostic::{Source, nearest};
use crate::scenario::model::Order;
use crate::scenario::quantity::{self, Dim};

/// What can be preset: its name, what it is, its range in SI and the unit it is shown in.
struct Parameter {
    name: &'static str,
    kind: Kind,
    /// Key of a scenario's order that says it; empty where a scenario always says it.
    key: &'static str,
    what: &'static str,
}

enum Kind {
    Number(Dim, RangeInclusive<f64>, &'static str),
    Choice(&'static [&'static str]),
}

fn seconds(range: (Millis, Millis)) -> RangeInclusive<f64> {
    f64::from(range.0.0) * 1e-3..=f64::from(range.1.0) * 1e-3
}
fn pascal(range: (AbsPa, AbsPa)) -> RangeInclusive<f64> {
    f64::from(range.0.0)..=f64::from(range.1.0)
}
fn kilograms(range: (Milligram, Milligram)) -> RangeInclusive<f64> {
    f64::from(range.0.0) * 1e-6..=f64::from(range.1.0) * 1e-6
}

fn parameters() -> [Parameter; 10] {
    let one = |name, kind, key, what| Parameter { name, kind, key, what };
    let circuit = f64::from(WorkOrder::CIRCUIT.0.0) * 1e-9..=f64::from(WorkOrder::CIRCUIT.1.0) * 1e-9;
    let time = |range| Kind::Number(Dim::Time, seconds(range), "min");
    [
        one("charge.mass", Kind::Number(Dim::Mass, kilograms(WorkOrder::CHARGE), "g"), "", "charge target"),
        one("charge.sides", Kind::Choice(&["both", "high", "low"]), "sides", "couplers to work through"),
        one("drain_oil.replace", Kind::Choice(&["no", "yes"]), "", "replace the oil that was drained"),
        one(
            "pressure_test.over",
            Kind::Number(Dim::Pressure, pascal(WorkOrder::TEST_OVER), "bar"),
            "test_over",
            "nitrogen over the barometer",
        ),
        one("pressure_test.hold", time(WorkOrder::TEST_HOLD), "test_hold", "time of the pressure test"),
        one("evacuate.time", time(WorkOrder::EVACUATE), "evacuate_time", "least time of evacuation"),
        one(
            "evacuate.depth",
            Kind::Number(Dim::Pressure, pascal(WorkOrder::DEPTH), "mbar"),
            "evacuate_depth",
            "depth to be reached",
        ),
        one("leak_check.hold", time(WorkOrder::LEAK_HOLD), "leak_hold", "time of the vacuum hold"),
        one("leak_check.circuit", Kind::Number(Dim::Volume, circuit, "L"), "", "volume of the vehicle's circuit"),
        one(
            "inject_oil.extra",
            Kind::Number(Dim::Mass, kilograms(WorkOrder::OIL_EXTRA), "g"),
            "inject_oil",
            "new oil on top of what was drained",
        ),
    ]
}

/// A value in SI, or the place of a choice.
fn get(of: &Presets, name: &str) -> Option<f64> {
    let time = |time: Millis| f64::from(time.0) * 1e-3;
    let mass = |mass: Milligram| f64::from(mass.0) * 1e-6;
    let pressure = |pressure: AbsPa| f64::from(pressure.0);
    match name {
        "charge.mass" => of.charge.map(mass),
        "charge.sides" => of.sides.map(|side| f64::from(side as u8)),
        "drain_oil.replace" => of.oil_replace.map(|yes| f64::from(u8::from(yes))),
        "pressure_test.over" => of.test_over.map(pressure),
        "pressure_test.hold" => of.test_hold.map(time),
        "evacuate.time" => of.evacuate.map(time),
        "evacuate.depth" => of.depth.map(pressure),
        "leak_check.hold" => of.leak_hold.map(time),
        "leak_check.circuit" => of.circuit.map(|volume| f64::from(volume.0) * 1e-9),
        _ => of.oil_extra.map(mass),
    }
}

fn set(of: &mut Presets, name: &str, si: Option<f64>) {
    let scaled = |by: f64| si.map(|si| (si * by).round() as i32);
    let time = scaled(1e3).map(|ms| Millis(ms.unsigned_abs()));
    let (mass, pressure) = (scaled(1e6).map(Milligram), scaled(1.0).map(AbsPa));
    match name {
        "charge.mass" => of.charge = mass,
        "charge.sides" => {
            of.sides = si.map(|at| *[Sides::Both, Sides::High, Sides::Low].get(at as usize).unwrap_or(&Sides::Both));
        }
        "drain_oil.replace" => of.oil_replace = si.map(|at| at > 0.5),
        "pressure_test.over" => of.test_over = pressure,
        "pressure_test.hold" => of.test_hold = time,
        "evacuate.time" => of.evacuate = time,
        "evacuate.depth" => of.depth = pressure,
        "leak_check.hold" => of.leak_hold = time,
        "leak_check.circuit" => of.circuit = scaled(1e9).map(Microlitre),
        _ => of.oil_extra = mass,
    }
}

/// A line of the list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// Its name.
    pub name: &'static str,
    /// What it is.
    pub what: &'static str,
    /// Its value with its unit; none where it is not preset.
    pub value: Option<String>,
    /// What it may be.
    pub range: String,
    /// A scenario's order leaves it to the preset where it says nothing.
    pub applies: bool,
}

/// All that can be preset.
pub fn lines(of: &Presets) -> Vec<Line> {
    let line = |one: Parameter| {
        let value = get(of, one.name);
        let (value, range) = match &one.kind {
            Kind::Number(dim, range, unit) => {
                (value.map(|si| quantity::text(*dim, si, Some(unit))), quantity::range_text(*dim, range, Some(unit)))
            }
            Kind::Choice(words) => {
                (value.and_then(|at| words.get(at as usize)).map(|word| (*word).to_owned()), words.join(", "))
            }
        };
        Line { name: one.name, what: one.what, value, range, applies: !one.key.is_empty() }
    };
    parameters().into_iter().map(line).collect()
}

/// Changes one: `evacuate.time=30 min`; `none` takes it away.
///
/// # Errors
/// It has no such name, no such unit, or is outside its range, which is named.
pub fn change(of: &mut Presets, text: &str) -> Result<(), Trouble> {
    let all = parameters();
    let names = || all.iter().map(|one| one.name);
    let list = names().collect::<Vec<_>>().join(", ");
    let Some((name, value)) = text.split_once('=').map(|(name, value)| (name.trim(), value.trim())) else {
        return Err(Trouble::new(
            format!("`{text}` is no preset"),
            format!("write PHASE.PARAMETER=VALUE; presets: {list}"),
        ));
    };
    let Some(one) = all.iter().find(|one| one.name == name) else {
        let near = nearest(name, names()).map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
        return Err(Trouble::new(format!("nothing is preset as `{name}`"), format!("{near}presets: {list}")));
    };
    if value == "none" {
        set(of, one.name, None);
        return Ok(());
    }
    let si = match &one.kind {
        Kind::Number(dim, range, unit) => {
            let wrong = |why: String| {
                let range = quantity::range_text(*dim, range, Some(unit));
                Trouble::new(format!("{name}: {why}"), format!("accepted range: {range}; `none` takes the preset away"))
            };
            let read = quantity::parse(value, *dim).map_err(|why| wrong(why.to_string()))?;
            read.within(*dim, range).map_err(|_| wrong(format!("`{value}` is outside its range")))?
        }
        Kind::Choice(words) => {
            let at = words.iter().position(|word| *word == value);
            at.ok_or_else(|| {
                Trouble::new(format!("{name}: `{value}` is no choice"), format!("accepted: {}, none", words.join(", ")))
            })? as f64
        }
    };
    set(of, one.name, Some(si));
    Ok(())
}

/// Keys that the order of each job of a scenario's text says; of a text that is no scenario, none.
fn said(source: &Source) -> Vec<Vec<String>> {
    let Ok(document) = Document::parse(source.text.as_str()) else { return Vec::new() };
    let keys = |table: &dyn toml_edit::TableLike| table.iter().map(|(key, _)| key.to_owned()).collect::<Vec<_>>();
    let root = document.as_table();
    match root.get("job") {
        Some(Item::ArrayOfTables(jobs)) => jobs.iter().map(|job| keys(job)).collect(),
        Some(item) => {
            let list = item
                .as_array()
                .map(|all| all.iter().filter_map(|one| one.as_inline_table()).map(|one| keys(one)).collect());
            list.unwrap_or_default()
        }
        None => vec![root.get("order").and_then(Item::as_table_like).map(keys).unwrap_or_default()],
    }
}

fn put(order: &mut Order, presets: &Presets, oil_density: f64, name: &str) -> bool {
    let Some(si) = get(presets, name) else { return false };
    match name {
        "charge.sides" => order.sides = presets.sides.unwrap_or(order.sides),
        "pressure_test.over" => order.test_over = si,
        "pressure_test.hold" => order.test_hold = si,
        "evacuate.time" => order.evacuate_time = si,
        "evacuate.depth" => order.evacuate_depth = si,
        "leak_check.hold" => order.leak_hold = si,
        "inject_oil.extra" => order.inject_oil = si / oil_density,
        _ => return false,
    }
    true
}

/// Puts presets where the orders of a scenario say nothing, and tells which, by job.
pub fn apply(presets: &Presets, scenario: &mut Scenario, source: &Source) -> Vec<String> {
    /// Used by [`crate::run`] for the same oil, kg/m3.
    const OIL: f64 = crate::run::OIL_DENSITY;
    let (said, shown) = (said(source), lines(presets));
    let several = !scenario.then.is_empty();
    let orders = std::iter::once(&mut scenario.order).chain(scenario.then.iter_mut().map(|job| &mut job.order));
    let mut used = Vec::new();
    for (at, order) in orders.enumerate() {
        let Some(said) = said.get(at) else { continue };
        for one in parameters().iter().filter(|one| !one.key.is_empty() && !said.iter().any(|key| key == one.key)) {
            if put(order, presets, OIL, one.name) {
                let value = shown.iter().find(|line| line.name == one.name).and_then(|line| line.value.clone());
                let job = if several { format!("job {}: ", at + 1) } else { String::new() };
                used.push(format!("{job}{} {}", one.name, value.unwrap_or_default()));
            }
        }
    }
    used
}
