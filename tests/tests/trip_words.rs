//! A trip says what happened: its row, the reading with its unit and set point or the condition that stands, and what clears it.

use valvewright_core::frame::Switches;
use valvewright_core::job::PhaseKind;
use valvewright_core::talk::Notice;
use valvewright_sim::run::words;
use valvewright_tests::bench::{Bench, World};

/// The trips told by a bench so far.
fn trips(bench: &Bench) -> Vec<String> {
    bench.notices.iter().filter(|n| matches!(n, Notice::Tripped(..))).map(|n| words::notice(n).1.to_string()).collect()
}

/// The trips told after the world has changed from rest.
fn told(change: impl FnOnce(&mut World)) -> Vec<String> {
    let mut bench = Bench::new();
    bench.seconds(5);
    change(&mut bench.world);
    // No vessel's pressure jumps: the bench lets it rise.
    bench.seconds(40);
    trips(&bench)
}

/// The reading passes the filter on its way up, so it lies between set point and the world's value.
#[track_caller]
fn reads(told: &[String], start: &str, end: &str, range: std::ops::RangeInclusive<f64>) {
    let [text] = told else { panic!("one trip is expected: {told:?}") };
    let rest = text.strip_prefix(start).and_then(|rest| rest.split_once(end));
    let number: Option<f64> = rest.and_then(|(n, _)| n.trim().parse().ok());
    assert!(number.is_some_and(|n| range.contains(&n)), "{text}: {start} {range:?} {end} is expected");
}

#[test]
fn each_reading_has_the_unit_and_set_point_of_its_cause() {
    let hot = told(|w| w.discharge = 130.0);
    let start = "Interlock I13 tripped: discharge temperature (TT-2)";
    reads(&hot, start, " degC, trips at or above 120.0 degC. To clear: let the compressor cool", 120.0..=130.0);
    let gas = told(|w| w.lfl = 20.0);
    reads(
        &gas,
        "Interlock I01 tripped: cabinet gas (AT-2)",
        " % LFL, trips at or above 15.0 % LFL. To clear: below 10",
        15.0..=20.0,
    );
    // Below 18.0 bar, where I29 trips too.
    let high = told(|w| w.p_vessel = 1.75e6);
    reads(
        &high,
        "Interlock I03 tripped: vessel pressure (PT-1)",
        " bar abs, trips at or above 17.01 bar abs. To clear:",
        17.01..=17.5,
    );
    let higher = told(|w| w.p_vessel = 1.85e6);
    reads(
        &higher[1..],
        "Interlock I29 tripped: vessel pressure (PT-1) near its relief valve",
        " bar abs, trips at or above 18.00 bar abs. To clear: ventilate",
        18.0..=18.5,
    );
    let locked = told(|w| w.current = Some(18.0));
    assert!(locked[0].starts_with("Interlock I13 tripped: motor current of C-1 (IT-1) 1"), "{locked:?}");
    assert!(locked[0].contains(" A, trips at or above 9.0 A. To clear:"), "{locked:?}");
}

/// The limit of the reference vessel is its rating of 10 kg: 80 % of 12.5 L of liquid would be more.
#[test]
fn a_full_vessel_is_told_as_a_share_of_its_limit() {
    let mut bench = Bench::new();
    bench.world.grams[0] = 10_050.0;
    bench.seconds(5);
    reads(
        &trips(&bench),
        "Interlock I02 tripped: vessel mass (WT-1)",
        " % of the fill limit, trips at or above 100.0 %",
        100.4..=100.6,
    );
}

#[test]
fn a_contact_is_told_as_the_condition_that_stands() {
    let door = told(|w| w.open = Switches::ZS1_DOOR_SHUT);
    assert_eq!(
        door,
        [
            "Interlock I28 tripped: the service door (ZS-1) is open. To clear: shut the door, see the fan blow at its speed (ST-1), then reset."
        ]
    );
    let stop = told(|w| w.open = Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED);
    assert!(stop[0].starts_with("Interlock HS-1 tripped: the emergency stop (HS-1) is pressed. To clear:"), "{stop:?}");
}

#[test]
fn a_broken_input_is_told_as_bad_and_not_as_its_last_value() {
    let broken = told(|w| w.discharge = -300.0);
    let start =
        "Interlock I13 tripped: discharge temperature (TT-2): the input is bad, last good value 21.0 degC. To clear:";
    assert!(broken[0].starts_with(start), "{broken:?}");
}

#[test]
fn a_moved_mass_is_told_with_what_the_scale_reads() {
    let moved = told(|w| w.grams[0] -= 30.0);
    assert!(
        moved[0].starts_with("Interlock I20 tripped: the vessel scale (WT-1) moved with every way shut, reading 5.97"),
        "{moved:?}"
    );
}

/// Each of several trips has its own cause.
#[test]
fn a_later_trip_does_not_borrow_the_first_ones_reading() {
    let trips = told(|w| (w.discharge, w.open) = (130.0, Switches::HS1_A_RELEASED));
    assert!(trips.iter().any(|t| t.contains("I13") && t.contains("discharge temperature")), "{trips:?}");
    assert!(trips.iter().any(|t| t.contains("HS-1 tripped: the emergency stop")), "{trips:?}");
    assert_eq!(trips.iter().filter(|t| t.contains("degC, trips")).count(), 1, "{trips:?}");
}

/// Notices called it the vessel air check, all else the purge.
#[test]
fn a_notice_names_the_purge_as_files_and_tables_do() {
    let begins = words::notice(&Notice::PhaseStarted(PhaseKind::Purge)).1.to_string();
    assert_eq!(begins, "Phase begins: purge.");
}
