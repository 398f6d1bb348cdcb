//! Air and nitrogen under pressure: told from refrigerant, let out by hand, and the pressure test.

use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::job::{GasVerdict, GiveUp, LeakVerdict, Outcome, PhaseKind, Sides, WorkOrder};
use valvewright_core::sense::GasReport;
use valvewright_core::talk::{Notice, Question};
use valvewright_core::units::{AbsPa, Milligram, Permille};

use crate::bench::{Bench, order, report};
use crate::rows::outcome;

const BARO: f64 = 101_325.0;

/// Hoses at this pressure, the order at its first question.
fn ordered(pressure: f64, order: WorkOrder) -> Bench {
    let mut bench = Bench::new();
    (bench.world.p_low, bench.world.p_high) = (pressure, pressure);
    bench.seconds(5);
    bench.start(1, order);
    bench
}

fn asked(bench: &mut Bench, question: Question, seconds: u32) {
    assert!(bench.until(seconds, |b| b.station.job().question() == Some(question)), "{:?}", bench.notices);
}

/// Two samples of nothing but air, as nitrogen shows.
fn nothing_but_air(bench: &mut Bench) {
    bench.world.reports = [report(0, 0, 1_000, true); 2].map(|r| GasReport { other: Permille(0), ..r }).into();
}

fn ended(bench: &mut Bench, seconds: u32) -> Option<Outcome> {
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

/// A pressure test at its hold, at 11.01 bar.
fn holding() -> Bench {
    let mut bench = ordered(BARO, order(&[PhaseKind::PressureTest]));
    asked(&mut bench, Question::CircuitOpened, 60);
    bench.answer(true);
    asked(&mut bench, Question::FillNitrogen, 5);
    (bench.world.p_low, bench.world.p_high) = (BARO + 1e6, BARO + 1e6);
    bench.answer(true);
    bench.seconds(305);
    bench
}

/// Lets the nitrogen out when asked, and waits for the end.
fn let_out(bench: &mut Bench, seconds: u32) -> Option<Outcome> {
    asked(bench, Question::ReleaseByHand, seconds);
    bench.answer(true);
    (bench.world.p_low, bench.world.p_high) = (BARO, BARO);
    ended(bench, 10)
}

#[test]
fn a_pressure_test_opens_nothing_and_passes_on_what_warmth_explains() {
    for (kelvin, pressure) in [(0.0, 0.0), (2.0, 7_400.0), (-2.0, -7_400.0), (0.0, -4_500.0)] {
        let mut bench = holding();
        bench.world.ambient += kelvin;
        bench.world.p_low += pressure;
        bench.world.p_high += pressure;
        let opened = bench.until(890, |b| b.on() != Actuators::SAFE);
        assert!(!opened, "{:?}", bench.on());
        assert_eq!(let_out(&mut bench, 30), Some(Outcome::Done), "{kelvin} K, {pressure} Pa: {:?}", bench.notices);
        assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Unknown, "no pass for a charge");
        assert!(!bench.station.job().ledger.nitrogen);
    }
}

/// 6 kPa in a quarter of an hour, and 8 kPa that warmth hid.
#[test]
fn a_pressure_that_falls_is_a_leak_of_this_connection() {
    for (kelvin, pressure, fall) in [(0.0, -6_500.0, 6_500), (2.0, 0.0, 7_480)] {
        let mut bench = holding();
        bench.world.ambient += kelvin;
        bench.world.p_low += pressure;
        bench.world.p_high += pressure;
        let Some(Outcome::Failed(GiveUp::PressureFalls(seen))) = let_out(&mut bench, 920) else {
            panic!("{kelvin} K, {pressure} Pa: {:?}", bench.notices)
        };
        assert!((seen.0 - fall).abs() < 300, "{seen:?} for {fall} Pa");
        assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Leak);
    }
}

/// PT-2 or PT-3 stands still, or drifts, while the other shows what is: neither a pass nor a leak, and the pressure is let out first.
#[test]
fn a_gauge_that_stands_still_neither_passes_nor_accuses() {
    for low_stands in [true, false] {
        for (stuck_at_release, fall) in [(false, 20_000.0), (false, 6_500.0), (true, 20_000.0), (true, 0.0)] {
            let mut bench = holding();
            let falls = |b: &mut Bench| if low_stands { b.world.p_high -= fall } else { b.world.p_low -= fall };
            falls(&mut bench);
            asked(&mut bench, Question::ReleaseByHand, 920);
            assert_eq!(bench.on(), Actuators::SAFE);
            bench.answer(true);
            let stays = if low_stands { bench.world.p_low } else { bench.world.p_high };
            (bench.world.p_low, bench.world.p_high) = match (stuck_at_release, low_stands) {
                (false, _) => (BARO, BARO),
                (true, true) => (stays, BARO),
                (true, false) => (BARO, stays),
            };
            let outcome = ended(&mut bench, 310);
            let Some(Outcome::Failed(GiveUp::HosesDisagree(low, high))) = outcome else {
                panic!("{low_stands}, {stuck_at_release}, {fall} Pa: {outcome:?}")
            };
            let apart = if stuck_at_release { stays - BARO } else { fall };
            assert!((f64::from((low.0 - high.0).abs()) - apart).abs() < 300.0, "{low:?}, {high:?}");
            assert_eq!(low > high, low_stands);
            assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Unknown);
            // Nothing fell where only the release was not seen: that much of the test was a pass.
            let told = bench.notices.iter().any(|n| matches!(n, Notice::PressureTest(..)));
            assert_eq!(told, fall == 0.0, "{:?}", bench.notices);
        }
    }
}

/// One gauge that reads too much hides nothing: the other decides.
#[test]
fn a_gauge_that_drifts_upwards_hides_no_fall() {
    for (drift, fall, leak) in
        [(8_000.0, 0.0, false), (3_000.0, 6_500.0, false), (1_000.0, 9_000.0, false), (0.0, 9_000.0, true)]
    {
        let mut bench = holding();
        bench.world.p_low += drift - fall;
        bench.world.p_high -= fall;
        let outcome = let_out(&mut bench, 920);
        if leak {
            assert!(matches!(outcome, Some(Outcome::Failed(GiveUp::PressureFalls(_)))), "{outcome:?}");
        } else {
            let passes = fall == 0.0;
            assert_eq!(outcome == Some(Outcome::Done), passes, "{drift} Pa up, {fall} Pa down: {outcome:?}");
        }
    }
}

/// A gauge that never rose, told when the hold would begin.
#[test]
fn gauges_far_apart_begin_no_hold() {
    for apart in [19_000.0, 21_000.0, 1e6] {
        let mut bench = ordered(BARO, order(&[PhaseKind::PressureTest]));
        asked(&mut bench, Question::CircuitOpened, 60);
        bench.answer(true);
        asked(&mut bench, Question::FillNitrogen, 5);
        (bench.world.p_low, bench.world.p_high) = (BARO + 1e6 - apart, BARO + 1e6);
        bench.answer(true);
        let early = bench.until(310, |b| b.station.job().question() == Some(Question::ReleaseByHand));
        assert_eq!(early, apart > 20_000.0, "{apart} Pa: {:?}", bench.notices);
    }
}

/// One hose is on the vehicle; the other hangs in its holder, and what its gauge does is nothing to the test.
#[test]
fn a_test_through_one_coupler_is_judged_by_its_gauge() {
    for (sides, fall, passes) in [(Sides::Low, 0.0, true), (Sides::Low, 9_000.0, false), (Sides::High, 9_000.0, false)]
    {
        let mut bench = ordered(BARO, WorkOrder { sides, ..order(&[PhaseKind::PressureTest]) });
        asked(&mut bench, Question::CircuitOpened, 60);
        bench.answer(true);
        asked(&mut bench, Question::FillNitrogen, 5);
        let set = |b: &mut Bench, p: f64| if sides == Sides::Low { b.world.p_low = p } else { b.world.p_high = p };
        set(&mut bench, BARO + 1e6);
        bench.answer(true);
        bench.seconds(305);
        set(&mut bench, BARO + 1e6 - fall);
        asked(&mut bench, Question::ReleaseByHand, 920);
        bench.answer(true);
        set(&mut bench, BARO);
        assert_eq!(ended(&mut bench, 10) == Some(Outcome::Done), passes, "{sides:?}, {fall} Pa: {:?}", bench.notices);
    }
}

#[test]
fn a_large_leak_is_told_while_the_pressure_settles() {
    let mut bench = ordered(BARO, order(&[PhaseKind::PressureTest]));
    asked(&mut bench, Question::CircuitOpened, 60);
    bench.answer(true);
    asked(&mut bench, Question::FillNitrogen, 5);
    (bench.world.p_low, bench.world.p_high) = (BARO + 1e6, BARO + 1e6);
    bench.answer(true);
    bench.until_with(
        290,
        |b| (b.world.p_low, b.world.p_high) = (b.world.p_low - 30.0, b.world.p_high - 30.0),
        |_| false,
    );
    let Some(Outcome::Failed(GiveUp::PressureFalls(_))) = let_out(&mut bench, 30) else {
        panic!("{:?}", bench.notices)
    };
}

#[test]
fn a_wrong_test_pressure_a_no_and_silence_end_the_test() {
    let at_fill = || {
        let mut bench = ordered(BARO, order(&[PhaseKind::PressureTest]));
        asked(&mut bench, Question::CircuitOpened, 60);
        bench.answer(true);
        asked(&mut bench, Question::FillNitrogen, 5);
        bench
    };
    for wrong in [BARO + 8.5e5, BARO + 1.15e6] {
        let mut bench = at_fill();
        (bench.world.p_low, bench.world.p_high) = (wrong, wrong);
        bench.answer(true);
        let Some(Outcome::Failed(GiveUp::TestPressure(p))) = ended(&mut bench, 310) else {
            panic!("{:?}", bench.notices)
        };
        assert!((f64::from(p.0) - wrong).abs() < 2_000.0);
        assert!(bench.notices.contains(&Notice::NitrogenLeft), "the circuit stands under nitrogen");
    }
    let mut bench = at_fill();
    bench.answer(false);
    assert_eq!(ended(&mut bench, 5), Some(Outcome::Failed(GiveUp::Declined)));
    assert!(!bench.notices.contains(&Notice::NitrogenLeft), "nothing was filled");
    let mut bench = at_fill();
    assert_eq!(ended(&mut bench, 1_210), Some(Outcome::Failed(GiveUp::NoAnswer)));
}

#[test]
fn no_nitrogen_goes_into_a_circuit_that_holds_refrigerant() {
    let mut bench = ordered(600_000.0, order(&[PhaseKind::PressureTest]));
    asked(&mut bench, Question::SampleFilterClean, 70);
    bench.world.reports = [report(998, 1, 5, true); 2].into();
    bench.answer(true);
    let Some(Outcome::Failed(GiveUp::HoldsRefrigerant(_))) = ended(&mut bench, 60) else {
        panic!("{:?}", bench.notices)
    };
}

#[test]
fn an_aborted_pressure_test_says_that_nitrogen_is_left() {
    let mut bench = holding();
    bench.give(valvewright_core::talk::Command::Abort);
    assert!(!bench.station.job().busy() && bench.notices.contains(&Notice::NitrogenLeft));
}

/// What fell stands as a leak until a hold passes after a new evacuation; it may be evacuated at once.
#[test]
fn a_fallen_test_is_taken_back_by_an_evacuation_and_a_hold_only() {
    let mut bench = holding();
    bench.world.p_low -= 20_000.0;
    bench.world.p_high -= 20_000.0;
    let_out(&mut bench, 920);
    bench.start(2, order(&[PhaseKind::Charge]));
    assert_eq!(ended(&mut bench, 60), Some(Outcome::Failed(GiveUp::NoLeakVerdict)));
    bench.start(3, order(&[PhaseKind::Evacuate]));
    assert!(bench.until(150, |b| b.on().has(Actuator::Xv6)), "{:?}", bench.notices);
}

#[test]
fn a_test_pressure_outside_its_range_is_refused() {
    for (over, field) in [(199_999, true), (200_000, false), (1_500_000, false), (1_500_001, true)] {
        let mut bench = Bench::new();
        bench.seconds(5);
        bench.start(1, WorkOrder { test_over: AbsPa(over), ..order(&[PhaseKind::PressureTest]) });
        assert_eq!(bench.station.job().busy(), !field, "{over} Pa");
    }
}
