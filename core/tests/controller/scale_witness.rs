//! When a charge stops believing the vessel scale, to the scan: stuck, moved back, run ahead.

use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::job::{GiveUp, Outcome, Sides, WorkOrder};
use valvewright_core::units::Milligram;

use crate::charging::{Charging, alone, honest};
use crate::give_up::grams;

const OPEN: Actuators = Actuators::of(&[Actuator::Xv5, Actuator::Xv10]);
const DISBELIEVED: Option<Outcome> = Some(Outcome::Failed(GiveUp::ScaleDisagrees));

/// In its last minute, all valves of the vessel shut.
fn resting() -> Charging {
    let mut charging = Charging::ordered(alone(500));
    assert!(charging.play(600, honest, |c| c.gone > 499.0 && c.bench.on().and(OPEN).is_empty()));
    charging.bench.seconds(10);
    charging
}

/// Nothing flows back into the vessel, and nothing out of it faster than 20 g/s: off by more than 10 g and 15 g for two seconds
/// is a load. Less shows only in what the last minute has moved.
#[test]
fn a_load_is_told_from_a_flow_within_two_seconds() {
    // A load that is taken off can be a flow until 40 g would have gone; the shock of 80 g hides the scale for two seconds more.
    for (load, at_once) in [(9.8, false), (10.2, true), (-54.0, false), (-80.0, true)] {
        let mut charging = resting();
        let from = charging.bench.now();
        assert!(charging.play(80, |gone, _| 6_000.0 - gone + load, |c| c.charge_outcome().is_some()));
        assert_eq!(charging.charge_outcome(), DISBELIEVED, "{load} g: {:?}", charging.bench.notices);
        let after = f64::from(charging.bench.now() - from) / 1e3;
        assert_eq!(after < 5.0, at_once, "{load} g: after {after} s");
    }
    // Put on for less than two seconds it is a knock.
    let mut charging = resting();
    let load = |from: u32, scans: u32| {
        move |gone: f64, scan: u32| 6_000.0 - gone + if scan < from + scans { 30.0 } else { 0.0 }
    };
    let from = charging.scan;
    assert!(charging.play(80, load(from, 34), |_| false));
    assert_eq!(charging.charge_outcome(), Some(Outcome::Done), "{:?}", charging.bench.notices);
    let mut charging = resting();
    let from = charging.scan;
    assert!(charging.play(80, load(from, 60), |_| false));
    assert_eq!(charging.charge_outcome(), DISBELIEVED, "{:?}", charging.bench.notices);
}

/// The same code for a second and a half of flow.
#[test]
fn a_code_that_stands_still_is_found_in_a_second_and_a_half() {
    let mut charging = Charging::ordered(alone(500));
    assert!(charging.play(600, honest, |c| c.gone > 100.0));
    let (stuck, from) = (charging.gone, charging.bench.now());
    assert!(charging.play(60, |_, _| 6_000.0 - stuck, |c| c.charge_outcome().is_some()));
    assert_eq!(charging.charge_outcome(), DISBELIEVED, "{:?}", charging.bench.notices);
    let after = charging.bench.now() - from;
    assert_eq!(after, 1_500, "ms");
    // Half that long, again and again, it is a scale that follows.
    let mut charging = Charging::ordered(alone(500));
    let halting = |gone: f64, scan: u32| {
        let halts = gone < 450.0 && scan % 24 < 20;
        6_000.0 - if halts { (gone / 8.4).floor() * 8.4 } else { gone }
    };
    assert!(charging.play(600, halting, |_| false));
    assert_eq!(charging.charge_outcome(), Some(Outcome::Done), "{:?}", charging.bench.notices);
}

/// Without head nothing need flow, and a code may stand.
#[test]
fn a_code_may_stand_while_nothing_can_flow() {
    let mut charging = Charging::ordered(alone(500));
    assert!(charging.play(600, honest, |c| c.gone > 100.0));
    charging.flow = 0.0;
    // 888 Pa of head make 1 g/s of unboiling liquid.
    for (head, disbelieved) in [(700.0, false), (1_100.0, true)] {
        let mut charging_at = Charging { bench: charging.bench.clone(), ..charging };
        (charging_at.bench.world.p_low, charging_at.bench.world.p_high) = (750_000.0 - head, 750_000.0 - head);
        // The gauges need some seconds to show it; a little flows meanwhile.
        for _ in 0..20 * 6 {
            charging_at.gone += 0.02;
            charging_at.play(1, honest, |_| true);
        }
        assert!(charging_at.bench.station.job().busy(), "{head} Pa: {:?}", charging_at.bench.notices);
        charging_at.play(10, honest, |c| c.charge_outcome().is_some());
        assert_eq!(charging_at.charge_outcome() == DISBELIEVED, disbelieved, "{head} Pa");
    }
}

/// A scale whose code flickers but does not follow: the model has the charge ended before 15 g more than ordered can have gone.
#[test]
fn what_the_model_has_seen_go_counts_beside_a_scale_that_does_not_follow() {
    for order in [100, 300] {
        let mut charging = Charging::ordered(alone(order));
        charging.flow = 8.0;
        let flickers = |gone: f64, scan: u32| 6_000.0 - gone.min(30.0) - 0.01 * f64::from(scan % 2);
        assert!(charging.play(600, flickers, |c| c.charge_outcome().is_some()));
        assert_eq!(charging.charge_outcome(), DISBELIEVED, "{:?}", charging.bench.notices);
        assert!(charging.gone < f64::from(order) + 15.0, "{} g of {order} g", charging.gone);
        let shown = grams(charging.bench.station.job().ledger.dispensed);
        assert!((shown - 30.0).abs() < 1.0 && shown < grams(Milligram::from_grams(order)), "{shown} g shown");
    }
}

/// Through one hose alone its own gauge tells of the flow; the other may stand at the pressure of the vessel.
#[test]
fn a_charge_through_one_side_is_judged_by_its_own_gauge() {
    for (sides, low, high) in [(Sides::Low, 500_000.0, 750_000.0), (Sides::High, 750_000.0, 500_000.0)] {
        let mut charging = Charging::ordered(WorkOrder { sides, ..alone(500) });
        (charging.bench.world.p_low, charging.bench.world.p_high) = (low, high);
        assert!(charging.play(600, honest, |c| c.gone > 100.0));
        let (stuck, from) = (charging.gone, charging.bench.now());
        assert!(charging.play(60, |_, _| 6_000.0 - stuck, |c| c.charge_outcome().is_some()));
        assert_eq!(charging.charge_outcome(), DISBELIEVED, "{sides:?}: {:?}", charging.bench.notices);
        assert_eq!(charging.bench.now() - from, 1_500, "{sides:?}");
    }
}

/// A scale that shows an eighth of what the model sees go does not follow it, however often it moves.
#[test]
fn a_scale_that_follows_by_less_than_a_fifth_does_not_follow() {
    let mut charging = Charging::ordered(alone(150));
    charging.flow = 1.1;
    assert!(charging.play(1_200, honest, |_| false));
    assert_eq!(charging.charge_outcome(), DISBELIEVED, "{:?}", charging.bench.notices);
    assert!(charging.gone < 60.0, "{} g gone", charging.gone);
}
