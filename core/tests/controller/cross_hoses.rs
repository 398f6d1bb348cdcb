//! Hose gauges, separator and vacuum gauge where open valves join them: what contradicts is found in its time, and nothing else is.

use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::units::AbsPa;

use crate::cross_checks::{CONTRADICTED, JOINED, PULLING, REST, Rig, hoses};
use crate::effect_checks::good;

/// F009, F011: 20 kPa is the least offset of the catalogue; 10 kPa and the 128th part of the reading are borne.
#[test]
fn joined_hose_gauges_that_part_are_both_bad_in_eight_seconds() {
    for (low, high, found) in [
        (500_000, 480_000, true),
        (500_000, 400_000, true),
        (500_000, 514_500, true),
        (500_000, 513_500, false),
        (0, 10_100, true),
        (0, 9_900, false),
        (2_000_000, 2_025_000, false),
    ] {
        let mut rig = Rig::new(JOINED);
        rig.set_hoses(low, high);
        let at = rig.when(60, hoses);
        assert_eq!(at.is_some(), found, "{low} and {high} Pa");
        assert!(at.is_none_or(|at| (7.0..8.5).contains(&at)), "{low} and {high} Pa: after {at:?} s");
    }
}

#[test]
fn hose_gauges_that_nothing_joins_may_part() {
    for on in [REST, REST.with(Actuator::Xv1), REST.with(Actuator::Xv2)] {
        let mut rig = Rig::new(on);
        assert_eq!(rig.set_hoses(100_000, 900_000).when(120, hoses), None, "{on:?}");
    }
    // Pressures that even out through the valves within some seconds.
    let mut rig = Rig::new(JOINED);
    for left in (0..6).rev() {
        rig.set_hoses(500_000, 500_000 + left * 80_000).seconds(1);
        assert!(!hoses(&rig.seen), "{left}");
    }
    // Valves that open for five seconds at a time.
    rig.on = REST;
    rig.seconds(1);
    for _ in 0..20 {
        rig.on = JOINED;
        rig.set_hoses(500_000, 600_000).seconds(5);
        rig.on = REST;
        rig.seconds(2);
        assert!(!hoses(&rig.seen));
    }
}

/// They must agree again: ten seconds joined, a minute where nothing joins them.
#[test]
fn hose_gauges_are_believed_again_once_they_agree() {
    for (on, least) in [(JOINED, 10.0), (REST, 60.0)] {
        let mut rig = Rig::new(JOINED);
        rig.set_hoses(500_000, 300_000).seconds(10);
        assert!(hoses(&rig.seen));
        rig.on = on;
        rig.seconds(300);
        assert!(hoses(&rig.seen), "no time heals it");
        let back = rig.set_hoses(500_000, 500_000).when(120, |r| !hoses(r)).expect("believed again");
        assert!((least - 0.5..least + 1.0).contains(&back), "{on:?}: after {back} s");
    }
}

/// F010: exchanged wires show where one valve opens alone.
#[test]
fn exchanged_hose_gauges_are_found_by_the_valve_that_opens_alone() {
    for (one, own, other, found) in [
        (Actuator::Xv1, 500_000, 300_000, true),
        (Actuator::Xv2, 300_000, 500_000, true),
        // Its own gauge moves, or both do, or none.
        (Actuator::Xv1, 300_000, 500_000, false),
        (Actuator::Xv2, 500_000, 300_000, false),
        (Actuator::Xv1, 300_000, 300_000, false),
        (Actuator::Xv1, 500_000, 500_000, false),
        (Actuator::Xv1, 500_000, 481_000, false),
    ] {
        let mut rig = Rig::new(REST);
        rig.seconds(5);
        rig.on = REST.with(one);
        rig.seconds(1);
        let at = rig.set_hoses(own, other).when(60, hoses);
        assert_eq!(at.is_some(), found, "{one:?} {own} and {other} Pa");
        assert!(at.is_none_or(|at| at <= 3.5), "{one:?}: after {at:?} s");
    }
    // What moves the other hose later is something else: a hand, a vehicle that runs.
    let mut rig = Rig::new(REST);
    rig.seconds(5);
    rig.on = REST.with(Actuator::Xv1);
    rig.seconds(7);
    assert_eq!(rig.set_hoses(500_000, 300_000).when(60, hoses), None);
}

/// F134: stuck low it would let oil be drained under pressure.
#[test]
fn a_separator_gauge_far_below_the_hoses_that_feed_it_is_bad() {
    for (behind, found) in [(100_000, true), (270_000, true), (290_000, false), (495_000, false), (600_000, false)] {
        let mut rig = Rig::new(PULLING);
        rig.r.pt5 = good(AbsPa(behind));
        let at = rig.when(60, |r| r.pt5.quality == CONTRADICTED);
        assert_eq!(at.is_some(), found, "{behind} Pa");
        assert!(at.is_none_or(|at| (19.5..21.5).contains(&at)), "{behind} Pa: after {at:?} s, of 30 s");
        // It stays so when XV-3 shuts, which is when it is asked.
        rig.on = REST;
        rig.seconds(600);
        assert_eq!(rig.seen.pt5.quality == CONTRADICTED, found);
        assert!(!hoses(&rig.seen));
    }
    // Near vacuum the two classes hide it; and a hose that hangs in its holder says nothing.
    let mut low = Rig::new(PULLING);
    low.set_hoses(36_000, 36_000).r.pt5 = good(AbsPa(5_000));
    assert_eq!(low.when(120, |r| r.pt5.is_bad()), None);
    let mut one = Rig::new(PULLING.without(Actuators::of(&[Actuator::Xv2])));
    one.set_hoses(500_000, 10_000);
    assert_eq!(one.when(120, |r| r.pt5.is_bad()), None);
    one.set_hoses(100_000, 900_000).r.pt5 = good(AbsPa(95_000));
    assert_eq!(one.when(120, |r| r.pt5.is_bad()), None);
}

/// F013: a vacuum beside a pressure that the open manifold brings to PT-4.
#[test]
fn a_vacuum_shown_beside_open_hoses_under_pressure_is_none() {
    for (hose, shown, on, found) in [
        (500_000, 50, JOINED, true),
        (25_000, 9_000, JOINED, true),
        (25_000, 9_600, JOINED, false),
        (19_000, 3_000, JOINED, false),
        (500_000, 50, JOINED.with(Actuator::P1).with(Actuator::Xv6), false),
        (500_000, 50, REST, false),
    ] {
        let mut rig = Rig::new(on);
        rig.set_hoses(hose, hose).r.pt4 = good(AbsPa(shown));
        let at = rig.when(120, |r| r.pt4.quality == CONTRADICTED);
        assert_eq!(at.is_some(), found, "{hose} and {shown} Pa, {on:?}");
        assert!(at.is_none_or(|at| (29.0..32.0).contains(&at)), "after {at:?} s, of 60 s");
    }
}
