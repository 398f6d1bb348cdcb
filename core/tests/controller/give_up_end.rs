//! When verifying and hose clearing give up or are done.

use std::cell::Cell;

use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::Actuator;
use valvewright_core::job::{GiveUp, Outcome, PhaseKind};
use valvewright_core::talk::{Notice, Question};
use valvewright_core::units::{CentiKelvin, Milligram};

use crate::bench::{Bench, order, report};
use crate::give_up::{all_off, as_it_is, ends, gives_up, gives_up_after, leant_on, record};

use PhaseKind::{ClearHoses, Identify, Verify};

fn said(bench: &Bench, what: impl Fn(&Notice) -> bool) -> usize {
    bench.notices.iter().filter(|n| what(n)).count()
}

fn saturation(celsius: i32) -> f64 {
    f64::from(Refrigerant::R1234yf.p_sat(CentiKelvin::from_centi_celsius(celsius * 100)).0)
}

/// A minute of rest; each side stands between 0.4 and 1.5 of saturation at ambient.
#[test]
fn static_pressures_must_fit_the_ambient() {
    let fits = saturation(21);
    for (low, high, well) in [
        (0.41, 1.0, true),
        (0.39, 1.0, false),
        (1.0, 0.39, false),
        (1.0, 1.49, true),
        (1.0, 1.51, false),
        (1.51, 1.0, false),
    ] {
        let mut bench = Bench::new();
        (bench.world.p_low, bench.world.p_high) = (low * fits, high * fits);
        bench.seconds(5);
        bench.start(1, order(&[Verify]));
        if well {
            let (outcome, lasted) = ends(&mut bench, Verify, as_it_is);
            assert_eq!(outcome, Outcome::Done, "{low}, {high}");
            assert!((lasted - 60.0).abs() < 0.02, "{lasted} s");
        } else {
            gives_up_after(&mut bench, Verify, GiveUp::PressureImplausible, 60.0, as_it_is);
        }
        assert_eq!(said(&bench, |n| matches!(n, Notice::StaticPressure(..))), 1);
    }
    for (low, high) in [(-1e6, fits), (fits, -1e6)] {
        let mut bench = Bench::new();
        (bench.world.p_low, bench.world.p_high) = (low, high);
        bench.seconds(5);
        bench.start(1, order(&[Verify]));
        gives_up_after(&mut bench, Verify, GiveUp::ReadingBad, 60.0, as_it_is);
    }
}

/// Hose clearing without a charge, identified before, up to its question.
fn clearing() -> Bench {
    let mut bench = Bench::new();
    bench.world.reports = [report(998, 1, 5, true); 2].into();
    bench.seconds(5);
    bench.start(1, order(&[Identify]));
    assert!(bench.until(100, |b| b.station.job().question().is_some()), "{:?}", bench.notices);
    bench.answer(true);
    bench.seconds(180);
    bench.start(2, order(&[ClearHoses]));
    assert!(bench.until(70, |b| b.station.job().question() == Some(Question::ShutCouplers)), "{:?}", bench.notices);
    bench
}

#[test]
fn hoses_stay_on_while_their_couplers_are_open() {
    let mut declined = clearing();
    declined.answer(false);
    gives_up(&mut declined, ClearHoses, GiveUp::Declined, as_it_is);
    assert!(!declined.notices.contains(&Notice::Release));
    gives_up_after(&mut clearing(), ClearHoses, GiveUp::NoAnswer, 1_200.1, as_it_is);
}

/// The pull and the watch behind it, with hoses at `pulled` while C-1 runs and at `watched` behind it.
fn cleared(pulled: f64, watched: f64) -> (Outcome, f64, Bench) {
    let mut bench = clearing();
    bench.answer(true);
    let began = bench.now();
    let (outcome, _) = ends(&mut bench, ClearHoses, |b, _| {
        let p = if b.on().has(Actuator::C1) { pulled } else { watched };
        (b.world.p_low, b.world.p_high) = (p, p);
    });
    let took = f64::from(bench.now() - began) / 1e3;
    (outcome, took, bench)
}

#[test]
fn hoses_that_do_not_empty_are_not_released() {
    let (outcome, took, mut bench) = cleared(40_000.0, 40_000.0);
    assert_eq!(outcome, Outcome::Failed(GiveUp::RecoveryTimeout));
    assert!((took - 600.15).abs() < 0.1, "ten minutes: {took} s");
    all_off(&mut bench);
    let (outcome, _, mut bench) = cleared(35_000.0, 132_000.0);
    assert_eq!(outcome, Outcome::Failed(GiveUp::KeepsRising), "a coupler leaks by");
    all_off(&mut bench);
    let (outcome, took, bench) = cleared(35_000.0, 128_000.0);
    assert_eq!(outcome, Outcome::Done, "{:?}", bench.notices);
    // Five seconds at the end pressure, half a minute of watching, and what the machines need.
    assert!((35.0..41.0).contains(&took), "{took} s");
    assert!(bench.notices.contains(&Notice::Release) && bench.notices.contains(&Notice::HosesCleared(Milligram(0))));
}

#[test]
fn hoses_are_weighed_at_rest_or_not_released() {
    let mut before = clearing();
    let from = Cell::new(0);
    gives_up(&mut before, ClearHoses, GiveUp::ScaleUnsteady, |b, t| {
        leant_on(0, 6_000.0)(b, t);
        if (10.0..10.05).contains(&t) {
            b.answer(true);
            from.set(b.now());
        }
    });
    assert_eq!(before.now() - from.get() - 3_000, 120_050);
    let mut after = clearing();
    after.answer(true);
    gives_up(&mut after, ClearHoses, GiveUp::ScaleUnsteady, |b, t| {
        if b.on().has(Actuator::C1) {
            (b.world.p_low, b.world.p_high) = (35_000.0, 35_000.0);
        } else if b.world.p_low < 40_000.0 {
            leant_on(0, 6_000.0)(b, t);
        }
    });
    assert!(!after.notices.contains(&Notice::Release));
    // Nothing to see the hoses by, in the watch.
    let mut blind = clearing();
    blind.answer(true);
    gives_up(&mut blind, ClearHoses, GiveUp::ReadingBad, |b, _| {
        if b.on().has(Actuator::C1) {
            (b.world.p_low, b.world.p_high) = (35_000.0, 35_000.0);
        } else if b.world.p_low < 40_000.0 && !b.on().has(Actuator::Xv4) {
            b.world.p_low = -1e6;
        }
    });
    assert_eq!(record(&blind, ClearHoses).map(|r| r.outcome), Some(Outcome::Failed(GiveUp::ReadingBad)));
}
