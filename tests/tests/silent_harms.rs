//! One device broken by hand in a whole job: what today's controller finds in time, and how far harm had come by then.
//!
//! The harms that need a device or a rule which is not there yet are no tests; the example `harms` shows them all.

use valvewright_sim::report::data::Verdict;
use valvewright_tests::harms::{Told, find};

/// Seeds that each claim is held to.
const SEEDS: std::ops::RangeInclusive<u64> = 1..=5;
/// Charge tolerance, g (40 CFR 82 Subpart B App. C 9.1).
const TOLERANCE: f64 = 15.0;
const ORDERED: f64 = 480.0;

/// Runs a harm on every seed; each run must not pass, and give up in `phase` with words that hold `why`.
fn found(name: &str, phase: &str, why: &str) -> Vec<Told> {
    let runs: Vec<Told> = SEEDS.map(|seed| find(name).run(Some(seed))).collect();
    for told in &runs {
        assert!(told.seen.broke.is_some(), "nothing broke\n{}", told.replay());
        assert_ne!(told.result.verdict, Verdict::Pass, "{}", told.replay());
        let (at, reason) = told.given_up().unwrap_or_else(|| panic!("nothing given up\n{}", told.replay()));
        assert!(at == phase && reason.contains(why), "{at}: {reason}\n{}", told.replay());
    }
    runs
}

const SCALE: &str = "the vessel scale shows what cannot be";
const GAUGE: &str = "the vacuum gauge did not move when it had to";

#[test]
fn a_job_with_nothing_broken_passes_under_watch() {
    for seed in SEEDS {
        let told = find("healthy").run(Some(seed));
        assert_eq!(told.result.verdict, Verdict::Pass, "{}", told.replay());
        let seen = &told.seen;
        assert_eq!((seen.vented, seen.blown, seen.airless), (0.0, 0.0, 0.0), "{}", told.replay());
        assert!((seen.vehicle_most - ORDERED).abs() <= TOLERANCE, "{}", told.replay());
    }
}

/// The fill limit acts on a sound scale: a car that holds more than the vessel has room for is left with the rest.
#[test]
fn a_car_filled_far_over_its_label_does_not_overfill_the_vessel() {
    for seed in SEEDS {
        let told = find("healthy_nearly_full").run(Some(seed));
        assert_eq!(told.given_up().map(|(phase, _)| phase), Some("recover"), "{}", told.replay());
        // 10 kg is the rating; what the compressor moves within the filter's quarter of a second is a gram or two.
        assert!(told.seen.vessel_most <= 10_010.0, "{}", told.replay());
    }
}

/// 0.3 g/s upwards hid 100 g before the last minute with shut valves was watched. A slower one than 0.08 g/s still hides there.
#[test]
fn a_scale_that_drifts_while_charging_is_found_when_its_valves_shut() {
    for name in ["wt1_drift_charging", "wt1_drift_down_charging"] {
        for told in found(name, "charge", SCALE) {
            let off = told.seen.vehicle_most - ORDERED;
            assert!(off <= 2.0 * TOLERANCE, "{off} g over\n{}", told.replay());
        }
    }
}

#[test]
fn a_scale_that_jumps_while_charging_ends_the_charge_short_of_its_order() {
    for name in ["wt1_step_charging", "wt1_step_down_charging"] {
        for told in found(name, "charge", SCALE) {
            assert!(told.seen.vehicle_most <= ORDERED, "{}", told.replay());
        }
    }
}

#[test]
fn a_scale_code_that_sticks_alive_while_charging_ends_the_charge_short_of_its_order() {
    for told in found("wt1_stuck_charging", "charge", SCALE) {
        assert!(told.seen.vehicle_most <= ORDERED, "{}", told.replay());
    }
}

#[test]
fn a_vacuum_gauge_stuck_from_the_start_never_lets_a_leaking_or_wet_circuit_be_charged() {
    for name in ["pt4_stuck_leaking", "pt4_stuck_wet"] {
        for told in found(name, "evacuate", GAUGE) {
            assert!(told.result.charged_g.truth.abs() < 1e-6, "{}", told.replay());
        }
    }
}

/// The hose gauges second it: 50 um raise them by more than 5 mbar within the hold.
#[test]
fn a_vacuum_gauge_that_sticks_after_its_fall_does_not_pass_a_leak_of_50_um() {
    for told in found("pt4_sticks_leaking", "leak_check", GAUGE) {
        assert!(told.result.charged_g.truth.abs() < 1e-6, "{}", told.replay());
    }
}

/// The switch has to be seen open before anything else may be on.
#[test]
fn an_air_switch_stuck_closed_from_the_start_lets_nothing_run_without_air() {
    for seed in SEEDS {
        let told = find("k1_stopped_fsl1_closed").run(Some(seed));
        assert_eq!(told.result.verdict, Verdict::Failed, "{}", told.replay());
        assert!(told.result.notices.iter().any(|n| n.id == "air_not_proven"), "{}", told.replay());
        assert_eq!(told.seen.airless, 0.0, "{}", told.replay());
    }
}

/// They never come down to the end of recovery, and the pump is not let on the circuit.
#[test]
fn hose_gauges_a_bar_too_high_end_the_recovery_without_a_charge() {
    for told in found("hose_gauges_high", "recover", "end pressure was not reached") {
        assert!(told.result.charged_g.truth.abs() < 1e-6, "{}", told.replay());
    }
}
