//! H01 to H07: cabinet, vessel, what came into it and into a vehicle, the separator.

use valvewright_core::frame::Actuator::{self, *};

use super::super::by_cabinet::gas;
use super::super::by_charge::{at_the_end, overcharged};
use super::super::by_line::locked;
use super::super::by_machine::slug;
use super::super::by_vessel::{Unseen, air, foreign, liquid};
use super::super::facts::Vehicle;
use super::super::sight::{Field, SECTIONS, Values};
use super::super::span::{Positions, Span};
use super::{CAR, is, on, rig, station, with};
use crate::report::data::HazardLevel::{Accident, Alert, None as Calm};

#[test]
fn h01_gas_at_its_limit_is_an_accident_only_with_something_that_lights_it() {
    let at = |share: f64, list: &[Actuator]| gas(&with(&[(Field::CabinetGas, share)]), &on(list));
    is(at(0.249, &[C1]), Calm);
    is(at(0.25, &[C1]), Alert);
    is(at(0.999, &[C1]), Alert);
    for one in [C1, P1, H1, H2] {
        is(at(1.0, &[one]), Accident);
    }
    is(at(3.0, &[Xv1, Xv7]), Alert);
}

#[test]
fn h02_the_rule_of_filling_alerts_and_a_vessel_without_gas_is_an_accident() {
    let at = |level: f64, kg: f64| liquid(&with(&[(Field::VesselLevel, level), (Field::VesselM, kg)]), &station());
    // 12.5 L x (0.8 x 1092 + 0.2 x 37.9) kg/m3 = 11.015 kg
    is(at(0.75, 11.0), Calm);
    is(at(0.75, 11.02), Alert);
    is(at(0.899, 10.0), Calm);
    is(at(0.90, 10.0), Alert);
    is(at(0.979, 11.5), Alert);
    is(at(0.98, 11.5), Accident);
}

#[test]
fn h03_liquid_that_is_locked_in_alerts_and_bursts_by_pressure() {
    let (mut plant, sight) = rig(45.0);
    let at = |share: f64, bar: f64| {
        let mut values = Values::BLANK;
        values.set_section(0, [share, bar * 1e5, 300.0, 0.05]);
        values
    };
    assert_eq!(SECTIONS[0], "hose_low");
    is(locked(&at(0.94, 8.0), &sight, &plant), Calm);
    is(locked(&at(0.96, 8.0), &sight, &plant), Alert);
    is(locked(&at(0.96, 34.4), &sight, &plant), Alert);
    is(locked(&at(1.0, 34.6), &sight, &plant), Accident);
    let valve = plant.element("XV-1").expect("it is there");
    plant.set(valve, 1.0);
    plant.advance(1.0);
    is(locked(&at(1.0, 34.6), &sight, &plant), Calm);
}

#[test]
fn h03_a_hose_that_warms_with_liquid_in_it_is_seen_in_the_plant() {
    let (plant, mut sight) = rig(57.0);
    let (_, a, _) = sight.step(&plant).expect("a first step");
    // 57 g in 50 mL are more than the liquid's density at 20 degC: nothing but liquid.
    assert!(a.section(0)[0] > 0.99, "{:?}", a.section(0));
    assert!(locked(&a, &sight, &plant).level() >= Alert);
}

#[test]
fn h04_foreign_gas_alerts_as_it_comes_and_spoils_the_vessel_at_two_percent() {
    let at = |share: f64| {
        foreign(&with(&[(Field::VesselM, 6.0), (Field::VesselSecond, 6.0 * share)]), &on(&[]), &Unseen::default())
    };
    is(at(0.004), Calm);
    is(at(0.006), Alert);
    is(at(0.021), Accident);
    let drawing = with(&[
        (Field::VesselM, 6.0),
        (Field::IntakeFlow, 1e-3),
        (Field::VehicleM, 0.4),
        (Field::VehicleSecond, 0.012),
    ]);
    is(foreign(&drawing, &on(&[Xv1, Xv3]), &Unseen::default()), Alert);
    is(foreign(&drawing, &on(&[Xv1]), &Unseen::default()), Calm);
    is(foreign(&drawing, &Positions { coupled: false, ..on(&[Xv1, Xv3]) }, &Unseen::default()), Calm);
}

#[test]
fn h04_gas_that_the_plant_has_no_properties_for_is_followed_into_the_vessel() {
    let vehicle = Vehicle { unseen_foreign: 0.5, content: 0.4, ..CAR };
    let mut unseen = Unseen::default();
    unseen.comes(&vehicle);
    let full = with(&[(Field::IntakeFlow, 4e-3), (Field::VehicleM, 0.4)]);
    let empty = with(&[(Field::IntakeFlow, 0.0), (Field::VehicleM, 0.03)]);
    let at = on(&[Xv1, Xv3]);
    unseen.moves(&Span { time: (0.0, 100.0), a: &full, b: &empty, at: &at }, &vehicle);
    assert!((unseen.vessel - 0.1).abs() < 1e-12 && unseen.vehicle == 0.0, "{unseen:?}");
    is(foreign(&with(&[(Field::VesselM, 4.9)]), &on(&[]), &unseen), Accident);
    is(foreign(&with(&[(Field::VesselM, 5.1)]), &on(&[]), &unseen), Alert);
}

#[test]
fn h05_air_in_the_vessel_alerts_and_air_under_the_running_compressor_is_an_accident() {
    let in_vessel =
        |ppm: f64| air(&with(&[(Field::VesselM, 6.0), (Field::VesselAir, 6e-6 * ppm)]), &on(&[]), &station());
    is(in_vessel(149.0), Calm);
    is(in_vessel(151.0), Alert);
    is(in_vessel(1e5), Alert);
    let drawn = |kg: f64, bar: f64, list: &[Actuator]| {
        let list_of = [
            (Field::VesselM, 6.0),
            (Field::SeparatorAir, kg),
            (Field::SeparatorVapour, 1.08e-3),
            (Field::DischargeP, bar * 1e5),
        ];
        air(&with(&list_of), &on(list), &station())
    };
    // 10 mmol of refrigerant: a tenth of air by volume are 1.11 mmol, 60 % are 15 mmol.
    is(drawn(0.030e-3, 6.0, &[C1]), Calm);
    is(drawn(0.034e-3, 6.0, &[C1]), Alert);
    is(drawn(0.43e-3, 6.0, &[C1]), Alert);
    is(drawn(0.44e-3, 6.0, &[C1]), Accident);
    is(drawn(0.44e-3, 0.9, &[C1]), Alert);
    is(drawn(0.44e-3, 6.0, &[]), Calm);
}

#[test]
fn h06_a_wrong_charge_is_an_accident_at_the_end_of_an_order() {
    let holds = |kg: f64| with(&[(Field::VehicleM, kg)]);
    let over = |kg: f64, told: bool, charged: bool| at_the_end(&holds(kg), &CAR, told, charged);
    is(over(0.486, true, true).expect("judged"), Calm);
    for kg in [0.4651, 0.4949] {
        is(over(kg, true, true).expect("judged"), Alert);
    }
    for kg in [0.4649, 0.4951, 0.0] {
        is(over(kg, true, true).expect("judged"), Accident);
    }
    // Told to have failed: what is missing is known, what is too much stays.
    is(over(0.4649, false, true).expect("judged"), Alert);
    is(over(0.4949, false, true).expect("judged"), Alert);
    is(over(0.4951, false, true).expect("judged"), Accident);
    // Told to be charged and never was.
    is(over(0.0, true, false).expect("judged"), Accident);
    assert!(over(0.0, false, false).is_none(), "nothing was charged and nothing told");
    assert!(at_the_end(&holds(0.0), &Vehicle { target: None, ..CAR }, true, false).is_none(), "nothing was ordered");
    is(overcharged(&holds(0.9), &CAR, true), Alert);
    is(overcharged(&holds(0.9), &CAR, false), Calm);
}

#[test]
fn h07_liquid_at_the_outlet_of_the_separator_breaks_the_running_compressor() {
    let at = |share: f64, list: &[Actuator]| slug(&with(&[(Field::SeparatorLevel, share)]), &on(list));
    is(at(0.84, &[C1]), Calm);
    is(at(0.85, &[C1]), Alert);
    is(at(0.979, &[C1]), Alert);
    is(at(0.98, &[C1]), Accident);
    is(at(1.0, &[]), Alert);
}
