//! The plant starts with what the scenario says: every gram of refrigerant, the oil in its bottle.

use valvewright_sim::plant::{Plant, Tolerance};
use valvewright_sim::run::network_of;
use valvewright_tests::job_runs::{Edit, scenario};

const DEMO: &str = "mild_hatchback";

fn plant(edits: &[Edit<'_>]) -> Plant {
    let spec = network_of(&scenario(DEMO, edits, "")).unwrap_or_else(|fault| panic!("{fault}"));
    Plant::new(&spec, Tolerance::STATION).unwrap_or_else(|fault| panic!("{fault}"))
}

/// Free and dissolved refrigerant of the vehicle's volumes, g.
fn vehicle_grams(plant: &Plant) -> f64 {
    let read = |name: String| plant.signal(&name).map_or(0.0, |signal| plant.read(signal)) * 1e3;
    let volumes = ["vehicle_high", "vehicle_low", "accumulator"];
    volumes.iter().map(|v| read(format!("{v}.m")) + read(format!("{v}.m_dissolved"))).sum()
}

/// Ordinary, nearly empty (less than the oil could hold), all gas, and with an accumulator too small for its share of liquid.
#[test]
fn the_vehicle_holds_its_content_to_the_milligram() {
    let small = ("accumulator = \"0.8 L\"", "accumulator = \"0.1 L\"");
    for (grams, more) in [("445 g", None), ("20 g", None), ("100 g", None), ("1400 g", Some(small))] {
        let content = format!("content = \"{grams}\" ");
        let mut edits: Vec<Edit<'_>> = vec![("content = \"445 g\" ", &content)];
        edits.extend(more);
        let (seen, told) = (vehicle_grams(&plant(&edits)), grams.trim_end_matches(" g"));
        let told: f64 = told.parse().expect("a number");
        assert!((seen - told).abs() < 1e-3, "{seen} g in the plant, {told} g in the scenario, {edits:?}");
    }
}

#[test]
fn the_new_oil_bottle_holds_what_the_scenario_says() {
    let station = "vessel_content = \"6 kg\"";
    let plant = plant(&[(station, "vessel_content = \"6 kg\"\nnew_oil_amount = \"120 mL\"")]);
    let oil = plant.signal("new_oil.m_oil").map(|signal| plant.read(signal)).expect("a bottle of new oil");
    // 0.98 kg/L, from memory.
    assert!((oil - 0.1176).abs() < 1e-9, "{oil} kg");
}

/// To the limit of the format, at rest and hot: the liquid is spread so that no part is fuller than full.
#[test]
fn a_circuit_full_to_its_limit_fits_into_the_plant() {
    for (bay, grams) in [("24 degC", 3_420), ("45 degC", 3_420), ("70 degC", 3_017)] {
        let (bay, content) = (format!("engine_bay = \"{bay}\""), format!("content = \"{grams} g\" "));
        let edits: Vec<Edit<'_>> = vec![("engine_bay = \"24 degC\"", &bay), ("content = \"445 g\" ", &content)];
        let seen = vehicle_grams(&plant(&edits));
        assert!((seen - f64::from(grams)).abs() < 1e-3, "{seen} g in the plant, {edits:?}");
    }
}

/// So it is with the other refrigerant, the lighter one here, in a station for R-134a; and no more of it is let in.
#[test]
fn a_circuit_full_of_the_lighter_refrigerant_fits_too() {
    let run = |bay: &str, grams: u32| {
        let (bay, content) = (format!("engine_bay = \"{bay}\""), format!("content = \"{grams} g\" "));
        let edits = [
            ("[station]\nrefrigerant = \"R-1234yf\"", "[station]\nrefrigerant = \"R-134a\""),
            ("engine_bay = \"24 degC\"", bay.as_str()),
            ("content = \"445 g\" ", content.as_str()),
            ("oil_amount = \"120 mL\"", "oil_amount = \"120 mL\"\nair = \"19 g\""),
        ];
        let mut plant = plant(&edits);
        plant.advance(30.0);
        plant.fault().map(ToString::to_string)
    };
    for (bay, grams) in [("20 degC", 3_335), ("24 degC", 3_420), ("70 degC", 3_017)] {
        assert_eq!(run(bay, grams), None, "{grams} g at {bay}");
    }
}
