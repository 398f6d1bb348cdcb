//! Readings held against each other: each contradiction is found in its time, and readings that only look odd are left alone.

use valvewright_core::config::StationConfig;
use valvewright_core::cross::Cross;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuator, Actuators, Switches};
use valvewright_core::input::Input;
use valvewright_core::sense::{Broken, Doubt, Quality, Reading, Readings};
use valvewright_core::talk::Notice;
use valvewright_core::units::{AbsPa, CentiKelvin, Milligram, Millis, Rpm};

use crate::effect_checks::good;

pub const CONTRADICTED: Quality = Quality::Bad(Broken::Contradicted);
pub const JOINED: Actuators = Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::K1]);
pub const PULLING: Actuators =
    Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::Xv3, Actuator::Xv4, Actuator::C1, Actuator::K1]);
pub const REST: Actuators = Actuators::SAFE;

/// A station whose readings are given, with the time its vessel has rested.
pub struct Rig {
    pub cross: Cross,
    pub r: Readings,
    pub on: Actuators,
    pub cfg: StationConfig,
    pub rest: Millis,
    pub dt: u32,
    /// What the readings became in the last scan.
    pub seen: Readings,
}

impl Rig {
    /// At rest at 20 degC, all gauges in agreement, 6 kg in the vessel.
    pub fn new(on: Actuators) -> Self {
        let cfg = StationConfig::reference(Refrigerant::R1234yf);
        let wall = CentiKelvin::from_centi_celsius(2_000);
        let mut r = Readings { st1: good(Rpm(2_800)), switches: Switches(Switches::ALL), ..Readings::default() };
        (r.pt1, r.pt2, r.pt3) = (good(cfg.refrigerant.p_sat(wall)), good(AbsPa(500_000)), good(AbsPa(500_000)));
        (r.pt4, r.pt5) = (unsure(AbsPa(10_000)), good(AbsPa(495_000)));
        (r.tt1, r.tt2, r.tt3, r.tt4) = (good(wall), good(wall), good(wall), good(wall));
        r.wt1.mass = good(Milligram::from_grams(6_000));
        Self { cross: Cross::default(), r, on, cfg, rest: Millis(0), dt: 50, seen: r }
    }
    pub fn scan(&mut self) -> &Readings {
        self.rest = self.rest.plus(Millis(self.dt));
        self.seen = self.r;
        self.cross.step(Millis(self.dt), &mut self.seen, self.on, self.rest, &self.cfg);
        &self.seen
    }
    pub fn seconds(&mut self, seconds: u32) -> &mut Self {
        for _ in 0..seconds * 1_000 / self.dt {
            self.scan();
        }
        self
    }
    /// Seconds until `what`, at most so many.
    pub fn when(&mut self, most: u32, what: impl Fn(&Readings) -> bool) -> Option<f64> {
        (1..=most * 1_000 / self.dt).find(|_| what(self.scan())).map(|scans| f64::from(scans * self.dt) / 1e3)
    }
    pub fn set_hoses(&mut self, low: i32, high: i32) -> &mut Self {
        (self.r.pt2.value, self.r.pt3.value) = (AbsPa(low), AbsPa(high));
        self
    }
}

pub fn unsure<T>(value: T) -> Reading<T> {
    Reading { value, quality: Quality::Uncertain(Doubt::Saturated) }
}
pub fn hoses(r: &Readings) -> bool {
    assert_eq!(r.pt2.quality == CONTRADICTED, r.pt3.quality == CONTRADICTED, "nothing says which of the two");
    r.pt2.quality == CONTRADICTED
}
fn vessel(r: &Readings) -> bool {
    assert_eq!(r.pt1.quality == CONTRADICTED, r.tt1.quality == CONTRADICTED, "nothing says which of the two");
    r.pt1.quality == CONTRADICTED
}
/// PT-1 goes there, over saturation, as fast as no vessel does and no check minds.
fn moves(rig: &mut Rig, over: i32) {
    let to = p_sat(2_000).0 + over;
    while rig.r.pt1.value.0 != to {
        rig.r.pt1.value.0 += (to - rig.r.pt1.value.0).clamp(-5_000, 5_000);
        rig.scan();
    }
}
fn p_sat(centi_celsius: i32) -> AbsPa {
    Refrigerant::R1234yf.p_sat(CentiKelvin::from_centi_celsius(centi_celsius))
}

/// F018: 120 s from the start of C-1.
/// Shows F018, H21.
#[test]
fn a_discharge_that_does_not_warm_in_two_minutes_is_stuck() {
    let stuck = Quality::Bad(Broken::Frozen);
    for (course, found) in [
        (&(|_| 0) as &dyn Fn(u32) -> i32, true),
        (&|t| t as i32 % 7, true),
        (&|t| 290.min(t as i32 * 3), true),
        (&|t| 310.min(t as i32 * 3), false),
        (&|t| -310.min(t as i32 * 3), false),
        (&|t| if t > 110 { 400 } else { 0 }, false),
    ] {
        let mut rig = Rig::new(REST);
        rig.seconds(300);
        assert!(!rig.seen.tt2.is_bad(), "C-1 stands");
        rig.on = PULLING;
        let at = (1..=600).find(|t| {
            rig.r.tt2.value = CentiKelvin(31_315 + course(*t));
            rig.seconds(1).seen.tt2.quality == stuck
        });
        assert_eq!(at.is_some(), found);
        assert!(at.is_none_or(|at| (118..=120).contains(&at)), "after {at:?} s");
        if found {
            rig.on = REST;
            rig.seconds(3_600);
            assert_eq!(rig.seen.tt2.quality, stuck, "a rest mends nothing");
            rig.r.tt2.value = CentiKelvin(31_315 + 1_000);
            rig.seconds(2);
            assert_eq!(rig.seen.tt2.quality, Quality::Good, "it has moved");
        }
    }
    // Starts that are broken off begin anew.
    let mut rig = Rig::new(PULLING);
    for _ in 0..10 {
        rig.on = PULLING;
        rig.seconds(110);
        rig.on = REST;
        rig.seconds(180);
        assert_eq!(rig.seen.tt2.quality, Quality::Good);
    }
}

/// F019: 20 K too low. A quarter of an hour without the heater, by its own watch or by what is known from before power-on.
/// Shows F019.
#[test]
fn a_cold_heater_that_looks_colder_than_its_wall_is_not_believed() {
    for (skin, rest, found) in
        [(-2_000, 0, true), (-600, 0, true), (-400, 0, false), (2_000, 0, false), (-2_000, 1_000_000, true)]
    {
        let mut rig = Rig::new(REST);
        rig.rest = Millis(rest);
        rig.r.tt3.value = CentiKelvin(rig.r.tt1.value.0 + skin);
        let at = rig.when(1_200, |r| r.tt3.quality == CONTRADICTED);
        assert_eq!(at.is_some(), found, "{skin}");
        let least = if rest > 0 { 10.0 } else { 910.0 };
        assert!(at.is_none_or(|at| (least - 0.5..least + 1.5).contains(&at)), "{skin}: after {at:?} s");
    }
    // Heated in between, the quarter begins anew; without a heater there is no TT-3.
    let mut rig = Rig::new(REST);
    rig.r.tt3.value = CentiKelvin(rig.r.tt1.value.0 - 2_000);
    rig.seconds(800).on = REST.or(Actuators::HEATER);
    rig.seconds(10).on = REST;
    rig.rest = Millis(0);
    assert_eq!(rig.when(880, |r| r.tt3.is_bad()), None);
    let mut bare = Rig::new(REST);
    bare.cfg.fitted = Actuators::ALL.without(Actuators::HEATER);
    bare.r.tt3.value = CentiKelvin(23_315);
    assert_eq!(bare.when(1_200, |r| r.tt3.quality == CONTRADICTED), None);
}

/// F136: one second, so that the proof of air never takes it for a fan that moves air.
/// Shows F136.
#[test]
fn a_speed_that_stays_up_without_flow_and_without_the_fan_is_not_believed() {
    let no_flow = Switches(Switches::ALL & !Switches::FSL1_FLOW);
    for (on, switches, rpm, found) in [
        (Actuators::NONE, no_flow, 2_800, true),
        (Actuators::NONE, no_flow, 1_680, true),
        (Actuators::NONE, no_flow, 1_670, false),
        (Actuators::NONE, Switches(Switches::ALL), 2_800, false),
        (REST, no_flow, 2_800, false),
    ] {
        let mut rig = Rig::new(on);
        (rig.r.switches, rig.r.st1.value) = (switches, Rpm(rpm));
        let at = rig.when(20, |r| r.st1.quality == CONTRADICTED);
        assert_eq!(at.is_some(), found, "{on:?} {rpm} rpm");
        assert!(at.is_none_or(|at| at <= 2.5), "after {at:?} s, of 5 s");
    }
}

/// F003, F004, F017: below saturation by more than a kelvin and the classes, ten minutes after the vessel was left alone.
#[test]
fn a_vessel_below_saturation_has_a_wrong_gauge() {
    for (pressure, wall, found) in [
        (p_sat(2_000).0 - 30_000, 2_000, true),
        (p_sat(2_000).0 - 20_000, 2_000, false),
        (p_sat(2_000).0, 2_180, true),
        (p_sat(2_000).0, 2_110, false),
        // Colder than the shop by 20 K the wall may stand 6.25 K over what is in the vessel.
        (p_sat(-500).0, 0, false),
        (p_sat(-700).0, 0, true),
    ] {
        let mut rig = Rig::new(REST);
        rig.r.pt1.value = AbsPa(pressure);
        rig.r.tt1.value = CentiKelvin::from_centi_celsius(wall);
        let at = rig.when(900, vessel);
        assert_eq!(at.is_some(), found, "{pressure} Pa at {wall}");
        assert!(at.is_none_or(|at| (609.5..611.5).contains(&at)), "after {at:?} s");
    }
}

/// F004, F005: air comes only with what is pumped in; in a rest nothing grows.
/// Shows F004, F005, H21.
#[test]
fn what_grows_over_saturation_in_a_rest_is_a_wrong_gauge() {
    for (before, step, found) in [
        (0, 30_000, true),
        (0, 20_000, false),
        (100_000, 60_000, false),
        (100_000, 80_000, true),
        (100_000, -60_000, false),
        (600_000, 200_000, false),
    ] {
        let mut rig = Rig::new(REST);
        rig.r.pt1.value = AbsPa(p_sat(2_000).0 + before);
        rig.seconds(900);
        // A step at once would be the gauge's own, whatever the rest (F008).
        moves(&mut rig, before + step);
        let at = rig.when(3_600, vessel);
        assert_eq!(at.is_some(), found, "{before} and {step} Pa");
        assert!(at.is_none_or(|at| at <= 11.5), "after {at:?} s, of 600 s");
        if found {
            // Stirring it up proves nothing; only a gauge that comes back does.
            rig.rest = Millis(0);
            rig.seconds(3_600);
            assert!(vessel(&rig.seen));
            moves(&mut rig, before);
            assert!(rig.when(120, |r| !vessel(r)).is_some());
        }
    }
    // Between two rests air may have come.
    let mut rig = Rig::new(REST);
    rig.seconds(900);
    rig.rest = Millis(0);
    moves(&mut rig, 200_000);
    assert_eq!(rig.when(3_600, vessel), None);
    // F005: 0.05 bar an hour shows in one long rest.
    let mut drifts = Rig::new(REST);
    drifts.dt = 100;
    let at = (0..8 * 3_600).find(|t| {
        drifts.r.pt1.value = AbsPa(p_sat(2_000).0 + t * 5_000 / 3_600);
        vessel(drifts.seconds(1).scan())
    });
    assert!(at.is_some_and(|t| t < 6 * 3_600), "{at:?} s");
}

/// A vessel of gas alone, one that was just stirred or is being purged, one without a good scale.
#[test]
fn a_vessel_that_need_not_stand_at_saturation_is_left_alone() {
    let low = || {
        let mut rig = Rig::new(REST);
        rig.r.pt1.value = AbsPa(p_sat(2_000).0 - 100_000);
        rig
    };
    let mut empty = low();
    empty.r.wt1.mass = good(Milligram::from_grams(1_900));
    assert_eq!(empty.when(1_200, vessel), None);
    let mut unweighed = low();
    unweighed.r.wt1.mass = unsure(Milligram::from_grams(6_000));
    assert_eq!(unweighed.when(1_200, vessel), None);
    let mut purged = low();
    purged.on = REST.with(Actuator::Xv7);
    assert_eq!(purged.when(1_200, vessel), None);
    let mut stirred = low();
    for _ in 0..10 {
        stirred.rest = Millis(0);
        assert_eq!(stirred.when(590, vessel), None);
    }
}

/// F028: half a second beside the filters' 0.2 s, of one second. A knock (F025) is half as much, or half as long.
#[test]
fn bridges_a_kilogram_apart_weigh_nothing() {
    for (apart, held, found) in [(1_500, 1_000, true), (-1_000, 1_000, true), (990, 60_000, false), (3_000, 500, false)]
    {
        let mut rig = Rig::new(REST);
        (rig.r.wt1a.mass, rig.r.wt1b.mass) = (rig.r.wt1.mass, good(Milligram::from_grams(6_000 + apart)));
        let at = (1..=held / 50).find(|_| rig.scan().wt1.mass.quality == CONTRADICTED);
        assert_eq!(at.is_some(), found, "{apart} g for {held} ms");
        assert!(at.is_none_or(|scans| scans * 50 <= 600), "{apart} g: after {at:?} scans");
        rig.r.wt1b.mass = rig.r.wt1a.mass;
        assert_eq!(rig.scan().wt1.mass.quality, Quality::Good);
    }
    // One late scan says no more than one.
    let mut rig = Rig::new(REST);
    (rig.r.wt1a.mass, rig.r.wt1b.mass) = (rig.r.wt1.mass, good(Milligram::from_grams(3_000)));
    rig.dt = 60_000;
    assert_eq!(rig.scan().wt1.mass.quality, Quality::Good);
}

/// A bad input is told once with its reason, and once that it is sound again; what never came is not told.
#[test]
fn an_input_that_turns_bad_is_told_once_with_its_reason() {
    let mut rig = Rig::new(REST);
    let mut told = Vec::new();
    let scans = |rig: &mut Rig, told: &mut Vec<Notice>| {
        for _ in 0..100 {
            let mut r = rig.r;
            told.extend(rig.cross.step(Millis(50), &mut r, rig.on, rig.rest, &rig.cfg));
        }
    };
    scans(&mut rig, &mut told);
    assert_eq!(told, [], "AT-2 and others have not come yet");
    (rig.r.pt5.quality, rig.r.wt1b.mass.quality) = (Quality::Bad(Broken::Under), Quality::Bad(Broken::Rail));
    scans(&mut rig, &mut told);
    rig.r.pt5.quality = Quality::Bad(Broken::Frozen);
    scans(&mut rig, &mut told);
    rig.r.pt5.quality = Quality::Uncertain(Doubt::Jumpy);
    scans(&mut rig, &mut told);
    let wanted = [
        // In the order of their turns, wherever the round stood.
        Notice::Unsound(Input::Wt1B, Broken::Rail),
        Notice::Unsound(Input::Pt5, Broken::Under),
        Notice::Sound(Input::Pt5),
    ];
    assert_eq!(told, wanted);
}

/// Readings that may decide nothing accuse nobody, and no verdict weighs more than a broken wire.
#[test]
fn doubtful_readings_accuse_nobody() {
    let mut rig = Rig::new(PULLING);
    rig.set_hoses(500_000, 100_000);
    (rig.r.pt2.quality, rig.r.pt5.value) = (Quality::Uncertain(Doubt::Jumpy), AbsPa(1_000));
    rig.seconds(60);
    assert_eq!([rig.seen.pt2.quality, rig.seen.pt3.quality], [rig.r.pt2.quality, Quality::Good]);
    assert_eq!(rig.seen.pt5.quality, Quality::Good);
    rig.r.pt2.quality = Quality::Good;
    rig.seconds(10);
    assert!(hoses(&rig.seen));
    rig.r.pt2.quality = Quality::Bad(Broken::Under);
    assert_eq!(rig.scan().pt2.quality, Quality::Bad(Broken::Under));
}

/// A late scan is no more than five: one of a minute decides nothing, and slow scans decide as soon as fast ones.
#[test]
fn late_scans_neither_hide_nor_prove() {
    let mut rig = Rig::new(JOINED);
    rig.set_hoses(500_000, 300_000).seconds(2);
    rig.dt = 60_000;
    for _ in 0..8 {
        assert!(!hoses(rig.scan()));
    }
    for (scan, dt) in [(10, 10), (50, 50), (100, 100), (50, 200)] {
        let mut rig = Rig::new(JOINED);
        (rig.cfg.scan, rig.dt) = (Millis(scan), dt);
        let at = rig.set_hoses(500_000, 300_000).when(60, hoses).expect("found");
        assert!((6.9..11.5).contains(&at), "{dt} ms of {scan} ms: after {at} s");
    }
}
