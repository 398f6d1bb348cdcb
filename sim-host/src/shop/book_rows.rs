//! Rows of a vehicle book from CSV and JSON.
//!
//! A file is taken whole or not at all: what is wrong is told row by row with its line, all of it at once.

use serde::Serialize;
use serde_json::Value;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::order::{Sides, WorkOrder};
use valvewright_core::record::vehicle::{Oil, VEHICLE_NAME, Vehicle, vehicle_name};
use valvewright_core::units::{Microlitre, Milligram};

use crate::scenario::model::OilKind;

/// Columns of the CSV, and keys of the JSON; the first four must be there.
pub const COLUMNS: [&str; 7] = ["name", "refrigerant", "charge_g", "circuit_ml", "oil", "high_voltage", "sides"];
/// How many of them must be there.
const NEEDED: usize = 4;
/// Rows of a file at most: more than the book holds, to tell what is wrong with all of them.
const ROWS: usize = 1_000;
/// Words of oils, refrigerants and couplers.
pub(super) const OILS: [&str; 3] = OilKind::WORDS;
/// See [`OILS`].
pub(super) const SIDES: [(&str, Sides); 3] = [("both", Sides::Both), ("high", Sides::High), ("low", Sides::Low)];
/// See [`OILS`].
pub(super) const REFRIGERANTS: [(&str, Refrigerant); 2] =
    [("R-1234yf", Refrigerant::R1234yf), ("R-134a", Refrigerant::R134a)];

/// What is wrong with a row of a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Wrong {
    /// Its line, or its place in the list, from 1.
    pub line: usize,
    /// What.
    pub why: String,
}

fn choice<T: Copy>(what: &str, text: &str, all: &[(&str, T)]) -> Result<T, String> {
    let words = || all.iter().map(|(word, _)| *word).collect::<Vec<_>>().join(", ");
    all.iter()
        .find(|(word, _)| *word == text)
        .map(|(_, one)| *one)
        .ok_or_else(|| format!("{what} `{text}` is none of: {}", words()))
}

fn amount(what: &str, text: &str, range: (i32, i32), by: f64) -> Result<i32, String> {
    let [low, high] = [range.0, range.1].map(|bound| f64::from(bound) / by);
    let plain = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    let read = text.parse::<f64>().ok().filter(|value| plain && (low..=high).contains(value));
    read.map(|value| (value * by).round() as i32)
        .ok_or_else(|| format!("{what} `{text}` is no number from {low} to {high}"))
}

/// A vehicle from the texts of its row, in the order of [`COLUMNS`]; all that is wrong with it.
pub fn vehicle(cells: &[Option<String>; COLUMNS.len()]) -> Result<Vehicle, Vec<String>> {
    let cell = |at: usize| cells[at].as_deref().map_or("", str::trim);
    let or = |at: usize, usual: &'static str| if cell(at).is_empty() { usual.to_owned() } else { cell(at).to_owned() };
    let name = vehicle_name(cell(0))
        .ok_or_else(|| format!("name `{}` has not 1 to {VEHICLE_NAME} bytes, or a control character", cell(0)));
    let refrigerant = choice("refrigerant", cell(1), &REFRIGERANTS);
    let charge = amount("charge_g", cell(2), (WorkOrder::CHARGE.0.0, WorkOrder::CHARGE.1.0), 1e3);
    let circuit = amount("circuit_ml", cell(3), (WorkOrder::CIRCUIT.0.0, WorkOrder::CIRCUIT.1.0), 1e3);
    let oils: Vec<(&str, Oil)> = OILS.into_iter().zip(Oil::ALL).collect();
    let oil = choice("oil", &or(4, OILS[0]), &oils);
    let high_voltage = choice("high_voltage", &or(5, "false"), &[("false", false), ("true", true)]);
    let sides = choice("sides", &or(6, "both"), &SIDES);
    match (name, refrigerant, charge, circuit, oil, high_voltage, sides) {
        (Ok(name), Ok(refrigerant), Ok(charge), Ok(circuit), Ok(oil), Ok(high_voltage), Ok(sides)) => Ok(Vehicle {
            number: 0,
            name,
            refrigerant,
            charge: Milligram(charge),
            circuit: Microlitre(circuit),
            oil,
            high_voltage,
            sides,
            served: 0,
        }),
        (a, b, c, d, e, f, g) => {
            let wrong = [a.err(), b.err(), c.err(), d.err(), e.err(), f.err(), g.err()];
            Err(wrong.into_iter().flatten().collect())
        }
    }
}

/// The rows of a CSV file, or all that is wrong with it.
pub fn from_csv(text: &str) -> Result<Vec<Vehicle>, Vec<Wrong>> {
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let head = match reader.headers() {
        Ok(head) => head.clone(),
        Err(wrong) => return Err(vec![Wrong { line: 1, why: wrong.to_string() }]),
    };
    // What an export writes beside the columns is read over.
    let known = |name: &str| COLUMNS.contains(&name) || ["number", "kind", "served"].contains(&name);
    let mut wrong: Vec<Wrong> = head
        .iter()
        .filter(|name| !known(name))
        .map(|name| Wrong { line: 1, why: format!("unknown column `{name}`; columns: {}", COLUMNS.join(", ")) })
        .collect();
    for name in COLUMNS.iter().take(NEEDED).filter(|name| !head.iter().any(|one| one == **name)) {
        wrong.push(Wrong { line: 1, why: format!("column `{name}` is missing; columns: {}", COLUMNS.join(", ")) });
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let places = COLUMNS.map(|name| head.iter().position(|one| one == name));
    let mut rows = Vec::new();
    for (at, row) in reader.records().enumerate() {
        let row = match row {
            Ok(row) => row,
            Err(why) => {
                wrong.push(Wrong { line: at + 2, why: why.to_string() });
                continue;
            }
        };
        let line = row.position().map_or(at + 2, |place| place.line() as usize);
        if row.len() != head.len() {
            wrong.push(Wrong { line, why: format!("{} cells, and the first line has {}", row.len(), head.len()) });
            continue;
        }
        let cells = places.map(|place| place.and_then(|place| row.get(place)).map(str::to_owned));
        rows.push((line, cells));
        if rows.len() > ROWS {
            return Err(vec![Wrong { line, why: format!("more than {ROWS} rows") }]);
        }
    }
    gather(rows, wrong)
}

/// The rows of a JSON list, or all that is wrong with it.
pub fn from_json(text: &str) -> Result<Vec<Vehicle>, Vec<Wrong>> {
    let whole = |why: String| Err(vec![Wrong { line: 1, why }]);
    let value: Value = match serde_json::from_str(text) {
        Ok(value) => value,
        Err(why) => return Err(vec![Wrong { line: why.line(), why: format!("is no JSON: {why}") }]),
    };
    let list = match value {
        Value::Array(list) => list,
        Value::Object(mut all) => match all.remove("vehicles") {
            Some(Value::Array(list)) => list,
            _ => return whole("has no list `vehicles`".to_owned()),
        },
        _ => return whole("is no list of vehicles".to_owned()),
    };
    if list.len() > ROWS {
        return whole(format!("more than {ROWS} rows"));
    }
    let (mut rows, mut wrong) = (Vec::new(), Vec::new());
    for (at, one) in list.into_iter().enumerate() {
        let Value::Object(one) = one else {
            wrong.push(Wrong { line: at + 1, why: "is no vehicle".to_owned() });
            continue;
        };
        let strange = one
            .keys()
            .filter(|key| !COLUMNS.contains(&key.as_str()) && !["number", "kind", "served"].contains(&key.as_str()));
        wrong.extend(
            strange
                .map(|key| Wrong { line: at + 1, why: format!("unknown key `{key}`; keys: {}", COLUMNS.join(", ")) }),
        );
        let text = |value: &Value| match value {
            Value::String(text) => text.clone(),
            other => other.to_string(),
        };
        rows.push((at + 1, COLUMNS.map(|name| one.get(name).map(text))));
    }
    gather(rows, wrong)
}

type Rows = Vec<(usize, [Option<String>; COLUMNS.len()])>;

fn gather(rows: Rows, mut wrong: Vec<Wrong>) -> Result<Vec<Vehicle>, Vec<Wrong>> {
    let mut list = Vec::new();
    for (line, cells) in rows {
        match vehicle(&cells) {
            Ok(one) => list.push(one),
            Err(all) => wrong.extend(all.into_iter().map(|why| Wrong { line, why })),
        }
    }
    wrong.sort_by_key(|one| one.line);
    if wrong.is_empty() { Ok(list) } else { Err(wrong) }
}
