//! H08 to H14: pump, heat, leaks, oil, what is taken in and let out, ways that are open against their order.

use valvewright_core::frame::Actuator::{self, *};
use valvewright_core::frame::{ACTUATOR_COUNT, Actuators};

use super::super::by_charge::{WrongOil, leaking};
use super::super::by_line::Against;
use super::super::by_machine::{Heat, pump};
use super::super::by_vent::{Fouled, Vents};
use super::super::facts::Vehicle;
use super::super::sight::{Field, Values};
use super::super::span::Positions;
use super::{CAR, is, on, over, rig, station, with};
use crate::report::data::HazardLevel::{Accident, Alert, None as Calm};

#[test]
fn h08_pressure_before_the_open_pump_valve_or_gas_out_of_the_pump() {
    let at = |over: f64, exhaust: f64, list: &[Actuator]| {
        pump(&with(&[(Field::ManifoldP, 101_325.0 + over), (Field::PumpExhaust, exhaust)]), &on(list), &station())
    };
    is(at(4_900.0, 0.0, &[Xv6, P1]), Calm);
    is(at(5_100.0, 0.0, &[Xv6, P1]), Alert);
    is(at(9_900.0, 0.0, &[Xv6, P1]), Alert);
    is(at(10_100.0, 0.0, &[Xv6]), Accident);
    is(at(5e5, 0.0, &[P1]), Calm);
    is(at(-1e5, 0.49e-3, &[Xv6, P1]), Calm);
    is(at(-1e5, 0.51e-3, &[Xv6, P1]), Alert);
    is(at(-1e5, 4.9e-3, &[Xv6, P1]), Accident);
}

#[test]
fn h09_heat_and_a_dead_end() {
    let at = |list: &[(Field, f64)], what: &[Actuator], seconds: f64| {
        let values = with(list);
        over(&values, &values, &on(what), seconds, &mut |span| Heat::default().judge(span, true))
    };
    let celsius = |t: f64| t + 273.15;
    is(at(&[(Field::HeaterSkin, celsius(99.0))], &[], 1.0), Calm);
    is(at(&[(Field::HeaterSkin, celsius(101.0))], &[], 1.0), Alert);
    is(at(&[(Field::HeaterSkin, celsius(178.0))], &[], 1.0), Accident);
    is(at(&[(Field::DischargeT, celsius(129.0))], &[C1, Xv4], 1.0), Calm);
    is(at(&[(Field::DischargeT, celsius(131.0))], &[C1, Xv4], 1.0), Alert);
    is(at(&[(Field::DischargeT, celsius(178.0))], &[C1, Xv4], 1.0), Accident);
    is(at(&[(Field::DischargeT, celsius(178.0))], &[Xv4], 1.0), Calm);
    is(at(&[(Field::DischargeP, 25.9e5)], &[], 1.0), Calm);
    is(at(&[(Field::DischargeP, 26.1e5)], &[], 1.0), Alert);
    is(at(&[(Field::DischargeP, 30.1e5)], &[], 1.0), Accident);
    is(at(&[], &[C1], 0.9), Calm);
    is(at(&[], &[C1], 1.1), Alert);
    let none = with(&[(Field::HeaterSkin, celsius(500.0))]);
    is(over(&none, &none, &on(&[]), 1.0, &mut |span| Heat::default().judge(span, false)), Calm);
}

#[test]
fn h10_a_hole_that_a_hold_would_show() {
    let at = |um: f64, list: &[Actuator]| leaking(&Values::BLANK, &on(list), &Vehicle { hole: um * 1e-6, ..CAR });
    let charge = [Xv1, Xv5, Xv10];
    is(at(2.6, &charge), Calm);
    is(at(2.7, &charge), Alert);
    is(at(19.9, &charge), Alert);
    is(at(20.1, &charge), Accident);
    is(at(500.0, &[Xv1, Xv5]), Calm);
    // A hole that came later shows by what flows out.
    is(leaking(&with(&[(Field::LeakFlow, 1e-6)]), &on(&charge), &CAR), Accident);
}

#[test]
fn h11_the_first_gram_of_other_oil_into_a_high_voltage_vehicle() {
    let at = |gram: f64, high_voltage: bool, other_oil: bool, list: &[Actuator]| {
        let vehicle = Vehicle { high_voltage, other_oil, ..CAR };
        let (a, b) = (with(&[(Field::NewOil, 0.2)]), with(&[(Field::NewOil, 0.2 - gram * 1e-3)]));
        over(&a, &b, &on(list), 10.0, &mut |span| WrongOil::default().judge(span, &vehicle))
    };
    let inject = [Xv9, Xv2];
    is(at(0.09, true, true, &inject), Calm);
    is(at(0.11, true, true, &inject), Alert);
    is(at(1.1, true, true, &inject), Accident);
    is(at(50.0, false, true, &inject), Alert);
    is(at(50.0, true, false, &inject), Calm);
    is(at(50.0, true, true, &[Xv9]), Calm);
}

#[test]
fn h12_refrigerant_taken_in_past_a_fouled_identifier() {
    let at = |gram: f64, oil_film: bool, list: &[Actuator]| {
        let flow = with(&[(Field::IntakeFlow, gram * 1e-4)]);
        over(&flow, &flow, &Positions { oil_film, ..on(list) }, 10.0, &mut |span| Fouled::default().judge(span))
    };
    is(at(0.9, true, &[Xv1, Xv3]), Calm);
    is(at(1.1, true, &[Xv1, Xv3]), Alert);
    is(at(51.0, true, &[Xv1, Xv3]), Accident);
    is(at(51.0, false, &[Xv1, Xv3]), Calm);
    is(at(51.0, true, &[Xv1]), Calm);
}

#[test]
fn h13_one_event_of_venting_counts_its_openings_together_and_the_next_one_apart() {
    let (open, shut) = (with(&[(Field::PurgeFlow, 2e-3)]), Values::BLANK);
    let mut vents = Vents::default();
    let mut go = |values: &Values, seconds: f64| over(values, values, &on(&[]), seconds, &mut |span| vents.judge(span));
    is(go(&open, 2.4), Calm);
    is(go(&shut, 59.0), Calm);
    is(go(&open, 0.2), Alert);
    is(go(&shut, 30.0), Alert);
    is(go(&open, 8.3), Accident);
    is(go(&shut, 61.0), Calm);
    is(go(&open, 2.4), Calm);
    let drain = with(&[(Field::DrainFlow, 1e-3)]);
    is(over(&drain, &drain, &on(&[]), 22.0, &mut |span| Vents::default().judge(span)), Accident);
}

#[test]
fn h14_what_passes_a_way_that_was_told_to_be_shut() {
    let (mut plant, sight) = rig(45.0);
    let valve = plant.element("XV-1").expect("it is there");
    plant.set(valve, 1.0);
    plant.advance(0.5);
    let flow = plant.read(plant.signal("XV-1.flow").expect("a flow"));
    assert!(flow > 1e-4, "{flow} kg/s");
    let stuck = Positions { acting: Actuators::of(&[Xv1]), ..Positions::default() };
    let at = |gram: f64, at: &Positions, leaks: Option<&[f64; ACTUATOR_COUNT]>| {
        let seconds = gram * 1e-3 / flow;
        over(&Values::BLANK, &Values::BLANK, at, seconds, &mut |span| {
            Against::default().judge(span, &sight, &plant, leaks)
        })
    };
    is(at(0.9, &stuck, None), Calm);
    is(at(1.1, &stuck, None), Alert);
    is(at(15.1, &stuck, None), Accident);
    is(at(15.1, &Positions { told: stuck.acting, ..stuck }, None), Calm);
    let mut leaks = [0.0; ACTUATOR_COUNT];
    leaks[Xv1 as usize] = 0.1;
    is(at(15.1, &Positions::default(), Some(&leaks)), Accident);
    leaks[Xv1 as usize] = 0.0;
    leaks[Xv5 as usize] = 0.1;
    // One of three in series leaks: no way is open.
    is(at(15.1, &Positions::default(), Some(&leaks)), Calm);
}
