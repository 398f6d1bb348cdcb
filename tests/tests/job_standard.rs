//! Recovery on the 1.4 kg system of 40 CFR 82 Subpart B: how much in 30 min, warm and cold, and what the station shows of it.

use std::sync::OnceLock;

use valvewright_tests::job_runs::{Edit, Run};

/// Recovery alone from a system of 1 400 g and 5.4 L at one temperature throughout.
fn recovered_at(celsius: u32) -> Run {
    let site = format!("ambient = \"{celsius} degC\"");
    let bay = format!("engine_bay = \"{celsius} degC\" ");
    let edits: [Edit<'_>; 9] = [
        ("ambient = \"22 degC\"", &site),
        ("engine_bay = \"24 degC\" ", &bay),
        ("charge_label = \"480 g\" ", "charge_label = \"1400 g\" "),
        ("content = \"445 g\" ", "content = \"1400 g\" "),
        ("high_side = \"1.6 L\"", "high_side = \"2.4 L\""),
        ("low_side = \"1.4 L\"", "low_side = \"1.8 L\""),
        ("accumulator = \"0.8 L\"", "accumulator = \"1.2 L\""),
        ("phases = \"whole\"\ncharge = \"480 g\"", "phases = [\"identify\", \"recover\", \"drain_oil\"]"),
        // What the file expects is for its own vehicle.
        ("leak = \"pass\"\nrecovered_within", "recovered_within"),
    ];
    Run::new("mild_hatchback", &edits, "", None)
}

fn warm() -> &'static Run {
    static RUN: OnceLock<Run> = OnceLock::new();
    RUN.get_or_init(|| recovered_at(22))
}

fn cold() -> &'static Run {
    static RUN: OnceLock<Run> = OnceLock::new();
    RUN.get_or_init(|| recovered_at(11))
}

/// Refrigerant out of the vehicle half an hour after recovery began, waits included, g.
fn out_in_half_an_hour(run: &Run) -> f64 {
    let (begin, _) = run.span("recover");
    run.vehicle_at(0.0) - run.vehicle_at(begin + 1_800.0)
}

#[test]
fn the_system_holds_what_it_should() {
    for run in [warm(), cold()] {
        assert!((run.vehicle_at(0.0) - 1_400.0).abs() < 0.5, "{} g\n{}", run.vehicle_at(0.0), run.replay());
    }
}

/// App. C 7.1.1 and 10.4: at 21 to 24 degC at least 95 % of 1.4 kg in 30 min: 1 330 g.
/// Shows W9.
#[test]
fn at_22_degc_95_percent_in_half_an_hour() {
    let out = out_in_half_an_hour(warm());
    assert!(out >= 1_330.0, "{out:.1} g\n{}", warm().replay());
}

/// App. D 6.1.2: at 10 to 13 degC at least 85 % of 1.4 kg in 30 min: 1 190 g.
/// Shows W11.
#[test]
fn at_11_degc_85_percent_in_half_an_hour() {
    let out = out_in_half_an_hour(cold());
    assert!(out >= 1_190.0, "{out:.1} g\n{}", cold().replay());
}

/// App. C 7.1.3 and 10.4 step 7: shown within 30 g, so at least 1 300 g where 1 330 g came.
/// Shows W9.
#[test]
fn what_came_is_shown_within_30_g() {
    for run in [warm(), cold()] {
        let r = run.result().recovered_g;
        assert!(r.off().abs() <= 30.0, "{r:?}\n{}", run.replay());
    }
    assert!(warm().result().recovered_g.shown >= Some(1_300.0), "{}", warm().replay());
}

/// App. C 7.6: recovered oil within 20 mL.
#[test]
fn drained_oil_is_shown_within_20_ml() {
    for run in [warm(), cold()] {
        let r = run.result();
        assert!(r.oil_drained_ml_true > 1.0, "oil came along\n{}", run.replay());
        assert!(
            r.oil_drained_ml.is_some_and(|shown| (shown - r.oil_drained_ml_true).abs() <= 20.0),
            "{} {}",
            r.oil_drained_ml.unwrap_or(f64::NAN),
            r.oil_drained_ml_true
        );
    }
}

/// The station stops at a pressure; cold oil holds more refrigerant at that pressure than warm oil, and cold vapour is denser.
#[test]
fn cold_leaves_more_behind() {
    let left = |run: &Run| run.vehicle_at(run.span("recover").1);
    let (warm, cold) = (left(warm()), left(cold()));
    assert!(cold > warm + 1.0, "{cold:.1} g left in the cold, {warm:.1} g in the warm");
    assert!(warm > 1.0, "some always stays");
}

#[test]
fn refrigerant_and_energy_are_conserved() {
    for run in [warm(), cold()] {
        let r = run.result();
        assert!(r.mass_balance_rel <= 1e-9 && r.energy_balance_error_rel <= 1e-6, "{}", run.replay());
    }
}
