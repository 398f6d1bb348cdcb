//! Air and nitrogen under pressure: told from refrigerant, and let out by hand.

use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::job::{GasVerdict, GiveUp, Outcome, PhaseKind, WorkOrder};
use valvewright_core::sense::GasReport;
use valvewright_core::talk::{Notice, Question};
use valvewright_core::units::{Milligram, Permille};

use crate::bench::{Bench, order, report};
use crate::rows::outcome;

pub const BARO: f64 = 101_325.0;

/// Hoses at this pressure, the order at its first question.
pub fn ordered(pressure: f64, order: WorkOrder) -> Bench {
    let mut bench = Bench::new();
    (bench.world.p_low, bench.world.p_high) = (pressure, pressure);
    bench.seconds(5);
    bench.start(1, order);
    bench
}

pub fn asked(bench: &mut Bench, question: Question, seconds: u32) {
    assert!(bench.until(seconds, |b| b.station.job().question() == Some(question)), "{:?}", bench.notices);
}

/// Two samples of nothing but air, as nitrogen shows.
fn nothing_but_air(bench: &mut Bench) {
    bench.world.reports = [report(0, 0, 1_000, true); 2].map(|r| GasReport { other: Permille(0), ..r }).into();
}

pub fn ended(bench: &mut Bench, seconds: u32) -> Option<Outcome> {
    assert!(bench.until(seconds, |b| !b.station.job().busy()), "{:?}", bench.notices);
    outcome(bench)
}

/// J6: the identifier is asked before the vacuum pump or a person has to guess.
#[test]
fn a_circuit_under_nitrogen_is_sampled_let_out_by_hand_and_evacuated() {
    let mut bench = ordered(500_000.0, order(&[PhaseKind::Evacuate]));
    asked(&mut bench, Question::SampleFilterClean, 70);
    nothing_but_air(&mut bench);
    bench.answer(true);
    asked(&mut bench, Question::ReleaseByHand, 60);
    assert_eq!(bench.on(), Actuators::SAFE);
    assert!(!bench.until(30, |b| b.on() != Actuators::SAFE), "before it is let out: {:?}", bench.on());
    bench.answer(true);
    bench.seconds(20);
    (bench.world.p_low, bench.world.p_high) = (BARO, BARO);
    assert!(bench.until(90, |b| b.on().has(Actuator::Xv6)), "{:?}", bench.notices);
    assert_eq!(bench.station.connection().gas(), GasVerdict::Air);
}

#[test]
fn nitrogen_that_is_not_let_out_keeps_the_pump_shut() {
    // More than five minutes after a yes, at once after a no, more than twenty minutes of silence, the scan of the question counted.
    for (answer, limit) in [(Some(true), 300_050), (Some(false), 50), (None, 1_200_000)] {
        let mut bench = ordered(500_000.0, order(&[PhaseKind::Evacuate]));
        asked(&mut bench, Question::SampleFilterClean, 70);
        nothing_but_air(&mut bench);
        bench.answer(true);
        asked(&mut bench, Question::ReleaseByHand, 60);
        let asked_at = bench.now();
        if let Some(yes) = answer {
            bench.answer(yes);
        }
        let from = if answer.is_some() { bench.now() } else { asked_at };
        let opened = bench.until(1_210, |b| b.on().has(Actuator::Xv6) || !b.station.job().busy());
        assert!(opened && !bench.on().has(Actuator::Xv6));
        assert_eq!(bench.now() - from, limit, "{answer:?}: ms to the end");
        match (answer, outcome(&bench)) {
            (None, end) => assert_eq!(end, Some(Outcome::Failed(GiveUp::NoAnswer))),
            (_, Some(Outcome::Failed(GiveUp::NotReleased(p)))) => assert!((p.0 - 500_000).abs() < 2_000, "{p:?}"),
            (_, end) => panic!("{answer:?}: {end:?}"),
        }
    }
}

/// 50 g must not leave through the vacuum pump, whatever the operator would say.
#[test]
fn a_circuit_under_refrigerant_is_refused_with_what_it_holds() {
    let mut bench = ordered(270_000.0, order(&[PhaseKind::Evacuate]));
    asked(&mut bench, Question::SampleFilterClean, 70);
    bench.world.reports = [report(998, 1, 5, true); 2].into();
    bench.answer(true);
    let Some(Outcome::Failed(GiveUp::HoldsRefrigerant(mass))) = ended(&mut bench, 60) else {
        panic!("{:?}", bench.notices)
    };
    // R-1234yf at 2.7 bar and 21 degC: 13.6 kg/m3 as an ideal gas of 114 g/mol with 7 % taken off its volume; 3.5 L
    assert!((Milligram(42_000)..Milligram(52_000)).contains(&mass), "{mass:?}");
    assert!(!bench.notices.contains(&Notice::Resumed) && bench.on() == Actuators::SAFE);
}

#[test]
fn a_foreign_gas_under_pressure_is_refused_by_its_name() {
    let mut bench = ordered(500_000.0, order(&[PhaseKind::Evacuate]));
    asked(&mut bench, Question::SampleFilterClean, 70);
    bench.world.reports = [report(500, 0, 5, true); 2].into();
    bench.answer(true);
    assert_eq!(ended(&mut bench, 60), Some(Outcome::Failed(GiveUp::GasRefused(GasVerdict::Foreign))));
}

/// Only where the identifier can't tell is the operator's word taken.
#[test]
fn without_a_sound_identifier_a_person_says_what_the_circuit_holds() {
    let silent = || {
        let mut bench = ordered(500_000.0, order(&[PhaseKind::Evacuate]));
        asked(&mut bench, Question::SampleFilterClean, 70);
        bench.answer(true);
        asked(&mut bench, Question::CircuitOpened, 700);
        bench
    };
    let mut bench = silent();
    bench.answer(true);
    asked(&mut bench, Question::ReleaseByHand, 5);
    let mut bench = silent();
    bench.answer(false);
    assert_eq!(ended(&mut bench, 5), Some(Outcome::Failed(GiveUp::NotRecovered)));
}

/// A circuit that was recovered and boils again is not to be let out into the air.
#[test]
fn pressure_that_came_back_after_a_recovery_is_never_let_out_by_hand() {
    let mut bench = crate::rows::pulling();
    (bench.world.p_low, bench.world.p_high) = (35_000.0, 35_000.0);
    assert_eq!(ended(&mut bench, 1_000), Some(Outcome::Done));
    (bench.world.p_low, bench.world.p_high) = (150_000.0, 150_000.0);
    bench.start(7, order(&[PhaseKind::Evacuate]));
    assert_eq!(ended(&mut bench, 400), Some(Outcome::Failed(GiveUp::PressureForVacuum)));
    assert!(!bench.notices.iter().any(|n| matches!(n, Notice::Asked(a) if a.question == Question::ReleaseByHand)));
}

/// A whole order on a circuit full of nitrogen: nothing to recover is no failure.
#[test]
fn a_whole_order_skips_the_recovery_of_air() {
    let mut bench = ordered(500_000.0, order(&[PhaseKind::Identify, PhaseKind::Recover, PhaseKind::Evacuate]));
    asked(&mut bench, Question::SampleFilterClean, 70);
    nothing_but_air(&mut bench);
    bench.answer(true);
    asked(&mut bench, Question::ReleaseByHand, 60);
    let records: Vec<_> = bench.station.job().records().iter().map(|r| (r.kind, r.outcome)).collect();
    let skipped = Outcome::Skipped(GiveUp::NothingToRecover);
    assert_eq!(records, [(PhaseKind::Identify, Outcome::Done), (PhaseKind::Recover, skipped)]);
}

/// The identification that a vacuum asked for ended otherwise than in not knowing: the vacuum is not begun.
#[test]
fn an_identification_that_fails_or_is_aborted_brings_no_vacuum_after_it() {
    for aborts in [false, true] {
        let mut bench = ordered(500_000.0, order(&[PhaseKind::Evacuate]));
        asked(&mut bench, Question::SampleFilterClean, 70);
        if aborts {
            bench.give(valvewright_core::talk::Command::Abort);
        } else {
            bench.answer(false);
        }
        let opened = bench.until(60, |b| b.on().has(Actuator::Xv6) || b.station.job().question().is_some());
        assert!(!opened && !bench.station.job().busy(), "{:?}", bench.notices);
        let last = bench.station.job().records().last().map(|r| (r.kind, r.outcome));
        let why = if aborts { Outcome::Aborted } else { Outcome::Failed(GiveUp::SampleFilterOily) };
        assert_eq!(last, Some((PhaseKind::Identify, why)), "{:?}", bench.notices);
    }
}
