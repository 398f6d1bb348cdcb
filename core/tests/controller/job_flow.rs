//! How the job goes from phase to phase: what it records, says and books on the way.

use valvewright_core::frame::{Actuator, Switches};
use valvewright_core::job::flow::JobState;
use valvewright_core::job::{GiveUp, Outcome, PhaseKind, WorkOrder};
use valvewright_core::talk::{Command, Notice, Refusal};
use valvewright_core::units::{Milligram, Millis};

use crate::bench::{Bench, order};
use crate::charging::{Charging, alone, honest};
use crate::connection::{asked, coupled, evacuated};
use crate::give_up::{all_off, as_it_is, ends, gives_up_after, grams, record};
use crate::give_up_gas::recovering;

use PhaseKind::{Charge, ClearHoses, DrainOil, Evacuate, Identify, InjectOil, LeakCheck, Purge, Recover, Verify};

fn outcomes(bench: &Bench) -> Vec<(PhaseKind, Outcome)> {
    bench.station.job().records().iter().map(|r| (r.kind, r.outcome)).collect()
}

fn said(bench: &Bench, notice: &Notice) -> usize {
    bench.notices.iter().filter(|n| *n == notice).count()
}

/// What a phase that was left has moved shows for five seconds more, and what moves later is not its own: 100 scans, of which
/// the filter of the scale takes two.
#[test]
fn a_phase_that_was_left_is_booked_for_five_seconds() {
    let mut charging = Charging::ordered(alone(500));
    assert!(charging.play(600, honest, |c| c.gone > 200.0));
    charging.bench.give(Command::Abort);
    let booked_after = |scans: u32| {
        let mut bench = charging.bench.clone();
        (0..scans).for_each(|_| bench.scan(None));
        let before = grams(bench.station.job().ledger.dispensed);
        assert!((before - charging.gone).abs() < 0.1, "{before} g");
        bench.world.grams[0] -= 20.0;
        bench.seconds(3);
        grams(bench.station.job().ledger.dispensed) > before
    };
    assert_eq!((80..110).find(|scans| !booked_after(*scans)), Some(97));
}

/// Only what was moved is told.
#[test]
fn a_phase_that_is_left_says_what_it_has_moved() {
    let told = |b: &Bench| {
        let told = |n: &&Notice| {
            matches!(n, Notice::Purged(_) | Notice::Recovered(_) | Notice::OilDrained(_) | Notice::OilInjected(_))
        };
        b.notices.iter().filter(told).copied().collect::<Vec<_>>()
    };
    let mut bench = recovering(6_000.0);
    assert!(bench.until(200, |b| b.on().has(Actuator::C1)), "{:?}", bench.notices);
    let mut nothing = bench.clone();
    nothing.give(Command::Abort);
    assert_eq!(told(&nothing), []);
    bench.world.grams[0] += 12.0;
    bench.seconds(3);
    bench.give(Command::Abort);
    let [Notice::Recovered(mass)] = told(&bench)[..] else { panic!("{:?}", bench.notices) };
    assert!((grams(mass) - 12.0).abs() < 0.2, "{mass:?}");
}

#[test]
fn a_hold_that_was_paused_begins_anew() {
    let mut bench = evacuated();
    bench.start(1, order(&[LeakCheck]));
    assert!(bench.until(70, |b| b.station.job().phase().is_some()));
    bench.seconds(10);
    bench.world.p_vacuum = 120.0;
    bench.seconds(110);
    bench.give(Command::Pause);
    bench.seconds(30);
    bench.give(Command::Resume);
    let from = bench.now();
    bench.seconds(1);
    // That the gauge moved before the pause proves nothing of the hold after it.
    let mut still = bench.clone();
    assert_eq!(ends(&mut still, LeakCheck, as_it_is).0, Outcome::Failed(GiveUp::GaugeNotLive));
    bench.world.p_vacuum = 140.0;
    let (outcome, lasted) = ends(&mut bench, LeakCheck, as_it_is);
    assert_eq!(outcome, Outcome::Done, "{:?}", bench.notices);
    assert_eq!(bench.now() - from, 184_950);
    assert!((lasted - (120.0 + 30.0 + 185.1)).abs() < 0.3, "{lasted} s, the pause included");
    // Any other phase goes on where it stood.
    let mut bench = coupled();
    bench.start(1, order(&[Verify]));
    assert!(bench.until(70, |b| b.station.job().phase().is_some()));
    bench.seconds(40);
    bench.give(Command::Pause);
    bench.seconds(100);
    bench.give(Command::Resume);
    let from = bench.now();
    ends(&mut bench, Verify, as_it_is);
    assert!((19_000..21_000).contains(&(bench.now() - from)), "{} ms", bench.now() - from);
}

/// Couplers that come off end the phase and refuse the charge that was to follow; after it there is none to refuse.
#[test]
fn a_charge_that_can_no_longer_follow_is_refused_in_the_record() {
    let moved = Outcome::Failed(GiveUp::CouplersMoved);
    let refused = Outcome::Failed(GiveUp::NotReached(Identify));
    let mut bench = coupled();
    asked(&mut bench, 1, &[Identify, Recover, Charge]);
    bench.world.open = Switches::ZS2_COUPLED;
    bench.seconds(1);
    assert_eq!(outcomes(&bench), [(Identify, moved), (Charge, refused)]);
    assert_eq!(bench.station.job().records()[1].lasted, Millis(0));
    assert!(bench.station.job().records()[0].lasted > Millis(0));
    let mut bench = coupled();
    asked(&mut bench, 1, &[Identify, Recover]);
    bench.world.open = Switches::ZS2_COUPLED;
    bench.seconds(1);
    assert_eq!(outcomes(&bench), [(Identify, moved)]);
    // A phase that gives up does the same, unless the circuit is known to be tight.
    let mut bench = coupled();
    asked(&mut bench, 1, &[Identify, Charge]);
    bench.answer(false);
    let oily = Outcome::Failed(GiveUp::SampleFilterOily);
    assert_eq!(outcomes(&bench), [(Identify, oily), (Charge, refused)]);
    let mut tight = Charging::tight().bench;
    tight.start(3, order(&[Identify, Charge]));
    assert!(tight.until(100, |b| b.station.job().question().is_some()));
    tight.answer(false);
    assert_eq!(outcomes(&tight), [(Identify, oily)]);
    // While the charge itself runs, it is the phase that ends.
    let mut charging = Charging::ordered(order(&[Charge, ClearHoses]));
    assert!(charging.play(600, honest, |c| c.gone > 100.0));
    charging.bench.world.open = Switches::ZS2_COUPLED;
    charging.bench.seconds(1);
    assert_eq!(outcomes(&charging.bench), [(Charge, moved)]);
    all_off(&mut charging.bench);
}

/// Purge and drain go on without a vehicle where nothing of the order is for one; else the order ends.
#[test]
fn an_order_for_the_station_alone_outlives_the_couplers() {
    for (phases, ends_so) in [
        (&[Purge][..], false),
        (&[DrainOil], false),
        (&[Purge, DrainOil], false),
        (&[Purge, Identify], true),
        (&[Purge, ClearHoses], true),
    ] {
        let mut bench = coupled();
        bench.start(1, order(phases));
        bench.seconds(20);
        bench.world.open = Switches::ZS2_COUPLED;
        bench.seconds(1);
        assert_eq!(bench.station.job().state() == JobState::Ended(false), ends_so, "{phases:?}");
        assert_eq!(bench.station.job().busy(), !ends_so, "{phases:?}");
    }
    // What was for the vehicle is over already.
    let mut bench = recovering(6_000.0);
    bench.give(Command::Abort);
    bench.seconds(1);
    bench.start(3, order(&[Recover, DrainOil]));
    ends(&mut bench, Recover, |b, _| {
        if b.on().has(Actuator::C1) {
            (b.world.p_low, b.world.p_high) = (35_000.0, 35_000.0);
        }
    });
    bench.seconds(5);
    assert_eq!(bench.station.job().phase(), Some(DrainOil));
    bench.world.open = Switches::ZS2_COUPLED;
    bench.seconds(5);
    assert_eq!(bench.station.job().phase(), Some(DrainOil), "{:?}", bench.notices);
}

#[test]
fn an_id_starts_once_and_a_running_order_is_not_replaced() {
    let mut bench = coupled();
    bench.start(1, order(&[Verify]));
    bench.seconds(1);
    bench.start(1, order(&[Verify]));
    assert!(bench.notices.ends_with(&[Notice::Refused(Refusal::RepeatedId)]));
    bench.start(2, order(&[Verify]));
    assert!(bench.notices.ends_with(&[Notice::Refused(Refusal::Busy)]));
    ends(&mut bench, Verify, as_it_is);
    bench.start(1, order(&[Verify]));
    assert!(bench.notices.ends_with(&[Notice::Refused(Refusal::RepeatedId)]));
    for command in [Command::Pause, Command::Abort] {
        bench.give(command);
        assert!(bench.notices.ends_with(&[Notice::Refused(Refusal::NotRunning)]));
    }
    bench.give(Command::Resume);
    assert!(bench.notices.ends_with(&[Notice::Refused(Refusal::NotPaused)]));
    bench.start(2, order(&[Verify]));
    assert_eq!(said(&bench, &Notice::OrderStarted(2)), 1);
    assert!(bench.station.job().busy() && bench.station.job().records().is_empty());
}

/// Phases run in their order whatever the set, each once; the record says how long each took.
#[test]
fn phases_follow_one_another() {
    let mut bench = evacuated();
    bench.world.grams[2] = 100.0;
    let oil = WorkOrder { oil_extra: Milligram::from_grams(10), ..order(&[InjectOil, LeakCheck, Evacuate]) };
    bench.start(1, oil);
    assert!(bench.until(60, |b| b.station.job().phase() == Some(Evacuate)));
    let (outcome, _) = ends(&mut bench, InjectOil, |b, t| {
        b.world.grams[2] -= if b.on().has(Actuator::Xv9) { 0.05 } else { 0.0 };
        b.world.p_vacuum = if t > 100.0 { 120.0 } else { 100.0 };
    });
    assert_eq!(outcome, Outcome::Done, "{:?}", bench.notices);
    assert_eq!(outcomes(&bench), [Evacuate, LeakCheck, InjectOil].map(|kind| (kind, Outcome::Done)));
    for (kind, seconds) in [(Evacuate, 67.8), (LeakCheck, 185.1)] {
        let lasted = f64::from(record(&bench, kind).expect("recorded").lasted.0) / 1e3;
        assert!((lasted - seconds).abs() < 1.0, "{kind:?}: {lasted} s");
    }
    assert_eq!(said(&bench, &Notice::OrderEnded(true)), 1);
    assert_eq!(bench.station.job().state(), JobState::Ended(true));
}

/// A vessel of 1 300 g gives 300 g above its heel; what a recovery still to come may bring is counted with 500 g.
#[test]
fn a_supply_is_looked_at_before_each_phase_on_the_way_to_a_charge() {
    let low = |gives: i32| GiveUp::VesselLow { gives: Milligram(gives), needs: Milligram(500_000) };
    let begun = |phases: &[PhaseKind]| {
        let mut bench = evacuated();
        bench.world.grams[0] = 1_300.0;
        bench.seconds(20);
        bench.give(Command::Reset);
        bench.start(1, order(phases));
        bench
    };
    for (phases, refused) in [
        (&[Evacuate, Charge][..], true),
        (&[Identify, Charge], true),
        (&[Identify, Recover, Charge], false),
        (&[Evacuate], false),
        (&[Verify], false),
    ] {
        let mut bench = begun(phases);
        if refused {
            gives_up_after(&mut bench, phases[0], low(300_000), 0.05, as_it_is);
            assert_eq!(record(&bench, Charge).map(|r| r.outcome), Some(Outcome::Failed(low(300_000))));
        } else {
            bench.seconds(60);
            assert!(bench.station.job().busy(), "{phases:?}: {:?}", bench.notices);
        }
    }
    // In the first scan of a phase and no later.
    let mut bench = evacuated();
    bench.start(1, order(&[Evacuate, LeakCheck, Charge]));
    assert!(bench.until(100, |b| b.on().has(Actuator::Xv6)), "{:?}", bench.notices);
    bench.world.grams[0] = 1_300.0;
    bench.seconds(20);
    assert_eq!(bench.station.job().phase(), Some(Evacuate), "{:?}", bench.notices);
    let (outcome, _) = ends(&mut bench, LeakCheck, as_it_is);
    assert_eq!(outcome, Outcome::Failed(low(300_000)), "{:?}", bench.notices);
    // What a recovery did not bring is missing behind it.
    let mut bench = recovering(1_300.0);
    bench.give(Command::Abort);
    bench.seconds(1);
    bench.start(3, order(&[Recover, Evacuate, Charge]));
    let (outcome, _) = ends(&mut bench, Evacuate, |b, _| {
        if b.on().has(Actuator::C1) {
            (b.world.p_low, b.world.p_high) = (35_000.0, 35_000.0);
        }
    });
    assert_eq!(outcome, Outcome::Failed(low(300_000)), "{:?}", bench.notices);
    // Behind the charge nothing more is to be given.
    let mut charging = Charging::tight();
    charging.bench.world.grams[0] = 1_600.0;
    charging.bench.seconds(30);
    charging.bench.give(Command::Reset);
    charging.bench.start(3, order(&[Charge, ClearHoses]));
    let scale = |gone: f64, _| 1_600.0 - gone;
    assert!(charging.play(900, scale, |c| c.bench.station.job().phase() == Some(ClearHoses)));
    charging.bench.seconds(5);
    assert_eq!(charging.bench.station.job().phase(), Some(ClearHoses), "{:?}", charging.bench.notices);
}

/// Hoses that were never filled hold nothing to speak of.
#[test]
fn an_order_without_a_charge_says_nothing_of_hoses() {
    let mut bench = coupled();
    bench.start(1, order(&[Verify]));
    ends(&mut bench, Verify, as_it_is);
    assert!(bench.notices.contains(&Notice::OrderEnded(true)));
    let spoken = |n: &Notice| matches!(n, Notice::HosesHold(_) | Notice::VehicleHolds(..) | Notice::Release);
    assert!(!bench.notices.iter().any(spoken), "{:?}", bench.notices);
}
