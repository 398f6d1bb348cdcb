//! Each fact of a connection: what makes it, what spends it, and to the scan how long it holds.

use valvewright_core::connection::{IDENTITY_VALID, LEAK_VALID};
use valvewright_core::frame::Actuator;
use valvewright_core::interlock::RowId;
use valvewright_core::job::{GasVerdict, GiveUp, LeakVerdict, Outcome, PhaseKind};
use valvewright_core::talk::Question;
use valvewright_core::units::Millis;

use crate::bench::{Bench, order, report};
use crate::charging::{Charging, alone, honest};
use crate::connection::{coupled, evacuated, identify, outcome, pure, recovers};
use crate::give_up::{as_it_is, ends, gives_up};

use PhaseKind::{Charge, ClearHoses, Evacuate, Identify, LeakCheck, Recover};

/// Identified with this sample twice.
fn sampled(mut bench: Bench, air: i32) -> Bench {
    let share = if air > 900 { 0 } else { 998 };
    bench.world.reports = [report(share, 0, air, true); 2].into();
    bench.start(1, order(&[Identify]));
    assert!(bench.until(100, |b| b.station.job().question().is_some()), "{:?}", bench.notices);
    bench.answer(true);
    assert!(bench.until(300, |b| !b.station.job().busy()));
    bench
}

#[test]
fn an_identity_holds_for_ten_minutes_to_the_scan() {
    assert_eq!(IDENTITY_VALID, Millis::from_secs(600));
    let mut bench = sampled(coupled(), 5);
    assert!(bench.station.connection().pure() && bench.station.connection().may_recover());
    assert!(bench.until(700, |b| b.station.connection().gas_age() == IDENTITY_VALID));
    assert!(bench.station.connection().may_recover());
    assert!(!bench.station.interlocks().withheld().has(RowId::I05));
    bench.scan(None);
    assert_eq!(bench.station.connection().gas_age(), Millis(600_050));
    assert!(!bench.station.connection().may_recover());
    assert!(bench.station.interlocks().withheld().has(RowId::I05));
    assert!(bench.station.connection().pure(), "known all the same");
}

#[test]
fn a_leak_verdict_holds_for_half_an_hour_to_the_scan() {
    assert_eq!(LEAK_VALID, Millis::from_secs(1_800));
    let mut bench = Charging::tight().bench;
    let withheld = |b: &Bench| b.station.interlocks().withheld().has(RowId::I14);
    bench.scan(None);
    assert!(bench.station.connection().may_charge() && !withheld(&bench));
    assert!(bench.until(2_000, |b| b.station.connection().leak_age() == LEAK_VALID));
    assert!(bench.station.connection().freshly_tight() && bench.station.connection().may_charge());
    assert!(!withheld(&bench));
    bench.scan(None);
    assert_eq!(bench.station.connection().leak_age(), Millis(1_800_050));
    assert!(!bench.station.connection().freshly_tight() && !bench.station.connection().may_charge());
    assert!(bench.station.connection().tight() && withheld(&bench));
}

/// A charge may go on past the age of its verdict, and so may a recovery.
#[test]
fn what_began_on_a_fresh_fact_goes_on_past_its_age() {
    let mut charging = Charging::ordered(alone(4_500));
    charging.flow = 5.0;
    while charging.bench.station.connection().leak_age() < Millis::from_secs(1_700)
        && !charging.bench.station.job().busy()
    {
        charging.bench.scan(None);
    }
    assert!(charging.play(100, honest, |c| c.gone > 10.0));
    charging.bench.give(valvewright_core::talk::Command::Pause);
    charging.bench.seconds(1_900);
    charging.bench.give(valvewright_core::talk::Command::Resume);
    assert!(!charging.bench.station.connection().freshly_tight());
    assert!(charging.play(10, honest, |c| c.bench.on().has(Actuator::Xv5)), "{:?}", charging.bench.notices);
    assert!(charging.bench.on().has(Actuator::Xv5));

    let mut bench = sampled(coupled(), 5);
    bench.start(2, order(&[Recover]));
    assert!(bench.until(200, |b| b.on().has(Actuator::C1)), "{:?}", bench.notices);
    let aged = |b: &Bench| b.station.connection().gas_age() > IDENTITY_VALID;
    let mut mass = 6_000.0;
    while !aged(&bench) {
        // What C-1 brings at 6 bar.
        mass += 0.2;
        bench.world.grams[0] = mass;
        bench.scan(None);
    }
    bench.seconds(1);
    assert!(bench.on().has(Actuator::C1) && !bench.station.connection().may_recover(), "{:?}", bench.notices);
}

/// Recovered, found drained, or open to the air: each alone speaks for an empty circuit, and a charge ends it.
#[test]
fn a_circuit_is_empty_by_any_of_three_facts() {
    let known = |b: &Bench| {
        let c = b.station.connection();
        (c.circuit_empty(), c.recovered(), c.open_to_air())
    };
    let mut recovered = sampled(coupled(), 5);
    assert_eq!(known(&recovered), (false, false, false));
    recovered.start(2, order(&[Recover]));
    ends(&mut recovered, Recover, |b, _| {
        if b.on().has(Actuator::C1) {
            (b.world.p_low, b.world.p_high) = (35_000.0, 35_000.0);
        }
    });
    assert_eq!(known(&recovered), (true, true, false));

    let mut air = sampled(coupled(), 960);
    assert_eq!(air.station.connection().gas(), GasVerdict::Air);
    assert_eq!(known(&air), (true, false, true));
    // Evacuated, it is not open any more, and empty all the same.
    (air.world.p_low, air.world.p_high) = (101_325.0, 101_325.0);
    air.start(2, order(&[Evacuate]));
    ends(&mut air, Evacuate, |b, _| {
        if b.on().has(Actuator::Xv6) {
            (b.world.p_low, b.world.p_high, b.world.p_vacuum) = (700.0, 700.0, 100.0);
        }
    });
    assert_eq!(known(&air), (true, false, false));

    let mut drained = evacuated();
    assert_eq!(known(&drained), (false, false, false));
    drained.start(1, order(&[Evacuate]));
    drained.seconds(70);
    assert_eq!(known(&drained), (true, false, false));
}

#[test]
fn a_charge_spends_what_was_known_of_an_empty_circuit() {
    let mut bench = evacuated();
    bench.world.p_vacuum = 101_325.0;
    (bench.world.p_low, bench.world.p_high) = (80_000.0, 80_000.0);
    bench.seconds(5);
    bench.start(1, order(&[Evacuate, LeakCheck]));
    assert!(!bench.station.connection().gauge_proven());
    ends(&mut bench, LeakCheck, |b, _| {
        if b.on().has(Actuator::Xv6) {
            (b.world.p_low, b.world.p_high, b.world.p_vacuum) = (700.0, 700.0, 100.0);
        }
    });
    assert!(bench.station.connection().gauge_proven(), "it fell from its top");
    assert!(bench.station.connection().circuit_empty() && bench.station.connection().may_charge());
    assert!(!bench.station.connection().charged());
    (bench.world.p_low, bench.world.p_high) = (500_000.0, 500_000.0);
    bench.start(2, order(&[Charge]));
    assert!(bench.until(100, |b| b.on().has(Actuator::Xv5)), "{:?}", bench.notices);
    let known = bench.station.connection();
    assert!(known.charged() && !known.circuit_empty() && !known.may_charge());
    assert!(known.freshly_tight(), "the verdict is as it was; it is spent");
    // Until the circuit is evacuated again.
    bench.give(valvewright_core::talk::Command::Abort);
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (80_000.0, 80_000.0, 101_325.0);
    bench.seconds(70);
    bench.start(3, order(&[Evacuate]));
    ends(&mut bench, Evacuate, |b, _| {
        if b.on().has(Actuator::Xv6) {
            (b.world.p_low, b.world.p_high, b.world.p_vacuum) = (700.0, 700.0, 100.0);
        }
    });
    assert!(!bench.station.connection().charged(), "{:?}", bench.notices);
    assert!(bench.station.connection().may_charge());
}

/// Hoses of a vehicle that was neither identified nor charged by this station may hold anything.
#[test]
fn hoses_of_an_unknown_vehicle_are_not_drawn_into_the_vessel() {
    let mut bench = coupled();
    bench.start(1, order(&[ClearHoses]));
    assert!(bench.until(70, |b| b.station.job().question() == Some(Question::ShutCouplers)), "{:?}", bench.notices);
    bench.answer(true);
    let opened = std::cell::Cell::new(false);
    gives_up(&mut bench, ClearHoses, GiveUp::Blocked, |b, _| opened.set(opened.get() | b.on().has(Actuator::Xv3)));
    assert!(!opened.get());
}

/// A hold that failed leaves no pass of the one before, and one that found a leak no figure but its own.
#[test]
fn the_last_hold_is_the_one_that_counts() {
    let mut bench = Charging::tight().bench;
    (bench.world.p_low, bench.world.p_high) = (1_000.0, 1_000.0);
    bench.start(3, order(&[LeakCheck]));
    assert!(bench.until(70, |b| b.station.job().phase() == Some(LeakCheck)), "{:?}", bench.notices);
    bench.scan(None);
    assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Unknown);
    // The gauge stands still now: nothing proves it.
    gives_up(&mut bench, LeakCheck, GiveUp::GaugeNotLive, as_it_is);
    assert!(!bench.station.connection().tight());
}

/// Fault F096: the tick passes its end after 49.7 days, and an age must not.
/// Shows F096, LC7.
#[test]
fn an_identity_does_not_grow_young_when_the_tick_wraps() {
    let mut bench = coupled();
    identify(&mut bench, 1, &[pure(); 2], true);
    let then = bench.now();
    bench.deaf = true;
    while bench.now() >= then {
        bench.scan_after(10_000, None);
    }
    while bench.now() < then {
        bench.scan_after(10_000, None);
    }
    bench.deaf = false;
    bench.seconds(30);
    assert_eq!(bench.station.connection().gas(), GasVerdict::Pure, "known all the time");
    assert_eq!(bench.station.connection().gas_age(), Millis(u32::MAX));
    assert!(!recovers(&mut bench, 2));
    assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::NoIdentity)));
}
