//! When draining and injecting oil are skipped, give up or are done, and what they have booked by then.

use std::cell::Cell;

use valvewright_core::frame::{Actuator, Switches};
use valvewright_core::job::{GiveUp, Outcome, PhaseKind, WorkOrder};
use valvewright_core::talk::Notice;
use valvewright_core::units::Milligram;

use crate::bench::{Bench, order, report};
use crate::give_up::{as_it_is, ends, gives_up, gives_up_after, grams, leant_on, skips};

use PhaseKind::{DrainOil, Identify, InjectOil, Recover};

/// A recovery that pulled the hoses down leaves the separator at ease; then they stand at the air.
fn at_ease() -> Bench {
    let mut bench = Bench::new();
    bench.world.reports = [report(998, 1, 5, true); 2].into();
    bench.start(1, order(&[Identify, Recover]));
    assert!(bench.until(120, |b| b.station.job().question().is_some()));
    bench.answer(true);
    assert!(bench.until(400, |b| b.on().has(Actuator::C1)), "{:?}", bench.notices);
    (bench.world.p_low, bench.world.p_high) = (35_000.0, 35_000.0);
    assert!(bench.until(1_000, |b| !b.station.job().busy()), "{:?}", bench.notices);
    (bench.world.p_low, bench.world.p_high) = (100_000.0, 100_000.0);
    bench.seconds(5);
    bench.start(2, order(&[DrainOil]));
    assert!(bench.until(70, |b| b.station.job().phase().is_some()), "{:?}", bench.notices);
    bench
}

/// So much oil runs out each second while XV-8 is open.
fn runs(rate: f64) -> impl Fn(&mut Bench, f64) {
    move |bench, _| bench.world.grams[1] += if bench.on().has(Actuator::Xv8) { rate / 20.0 } else { 0.0 }
}

#[test]
fn a_full_bottle_takes_no_oil() {
    let mut full = at_ease();
    full.world.open = Switches::LS1_NOT_FULL;
    gives_up(&mut full, DrainOil, GiveUp::OilBottleFull, as_it_is);
    assert_eq!(grams(full.station.job().ledger.oil_drained), 0.0);
    // Or it fills up.
    let mut fills = at_ease();
    gives_up(&mut fills, DrainOil, GiveUp::OilBottleFull, |b, t| {
        runs(1.0)(b, t);
        if b.world.grams[1] >= 30.0 {
            b.world.open = Switches::LS1_NOT_FULL;
        }
    });
    let booked = grams(fills.station.job().ledger.oil_drained);
    assert!((booked - fills.world.grams[1]).abs() < 0.1 && (30.0..31.0).contains(&booked), "{booked} g");
}

#[test]
fn a_separator_is_drained_at_thirteen_hundred_millibar_and_no_more() {
    for (separator, drains) in [(131_500.0, false), (126_500.0, true)] {
        let mut bench = at_ease();
        bench.world.p_separator = Some(separator);
        let ended = bench.until(120, |b| b.on().has(Actuator::Xv8) || !b.station.job().busy());
        assert_eq!(ended && bench.on().has(Actuator::Xv8), drains, "{separator} Pa: {:?}", bench.notices);
    }
}

#[test]
fn a_drain_waits_a_minute_for_its_scale() {
    gives_up_after(&mut at_ease(), DrainOil, GiveUp::ScaleUnsteady, 120.05, leant_on(1, 100.0));
    let mut after = at_ease();
    gives_up_after(&mut after, DrainOil, GiveUp::ScaleUnsteady, 180.1, |b, t| {
        runs(0.5)(b, t);
        if b.world.grams[1] >= 10.0 {
            leant_on(1, 12.5)(b, t);
        }
    });
    assert!((grams(after.station.job().ledger.oil_drained) - 12.5).abs() < 2.5);
    // A bottle that was taken off: its scale is at its rail.
    let mut off = at_ease();
    gives_up(&mut off, DrainOil, GiveUp::ReadingBad, |b, t| {
        runs(0.5)(b, t);
        if b.world.grams[1] >= 10.0 {
            b.world.grams[1] = 5_000.0;
        }
    });
}

/// A minute to settle; then steps of twenty seconds while each brings half a gram, for three minutes at most.
#[test]
fn oil_is_drained_while_it_runs() {
    for (rate, steps) in [(0.02, 1), (0.03, 10), (1.0, 10)] {
        let mut bench = at_ease();
        let (first, open) = (Cell::new(None), Cell::new(0));
        let (outcome, _) = ends(&mut bench, DrainOil, |b, t| {
            runs(rate)(b, t);
            if b.on().has(Actuator::Xv8) {
                first.set(first.get().or(Some(t)));
                open.set(open.get() + 1);
            }
        });
        assert_eq!(outcome, Outcome::Done, "{:?}", bench.notices);
        assert!(first.get().is_some_and(|t| (59.0..61.0).contains(&t)), "{:?}", first.get());
        let seconds = f64::from(open.get()) / 20.0;
        assert!((seconds - f64::from(steps) * 20.0).abs() < 1.0, "{rate} g/s: {seconds} s");
        let booked = grams(bench.station.job().ledger.oil_drained);
        assert!((booked - bench.world.grams[1]).abs() < 0.1, "{booked} g");
        let told = bench.notices.iter().any(|n| matches!(n, Notice::OilDrained(m) if grams(*m) == booked));
        assert!(told, "{:?}", bench.notices);
    }
}

/// An injection in vacuum of so many grams.
fn injecting(grams: i32, high_voltage: bool) -> Bench {
    let mut bench = Bench::new();
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (1_000.0, 1_000.0, 100.0);
    bench.seconds(5);
    let extra = Milligram(grams);
    bench.start(1, WorkOrder { oil_extra: extra, high_voltage, ..order(&[InjectOil]) });
    bench
}

/// So much oil is drawn in each second while XV-9 is open.
fn drawn(rate: f64) -> impl Fn(&mut Bench, f64) {
    move |bench, _| bench.world.grams[2] -= if bench.on().has(Actuator::Xv9) { rate / 20.0 } else { 0.0 }
}

#[test]
fn a_dose_too_small_is_skipped() {
    skips(&mut injecting(1_999, false), InjectOil, GiveUp::NotOrdered, as_it_is);
    let mut least = injecting(2_000, false);
    assert!(least.until(70, |b| b.on().has(Actuator::Xv9)), "{:?}", least.notices);
}

/// Shows H11.
#[test]
fn a_high_voltage_compressor_gets_no_oil() {
    skips(&mut injecting(20_000, true), InjectOil, GiveUp::HighVoltage, as_it_is);
}

#[test]
fn oil_is_injected_into_vacuum_alone() {
    for (vacuum, opens) in [(9_600.0, false), (9_400.0, true), (101_325.0, false), (-1e6, false)] {
        let mut bench = injecting(20_000, false);
        bench.world.p_vacuum = vacuum;
        if opens {
            assert!(bench.until(70, |b| b.on().has(Actuator::Xv9)), "{:?}", bench.notices);
        } else {
            gives_up_after(&mut bench, InjectOil, GiveUp::NoVacuum, 0.05, as_it_is);
        }
    }
}

#[test]
fn an_empty_bottle_gives_no_oil() {
    for (bottle, opens) in [(19.9, false), (20.0, true)] {
        let mut bench = injecting(20_000, false);
        bench.world.grams[2] = bottle;
        if opens {
            assert!(bench.until(70, |b| b.on().has(Actuator::Xv9)), "{:?}", bench.notices);
        } else {
            gives_up_after(&mut bench, InjectOil, GiveUp::NoOil, 0.1, as_it_is);
        }
    }
    // Or it gives too little in two minutes; that is booked.
    let mut slow = injecting(20_000, false);
    gives_up_after(&mut slow, InjectOil, GiveUp::NoOil, 120.15, drawn(0.1));
    let (booked, gone) = (grams(slow.station.job().ledger.oil_injected), 250.0 - slow.world.grams[2]);
    assert!((booked - gone).abs() < 0.05 && (11.5..12.5).contains(&booked), "{booked} g booked, {gone} g gone");
}

/// The valve shuts 0.6 g early, for what is on its way.
#[test]
fn a_dose_of_oil_is_met() {
    let mut bench = injecting(20_000, false);
    let (outcome, _) = ends(&mut bench, InjectOil, drawn(1.0));
    assert_eq!(outcome, Outcome::Done);
    let (booked, gone) = (grams(bench.station.job().ledger.oil_injected), 250.0 - bench.world.grams[2]);
    assert!((booked - gone).abs() < 0.05 && (gone - 19.7).abs() < 0.2, "{booked} g booked, {gone} g gone");
    assert!(bench.notices.iter().any(|n| matches!(n, Notice::OilInjected(m) if grams(*m) == booked)));
}

#[test]
fn an_injection_waits_a_minute_for_its_scale() {
    gives_up_after(&mut injecting(20_000, false), InjectOil, GiveUp::ScaleUnsteady, 60.1, leant_on(2, 250.0));
    for (leans, why) in [(true, GiveUp::ScaleUnsteady), (false, GiveUp::ReadingBad)] {
        let mut bench = injecting(20_000, false);
        let seconds = if leans { 80.0 } else { 10.25 };
        gives_up_after(&mut bench, InjectOil, why, seconds, |b, t| {
            drawn(1.0)(b, t);
            match (leans, b.world.grams[2]) {
                (true, left) if left <= 231.0 => leant_on(2, 229.0)(b, t),
                (false, left) if left <= 240.0 => b.world.grams[2] = 5_000.0,
                _ => {}
            }
        });
        let booked = grams(bench.station.job().ledger.oil_injected);
        assert!(if leans { (booked - 21.0).abs() < 2.5 } else { (booked - 10.0).abs() < 0.6 }, "{booked} g");
    }
}
