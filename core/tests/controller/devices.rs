//! Devices that answer what one device can't show of itself: two bridges, two contactors, PT-5, ST-1, the oil bottles.

use valvewright_core::frame::Actuator;
use valvewright_core::interlock::RowId;
use valvewright_core::job::{GiveUp, Outcome, PhaseKind};
use valvewright_core::talk::Command;

use crate::bench::{Bench, order};
use crate::rows::{holding, outcome, pulling, tight, tripped};

/// I20: half of what the bridges part by is the error of their mean.
/// Shows I20, F133.
#[test]
fn bridges_that_part_by_twelve_gram_stop_what_is_weighed() {
    for (apart, stops) in [(11.5, false), (12.5, true), (-12.5, true), (-3_000.0, true)] {
        let mut bench = pulling();
        bench.world.apart = apart;
        bench.seconds(4);
        assert_eq!(tripped(&bench, RowId::I20), stops, "{apart} g");
        assert_eq!(bench.on().has(Actuator::C1), !stops, "{apart} g");
    }
}

#[test]
fn bridges_that_parted_for_a_second_stop_nothing() {
    let mut bench = pulling();
    bench.world.apart = 20.0;
    bench.seconds(1);
    bench.world.apart = 0.0;
    bench.seconds(5);
    assert!(!tripped(&bench, RowId::I20) && bench.on().has(Actuator::C1));
}

#[test]
fn parted_bridges_are_reset_only_once_they_agree() {
    let mut bench = pulling();
    bench.world.apart = 50.0;
    bench.seconds(4);
    bench.give(Command::Reset);
    bench.world.apart = 9.0;
    bench.seconds(20);
    bench.give(Command::Reset);
    assert!(tripped(&bench, RowId::I20), "9 g are not yet agreement");
    bench.world.apart = 7.0;
    bench.seconds(20);
    assert!(tripped(&bench, RowId::I20), "latched");
    bench.give(Command::Reset);
    assert!(!tripped(&bench, RowId::I20));
}

/// H02: the fill limit takes the bridge that shows more, the heater the one that shows less.
/// Shows I02, H02.
#[test]
fn either_bridge_is_enough_to_stop() {
    let mut bench = pulling();
    let limit = f64::from(bench.station.fill_limit().0) / 1e3;
    bench.world.grams[0] = limit - 8.0;
    bench.world.apart = 10.0;
    bench.seconds(2);
    assert!(tripped(&bench, RowId::I02), "{:?} of {limit}", bench.station.readings().wt1b.mass);
}

/// F128, F071: a switch stuck closed hides a fan that stands.
/// Shows I28.
#[test]
fn a_fan_that_slows_down_stops_everything_though_its_switch_stays_closed() {
    let mut bench = holding();
    bench.world.fan_rpm = Some(1_750.0);
    bench.seconds(5);
    assert!(!tripped(&bench, RowId::I28), "1 750 rpm are enough");
    bench.world.fan_rpm = Some(1_600.0);
    bench.seconds(1);
    assert!(!tripped(&bench, RowId::I28), "not at once");
    bench.seconds(2);
    assert!(tripped(&bench, RowId::I28) && !bench.on().has(Actuator::Xv1));
    assert!(bench.on().has(Actuator::K1), "the fan itself is kept on");
    bench.world.fan_rpm = None;
    bench.seconds(2);
    bench.give(Command::Reset);
    assert!(!tripped(&bench, RowId::I28));
}

#[test]
fn a_fan_whose_speed_cannot_be_read_stops_everything() {
    let mut bench = holding();
    bench.world.fan_rpm = Some(-2_000.0);
    bench.seconds(1);
    assert!(tripped(&bench, RowId::I28) && !bench.on().has(Actuator::Xv1));
}

/// A charge that warms the vessel first, at the moment in which the first contactor closes.
fn heating(bench: &mut Bench, id: u16) -> Actuator {
    bench.world.p_vessel = 600_000.0;
    bench.start(id, order(&[PhaseKind::Charge]));
    let either = |b: &Bench| b.on().has(Actuator::H1) || b.on().has(Actuator::H2);
    assert!(bench.until(120, either), "{:?}", bench.notices);
    assert!(bench.on().has(Actuator::H1) != bench.on().has(Actuator::H2), "one first");
    if bench.on().has(Actuator::H1) { Actuator::H1 } else { Actuator::H2 }
}

/// Seconds until both contactors are on.
fn until_both(bench: &mut Bench) -> Option<u32> {
    (0..60 * 20)
        .find(|_| {
            bench.scan(None);
            bench.on().has(Actuator::H1) && bench.on().has(Actuator::H2)
        })
        .map(|scans| scans / 20)
}

#[test]
fn the_contactors_of_the_heater_take_turns_to_be_first() {
    let mut bench = tight();
    for (id, first) in [(2, Actuator::H1), (3, Actuator::H2), (4, Actuator::H1)] {
        assert_eq!(heating(&mut bench, id), first);
        assert_eq!(until_both(&mut bench), Some(20), "after the lead of 20 s");
        bench.give(Command::Abort);
        bench.seconds(1);
        assert!(!bench.on().has(Actuator::H1) && !bench.on().has(Actuator::H2));
    }
}

/// F069: the one that is not on is welded, or the heater would be cold.
/// Shows I12, F135.
#[test]
fn a_heater_that_warms_behind_one_contactor_trips_and_is_tried_again_first() {
    let mut bench = tight();
    assert_eq!(heating(&mut bench, 2), Actuator::H1);
    for _ in 0..15 * 20 {
        bench.world.heater += 0.6 / 20.0;
        bench.scan(None);
    }
    assert!(tripped(&bench, RowId::I12) && !bench.on().has(Actuator::H1), "{:?}", bench.on());
    bench.world.heater = 21.0;
    bench.seconds(5);
    bench.give(Command::Reset);
    assert!(!tripped(&bench, RowId::I12), "nothing is on, so that nothing can be seen");
    bench.give(Command::Abort);
    assert_eq!(heating(&mut bench, 3), Actuator::H1, "the same proof again");
}

#[test]
fn a_heater_that_cools_or_stays_behind_one_contactor_is_sound() {
    let mut bench = tight();
    bench.world.heater = 55.0;
    heating(&mut bench, 2);
    for _ in 0..15 * 20 {
        bench.world.heater -= 0.5 / 20.0;
        bench.scan(None);
    }
    assert!(!tripped(&bench, RowId::I12));
    assert!(until_both(&mut bench).is_some());
}

/// So many seconds of a recovery that brings 4 g/s, as C-1 does at 6 bar.
fn recovering(bench: &mut Bench, seconds: u32) {
    bench.until_with(seconds, |b| b.world.grams[0] += 0.2, |_| false);
}

/// F058, F060: oil that runs while its valve is shut, whichever way.
/// Shows I19.
#[test]
fn an_oil_bottle_that_moves_behind_a_shut_valve_stops_everything() {
    for (bottle, step) in [(1, 0.02), (1, -0.02), (2, 0.02), (2, -0.02)] {
        let mut bench = pulling();
        bench.world.grams[1] = 100.0;
        recovering(&mut bench, 40);
        assert!(!tripped(&bench, RowId::I19));
        let begun = bench.world.grams[bottle];
        let moves = |b: &mut Bench| {
            b.world.grams[0] += 0.2;
            b.world.grams[bottle] += step;
        };
        let stopped = bench.until_with(60, moves, |b| tripped(b, RowId::I19));
        assert!(stopped, "bottle {bottle}, {step} g a scan");
        let moved = (bench.world.grams[bottle] - begun).abs();
        assert!((5.0..8.0).contains(&moved), "{moved} g of bottle {bottle}");
    }
}

#[test]
fn a_bottle_that_is_exchanged_while_the_compressor_runs_is_no_fault() {
    let mut bench = pulling();
    bench.world.grams[1] = 400.0;
    recovering(&mut bench, 20);
    for grams in [0.0, 30.0] {
        bench.world.grams[1] = grams;
        recovering(&mut bench, 20);
        assert!(!tripped(&bench, RowId::I19), "{grams} g on the platform");
    }
}

/// Both hose gauges 1 bar low: the end of recovery would come while the circuit is still full.
#[test]
fn a_separator_above_the_hoses_that_feed_it_says_that_a_gauge_is_wrong() {
    let mut bench = pulling();
    (bench.world.p_low, bench.world.p_high) = (200_000.0, 205_000.0);
    bench.world.p_separator = Some(220_000.0);
    recovering(&mut bench, 30);
    assert!(bench.station.job().busy(), "{:?}", outcome(&bench));
    bench.world.p_separator = Some(232_000.0);
    let above = |b: &Bench| b.station.readings().pt5.value.0 > b.station.readings().pt3.value.0 + 20_000;
    assert!(bench.until_with(3, |b| b.world.grams[0] += 0.2, above));
    let from = bench.now();
    assert!(bench.until_with(20, |b| b.world.grams[0] += 0.2, |b| !b.station.job().busy()));
    assert_eq!(bench.now() - from, 10_000, "more than ten seconds, the first scan counted");
    assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::GaugesDisagree)));
}

/// H13: a purge valve stuck open vents what the compressor brings, and more once that gets less. F028: a scale with half its gain
/// shows half of what comes, 1.6 g/s of the 3.2 g/s that an ideal gas of 4 bar has at 176 mL/s.
/// Shows I19, H13, F028.
#[test]
fn a_vessel_that_does_not_get_what_the_compressor_draws_stops_the_pull() {
    // Suction in Pa, g/s that arrive, and the time in which that has to be seen, s.
    for (suction, rate, limit) in [
        (400_000.0, 0.3, Some(40)),
        (100_000.0, -2.0, Some(16)),
        (400_000.0, 1.6, Some(40)),
        (400_000.0, 2.3, Some(40)),
        (400_000.0, 2.6, None),
        (400_000.0, 5.0, None),
    ] {
        let mut bench = pulling();
        (bench.world.p_low, bench.world.p_high, bench.world.p_separator) =
            (suction + 5e3, suction + 5e3, Some(suction));
        let seen =
            bench.until_with(limit.unwrap_or(120), |b| b.world.grams[0] += rate / 20.0, |b| tripped(b, RowId::I19));
        assert_eq!(seen, limit.is_some(), "{rate} g/s at {suction} Pa");
    }
}
