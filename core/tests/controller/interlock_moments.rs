//! Hold times of the interlocks in company: what one row does to the time of another.

use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::interlock::{RowId, Watch};
use valvewright_core::sense::{Doubt, Quality, Reading};
use valvewright_core::units::*;

use crate::interlock_bench::{Rig, calm, good, load, provoke};

/// Two seconds without air trip I28; nearly two, then air, then two again, whatever other row trips just before.
/// Shows I28, F070, F136.
#[test]
fn a_hold_begins_anew_beside_a_row_that_trips() {
    let mut rig = Rig::new();
    provoke(Watch::AirFlow, &mut rig.r, &mut rig.f);
    rig.run(1_900);
    assert!(!rig.tripped(RowId::I28));
    (rig.r, rig.f) = calm();
    rig.run(1_000);
    provoke(Watch::DischargeSwitch, &mut rig.r, &mut rig.f);
    rig.run(50);
    assert!(rig.tripped(RowId::I03) && !rig.tripped(RowId::I28));
    provoke(Watch::AirFlow, &mut rig.r, &mut rig.f);
    assert_eq!(rig.time_to_trip(RowId::I28, 10_000), Some(2_000));
}

/// At its clear point a cause stands; a unit past it, it goes.
#[test]
fn a_cause_stands_at_its_clear_point() {
    type Put = fn(&mut Rig, i32);
    let points: [(Watch, RowId, i32, i32, Put); 9] = [
        (Watch::CabinetGas, RowId::I01, 100, -1, |rig, v| rig.r.at2.value = PermilleLfl(v)),
        (Watch::VesselFill, RowId::I02, 9_950_000, -1, |rig, v| load(&mut rig.r, Milligram(v))),
        (Watch::VesselPressure, RowId::I03, 1_551_000, -1, |rig, v| rig.r.pt1.value = AbsPa(v)),
        (Watch::PumpInlet, RowId::I11, 104_325, -1, |rig, v| rig.r.pt2.value = AbsPa(v)),
        (Watch::HeaterCover, RowId::I12, 1_099_999, 1, |rig, v| load(&mut rig.r, Milligram(v))),
        (Watch::HeaterSkin, RowId::I12, 33_315, -1, |rig, v| rig.r.tt3.value = CentiKelvin(v)),
        (Watch::DischargeTemperature, RowId::I13, 36_315, -1, |rig, v| rig.r.tt2.value = CentiKelvin(v)),
        (Watch::Suction, RowId::I13, 39_999, 1, |rig, v| rig.r.pt2.value = AbsPa(v)),
        (Watch::MotorCurrent, RowId::I13, 5_000, -1, |rig, v| rig.r.it1.value = Milliamp(v)),
    ];
    for (watch, row, at, past, put) in points {
        let mut rig = Rig::new();
        provoke(watch, &mut rig.r, &mut rig.f);
        rig.run(40_000);
        assert!(rig.locks.standing().has(row), "{watch:?}");
        put(&mut rig, at);
        rig.run(70_000);
        assert!(rig.locks.standing().has(row), "{watch:?} at {at}");
        put(&mut rig, at + past);
        rig.run(70_000);
        assert!(!rig.locks.standing().has(row), "{watch:?} at {}", at + past);
    }
}

/// Low suction is one of a compressor that draws: neither an open inlet without it nor a running one behind a shut inlet counts.
/// Shows I13.
#[test]
fn low_suction_needs_a_running_compressor_and_an_open_inlet() {
    for (on, trips) in [(&[Actuator::C1, Actuator::Xv3][..], true), (&[Actuator::C1], false), (&[Actuator::Xv3], false)]
    {
        let mut rig = Rig::new();
        provoke(Watch::Suction, &mut rig.r, &mut rig.f);
        rig.f.applied = Actuators::of(on);
        rig.run(40_000);
        assert_eq!(rig.tripped(RowId::I13), trips, "{on:?}");
    }
}

/// A compressor that stands draws nothing: its suction is no cause any more.
#[test]
fn low_suction_is_a_cause_while_the_compressor_runs() {
    let mut rig = Rig::new();
    provoke(Watch::Suction, &mut rig.r, &mut rig.f);
    rig.run(40_000);
    assert!(rig.locks.standing().has(RowId::I13));
    rig.f.applied = Actuators::SAFE;
    rig.run(100);
    assert!(!rig.locks.standing().has(RowId::I13));
}

/// A heater that is neither on nor wanted needs no cover.
/// Shows I12.
#[test]
fn a_low_vessel_is_a_cause_while_it_is_heated() {
    let mut rig = Rig::new();
    provoke(Watch::HeaterCover, &mut rig.r, &mut rig.f);
    rig.run(40_000);
    assert!(rig.locks.standing().has(RowId::I12));
    rig.f.wanted = Actuators::SAFE;
    rig.run(2_100);
    assert!(!rig.locks.standing().has(RowId::I12));
}

/// A value that may not decide frees nothing: both hose gauges must be sure of a low pressure, and of a suction that is back.
#[test]
fn an_unsure_hose_gauge_frees_nothing() {
    let unsure = |p| Reading { value: AbsPa(p), quality: Quality::Uncertain(Doubt::Jumpy) };
    for (watch, row, low) in [(Watch::PumpInlet, RowId::I11, 60_000), (Watch::Suction, RowId::I13, 90_000)] {
        for first in [true, false] {
            let mut rig = Rig::new();
            provoke(watch, &mut rig.r, &mut rig.f);
            rig.run(40_000);
            (rig.r.pt2, rig.r.pt3) = (good(AbsPa(low)), good(AbsPa(low)));
            if first {
                rig.r.pt2 = unsure(low);
            } else {
                rig.r.pt3 = unsure(low);
            }
            rig.run(70_000);
            assert!(rig.locks.standing().has(row), "{watch:?}, PT-2 unsure: {first}");
            (rig.r.pt2, rig.r.pt3) = (good(AbsPa(low)), good(AbsPa(low)));
            rig.run(70_000);
            assert!(!rig.locks.standing().has(row), "{watch:?}");
        }
    }
}

/// The first cause keeps its reading in the unit of its set point; a contact or verdict has none.
#[test]
fn a_first_cause_says_what_was_read() {
    for (watch, value) in [
        (Watch::CabinetGas, 150),
        (Watch::VesselFill, 1_000),
        (Watch::VesselPressure, 1_701_000),
        (Watch::DischargeSwitch, 680_000),
        (Watch::PumpInlet, 109_325),
        (Watch::HeaterCover, 999_000),
        (Watch::HeaterSkin, 35_315),
        (Watch::HeaterEffect, 29_815),
        (Watch::DischargeTemperature, 39_315),
        (Watch::Suction, 29_999),
        (Watch::MotorCurrent, 9_000),
        (Watch::ScaleCreep, 5_000_000),
        (Watch::ChargeScale, 5_000_000),
        (Watch::Door, 0),
        (Watch::Effect, 0),
    ] {
        let mut rig = Rig::new();
        provoke(watch, &mut rig.r, &mut rig.f);
        rig.run(40_000);
        let first = rig.locks.first_out().expect("it tripped");
        assert_eq!((first.watch, first.value, first.bad), (watch, value, false));
    }
}
