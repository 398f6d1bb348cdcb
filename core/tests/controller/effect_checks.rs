//! An effect is checked, not assumed: motor current, recovery, pump, shut charge valves, scale at rest, charge flow.

use valvewright_core::config::StationConfig;
use valvewright_core::effect::Effects;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::interlock::RowId;
use valvewright_core::sense::{Quality, Reading, Readings};
use valvewright_core::talk::Notice;
use valvewright_core::units::{AbsPa, CentiKelvin, Milliamp, Milligram, MilligramPerS, Millis};

use crate::bench::Bench;

pub const RECOVERY: Actuators =
    Actuators::of(&[Actuator::Xv1, Actuator::Xv3, Actuator::Xv4, Actuator::C1, Actuator::K1]);
pub const PUMPING: Actuators = Actuators::of(&[Actuator::Xv1, Actuator::Xv6, Actuator::P1, Actuator::K1]);
pub const CHARGING: Actuators = Actuators::of(&[Actuator::Xv1, Actuator::Xv5, Actuator::Xv10, Actuator::K1]);

pub fn good<T>(value: T) -> Reading<T> {
    Reading { value, quality: Quality::Good }
}

/// A station at rest with good readings.
pub struct Watch {
    pub effects: Effects,
    pub readings: Readings,
    pub cfg: StationConfig,
}

impl Watch {
    pub fn new() -> Self {
        let mut readings = Readings { it1: good(Milliamp(0)), ..Readings::default() };
        (readings.pt1, readings.pt2, readings.pt3) = (good(AbsPa(600_000)), good(AbsPa(500_000)), good(AbsPa(500_000)));
        readings.wt1.mass = good(Milligram::from_grams(6_000));
        Self { effects: Effects::default(), readings, cfg: StationConfig::reference(Refrigerant::R1234yf) }
    }
    /// Steps of 50 ms until `what`, at most `most` ms; when it came.
    pub fn when(&mut self, on: Actuators, most: u32, what: impl Fn(&Effects) -> bool) -> Option<u32> {
        (1..=most / 50).map(|n| n * 50).find(|_| {
            self.effects.step(Millis(50), &self.readings, on, Actuators::NONE, &self.cfg);
            what(&self.effects)
        })
    }
}

/// Shows LC5.
#[test]
fn a_welded_contactor_is_found_in_a_second_and_a_half() {
    let mut watch = Watch::new();
    watch.readings.it1 = good(Milliamp(3_000));
    let at = watch.when(Actuators::SAFE, 5_000, Effects::mismatch).expect("found");
    assert!((1_500..1_700).contains(&at), "{at} ms");
    watch.readings.it1 = good(Milliamp(0));
    assert_eq!(watch.when(Actuators::SAFE, 100, |e| !e.mismatch()), Some(50));
}

#[test]
fn a_compressor_that_does_not_start_is_found_in_a_second_and_a_half() {
    let mut watch = Watch::new();
    let at = watch.when(RECOVERY, 5_000, Effects::mismatch).expect("found");
    assert!((1_500..1_700).contains(&at), "{at} ms");
}

#[test]
fn a_healthy_compressor_is_left_alone() {
    let mut watch = Watch::new();
    for step in 0..20 {
        watch.readings.it1 = good(Milliamp(3_000));
        watch.readings.pt2 = good(AbsPa(500_000 - step * 20_000));
        watch.readings.pt3 = watch.readings.pt2;
        assert_eq!(watch.when(RECOVERY, 10_000, Effects::mismatch), None, "at {} Pa", watch.readings.pt2.value.0);
    }
}

/// Shows LC5.
#[test]
fn recovery_without_effect_is_found_in_thirty_seconds() {
    let mut watch = Watch::new();
    watch.readings.it1 = good(Milliamp(3_000));
    let at = watch.when(RECOVERY, 60_000, Effects::mismatch).expect("found");
    assert!((30_000..30_300).contains(&at), "{at} ms");
    // A vessel that gains is an effect, though liquid holds the pressure up.
    let mut boiling = Watch::new();
    boiling.readings.it1 = good(Milliamp(3_000));
    for _ in 0..6 {
        assert_eq!(boiling.when(RECOVERY, 20_000, Effects::mismatch), None);
        boiling.readings.wt1.mass.value = boiling.readings.wt1.mass.value.plus(Milligram::from_grams(20));
    }
}

#[test]
fn a_pump_without_effect_is_found_in_thirty_seconds() {
    let mut watch = Watch::new();
    (watch.readings.pt2, watch.readings.pt3) = (good(AbsPa(90_000)), good(AbsPa(90_000)));
    let at = watch.when(PUMPING, 60_000, Effects::mismatch).expect("found");
    assert!((30_000..30_300).contains(&at), "{at} ms");
    let mut falling = Watch::new();
    (falling.readings.pt2, falling.readings.pt3) = (good(AbsPa(90_000)), good(AbsPa(90_000)));
    falling.when(PUMPING, 10_000, |_| false);
    (falling.readings.pt2, falling.readings.pt3) = (good(AbsPa(60_000)), good(AbsPa(60_000)));
    assert_eq!(falling.when(PUMPING, 120_000, Effects::mismatch), None, "it fell by a third");
}

#[test]
fn a_charge_valve_stuck_open_is_found_by_the_scale() {
    let mut watch = Watch::new();
    watch.readings.wt1.rate = MilligramPerS(-10_000);
    let at = watch.when(Actuators::SAFE, 6_000, Effects::mismatch).expect("found");
    assert!((4_000..4_200).contains(&at), "{at} ms");
    // The same loss is wanted while a charge or a purge is.
    for on in [CHARGING, Actuators::of(&[Actuator::Xv7, Actuator::K1])] {
        let mut wanted = Watch::new();
        wanted.readings.wt1.rate = MilligramPerS(-10_000);
        assert_eq!(wanted.when(on, 6_000, Effects::mismatch), None);
    }
}

/// I20: more than 5 g in 10 s with every valve shut; and slower, 12 g in one rest (F030, F054).
/// Shows I20, F030.
#[test]
fn mass_that_moves_at_rest_is_creep() {
    // Milligram a second, and in which time it is found, s.
    for (rate, within) in [(1_000, Some(14)), (-1_000, Some(14)), (300, Some(50)), (-50, Some(260)), (10, None)] {
        let mut watch = Watch::new();
        let mut micro = 0_i32;
        let at = (1..=1_000 * 20).find(|_| {
            micro += rate * 50;
            watch.readings.wt1.mass.value = Milligram(6_000_000 + micro / 1_000);
            watch.when(Actuators::SAFE, 50, Effects::creeping).is_some()
        });
        let at = at.map(|scans| scans / 20);
        assert_eq!(at.is_some(), within.is_some(), "{rate} mg/s: {at:?} s");
        assert!(at <= within, "{rate} mg/s: {at:?} s");
    }
    // What moves in one rest does not count in the next: something was weighed between them.
    let mut watch = Watch::new();
    for rest in 0..5 {
        watch.readings.wt1.mass.value = Milligram(6_000_000 + rest * 8_000);
        assert_eq!(watch.when(Actuators::SAFE, 60_000, Effects::creeping), None, "rest {rest}");
        watch.readings.wt1.mass.value = Milligram(6_004_000 + rest * 8_000);
        assert_eq!(watch.when(Actuators::SAFE, 60_000, Effects::creeping), None, "rest {rest}");
        watch.when(Actuators::SAFE.with(Actuator::Xv7), 1_000, |_| false);
    }
}

/// A vehicle far hotter than the vessel presses through the relief of its hose, and a vessel at its own relief loses: no fault of the scale.
#[test]
fn mass_that_relief_valves_let_through_is_no_creep() {
    for (vessel, low, high, rate, found) in [
        (600_000, 500_000, 2_400_000, 5_000, false),
        (600_000, 2_400_000, 500_000, 5_000, false),
        (600_000, 500_000, 2_299_000, 5_000, true),
        (1_880_000, 500_000, 500_000, -5_000, false),
        (1_699_000, 500_000, 500_000, -5_000, true),
    ] {
        let mut watch = Watch::new();
        let (vessel, low, high) = (good(AbsPa(vessel)), good(AbsPa(low)), good(AbsPa(high)));
        (watch.readings.pt1, watch.readings.pt2, watch.readings.pt3) = (vessel, low, high);
        let moves = |watch: &mut Watch, rate: i32| {
            (1..=30 * 20).any(|_| {
                watch.readings.wt1.mass.value.0 += rate / 20;
                watch.when(Actuators::SAFE, 50, Effects::creeping).is_some()
            })
        };
        assert_eq!(moves(&mut watch, rate), found, "{vessel:?}, {low:?} and {high:?}, {rate} mg/s");
        if !found {
            // Once they are shut, what was let through is weighed, and what moves from then on is the scale.
            watch.readings.pt1.value = AbsPa(900_000);
            (watch.readings.pt2.value, watch.readings.pt3.value) = (AbsPa(500_000), AbsPa(500_000));
            assert!(!moves(&mut watch, 0), "what was let through is weighed");
            assert!(moves(&mut watch, rate), "{rate} mg/s with nothing that lets it through");
        }
    }
}

/// F049: more than gas can be is liquid, 5.5 g/s of the 3.2 g/s of an ideal gas of 4 bar at 176 mL/s; and F028 the other way.
#[test]
fn what_arrives_is_held_against_what_is_drawn_in() {
    let pulled = |grams_per_s: f64, suction: i32, vessel: i32, seconds: u32| {
        let mut watch = Watch::new();
        (watch.readings.it1, watch.readings.pt5) = (good(Milliamp(3_000)), good(AbsPa(suction)));
        (watch.readings.pt1, watch.readings.pt2) = (good(AbsPa(vessel)), good(AbsPa(suction)));
        let (mut liquid, mut short) = (None, None);
        for scan in 1..=seconds * 20 {
            let mass = 6_000_000.0 + f64::from(scan) * grams_per_s * 50.0;
            watch.readings.wt1.mass = good(Milligram(mass as i32));
            // The hose falls, so that the pull is seen to work whatever the scale shows.
            watch.readings.pt2.value = AbsPa(suction - scan as i32 * 20);
            watch.when(RECOVERY, 50, |_| false);
            liquid = liquid.or(watch.effects.carries_liquid().then_some(scan / 20));
            short = short.or(watch.effects.mismatch().then_some(scan / 20));
        }
        (liquid.map(|s| s <= 20), short.map(|s| s <= 30))
    };
    assert_eq!(pulled(3.2, 400_000, 600_000, 120), (None, None));
    assert_eq!(pulled(5.4, 400_000, 600_000, 120), (None, None));
    assert_eq!(pulled(5.7, 400_000, 600_000, 120), (Some(true), None));
    assert_eq!(pulled(2.5, 400_000, 600_000, 120), (None, None));
    assert_eq!(pulled(2.3, 400_000, 600_000, 120), (None, Some(true)));
    assert_eq!(pulled(1.6, 400_000, 600_000, 120), (None, Some(true)));
    // Against more than 3.5 times its suction the clearance takes its share; below 1.5 bar air may come.
    assert_eq!(pulled(1.6, 400_000, 1_450_000, 120), (None, None));
    assert_eq!(pulled(0.5, 145_000, 400_000, 120), (None, None));
}

#[test]
fn creep_ends_once_the_scale_is_quiet() {
    let mut watch = Watch::new();
    watch.when(Actuators::SAFE, 7_000, |_| false);
    watch.readings.wt1.mass = good(Milligram::from_grams(6_010));
    assert_eq!(watch.when(Actuators::SAFE, 5_000, Effects::creeping), Some(2_000), "a knock is over sooner");
    let at = watch.when(Actuators::SAFE, 30_000, |e| !e.creeping()).expect("released");
    assert!((9_900..10_200).contains(&at), "{at} ms");
}

/// I08: measured over modelled rate outside 0.3 to 3 for two seconds. The model is worked again here: 0.3 mm2
/// of effective area and 1 100 kg/m3 at 100 kPa make 4.45 g/s.
/// Shows I08.
#[test]
fn charge_flow_is_held_against_its_model() {
    // Saturated R-1234yf at 20 degC passes 6 759 kg/(m2 s) in homogeneous equilibrium (reference table f1); the model's estimate of
    // 0.38 dp/dT with 17.2 kPa/K (reference table of saturation) lies within 4 % of that.
    let model: f64 = 715e-9 * 0.38 * 17_211.0 * 1e6;
    assert!((model / (715e-9 * 6_759.0 * 1e6) - 1.0).abs() < 0.04, "{model} mg/s");
    for (share, wrong) in [(0.0, true), (0.25, true), (0.35, false), (1.0, false), (2.9, false), (3.1, true)] {
        let mut watch = Watch::new();
        // At rest at 20 degC, 592 kPa; behind the valve a hundred kilopascal less.
        watch.readings.tt1 = good(CentiKelvin(29_315));
        (watch.readings.pt1, watch.readings.pt2, watch.readings.pt3) =
            (good(AbsPa(591_800)), good(AbsPa(491_800)), good(AbsPa(491_800)));
        watch.readings.wt1.rate = MilligramPerS(-(model * share) as i32);
        let at = watch.when(CHARGING, 20_000, Effects::flow_wrong);
        assert_eq!(at.is_some(), wrong, "at {share} of the model");
        // Two and a half seconds for flow to build up, then two of doubt.
        assert!(at.is_none_or(|at| (4_500..4_800).contains(&at)), "{at:?} ms at {share} of the model");
    }
}

#[test]
fn a_stall_on_no_pressure_is_not_a_wrong_flow() {
    let mut watch = Watch::new();
    watch.readings.pt1 = good(AbsPa(505_000));
    assert_eq!(watch.when(CHARGING, 60_000, Effects::flow_wrong), None);
}

/// Shows I19, H14.
#[test]
fn the_station_goes_dark_on_a_welded_contactor() {
    let mut bench = Bench::new();
    bench.seconds(5);
    bench.world.current = Some(3.0);
    bench.seconds(5);
    assert!(matches!(bench.notices[..], [Notice::Tripped(RowId::I19, _)]), "{:?}", bench.notices);
    assert_eq!(bench.on(), Actuators::SAFE, "the fan runs on");
    assert!(bench.station.interlocks().latched().has(RowId::I19));
}
