//! Liquid between shut valves: how it rises as it warms, and the spring check of the shipped stations that gives it a way out (H03).

use valvewright_sim::plant::{Plant, Tolerance, parse};
use valvewright_sim::scenario::diagnostic::Source;

const STATIONS: [(&str, &str); 2] = [
    ("workshop", include_str!("../../sim-host/networks/workshop.toml")),
    ("fleet_yard", include_str!("../../sim-host/networks/fleet_yard.toml")),
];

/// One element of a station's file.
fn element(file: &str, name: &str) -> String {
    let from = file.find(&format!("[element.\"{name}\"]")).unwrap_or_else(|| panic!("no {name}"));
    file[from..].split("\n\n").next().unwrap_or_default().to_owned()
}

/// A manifold of 10 mL that a trip shut on liquid at 20 degC, in a cabinet that warms to 45 degC: its pressure over the vessel's
/// after an hour, bar. Its walls give as those of the shipped station do.
fn over_the_vessel(relief: &str) -> f64 {
    let text = format!(
        "refrigerant = \"R1234yf\"\n[ambient]\ntemperature = \"45 degC\"\n\
         [volume.vessel]\nvolume = \"12.5 L\"\ntemperature = \"20 degC\"\nrefrigerant = \"6 kg\"\n\
         [volume.manifold]\nvolume = \"10 mL\"\ntemperature = \"20 degC\"\nrefrigerant = \"11.1 g\"\ncompliance = \"2e-8 1/Pa\"\n\
         [volume.manifold.wall]\nheat_capacity = \"500 J/K\"\nto_surroundings = \"1 W/K\"\nwet = \"3 W/K\"\ndry = \"0.5 W/K\"\nhalf_liquid = \"5 g\"\n\
         {relief}\n"
    );
    let network = parse::network(&Source::new("locked.toml", &text)).unwrap_or_else(|all| panic!("{}\n{text}", all[0]));
    let mut plant = Plant::new(&network, Tolerance::STATION).expect("network builds");
    plant.advance(3_600.0);
    let read = |name: &str| plant.read(plant.signal(name).unwrap_or_else(|| panic!("no signal {name}")));
    (read("manifold.p") - read("vessel.p")) / 1e5
}

#[test]
fn what_warms_between_shut_valves_leaves_by_the_spring_check() {
    let locked = over_the_vessel("");
    assert!(locked > 20.0, "{locked} bar over the vessel without a way out");
    for (name, file) in STATIONS {
        let over = over_the_vessel(&element(file, "NRV-2"));
        assert!((5.0..10.5).contains(&over), "{name}: {over} bar over the vessel, the check opens at 10");
    }
}
