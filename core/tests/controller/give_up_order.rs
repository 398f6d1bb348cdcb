//! When the job gives a phase up whatever the phase itself says: no vehicle, held off, tripped again and again.

use valvewright_core::frame::{Actuator, Switches};
use valvewright_core::job::{GiveUp, Outcome, PhaseKind};

use crate::bench::{Bench, order};
use crate::charging::{Charging, alone};
use crate::connection::evacuated;
use crate::give_up::{all_off, as_it_is, ends, gives_up, gives_up_after, record};
use crate::give_up_gas::recovering;

/// The contact of the couplers is asked for by every phase that works on a vehicle.
#[test]
fn no_phase_begins_on_a_vehicle_that_is_not_there() {
    use PhaseKind::*;
    for kind in [Identify, Recover, Evacuate, LeakCheck, InjectOil, Charge, Verify] {
        let mut bench = Bench::new();
        bench.world.open = Switches::ZS2_COUPLED;
        bench.seconds(5);
        bench.start(1, order(&[kind]));
        gives_up_after(&mut bench, kind, GiveUp::NotCoupled, 0.05, as_it_is);
    }
    for kind in [Purge, DrainOil, ClearHoses] {
        let mut bench = Bench::new();
        bench.world.open = Switches::ZS2_COUPLED;
        bench.seconds(5);
        bench.start(1, order(&[kind]));
        bench.seconds(60);
        let coupled = bench.station.job().records().iter().any(|r| r.outcome == Outcome::Failed(GiveUp::NotCoupled));
        assert!(!coupled, "{kind:?} has no need of a vehicle: {:?}", bench.notices);
    }
}

/// LS-2 stands open: XV-3 is held off for as long as the phase asks for it.
#[test]
fn a_phase_that_is_held_off_for_ten_minutes_ends() {
    let mut bench = recovering(6_000.0);
    bench.world.p_separator = Some(50_000.0);
    bench.seconds(10);
    let from = bench.now();
    bench.world.open = Switches::LS2_NOT_HIGH;
    gives_up(&mut bench, PhaseKind::Recover, GiveUp::Blocked, as_it_is);
    let blocked = f64::from(bench.now() - from) / 1e3 - 3.0;
    assert!((blocked - 600.05).abs() < 0.02, "{blocked} s");
    // A moment of freedom begins the ten minutes anew.
    let mut bench = recovering(6_000.0);
    bench.world.p_separator = Some(50_000.0);
    for _ in 0..2 {
        bench.world.open = Switches::LS2_NOT_HIGH;
        bench.seconds(590);
        bench.world.open = 0;
        bench.seconds(5);
    }
    assert!(bench.station.job().busy(), "{:?}", bench.notices);
}

/// Late scans trip I08, which lets go by itself: eight are borne while the phase asks for its valves.
#[test]
fn the_ninth_trip_of_a_phase_ends_it() {
    let mut charging = Charging::ordered(alone(4_500));
    let mut trips = 0;
    while charging.bench.station.job().busy() {
        let bench = &mut charging.bench;
        let open = bench.on().has(Actuator::Xv5) && bench.on().has(Actuator::Xv10);
        charging.gone += if open { 7.0 / 20.0 } else { 0.0 };
        bench.world.grams[0] = 6_000.0 - charging.gone;
        trips += u32::from(open);
        bench.scan_after(if open { 300 } else { 50 }, None);
    }
    assert_eq!(charging.charge_outcome(), Some(Outcome::Failed(GiveUp::TripsAgain)), "{:?}", charging.bench.notices);
    assert_eq!(trips, 9);
    all_off(&mut charging.bench);
}

/// Trips of a row that withholds nothing the phase asks for are none of its trips.
#[test]
fn trips_that_take_nothing_away_are_not_counted() {
    let mut bench = evacuated();
    bench.start(1, order(&[PhaseKind::LeakCheck]));
    assert!(bench.until(100, |b| b.station.job().phase().is_some()));
    for _ in 0..12 {
        bench.scan_after(300, None);
        bench.seconds(1);
    }
    bench.world.p_vacuum = 120.0;
    let (outcome, _) = ends(&mut bench, PhaseKind::LeakCheck, as_it_is);
    assert_eq!(outcome, Outcome::Done, "{:?}", bench.notices);
    assert_eq!(record(&bench, PhaseKind::LeakCheck).map(|r| r.kind), Some(PhaseKind::LeakCheck));
}
