//! Hoses are flushed on their port alone, and a vehicle with high voltage is served only after it.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::interlock::RowId;
use valvewright_core::job::flow::JobState;
use valvewright_core::job::{GasVerdict, GiveUp, Outcome, PhaseKind, WorkOrder};
use valvewright_core::kept::{Boot, Hoses, Kept, Memory, Start};
use valvewright_core::order::Procedure;
use valvewright_core::station::Station;
use valvewright_core::talk::{Command, Notice, Question, Refusal};
use valvewright_core::units::{Milligram, Millis};

use crate::bench::{Bench, order, report};

const FLUSH: WorkOrder = WorkOrder::upkeep(Procedure::Flush, Milligram(0));
const HOSES: Actuators = Actuators::of(&[Actuator::Xv1, Actuator::Xv2]);

fn woken(flushed: bool) -> Bench {
    let mut bench = Bench::new();
    let hoses = if flushed { Hoses::Flushed } else { Hoses::Used };
    let memory = Memory::Sound(Kept { hoses, ..Kept::COMMISSIONED });
    let start = Start { memory, boot: Boot::PowerOn, vessel_rest: Millis(0) };
    bench.station = Station::wake(StationConfig::reference(Refrigerant::R1234yf), &start);
    bench.seconds(5);
    bench
}

fn high_voltage(phases: &[PhaseKind]) -> WorkOrder {
    WorkOrder { high_voltage: true, ..order(phases) }
}

/// Liquid goes out while the charge valves are open, and comes back with C-1 but for what `keeps` of it, g; pumps pull.
fn turns(keeps: f64) -> impl FnMut(&mut Bench) {
    let mut out = 0.0;
    move |bench| {
        let on = bench.on();
        let w = &mut bench.world;
        let mut hoses = w.p_low;
        if on.has(Actuator::Xv5) && on.has(Actuator::Xv10) {
            (w.grams[0], out, hoses) = (w.grams[0] - 0.5, out + 0.5, 500_000.0);
        } else if on.has(Actuator::C1) && on.has(Actuator::Xv3) {
            let back = if out > keeps { 0.25 } else { 0.0 };
            (w.grams[0], out) = (w.grams[0] + back, out - back);
            hoses = (hoses * 0.995).max(30_000.0);
        } else if on.has(Actuator::P1) && on.has(Actuator::Xv6) {
            hoses = (hoses * 0.98).max(100.0);
        } else if on.has(Actuator::Xv3) {
            // The separator's gas.
            hoses = hoses.max(20_000.0);
        }
        (w.p_low, w.p_high, w.p_vacuum) = (hoses, hoses, hoses);
    }
}

/// A flush that has begun on its port.
fn flushing() -> Bench {
    let mut bench = woken(false);
    bench.world.flush_port = true;
    (bench.world.p_low, bench.world.p_high) = (100_000.0, 100_000.0);
    bench.seconds(2);
    bench.start(1, FLUSH);
    assert!(bench.until(60, |b| b.station.job().state() == JobState::Running), "{:?}", bench.notices);
    bench
}

/// Shows H11, I15.
#[test]
fn a_high_voltage_vehicle_is_served_after_a_flush_and_another_vehicle_ends_it() {
    let mut bench = woken(false);
    bench.start(1, high_voltage(&[PhaseKind::Identify]));
    assert_eq!(bench.notices.last(), Some(&Notice::Refused(Refusal::NotFlushed)));
    bench.notices.clear();
    bench.start(2, high_voltage(&[PhaseKind::DrainOil]));
    assert!(bench.notices.contains(&Notice::OrderStarted(2)), "no hose opens to it: {:?}", bench.notices);

    let mut bench = woken(true);
    bench.start(1, high_voltage(&[PhaseKind::Identify]));
    assert!(bench.notices.contains(&Notice::OrderStarted(1)), "{:?}", bench.notices);
    assert!(bench.station.kept().hoses == Hoses::Flushed, "its own kind takes nothing away");
    bench.give(Command::Abort);
    bench.start(2, order(&[PhaseKind::Identify]));
    assert!(bench.station.kept().hoses != Hoses::Flushed, "in the scan of the order");
    bench.give(Command::Abort);
    bench.start(3, high_voltage(&[PhaseKind::Identify]));
    assert_eq!(bench.notices.last(), Some(&Notice::Refused(Refusal::NotFlushed)));
    // A supply cylinder: nobody knows its oil.
    let mut bench = woken(true);
    bench.start(1, WorkOrder::upkeep(Procedure::FillVessel, Milligram::from_grams(500)));
    assert!(bench.station.kept().hoses != Hoses::Flushed);
}

/// Shows H11, LC8.
#[test]
fn a_lost_record_knows_of_no_flush() {
    let mut bench = Bench::new();
    let start = Start { memory: Memory::Lost, boot: Boot::PowerOn, vessel_rest: Millis(0) };
    bench.station = Station::wake(StationConfig::reference(Refrigerant::R1234yf), &start);
    bench.seconds(5);
    bench.start(1, high_voltage(&[PhaseKind::Identify]));
    assert_eq!(bench.notices.last(), Some(&Notice::Refused(Refusal::NotFlushed)));
}

/// What the order takes away is stored before a hose opens, or nothing that moves refrigerant runs.
/// Shows I24, LC8.
#[test]
fn an_order_whose_word_is_not_stored_moves_nothing() {
    let mut bench = woken(true);
    bench.store_stands = true;
    let pressure = 600_000.0;
    (bench.world.p_low, bench.world.p_high) = (pressure, pressure);
    bench.start(1, order(&[PhaseKind::Identify]));
    let number = bench.station.kept().number;
    assert!(bench.until(60, |b| b.station.job().state() == JobState::Running), "{:?}", bench.notices);
    assert!(bench.notices.contains(&Notice::NotStored));
    assert!(bench.station.interlocks().withheld().has(RowId::I24));
    assert!(bench.station.kept().number >= number && bench.station.kept().hoses != Hoses::Flushed);
    bench.store_stands = false;
    bench.seconds(2);
    assert!(!bench.station.interlocks().withheld().has(RowId::I24), "stored after all");
}

#[test]
fn no_vehicle_order_runs_on_the_flush_port_and_no_flush_beside_it() {
    let mut bench = woken(true);
    bench.start(1, FLUSH);
    assert_eq!(bench.notices.last(), Some(&Notice::Refused(Refusal::NotOnFlushPort)));
    bench.world.flush_port = true;
    bench.seconds(1);
    let fill = WorkOrder::upkeep(Procedure::FillVessel, Milligram::from_grams(500));
    for (id, one) in (2..).zip([order(&[PhaseKind::Identify]), order(&[PhaseKind::ClearHoses]), fill]) {
        bench.start(id, one);
        assert_eq!(bench.notices.last(), Some(&Notice::Refused(Refusal::OnFlushPort)));
    }
    assert!(bench.station.kept().hoses == Hoses::Flushed, "a refused order opens nothing");
    bench.start(9, order(&[PhaseKind::Purge]));
    assert!(bench.notices.contains(&Notice::OrderStarted(9)), "{:?}", bench.notices);
}

#[test]
fn a_flush_goes_out_through_the_high_hose_and_back_through_the_low_one_and_is_kept() {
    let mut bench = flushing();
    let before = bench.world.grams[0];
    let mut turn = turns(0.0);
    let (mut rinses, mut was) = (0, false);
    let ended = bench.until_with(
        3 * 3_600,
        |b| {
            turn(b);
            let on = b.on();
            let out = on.has(Actuator::Xv5);
            assert!(!out || on.and(HOSES) == Actuators::of(&[Actuator::Xv2]), "out through the high hose: {on:?}");
            assert!(b.station.kept().hoses != Hoses::Flushed || rinses == 3, "{rinses} rinses");
            rinses += u32::from(out && !was);
            was = out;
        },
        |b| !b.station.job().records().is_empty(),
    );
    assert!(ended, "{:?}", bench.notices);
    assert_eq!(bench.station.job().records()[0].outcome, Outcome::Done, "{:?}", bench.notices);
    assert_eq!(rinses, 3);
    assert!((bench.world.grams[0] - before).abs() < 1.0);
    let ledger = bench.station.job().ledger;
    assert_eq!([ledger.recovered, ledger.charged(), ledger.filled], [Milligram(0); 3], "it is no service");
    let tripped = bench.notices.iter().filter(|n| matches!(n, Notice::Tripped(..))).count();
    assert_eq!(tripped, 0, "{:?}", bench.notices);
    assert!(bench.station.kept().hoses == Hoses::Flushed);
    let memory = Memory::Sound(bench.station.kept().clone());
    let start = Start { memory, boot: Boot::PowerOn, vessel_rest: Millis(0) };
    bench.station = Station::wake(StationConfig::reference(Refrigerant::R1234yf), &start);
    bench.world.flush_port = false;
    bench.seconds(5);
    bench.start(2, high_voltage(&[PhaseKind::Identify]));
    assert!(bench.notices.contains(&Notice::OrderStarted(2)), "after the next start too: {:?}", bench.notices);
}

#[test]
fn a_rinse_that_does_not_come_back_leaves_the_hoses_as_they_were() {
    let mut bench = flushing();
    let ended = bench.until_with(3_600, turns(40.0), |b| !b.station.job().records().is_empty());
    assert!(ended, "{:?}", bench.notices);
    let Outcome::Failed(GiveUp::FlushShort(short)) = bench.station.job().records()[0].outcome else {
        panic!("{:?}", bench.station.job().records())
    };
    assert!((39_000..42_000).contains(&short.0), "{short:?}");
    assert!(bench.station.kept().hoses != Hoses::Flushed);
}

/// A flush that was broken off leaves liquid in the hoses, and no other order is taken on the port: its own beginning is the way out, once AT-1 has
/// said that it is the station's gas.
#[test]
fn loaded_hoses_are_identified_and_drawn_before_a_flush() {
    for (share, outcome) in [(995, None), (300, Some(Outcome::Failed(GiveUp::GasRefused(GasVerdict::Foreign))))] {
        let mut bench = woken(false);
        bench.world.flush_port = true;
        (bench.world.p_low, bench.world.p_high) = (500_000.0, 500_000.0);
        bench.world.reports = (0..4).map(|_| report(share, 0, 2, true)).collect();
        bench.seconds(2);
        bench.start(1, FLUSH);
        let mut turn = turns(0.0);
        let asks = |b: &Bench| b.station.job().question() == Some(Question::SampleFilterClean);
        assert!(bench.until(90, asks), "{:?}", bench.notices);
        bench.answer(true);
        let drew = bench.until_with(900, &mut turn, |b| b.on().has(Actuator::C1));
        assert_eq!(drew, outcome.is_none(), "{:?}", bench.notices);
        let (mut foul, mut rinses) = (false, 0);
        bench.until_with(
            3 * 3_600,
            |b| {
                turn(b);
                foul |= b.on().has(Actuator::P1) && b.world.p_low > 130_000.0;
                rinses += u32::from(b.on().has(Actuator::Xv5));
            },
            |b| b.station.job().state() != JobState::Running,
        );
        assert!(!foul, "P-1 on loaded hoses");
        let last = bench.station.job().records().last().map(|one| one.outcome);
        assert_eq!(last, Some(outcome.unwrap_or(Outcome::Done)), "{:?}", bench.notices);
        let hoses = if outcome.is_none() { Hoses::Flushed } else { Hoses::Foreign };
        assert_eq!(bench.station.kept().hoses, hoses);
        assert_eq!(rinses > 0, outcome.is_none());
    }
}

#[test]
fn a_flush_ends_when_a_coupler_leaves_its_port() {
    let mut bench = flushing();
    let mut turn = turns(0.0);
    assert!(bench.until_with(3_600, &mut turn, |b| b.on().has(Actuator::Xv5)), "{:?}", bench.notices);
    bench.world.flush_port = false;
    assert!(bench.until(1, |b| !b.station.job().records().is_empty()), "{:?}", bench.notices);
    assert_eq!(bench.station.job().records()[0].outcome, Outcome::Failed(GiveUp::CouplersMoved));
    bench.seconds(5);
    assert!(bench.on().and(HOSES.or(Actuators::of(&[Actuator::Xv5, Actuator::Xv10]))).is_empty(), "{:?}", bench.on());
    assert!(bench.station.kept().hoses != Hoses::Flushed);
}
