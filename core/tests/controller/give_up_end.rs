//! When verifying and hose clearing give up or are done.

use std::cell::Cell;

use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::job::{GiveUp, Outcome, PhaseKind};
use valvewright_core::talk::{Command, Notice, Question};
use valvewright_core::units::{CentiKelvin, Milligram};

use crate::bench::{Bench, order, report};
use crate::charging::{Charging, honest, with_clearing};
use crate::give_up::{all_off, as_it_is, ends, gives_up, gives_up_after, grams, leant_on, record};
use crate::give_up_charge::Stalled;
use crate::give_up_gas::recovering;

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

/// Shows H25.
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
    // Five seconds at the end pressure, half a minute of watching from where it stands, and the filters of gauges and scale.
    assert!((took - 37.15).abs() < 0.1, "{took} s");
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
    gives_up_after(&mut after, ClearHoses, GiveUp::ScaleUnsteady, 156.75, |b, t| {
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

/// A charge of 500 g with hose clearing behind it, up to the question whether the vehicle has drawn the hoses down.
fn charged() -> Charging {
    let mut charging = Charging::ordered(with_clearing(500));
    let asked = |c: &Charging| c.bench.station.job().question() == Some(Question::DrawIn);
    assert!(charging.play(1_200, honest, asked) && asked(&charging), "{:?}", charging.bench.notices);
    charging
}

/// Drawn down for 15 s below three quarters of saturation, 110 s at least and 240 s at most.
#[test]
fn a_vehicle_draws_the_hoses_down_to_three_quarters_of_saturation() {
    for (name, course, seconds) in [
        ("low at once", &(|_| 0.74) as &dyn Fn(f64) -> f64, 110.0),
        ("low after a hundred seconds", &|t| if t < 100.0 { 0.9 } else { 0.7 }, 115.2),
        ("hardly low", &|_| 0.76, 240.0),
        ("up and down", &|t: f64| if t % 14.0 < 13.0 { 0.5 } else { 0.9 }, 240.0),
    ] {
        let mut bench = charged().bench;
        (bench.world.p_low, bench.world.p_high) = (course(0.0) * saturation(21), course(0.0) * saturation(21));
        bench.seconds(3);
        bench.answer(true);
        let drawn = |b: &Bench| said(b, |n| matches!(n, Notice::DrawnIn(_))) == 1;
        let (mut t, valves) = (0.0, Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::K1]));
        while !drawn(&bench) {
            // The higher counts; gauges that open valves join are no further apart.
            let high = course(t) * saturation(21);
            (bench.world.p_low, bench.world.p_high) = (high - 6_000.0, high);
            bench.scan(None);
            t += 0.05;
            assert!(t < 1.0 || t > seconds - 0.5 || bench.on() == valves, "{name}: {:?} after {t} s", bench.on());
        }
        assert!((t - seconds).abs() < 0.3, "{name}: {t} s");
        bench.seconds(1);
        assert_eq!(bench.station.job().question(), Some(Question::ShutCouplers), "{name}");
        assert_eq!(bench.on(), Actuators::SAFE, "{name}");
    }
    let mut blind = charged();
    blind.bench.answer(true);
    gives_up(&mut blind.bench, ClearHoses, GiveUp::ReadingBad, |b, t| {
        b.world.p_high = if t > 20.0 { -1e6 } else { 500_000.0 };
    });
}

/// Declined or unanswered for twenty minutes, what the hoses hold goes back to the vessel.
#[test]
fn a_vehicle_that_draws_nothing_in_is_passed_over() {
    let mut declined = charged().bench;
    declined.answer(false);
    declined.seconds(1);
    assert_eq!(declined.station.job().question(), Some(Question::ShutCouplers));
    let mut silent = charged().bench;
    let from = silent.now();
    assert!(silent.until(1_300, |b| b.station.job().question() == Some(Question::ShutCouplers)));
    assert_eq!(silent.now() - from, 1_200_050);
    assert_eq!(said(&silent, |n| matches!(n, Notice::DrawnIn(_))), 0);
}

/// The vehicle's own compressor, started for the charge, draws them in without another word.
#[test]
fn a_vehicle_that_runs_already_is_not_asked_for() {
    let mut stalled = Stalled::ordered(with_clearing(500), 250.0);
    stalled.until_asked();
    stalled.charging.bench.answer(true);
    (stalled.charging.bench.world.p_low, stalled.charging.flow) = (500_000.0, 7.0);
    assert!(stalled.play(3_600, |c| c.bench.station.job().phase() == Some(ClearHoses)));
    let bench = &mut stalled.charging.bench;
    (bench.world.p_low, bench.world.p_high) = (300_000.0, 300_000.0);
    assert!(bench.until(120, |b| said(b, |n| matches!(n, Notice::DrawnIn(_))) == 1), "{:?}", bench.notices);
}

/// What has come back so far is booked in every scan, and never less than the hoses are taken to keep.
#[test]
fn what_the_hoses_give_back_is_booked_as_it_comes() {
    for (back, booked) in [(0.5, 1.4), (20.0, 20.0)] {
        let mut charging = charged();
        let bench = &mut charging.bench;
        bench.answer(false);
        bench.seconds(1);
        bench.answer(true);
        assert!(bench.until(300, |b| b.on().has(Actuator::C1)), "{:?}", bench.notices);
        let before = bench.world.grams[0];
        bench.world.grams[0] += back;
        bench.seconds(5);
        let shown = grams(bench.station.job().ledger.in_hoses);
        assert!((shown - booked).abs() < 0.2, "{back} g came back, {shown} g booked");
        bench.give(Command::Abort);
        bench.seconds(5);
        assert!((bench.world.grams[0] - before - back).abs() < 1e-9);
        let shown = grams(bench.station.job().ledger.in_hoses);
        assert!((shown - booked).abs() < 0.2, "{back} g came back, {shown} g booked");
    }
    // Without a charge before it there is no charge to correct.
    let mut bench = clearing();
    bench.answer(true);
    let (outcome, _) = ends(&mut bench, ClearHoses, |b, _| {
        if b.on().has(Actuator::C1) {
            (b.world.p_low, b.world.p_high, b.world.grams[0]) = (35_000.0, 35_000.0, 6_007.0);
        }
    });
    assert_eq!(outcome, Outcome::Done, "{:?}", bench.notices);
    assert_eq!(bench.station.job().ledger.in_hoses, Milligram(0));
    assert!(bench.notices.iter().any(|n| matches!(n, Notice::HosesCleared(m) if (grams(*m) - 7.0).abs() < 0.05)));
}

/// The time spent of the time planned, and no more than all of it.
#[test]
fn a_phase_shows_how_far_it_has_come() {
    let mut bench = Bench::new();
    bench.seconds(5);
    bench.start(1, order(&[Verify]));
    assert!(bench.until(70, |b| b.station.job().phase().is_some()));
    for second in 1..60 {
        bench.seconds(1);
        let shown = bench.station.job().progress();
        let spent = second * 1_000 + 50;
        assert_eq!(shown.done.0, spent / 60, "after {second} s");
        assert_eq!(shown.remaining.0, 60_000 - spent as u32, "after {second} s");
    }
    // A recovery is planned with twenty minutes.
    let mut bench = recovering(6_000.0);
    bench.world.p_separator = Some(50_000.0);
    bench.seconds(24);
    assert_eq!(bench.station.job().progress().done.0, 20);
    // The plan of a hose clearing is four minutes, and an answer may take twenty.
    let mut bench = clearing();
    bench.seconds(300);
    let shown = bench.station.job().progress();
    assert_eq!((shown.done.0, shown.remaining.0), (1_000, 0));
}
