//! Years are integrated more coarsely than whole service jobs: verdicts are the same, masses without bias. Single charges are not the same to the
//! gram: they differ by up to some grams.

use valvewright_sim::plant::Tolerance;
use valvewright_sim::years::tally::{Order, Tally};
use valvewright_sim::years::{Plan, run};

/// What two integrations of one service may differ by, g recovered and g charged (own choice: a gram, and a fifth of what a charge may be off).
const NEAR: [f64; 2] = [1.0, 3.0];
/// What they may differ by on average, g.
const BIAS: f64 = 0.2;
/// Refrigerant that may be nowhere, g.
const NOWHERE: f64 = 1e-6;

fn years(fine: bool, services: u32) -> Tally {
    let plan = Plan { years: 1, seed: 7, fine, ..Plan::default() };
    run(&plan, Some(services), &mut |_| true).expect("runs")
}

#[test]
fn rough_services_end_as_fine_ones_do_and_move_the_same_on_average() {
    const { assert!(Tolerance::YEARS.relative > Tolerance::STATION.relative) };
    let (fine, rough) = (years(true, 100), years(false, 100));
    assert_ne!(fine.hash, rough.hash, "they are integrated the same way");
    for (tally, name) in [(&fine, "fine"), (&rough, "rough")] {
        assert!(tally.held(), "{name}: {:#?}", tally.breaches);
        assert!(tally.ledger_worst_g < NOWHERE, "{name}: {} g are nowhere", tally.ledger_worst_g);
    }
    let verdicts = |tally: &Tally| tally.orders.iter().map(|one| (one.service, one.verdict)).collect::<Vec<_>>();
    assert_eq!(verdicts(&fine), verdicts(&rough));
    type Figure = fn(&Order) -> f64;
    let figures: [(&str, Figure); 2] = [("recovered", |one| one.recovered_g), ("charged", |one| one.charged_g)];
    for ((what, of), near) in figures.into_iter().zip(NEAR) {
        let pairs = fine.orders.iter().zip(&rough.orders).filter(|(one, _)| of(one) > 100.0);
        let off: Vec<f64> = pairs.map(|(one, other)| of(other) - of(one)).collect();
        let worst = off.iter().fold(0.0_f64, |most, one| most.max(one.abs()));
        let mean = off.iter().sum::<f64>() / off.len() as f64;
        println!("{what}: {} orders, {mean:.3} g on average, {worst:.3} g at most", off.len());
        assert!(off.len() > 20, "{what}: only {} orders", off.len());
        assert!(worst < near, "{what}: one order differs by {worst:.3} g");
        assert!(mean.abs() < BIAS, "{what}: {mean:.3} g on average");
    }
}
