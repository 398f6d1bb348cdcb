//! Recovery, evacuation and the leak check on the bare controller.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::Actuator;
use valvewright_core::job::{GasVerdict, GiveUp, LeakVerdict, Outcome, PhaseKind};
use valvewright_core::sense::GasReport;
use valvewright_core::talk::Question;
use valvewright_core::units::{AbsPa, Millis, Permille};

use crate::bench::{Bench, order, report};

fn outcome(bench: &Bench) -> Option<Outcome> {
    bench.station.job().records().last().map(|r| r.outcome)
}

/// Until the order has ended, at most so many seconds.
fn ends_within(bench: &mut Bench, seconds: u32) -> bool {
    bench.until(seconds, |b| !b.station.job().busy())
}

/// XV-3 is shut: what hangs on the hoses is nothing to the separator.
#[test]
fn oil_is_drained_whatever_the_hoses_read() {
    for hoses in [(-1e6, 36_000.0), (600_000.0, 600_000.0)] {
        let mut bench = Bench::new();
        (bench.world.p_low, bench.world.p_high) = hoses;
        bench.seconds(5);
        bench.start(1, order(&[PhaseKind::DrainOil]));
        assert!(ends_within(&mut bench, 300));
        assert_eq!(outcome(&bench), Some(Outcome::Done), "{hoses:?}");
    }
}

/// Evacuates alone with the hose gauges at `hoses` and PT-4 at `vacuum` from the moment the pump draws.
fn evacuates(hoses: f64, vacuum: f64) -> Bench {
    let mut bench = Bench::new();
    (bench.world.p_low, bench.world.p_high) = (80_000.0, 80_000.0);
    bench.seconds(5);
    bench.start(1, order(&[PhaseKind::Evacuate]));
    assert!(bench.until(200, |b| b.on().has(Actuator::Xv6)), "{:?}", bench.notices);
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (hoses, hoses, vacuum);
    bench
}

/// The order asks for 60 s; its longest time is twice that and ten minutes.
#[test]
fn an_evacuation_ends_whatever_the_gauges_show() {
    for (hoses, vacuum, why) in [
        (2_000.0, 101_325.0, GiveUp::GaugeNotLive),
        (2_000.0, 7_000.0, GiveUp::GaugeNotLive),
        (4_500.0, 5_500.0, GiveUp::NoVacuum),
        (30_000.0, 101_325.0, GiveUp::NoVacuum),
        (30_000.0, 7_000.0, GiveUp::NoVacuum),
    ] {
        let mut bench = evacuates(hoses, vacuum);
        assert!(ends_within(&mut bench, 400), "hoses {hoses} Pa, PT-4 {vacuum} Pa: no end");
        assert_eq!(outcome(&bench), Some(Outcome::Failed(why)), "hoses {hoses} Pa, PT-4 {vacuum} Pa");
    }
}

/// Once in vacuum PT-4 is lost for good, or for a moment.
#[test]
fn a_vacuum_gauge_lost_in_mid_evacuation_ends_it_and_a_moment_does_not() {
    let mut bench = evacuates(500.0, 100.0);
    bench.seconds(30);
    bench.world.p_vacuum = 101_325.0;
    assert!(ends_within(&mut bench, 400), "no end");
    assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::GaugeNotLive)));

    let mut bench = Bench::new();
    (bench.world.p_low, bench.world.p_high) = (50_000.0, 50_000.0);
    bench.seconds(5);
    let evacuate = Millis::from_secs(600);
    bench.start(1, valvewright_core::job::WorkOrder { evacuate, ..order(&[PhaseKind::Evacuate]) });
    assert!(bench.until(200, |b| b.on().has(Actuator::Xv6)), "{:?}", bench.notices);
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (500.0, 500.0, 100.0);
    bench.seconds(400);
    bench.world.p_vacuum = 101_325.0;
    bench.seconds(5);
    bench.world.p_vacuum = 100.0;
    assert!(ends_within(&mut bench, 300));
    assert_eq!(outcome(&bench), Some(Outcome::Done));
}

/// Both couplers open to the manifold, 0.8 bar in the hoses, and PT-4 shows 3 mbar: it must not see a pump first.
/// Shows F013.
#[test]
fn a_vacuum_shown_beside_hose_pressure_is_a_stuck_gauge() {
    let mut bench = Bench::new();
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (80_000.0, 80_000.0, 300.0);
    bench.seconds(5);
    bench.start(1, order(&[PhaseKind::Evacuate]));
    let pumped = bench.until(200, |b| b.on().has(Actuator::Xv6) || !b.station.job().busy());
    assert!(pumped && !bench.on().has(Actuator::Xv6), "{:?}", bench.notices);
    assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::GaugeNotLive)));
}

/// A hold whose PT-4 and hose gauges follow these functions of the second since it began, in Pa; after an evacuation in which
/// PT-4 fell from its top where `fell`.
fn held(fell: bool, vacuum: impl Fn(f64) -> f64, hoses: impl Fn(f64) -> f64) -> Bench {
    let mut bench = Bench::new();
    let (phases, start): (&[_], f64) = if fell {
        (&[PhaseKind::Evacuate, PhaseKind::LeakCheck], 80_000.0)
    } else {
        (&[PhaseKind::LeakCheck], hoses(0.0))
    };
    (bench.world.p_low, bench.world.p_high) = (start, start);
    bench.world.p_vacuum = if fell { 101_325.0 } else { vacuum(0.0) };
    bench.seconds(5);
    // Long enough that what rises afterwards is no rest of the refrigerant.
    let evacuate = Millis::from_secs(600);
    bench.start(1, valvewright_core::job::WorkOrder { evacuate, ..order(phases) });
    if fell {
        assert!(bench.until(200, |b| b.on().has(Actuator::Xv6)), "{:?}", bench.notices);
        bench.seconds(5);
    }
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (hoses(0.0), hoses(0.0), vacuum(0.0));
    for _ in 0..20 * 2_000 {
        bench.scan(None);
        // A sound pump comes to next to nothing on the shut manifold.
        let alone = bench.on().has(Actuator::Xv6) && !bench.on().has(Actuator::Xv1);
        bench.world.p_vacuum = if alone { 5.0 } else { vacuum(0.0) };
        if bench.station.job().phase() == Some(PhaseKind::LeakCheck) {
            break;
        }
    }
    assert_eq!(bench.station.job().phase(), Some(PhaseKind::LeakCheck), "{:?}", bench.notices);
    for scan in 0..20 * 400 {
        let t = f64::from(scan) * 0.05;
        (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (hoses(t), hoses(t), vacuum(t));
        bench.scan(None);
        // A wet verdict begins another evacuation.
        if bench.station.job().phase() != Some(PhaseKind::LeakCheck) {
            return bench;
        }
    }
    panic!("no end: {:?}", bench.notices)
}

fn leak_outcome(bench: &Bench) -> Option<Outcome> {
    bench.station.job().records().iter().find(|r| r.kind == PhaseKind::LeakCheck).map(|r| r.outcome)
}

/// Noise of about 1 Pa that needs no dice: two tones that meet the scan at odd phases.
fn flicker(t: f64) -> f64 {
    1.4 * (t * 97.3).sin() + 0.7 * (t * 41.9).cos()
}

/// PT-4 at its lower end shows 0 for two hours: it fell there from its top, and the hoses agree.
#[test]
fn a_good_vacuum_at_the_end_of_the_gauge_is_no_broken_gauge() {
    let bench = held(true, |_| 0.0, |_| 600.0);
    assert_eq!(leak_outcome(&bench), Some(Outcome::Done), "{:?}", bench.notices);
    assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Tight);
}

/// The same figures without a fall on this connection are no proof, nor is noise.
#[test]
fn noise_alone_proves_no_gauge() {
    let bench = held(false, |t| 30.0 + flicker(t), |_| 600.0);
    assert_eq!(leak_outcome(&bench), Some(Outcome::Failed(GiveUp::GaugeNotLive)));
    assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Unknown);
    let bench = held(false, |_| 0.0, |_| 600.0);
    assert_eq!(leak_outcome(&bench), Some(Outcome::Failed(GiveUp::GaugeNotLive)));
}

/// PT-4 fell, then stuck with its noise: the hoses show the rise that it does not.
#[test]
fn a_gauge_that_sticks_after_its_fall_is_found_by_the_hoses() {
    let wet = |t: f64| 700.0 + 1_300.0 * (1.0 - (-t / 20.0).exp());
    let leak = |t: f64| 700.0 + 9.0 * t;
    let rises: [&dyn Fn(f64) -> f64; 2] = [&wet, &leak];
    for rise in rises {
        let bench = held(true, |t| 40.0 + flicker(t), rise);
        assert_eq!(leak_outcome(&bench), Some(Outcome::Failed(GiveUp::GaugeNotLive)), "{:?}", bench.notices);
    }
    let bench = held(true, |t| 40.0 + flicker(t), |_| 6_000.0);
    assert_eq!(leak_outcome(&bench), Some(Outcome::Failed(GiveUp::GaugeNotLive)), "60 mbar apart");
    // Their own noise and drift accuse nobody.
    let bench = held(true, |t| 40.0 + flicker(t), |t| 700.0 + 100.0 * flicker(t) + 0.8 * t);
    assert_eq!(leak_outcome(&bench), Some(Outcome::Done), "{:?}", bench.notices);
}

/// Water at 18 degC reached its vapour pressure at once and creeps up straight as the walls warm by a kelvin.
#[test]
fn a_vapour_pressure_that_creeps_is_moisture() {
    let bench = held(true, |t| if t < 5.0 { 580.0 } else { 2_040.0 + 0.9 * t }, |t| 2_500.0 + 0.9 * t);
    assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Moisture, "{:?}", bench.notices);
    assert_eq!(leak_outcome(&bench), Some(Outcome::Failed(GiveUp::StillWet)));
    // The same rise from a deep vacuum, and a steep one through the same pressures, are leaks.
    for (from, rate) in [(20.0, 0.9), (1_500.0, 6.0)] {
        let bench = held(true, |t| from + rate * t, |t| 700.0 + from + rate * t);
        assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Leak, "{from} Pa, {rate} Pa/s");
    }
}

/// The controller stood still for longer than the whole hold while the circuit leaked: the pass would rest on two scans.
#[test]
fn a_hold_that_nobody_watched_begins_anew() {
    let mut bench = Bench::new();
    let leak = |b: &mut Bench, seconds: f64| b.world.p_vacuum += 2.0 * seconds;
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (1_000.0, 1_000.0, 100.0);
    bench.seconds(5);
    bench.start(1, order(&[PhaseKind::LeakCheck]));
    assert!(bench.until(60, |b| b.station.job().phase().is_some()), "{:?}", bench.notices);
    for _ in 0..20 * 70 {
        leak(&mut bench, 0.05);
        bench.scan(None);
    }
    // Shorter than what would count as other couplers.
    leak(&mut bench, 9.0);
    bench.scan_after(9_000, None);
    // The hoses were shut by the hardware meanwhile: a trip, and a person says go on.
    bench.give(valvewright_core::talk::Command::Reset);
    bench.give(valvewright_core::talk::Command::Resume);
    while bench.station.job().busy() {
        leak(&mut bench, 0.05);
        bench.scan(None);
    }
    assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Leak, "{:?}", bench.notices);
    assert_eq!(leak_outcome(&bench), Some(Outcome::Failed(GiveUp::Leaks)));
}

#[test]
fn a_spike_of_the_vacuum_gauge_is_no_leak() {
    let spike = |t: f64| if (80.0..80.5).contains(&t) { 10_200.0 } else { 40.0 };
    let bench = held(true, spike, |_| 700.0);
    assert_eq!(leak_outcome(&bench), Some(Outcome::Done), "{:?}", bench.notices);
    let bench = held(true, |t| if t > 100.0 { 10_200.0 } else { 40.0 }, |_| 700.0);
    assert_eq!(leak_outcome(&bench), Some(Outcome::Failed(GiveUp::Leaks)), "{:?}", bench.notices);
}

/// What comes into the vessel and how its pressure and that of the hoses go on while the compressor runs, a second.
pub struct Pull {
    pub hoses: f64,
    pub grams: f64,
    pub vessel: f64,
}

/// Identified and pulling; then as `pull` says, until the order ends or for so many seconds.
pub fn pulls(hoses: f64, vessel: f64, pull: &Pull, seconds: u32) -> Bench {
    let mut bench = Bench::running(order(&[PhaseKind::Identify, PhaseKind::Recover]));
    bench.world.reports = [report(998, 1, 5, true), report(998, 1, 5, true)].into();
    assert!(bench.until(60, |b| b.station.job().question().is_some()), "{:?}", bench.notices);
    bench.answer(true);
    assert!(bench.until(600, |b| b.on().has(Actuator::C1)), "{:?}", bench.notices);
    // The vessel comes there while the hoses stand above the barometer: below it that would be air.
    bench.world.p_vessel = vessel;
    bench.seconds(4);
    (bench.world.p_low, bench.world.p_high) = (hoses, hoses);
    for _ in 0..seconds * 20 {
        if bench.on().has(Actuator::C1) {
            let w = &mut bench.world;
            w.p_low += pull.hoses * 0.05;
            w.p_high += pull.hoses * 0.05;
            w.grams[0] += pull.grams * 0.05;
            w.p_vessel += pull.vessel * 0.05;
        }
        bench.scan(None);
        if !bench.station.job().busy() {
            break;
        }
    }
    bench
}

pub const AIR: Option<Outcome> = Some(Outcome::Failed(GiveUp::DrawsAir));

/// Liquid boils near the barometer: nothing falls, but half a gram comes in each second and the vessel shows no air.
#[test]
fn boiling_liquid_is_no_air() {
    let bench = pulls(100_000.0, 650_000.0, &Pull { hoses: -1.0, grams: 0.5, vessel: 0.0 }, 900);
    assert!(bench.station.job().busy(), "{:?}", bench.notices);
    // A large charge warms the vessel far above its wall long before the hoses come near the barometer.
    let bench = pulls(460_000.0, 900_000.0, &Pull { hoses: -10.0, grams: 3.7, vessel: 200.0 }, 900);
    assert!(bench.station.job().busy(), "{:?}", bench.notices);
    // Oil gives off its gas for an hour, in vacuum and without end.
    let bench = pulls(45_000.0, 700_000.0, &Pull { hoses: 0.0, grams: 0.1, vessel: 1.0 }, 3_000);
    assert!(bench.station.job().busy(), "{:?}", bench.notices);
}

/// Shows H05.
#[test]
fn an_open_circuit_draws_air() {
    for (name, hoses, pull) in [
        ("open", 100_000.0, Pull { hoses: 0.0, grams: 0.15, vessel: 900.0 }),
        ("open, TT-1 and PT-1 show nothing", 100_000.0, Pull { hoses: 0.0, grams: 0.15, vessel: 0.0 }),
        ("hole of 0.8 mm", 65_000.0, Pull { hoses: -5.0, grams: 0.1, vessel: 900.0 }),
        ("hole, into much vapour space", 65_000.0, Pull { hoses: 0.0, grams: 0.1, vessel: 400.0 }),
    ] {
        let bench = pulls(hoses, 620_000.0, &pull, 600);
        assert_eq!(outcome(&bench), AIR, "{name}: {:?}", bench.notices);
        let drawn = bench.world.grams[0] - 6_000.0;
        assert!(drawn < 40.0, "{name}: {drawn} g");
        // 6 kg are 5.4 L of liquid at 21 degC, which leave 7.1 L: 1 kPa of growth is 0.084 g by p V M / R T.
        let grown = bench.world.p_vessel - 610_000.0;
        let air = f64::from(bench.station.job().ledger.air.0) / 1e3;
        let due = if grown > 40_000.0 { grown * 8.4e-5 } else { 0.0 };
        assert!((air - due).abs() <= 0.03 * due, "{name}: {air} g of air told for {grown} Pa");
        let ledger = &bench.station.job().ledger;
        let gained = f64::from(ledger.recovered.plus(ledger.air).0) / 1e3;
        assert!((gained - drawn).abs() < 1.0, "{name}: {gained} g booked of {drawn} g");
    }
}

#[test]
fn pulling_that_brings_nothing_ends() {
    let bench = pulls(60_000.0, 650_000.0, &Pull { hoses: 0.0, grams: 0.0, vessel: 0.0 }, 1_500);
    assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::RecoveryTimeout)), "{:?}", bench.notices);
}

/// A station under this barometer, at an evacuation that stands at `pressure` when it begins.
fn at_barometer(barometer: i32, pressure: f64) -> Bench {
    let cfg = StationConfig { barometer: AbsPa(barometer), ..StationConfig::reference(Refrigerant::R1234yf) };
    let mut bench = Bench::with(cfg);
    (bench.world.p_low, bench.world.p_high) = (pressure, pressure);
    bench.seconds(5);
    bench.start(1, order(&[PhaseKind::Evacuate]));
    assert!(bench.until(60, |b| b.station.job().phase().is_some()), "{:?}", bench.notices);
    bench
}

fn asked(bench: &mut Bench) -> bool {
    bench.until(30, |b| b.notices.iter().any(|n| matches!(n, valvewright_core::talk::Notice::Asked(..))))
}

fn pumps(bench: &mut Bench, seconds: u32) -> bool {
    bench.until(seconds, |b| b.on().has(Actuator::Xv6))
}

#[test]
fn an_open_circuit_is_evacuated_on_the_operators_word_at_any_height() {
    for barometer in [103_000, 101_325, 97_000, 81_500] {
        let mut bench = at_barometer(barometer, f64::from(barometer) + 2_000.0);
        assert!(asked(&mut bench), "{barometer} Pa: {:?}", bench.notices);
        assert!(!pumps(&mut bench, 90), "{barometer} Pa: before the answer");
        bench.answer(true);
        assert!(pumps(&mut bench, 70), "{barometer} Pa: {:?}", bench.notices);

        let mut bench = at_barometer(barometer, f64::from(barometer) - 5_000.0);
        assert!(asked(&mut bench));
        bench.answer(false);
        assert!(ends_within(&mut bench, 5));
        assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::NotRecovered)));
    }
}

#[test]
fn nobody_answers_for_a_circuit_and_the_pump_stays_shut() {
    let mut bench = at_barometer(101_325, 101_325.0);
    assert!(bench.until(700, |b| b.on().has(Actuator::Xv6) || !b.station.job().busy()));
    assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::NoAnswer)));
}

/// Well below the barometer nothing worth recovering is left. Too low for a sample and above the barometer, a person must say so.
#[test]
fn a_drained_circuit_needs_no_word_and_a_little_pressure_does() {
    let mut bench = at_barometer(101_325, 80_000.0);
    assert!(pumps(&mut bench, 70) && !asked(&mut bench), "{:?}", bench.notices);
    let mut bench = at_barometer(101_325, 106_000.0);
    assert!(bench.until(40, |b| b.station.job().question() == Some(Question::CircuitOpened)), "{:?}", bench.notices);
    bench.answer(false);
    assert!(ends_within(&mut bench, 5));
    assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::NotRecovered)));
}

/// Liquid boils: 30 mbar a minute, all of it below the barometer. A stall of the controller is no minute of rest either.
#[test]
fn the_pump_waits_for_a_watched_minute_of_rest() {
    let mut bench = Bench::new();
    (bench.world.p_low, bench.world.p_high) = (60_000.0, 60_000.0);
    bench.seconds(1);
    bench.start(1, order(&[PhaseKind::Evacuate]));
    for _ in 0..20 * 150 {
        bench.world.p_high += 3_000.0 / 1_200.0;
        bench.scan(None);
    }
    assert_eq!(bench.station.job().phase(), Some(PhaseKind::Evacuate));
    assert!(!bench.on().has(Actuator::Xv6), "{:?}", bench.notices);
    assert!(!pumps(&mut bench, 20), "rested for 20 s");
    for _ in 0..120 {
        bench.scan_after(450, None);
    }
    assert!(!pumps(&mut bench, 50), "stalls rested for it");
    assert!(pumps(&mut bench, 20), "{:?}", bench.notices);
}

/// The word is given for the circuit as it is: it goes with the couplers.
#[test]
fn the_operators_word_ends_with_the_connection() {
    use valvewright_core::frame::Switches;
    let mut bench = at_barometer(101_325, 101_325.0);
    assert!(asked(&mut bench));
    assert!(bench.notices.iter().any(|n| format!("{n:?}").contains(&format!("{:?}", Question::CircuitOpened))));
    bench.answer(true);
    bench.seconds(2);
    assert!(bench.station.connection().circuit_empty());
    bench.world.open = Switches::ZS2_COUPLED;
    bench.seconds(2);
    bench.world.open = 0;
    bench.seconds(2);
    assert!(!bench.station.connection().circuit_empty());
}

/// A pass is no figure of a leak but a limit: what was measured and what the hold could not have told from noise.
#[test]
fn a_pass_says_below_and_what_it_could_not_have_seen() {
    let still = held(true, |_| 20.0, |_| 700.0).station.connection().leak();
    assert_eq!((still.verdict, still.micro_pa_m3_per_s), (LeakVerdict::Tight, 0));
    // 3.619 L, 2.2 Pa in 40 s
    assert!((190..=205).contains(&still.smallest_micro), "{still:?}");
    assert_eq!(still.below_micro(), still.smallest_micro);
    let creeps = held(true, |t| 20.0 + 0.3 * t, |_| 700.0).station.connection().leak();
    assert_eq!(creeps.verdict, LeakVerdict::Tight);
    assert!((1_000..=1_200).contains(&creeps.micro_pa_m3_per_s), "{creeps:?}");
    assert_eq!(creeps.below_micro(), creeps.micro_pa_m3_per_s + creeps.smallest_micro);
    assert!(creeps.below_milligram_per_year() > creeps.milligram_per_year());
    // Drift downwards is no credit.
    let sinks = held(true, |t| 90.0 - 0.1 * t, |_| 700.0).station.connection().leak();
    assert!(sinks.micro_pa_m3_per_s < 0 && sinks.below_micro() == sinks.smallest_micro, "{sinks:?}");
}

/// The identifier sees air alone: no foreign gas, nothing to recover, and nobody need be asked once the pressure is off.
#[test]
fn air_seen_by_the_identifier_speaks_for_an_open_circuit() {
    let mut bench = Bench::running(order(&[PhaseKind::Identify]));
    bench.world.reports =
        [report(0, 0, 1_000, true), report(0, 0, 990, true)].map(|r| GasReport { other: Permille(0), ..r }).into();
    assert!(bench.until(60, |b| b.station.job().question().is_some()), "{:?}", bench.notices);
    bench.answer(true);
    assert!(ends_within(&mut bench, 400));
    assert_eq!(outcome(&bench), Some(Outcome::Done));
    assert_eq!(bench.station.connection().gas(), GasVerdict::Air, "nothing for the vessel");
    (bench.world.p_low, bench.world.p_high) = (101_325.0, 101_325.0);
    bench.notices.clear();
    bench.start(2, order(&[PhaseKind::Evacuate]));
    assert!(pumps(&mut bench, 200) && !asked(&mut bench), "{:?}", bench.notices);
}
