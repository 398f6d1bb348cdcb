//! One device broken by hand in a whole job: what the controller finds in time, and how far harm had come by then. The example `harms` shows
//! them all.

use valvewright_sim::report::data::Verdict;
use valvewright_tests::harms::{Told, find};

/// Seeds that each claim is held to.
const SEEDS: std::ops::RangeInclusive<u64> = 1..=3;
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

/// Runs a harm on every seed; each run must trip this row within so many seconds, and not pass.
fn stopped(name: &str, row: &str, within: f64) -> Vec<Told> {
    let runs: Vec<Told> = SEEDS.map(|seed| find(name).run(Some(seed))).collect();
    for told in &runs {
        assert_ne!(told.result.verdict, Verdict::Pass, "{}", told.replay());
        let first = told.rows().into_iter().find(|(id, _)| *id == row);
        let (_, after) = first.unwrap_or_else(|| panic!("{row} did not trip: {:?}\n{}", told.rows(), told.replay()));
        assert!(after <= within, "{row} after {after} s\n{}", told.replay());
    }
    runs
}

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
/// Shows H02.
#[test]
fn a_car_filled_far_over_its_label_does_not_overfill_the_vessel() {
    for seed in SEEDS {
        let told = find("healthy_nearly_full").run(Some(seed));
        assert_eq!(told.given_up().map(|(phase, _)| phase), Some("recover"), "{}", told.replay());
        // 10 kg is the rating; what the compressor moves within the filter's quarter of a second is a gram or two.
        assert!(told.seen.vessel_most <= 10_010.0, "{}", told.replay());
    }
}

/// The two bridges part: whatever is wrong with one of them, nothing is weighed by it for long.
/// Shows I20, H06.
#[test]
fn a_bridge_that_is_wrong_stops_what_is_weighed() {
    // Longest time to the trip, s, and the most that may be off in the vehicle since the charge began, g.
    let harms = [
        ("wt1_half_gain", 5.0),
        ("wt1_half_gain_charging", 5.0),
        ("wt1_span", 5.0),
        ("wt1_step_charging", 5.0),
        ("wt1_step_down_charging", 5.0),
        ("wt1_stuck_charging", 10.0),
        ("wt1_drift_charging", 60.0),
        ("wt1_drift_down_charging", 60.0),
        ("wt1_small_drift_charging", 260.0),
    ];
    for (name, within) in harms {
        for told in stopped(name, "I20", within) {
            assert!(told.seen.vehicle_most <= ORDERED + TOLERANCE, "{}", told.replay());
        }
    }
}

/// Shows I20, H02.
#[test]
fn a_bridge_whose_code_sticks_in_recovery_does_not_overfill_the_vessel() {
    for told in stopped("wt1_stuck_recovering", "I20", 60.0) {
        assert!(told.seen.vessel_most <= 10_010.0, "{}", told.replay());
    }
}

/// H22: all but the fan is off before the air has stood for five seconds.
/// Shows I28, H22.
#[test]
fn a_fan_that_stops_behind_a_stuck_switch_is_seen_by_its_speed() {
    for told in stopped("k1_stops_fsl1_sticks", "I28", 5.0) {
        assert!(told.seen.airless <= 5.0, "{} s without air\n{}", told.seen.airless, told.replay());
    }
}

/// A healthy job takes 23 g of new oil. Each time the operator resets and goes on, some grams more go before it trips again.
/// Shows I19, H14.
#[test]
fn a_new_oil_valve_that_stays_open_is_seen_by_the_bottle() {
    let least = [("xv9_open", 400.0, 30.0), ("xv9_open_charging", 500.0, 70.0), ("xv9_open_injecting", 500.0, 70.0)];
    for (name, within, most) in least {
        for told in stopped(name, "I19", within) {
            assert!(told.seen.new_oil <= most, "{} g of new oil\n{}", told.seen.new_oil, told.replay());
        }
    }
}

/// F057, H08. What has come to the inlet stays there, for P-1 stands and no output lets it out; so what counts is the time in which more
/// could come, and what had come by then. In a recovery that is the vehicle's pressure within a stroke of the valve; in a charge less.
/// Shows I11, I19, F057, H08.
#[test]
fn a_pump_valve_that_stays_or_comes_open_is_seen_at_the_pumps_inlet() {
    // Longest time to I19, s: one that stays open shows with the first pressure on it, in the recovery or only in the charge. Then the
    // highest pressure at the inlet, Pa, and the most refrigerant there, g.
    let harms = [
        ("xv6_open_charging", 5.0, 1.6e5, 1.0),
        ("xv6_open_after_evacuating", 400.0, 1.6e5, 1.0),
        ("xv6_open_recovering", 5.0, 6.0e5, 3.5),
        ("xv6_open", 120.0, 6.0e5, 3.5),
    ];
    for (name, within, pressure, most) in harms {
        for told in stopped(name, "I19", within) {
            let [("I11", first), ("I19", then)] = told.rows()[..] else {
                panic!("{:?}\n{}", told.rows(), told.replay())
            };
            assert!((then - first - 2.0).abs() < 0.1, "{}", told.replay());
            let seen = &told.seen;
            assert!(seen.fed <= 0.25, "fed for {} s\n{}", seen.fed, told.replay());
            assert!(seen.inlet_p <= pressure && seen.inlet_most <= most, "{}", told.replay());
        }
    }
}

/// Shows I19, H14.
#[test]
fn a_drain_that_stays_open_in_recovery_is_seen_by_the_bottle() {
    for told in stopped("xv8_open_recovering", "I19", 60.0) {
        assert!(told.seen.used_oil <= 15.0, "{}", told.replay());
    }
}

/// No output can shut it, so that only the time counts in which a person is told: some 2 g/s go until then.
#[test]
fn a_purge_valve_that_stays_open_in_recovery_stops_the_pull() {
    stopped("xv7_open_recovering", "I19", 200.0);
}

/// H09, H23: the second contactor keeps the heater cold; the weld shows when the heater is next wanted.
/// Shows F069, H09, H23.
#[test]
fn a_welded_contactor_heats_nothing() {
    for (name, most) in [("h1_on_hot_yard", 12.5e5), ("h1_on", 8.0e5)] {
        for seed in SEEDS {
            let told = find(name).run(Some(seed));
            assert_eq!(told.result.verdict, Verdict::Pass, "{}", told.replay());
            assert!(told.seen.vessel_p <= most && told.seen.vented == 0.0, "{}", told.replay());
        }
    }
}

/// H04, H06: the separator lies behind the hoses and can't stand above them.
#[test]
fn hose_gauges_a_bar_too_low_end_the_recovery_before_its_false_end() {
    for told in found("hose_gauges_low", "recover", "the separator (PT-5) reads higher than the hoses") {
        assert!(told.result.charged_g.truth.abs() < 1e-6, "{}", told.replay());
    }
}

/// Shows F013, H10.
#[test]
fn a_vacuum_gauge_stuck_from_the_start_never_lets_a_leaking_or_wet_circuit_be_charged() {
    // It is contradicted by the hose gauges from the first recovery on (F013), so that no phase after it takes its word.
    for name in ["pt4_stuck_leaking", "pt4_stuck_wet"] {
        for told in found(name, "evacuate", "a reading it cannot do without is bad") {
            assert!(told.result.charged_g.truth.abs() < 1e-6, "{}", told.replay());
        }
    }
}

/// The hose gauges second it: 50 um, or 2 g of water, raise them by more than 5 mbar within the hold.
/// Shows F013, H10.
#[test]
fn a_vacuum_gauge_that_sticks_after_its_fall_passes_no_leak_and_no_water() {
    for name in ["pt4_sticks_leaking", "pt4_sticks_wet"] {
        for told in found(name, "leak_check", GAUGE) {
            assert!(told.result.charged_g.truth.abs() < 1e-6, "{}", told.replay());
        }
    }
}

/// The switch has to be seen open before anything else may be on.
/// Shows I28, F045, H22.
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
