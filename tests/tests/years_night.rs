//! A station that stands over a night: its plant takes few long steps, and they end where many short ones do.

use valvewright_sim::run::{RunOptions, Simulation};
use valvewright_sim::scenario::{parse, shipped};

/// A workshop at 22 degC that cools down.
const COLD: f64 = 283.15;
/// Pages of each side of the flash, as the years have them.
const PAGES: u8 = 8;
const HOUR: f64 = 3_600.0;

fn standing() -> Simulation {
    let scenario = parse::read(&shipped::source("mild_hatchback").expect("shipped")).expect("reads");
    Simulation::new_in_the_shop(&scenario, &RunOptions::BARE, PAGES).expect("builds")
}

#[test]
fn a_weekend_takes_the_plant_few_steps() {
    let mut sim = standing();
    sim.stand_until(64.0 * HOUR, COLD).expect("stands");
    let steps = sim.plant().steps();
    // With steps of a minute they would be 3 840.
    assert!(steps.accepted + steps.rejected < 400, "{steps:?}");
}

#[test]
fn long_steps_end_where_short_ones_do() {
    let (mut long, mut short) = (standing(), standing());
    long.stand_until(10.0 * HOUR, COLD).expect("stands");
    for minute in 1..=600 {
        short.stand_until(60.0 * f64::from(minute), COLD).expect("stands");
    }
    assert!(short.plant().steps().accepted > 3 * long.plant().steps().accepted, "they are not the same steps");
    let of = |sim: &Simulation, name: &str| sim.signal(name).expect(name);
    for (name, near) in [
        ("vessel.p", 300.0),
        ("vessel.t", 0.05),
        ("vehicle_low.p", 300.0),
        ("accumulator.t_wall", 0.05),
        ("accumulator.t_oil", 0.05),
        ("accumulator.m_dissolved", 2e-4),
        ("separator.m", 1e-5),
    ] {
        let (one, other) = (of(&long, name), of(&short, name));
        assert!((one - other).abs() < near, "{name}: {one} in long steps, {other} in short ones");
    }
    let cooled = of(&long, "vessel.t_wall");
    assert!((cooled - COLD).abs() < 0.5, "ten hours cool the vessel to the workshop's air: {cooled} K");
    let all = |sim: &Simulation| sim.stock().station + sim.stock().vehicle + sim.stock().between;
    assert!((all(&long) - all(&standing())).abs() < 1e-9, "nothing is lost");
}
