//! The later effect checks to the scan and to the unit: what a second heater contactor, a bottle and the vessel must show, and how
//! long hoses must stand.

use valvewright_core::effect::Effects;
use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::hoses::HoseRest;
use valvewright_core::units::{AbsPa, CentiKelvin, Milliamp, Milligram, Millis};

use crate::effect_checks::{RECOVERY, Watch, good};

const ALONE: Actuators = Actuators::of(&[Actuator::H1, Actuator::K1]);
/// The purge of a vessel: on, and neither an oil valve nor a rest.
const BUSY: Actuators = Actuators::of(&[Actuator::Xv1, Actuator::K1]);

/// What TT-3 showed before six seconds were over was the last warming; three kelvin from there are heat of now.
#[test]
fn a_contactor_alone_that_warms_the_heater_by_two_kelvin_is_a_welded_other() {
    let found = |first: u32, rise: i32| {
        let mut watch = Watch::new();
        watch.readings.tt3 = good(CentiKelvin(30_000));
        assert_eq!(watch.when(ALONE, first, Effects::heater_welded), None);
        watch.readings.tt3 = good(CentiKelvin(30_000 + rise));
        watch.when(ALONE, 30_000, Effects::heater_welded)
    };
    assert_eq!(found(5_000, 199), None);
    assert_eq!(found(5_000, 200), Some(50));
    assert_eq!(found(4_950, 1_000), None, "it stood there when the watch began");
    let mut both = Watch::new();
    both.readings.tt3 = good(CentiKelvin(30_000));
    assert_eq!(both.when(Actuators::HEATER, 10_000, Effects::heater_welded), None);
    both.readings.tt3 = good(CentiKelvin(33_000));
    assert_eq!(both.when(Actuators::HEATER, 10_000, Effects::heater_welded), None, "both on are to warm it");
}

/// Five grams, two seconds, and a mark taken four seconds after the last stroke.
#[test]
fn a_bottle_speaks_past_five_grams_and_two_seconds() {
    let found = |bottle: usize, settled: u32, milligram: i32| {
        let mut watch = Watch::new();
        (watch.readings.wt2.mass, watch.readings.wt3.mass) = (good(Milligram(100_000)), good(Milligram(250_000)));
        // The valve has just shut: what is still running is no fault.
        watch.when(Actuators::of(&[Actuator::Xv8, Actuator::Xv9, Actuator::K1]), 100, |_| false);
        assert_eq!(watch.when(BUSY, settled, Effects::mismatch), None);
        let weight = if bottle == 2 { &mut watch.readings.wt2 } else { &mut watch.readings.wt3 };
        weight.mass.value = weight.mass.value.plus(Milligram(milligram));
        watch.when(BUSY, 10_000, Effects::mismatch)
    };
    for bottle in [2, 3] {
        for way in [1, -1] {
            assert_eq!(found(bottle, 4_000, 5_000 * way), None, "WT-{bottle}");
            assert_eq!(found(bottle, 4_000, 5_001 * way), Some(2_050), "WT-{bottle}");
            assert_eq!(found(bottle, 3_950, 50_000 * way), None, "WT-{bottle}: it stood there when the watch began");
        }
    }
}

/// Oil drains by its own weight for a quarter of an hour after the last machine; from then on the bottle may be emptied.
#[test]
fn a_used_oil_bottle_may_be_moved_a_quarter_of_an_hour_after_the_last_machine() {
    // It speaks two seconds after the move, which must be within the quarter of an hour.
    for (rested, found) in [(897_950, true), (898_000, false)] {
        let mut watch = Watch::new();
        (watch.readings.wt2.mass, watch.readings.wt3.mass) = (good(Milligram(100_000)), good(Milligram(250_000)));
        watch.when(BUSY, 10_000, |_| false);
        assert_eq!(watch.when(Actuators::SAFE, rested, Effects::mismatch), None);
        watch.readings.wt2.mass = good(Milligram(20_000));
        assert_eq!(watch.when(Actuators::SAFE, 5_000, Effects::mismatch).is_some(), found, "{rested} ms");
        // New oil may be poured in at any rest.
        watch.readings.wt2.mass = good(Milligram(20_000));
        watch.when(Actuators::SAFE, 1_000_000, |_| false);
        watch.readings.wt3.mass = good(Milligram(900_000));
        assert_eq!(watch.when(Actuators::SAFE, 5_000, Effects::mismatch), None);
    }
}

/// Of what C-1 draws by its displacement three tenths must come; 15 g may be missing, from five seconds after its start.
#[test]
fn the_vessel_may_miss_fifteen_grams_of_three_tenths_of_what_is_drawn() {
    let found = |suction: i32, loss_per_scan: i32| {
        let mut watch = Watch::new();
        (watch.readings.it1, watch.readings.pt5) = (good(Milliamp(3_000)), good(AbsPa(suction)));
        (watch.readings.pt2, watch.readings.pt3) = (good(AbsPa(suction)), good(AbsPa(suction)));
        let mut scans = 0;
        let at = (0..1_200).find(|_| {
            scans += 1;
            watch.readings.wt1.mass.value = watch.readings.wt1.mass.value.minus(Milligram(loss_per_scan));
            // The hoses fall, so that the pull itself is seen to follow.
            watch.readings.pt2.value = watch.readings.pt2.value.minus(AbsPa(20));
            watch.when(RECOVERY, 50, Effects::mismatch).is_some()
        });
        at.map(|_| (scans, watch.cfg))
    };
    // Below 1.5 bar only what the vessel loses counts: 100 mg a scan make 15 g with the 151st scan after the mark.
    let (scans, _) = found(150_000, 100).expect("found");
    assert_eq!(scans, 100 + 1 + 151);
    // Above it, 150 001 Pa and nothing that comes.
    let (scans, cfg) = found(150_021, 0).expect("found");
    let drawn = f64::from(cfg.refrigerant.ideal_density(AbsPa(150_021))) * f64::from(cfg.compressor_draws) / 1_000.0;
    let due = 15e6 / (drawn * 50.0 * 0.3);
    assert!((f64::from(scans) - 101.0 - due).abs() < 2.0, "{scans} scans, {due} due");
}

#[test]
fn hoses_stand_once_they_rose_by_less_than_two_kilopascals_in_a_watched_minute() {
    let stands = |rise: i32, seconds: u32| {
        let mut rest = HoseRest::default();
        for scan in 0..seconds * 20 {
            let p = 100_000 + if scan > 200 { rise } else { 0 };
            rest.step(Millis(50), Millis(250), Some(AbsPa(p)), false);
        }
        rest.stands()
    };
    assert!(stands(1_999, 60) && !stands(2_000, 60) && !stands(1_999, 59));
    assert!(stands(2_000, 75), "a minute after the rise it stands");
}

/// Two that are missing at once are no less missing than one.
#[test]
fn effects_that_are_missing_together_are_seen_like_each_alone() {
    let moved = |current: bool, bottle: bool, vessel: bool| {
        let mut watch = Watch::new();
        // C-1 runs, the separator shows what is drawn, and both hoses fall, so that the pull is seen to follow.
        (watch.readings.it1, watch.readings.pt5) = (good(Milliamp(3_000)), good(AbsPa(140_000)));
        (watch.readings.wt2.mass, watch.readings.wt3.mass) = (good(Milligram(100_000)), good(Milligram(250_000)));
        assert_eq!(watch.when(RECOVERY, 7_000, Effects::mismatch), None);
        if current {
            watch.readings.it1 = good(Milliamp(0));
        }
        if bottle {
            watch.readings.wt3.mass = good(Milligram(240_000));
        }
        if vessel {
            watch.readings.wt1.mass.value = watch.readings.wt1.mass.value.minus(Milligram(20_000));
        }
        watch.when(RECOVERY, 4_000, |_| false);
        watch.effects.mismatch()
    };
    for (current, bottle, vessel) in
        [(true, true, false), (true, false, true), (false, true, true), (true, true, true), (false, true, false)]
    {
        assert!(moved(current, bottle, vessel), "current {current}, bottle {bottle}, vessel {vessel}");
    }
    assert!(!moved(false, false, false));
}
