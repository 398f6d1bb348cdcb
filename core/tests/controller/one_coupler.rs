//! A vehicle with one coupler: nothing goes through the other valve, and nothing hangs on the other gauge.

use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::job::{LeakVerdict, Outcome, PhaseKind, Sides, WorkOrder};
use valvewright_core::units::Milligram;

use crate::bench::{Bench, order, report};
use crate::rows::outcome;

/// Runs these phases through one side, the other hose hanging at `hangs`, and says which valves were ever on.
fn through(sides: Sides, phases: &[PhaseKind], hangs: f64, world: impl Fn(&mut Bench, f64)) -> (Bench, [bool; 2]) {
    let mut bench = Bench::new();
    let set = |bench: &mut Bench, p: f64| {
        let hoses = if sides == Sides::Low { (p, hangs) } else { (hangs, p) };
        (bench.world.p_low, bench.world.p_high) = hoses;
        bench.world.p_separator = Some(p);
        world(bench, p);
    };
    set(&mut bench, 600_000.0);
    bench.seconds(5);
    bench.world.reports = [report(998, 1, 5, true); 2].into();
    bench.start(1, WorkOrder { sides, ..order(phases) });
    let (mut opened, mut pressure) = ([false; 2], 600_000.0_f64);
    for _ in 0..3_000 * 20 {
        bench.scan(None);
        for (seen, valve) in opened.iter_mut().zip([Actuator::Xv1, Actuator::Xv2]) {
            *seen |= bench.on().has(valve);
        }
        if bench.station.job().question().is_some() {
            bench.answer(true);
        }
        if bench.on().has(Actuator::C1) {
            pressure = (pressure - 150.0).max(35_000.0);
            // As gas: 176 mL/s of 46 g/m3 a kilopascal, in a twentieth of a second.
            bench.world.grams[0] += pressure * 176e-6 * 46e-6 * 1e3 / 20.0;
        }
        if bench.on().has(Actuator::P1) && bench.on().has(Actuator::Xv6) {
            pressure = (pressure * 0.99).max(600.0);
            bench.world.p_vacuum = if pressure <= 600.0 { 20.0 } else { pressure };
        }
        set(&mut bench, pressure);
        if !bench.station.job().busy() {
            break;
        }
    }
    (bench, opened)
}

#[test]
fn a_job_through_one_coupler_opens_one_valve_and_passes_its_hold() {
    let phases = [PhaseKind::Identify, PhaseKind::Recover, PhaseKind::Evacuate, PhaseKind::LeakCheck];
    for (sides, opened) in [(Sides::Low, [true, false]), (Sides::High, [false, true])] {
        // A hose that was cleared, and one that was evacuated: the compressor does not starve on it (I13).
        for hangs in [40_000.0, 1_000.0] {
            let (bench, seen) = through(sides, &phases, hangs, |_, _| {});
            assert_eq!(seen, opened, "{sides:?}");
            assert_eq!(outcome(&bench), Some(Outcome::Done), "{sides:?}, {hangs} Pa: {:?}", bench.notices);
            assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Tight);
        }
    }
}

/// A hose in its holder that was never cleared keeps the vacuum pump shut: the interlock looks at both (I11).
/// Shows I11.
#[test]
fn pressure_in_the_hanging_hose_keeps_the_vacuum_pump_shut() {
    let (bench, _) =
        through(Sides::Low, &[PhaseKind::Identify, PhaseKind::Recover, PhaseKind::Evacuate], 300_000.0, |_, _| {});
    let ends: Vec<Outcome> = bench.station.job().records().iter().map(|r| r.outcome).collect();
    assert!(matches!(ends[..], [Outcome::Done, Outcome::Done, Outcome::Failed(_)]), "{ends:?} {:?}", bench.notices);
}

/// Pressures even out through one coupler in twice the minute; the hold itself is as long as it was ordered.
#[test]
fn a_hold_through_one_coupler_waits_twice_as_long_before_it_begins() {
    let lasts = |sides| {
        let mut bench = Bench::new();
        (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (1_000.0, 1_000.0, 100.0);
        bench.seconds(5);
        bench.start(1, WorkOrder { sides, ..order(&[PhaseKind::LeakCheck]) });
        let (_, lasted) = crate::give_up::ends(&mut bench, PhaseKind::LeakCheck, |_, _| {});
        lasted
    };
    let both = lasts(Sides::Both);
    for sides in [Sides::Low, Sides::High] {
        let one = lasts(sides);
        assert!((one - both - 60.0).abs() < 0.02, "{sides:?}: {one} s, through both {both} s");
    }
}

/// Oil goes towards the high side where there is a way to it, and never through a coupler that is not on.
#[test]
fn oil_is_injected_through_a_coupler_that_is_on() {
    for (sides, way) in [(Sides::Both, Actuator::Xv2), (Sides::High, Actuator::Xv2), (Sides::Low, Actuator::Xv1)] {
        let mut bench = Bench::new();
        (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (1_000.0, 1_000.0, 100.0);
        bench.seconds(5);
        let oil_extra = Milligram::from_grams(20);
        bench.start(1, WorkOrder { sides, oil_extra, ..order(&[PhaseKind::InjectOil]) });
        assert!(bench.until(90, |b| b.on().has(Actuator::Xv9)), "{:?}", bench.notices);
        assert_eq!(bench.on(), Actuators::of(&[Actuator::Xv9, way, Actuator::K1]), "{sides:?}");
    }
}
