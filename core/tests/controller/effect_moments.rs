//! The effect checks to the scan and to the unit: when each speaks, what is just enough to keep it silent, what it looks at.

use valvewright_core::effect::{Effects, charge_model};
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::sense::{Broken, Quality, Reading};
use valvewright_core::units::{AbsPa, CentiKelvin, Milliamp, Milligram, MilligramPerS, Millis};

use crate::effect_checks::{CHARGING, PUMPING, RECOVERY, Watch, good};

fn bad<T>(value: T) -> Reading<T> {
    Reading { value, quality: Quality::Bad(Broken::Under) }
}

fn hoses(watch: &mut Watch, low: i32, high: i32) {
    (watch.readings.pt2, watch.readings.pt3) = (good(AbsPa(low)), good(AbsPa(high)));
}

/// A machine that runs as it should, and hoses at this pressure.
fn at(pressure: i32, on: Actuators) -> Watch {
    let mut watch = Watch::new();
    watch.readings.it1 = good(Milliamp(if on.has(Actuator::C1) { 3_000 } else { 0 }));
    hoses(&mut watch, pressure, pressure);
    watch
}

#[test]
fn motor_current_speaks_in_the_first_scan_after_a_second_and_a_half() {
    for (current, on, wrong) in
        [(701, Actuators::SAFE, true), (700, Actuators::SAFE, false), (700, RECOVERY, true), (701, RECOVERY, false)]
    {
        let mut watch = at(100_000, on);
        watch.readings.it1 = good(Milliamp(current));
        assert_eq!(watch.when(on, 4_000, Effects::mismatch), wrong.then_some(1_550), "{current} mA");
    }
    let mut broken = at(100_000, RECOVERY);
    broken.readings.it1 = bad(Milliamp(0));
    assert_eq!(broken.when(RECOVERY, 10_000, Effects::mismatch), None, "I13 answers for a broken IT-1");
    // A start that takes its time, again and again, is none.
    let mut starts = at(100_000, Actuators::SAFE);
    for _ in 0..5 {
        starts.readings.it1 = good(Milliamp(3_000));
        assert_eq!(starts.when(Actuators::SAFE, 1_500, Effects::mismatch), None);
        starts.readings.it1 = good(Milliamp(0));
        assert_eq!(starts.when(Actuators::SAFE, 50, Effects::mismatch), None);
    }
}

#[test]
fn a_recovery_shows_by_more_than_fifty_millibar_or_five_grams() {
    let moved = |fall: i32, gain: i32| {
        let mut watch = at(500_000, RECOVERY);
        // The separator at vacuum: nothing is due to arrive by what C-1 draws.
        watch.readings.pt5 = good(AbsPa(50_000));
        assert_eq!(watch.when(RECOVERY, 29_000, Effects::mismatch), None);
        // The hose whose valve is shut says nothing.
        hoses(&mut watch, 500_000 - fall, 400_000);
        watch.readings.wt1.mass.value = watch.readings.wt1.mass.value.plus(Milligram(gain));
        watch.when(RECOVERY, 10_000, Effects::mismatch)
    };
    for (fall, gain) in [(5_000, 0), (0, 5_000), (5_000, 5_000)] {
        assert_eq!(moved(fall, gain), Some(1_050), "{fall} Pa, {gain} mg");
    }
    for (fall, gain) in [(5_001, 0), (0, 5_001)] {
        assert_eq!(moved(fall, gain), None, "{fall} Pa, {gain} mg");
    }
    // What it is watched from begins anew with each effect: the next must come within the same time.
    let mut watch = at(500_000, RECOVERY);
    watch.when(RECOVERY, 20_000, |_| false);
    hoses(&mut watch, 490_000, 490_000);
    assert_eq!(watch.when(RECOVERY, 60_000, Effects::mismatch), Some(30_100));
}

/// Only a whole way with the compressor on it, on a pressure that can fall.
#[test]
fn a_recovery_is_watched_on_a_whole_way_under_pressure() {
    use Actuator::{C1, K1, Xv1, Xv2, Xv3, Xv4};
    for (on, pressure, watched) in [
        (&[Xv1, Xv2, Xv3, Xv4, C1, K1][..], 200_000, true),
        (&[Xv1, Xv3, Xv4, C1, K1], 200_000, true),
        (&[Xv2, Xv3, Xv4, C1, K1], 200_000, true),
        (&[Xv3, Xv4, C1, K1], 200_000, false),
        (&[Xv1, Xv2, Xv4, C1, K1], 200_000, false),
        (&[Xv1, Xv2, Xv3, Xv4, C1, K1], 199_999, false),
    ] {
        let on = Actuators::of(on);
        let found = at(pressure, on).when(on, 40_000, Effects::mismatch);
        assert_eq!(found, watched.then_some(30_050), "{on:?} at {pressure} Pa");
    }
    let idle = Actuators::of(&[Xv1, Xv2, Xv3, Xv4, K1]);
    assert_eq!(at(500_000, idle).when(idle, 40_000, Effects::mismatch), None, "no compressor");
    // A gauge or scale that is lost for a scan begins it anew.
    for spoil in [
        |w: &mut Watch| w.readings.pt2 = bad(AbsPa(0)),
        |w: &mut Watch| {
            w.readings.wt1.mass = bad(Milligram(0));
        },
    ] {
        let mut watch = at(500_000, RECOVERY);
        watch.when(RECOVERY, 20_000, |_| false);
        let (pt2, mass) = (watch.readings.pt2, watch.readings.wt1.mass);
        spoil(&mut watch);
        watch.when(RECOVERY, 50, |_| false);
        (watch.readings.pt2, watch.readings.wt1.mass) = (pt2, mass);
        assert_eq!(watch.when(RECOVERY, 60_000, Effects::mismatch), Some(30_050));
    }
}

#[test]
fn a_pump_shows_by_more_than_a_tenth() {
    use Actuator::{K1, P1, Xv1, Xv2, Xv6};
    for (then, now, wrong) in
        [(90_000, 81_000, true), (90_000, 80_999, false), (50_000, 50_000, true), (49_999, 49_999, false)]
    {
        let mut watch = at(then, PUMPING);
        watch.when(PUMPING, 29_000, |_| false);
        hoses(&mut watch, now, now);
        assert_eq!(watch.when(PUMPING, 40_000, Effects::mismatch), wrong.then_some(1_050), "{then} Pa to {now} Pa");
    }
    for (on, watched) in [
        (&[Xv1, Xv6, P1, K1][..], true),
        (&[Xv2, Xv6, P1, K1], true),
        (&[Xv6, P1, K1], false),
        (&[Xv1, Xv2, P1, K1], false),
        (&[Xv1, Xv2, Xv6, K1], false),
    ] {
        let on = Actuators::of(on);
        assert_eq!(at(90_000, on).when(on, 40_000, Effects::mismatch), watched.then_some(30_050), "{on:?}");
    }
    // The fall is measured from where the pump began, and a pump that is shut off begins anew.
    let mut slow = at(90_000, PUMPING);
    for step in 1..=4 {
        hoses(&mut slow, 90_000 - step * 2_000, 90_000 - step * 2_000);
        assert_eq!(slow.when(PUMPING, 7_000, Effects::mismatch), None, "{step}");
    }
    hoses(&mut slow, 80_000, 80_000);
    assert_eq!(slow.when(PUMPING, 1_000, Effects::mismatch), None);
    slow.when(Actuators::SAFE, 50, |_| false);
    assert_eq!(slow.when(PUMPING, 60_000, Effects::mismatch), Some(30_050));
}

#[test]
fn a_vessel_that_goes_on_losing_speaks_after_four_seconds() {
    for (rate, wrong) in [(-2_500, false), (-2_501, true), (2_501, false)] {
        let mut watch = at(100_000, Actuators::SAFE);
        watch.readings.wt1.rate = MilligramPerS(rate);
        assert_eq!(watch.when(Actuators::SAFE, 6_000, Effects::mismatch), wrong.then_some(4_050), "{rate} mg/s");
    }
    let mut blind = at(100_000, Actuators::SAFE);
    (blind.readings.wt1.rate, blind.readings.wt1.mass) = (MilligramPerS(-10_000), bad(Milligram(0)));
    assert_eq!(blind.when(Actuators::SAFE, 6_000, Effects::mismatch), None);
    for one in [Actuator::Xv5, Actuator::Xv10, Actuator::Xv7, Actuator::C1, Actuator::P1] {
        let on = Actuators::SAFE.with(one);
        let mut watch = at(100_000, on);
        watch.readings.wt1.rate = MilligramPerS(-10_000);
        assert_eq!(watch.when(on, 6_000, Effects::mismatch), None, "{}", one.tag());
    }
}

/// Two that fail at once are no more right than one.
#[test]
fn two_effects_that_are_missing_do_not_make_up_for_each_other() {
    let still = |mut watch: Watch, on: Actuators| {
        assert_eq!(watch.when(on, 5_000, Effects::mismatch), Some(1_550));
        assert_eq!(watch.when(on, 60_000, |e| !e.mismatch()), None, "{on:?}");
    };
    let mut standing = at(500_000, RECOVERY);
    standing.readings.it1 = good(Milliamp(0));
    still(standing, RECOVERY);
    let mut welded = at(90_000, PUMPING);
    welded.readings.it1 = good(Milliamp(3_000));
    still(welded, PUMPING);
    let mut losing = at(90_000, Actuators::SAFE);
    (losing.readings.it1, losing.readings.wt1.rate) = (good(Milliamp(3_000)), MilligramPerS(-10_000));
    still(losing, Actuators::SAFE);
}

/// Pressures that make the flow model some 8 g/s; the scale shows this share of it, in thousandths.
fn charging(permille: i64) -> Watch {
    let mut watch = at(500_000, CHARGING);
    watch.readings.tt1 = good(CentiKelvin(29_315));
    let model = charge_model(&watch.readings, AbsPa(500_000), &watch.cfg).expect("PT-1 is good").0;
    watch.readings.wt1.rate = MilligramPerS(-(i64::from(model) * permille / 1_000) as i32);
    watch
}

#[test]
fn a_wrong_flow_speaks_four_and_a_half_seconds_after_its_valves_opened() {
    for (permille, wrong) in [(295, true), (305, false), (2_995, false), (3_005, true)] {
        assert_eq!(charging(permille).when(CHARGING, 9_000, Effects::flow_wrong), wrong.then_some(4_550), "{permille}");
    }
    for one in [Actuator::Xv5, Actuator::Xv10] {
        let half = Actuators(CHARGING.0 & !Actuators::of(&[one]).0);
        assert_eq!(charging(0).when(half, 9_000, Effects::flow_wrong), None, "{} is shut", one.tag());
    }
    // Shut for a scan, it builds up anew; and a moment of right flow is the end of a wrong one.
    let mut again = charging(0);
    again.when(CHARGING, 4_500, |_| false);
    again.when(Actuators::SAFE, 50, |_| false);
    assert_eq!(again.when(CHARGING, 9_000, Effects::flow_wrong), Some(4_550));
    let mut mended = charging(0);
    assert_eq!(mended.when(CHARGING, 9_000, Effects::flow_wrong), Some(4_550));
    let (wrong, right) = (mended.readings.wt1.rate, charging(1_000).readings.wt1.rate);
    mended.readings.wt1.rate = right;
    assert_eq!(mended.when(CHARGING, 1_000, |e| !e.flow_wrong()), Some(50));
    mended.readings.wt1.rate = wrong;
    assert_eq!(mended.when(CHARGING, 9_000, Effects::flow_wrong), Some(2_050));
    // Without a pressure there is no model.
    let mut blind = charging(0);
    blind.readings.pt1 = bad(AbsPa(0));
    assert_eq!(blind.when(CHARGING, 9_000, Effects::flow_wrong), None);
}

/// 715e-9 m2 of effective area: a little head passes as unboiling liquid, a large one what boils in the bore.
#[test]
fn the_flow_model_is_the_lesser_of_two() {
    let flow = |vessel: i32, line: i32, wall: Reading<CentiKelvin>| {
        let mut watch = at(line, CHARGING);
        (watch.readings.pt1, watch.readings.tt1) = (good(AbsPa(vessel)), wall);
        charge_model(&watch.readings, AbsPa(line), &watch.cfg).expect("PT-1 is good").0
    };
    let near =
        |got: i32, expected: f64| assert!((f64::from(got) - expected).abs() < 2.0, "{got} mg/s, not {expected} mg/s");
    let still = |head: f64| 715e-3 * (2_200.0 * head).sqrt();
    let wall = good(CentiKelvin(29_315));
    let fluid = Refrigerant::R1234yf;
    let saturated = fluid.p_sat(CentiKelvin(29_315)).0;
    let (above, below) = (fluid.p_sat(CentiKelvin(29_365)).0, fluid.p_sat(CentiKelvin(29_265)).0);
    let slope = f64::from(above - below);
    // Saturation is taken half way between them: less than 0.1 kPa too high.
    let between = f64::from(above + below) / 2.0;
    assert!((0.0..100.0).contains(&(between - f64::from(saturated))), "{between} Pa for {saturated} Pa");
    near(flow(saturated, saturated - 10_000, wall), still(10_000.0));
    near(flow(saturated, saturated - 300_000, wall), 715e-3 * 0.38 * slope);
    near(
        flow(saturated + 40_000, 100_000, wall),
        715e-3 * (0.38 * slope + (2_200.0 * (f64::from(saturated) + 40_000.0 - between)).sqrt()),
    );
    near(flow(saturated, 100_000, bad(CentiKelvin(0))), still(f64::from(saturated) - 100_000.0));
    assert_eq!(flow(400_000, 500_000, wall), 0, "nothing flows uphill");
}

/// At rest since long; then off by so much. When it was found.
fn off_by(milligram: i32, on: Actuators) -> Option<u32> {
    let mut watch = at(100_000, on);
    watch.when(on, 7_000, |_| false);
    watch.readings.wt1.mass.value = watch.readings.wt1.mass.value.plus(Milligram(milligram));
    watch.when(on, 9_000, Effects::creeping)
}

#[test]
fn a_mass_that_stands_off_for_two_seconds_has_moved() {
    assert_eq!(off_by(5_000, Actuators::SAFE), None);
    assert_eq!(off_by(5_001, Actuators::SAFE), Some(2_000));
    assert_eq!(off_by(-5_001, Actuators::SAFE), Some(2_000));
    assert_eq!(off_by(5_001, Actuators::of(&[Actuator::K1, Actuator::Xv1])), None, "hoses pull at the platform");
    // While the platform rings, more is allowed.
    for (milligram, found) in [(25_000, None), (25_001, Some(2_000))] {
        let mut watch = at(100_000, Actuators::SAFE);
        watch.when(Actuators::SAFE, 1_000, |_| false);
        watch.readings.wt1.mass.value = watch.readings.wt1.mass.value.plus(Milligram(milligram));
        assert_eq!(watch.when(Actuators::SAFE, 4_000, Effects::creeping), found, "{milligram} mg");
    }
}

#[test]
fn ringing_is_over_after_six_seconds_of_rest() {
    for (ms, found) in [(5_950, None), (6_000, Some(2_000))] {
        let mut watch = at(100_000, Actuators::SAFE);
        watch.when(Actuators::SAFE, ms, |_| false);
        watch.readings.wt1.mass.value = watch.readings.wt1.mass.value.plus(Milligram(6_000));
        assert_eq!(watch.when(Actuators::SAFE, 5_000, Effects::creeping), found, "after {ms} ms");
    }
}

/// Ten quiet seconds make what is read the new base; what creeps by less in that time is none.
#[test]
fn a_quiet_window_is_ten_seconds() {
    for (ms, found) in [(9_900, Some(2_000)), (10_050, None)] {
        let mut watch = at(100_000, Actuators::SAFE);
        watch.when(Actuators::SAFE, 6_000, |_| false);
        watch.readings.wt1.mass.value = watch.readings.wt1.mass.value.plus(Milligram(4_000));
        watch.when(Actuators::SAFE, ms, |_| false);
        watch.readings.wt1.mass.value = watch.readings.wt1.mass.value.plus(Milligram(4_000));
        assert_eq!(watch.when(Actuators::SAFE, 5_000, Effects::creeping), found, "after {ms} ms");
    }
    let mut watch = at(100_000, Actuators::SAFE);
    watch.when(Actuators::SAFE, 7_000, |_| false);
    watch.readings.wt1.mass.value = watch.readings.wt1.mass.value.plus(Milligram(8_000));
    assert_eq!(watch.when(Actuators::SAFE, 5_000, Effects::creeping), Some(2_000));
    assert_eq!(watch.when(Actuators::SAFE, 30_000, |e| !e.creeping()), Some(10_000));
    // No valve that opens is a quiet window.
    let mut opened = at(100_000, Actuators::SAFE);
    opened.when(Actuators::SAFE, 7_000, |_| false);
    opened.readings.wt1.mass.value = opened.readings.wt1.mass.value.plus(Milligram(8_000));
    assert_eq!(opened.when(Actuators::SAFE, 5_000, Effects::creeping), Some(2_000));
    assert_eq!(opened.when(CHARGING, 20_000, |e| !e.creeping()), None);
    assert_eq!(opened.when(Actuators::SAFE, 30_000, |e| !e.creeping()), Some(16_000), "ringing, and then the window");
}

#[test]
fn a_heater_must_warm_the_wall_by_a_fifth_of_a_kelvin_in_two_minutes() {
    let on = Actuators::SAFE.or(Actuators::HEATER);
    let warmed = |rise: i32, after: u32| {
        let mut watch = at(100_000, on);
        watch.readings.tt1 = good(CentiKelvin(29_315));
        watch.when(on, after, |_| false);
        watch.readings.tt1 = good(CentiKelvin(29_315 + rise));
        watch.when(on, 300_000, Effects::heats_nothing)
    };
    assert_eq!(warmed(0, 60_000), Some(59_050));
    assert_eq!(warmed(19, 60_000), Some(59_050));
    // Counted in the scan that shows the rise.
    assert_eq!(warmed(20, 60_000), Some(119_100));
    let mut off = at(100_000, on);
    off.when(on, 100_000, |_| false);
    off.when(Actuators::SAFE, 50, |_| false);
    assert_eq!(off.when(on, 300_000, Effects::heats_nothing), Some(119_050));
    // A late scan heats for as long as it was late.
    let mut late = at(100_000, on);
    late.effects.step(Millis(118_000), &late.readings, on, Actuators::NONE, &late.cfg);
    assert_eq!(late.when(on, 5_000, Effects::heats_nothing), Some(1_050));
}
