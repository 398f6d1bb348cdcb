//! The vehicle book: entries of the workshop's own and those that were served lately, as text, CSV and JSON, in and out.
//!
//! An import takes every row or none: what is wrong is told row by row with its line, all of it at once.

use serde::{Deserialize, Serialize};
use serde_json::Value;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::order::{Sides, WorkOrder};
use valvewright_core::record::meter::Meter;
use valvewright_core::record::vehicle::{Oil, VEHICLE_NAME, Vehicle, vehicle_name};
use valvewright_core::record::workshop::{Item, key};
use valvewright_core::units::{Microlitre, Milligram};

use super::Trouble;
use super::opened::{Shop, when};
use crate::scenario::Scenario;
use crate::scenario::model::OilKind;

/// Columns of the CSV, and keys of the JSON; the first four must be there.
pub const COLUMNS: [&str; 7] = ["name", "refrigerant", "charge_g", "circuit_ml", "oil", "high_voltage", "sides"];
/// How many of them must be there.
const NEEDED: usize = 4;
/// Rows of a file at most: more than the book holds, to tell what is wrong with all of them.
const ROWS: usize = 1_000;
const OILS: [&str; 3] = OilKind::WORDS;
const SIDES: [(&str, Sides); 3] = [("both", Sides::Both), ("high", Sides::High), ("low", Sides::Low)];
const REFRIGERANTS: [(&str, Refrigerant); 2] = [("R-1234yf", Refrigerant::R1234yf), ("R-134a", Refrigerant::R134a)];

/// An entry as it is shown and written.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Number in the book.
    #[serde(default)]
    pub number: u32,
    /// `own` or `recent`.
    #[serde(default)]
    pub kind: String,
    /// Its name.
    pub name: String,
    /// `R-1234yf` or `R-134a`.
    pub refrigerant: String,
    /// Charge on its label, g.
    pub charge_g: f64,
    /// Volume of its circuit, mL.
    pub circuit_ml: f64,
    /// Oil of its compressor.
    pub oil: String,
    /// High-voltage compressor.
    pub high_voltage: bool,
    /// Couplers that it has.
    pub sides: String,
    /// Its last service.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub served: Option<String>,
}

fn entry(of: &Vehicle, own: bool) -> Entry {
    let named =
        |all: &[(&'static str, Sides)]| all.iter().find(|(_, side)| *side == of.sides).map_or("", |(word, _)| word);
    Entry {
        number: of.number,
        kind: if own { "own" } else { "recent" }.to_owned(),
        name: of.name.to_string(),
        refrigerant: REFRIGERANTS
            .iter()
            .find(|(_, one)| *one == of.refrigerant)
            .map_or("", |(word, _)| word)
            .to_owned(),
        charge_g: f64::from(of.charge.0) * 1e-3,
        circuit_ml: f64::from(of.circuit.0) * 1e-3,
        oil: OILS[of.oil as usize].to_owned(),
        high_voltage: of.high_voltage,
        sides: named(&SIDES).to_owned(),
        served: (of.served != 0).then(|| when(of.served)),
    }
}

fn keys(own: bool) -> std::ops::Range<u8> {
    if own { key::FIRST_OWN..key::FIRST_OWN + key::OWN } else { key::FIRST_RECENT..key::FIRST_RECENT + key::RECENT }
}

/// All of one kind with the key of each, and how many can't be believed.
pub fn all(shop: &Shop, own: bool) -> (Vec<(u8, Vehicle)>, usize) {
    let (mut list, mut damaged) = (Vec::new(), 0);
    shop.look(|store| {
        for key in keys(own) {
            match store.vehicle(key) {
                Ok(Item::Sound(vehicle)) => list.push((key, vehicle)),
                Ok(Item::Absent) => {}
                Ok(Item::Damaged) | Err(_) => damaged += 1,
            }
        }
    });
    list.sort_by_key(|(_, one)| one.number);
    (list, damaged)
}

/// The book, own entries first.
pub fn entries(shop: &Shop) -> (Vec<Entry>, usize) {
    let (own, bad) = all(shop, true);
    let (recent, worse) = all(shop, false);
    let list = own.iter().map(|(_, one)| entry(one, true)).chain(recent.iter().map(|(_, one)| entry(one, false)));
    (list.collect(), bad + worse)
}

fn number(shop: &mut Shop) -> Result<u32, Trouble> {
    shop.change("the vehicle's number", |store| {
        let mut meter = store.meter()?.or(Meter::default()).0;
        // A number that was given once is not given again, even where the count of them was lost.
        let most = (keys(true).chain(keys(false))).filter_map(|key| match store.vehicle(key) {
            Ok(Item::Sound(one)) => Some(one.number),
            _ => None,
        });
        meter.book = meter.book.max(most.max().unwrap_or(0)).saturating_add(1);
        store.put(key::METER, &meter.encode())?;
        Ok(meter.book)
    })
}

/// Takes up vehicles; all of them or, where one has no place, none.
///
/// # Errors
/// The book is full, or the store does not take it.
pub fn add(shop: &mut Shop, vehicles: Vec<Vehicle>) -> Result<Vec<u32>, Trouble> {
    let (own, _) = all(shop, true);
    let free: Vec<u8> = keys(true).filter(|key| !own.iter().any(|(taken, _)| taken == key)).collect();
    if vehicles.len() > free.len() {
        let why = format!(
            "the book has room for {} more entries of {}, and {} are to be added",
            free.len(),
            key::OWN,
            vehicles.len()
        );
        return Err(Trouble::new(why, "take some away: `valvewright station vehicles remove NUMBER --store FILE`"));
    }
    let mut numbers = Vec::new();
    for (key, mut vehicle) in free.into_iter().zip(vehicles) {
        vehicle.number = number(shop)?;
        numbers.push(vehicle.number);
        shop.change("the vehicle", |store| store.put(key, &vehicle.encode()))?;
    }
    Ok(numbers)
}

/// Takes one away.
///
/// # Errors
/// There is none of this number.
pub fn remove(shop: &mut Shop, number: u32) -> Result<String, Trouble> {
    let both = [true, false].into_iter().flat_map(|own| all(shop, own).0);
    let Some((key, vehicle)) = both.into_iter().find(|(_, one)| one.number == number) else {
        let help = "`valvewright station vehicles list --store FILE` says which there are";
        return Err(Trouble::new(format!("the book has no vehicle {number}"), help));
    };
    shop.change("the vehicle", |store| store.take_away(key))?;
    Ok(vehicle.name.to_string())
}

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

/// The book as CSV.
///
/// # Errors
/// None is known: what is written is text.
pub fn to_csv(entries: &[Entry]) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(["number", "kind"].iter().chain(&COLUMNS).chain(&["served"]))?;
    for one in entries {
        let (charge, circuit) = (one.charge_g.to_string(), one.circuit_ml.to_string());
        let (number, high) = (one.number.to_string(), one.high_voltage.to_string());
        let served = one.served.clone().unwrap_or_default();
        writer.write_record([
            &number,
            &one.kind,
            &one.name,
            &one.refrigerant,
            &charge,
            &circuit,
            &one.oil,
            &high,
            &one.sides,
            &served,
        ])?;
    }
    Ok(String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default())
}

/// A label in the bytes that a name of the book has.
fn shortened(label: &str) -> String {
    let mut name: String = label.chars().filter(|one| !one.is_control()).collect::<String>().trim().to_owned();
    while name.len() > VEHICLE_NAME {
        name.pop();
    }
    name.trim().to_owned()
}

/// The number of each job's vehicle in the book; one that is not in it becomes a recent entry, in place of the one that was there longest.
///
/// # Errors
/// The store does not take it.
pub fn of_jobs(shop: &mut Shop, scenario: &Scenario) -> Result<Vec<u32>, Trouble> {
    let mut numbers = Vec::new();
    let vehicles: Vec<_> = scenario.jobs().map(|job| job.vehicle.clone()).collect();
    for one in &vehicles {
        let name = shortened(&one.label);
        let known = [true, false].into_iter().flat_map(|own| all(shop, own).0).find(|(_, of)| of.name.as_str() == name);
        if let Some((_, known)) = known {
            numbers.push(known.number);
            continue;
        }
        let scaled = |si: f64, by: f64| (si * by).round() as i32;
        let oil = OilKind::ALL.iter().position(|kind| *kind == one.oil).and_then(|at| Oil::ALL.get(at));
        let made = vehicle_name(&name).map(|name| Vehicle {
            number: 0,
            name,
            refrigerant: one.refrigerant,
            charge: Milligram(scaled(one.charge_label, 1e6)),
            circuit: Microlitre(scaled(one.volumes.total(), 1e9)),
            oil: oil.copied().unwrap_or(Oil::Pag46),
            high_voltage: one.high_voltage,
            sides: Sides::Both,
            served: 0,
        });
        // What no order could be given for has no place in the book.
        let Some(mut made) = made.filter(Vehicle::fits) else {
            numbers.push(0);
            continue;
        };
        let (recent, _) = all(shop, false);
        let free = keys(false).find(|key| !recent.iter().any(|(taken, _)| taken == key));
        let oldest = recent.iter().min_by_key(|(_, one)| one.number).map(|(key, _)| *key);
        let Some(place) = free.or(oldest) else { continue };
        made.number = number(shop)?;
        numbers.push(made.number);
        shop.change("the recent vehicle", |store| store.put(place, &made.encode()))?;
    }
    Ok(numbers)
}

/// Notes in the book when each was served last.
///
/// # Errors
/// The store does not take it.
pub fn served(shop: &mut Shop, number: u32, clock: u32) -> Result<(), Trouble> {
    let found = [true, false].into_iter().flat_map(|own| all(shop, own).0).find(|(_, one)| one.number == number);
    let Some((key, mut vehicle)) = found else { return Ok(()) };
    vehicle.served = clock;
    shop.change("the vehicle", |store| store.put(key, &vehicle.encode()))
}
