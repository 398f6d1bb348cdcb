//! The pressure test under nitrogen: what it passes, what it calls a leak, and which gauge it does not believe.

use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::job::{GiveUp, LeakVerdict, Outcome, PhaseKind, Sides, WorkOrder};
use valvewright_core::talk::{Notice, Question};
use valvewright_core::units::AbsPa;

use crate::bench::{Bench, order, report};
use crate::nitrogen::{BARO, asked, ended, ordered};
use crate::rows::outcome;

/// A pressure test through these couplers that asks for nitrogen.
fn at_fill_through(sides: Sides) -> Bench {
    let mut bench = ordered(BARO, WorkOrder { sides, ..order(&[PhaseKind::PressureTest]) });
    asked(&mut bench, Question::CircuitOpened, 60);
    bench.answer(true);
    asked(&mut bench, Question::FillNitrogen, 5);
    bench
}

fn at_fill() -> Bench {
    at_fill_through(Sides::Both)
}

/// A pressure test at its hold, at 11.01 bar.
fn holding() -> Bench {
    let mut bench = at_fill();
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

/// 11 bar say nothing below 5.3 kPa; half of that on the other gauge bears a fall out.
#[test]
fn a_fall_is_a_leak_where_the_other_gauge_shows_half_of_the_least() {
    for (low, high, leak) in
        [(9_000.0, 3_000.0, true), (9_000.0, 2_300.0, false), (3_000.0, 9_000.0, true), (2_300.0, 9_000.0, false)]
    {
        let mut bench = holding();
        bench.world.p_low -= low;
        bench.world.p_high -= high;
        let outcome = let_out(&mut bench, 920);
        assert_eq!(
            matches!(outcome, Some(Outcome::Failed(GiveUp::PressureFalls(_)))),
            leak,
            "{low}, {high}: {outcome:?}"
        );
        assert_eq!(matches!(outcome, Some(Outcome::Failed(GiveUp::HosesDisagree(..)))), !leak, "{low}, {high}");
    }
}

/// Gas that still flows out through one side is no gauge's fault: the sides are apart, and both have moved.
#[test]
fn a_release_that_takes_too_long_accuses_no_gauge() {
    for (low, high, disagree) in [
        (277_000.0, 209_000.0, false),
        (BARO, 300_000.0, false),
        (BARO + 1e6 - 3_000.0, BARO, false),
        (BARO + 1e6 - 1_000.0, BARO, true),
        (BARO + 1e6, BARO + 0.95e6, false),
    ] {
        let mut bench = holding();
        asked(&mut bench, Question::ReleaseByHand, 920);
        bench.answer(true);
        (bench.world.p_low, bench.world.p_high) = (low, high);
        match ended(&mut bench, 310) {
            Some(Outcome::Failed(GiveUp::NotReleased(p))) => {
                assert!(!disagree && (f64::from(p.0) - low.max(high)).abs() < 2_000.0, "{low} Pa, {high} Pa: {p:?}");
            }
            Some(Outcome::Failed(GiveUp::HosesDisagree(..))) => assert!(disagree, "{low} Pa, {high} Pa"),
            other => panic!("{low} Pa, {high} Pa: {other:?}"),
        }
        assert!(bench.notices.contains(&Notice::NitrogenLeft));
    }
}

/// A leak so large that gas streams through the circuit leaves its sides apart: a leak, and no gauge's fault.
#[test]
fn a_leak_that_leaves_the_sides_apart_accuses_no_gauge() {
    // What the two show half a minute after the bottle was shut, and after five minutes, over the barometer.
    for (then, now, leak) in [
        ([1e6, 0.85e6], [0.5e6, 0.36e6], true),
        ([1e6, 0.98e6], [0.95e6, 0.92e6], true),
        ([0.85e6, 1e6], [0.36e6, 0.5e6], true),
        // One of them cooled, or fell alone.
        ([1e6, 0.96e6], [0.99e6, 0.95e6], false),
        ([1e6, 1e6], [1e6, 0.9e6], false),
        // 40 kPa are more than gas cools by, on both.
        ([1e6, 0.96e6], [0.959e6, 0.919e6], true),
        ([1e6, 0.96e6], [0.961e6, 0.919e6], false),
    ] {
        let mut bench = at_fill();
        (bench.world.p_low, bench.world.p_high) = (BARO + then[0], BARO + then[1]);
        bench.answer(true);
        bench.seconds(40);
        (bench.world.p_low, bench.world.p_high) = (BARO + now[0], BARO + now[1]);
        let outcome = let_out(&mut bench, 300);
        assert_eq!(
            matches!(outcome, Some(Outcome::Failed(GiveUp::PressureFalls(_)))),
            leak,
            "{then:?}, {now:?}: {outcome:?}"
        );
        assert_eq!(matches!(outcome, Some(Outcome::Failed(GiveUp::HosesDisagree(..)))), !leak, "{then:?}, {now:?}");
    }
}

/// A hole so large that the bottle never brought the circuit to its pressure leaves the sides apart too; a gauge that is off leaves the
/// other where the bottle was shut.
#[test]
fn sides_apart_far_from_the_ordered_pressure_accuse_no_gauge() {
    for (low, high, disagree) in
        [(420_000.0, 48_000.0, false), (48_000.0, 420_000.0, false), (1e6, 48_000.0, true), (0.0, 0.95e6, true)]
    {
        let mut bench = at_fill();
        (bench.world.p_low, bench.world.p_high) = (BARO + low, BARO + high);
        bench.answer(true);
        bench.seconds(40);
        // It goes on falling, on one side by less than gas that cools.
        bench.world.p_low -= low * 0.02;
        let outcome = if disagree { let_out(&mut bench, 300) } else { ended(&mut bench, 300) };
        match outcome {
            Some(Outcome::Failed(GiveUp::HosesDisagree(..))) => assert!(disagree, "{low} Pa, {high} Pa"),
            Some(Outcome::Failed(GiveUp::TestPressure(_))) => {
                assert!(!disagree && bench.notices.contains(&Notice::NitrogenLeft), "{low} Pa, {high} Pa");
            }
            other => panic!("{low} Pa, {high} Pa: {other:?}"),
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
        let mut bench = at_fill();
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
        let mut bench = at_fill_through(sides);
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
    let mut bench = at_fill();
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

/// 1 bar from the ordered pressure is near enough; what was near it half a minute after the bottle was shut and is not after five is a leak.
#[test]
fn a_test_pressure_is_judged_after_five_minutes_by_what_it_was_after_half_a_minute() {
    let filled = |off: f64, late: f64, at: u32| {
        let mut bench = at_fill();
        let p = BARO + 1e6 + off;
        (bench.world.p_low, bench.world.p_high) = (p, p);
        bench.answer(true);
        let from = bench.now();
        let mut over = None;
        let done = |b: &Bench| b.station.job().question() == Some(Question::ReleaseByHand) || !b.station.job().busy();
        for _ in 0..330 * 20 {
            if bench.now() - from == at {
                (bench.world.p_low, bench.world.p_high) = (p + late, p + late);
            }
            bench.scan(None);
            if over.is_none() && done(&bench) {
                over = Some(bench.now() - from);
            }
        }
        (over, outcome(&bench), bench)
    };
    for off in [99_000.0, -99_000.0] {
        assert_eq!(filled(off, 0.0, 0).0, None, "{off} Pa: holding");
    }
    for off in [101_000.0, -101_000.0] {
        let (over, end, _) = filled(off, 0.0, 0);
        // In the first scan of which five minutes are over; the scan of the answer counts.
        assert_eq!(over, Some(300_000), "{off} Pa");
        assert!(matches!(end, Some(Outcome::Failed(GiveUp::TestPressure(_)))), "{end:?}");
    }
    // Gone after half a minute: a leak. Gone before: nobody knows what the bottle gave.
    let (over, _, bench) = filled(0.0, -150_000.0, 35_000);
    // It asks for the release in the scan after.
    assert_eq!(over, Some(300_050));
    assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Leak);
    // More than was filled is no fall.
    for (late, at) in [(-150_000.0, 25_000), (150_000.0, 25_000), (150_000.0, 35_000)] {
        let (_, end, bench) = filled(0.0, late, at);
        assert!(matches!(end, Some(Outcome::Failed(GiveUp::TestPressure(_)))), "{late} Pa at {at} ms: {end:?}");
        assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Unknown);
    }
}

/// Both gauges must show the ordered pressure; one on each side of the limit is not enough.
#[test]
fn a_test_pressure_that_only_one_gauge_shows_is_not_the_ordered_one() {
    for (low, high) in [(95_000.0, 105_000.0), (105_000.0, 95_000.0)] {
        let mut bench = at_fill();
        (bench.world.p_low, bench.world.p_high) = (BARO + 1e6 + low, BARO + 1e6 + high);
        bench.answer(true);
        let outcome = ended(&mut bench, 310);
        assert!(matches!(outcome, Some(Outcome::Failed(GiveUp::TestPressure(_)))), "{outcome:?}");
    }
}

/// 2 kPa of noise and drift, and the three thousandths by which 0.9 K move the pressure.
#[test]
fn the_least_fall_that_says_anything_follows_the_pressure() {
    use valvewright_core::job::pressure::least;
    assert_eq!(least(AbsPa(0)), AbsPa(2_000));
    assert_eq!(least(AbsPa(333_000)), AbsPa(3_000));
    // 0.9 K of 293 K are 0.307 % of 11 bar
    assert!((least(AbsPa(1_101_325)).0 - 2_000 - 3_383).abs() < 100, "{:?}", least(AbsPa(1_101_325)));
}

#[test]
fn a_wrong_test_pressure_a_no_and_silence_end_the_test() {
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
    let from = bench.now();
    assert_eq!(ended(&mut bench, 1_210), Some(Outcome::Failed(GiveUp::NoAnswer)));
    assert_eq!(bench.now() - from, 1_200_000, "more than twenty minutes, the scan of the question counted");
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
