//! Scales: two-point calibration, converter faults, filter lag, rate, stillness, shock.

use valvewright_core::frame::{RawFrame, Scale, ScaleSample};
use valvewright_core::sense::scale::{CalError, REFERENCE, ScaleCal, Weigher};
use valvewright_core::sense::{Broken, Doubt, Quality, Sense, SenseConfig, Weight};
use valvewright_core::units::{Instant, Milligram, MilligramPerS, Millis};

const SCAN: u32 = 50;

/// The reference vessel scale: zero at code 100 000, 5 mg per code.
fn code_for_gram(gram: f64) -> i32 {
    100_000 + (gram * 200.0).round() as i32
}

struct Rig {
    weigher: Weigher,
    now: Instant,
    sequence: u8,
}

impl Rig {
    fn new() -> Self {
        Self { weigher: Weigher::NEW, now: Instant(u32::MAX - 1_000), sequence: 250 }
    }
    fn raw(&mut self, code: i32, fresh: bool) -> Weight {
        self.now = self.now.after(Millis(SCAN));
        self.sequence = self.sequence.wrapping_add(u8::from(fresh));
        self.weigher.step(self.now, ScaleSample { code, sequence: self.sequence }, &REFERENCE[0], &mut true)
    }
    fn gram(&mut self, gram: f64) -> Weight {
        self.raw(code_for_gram(gram), true)
    }
    fn rest(&mut self, gram: f64, scans: usize) -> Weight {
        (0..scans).map(|_| self.gram(gram)).last().expect("at least one scan")
    }
}

fn good_cal(zero: i32, span: i32, kilogram: i32) -> ScaleCal {
    ScaleCal::new(zero, span, Milligram::from_grams(kilogram * 1_000), Milligram::ZERO).expect("sound points")
}

/// Shows W35.
#[test]
fn two_point_line_matches_worked_examples() {
    let mut rows = 0;
    for line in include_str!("../data/sense/two_point.csv").lines().filter(|l| !l.starts_with('#')) {
        let cells: Vec<f64> = line.split(',').map(|c| c.parse().expect("number")).collect();
        let cal = good_cal(cells[0] as i32, cells[1] as i32, (cells[2] / 1_000.0) as i32);
        let shown = f64::from(cal.gross(cells[3] as i32).0) / 1_000.0;
        assert!((shown - cells[4]).abs() <= 0.05, "{line}: {shown} g");
        rows += 1;
    }
    assert_eq!(rows, 4);
}

/// The integer line against exact rational arithmetic over the whole converter range.
#[test]
fn line_is_exact_to_a_milligram_over_the_converter_range() {
    for (zero, span, kilogram) in [(100_000, 5_100_000, 25), (-8_000_000, 8_000_000, 40), (700_000, -4_300_000, 25)] {
        let cal = good_cal(zero, span, kilogram);
        for code in (-8_388_607..=8_388_607).step_by(77_777) {
            let exact = i128::from(code - zero) * i128::from(kilogram) * 1_000_000 / i128::from(span - zero);
            let shown = i128::from(cal.gross(code).0);
            assert!((shown - exact).abs() <= 1, "zero {zero} span {span} code {code}: {shown} mg, exact {exact} mg");
        }
    }
}

#[test]
fn tare_is_taken_off_and_kept_by_a_new_calibration() {
    let old = good_cal(100_000, 5_100_000, 25).with_tare(Milligram::from_grams(9_000));
    assert_eq!(old.net(code_for_gram(12_500.0)), Milligram::from_grams(3_500));
    let fresh = ScaleCal::calibrate(101_000, 5_101_000, Milligram::from_grams(25_000), Some(&old)).unwrap();
    assert_eq!(fresh.tare(), Milligram::from_grams(9_000));
}

/// Interlock I21: 2 % is taken, a hair more is not, in both directions.
/// Shows F027, F109.
#[test]
fn calibration_that_moves_the_span_too_far_is_refused() {
    let old = good_cal(0, 1_000_000, 5);
    let with_span = |code| ScaleCal::calibrate(0, code, Milligram::from_grams(5_000), Some(&old));
    assert!(with_span(980_400).is_ok() && with_span(1_020_400).is_ok());
    assert_eq!(with_span(979_000), Err(CalError::SpanMoved(21)));
    assert_eq!(with_span(1_022_000), Err(CalError::SpanMoved(-21)));
    assert!(matches!(with_span(-1_000_000), Err(CalError::SpanMoved(_))), "bridge wired the other way round");
}

#[test]
fn calibration_without_a_usable_span_is_refused() {
    let points = |zero, span, mg| ScaleCal::calibrate(zero, span, Milligram(mg), None);
    assert_eq!(points(100_000, 100_000, 5_000_000), Err(CalError::NoSpan));
    assert_eq!(points(100_000, 100_010, 5_000_000), Err(CalError::NoSpan));
    assert_eq!(points(0, 8_388_607, 5_000_000), Err(CalError::Rail));
    assert_eq!(points(-8_388_608, 0, 5_000_000), Err(CalError::Rail));
    assert_eq!(points(0, 1_000_000, 0), Err(CalError::Mass(Milligram(0))));
    assert_eq!(points(0, 1_000_000, -5_000_000), Err(CalError::Mass(Milligram(-5_000_000))));
}

#[test]
fn zero_must_return_after_calibration() {
    let cal = good_cal(100_000, 5_100_000, 25);
    assert_eq!(cal.zero_returns(100_200, Milligram(1_000)), Ok(()));
    assert_eq!(cal.zero_returns(99_000, Milligram(1_000)), Err(CalError::ZeroMoved(Milligram(-5_000))));
}

/// Shows F029.
#[test]
fn frozen_converter_is_bad_on_the_fifth_scan() {
    let mut rig = Rig::new();
    rig.rest(1_000.0, 20);
    let qualities: Vec<Quality> = (0..5).map(|_| rig.raw(code_for_gram(1_000.0), false).mass.quality).collect();
    assert_eq!(qualities[0], Quality::Good, "a converter may deliver every second scan only");
    assert_eq!(qualities[1..4], [100, 150, 200].map(|age| Quality::Held(Millis(age))));
    assert_eq!(qualities[4], Quality::Bad(Broken::Frozen));
    assert_eq!(rig.gram(1_000.0).mass.quality, Quality::Good);
}

#[test]
fn conversion_every_second_scan_is_good_all_the_time() {
    let mut rig = Rig::new();
    for k in 0..100 {
        let shown = rig.raw(code_for_gram(1_000.0), k % 2 == 0);
        assert_eq!(shown.mass.quality, Quality::Good);
    }
    assert!(rig.raw(code_for_gram(1_000.0), true).still);
}

/// Shows F022.
#[test]
fn railed_converter_is_bad_on_the_third_conversion() {
    let mut rig = Rig::new();
    let before = rig.rest(1_000.0, 20);
    for rail in [8_388_607, -8_388_608] {
        assert!(matches!(rig.raw(rail, true).mass.quality, Quality::Held(_)));
        assert!(matches!(rig.raw(rail, true).mass.quality, Quality::Held(_)));
        let bad = rig.raw(rail, true);
        assert_eq!(bad.mass.quality, Quality::Bad(Broken::Rail));
        assert_eq!(bad.mass.value, before.mass.value, "the last good value stays to be shown");
        assert!(!bad.still);
        rig.rest(1_000.0, 60);
    }
}

/// After a repair the old level means nothing, and the new one is not believed before it was quiet for two seconds.
#[test]
fn scale_back_from_its_rail_starts_at_the_new_level() {
    let mut rig = Rig::new();
    rig.rest(1_000.0, 60);
    (0..5).for_each(|_| {
        rig.raw(8_388_607, true);
    });
    let back = rig.gram(4_000.0);
    assert_eq!(back.mass.value, Milligram::from_grams(4_000));
    assert_eq!(back.mass.quality, Quality::Uncertain(Doubt::Unsteady));
    assert_eq!(rig.rest(4_000.0, 45).mass.quality, Quality::Good);
}

#[test]
fn scale_that_was_railed_from_the_start_is_bad_and_recovers() {
    let mut rig = Rig::new();
    assert_eq!(rig.raw(8_388_607, true).mass.quality, Quality::None);
    rig.raw(8_388_607, true);
    assert_eq!(rig.raw(8_388_607, true).mass.quality, Quality::Bad(Broken::Rail));
    let shown = rig.rest(1_000.0, 60);
    assert_eq!((shown.mass.value, shown.mass.quality), (Milligram::from_grams(1_000), Quality::Good));
}

/// 12 g/s for 10 s: the rate is right, and the mass lags by the 250 ms the module states.
#[test]
fn ramp_shows_its_rate_and_the_stated_lag() {
    let mut rig = Rig::new();
    rig.rest(5_000.0, 60);
    let mut shown = Weight::default();
    let mut truth = 5_000.0;
    for _ in 0..200 {
        truth -= 0.6;
        shown = rig.gram(truth);
    }
    let stated = f64::from(REFERENCE[0].lag(Millis(SCAN)).0) / 1_000.0;
    assert_eq!(stated, 0.25);
    let lag_s = (f64::from(shown.mass.value.0) / 1_000.0 - truth) / 12.0;
    assert!((lag_s - stated).abs() < 0.01, "lag {lag_s} s");
    assert!((shown.rate.0 + 12_000).abs() <= 20, "rate {:?}", shown.rate);
    assert_eq!(shown.mass.quality, Quality::Good, "flow is not shock");
    assert!(!shown.still);
}

#[test]
fn rest_is_still_after_two_seconds_and_small_noise_keeps_it_still() {
    let mut rig = Rig::new();
    assert!(!rig.rest(5_000.0, 38).still, "too early: the window is not full");
    assert!(rig.rest(5_000.0, 10).still);
    for k in 0..60 {
        // +-1 g, alternating: the filter leaves little of it.
        assert!(rig.gram(5_000.0 + if k % 2 == 0 { 1.0 } else { -1.0 }).still, "scan {k}");
    }
    assert_eq!(rig.rest(5_000.0, 80).rate, MilligramPerS::ZERO);
}

/// A creep of 1 g/s is more than 1.5 g in two seconds.
#[test]
fn creeping_mass_is_not_still() {
    let mut rig = Rig::new();
    rig.rest(5_000.0, 60);
    let mut shown = Weight::default();
    for k in 0..60 {
        shown = rig.gram(5_000.0 + f64::from(k) * 0.05);
    }
    assert!(!shown.still);
}

/// Fault F025: +-500 g for 300 ms. Uncertain at the second conversion, quiet for 2 s before it is believed again.
/// Shows F025.
#[test]
fn shock_is_uncertain_until_quiet_for_two_seconds() {
    let mut rig = Rig::new();
    rig.rest(5_000.0, 60);
    assert_eq!(
        rig.gram(5_500.0).mass.quality,
        Quality::Good,
        "one conversion may be a spike, which the median takes out"
    );
    for _ in 0..5 {
        assert_eq!(rig.gram(5_500.0).mass.quality, Quality::Uncertain(Doubt::Unsteady));
    }
    let quiet = (1..100).find(|_| rig.gram(5_000.0).mass.quality == Quality::Good).expect("believed again");
    assert!((40..=60).contains(&quiet), "{quiet} scans");
}

#[test]
fn single_spike_leaves_no_trace_in_the_mass() {
    let mut rig = Rig::new();
    let before = rig.rest(5_000.0, 60);
    let weighed = |w: Weight| (w.mass, w.rate, w.still);
    assert_eq!(weighed(rig.gram(5_500.0)), weighed(before));
    assert_eq!(weighed(rig.rest(5_000.0, 10)), weighed(before));
}

/// A new calibration acts in the next scan and is no jump, no rate, no movement.
#[test]
fn new_calibration_moves_the_mass_but_not_the_rate() {
    let mut cfg = SenseConfig::DEFAULT;
    let mut sense = Sense::new(&cfg);
    let mut scan = 0u32;
    let mut read = |cfg: &SenseConfig| {
        scan += 1;
        let mut frame = RawFrame::default();
        frame.scales[0] = ScaleSample { code: code_for_gram(10_000.0), sequence: scan as u8 };
        (sense.read(Instant(scan * SCAN), &frame, cfg).wt1a, sense.scale_code(Scale::Wt1A))
    };
    for _ in 0..60 {
        read(&cfg);
    }
    cfg.scales[0].cal = cfg.scales[0].cal.with_tare(Milligram::from_grams(4_000));
    let (shown, code) = read(&cfg);
    assert_eq!(shown.mass.value, Milligram::from_grams(6_000));
    assert_eq!(shown.mass.quality, Quality::Good);
    assert!(shown.still && shown.rate == MilligramPerS::ZERO);
    assert_eq!(code, Some(code_for_gram(10_000.0)));
}

/// Scales that began in the same scan take turns with their rare work; with slow scans there are not turns for all.
#[test]
fn every_scale_shows_its_rate_in_time_whatever_the_others_do() {
    for (scan, every) in [(50, 1), (50, 2), (100, 1), (100, 2), (10, 5)] {
        let cfg = SenseConfig::for_scan(Millis(scan));
        let mut sense = Sense::new(&cfg);
        let (mut now, mut shown) = (Instant(u32::MAX - 1_500), [None; 4]);
        let scans = 6_000 / scan;
        for n in 0..scans {
            now = now.after(Millis(scan));
            let sample = ScaleSample { code: 200_000 + 20 * (n * scan) as i32, sequence: (n / every) as u8 };
            let r = sense.read(now, &RawFrame { scales: [sample; 4], ..RawFrame::default() }, &cfg);
            for (shown, scale) in shown.iter_mut().zip([r.wt1a, r.wt1b, r.wt2, r.wt3]) {
                if scale.rate.0 != 0 {
                    shown.get_or_insert(n * scan);
                }
            }
            if n == scans - 1 {
                // 20 000 codes a second at 5 mg and at 0.5 mg per code; a rate is that of a second or more.
                for (scale, expected) in [(r.wt1a, 100_000), (r.wt1b, 100_000), (r.wt2, 10_000), (r.wt3, 10_000)] {
                    let off = (scale.rate.0 - expected).abs();
                    assert!(off <= expected / 100, "{scan} ms, each {every}: {} mg/s", scale.rate.0);
                }
            }
        }
        for (scale, shown) in shown.iter().enumerate() {
            // Five parts of a quarter second, each late by less than a quarter.
            assert!(shown.is_some_and(|at| at <= 2_200), "{scan} ms, each {every}, scale {scale}: {shown:?}");
        }
    }
}
