//! When a charge gives up, what it has booked by then, and which remedies it has tried.

use std::cell::Cell;

use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::job::{GiveUp, Outcome, PhaseKind, Sides, WorkOrder};
use valvewright_core::talk::{Notice, Question};
use valvewright_core::units::{CentiKelvin, Milligram};

use crate::bench::{Bench, order};
use crate::charging::{Charging, alone, honest};
use crate::connection::evacuated;
use crate::give_up::{all_off, as_it_is, gives_up_after, grams, leant_on, record};

use PhaseKind::Charge;

const OPEN: Actuators = Actuators::of(&[Actuator::Xv5, Actuator::Xv10]);

fn said(bench: &Bench, what: impl Fn(&Notice) -> bool) -> usize {
    bench.notices.iter().filter(|n| what(n)).count()
}

fn outcome(bench: &Bench) -> Option<Outcome> {
    record(bench, Charge).map(|r| r.outcome)
}

/// Saturation at the bench's ambient, Pa.
fn saturation() -> f64 {
    f64::from(Refrigerant::R1234yf.p_sat(CentiKelvin::from_centi_celsius(2_100)).0)
}

fn begun(charging: &mut Charging) {
    assert!(charging.bench.until(70, |b| b.station.job().phase() == Some(Charge)), "{:?}", charging.bench.notices);
}

#[test]
fn a_charge_without_a_leak_verdict_does_not_begin() {
    let mut bench = evacuated();
    bench.start(1, order(&[Charge]));
    gives_up_after(&mut bench, Charge, GiveUp::NoLeakVerdict, 0.05, as_it_is);
    assert_eq!(bench.station.job().ledger.dispensed, Milligram(0));
    assert!(!bench.station.job().ledger.charge_begun);
}

#[test]
fn a_charge_needs_its_mass_above_the_heel() {
    for (vessel, gives) in [(1_499.99, 499_990), (1_000.0, 0), (900.0, 0)] {
        let mut charging = Charging::tight();
        charging.bench.world.grams[0] = vessel;
        charging.bench.seconds(30);
        // The vessel was changed by hand: a mass error, until somebody has looked.
        charging.bench.give(valvewright_core::talk::Command::Reset);
        charging.bench.start(3, alone(500));
        let low = GiveUp::VesselLow { gives: Milligram(gives), needs: Milligram(500_000) };
        gives_up_after(&mut charging.bench, Charge, low, 0.05, as_it_is);
    }
    let mut charging = Charging::tight();
    charging.bench.world.grams[0] = 1_500.0;
    charging.bench.seconds(30);
    charging.bench.give(valvewright_core::talk::Command::Reset);
    charging.bench.start(3, alone(500));
    assert!(charging.bench.until(70, |b| b.on().has(Actuator::Xv5)), "{:?}", charging.bench.notices);
}

/// Shaken, or its pressure too rough to be read, in the moment in which the charge begins.
#[test]
fn a_charge_on_a_vessel_that_cannot_be_read_does_not_begin() {
    let ordered = Charging::ordered(alone(500));
    let mut counted = ordered.bench.clone();
    let mut scans = 0;
    while counted.station.job().phase().is_none() {
        counted.scan(None);
        scans += 1;
    }
    let shaken = |b: &mut Bench, left: u32| b.world.grams[0] = if left < 20 { 6_500.0 } else { 6_000.0 };
    // Longer than two seconds it would be a broken gauge, and a trip.
    let rough = |b: &mut Bench, left: u32| {
        b.world.p_vessel = 750_000.0 + if left < 35 { f64::from(left % 2) * 30_000.0 } else { 0.0 }
    };
    for spoil in [&shaken as &dyn Fn(&mut Bench, u32), &rough] {
        let mut bench = ordered.bench.clone();
        for left in (0..scans + 1).rev() {
            spoil(&mut bench, left);
            bench.scan(None);
        }
        assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::ReadingBad)), "{:?}", bench.notices);
        assert_eq!(bench.on(), Actuators::SAFE);
    }
}

#[test]
fn a_charge_waits_a_minute_and_a_half_for_a_scale_at_rest() {
    let mut charging = Charging::ordered(alone(500));
    gives_up_after(&mut charging.bench, Charge, GiveUp::ScaleUnsteady, 90.1, leant_on(0, 6_000.0));

    // After the fast fill, and in the last minute: what has gone is booked.
    for last in [false, true] {
        let mut charging = Charging::ordered(alone(500));
        let shut = |c: &Charging| c.bench.on().and(OPEN).is_empty();
        assert!(charging.play(600, honest, |c| c.gone > 400.0));
        if last {
            assert!(charging.play(600, honest, |c| c.gone > 499.0 && shut(c)));
            // Settled once more, and in the last minute.
            charging.bench.seconds(6);
        } else {
            assert!(charging.play(600, honest, shut));
        }
        let from = charging.bench.now();
        let leaning = |gone: f64, scan: u32| 6_000.0 - gone + if scan % 40 < 20 { 2.0 } else { -2.0 };
        assert!(charging.play(1_000, leaning, |_| false));
        assert_eq!(charging.charge_outcome(), Some(Outcome::Failed(GiveUp::ScaleUnsteady)), "last {last}");
        let waited = f64::from(charging.bench.now() - from) / 1e3;
        let expected = if last { 147.05 } else { 90.05 };
        assert!((waited - expected).abs() < 0.02, "last {last}: {waited} s");
        charging.bench.world.grams[0] = honest(charging.gone, 0);
        all_off(&mut charging.bench);
        let booked = grams(charging.bench.station.job().ledger.dispensed);
        assert!((booked - charging.gone).abs() < 2.5, "last {last}: {booked} g booked, {} g gone", charging.gone);
    }
}

/// The vehicle's pressure meets the vessel's: nothing flows, whatever is tried. The wall warms as long as both contactors are on.
pub struct Stalled {
    pub charging: Charging,
    heated: u32,
    asked: Option<u32>,
}

impl Stalled {
    fn at(gone: f64) -> Self {
        Self::ordered(alone(500), gone)
    }

    /// The same in this order.
    pub fn ordered(order: WorkOrder, gone: f64) -> Self {
        let mut charging = Charging::ordered(order);
        assert!(charging.play(1_200, honest, |c| c.gone > gone));
        (charging.bench.world.p_low, charging.bench.world.p_high, charging.flow) = (750_000.0, 750_000.0, 0.0);
        Self { charging, heated: 0, asked: None }
    }

    /// Runs on until the question about the vehicle's own compressor stands.
    pub fn until_asked(&mut self) {
        assert!(self.play(3_600, |c| c.bench.station.job().question() == Some(Question::RunVehicleCompressor)));
    }

    pub fn play(&mut self, seconds: u32, done: impl Fn(&Charging) -> bool) -> bool {
        (0..seconds * 20).any(|_| {
            let bench = &mut self.charging.bench;
            let heater = bench.on().and(Actuators::HEATER);
            self.heated += u32::from(!heater.is_empty());
            if heater == Actuators::HEATER {
                bench.world.wall = bench.world.wall.map(|t| t + 0.3 / 2_400.0);
            }
            if self.asked.is_none() && bench.station.job().question().is_some() {
                self.asked = Some(bench.now());
            }
            self.charging.play(1, honest, |_| true);
            done(&self.charging) || !self.charging.bench.station.job().busy()
        })
    }
}

/// Three warmings of a quarter of an hour, then the vehicle's own compressor on the low side alone, then no more.
#[test]
fn a_stalled_charge_tries_each_remedy_and_ends() {
    let mut stalled = Stalled::at(250.0);
    stalled.until_asked();
    assert_eq!(stalled.heated, 3 * 18_000, "scans of heat");
    let told = |b: &Bench| (said(b, |n| *n == Notice::WarmingVessel), said(b, |n| matches!(n, Notice::ChargeStall(_))));
    assert_eq!(told(&stalled.charging.bench), (3, 4));
    let missing = stalled.charging.bench.notices.iter().find_map(|n| match n {
        Notice::ChargeStall(missing) => Some(grams(*missing)),
        _ => None,
    });
    // With what the hoses keep.
    let truly = 501.4 - stalled.charging.gone;
    assert!(missing.is_some_and(|g| (g - truly).abs() < 0.3), "{missing:?}, {truly} g");

    // No, or nobody there for ten minutes.
    let mut alone = stalled.charging.bench.clone();
    alone.answer(false);
    assert_eq!(outcome(&alone), Some(Outcome::Failed(GiveUp::ChargeStalled)), "{:?}", alone.notices);
    all_off(&mut alone);
    let mut alone = stalled.charging.bench.clone();
    let from = alone.now();
    assert!(alone.until(700, |b| outcome(b).is_some()));
    assert_eq!(outcome(&alone), Some(Outcome::Failed(GiveUp::ChargeStalled)));
    assert_eq!(alone.now() - from, 600_050 - 50, "{} ms", alone.now() - from);

    // Yes: the low side alone; a stall there is the last. The order may ask for the high side.
    stalled.charging.bench.answer(true);
    assert!(stalled.charging.bench.station.job().ledger.vehicle_runs);
    assert!(stalled.play(5, |c| c.bench.on().has(Actuator::Xv5)));
    assert!(stalled.charging.bench.on().has(Actuator::Xv1) && !stalled.charging.bench.on().has(Actuator::Xv2));
    let from = stalled.charging.bench.now();
    assert!(stalled.play(60, |_| false));
    assert_eq!(stalled.charging.charge_outcome(), Some(Outcome::Failed(GiveUp::ChargeStalled)));
    let waited = f64::from(stalled.charging.bench.now() - from) / 1e3;
    assert!((waited - 12.05).abs() < 0.02, "{waited} s without flow");
    assert_eq!(told(&stalled.charging.bench), (3, 5));
    all_off(&mut stalled.charging.bench);
    let booked = grams(stalled.charging.bench.station.job().ledger.dispensed);
    assert!((booked - stalled.charging.gone).abs() < 0.1, "{booked} g booked, {} g gone", stalled.charging.gone);
}

#[test]
fn a_charge_that_flows_again_through_the_low_side_is_done() {
    let mut stalled = Stalled::at(250.0);
    stalled.until_asked();
    stalled.charging.bench.seconds(3);
    stalled.charging.bench.answer(true);
    (stalled.charging.bench.world.p_low, stalled.charging.flow) = (500_000.0, 7.0);
    let high = Cell::new(false);
    assert!(stalled.play(3_600, |c| {
        high.set(high.get() | c.bench.on().has(Actuator::Xv2));
        false
    }));
    assert_eq!(stalled.charging.charge_outcome(), Some(Outcome::Done), "{:?}", stalled.charging.bench.notices);
    assert!(!high.get(), "XV-2 stays shut to the end");
}

/// 0.4 g/s for twelve seconds is a stall; a little more is slow, and so is a stop that is shorter.
#[test]
fn a_slow_charge_is_no_stall() {
    for (flow, stalls) in [(0.35, true), (0.45, false)] {
        let mut charging = Charging::ordered(alone(500));
        assert!(charging.play(1_200, honest, |c| c.gone > 250.0));
        (charging.bench.world.p_low, charging.bench.world.p_high, charging.flow) = (750_000.0, 750_000.0, flow);
        let stalled =
            charging.play(60, honest, |c| c.bench.notices.iter().any(|n| matches!(n, Notice::ChargeStall(_))));
        assert_eq!(stalled, stalls, "{flow} g/s: {:?}", charging.bench.notices);
    }
    let mut charging = Charging::ordered(alone(500));
    assert!(charging.play(1_200, honest, |c| c.gone > 250.0));
    (charging.bench.world.p_low, charging.bench.world.p_high) = (750_000.0, 750_000.0);
    for (flow, seconds) in [(0.0, 11), (2.0, 4), (0.0, 11), (2.0, 4)] {
        charging.flow = flow;
        assert!(!charging.play(seconds, honest, |c| said(&c.bench, |n| matches!(n, Notice::ChargeStall(_))) > 0));
    }
}

/// The vessel must stand 150 mbar over saturation at ambient before a charge, and is warmed to 700; each warming for a stall asks
/// for 700 mbar more over the hoses than the last.
#[test]
fn a_vessel_is_warmed_to_a_head_that_grows() {
    for (over, warms) in [(14_800.0, true), (15_200.0, false)] {
        let mut charging = Charging::tight();
        charging.bench.world.p_vessel = saturation() + over;
        charging.bench.start(3, alone(500));
        begun(&mut charging);
        charging.bench.seconds(2);
        assert_eq!(charging.bench.on().has(Actuator::H1), warms, "{over} Pa");
        if warms {
            charging.bench.world.p_vessel = saturation() + 69_700.0;
            charging.bench.seconds(5);
            assert!(charging.bench.on().has(Actuator::H1));
            charging.bench.world.p_vessel = saturation() + 70_300.0;
            assert!(charging.bench.until(5, |b| !b.on().has(Actuator::H1)));
            assert!(charging.bench.until(10, |b| b.on().has(Actuator::Xv5)), "{:?}", charging.bench.notices);
        }
    }
    let mut stalled = Stalled::at(250.0);
    for head in [70_000.0, 140_000.0, 210_000.0] {
        assert!(stalled.play(60, |c| c.bench.on().has(Actuator::H1)), "{head} {:?}", stalled.charging.bench.notices);
        stalled.charging.bench.world.p_vessel = 750_000.0 + head - 400.0;
        assert!(!stalled.play(20, |c| !c.bench.on().has(Actuator::H1)), "{head} Pa are not reached");
        stalled.charging.bench.world.p_vessel = 750_000.0 + head + 400.0;
        assert!(stalled.play(5, |c| !c.bench.on().has(Actuator::H1)), "{head} Pa are reached");
        // The head is spent while some of the charge flows.
        (stalled.charging.bench.world.p_vessel, stalled.charging.flow) = (750_000.0, 7.0);
        assert!(!stalled.play(6, |_| false));
        stalled.charging.flow = 0.0;
    }
}

/// With the charge valves shut the scale must stand within 5 g for the last minute.
#[test]
fn a_scale_that_moves_in_the_last_minute_is_no_witness() {
    for (moved, well) in [(4.7, true), (-4.7, true), (5.3, false), (-5.3, false)] {
        let mut charging = Charging::ordered(alone(500));
        assert!(charging.play(600, honest, |c| c.gone > 499.0 && c.bench.on().and(OPEN).is_empty()));
        charging.bench.seconds(10);
        let drift = |gone: f64, _| 6_000.0 - gone + moved;
        assert!(charging.play(900, drift, |_| false));
        let outcome = charging.charge_outcome();
        let expected = if well { Outcome::Done } else { Outcome::Failed(GiveUp::ScaleDisagrees) };
        assert_eq!(outcome, Some(expected), "{moved} g: {:?}", charging.bench.notices);
    }
}

/// Two pulses of three bring nothing, the third half a gram: no stall, and no end but the fortieth pulse. Then the rest of the
/// hoses is waited for six times.
#[test]
fn a_charge_ends_after_forty_pulses_and_six_waits() {
    let mut charging = Charging::ordered(alone(500));
    let shut = |c: &Charging| c.bench.on().and(OPEN).is_empty();
    assert!(charging.play(600, honest, |c| c.gone > 400.0));
    assert!(charging.play(600, honest, shut));
    (charging.bench.world.p_low, charging.bench.world.p_high, charging.flow) = (750_000.0, 750_000.0, 0.0);
    let (mut pulses, mut was, mut last) = (0, false, 0);
    while charging.bench.station.job().busy() {
        let open = !shut(&charging);
        if open && !was {
            pulses += 1;
        }
        if was && !open {
            last = charging.bench.now();
            if pulses % 3 == 0 {
                charging.gone += 0.55;
            }
        }
        was = open;
        charging.play(1, honest, |_| true);
    }
    assert_eq!(pulses, 40);
    let waited = f64::from(charging.bench.now() - last) / 1e3;
    // Each wait is a minute, and a settling before it that finds the scale at rest.
    assert!((360.0..390.0).contains(&waited), "{waited} s");
    let Some(Outcome::Failed(GiveUp::Undercharged(by))) = charging.charge_outcome() else {
        panic!("{:?}", charging.bench.notices)
    };
    assert!((grams(by) - (501.4 - charging.gone)).abs() < 0.1, "{by:?}, {} g gone", charging.gone);
    assert!((15.0..17.0).contains(&grams(by)), "{by:?}");
}

/// Lengths of the openings of XV-5, s, and what was missing when each began, g, of a charge that passes 7 g/s.
fn pulses(grams: i32) -> (Vec<(f64, f64)>, u32, Charging) {
    let mut charging = Charging::ordered(alone(grams));
    let (mut openings, mut from, mut shut) = (Vec::new(), None, 0);
    while charging.bench.station.job().busy() {
        let open = charging.bench.on().and(OPEN) == OPEN;
        match from {
            None if open => from = Some((charging.bench.now(), f64::from(grams) + 1.4 - charging.gone)),
            Some((at, missing)) if !open => {
                openings.push((f64::from(charging.bench.now() - at) / 1e3, missing));
                (from, shut) = (None, charging.bench.now());
            }
            _ => {}
        }
        charging.play(1, honest, |_| true);
    }
    (openings, charging.bench.now() - shut, charging)
}

/// The fast fill ends 22 g before the target, and a little more for valve and scale, which lag; then each pulse goes for nine tenths of what is missing.
#[test]
fn a_charge_comes_to_its_target_in_pulses() {
    for target in [150, 500] {
        let (openings, rest, charging) = pulses(target);
        // Three seconds to settle, and the last minute.
        assert_eq!(rest, 63_000);
        assert_eq!(charging.charge_outcome(), Some(Outcome::Done), "{:?}", charging.bench.notices);
        let [(fill, all), tail @ ..] = &openings[..] else { panic!("no opening") };
        assert!((fill * 7.0 - (all - 23.4)).abs() < 0.6, "{fill} s of {all} g");
        assert!((2..=3).contains(&tail.len()), "{openings:?}");
        for (seconds, missing) in tail {
            let planned = (missing * 0.9 / 7.0).clamp(0.1, 4.0);
            assert!((seconds - planned).abs() < 0.1, "{seconds} s for {missing} g: {openings:?}");
        }
        let ledger = charging.bench.station.job().ledger;
        let missing = f64::from(target) + 1.4 - charging.gone;
        assert!((0.0..2.5).contains(&missing), "{missing} g");
        // 119 mL of gas at 0.4 of saturation at 21 degC: 12 g/L.
        let kept = grams(ledger.in_hoses);
        assert!((1.2..1.6).contains(&kept), "{kept} g");
        let told = charging.bench.notices.iter().find_map(|n| match n {
            Notice::Charged(m) => Some(grams(*m)),
            _ => None,
        });
        assert!(told.is_some_and(|g| (g - (charging.gone - kept)).abs() < 0.05), "{told:?}");
        // 119 mL of liquid at 21 degC: 1.10 kg/L.
        assert!((grams(ledger.hoses_most) - 131.0).abs() < 2.0, "{} g", grams(ledger.hoses_most));
    }
}

/// A knock shuts the valves; far from the target what follows it is no pulse.
#[test]
fn a_fill_that_was_disturbed_goes_on_as_a_fill() {
    let mut charging = Charging::ordered(alone(500));
    assert!(charging.play(600, honest, |c| c.gone > 200.0));
    assert!(charging.play(3, |gone, _| 6_500.0 - gone, |c| !c.bench.on().has(Actuator::Xv5)));
    assert!(charging.play(60, honest, |c| c.bench.on().has(Actuator::Xv5)), "{:?}", charging.bench.notices);
    let from = charging.gone;
    assert!(charging.play(60, honest, |c| !c.bench.on().has(Actuator::Xv5)));
    assert!(charging.gone - from > 200.0, "{} g in one opening", charging.gone - from);
}

/// What is shown of a charge: its share, and the time left at 2 g/s at least and the last minute.
#[test]
fn a_charge_shows_how_far_it_has_come() {
    let mut charging = Charging::ordered(alone(500));
    for part in [100.0, 250.0, 400.0] {
        assert!(charging.play(600, honest, |c| c.gone > part));
        let shown = charging.bench.station.job().progress();
        // The scale lags by a quarter of a second: 2 g.
        let done = f64::from(shown.done.0) / 1e3 * 500.0;
        assert!((done - (part - 2.0)).abs() < 1.5, "{done} g of {part} g");
        let left = f64::from(shown.remaining.0) / 1e3;
        assert!((left - ((501.4 - part + 2.0) / 2.0 + 60.0)).abs() < 1.5, "{left} s at {part} g");
    }
    assert!(charging.play(600, honest, |_| false));
    assert!((995..=1_000).contains(&charging.bench.station.job().progress().done.0));
}

#[test]
fn a_charge_goes_through_the_sides_that_were_ordered() {
    for (sides, low, high) in [(Sides::Both, true, true), (Sides::High, false, true), (Sides::Low, true, false)] {
        let mut charging = Charging::ordered(WorkOrder { sides, ..alone(150) });
        let opened = Cell::new(Actuators::NONE);
        assert!(charging.play(600, honest, |c| {
            opened.set(opened.get().or(c.bench.on()));
            false
        }));
        assert_eq!(charging.charge_outcome(), Some(Outcome::Done), "{sides:?}");
        assert_eq!((opened.get().has(Actuator::Xv1), opened.get().has(Actuator::Xv2)), (low, high), "{sides:?}");
    }
}
