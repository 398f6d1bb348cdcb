//! When evacuation and the leak check give up or are done, to the second.

use std::cell::Cell;

use valvewright_core::frame::Actuator;
use valvewright_core::interlock::RowId;
use valvewright_core::job::{GiveUp, LeakVerdict, Outcome, PhaseKind, Sides, WorkOrder};
use valvewright_core::talk::{Command, Notice, Question};
use valvewright_core::units::{AbsPa, Millis};

use crate::bench::{Bench, order};
use crate::give_up::{as_it_is, ends, gives_up, gives_up_after, record};

use PhaseKind::{Evacuate, LeakCheck};

fn all(bench: &mut Bench, hoses: f64, vacuum: f64) {
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (hoses, hoses, vacuum);
}

/// The first phase of this order begun with hoses and PT-4 at these pressures, Pa.
fn begun(order: WorkOrder, hoses: f64, vacuum: f64) -> Bench {
    let mut bench = Bench::new();
    all(&mut bench, hoses, vacuum);
    bench.seconds(5);
    bench.start(1, order);
    assert!(bench.until(60, |b| b.station.job().phase().is_some()), "{:?}", bench.notices);
    bench
}

/// Pumping on a drained circuit.
fn pumping(order: WorkOrder) -> Bench {
    let mut bench = begun(order, 80_000.0, 101_325.0);
    assert!(bench.until(200, |b| b.on().has(Actuator::Xv6)), "{:?}", bench.notices);
    bench
}

fn said(bench: &Bench, what: impl Fn(&Notice) -> bool) -> usize {
    bench.notices.iter().filter(|n| what(n)).count()
}

#[test]
fn a_pump_waits_five_minutes_for_its_leave() {
    // Hoses that rise give no leave.
    let risen = &mut begun(order(&[Evacuate]), 40_000.0, 101_325.0);
    gives_up_after(risen, Evacuate, GiveUp::PressureForVacuum, 300.05, |b, t| {
        all(b, 43_000.0 + 45.0 * t, 101_325.0);
    });
    let mut just = begun(order(&[Evacuate]), 104_100.0, 101_325.0);
    assert!(just.until(5, |b| b.station.job().question() == Some(Question::CircuitOpened)), "{:?}", just.notices);
    gives_up_after(&mut just, Evacuate, GiveUp::NoAnswer, 600.05, as_it_is);
}

/// What the gauges show once the pump has drawn, and the second in which that ends the phase.
#[test]
fn a_circuit_that_does_not_come_down_in_five_minutes_is_open() {
    for (sides, hoses, vacuum, why, seconds) in [
        (Sides::Both, 30_000.0, 101_325.0, GiveUp::NoVacuum, 300.0),
        (Sides::Both, 30_000.0, 5_200.0, GiveUp::NoVacuum, 300.0),
        (Sides::Both, 5_300.0, 5_200.0, GiveUp::NoVacuum, 300.0),
        (Sides::Both, 4_500.0, 8_300.0, GiveUp::NoVacuum, 300.0),
        (Sides::Both, 4_500.0, 8_700.0, GiveUp::GaugeNotLive, 300.0),
        // Through one coupler it takes twice as long.
        (Sides::Low, 30_000.0, 101_325.0, GiveUp::NoVacuum, 600.0),
        (Sides::High, 30_000.0, 101_325.0, GiveUp::NoVacuum, 600.0),
    ] {
        let mut bench = pumping(WorkOrder { sides, ..order(&[Evacuate]) });
        let (drawn, from) = (Cell::new(0.0), bench.now());
        let hangs = (bench.world.p_low, bench.world.p_high);
        gives_up(&mut bench, Evacuate, why, |b, t| {
            all(b, hoses, vacuum);
            match sides {
                Sides::Low => b.world.p_high = hangs.1,
                Sides::High => b.world.p_low = hangs.0,
                Sides::Both => {}
            }
            drawn.set(t);
        });
        assert!((drawn.get() - seconds).abs() < 0.2, "{hoses} Pa, {vacuum} Pa: {} s after {from} ms", drawn.get());
    }
}

#[test]
fn a_gauge_that_stays_at_its_top_is_given_up() {
    // In vacuum by the hoses, at its top or lost again by PT-4.
    let mut bench = pumping(order(&[Evacuate]));
    let at = Cell::new(0.0);
    gives_up(&mut bench, Evacuate, GiveUp::GaugeNotLive, |b, t| {
        all(b, 2_000.0, 101_325.0);
        at.set(t);
    });
    assert!((at.get() - 300.0).abs() < 0.2, "{} s", at.get());
    let mut bench = pumping(WorkOrder { evacuate: Millis::from_secs(900), ..order(&[Evacuate]) });
    gives_up(&mut bench, Evacuate, GiveUp::GaugeNotLive, |b, t| {
        let lost = (400.0..459.0).contains(&t) || t >= 600.0;
        all(b, 500.0, if lost { 101_325.0 } else { 100.0 });
        at.set(t);
    });
    assert!((at.get() - 660.5).abs() < 0.7, "{} s: a minute unseen, and a minute less a second is borne", at.get());
    // Beside a pressure in the hoses: joined to them for twenty seconds before anything is pumped.
    let mut stuck = begun(order(&[Evacuate]), 80_000.0, 9_400.0);
    gives_up_after(&mut stuck, Evacuate, GiveUp::GaugeNotLive, 20.1, as_it_is);
    for (hoses, vacuum) in [(80_000.0, 9_600.0), (19_500.0, 300.0)] {
        let mut live = begun(order(&[Evacuate]), hoses, vacuum);
        assert!(live.until(120, |b| b.on().has(Actuator::Xv6)), "{hoses} Pa, {vacuum} Pa: {:?}", live.notices);
        // Once the pump draws, hoses that rise are no reason to take it off.
        all(&mut live, 30_000.0, vacuum);
        assert!(!live.until(100, |b| !b.on().has(Actuator::Xv6)), "{hoses} Pa, {vacuum} Pa: {:?}", live.notices);
    }
}

/// Shows F014.
#[test]
fn an_evacuation_is_given_up_with_a_broken_gauge() {
    for (hoses, vacuum) in [(80_000.0, -1e6), (-1e6, 101_325.0)] {
        let mut bench = Bench::new();
        all(&mut bench, hoses, vacuum);
        bench.seconds(5);
        bench.start(1, order(&[Evacuate]));
        gives_up_after(&mut bench, Evacuate, GiveUp::ReadingBad, 0.05, as_it_is);
    }
    // A hose gauge too rough to decide anything, while the pump draws.
    let mut rough = pumping(order(&[Evacuate]));
    gives_up(&mut rough, Evacuate, GiveUp::ReadingBad, |b, t| {
        all(b, 700.0, 100.0);
        b.world.p_low += if (t * 20.0).round() % 2.0 == 0.0 { 15_000.0 } else { 0.0 };
    });
}

/// An evacuation of three minutes to 50 mbar with this course of PT-4 from the moment the pump draws; how long it pumped.
fn dried(course: impl Fn(f64) -> f64, depth: i32) -> (Bench, f64) {
    let wanted = WorkOrder { evacuate: Millis::from_secs(180), depth: AbsPa(depth), ..order(&[Evacuate]) };
    let mut bench = pumping(wanted);
    let at = Cell::new(0.0);
    let (outcome, _) = ends(&mut bench, Evacuate, |b, t| {
        // Its pump is sound: on the shut manifold it comes to next to nothing.
        let alone = b.on().has(Actuator::Xv6) && !b.on().has(Actuator::Xv1);
        all(b, course(t) + 600.0, if alone { 5.0 } else { course(t) });
        at.set(t);
    });
    assert_eq!(outcome, Outcome::Done, "{:?}", bench.notices);
    (bench, at.get())
}

/// Between 2.5 and 45 mbar a fall of less than a tenth a minute is a plateau; it is waited out for as long again and ten minutes.
#[test]
fn an_evacuation_goes_on_while_a_plateau_stands() {
    for (name, course, depth, seconds) in [
        ("deep", &(|_| 100.0) as &dyn Fn(f64) -> f64, 5_000, 180.0),
        ("not deep enough", &|_| 230.0, 220, 1_000.0),
        ("just deep enough", &|_| 218.0, 220, 180.0),
        ("below the band", &|_| 240.0, 5_000, 180.0),
        ("in its lower end", &|_| 260.0, 5_000, 960.0),
        ("in its upper end", &|_| 4_400.0, 5_000, 960.0),
        ("above the band", &|_| 4_600.0, 5_000, 180.0),
        ("falls by 8 % a minute", &|t: f64| 1_000.0 * 0.92_f64.powf(t / 60.0), 5_000, 960.0),
        ("falls by 12 % a minute", &|t: f64| 2_000.0 * 0.88_f64.powf(t / 60.0), 5_000, 180.0),
        ("falls after four minutes", &|t: f64| 1_000.0 * 0.9_f64.powf((t - 240.0).max(0.0) / 20.0), 5_000, 300.0),
    ] {
        let (bench, at) = dried(course, depth);
        assert!((at - seconds).abs() < 1.0, "{name}: pumped for {at} s");
        let told = said(&bench, |n| matches!(n, Notice::MoisturePlateau(_)));
        assert_eq!(told, usize::from(seconds > 180.0), "{name}: said once, when the ordered time is over");
        assert_eq!(said(&bench, |n| matches!(n, Notice::Vacuum(_))), 1, "{name}");
    }
}

/// A gauge that shows 20 mbar too much, or a pump that comes no lower, shows it with both couplers shut too. Water does not.
/// Shows F012, F068, H10, H16.
#[test]
fn a_depth_that_gauge_or_pump_keeps_away_ends_without_a_hold() {
    let wanted = WorkOrder { evacuate: Millis::from_secs(180), ..order(&[Evacuate, LeakCheck]) };
    for (alone, wet, outcome) in [
        (2_000.0, 2_010.0, Outcome::Failed(GiveUp::PumpShallow(AbsPa(2_000)))),
        (5.0, 2_010.0, Outcome::Done),
        (305.0, 600.0, Outcome::Done),
    ] {
        let mut bench = pumping(wanted.clone());
        let (ended, _) = ends(&mut bench, Evacuate, |b, _| {
            let shut = b.on().has(Actuator::Xv6) && !b.on().has(Actuator::Xv1);
            all(b, wet + 600.0, if shut { alone } else { wet });
        });
        assert_eq!(ended, outcome, "{alone} Pa alone, {wet} Pa with the vehicle: {:?}", bench.notices);
        // The hold behind it stands still at its pressure, and is not called tight.
        assert!(bench.until(3_600, |b| b.station.job().phase() != Some(LeakCheck)), "{:?}", bench.notices);
        assert_ne!(bench.station.connection().leak().verdict, LeakVerdict::Tight);
        assert_eq!(record(&bench, LeakCheck).is_some(), outcome == Outcome::Done, "{:?}", bench.notices);
    }
}

/// Trips of I11 stop the pump and each costs a wait: half an hour over the longest drying is enough.
#[test]
fn an_evacuation_that_mostly_waits_is_given_up() {
    let mut bench = pumping(order(&[Evacuate]));
    let (off, tripped) = (Cell::new(0.0_f64), Cell::new(0));
    gives_up(&mut bench, Evacuate, GiveUp::NoVacuum, |b, _| {
        let trip = b.station.interlocks().standing().has(RowId::I11);
        if b.on().has(Actuator::Xv6) {
            if off.get() > 0.0 {
                tripped.set(tripped.get() + 1);
                off.set(0.0);
            }
            all(b, 300_000.0, 101_325.0);
        } else {
            off.set(off.get() + 0.05);
            // Rises for long, then stands until the pump has its leave.
            all(b, 40_000.0 + 45.0 * off.get().min(210.0), 101_325.0);
        }
        if !trip && b.station.interlocks().latched().has(RowId::I11) {
            b.give(Command::Reset);
            b.give(Command::Resume);
        }
    });
    let lasted = f64::from(crate::give_up::record(&bench, Evacuate).expect("ended").lasted.0) / 1e3;
    assert!((5..=8).contains(&tripped.get()), "{} trips", tripped.get());
    // Twice one minute, ten minutes and twenty; the time held for the trips is not the phase's.
    assert!((lasted - 1_940.75).abs() < 0.02, "{lasted} s");
}

/// A hold in which PT-4 and the hoses follow these functions of its second; after a fall of PT-4 where `fell`.
fn hold(fell: bool, vacuum: impl Fn(f64) -> f64, hoses: impl Fn(f64) -> f64) -> (Outcome, f64, Bench) {
    let mut bench = if fell {
        let mut bench = pumping(order(&[Evacuate, LeakCheck]));
        bench.seconds(5);
        bench
    } else {
        let mut bench = Bench::new();
        all(&mut bench, hoses(0.0), vacuum(0.0));
        bench.seconds(5);
        bench.start(1, order(&[LeakCheck]));
        bench
    };
    all(&mut bench, hoses(0.0), vacuum(0.0));
    assert!(bench.until(800, |b| b.station.job().phase() == Some(LeakCheck)), "{:?}", bench.notices);
    let (outcome, lasted) = ends(&mut bench, LeakCheck, |b, t| all(b, hoses(t), vacuum(t)));
    (outcome, lasted, bench)
}

/// A minute to even out, two of hold, and five seconds for the last mean.
#[test]
fn a_hold_lasts_as_long_as_ordered() {
    let (outcome, lasted, bench) = hold(true, |_| 40.0, |_| 700.0);
    assert_eq!((outcome, bench.station.connection().leak().verdict), (Outcome::Done, LeakVerdict::Tight));
    assert!((lasted - 185.1).abs() < 0.15, "{lasted} s");
}

/// Half a second that nobody watched is borne; after more the hardware has shut the hoses, and the hold begins anew once a person says so.
#[test]
fn a_gap_of_more_than_half_a_second_begins_the_hold_anew() {
    for (ms, seconds) in [(500, 185.1), (1_050, 100.0 + 1.05 + 0.1 + 185.1)] {
        let mut bench = begun(order(&[LeakCheck]), 700.0, 40.0);
        bench.seconds(20);
        all(&mut bench, 700.0, 60.0);
        bench.seconds(80);
        bench.scan_after(ms, None);
        if ms > 500 {
            bench.give(Command::Reset);
            bench.give(Command::Resume);
            bench.seconds(20);
            all(&mut bench, 700.0, 80.0);
        }
        let (outcome, lasted) = ends(&mut bench, LeakCheck, as_it_is);
        assert_eq!(outcome, Outcome::Done, "{:?}", bench.notices);
        assert!((lasted - seconds).abs() < 0.2, "{ms} ms: {lasted} s");
    }
}

#[test]
fn a_gauge_is_live_from_ten_pascal_of_movement_on() {
    for (moved, live) in [(9.4, false), (10.8, true), (-9.4, false), (-10.8, true)] {
        let (outcome, _, bench) = hold(false, |t| if t < 10.0 { 40.0 } else { 40.0 + moved }, |_| 700.0);
        let expected = if live { Outcome::Done } else { Outcome::Failed(GiveUp::GaugeNotLive) };
        assert_eq!(outcome, expected, "{moved} Pa: {:?}", bench.notices);
    }
}

/// The hose gauges second PT-4 within 40 mbar, and within 5 mbar of its rise; one that stands near is enough.
#[test]
fn a_pass_needs_the_hose_gauges_beside_it() {
    for (hoses, rise, passes) in
        [(3_900.0, 0.0, true), (4_200.0, 0.0, false), (1_000.0, 420.0, true), (1_000.0, 640.0, false)]
    {
        let course = |t: f64| hoses + if t > 20.0 { rise } else { 0.0 };
        let (outcome, ..) = hold(true, |_| 40.0, course);
        let expected = if passes { Outcome::Done } else { Outcome::Failed(GiveUp::GaugeNotLive) };
        assert_eq!(outcome, expected, "hoses {hoses} Pa, rise {rise} Pa");
    }
    // Far from one of them only; and a rise of one alone, which no circuit makes.
    for (low, high, rise) in [(700.0, 9_000.0, 0.0), (9_000.0, 700.0, 0.0), (700.0, 700.0, 2_000.0)] {
        let mut bench = pumping(order(&[Evacuate, LeakCheck]));
        all(&mut bench, 700.0, 40.0);
        assert!(bench.until(800, |b| b.station.job().phase() == Some(LeakCheck)), "{:?}", bench.notices);
        let (outcome, _) = ends(&mut bench, LeakCheck, |b, t| {
            (b.world.p_low, b.world.p_high) = (low, high + if t > 20.0 { rise } else { 0.0 });
        });
        let near = rise > 0.0 || low != high;
        assert_eq!(outcome == Outcome::Done, near, "{low} Pa, {high} Pa: {:?}", bench.notices);
    }
}

#[test]
fn a_hold_above_the_span_of_its_gauge_is_a_leak() {
    for (from, top, seconds) in [(10.0, 10_200.0, 12.0), (100.0, 10_200.0, 102.0), (100.0, 9_700.0, 102.7)] {
        let (outcome, lasted, bench) = hold(true, |t| if t >= from { top } else { 40.0 }, |_| 700.0);
        assert_eq!(outcome, Outcome::Failed(GiveUp::Leaks), "{:?}", bench.notices);
        assert!((lasted - seconds).abs() < 0.02, "{lasted} s: two seconds above {top} Pa");
        // 3.619 L from 40 to 9 500 Pa, and what such a hold can tell: 2 Pa and a hundredth of the pressure.
        let (found, leak) = (3_618.574 * 9_460.0 / lasted, bench.station.connection().leak());
        assert!((f64::from(leak.micro_pa_m3_per_s) - found).abs() < 0.01 * found, "{leak:?}, {found}");
        assert!((f64::from(leak.smallest_micro) - 3_618.574 * 97.0 / lasted).abs() < 40.0, "{leak:?}");
    }
    // Above it from the start there was no vacuum to hold.
    let mut high = begun(order(&[LeakCheck]), 80_000.0, 101_325.0);
    gives_up_after(&mut high, LeakCheck, GiveUp::PressureForVacuum, 20.05, as_it_is);
}

#[test]
fn a_hold_with_a_bad_or_rough_gauge_is_no_hold() {
    let mut bench = begun(order(&[LeakCheck]), 700.0, 40.0);
    gives_up(&mut bench, LeakCheck, GiveUp::ReadingBad, |b, t| {
        b.world.p_vacuum = if t > 30.0 { -1e6 } else { 40.0 };
    });
    let rough = |from: f64, to: f64| {
        move |t: f64| {
            let rough = (from..to).contains(&t) && (t * 20.0).round() % 2.0 == 0.0;
            if rough { 400.0 } else { 60.0 }
        }
    };
    let (outcome, lasted, _) = hold(true, rough(80.0, 1e9), |_| 700.0);
    assert_eq!(outcome, Outcome::Failed(GiveUp::ReadingBad));
    assert!((lasted - 110.55).abs() < 0.02, "half a minute: {lasted} s");
    let (outcome, ..) = hold(true, rough(70.0, 95.0), |_| 700.0);
    assert_eq!(outcome, Outcome::Done, "less than half a minute");
}

/// The circuit gives off water whenever the pump is shut off from it.
#[test]
fn a_wet_circuit_is_evacuated_three_times_and_no_more() {
    for (phases, evacuations) in [(&[Evacuate, LeakCheck][..], 3), (&[LeakCheck], 0)] {
        let mut bench = if evacuations > 0 { pumping(order(phases)) } else { begun(order(phases), 700.0, 40.0) };
        let (entered, wet) = (Cell::new(0.0), |t: f64| if t < 5.0 { 580.0 } else { 2_040.0 + 0.9 * t });
        for scan in 0..20 * 3_600 {
            let t = f64::from(scan) * 0.05;
            if bench.station.job().phase() != Some(LeakCheck) {
                entered.set(t);
                all(&mut bench, 700.0, 100.0);
            } else {
                all(&mut bench, 2_500.0, wet(t - entered.get()));
            }
            bench.scan(None);
            if !bench.station.job().busy() {
                break;
            }
        }
        crate::give_up::all_off(&mut bench);
        let wet = |r: &&valvewright_core::job::flow::PhaseRecord| r.outcome == Outcome::Failed(GiveUp::StillWet);
        assert_eq!(bench.station.job().records().iter().filter(wet).count(), evacuations.max(1));
        assert_eq!(said(&bench, |n| *n == Notice::PhaseStarted(Evacuate)), evacuations);
        assert_eq!(said(&bench, |n| *n == Notice::DryingAgain), evacuations.saturating_sub(1));
    }
}
