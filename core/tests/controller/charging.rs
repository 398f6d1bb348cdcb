//! What a charge, its end and every way out of a phase book and say.

use valvewright_core::frame::{Actuator, Actuators, Switches};
use valvewright_core::job::{GiveUp, LeakVerdict, Outcome, PhaseKind, WorkOrder};
use valvewright_core::talk::{Command, Notice};
use valvewright_core::units::Milligram;

use crate::bench::{Bench, order};

const OPEN: Actuators = Actuators::of(&[Actuator::Xv5, Actuator::Xv10]);

/// A scripted vehicle takes what the vessel gives; the scale shows it, or what a fault makes of it.
struct Charging {
    bench: Bench,
    /// What has left the vessel, g.
    gone: f64,
    /// What passes while both charge valves are open, g/s.
    flow: f64,
    scan: u32,
}

impl Charging {
    /// In vacuum after a passed leak check, with 250 kPa to push the charge; the flow model expects some 7 g/s.
    fn tight() -> Self {
        let mut bench = Bench::new();
        bench.world.p_vessel = 750_000.0;
        (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (1_000.0, 1_000.0, 100.0);
        bench.seconds(5);
        bench.start(1, order(&[PhaseKind::LeakCheck]));
        assert!(bench.until(70, |b| b.station.job().phase().is_some()), "{:?}", bench.notices);
        bench.seconds(10);
        // The gauge moves a little as pressures even out.
        bench.world.p_vacuum = 120.0;
        assert!(bench.until(600, |b| !b.station.job().busy()));
        assert_eq!(bench.station.connection().leak.verdict, LeakVerdict::Tight, "{:?}", bench.notices);
        (bench.world.p_low, bench.world.p_high) = (500_000.0, 500_000.0);
        Self { bench, gone: 0.0, flow: 7.0, scan: 0 }
    }

    fn ordered(order: WorkOrder) -> Self {
        let mut charging = Self::tight();
        charging.bench.start(2, order);
        charging
    }

    /// Scans until the order has ended or `done`; each scan `scale` turns what has gone and the scan's number into the
    /// reading of WT-1.
    fn play(&mut self, seconds: u32, scale: impl Fn(f64, u32) -> f64, done: impl Fn(&Self) -> bool) -> bool {
        (0..seconds * 20).any(|_| {
            if self.bench.on().and(OPEN) == OPEN {
                self.gone += self.flow / 20.0;
            }
            self.scan += 1;
            self.bench.world.grams[0] = scale(self.gone, self.scan);
            self.bench.scan(None);
            done(self) || !self.bench.station.job().busy()
        })
    }

    fn charge_outcome(&self) -> Option<Outcome> {
        let records = self.bench.station.job().records();
        records.iter().rev().find(|r| r.kind == PhaseKind::Charge).map(|r| r.outcome)
    }
}

/// The scale as it should be.
fn honest(gone: f64, _: u32) -> f64 {
    6_000.0 - gone
}

/// A charge of so much alone.
fn alone(grams: i32) -> WorkOrder {
    WorkOrder { charge: Milligram::from_grams(grams), ..order(&[PhaseKind::Charge]) }
}

#[test]
fn a_stuck_scale_ends_the_charge_before_its_tolerance_has_gone() {
    // The code is stuck from the start, in the fill, in the last pulses; one bit of noise may sit on it.
    for (grams, stuck_at) in [(50, 0.0), (50, 30.0), (500, 0.0), (500, 250.0), (500, 470.0), (500, 485.0), (500, 495.0)]
    {
        for noise in [0.0, 0.005] {
            let mut charging = Charging::ordered(alone(grams));
            let scale = |gone: f64, scan| 6_000.0 - gone.min(stuck_at) + noise * f64::from(scan % 2);
            assert!(charging.play(3_600, scale, |_| false), "no end: {} g of {grams} gone", charging.gone);
            let gone = charging.gone;
            assert!(gone <= f64::from(grams) + 15.0, "stuck at {stuck_at} g, noise {noise}: {gone} g of {grams} gone");
            let outcome = charging.charge_outcome();
            assert!(
                gone > f64::from(grams) - 15.0 || outcome == Some(Outcome::Failed(GiveUp::ScaleDisagrees)),
                "stuck at {stuck_at} g, noise {noise}: {outcome:?} with {gone} g of {grams} gone"
            );
        }
    }
}

#[test]
fn a_charge_into_a_noisy_scale_ends_at_its_target() {
    for flow in [5.0, 7.0, 14.0] {
        let mut charging = Charging::ordered(alone(500));
        charging.flow = flow;
        assert!(charging.play(3_600, |gone, scan| 6_000.0 - gone + 0.3 * f64::from(scan % 3), |_| false));
        assert_eq!(charging.charge_outcome(), Some(Outcome::Done), "{flow} g/s: {:?}", charging.bench.notices);
        assert!((charging.gone - 502.0).abs() < 5.0, "{flow} g/s: {} g", charging.gone);
    }
}

#[test]
fn a_scale_that_drifts_is_no_witness_of_a_charge() {
    for drift in [-0.3, 0.3] {
        let mut charging = Charging::ordered(alone(480));
        assert!(charging.play(3_600, |gone, scan| 6_000.0 - gone + drift / 20.0 * f64::from(scan), |_| false));
        let outcome = charging.charge_outcome();
        assert!(matches!(outcome, Some(Outcome::Failed(_))), "{drift} g/s: {outcome:?}, {} g gone", charging.gone);
    }
}

#[test]
fn a_load_put_on_or_taken_off_in_a_charge_ends_it() {
    for step in [-50.0, 50.0, 200.0] {
        let mut charging = Charging::ordered(alone(480));
        assert!(charging.play(3_600, |gone, _| 6_000.0 - gone + if gone > 200.0 { step } else { 0.0 }, |_| false));
        let outcome = charging.charge_outcome();
        assert!(matches!(outcome, Some(Outcome::Failed(_))), "{step} g: {outcome:?}, {} g gone", charging.gone);
    }
}

#[test]
fn a_knock_against_the_platform_does_not_end_a_charge() {
    for knock in [-40.0, 40.0, 500.0] {
        let mut charging = Charging::ordered(alone(480));
        let started = std::cell::Cell::new(None);
        let scale = |gone: f64, scan: u32| {
            if gone > 200.0 && started.get().is_none() {
                started.set(Some(scan));
            }
            let on = started.get().is_some_and(|from| scan < from + 10);
            6_000.0 - gone + if on { knock } else { 0.0 }
        };
        assert!(charging.play(3_600, scale, |_| false));
        assert_eq!(charging.charge_outcome(), Some(Outcome::Done), "{knock} g: {:?}", charging.bench.notices);
    }
}

#[test]
fn a_trip_that_comes_again_and_again_ends_the_phase() {
    // A hose valve that is all but shut: I08 trips on the small flow, lets go, and trips again.
    let mut charging = Charging::ordered(alone(4_500));
    charging.flow = 0.5;
    assert!(charging.play(7_200, honest, |_| false), "{} g gone and no end", charging.gone);
    assert_eq!(charging.charge_outcome(), Some(Outcome::Failed(GiveUp::TripsAgain)), "{:?}", charging.bench.notices);
}

#[test]
fn no_phase_runs_longer_than_its_kind_may() {
    // The vacuum gauge stands at its upper end while the hoses are in vacuum: neither deep enough nor a failure.
    let mut bench = Bench::new();
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (2_000.0, 2_000.0, 101_325.0);
    bench.seconds(5);
    bench.start(1, order(&[PhaseKind::Evacuate]));
    assert!(bench.until(2 * 3_600, |b| !b.station.job().busy()), "no end: {:?}", bench.notices);
    let outcome = bench.station.job().records().last().map(|r| r.outcome);
    assert!(matches!(outcome, Some(Outcome::Failed(_))), "{outcome:?}");
}

/// Ways out of a phase that are not its plan.
#[derive(Clone, Copy, PartialEq, Debug)]
enum Way {
    Abort,
    CouplersOff,
    StopPressed,
    Waited,
}

const WAYS: [Way; 4] = [Way::Abort, Way::CouplersOff, Way::StopPressed, Way::Waited];

/// Moves `rate` g/s to or from one scale for ten seconds while `valve` is open, then leaves the phase.
fn moved_then_left(bench: &mut Bench, valve: Actuator, scale: usize, rate: f64, way: Way) {
    assert!(bench.until(120, |b| b.on().has(valve)), "{way:?}: {:?}", bench.notices);
    for _ in 0..20 * 10 {
        bench.world.grams[scale] += rate / 20.0;
        bench.scan(None);
    }
    match way {
        Way::Abort => bench.give(Command::Abort),
        Way::CouplersOff => bench.world.open = Switches::ZS2_COUPLED,
        Way::StopPressed => {
            bench.world.open = Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED;
            bench.seconds(5);
            bench.give(Command::Abort);
        }
        Way::Waited => {}
    }
    bench.seconds(5);
    assert!(bench.until(8_000, |b| !b.station.job().busy()), "{way:?}: {:?}", bench.notices);
}

#[test]
fn oil_is_booked_whatever_ends_its_injection() {
    for way in WAYS {
        let mut bench = Bench::new();
        (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (1_000.0, 1_000.0, 100.0);
        bench.seconds(5);
        let oil = WorkOrder { oil_extra: Milligram::from_grams(20), ..order(&[PhaseKind::InjectOil]) };
        bench.start(1, oil);
        moved_then_left(&mut bench, Actuator::Xv9, 2, -1.5, way);
        let shown = bench.station.job().ledger.oil_injected;
        assert!((shown.0 - 15_000).abs() < 300, "{way:?}: 15 g went in, {shown:?} booked");
        let said = bench.notices.iter().any(|n| matches!(n, Notice::OilInjected(_)));
        assert!(said, "{way:?}: {:?}", bench.notices);
    }
}

#[test]
fn oil_is_booked_whatever_ends_its_draining() {
    for way in [Way::Abort, Way::StopPressed] {
        let mut bench = Bench::new();
        (bench.world.p_low, bench.world.p_high) = (100_000.0, 100_000.0);
        bench.seconds(5);
        bench.start(1, order(&[PhaseKind::DrainOil]));
        moved_then_left(&mut bench, Actuator::Xv8, 1, 1.2, way);
        let shown = bench.station.job().ledger.oil_drained;
        assert!((shown.0 - 12_000).abs() < 300, "{way:?}: 12 g came out, {shown:?} booked");
    }
}

/// A rested vessel with air in it.
fn rested() -> Bench {
    let mut bench = Bench::new();
    bench.world.p_vessel = 720_000.0;
    for _ in 0..4 * 3_600 + 10 {
        bench.scan_after(1_000, None);
    }
    bench.seconds(10);
    bench
}

#[test]
fn what_a_purge_vents_is_booked_and_said_whatever_ends_it() {
    for way in [Way::Abort, Way::StopPressed] {
        let mut bench = rested();
        bench.start(1, order(&[PhaseKind::Purge]));
        moved_then_left(&mut bench, Actuator::Xv7, 0, -1.0, way);
        let shown = bench.station.job().ledger.vented;
        assert!((shown.0 - 10_000).abs() < 500, "{way:?}: 10 g went, {shown:?} booked");
        assert!(bench.notices.iter().any(|n| matches!(n, Notice::Purged(_))), "{way:?}: {:?}", bench.notices);
    }
}

#[test]
fn an_aborted_charge_is_booked_to_its_last_gram() {
    let mut charging = Charging::ordered(alone(500));
    charging.flow = 10.0;
    assert!(charging.play(600, honest, |c| c.gone > 200.0), "{:?}", charging.bench.notices);
    charging.bench.give(Command::Abort);
    // What is on its way still shows on the scale, which lags.
    charging.bench.seconds(5);
    let shown = f64::from(charging.bench.station.job().ledger.dispensed.0) / 1e3;
    assert!((shown - charging.gone).abs() < 1.0, "{} g gone, {shown} g booked", charging.gone);
}
