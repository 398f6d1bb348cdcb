//! The vessel is changed: nothing trips over the one that is away, nothing of it is booked, and what was opened is owed its proofs.

use valvewright_core::frame::Actuator;
use valvewright_core::interlock::RowId;
use valvewright_core::job::{GiveUp, Outcome, WorkOrder};
use valvewright_core::kept::{OWED, Proof};
use valvewright_core::order::{Procedure, Task};
use valvewright_core::talk::{Notice, Question};
use valvewright_core::units::Milligram;

use crate::bench::Bench;

/// Up to the question whether the vessel is changed.
fn asks() -> Bench {
    let mut bench = Bench::new();
    bench.world.p_low = 100_000.0;
    bench.world.p_high = 100_000.0;
    bench.seconds(5);
    bench.start(1, WorkOrder::upkeep(Procedure::Vessel, Milligram(0)));
    let asked = |task: Task| move |b: &Bench| b.station.job().question() == Some(Question::Task(task));
    assert!(bench.until(90, asked(Task::ParkCouplers)), "{:?}", bench.notices);
    bench.answer(true);
    bench.world.p_separator = Some(40_000.0);
    assert!(bench.until(900, asked(Task::ChangeVessel)), "{:?}", bench.notices);
    bench
}

/// Off, nothing weighs on the platform and PT-1 hangs in the air; then the new one.
fn changes(bench: &mut Bench, pressure: f64) {
    bench.world.grams[0] = -4_000.0;
    bench.world.p_vessel = 101_325.0;
    bench.seconds(60);
    bench.world.grams[0] = 0.0;
    bench.world.p_vessel = pressure;
    bench.seconds(10);
    bench.answer(true);
}

fn tripped(bench: &Bench) -> Vec<RowId> {
    bench.notices.iter().filter_map(|n| if let Notice::Tripped(row, _) = n { Some(*row) } else { None }).collect()
}

#[test]
fn a_vessel_is_changed_and_what_it_holds_is_told_and_not_booked() {
    let mut bench = asks();
    assert!(bench.notices.contains(&Notice::VesselHolds(Milligram::from_grams(6_000))), "{:?}", bench.notices);
    changes(&mut bench, 500.0);
    assert!(bench.until(60, |b| b.notices.contains(&Notice::VesselHolds(Milligram(0)))), "{:?}", bench.notices);
    let dated = bench.station.kept().due[Proof::ReliefValve as usize];
    assert!(bench.until(5, |b| b.station.kept().due[Proof::ReliefValve as usize] != dated), "a new one has its date");
    bench.seconds(620);
    let parked = bench.station.job().question();
    assert_eq!(parked, Some(Question::Task(Task::ParkCouplers)), "the leak check follows: {:?}", bench.notices);
    // The heater is kept off what is empty; nothing else has a reason.
    assert!(tripped(&bench).iter().all(|row| *row == RowId::I12), "{:?}", tripped(&bench));
    bench.answer(true);
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (100.0, 100.0, 100.0);
    let wakes = |b: &mut Bench| {
        let even = b.on().has(Actuator::Xv3);
        b.world.p_vacuum = if even { 10_000.0 } else { 100.0 };
    };
    assert!(bench.until_with(1_800, wakes, |b| !b.station.job().records().is_empty()), "{:?}", bench.notices);
    assert_eq!(bench.station.job().records()[0].outcome, Outcome::Done);
    let (kept, ledger) = (bench.station.kept(), bench.station.job().ledger);
    assert_ne!(kept.due[Proof::InternalLeak as usize], OWED);
    assert_eq!(kept.due[Proof::CheckWeight as usize], OWED, "its scale is still to be tried");
    let booked = [ledger.recovered, ledger.filled, ledger.vented, ledger.charged()];
    assert_eq!(booked, [Milligram(0); 4]);
    assert_eq!(kept.drier, Milligram(0), "nothing went through the filter-drier");
}

#[test]
fn a_vessel_that_comes_under_pressure_is_not_taken() {
    let mut bench = asks();
    changes(&mut bench, 101_325.0);
    assert!(bench.until(200, |b| !b.station.job().records().is_empty()), "{:?}", bench.notices);
    let Outcome::Failed(GiveUp::NotEvacuated(p)) = bench.station.job().records()[0].outcome else {
        panic!("{:?}", bench.station.job().records())
    };
    assert!((100_000..103_000).contains(&p.0), "{p:?}");
    let due = bench.station.kept().due;
    assert_eq!(due[Proof::InternalLeak as usize], OWED);
    assert_eq!(due[Proof::CheckWeight as usize], OWED);
    assert_eq!(due[Proof::ReliefValve as usize], 0, "no date for what was not taken");
}

/// A vessel that takes air in through its joints rises in its ten minutes.
#[test]
fn a_vessel_that_takes_air_in_is_not_taken() {
    let mut bench = asks();
    changes(&mut bench, 500.0);
    assert!(bench.until(60, |b| b.notices.contains(&Notice::VesselHolds(Milligram(0)))), "{:?}", bench.notices);
    bench.seconds(10);
    let rises = |b: &mut Bench| b.world.p_vessel += 1.5;
    assert!(bench.until_with(620, rises, |b| !b.station.job().records().is_empty()), "{:?}", bench.notices);
    assert_eq!(bench.station.job().records()[0].outcome, Outcome::Failed(GiveUp::Leaks));
}

/// Said no, held, or broken off: whatever was loosened meanwhile is owed its proofs from before the question on.
#[test]
fn a_change_that_is_broken_off_leaves_its_proofs_owed() {
    let mut bench = asks();
    let due = bench.station.kept().due;
    assert_eq!([due[Proof::InternalLeak as usize], due[Proof::CheckWeight as usize]], [OWED; 2]);
    bench.answer(false);
    bench.seconds(1);
    assert_eq!(bench.station.job().records()[0].outcome, Outcome::Failed(GiveUp::Declined));
    // Weight that goes now is a fault again.
    bench.world.grams[0] = -4_000.0;
    bench.seconds(20);
    assert!(tripped(&bench).contains(&RowId::I20), "{:?}", tripped(&bench));
}
