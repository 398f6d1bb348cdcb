//! PSH-2 at the inlet of P-1: pressure there shuts XV-6 at once (I11), and stops everything where XV-6 has been shut for two seconds (I19).

use valvewright_core::drive::PUMP_LEAD;
use valvewright_core::frame::{Actuator, Actuators, Lamp, Switches};
use valvewright_core::interlock::{RowId, RowSet, Watch};
use valvewright_core::job::PhaseKind;
use valvewright_core::job::flow::JobState;
use valvewright_core::talk::{Command, Notice, Refusal};

use crate::bench::{Bench, order};
use crate::charging::{Charging, alone, honest};
use crate::interlock_bench::{HANDS_OFF, Rig, SCAN, calm, provoke};
use crate::rows::{pulling, tripped};

const PSH2: u16 = Switches::PSH2_HEALTHY;

/// An evacuation that has drawn for three seconds.
fn evacuating() -> Bench {
    let mut bench = Bench::new();
    (bench.world.p_low, bench.world.p_high) = (80_000.0, 80_000.0);
    bench.seconds(5);
    bench.start(1, order(&[PhaseKind::Evacuate]));
    assert!(bench.until(200, |b| b.on().has(Actuator::Xv6)), "{:?}", bench.notices);
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (60_000.0, 60_000.0, 101_325.0);
    bench.seconds(3);
    bench
}

/// So many scans with PSH-2 open.
fn open_for(bench: &mut Bench, scans: u32) {
    bench.world.open |= PSH2;
    (0..scans).for_each(|_| bench.scan(None));
    bench.world.open &= !PSH2;
}

/// F009, F011: two hose gauges that show a vacuum are no reason to go on; P-1 empties its inlet behind the shut valve.
/// Shows I11, F009, F011.
#[test]
fn pressure_at_the_inlet_in_an_evacuation_shuts_the_valve_at_once_and_then_stops_the_pump() {
    let mut bench = evacuating();
    bench.world.open = PSH2;
    bench.scan(None);
    assert!(tripped(&bench, RowId::I11), "in the scan that reads it open");
    assert!(!bench.on().has(Actuator::Xv6) && bench.on().has(Actuator::P1), "the valve first: {:?}", bench.on());
    let first = bench.station.interlocks().first_out().expect("tripped");
    assert_eq!((first.watch, first.value, first.bad), (Watch::PumpInletSwitch, 0, false));
    open_for(&mut bench, 10);
    bench.seconds(1);
    assert!(bench.on().has(Actuator::P1));
    bench.seconds(1);
    assert!(!bench.on().has(Actuator::P1), "held off behind its valve");
    bench.seconds(60);
    assert_eq!(
        bench.station.interlocks().tripped(),
        RowSet::one(RowId::I11),
        "half a second of pressure is no stuck valve"
    );
    assert_eq!((bench.station.job().state(), bench.outputs.lamp), (JobState::Paused, Lamp::Red));
}

/// P-1 has its two seconds to empty the inlet also where XV-6 has long been shut.
#[test]
fn pressure_while_the_pump_runs_up_keeps_its_valve_shut_and_lets_it_run_its_time() {
    let mut bench = Bench::new();
    (bench.world.p_low, bench.world.p_high) = (80_000.0, 80_000.0);
    bench.seconds(5);
    bench.start(1, order(&[PhaseKind::Evacuate]));
    assert!(bench.until(200, |b| b.on().has(Actuator::P1)), "{:?}", bench.notices);
    bench.seconds(1);
    assert!(!bench.on().has(Actuator::Xv6));
    open_for(&mut bench, 10);
    assert!(tripped(&bench, RowId::I11) && bench.on().has(Actuator::P1), "{:?}", bench.on());
    bench.seconds(2);
    assert_eq!(bench.on(), Actuators::SAFE);
    assert!(!bench.until(60, |b| b.on().has(Actuator::Xv6) || tripped(b, RowId::I19)));
}

/// Shows I19.
#[test]
fn a_pump_that_does_not_empty_its_inlet_ends_with_everything_off() {
    let mut bench = evacuating();
    bench.world.open = PSH2;
    // The scan that shuts XV-6, and the hold.
    for scan in 0..=PUMP_LEAD.0 / SCAN {
        bench.scan(None);
        assert!(!tripped(&bench, RowId::I19), "scan {scan}");
    }
    bench.scan(None);
    assert!(tripped(&bench, RowId::I19));
    assert_eq!(bench.on(), Actuators::SAFE);
}

/// F057. The job is held in the scan that sees it: the charge valves need not wait for I19.
/// Shows I11, I19, F057.
#[test]
fn a_pump_valve_that_comes_open_in_a_charge_stops_it() {
    let mut charging = Charging::ordered(alone(500));
    assert!(charging.play(600, honest, |c| c.gone > 50.0));
    let charged = charging.gone;
    charging.bench.world.open = PSH2;
    charging.play(1, honest, |_| false);
    assert!(tripped(&charging.bench, RowId::I11) && !tripped(&charging.bench, RowId::I19));
    assert!(charging.gone - charged < 2.0 * charging.flow / 20.0, "{} g later", charging.gone - charged);
    charging.play(2, honest, |_| false);
    let told = charging.bench.notices.iter().filter_map(|notice| match notice {
        Notice::Tripped(row, Some(first)) => Some((*row, first.watch)),
        _ => None,
    });
    let due = [(RowId::I11, Watch::PumpInletSwitch), (RowId::I19, Watch::PumpValveStuck)];
    assert_eq!(told.collect::<Vec<_>>(), due);
    assert_eq!(charging.bench.on(), Actuators::SAFE);
    charging.bench.give(Command::Reset);
    charging.bench.give(Command::Resume);
    charging.bench.seconds(60);
    assert_eq!(charging.bench.on(), Actuators::SAFE, "no press goes round an inlet that stands under pressure");
}

#[test]
fn a_pump_valve_that_comes_open_in_a_recovery_stops_it() {
    let mut bench = pulling();
    bench.world.open = PSH2;
    assert!(bench.until(4, |b| tripped(b, RowId::I19)), "{:?}", bench.notices);
    assert_eq!(bench.on(), Actuators::SAFE);
}

#[test]
fn an_inlet_under_pressure_for_two_seconds_is_a_stuck_valve_and_for_less_it_is_not() {
    for (scans, stuck) in [(2_000 / SCAN, true), (1_900 / SCAN, false)] {
        let mut bench = Bench::new();
        bench.seconds(5);
        open_for(&mut bench, scans);
        bench.seconds(5);
        assert_eq!(tripped(&bench, RowId::I19), stuck, "{scans} scans");
        assert!(tripped(&bench, RowId::I11));
    }
}

/// What presses on the pump through an open valve says nothing of that valve; nor does the time before it shut.
#[test]
fn the_two_seconds_begin_when_the_valve_shuts() {
    let pressed = |rig: &mut Rig, valve: bool| {
        let watch = if valve { Watch::PumpInletSwitch } else { Watch::PumpValveStuck };
        (rig.r, rig.f) = calm();
        provoke(watch, &mut rig.r, &mut rig.f);
    };
    let mut rig = Rig::new();
    pressed(&mut rig, true);
    rig.run(60_000);
    for _ in 0..3 {
        pressed(&mut rig, false);
        rig.run(PUMP_LEAD.0);
        pressed(&mut rig, true);
        rig.step(HANDS_OFF);
    }
    assert_eq!(rig.locks.tripped(), RowSet::one(RowId::I11));
    pressed(&mut rig, false);
    assert_eq!(rig.time_to_trip(RowId::I19, 10_000), Some(PUMP_LEAD.0));
}

/// A contact that bounces counts as open: neither does it free a row, nor does the time begin anew.
#[test]
fn an_inlet_switch_that_bounces_is_open() {
    let mut bench = Bench::new();
    bench.seconds(5);
    for _ in 0..2_100 / SCAN / 3 {
        open_for(&mut bench, 1);
        (0..2).for_each(|_| bench.scan(None));
        assert!(bench.station.interlocks().standing().has(RowId::I11));
    }
    assert!(tripped(&bench, RowId::I19));
    let mut twice = Bench::new();
    twice.seconds(5);
    for _ in 0..2 {
        open_for(&mut twice, 1_500 / SCAN);
        (0..4).for_each(|_| twice.scan(None));
    }
    assert!(!tripped(&twice, RowId::I19), "twice a second and a half, with the contact closed between");
}

#[test]
fn a_broken_wire_to_the_inlet_switch_lets_nothing_run_until_it_is_mended() {
    let mut bench = Bench::new();
    bench.world.open = PSH2;
    bench.seconds(5);
    for id in 1..5 {
        bench.give(Command::Reset);
        bench.start(id, order(&[PhaseKind::Evacuate]));
        assert_eq!(bench.notices.last(), Some(&Notice::Refused(Refusal::Tripped(RowId::I11))));
        bench.seconds(70);
        assert_eq!(bench.on(), Actuators::SAFE);
    }
    bench.world.open = 0;
    bench.seconds(3);
    assert!(tripped(&bench, RowId::I11) && tripped(&bench, RowId::I19), "mended, and nobody has looked");
    bench.give(Command::Reset);
    assert_eq!(bench.station.interlocks().tripped(), RowSet::NONE);
    bench.start(5, order(&[PhaseKind::LeakCheck]));
    assert!(bench.until(70, |b| b.station.job().phase().is_some()), "{:?}", bench.notices);
}

/// The order was taken; the switch opens while its air is proven, before anything but the fan was on.
#[test]
fn an_inlet_under_pressure_before_the_first_phase_holds_the_order() {
    let mut bench = Bench::new();
    bench.seconds(5);
    bench.start(1, order(&[PhaseKind::LeakCheck]));
    assert!(bench.until(30, |b| b.notices.contains(&Notice::ProvingAir)));
    bench.world.open = PSH2;
    bench.seconds(120);
    assert_eq!((bench.station.job().state(), bench.station.job().phase()), (JobState::Paused, None));
    bench.give(Command::Resume);
    assert_eq!(bench.notices.last(), Some(&Notice::Refused(Refusal::Tripped(RowId::I11))));
    assert_eq!(bench.on(), Actuators::SAFE);
}
