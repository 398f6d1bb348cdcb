//! The vehicle book: entries of the workshop's own and those that were served lately, as text, CSV and JSON, in and out.
//!
//! Numbers are given once; what is added is added whole or not at all.

use serde::{Deserialize, Serialize};
use valvewright_core::order::Sides;
use valvewright_core::record::meter::Meter;
use valvewright_core::record::vehicle::{Oil, VEHICLE_NAME, Vehicle, vehicle_name};
use valvewright_core::record::workshop::{Item, key};
use valvewright_core::units::{Microlitre, Milligram};

use super::Trouble;
use super::book_rows::{COLUMNS, OILS, REFRIGERANTS, SIDES};
use super::opened::{Shop, when};
use crate::scenario::Scenario;
use crate::scenario::model::OilKind;

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
