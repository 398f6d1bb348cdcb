//! Transmitters, switches and fan as devices: currents stay in the NE 43 band, lags are exact, noise keeps its figures.

use valvewright_core::frame::{Analog, Outputs, RawFrame, Switches};
use valvewright_sim::instrument::{InstrumentSpec, Instruments, LoopHealth, Noise, TransmitterSpec, Truth};

const SCAN_S: f64 = 0.05;

/// 65 535 counts are 24 mA.
fn counts_of(milliampere: f64) -> f64 {
    milliampere / 24.0 * 65_535.0
}

/// A station whose transmitters have no error and no noise, so that what is left is the law under test.
fn ideal() -> InstrumentSpec {
    let mut spec = InstrumentSpec::default();
    for one in &mut spec.analog {
        *one = TransmitterSpec { gain_class: 0.0, offset_class: 0.0, noise: 0.0, ..*one };
    }
    spec
}

struct Bench {
    instruments: Instruments,
    frame: RawFrame,
}

impl Bench {
    fn new(spec: &InstrumentSpec, seed: u64) -> Self {
        Self { instruments: Instruments::new(spec, seed), frame: RawFrame::default() }
    }
    fn scan(&mut self, truth: &Truth) -> &RawFrame {
        self.instruments.frame(0.0, SCAN_S, truth, &Outputs::default(), None, &mut self.frame);
        &self.frame
    }
    fn counts(&mut self, truth: &Truth, input: Analog) -> u16 {
        self.scan(truth).analog[input as usize]
    }
}

#[test]
fn range_ends_are_4_and_20_ma() {
    for (pressure, milliampere) in [(0.0, 4.0), (35e5, 20.0), (17.5e5, 12.0)] {
        let truth = Truth { p_vessel: pressure, ..Truth::default() };
        let counts = f64::from(Bench::new(&ideal(), 1).counts(&truth, Analog::Pt1));
        assert!((counts - counts_of(milliampere)).abs() <= 0.5, "{pressure} Pa gives {counts} counts");
    }
}

#[test]
fn a_healthy_loop_saturates_inside_3_8_to_20_5_ma() {
    for (pressure, least, most) in [(-1e7, 3.8, 3.801), (1e9, 20.499, 20.5)] {
        let truth = Truth { p_low: pressure, ..Truth::default() };
        let counts = f64::from(Bench::new(&InstrumentSpec::default(), 7).counts(&truth, Analog::Pt2));
        assert!(counts >= counts_of(least) && counts <= counts_of(most), "{pressure} Pa gives {counts} counts");
    }
}

#[test]
fn the_vacuum_gauge_saturates_at_atmosphere() {
    let counts = f64::from(Bench::new(&InstrumentSpec::default(), 3).counts(&Truth::default(), Analog::Pt4));
    assert!(counts > counts_of(20.499) && counts <= counts_of(20.5), "{counts} counts at 1013 mbar");
}

/// Shows LS5.
#[test]
fn a_broken_loop_leaves_the_band_and_mending_restores_it() {
    let mut bench = Bench::new(&InstrumentSpec::default(), 5);
    let truth = Truth::default();
    let before = f64::from(bench.counts(&truth, Analog::Pt1));
    bench.instruments.set_loop(Analog::Pt1, LoopHealth::Open);
    assert!(f64::from(bench.counts(&truth, Analog::Pt1)) < counts_of(3.6));
    bench.instruments.set_loop(Analog::Pt1, LoopHealth::Short);
    assert!(f64::from(bench.counts(&truth, Analog::Pt1)) > counts_of(21.0));
    bench.instruments.set_loop(Analog::Pt1, LoopHealth::Good);
    let mended = f64::from(bench.counts(&truth, Analog::Pt1));
    // Each of the two carries noise of 1.25 counts up to 3.5 sigma.
    assert!((mended - before).abs() < 10.0, "{before} counts before, {mended} after");
}

#[test]
fn a_frozen_converter_repeats_itself_while_the_process_moves() {
    let mut bench = Bench::new(&InstrumentSpec::default(), 5);
    let last = bench.counts(&Truth::default(), Analog::Pt1);
    bench.instruments.set_loop(Analog::Pt1, LoopHealth::Frozen);
    let moved = Truth { p_vessel: 12e5, ..Truth::default() };
    for _ in 0..100 {
        assert_eq!(bench.counts(&moved, Analog::Pt1), last);
    }
}

#[test]
fn a_step_is_followed_by_the_exact_exponential() {
    let inputs = [(Analog::Tt1, 20.0), (Analog::Tt2, 5.0), (Analog::Tt4, 60.0)];
    let at = |kelvin| Truth { t_vessel_wall: kelvin, t_discharge: kelvin, t_ambient: kelvin, ..Truth::default() };
    let mut bench = Bench::new(&ideal(), 1);
    bench.scan(&at(293.15));
    for scan in 1..=2400_u32 {
        let frame = bench.scan(&at(353.15)).clone();
        let t = f64::from(scan) * SCAN_S;
        for (input, tau) in inputs {
            let kelvin = 293.15 + 60.0 * (1.0 - (-t / tau).exp());
            let expected = counts_of(4.0 + 16.0 * (kelvin - 233.15) / 200.0);
            let counts = f64::from(frame.analog[input as usize]);
            assert!((counts - expected).abs() < 0.501, "{input:?} at {t} s: {counts} for {expected}");
        }
    }
}

#[test]
fn the_lag_does_not_depend_on_the_scan_time() {
    let hot = Truth { t_vessel_wall: 353.15, ..Truth::default() };
    let after_10_s = [0.01, 0.05, 0.1].map(|dt: f64| {
        let mut instruments = Instruments::new(&ideal(), 1);
        let mut frame = RawFrame::default();
        instruments.frame(0.0, dt, &Truth::default(), &Outputs::default(), None, &mut frame);
        for _ in 0..(10.0 / dt).round() as u32 {
            instruments.frame(0.0, dt, &hot, &Outputs::default(), None, &mut frame);
        }
        frame.analog[Analog::Tt1 as usize]
    });
    assert!(after_10_s.iter().all(|counts| counts.abs_diff(after_10_s[0]) <= 1), "{after_10_s:?}");
}

#[test]
fn equal_seeds_give_equal_frames_and_other_seeds_do_not() {
    let run = |seed| {
        let mut bench = Bench::new(&InstrumentSpec::default(), seed);
        let truth = Truth { motors_running: true, ..Truth::default() };
        (0..500).map(|_| bench.scan(&truth).clone()).collect::<Vec<_>>()
    };
    assert_eq!(run(42), run(42));
    assert_ne!(run(42), run(43));
}

#[test]
fn noise_has_the_stated_mean_spread_and_no_memory() {
    let mut noise = Noise::new(11);
    let draws: Vec<f64> = (0..200_000).map(|_| noise.gauss()).collect();
    let n = draws.len() as f64;
    let mean = draws.iter().sum::<f64>() / n;
    let variance = draws.iter().map(|v| v * v).sum::<f64>() / n;
    let lag_one = draws.windows(2).map(|w| w[0] * w[1]).sum::<f64>() / n;
    let within_one = draws.iter().filter(|v| v.abs() < 1.0).count() as f64 / n;
    // Bounds are five standard errors: 1/sqrt(n) for mean and correlation, sqrt(2/n) for the variance.
    assert!(mean.abs() < 5.0 / n.sqrt(), "mean {mean}");
    assert!((variance - 1.0).abs() < 5.0 * (2.0 / n).sqrt(), "variance {variance}");
    assert!(lag_one.abs() < 5.0 / n.sqrt(), "correlation {lag_one}");
    // Share of a normal distribution within one standard deviation, erf(1/sqrt 2) = 0.68269; one cell of the table is 0.001.
    assert!((within_one - 0.682_69).abs() < 0.001 + 5.0 * (0.2166 / n).sqrt(), "share {within_one}");
    assert!(draws.iter().all(|v| v.abs() < 3.6));
}

#[test]
fn every_device_is_off_by_no_more_than_its_class_and_fills_it() {
    let (mut worst, mut least) = (0.0_f64, f64::MAX);
    for seed in 0..300 {
        let mut bench = Bench::new(&InstrumentSpec::default(), seed);
        let scans = 400;
        let total: f64 = (0..scans).map(|_| f64::from(bench.counts(&Truth::default(), Analog::Pt1))).sum();
        let pascal = (total / f64::from(scans) - counts_of(4.0)) / counts_of(16.0) * 35e5;
        let share = (pascal - 5.9e5).abs() / (1750.0 + 0.5e-3 * 5.9e5);
        (worst, least) = (worst.max(share), least.min(share));
    }
    // Room for the noise that 400 scans leave: 100 Pa / 20, four times, on a class of 2045 Pa.
    assert!(worst < 1.01, "worst error is {worst} of the class");
    assert!(worst > 0.8 && least < 0.1, "errors should fill the class, not cluster: {least} to {worst}");
}

#[test]
fn level_and_pressure_contacts_have_hysteresis() {
    let mut bench = Bench::new(&InstrumentSpec::default(), 1);
    let mut closed = |pressure: f64| {
        let truth = Truth { p_discharge: pressure, ..Truth::default() };
        bench.scan(&truth).switches.closed(Switches::PSH1_HEALTHY)
    };
    assert!(closed(24.9e5), "below 24 bar gauge");
    assert!(!closed(25.1e5), "above 24 bar gauge");
    assert!(!closed(22.0e5), "still open inside the hysteresis");
    assert!(closed(20.9e5), "closed again below it");

    let mut bench = Bench::new(&InstrumentSpec::default(), 1);
    let mut levels = |level: f64| {
        let truth = Truth { separator_level: level, used_oil_level: level, ..Truth::default() };
        let switches = bench.scan(&truth).switches;
        (switches.closed(Switches::LS1_NOT_FULL), switches.closed(Switches::LS2_NOT_HIGH))
    };
    assert_eq!(levels(0.85), (true, false));
    assert_eq!(levels(0.95), (false, false));
    assert_eq!(levels(0.75), (true, false), "LS-1 closes again at 80 %, LS-2 only at 70 %");
    assert_eq!(levels(0.65), (true, true));
}

/// A diaphragm with the air around it on one side: the same over the barometer at sea level and at 0.81 bar.
#[test]
fn the_pump_inlet_switch_opens_and_closes_over_the_barometer_of_the_day() {
    for barometer in [1.013_25e5, 0.81e5] {
        let mut bench = Bench::new(&InstrumentSpec::default(), 1);
        let mut closed = |over: f64| {
            let truth = Truth { p_pump_inlet: barometer + over, barometer, ..Truth::default() };
            bench.scan(&truth).switches.closed(Switches::PSH2_HEALTHY)
        };
        assert!(closed(-barometer) && closed(0.0) && closed(0.199e5), "{barometer} Pa: below 0.20 bar over it");
        assert!(!closed(0.201e5), "{barometer} Pa");
        assert!(!closed(0.101e5), "{barometer} Pa: still open inside the hysteresis");
        assert!(closed(0.099e5) && closed(0.199e5), "{barometer} Pa: closed again below it");
    }
}

#[test]
fn both_emergency_stop_channels_open_and_door_and_couplers_show() {
    let mut bench = Bench::new(&InstrumentSpec::default(), 1);
    assert_eq!(bench.scan(&Truth { estop_pressed: true, ..Truth::default() }).switches.0 & 0xC0, 0);
    let open = bench.scan(&Truth { door_shut: false, coupled: false, ..Truth::default() }).switches;
    assert!(!open.closed(Switches::ZS1_DOOR_SHUT) && !open.closed(Switches::ZS2_COUPLED));
    assert_eq!(bench.scan(&Truth::default()).switches.0, Switches::ALL);
}

#[test]
fn the_flow_switch_follows_the_fan_with_its_lags() {
    let spec = InstrumentSpec::default();
    let mut bench = Bench::new(&spec, 1);
    assert!(!bench.scan(&Truth { fan_on: false, ..Truth::default() }).switches.closed(Switches::FSL1_FLOW));
    let closes = (1..400).find(|_| bench.scan(&Truth::default()).switches.closed(Switches::FSL1_FLOW));
    let seen = f64::from(closes.expect("the contact closes")) * SCAN_S;
    // Two lags in series, 0.8 s and 1.0 s: 1 - (1.0 e^(-t/1.0) - 0.8 e^(-t/0.8)) / 0.2 = 0.6 at t = 1.816 s; the vane
    // sees the rotor of the same scan, which is up to two scans early.
    assert!((seen - 1.816).abs() < 0.11, "closed after {seen} s");
    for _ in 0..400 {
        bench.scan(&Truth::default());
    }
    assert!((bench.instruments.fan_rpm() - spec.fan.nominal_rpm).abs() < 1.0);
    let weak = Truth { fan_rpm: 0.45 * spec.fan.nominal_rpm, ..Truth::default() };
    let closed = (0..400).map(|_| bench.scan(&weak).switches.closed(Switches::FSL1_FLOW)).last();
    assert_eq!(closed, Some(false), "a fan at 45 % of its speed proves no flow");
}
