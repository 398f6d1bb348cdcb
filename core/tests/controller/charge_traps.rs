//! What a charge must not fall for: a light load in mid-flow, a flow that comes back stronger than it was, hoses that lead nowhere.

use std::cell::Cell;

use valvewright_core::interlock::RowId;
use valvewright_core::job::{GiveUp, Outcome};
use valvewright_core::talk::{Notice, Question};
use valvewright_core::units::Milligram;

use crate::charging::{Charging, alone, honest};

/// 15 g to 32 g put on or taken off in mid-charge, at every pace of liquid, leave no charge that counts as done and is off by more than
/// its tolerance.
/// Shows F026, H06, H15.
#[test]
fn a_light_load_in_mid_charge_spoils_no_charge_that_passes() {
    for flow in [6.0, 10.0, 16.0] {
        for load in [-32.0, -25.0, -20.0, 16.0, 18.0, 20.0, 25.0, 30.0, 32.0] {
            let mut charging = Charging::ordered(alone(480));
            charging.flow = flow;
            let scale = |gone: f64, _: u32| 6_000.0 - gone + if gone > 200.0 { load } else { 0.0 };
            assert!(charging.play(3_600, scale, |_| false), "{load} g at {flow} g/s: no end");
            let outcome = charging.charge_outcome();
            let off = charging.gone - 482.0;
            assert!(
                outcome != Some(Outcome::Done) || off.abs() < 15.0,
                "{load} g at {flow} g/s: {outcome:?}, {off} g off"
            );
        }
    }
}

/// Shows I08, F026.
#[test]
fn a_vessel_that_gains_while_liquid_leaves_it_is_told() {
    let mut charging = Charging::ordered(alone(480));
    let scale = |gone: f64, _: u32| 6_000.0 - gone + if gone > 200.0 { 30.0 } else { 0.0 };
    assert!(charging.play(3_600, scale, |_| false));
    let told = charging.bench.notices.iter().any(|n| matches!(n, Notice::Tripped(RowId::I08, _)));
    assert!(told, "{:?}", charging.bench.notices);
}

/// A knock of half a second to a second and a half, either way, is over before the scale rests.
#[test]
fn a_knock_in_mid_charge_is_no_load() {
    for flow in [6.0, 10.0, 16.0] {
        for (knock, scans) in [(30.0, 10), (-30.0, 10), (20.0, 30), (-20.0, 30), (50.0, 20), (-50.0, 20)] {
            let mut charging = Charging::ordered(alone(480));
            charging.flow = flow;
            let started = Cell::new(None);
            let scale = |gone: f64, scan: u32| {
                if gone > 200.0 && started.get().is_none() {
                    started.set(Some(scan));
                }
                let on = started.get().is_some_and(|from| scan < from + scans);
                6_000.0 - gone + if on { knock } else { 0.0 }
            };
            assert!(charging.play(3_600, scale, |_| false));
            let outcome = charging.charge_outcome();
            let (from, to, gone) = (started.get(), charging.scan, charging.gone);
            assert_eq!(
                outcome,
                Some(Outcome::Done),
                "{knock} g from {from:?} for {scans} scans at {flow} g/s: {gone} g by {to}"
            );
        }
    }
}

/// The flow stops 26 g short, and after the remedy comes back at 16 g/s for a moment's fill: its first pulse is no guess at 2 g/s.
/// Shows H06.
#[test]
fn the_first_pulse_after_a_stall_does_not_pass_the_target() {
    for short in 23..40 {
        let mut charging = Charging::ordered(alone(480));
        charging.flow = 16.0;
        let at = 482.0 - f64::from(short);
        assert!(charging.play(600, honest, |c| c.gone >= at), "{short} g short");
        charging.flow = 0.0;
        let warmed = |c: &Charging| c.bench.notices.iter().filter(|n| **n == Notice::WarmingVessel).count() > 0;
        assert!(charging.play(600, honest, warmed), "{short} g short: {:?}", charging.bench.notices);
        charging.flow = 16.0;
        charging.bench.world.p_vessel = 900_000.0;
        for _ in 0..20 {
            if charging.bench.station.job().question() == Some(Question::RunVehicleCompressor) {
                charging.bench.answer(true);
            }
            if charging.play(120, honest, |c| c.bench.station.job().question().is_some()) {
                break;
            }
        }
        assert!(charging.gone < 482.0 + 6.0, "{short} g short: {} g gone", charging.gone);
    }
}

/// Couplers that came off behind a stuck ZS-2, or are shut by hand: both hoses stand at the vessel's pressure after some grams.
/// Shows F047.
#[test]
fn hoses_that_lead_nowhere_end_a_charge_before_they_are_full() {
    let mut charging = Charging::tight();
    charging.bench.start(3, alone(480));
    for _ in 0..20 * 120 {
        let filled = (charging.gone / 15.0).min(0.97);
        let p = 1_000.0 + filled * 749_000.0;
        (charging.bench.world.p_low, charging.bench.world.p_high) = (p, p);
        if charging.play(1, honest, |_| true) && !charging.bench.station.job().busy() {
            break;
        }
    }
    assert_eq!(charging.charge_outcome(), Some(Outcome::Failed(GiveUp::NotCoupled)), "{:?}", charging.bench.notices);
    assert!(charging.gone < 45.0, "{} g into hoses that hold 130", charging.gone);
    assert_eq!(charging.bench.station.job().ledger.charged(), Milligram(0), "nothing is in a vehicle");
}
