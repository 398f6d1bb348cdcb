//! A trip is told with the reading that made it, in the unit of its own cause, and a later one with none of another's.

use valvewright_core::frame::Switches;
use valvewright_core::talk::Notice;
use valvewright_sim::run::words;
use valvewright_tests::bench::{Bench, World};

/// The trips told after the world has changed from rest.
fn told(change: impl FnOnce(&mut World)) -> Vec<String> {
    let mut bench = Bench::new();
    bench.seconds(5);
    change(&mut bench.world);
    bench.seconds(5);
    let trips = bench.notices.iter().filter(|n| matches!(n, Notice::Tripped(..)));
    trips.map(|n| words::notice(n).1).collect()
}

/// The reading passes the filter on its way up, so it lies between set point and the world's value.
#[track_caller]
fn reads(told: &[String], row: &str, unit: &str, range: std::ops::RangeInclusive<f64>) {
    let [text] = told else { panic!("one trip is expected: {told:?}") };
    let number = text.strip_prefix(&format!("Interlock {row} tripped. ")).and_then(|rest| rest.strip_suffix(unit));
    let number: Option<f64> = number.and_then(|n| n.trim().parse().ok());
    assert!(number.is_some_and(|n| range.contains(&n)), "{text}: {range:?} {unit} is expected");
}

#[test]
fn each_reading_has_the_unit_of_its_cause() {
    reads(&told(|w| w.discharge = 130.0), "I13", "degC", 120.0..=130.0);
    reads(&told(|w| w.lfl = 20.0), "I01", "% LFL", 15.0..=20.0);
    reads(&told(|w| w.p_vessel = 1.8e6), "I03", "bar", 17.01..=18.0);
}

/// The limit of the reference vessel is its rating of 10 kg: 80 % of 12.5 L of liquid would be more.
#[test]
fn a_full_vessel_is_told_as_a_share_of_its_limit() {
    let mut bench = Bench::new();
    bench.world.grams[0] = 10_050.0;
    bench.seconds(5);
    let trips = bench.notices.iter().filter(|n| matches!(n, Notice::Tripped(..)));
    reads(&trips.map(|n| words::notice(n).1).collect::<Vec<_>>(), "I02", "% of the fill limit", 100.4..=100.6);
}

#[test]
fn a_later_trip_does_not_borrow_the_first_ones_reading() {
    let trips = told(|w| (w.discharge, w.open) = (130.0, Switches::HS1_A_RELEASED));
    let with_reading = trips.iter().filter(|text| !text.ends_with("tripped.")).count();
    assert!(trips.len() >= 2 && with_reading <= 1, "{trips:?}");
}
