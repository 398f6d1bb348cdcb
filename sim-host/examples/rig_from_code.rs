//! A rig from code: two bottles of refrigerant and an orifice between them, built as data, run, and read by its signals.
//!
//! `cargo run --release -p valvewright-sim --example rig_from_code`

use valvewright_sim::fluid::{Fluid, FluidKind};
use valvewright_sim::plant::spec::{
    ActuatorSpec, AmbientSpec, Amount, Draw, ElementSpec, FillSpec, LawSpec, Mixing, Nozzle, OrificeSpec, PlaceKind,
    VolumeSpec,
};
use valvewright_sim::plant::{NetworkSpec, Plant, Tolerance};

/// A stiff, isothermal bottle of 2 L at 25 degC.
fn bottle(name: &str, refrigerant: Amount) -> VolumeSpec {
    let none = Amount::Mass(0.0);
    VolumeSpec {
        name: name.to_owned(),
        kind: PlaceKind::Closed,
        volume: 2e-3,
        fill: FillSpec { temperature: 298.15, refrigerant, second: 0.0, air: none, humidity: 0.0 },
        isothermal: true,
        compliance: 0.0,
        wall: None,
        cold_wall: None,
        oil: None,
        pool: None,
        air_uptake: None,
        dip_margin: 0.0,
    }
}

fn main() {
    let orifice = OrificeSpec {
        diameter: 0.5e-3,
        discharge: 0.8,
        nozzle: Nozzle::Real { k: 0.0 },
        draw: [Draw::Vapour; 2],
        nonequilibrium: 1.0,
        one_way: false,
        cracking: 0.0,
        regular: 1e3,
    };
    let valve = ElementSpec {
        name: "valve".to_owned(),
        from: "full".to_owned(),
        to: "empty".to_owned(),
        law: LawSpec::Orifice(orifice),
        actuator: ActuatorSpec { start: 0.0, ..ActuatorSpec::default() },
    };
    let network = NetworkSpec {
        fluid: FluidKind::R1234yf,
        second: None,
        mixing: Mixing::default(),
        ambient: AmbientSpec::default(),
        volumes: vec![bottle("full", Amount::Mass(0.4)), bottle("empty", Amount::Pressure(20e3))],
        elements: vec![valve],
    };
    let mut plant = Plant::new(&network, Tolerance::STATION).expect("the network can be built");
    let read = |plant: &Plant, name: &str| plant.read(plant.signal(name).expect("a signal of the network"));
    plant.set(plant.element("valve").expect("it was just built"), 1.0);
    println!("   t/s   full/bar  empty/bar  flow/(g/s)");
    for step in 0..=10 {
        plant.advance(f64::from(step) * 60.0);
        let bar = |name: &str| read(&plant, name) * 1e-5;
        let flow = read(&plant, "valve.flow") * 1e3;
        println!("{:6.0} {:10.3} {:10.3} {flow:11.3}", plant.time(), bar("full.p"), bar("empty.p"));
    }
    let balance = plant.balance();
    println!("refrigerant unaccounted for: {:.1e} of {:.3} kg", balance.mass_error_kg, balance.inventory_kg);
    // Liquid is left in the full bottle, so both end at the pressure of saturation.
    let saturation = Fluid::get(FluidKind::R1234yf).p_sat(298.15);
    let end = read(&plant, "empty.p");
    assert!((end / saturation - 1.0).abs() < 0.01, "{end} Pa, saturation {saturation} Pa");
    assert!(balance.mass_error_kg.abs() < 1e-9 * balance.inventory_kg);
}
