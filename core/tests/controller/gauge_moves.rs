//! What a gauge may do and may not: stand while a vessel fills, step, move behind a shut valve; and a controller that stalls or has no watchdog.

use crate::bench::{Bench, order};
use crate::cross_checks::{CONTRADICTED, REST, Rig};
use crate::effect_checks::{Watch, good};

use valvewright_core::effect::Effects;
use valvewright_core::frame::{Actuator, Actuators, SelfCheck, SelfChecks};
use valvewright_core::interlock::RowId;
use valvewright_core::job::PhaseKind;
use valvewright_core::talk::Command;
use valvewright_core::units::{AbsPa, Milligram};

const PULL: Actuators =
    Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::Xv3, Actuator::Xv4, Actuator::C1, Actuator::K1]);

/// C-1 brings 5 g/s into 6 kg; when PT-1 is doubted, s, with this rise of PT-1, Pa a gram.
fn filled(pa_per_gram: i32, gram_per_s: i32) -> Option<f64> {
    let mut rig = Rig::new(PULL);
    rig.r.it1 = good(valvewright_core::units::Milliamp(3_000));
    (1..=30 * 20).map(|n| f64::from(n) / 20.0).find(|_| {
        rig.r.wt1.mass = good(Milligram(rig.r.wt1.mass.value.0 + gram_per_s * 50));
        rig.r.pt1.value.0 += pa_per_gram * gram_per_s / 20;
        rig.scan();
        assert_ne!(rig.seen.tt1.quality, CONTRADICTED, "it is PT-1 alone");
        rig.seen.pt1.quality == CONTRADICTED
    })
}

/// Shows F003, F007.
#[test]
fn a_gauge_that_stands_while_its_vessel_fills_is_wrong() {
    let at = filled(0, 5).expect("found");
    assert!(at < 11.0, "{at} s");
    assert_eq!(filled(40, 5), None, "1.9 kPa for 47 g, a fifth of what a sound vessel shows");
    assert_eq!(filled(0, 2), None, "2 g/s warm the wall as well");
}

/// Shows F008.
#[test]
fn a_vessel_makes_no_step_of_half_a_bar() {
    for (step, found) in [(-800_000, true), (60_000, true), (-60_000, true), (40_000, false)] {
        let mut rig = Rig::new(PULL);
        rig.r.pt1.value = AbsPa(1_200_000);
        rig.seconds(5);
        assert_ne!(rig.seen.pt1.quality, CONTRADICTED);
        rig.r.pt1.value.0 += step;
        rig.seconds(1);
        assert_eq!(rig.seen.pt1.quality == CONTRADICTED, found, "{step} Pa");
    }
}

/// A relief valve that lifts takes a full vessel down by some 4 bar/s, to where it shuts and no further.
#[test]
fn a_vessel_that_lifts_its_relief_valve_has_a_sound_gauge() {
    for (from, to, found) in [
        (2_400_000, 1_870_000, false),
        (2_400_000, 1_690_000, true),
        (2_400_000, 800_000, true),
        (1_800_000, 2_400_000, true),
    ] {
        let mut rig = Rig::new(REST);
        rig.r.pt1.value = AbsPa(from);
        rig.seconds(5);
        assert_ne!(rig.seen.pt1.quality, CONTRADICTED);
        rig.r.pt1.value = AbsPa(to);
        rig.seconds(1);
        assert_eq!(rig.seen.pt1.quality == CONTRADICTED, found, "{from} to {to} Pa");
    }
}

/// Shows F052, I19.
#[test]
fn a_hose_that_moves_behind_its_shut_valve_is_found_at_once() {
    let moves = |on: Actuators, hanging: Actuators, pa_per_scan: i32| {
        let mut watch = Watch::new();
        (1..=400).map(|n| n * 50).find(|_| {
            watch.readings.pt3.value.0 += pa_per_scan;
            watch.effects.step(valvewright_core::units::Millis(50), &watch.readings, on, hanging, &watch.cfg);
            Effects::mismatch(&watch.effects)
        })
    };
    let (charging, high) = (crate::effect_checks::CHARGING, Actuators::of(&[Actuator::Xv2]));
    assert!(moves(charging, high, 10_000).is_some_and(|at| at <= 400));
    assert_eq!(moves(charging, high, 250), None, "5 kPa/s is a hose in the sun");
    assert_eq!(moves(charging, Actuators::NONE, 10_000), None, "a hose on the vehicle may follow it");
    assert_eq!(moves(Actuators::SAFE, high, 10_000), None, "with nothing open nothing can come through");
}

/// Shows F138, I26.
#[test]
fn outputs_that_nobody_renewed_for_half_a_second_are_a_stall() {
    let stalled = |ms: u32, at_work: bool| {
        let mut bench = Bench::new();
        (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (1_000.0, 1_000.0, 100.0);
        bench.seconds(5);
        bench.start(1, order(&[PhaseKind::LeakCheck]));
        assert!(bench.until(60, |b| b.station.job().phase().is_some()), "{:?}", bench.notices);
        if !at_work {
            bench.give(Command::Abort);
            bench.seconds(5);
        } else {
            assert!(bench.until(5, |b| !b.on().without(Actuators::SAFE).is_empty()), "{:?}", bench.notices);
        }
        bench.scan_after(ms, None);
        bench.station.interlocks().latched().has(RowId::I26)
    };
    assert!(!stalled(500, true));
    assert!(stalled(550, true));
    assert!(!stalled(5_000, false), "nothing was on");
}

/// Shows F098, I26.
#[test]
fn no_press_brings_back_a_watchdog_that_did_not_bite() {
    let mut bench = Bench::new();
    bench.failed = SelfChecks::NONE.with(SelfCheck::Watchdog);
    bench.scan(None);
    bench.failed = SelfChecks::NONE;
    bench.seconds(60);
    bench.give(Command::Reset);
    bench.seconds(5);
    bench.give(Command::Reset);
    bench.seconds(1);
    assert!(bench.station.interlocks().tripped().has(RowId::I26), "{:?}", bench.notices);
}
