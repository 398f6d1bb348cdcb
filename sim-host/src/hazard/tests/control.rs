//! H15 to H25: readings, water, what is kept, stalls, air, relief, restarts, couplers; and how findings become levels.

use valvewright_core::frame::Actuator::{self, *};
use valvewright_core::frame::{Actuators, Analog, RawFrame, Scale};

use super::super::by_cabinet::Airless;
use super::super::by_control::{Kept, Machine, Restart, stalled};
use super::super::by_line::uncoupled;
use super::super::by_reading::{Blind, Look, Weighing};
use super::super::by_vessel::{FULL_OF_LIQUID, liquid, relief, water};
use super::super::catalogue::{CATALOGUE, Id};
use super::super::facts::Station;
use super::super::sight::{Field, Values};
use super::super::span::Positions;
use super::super::track::{Finding, Track};
use super::{is, on, over, station, with};
use crate::fluid::FluidKind;
use crate::instrument::Truth;
use crate::report::data::HazardLevel::{self, Accident, Alert};

fn look<'a>(truth: &'a Truth, frame: &'a RawFrame, at: &'a Positions) -> Look<'a> {
    Look { truth, frame, fan_rpm: 2800.0, at, since: 1.0 }
}

#[test]
fn h15_a_scale_that_is_wrong_alerts_and_one_that_goes_wrong_in_a_charge_is_an_accident() {
    let truth = Truth { m_vessel_kg: 6.0, ..Truth::default() };
    let frame = |gram: f64| {
        let mut frame = RawFrame::default();
        frame.scales[Scale::Wt1A as usize].code = 100_000 + (200.0 * (6_000.0 + gram)) as i32;
        frame.scales[Scale::Wt1B as usize].code = 100_000 + 200 * 6_000;
        frame
    };
    let after = |grams: &[f64], list: &[Actuator]| {
        let (at, station, mut weighing) = (on(list), station(), Weighing::default());
        let each = grams.iter().map(|gram| weighing.judge(&look(&truth, &frame(*gram), &at), &station));
        each.last().expect("a look")
    };
    let charge = [Xv1, Xv5, Xv10];
    // 10 g and 0.2 % of 6 kg are 22 g.
    is(after(&[21.5; 5], &charge), HazardLevel::None);
    is(after(&[22.5; 2], &charge), HazardLevel::None);
    is(after(&[22.5; 3], &charge), Alert);
    is(after(&[-500.0; 9], &charge), Alert);
    is(after(&[-500.0; 9], &[Xv1]), HazardLevel::None);
    is(after(&[0.0, 14.5, 14.5, 14.5], &charge), HazardLevel::None);
    is(after(&[0.0, 15.5, 15.5], &charge), Alert.min(HazardLevel::None));
    is(after(&[0.0, 15.5, 15.5, 15.5], &charge), Accident);
    is(after(&[0.0, -300.0, 0.0, -300.0, 0.0], &charge), HazardLevel::None);
}

#[test]
fn h16_water_in_the_vessel() {
    let at = |ppm: f64| water(&with(&[(Field::VesselM, 6.0), (Field::VesselWater, 6e-6 * ppm)]));
    is(at(49.0), HazardLevel::None);
    is(at(51.0), Alert);
    is(at(999.0), Alert);
    is(at(1001.0), Accident);
    is(water(&with(&[(Field::VesselWater, 1e-6)])), HazardLevel::None);
}

#[test]
fn h17_to_h19_what_is_kept_over_a_power_cut() {
    let levels = |kept: Kept| kept.judge().map(|one| one.map(|(_, found)| found.level()));
    assert_eq!(levels(Kept::default()), [None; 3]);
    let codes = |count: u32| levels(Kept { codes_again: Some(count), ..Kept::default() })[0];
    assert_eq!([0, 1].map(codes), [Some(HazardLevel::None), Some(Accident)]);
    let fell = |share: f64| levels(Kept { counter_fell: Some(share), ..Kept::default() })[1];
    assert_eq!(
        [0.0, 1e-7, 2e-6, 0.009, 0.011].map(fell),
        [HazardLevel::None, HazardLevel::None, Alert, Alert, Accident].map(Some)
    );
    let clock = |error: f64| levels(Kept { clock_error: Some(error), ..Kept::default() })[2];
    assert_eq!([0.0049, 0.0051, -0.0051, 0.0101].map(clock), [HazardLevel::None, Alert, Alert, Accident].map(Some));
}

#[test]
fn h20_outputs_that_nobody_renews() {
    let at = |unrenewed: f64, list: &[Actuator]| stalled(unrenewed, on(list).acting);
    is(at(0.49, &[C1]), HazardLevel::None);
    is(at(0.51, &[C1]), Alert);
    is(at(1.01, &[Xv5]), Accident);
    is(at(60.0, &[]), HazardLevel::None);
}

#[test]
fn h21_a_loop_that_looks_well_and_is_wrong() {
    let sound = |truth: &Truth| {
        let mut frame = RawFrame::default();
        let values = [
            truth.p_vessel,
            truth.p_low,
            truth.p_high,
            truth.p_vacuum,
            truth.p_separator,
            truth.t_vessel_wall,
            truth.t_discharge,
            truth.t_heater,
            truth.t_ambient,
            truth.lfl_share,
            truth.c1_current_a,
            2800.0,
            truth.supply_v,
            truth.rail_v,
        ];
        for ((counts, value), of) in frame.analog.iter_mut().zip(values).zip(station().loops) {
            let ma = (4.0 + 16.0 * (value - of[0]) / (of[1] - of[0])).min(20.5);
            *counts = (ma * 65_535.0 / 24.0).round() as u16;
        }
        frame
    };
    let truth = Truth::default();
    let after = |ma: f64, looks: usize, list: &[Actuator], stands: bool| {
        let mut frame = sound(&truth);
        let shown = &mut frame.analog[Analog::Pt1 as usize];
        *shown = (f64::from(*shown) + ma * 65_535.0 / 24.0) as u16;
        let (at, mut blind) = (on(list), Blind::default());
        let each =
            (0..looks).map(|_| blind.judge(&look(&truth, &frame, &at), &station(), |id| stands && id == Id::H23));
        each.last().expect("a look")
    };
    is(after(0.0, 60, &[C1], true), HazardLevel::None);
    // Five times the class are 0.107 bar at 5.9 bar, 0.049 mA.
    is(after(0.04, 60, &[C1], true), HazardLevel::None);
    is(after(0.06, 9, &[C1], true), HazardLevel::None);
    is(after(0.06, 10, &[C1], false), Alert);
    is(after(0.06, 10, &[C1], true), Accident);
    is(after(0.06, 60, &[], true), HazardLevel::None);
    // Off its band it is seen to be broken.
    is(after(16.0, 60, &[C1], true), HazardLevel::None);
}

#[test]
fn h22_something_on_without_air() {
    let after = |seconds: f64, at: Positions, flow: f64| {
        let values = with(&[(Field::FanFlow, flow)]);
        over(&values, &values, &at, seconds, &mut |span| Airless::default().judge(span, &station()))
    };
    let full = 60.0 / 3600.0;
    let still = Positions { fan_turns: false, ..on(&[Xv1]) };
    is(after(100.0, on(&[Xv1]), full), HazardLevel::None);
    is(after(4.9, still, full), HazardLevel::None);
    is(after(5.1, still, full), Alert);
    is(after(21.1, still, full), Accident);
    is(after(21.1, Positions { door_shut: false, ..on(&[C1]) }, full), Accident);
    is(after(21.1, on(&[C1]), 0.4 * full), Accident);
    is(after(100.0, Positions { fan_turns: false, ..on(&[]) }, 0.0), HazardLevel::None);
}

#[test]
fn h23_the_relief_valve() {
    let at = |bar: f64, flow: f64| relief(&with(&[(Field::VesselP, bar * 1e5), (Field::ReliefFlow, flow)]), &station());
    is(at(17.9, 0.0), HazardLevel::None);
    is(at(18.1, 0.0), Alert);
    is(at(20.0, 0.0), Accident);
    is(at(15.0, 1e-3), Accident);
    is(relief(&with(&[(Field::VesselP, 60e5)]), &Station { relief: None, ..station() }), HazardLevel::None);
}

#[test]
fn h24_motion_after_a_restart() {
    let mut restart = Restart::default();
    let mut go = |machine: Machine, list: &[Actuator], before: &[Actuator]| {
        restart.judge(&machine, 0.0, Actuators::of(list), Actuators::of(before))
    };
    let (quiet, back) = (Machine::default(), Machine { restarts: true, ..Machine::default() });
    let quiet = Machine { volts: (24.0, 24.0), renewed: true, ..quiet };
    let pressed = Machine { command: true, ..quiet };
    is(go(quiet, &[K1, C1], &[K1]), HazardLevel::None);
    is(go(back, &[K1], &[K1, C1]), HazardLevel::None);
    is(go(quiet, &[K1], &[K1]), HazardLevel::None);
    is(go(pressed, &[K1, Xv1], &[K1]), HazardLevel::None);
    is(go(quiet, &[K1, Xv1, C1], &[K1, Xv1]), HazardLevel::None);
    is(go(back, &[K1, Xv1], &[K1]), Accident);
    let dip = |volts: (f64, f64), unrenewed: f64, list: &[Actuator]| {
        let on = Actuators::of(list);
        Restart::default().judge(&Machine { volts, ..quiet }, unrenewed, on, on)
    };
    is(dip((11.0, 9.0), 0.06, &[Xv5]), Accident);
    is(dip((11.0, 9.0), 0.04, &[Xv5]), HazardLevel::None);
    is(dip((11.0, 7.0), 0.06, &[Xv5]), HazardLevel::None);
    is(dip((11.0, 9.0), 0.06, &[K1]), HazardLevel::None);
}

#[test]
fn h25_a_coupler_that_comes_off_with_liquid_behind_it() {
    let at = |bar: f64, gram: f64, now: bool| {
        let mut values = Values::BLANK;
        values.set_section(1, [0.1, bar * 1e5, 290.0, gram * 1e-3]);
        uncoupled(&values, &on(&[]), &Positions { coupled: now, ..on(&[]) })
    };
    is(at(1.25, 0.3, false).expect("it came off"), HazardLevel::None);
    is(at(1.35, 0.3, false).expect("it came off"), Alert);
    is(at(6.0, 4.9, false).expect("it came off"), Alert);
    is(at(6.0, 5.1, false).expect("it came off"), Accident);
    assert!(at(6.0, 50.0, true).is_none(), "it stays on");
}

#[test]
fn a_figure_that_is_no_number_is_told_and_makes_nothing_better() {
    let what = &FULL_OF_LIQUID;
    let mut track = Track::new(what);
    let none = liquid(&with(&[(Field::VesselLevel, f64::NAN)]), &station());
    assert!(!track.note((10.0, 11.0), none, none, true));
    assert_eq!((track.unseen, track.level()), (Some(10.0), HazardLevel::None));
    let bad = Finding { margin: -0.2, figure: 1.0, what };
    assert!(track.note((11.0, 12.0), bad, bad, true));
    assert_eq!((track.unseen, track.level()), (Some(10.0), Accident));
    let worse = Finding::calm(what).or(none);
    assert!(worse.figure.is_nan() || worse.margin.is_nan(), "{worse:?}");
}

#[test]
fn levels_are_dated_where_a_straight_line_crosses_them() {
    let what = &FULL_OF_LIQUID;
    let at = |margin: f64| Finding { margin, figure: 0.0, what };
    let mut track = Track::new(what);
    track.note((0.0, 10.0), at(1.0), at(0.6), true);
    track.note((10.0, 20.0), at(0.6), at(-0.4), true);
    assert_eq!((track.alert, track.accident), (Some(11.0), Some(16.0)));
    track.note((20.0, 30.0), at(-0.4), at(1.0), true);
    assert_eq!((track.alert, track.accident, track.worst.0), (Some(11.0), Some(16.0), 20.0));
    assert_eq!(track.history.len(), 2, "the last span still holds its worst end");
}

#[test]
fn the_catalogue_has_each_hazard_at_its_number_and_every_text() {
    for (at, (entry, id)) in CATALOGUE.iter().zip(Id::EVERY).enumerate() {
        assert_eq!((entry.id, entry.id.word()), (id, format!("H{:02}", at + 1).as_str()));
        let texts = [entry.title, entry.harm, entry.truth, entry.alert, entry.accident, entry.time, entry.source];
        assert!(texts.iter().all(|text| !text.is_empty() && !text.contains('|')), "{entry:?}");
    }
    assert_eq!(FluidKind::ALL.len(), 2, "a further refrigerant needs a word on whether it burns");
}
