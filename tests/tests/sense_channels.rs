//! Transmitters: NE 43 bands, three-scan confirmation, filter lag, noise; and switches by majority.

use proptest::prelude::*;
use valvewright_core::frame::{ANALOG_COUNT, Analog, RawFrame, Switches};
use valvewright_core::sense::analog::SATURATED_HIGH;
use valvewright_core::sense::{Broken, Doubt, Quality, Reading, Sense, SenseConfig};
use valvewright_core::units::{Instant, Millis};

const SCAN: u32 = 50;

/// Counts that a perfect 4-20 mA transmitter of 0-35 bar delivers, in f64 so that the integer arithmetic is not its own judge.
fn counts_for_pascal(pascal: f64) -> u16 {
    let milliampere = 4.0 + 16.0 * pascal / 3_500_000.0;
    (milliampere / 24.0 * 65_535.0).round() as u16
}

/// A station whose PT-1 gets the counts under test; all other inputs rustle about 12 mA by one count once a second, as live ones do.
struct Rig {
    sense: Sense,
    cfg: SenseConfig,
    now: Instant,
    scan: u32,
    scans: u32,
}

impl Rig {
    fn new(start: u32) -> Self {
        let cfg = SenseConfig::DEFAULT;
        Self { sense: Sense::new(&cfg), cfg, now: Instant(start), scan: SCAN, scans: 0 }
    }
    fn step(&mut self, counts: u16) -> Reading<i32> {
        self.now = self.now.after(Millis(self.scan));
        self.scans += 1;
        let rustle = u16::from(self.scans.is_multiple_of(20));
        let mut frame = RawFrame { analog: [32_768 + rustle; ANALOG_COUNT], ..RawFrame::default() };
        frame.analog[Analog::Pt1 as usize] = counts;
        let readings = self.sense.read(self.now, &frame, &self.cfg);
        assert_eq!(readings.pt2.quality, Quality::Good, "one lane must not disturb another");
        Reading { value: readings.pt1.value.0, quality: readings.pt1.quality }
    }
    fn hold(&mut self, counts: u16, scans: usize) -> Reading<i32> {
        (0..scans).map(|_| self.step(counts)).last().expect("at least one scan")
    }
}

#[test]
fn bands_are_those_of_ne43() {
    let table = include_str!("../data/sense/ne43.csv");
    let mut rows = 0;
    for line in table.lines().filter(|l| !l.starts_with('#')) {
        let mut cells = line.split(',');
        let counts: u16 = cells.next().unwrap().parse().unwrap();
        let milliampere: f64 = cells.next().unwrap().parse().unwrap();
        assert!(
            (f64::from(counts) * 24.0 / 65_535.0 - milliampere).abs() < 1e-5,
            "the file is at odds with itself: {line}"
        );
        let expected = match cells.next().unwrap() {
            "under" => Quality::Bad(Broken::Under),
            "over" => Quality::Bad(Broken::Over),
            "saturated" => Quality::Uncertain(Doubt::Saturated),
            "good" => Quality::Good,
            other => panic!("unknown quality {other}"),
        };
        let mut rig = Rig::new(0);
        rig.hold(counts_for_pascal(600_000.0), 20);
        assert_eq!(rig.hold(counts, 5).quality, expected, "{line}");
        rows += 1;
    }
    assert_eq!(rows, 15);
}

#[test]
fn conversion_is_within_one_count_over_the_range() {
    for pascal in (0..=3_500_000).step_by(12_345) {
        let mut rig = Rig::new(0);
        let reading = rig.step(counts_for_pascal(f64::from(pascal)));
        // Half a count of rounding in the converter is 40 Pa.
        assert!((reading.value - pascal).abs() <= 41, "{pascal} Pa read as {}", reading.value);
    }
}

#[test]
fn one_bad_scan_is_held_with_its_age_and_loses_nothing() {
    let mut rig = Rig::new(0);
    let before = rig.hold(counts_for_pascal(600_000.0), 10);
    let glitch = rig.step(0);
    assert_eq!(glitch, Reading { value: before.value, quality: Quality::Held(Millis(SCAN)) });
    assert_eq!(rig.step(0).quality, Quality::Held(Millis(2 * SCAN)));
    assert_eq!(rig.step(counts_for_pascal(600_000.0)), before);
}

#[test]
fn bad_on_the_third_scan_and_good_again_on_the_third() {
    let mut rig = Rig::new(0);
    let sound = counts_for_pascal(600_000.0);
    rig.hold(sound, 10);
    assert_ne!(rig.hold(65_535, 2).quality, Quality::Bad(Broken::Over));
    assert_eq!(rig.step(65_535).quality, Quality::Bad(Broken::Over));
    // A new level after the repair: no memory of the old one.
    let repaired = counts_for_pascal(200_000.0);
    assert_eq!(rig.hold(repaired, 2).quality, Quality::Bad(Broken::Over));
    let back = rig.step(repaired);
    assert_eq!(back.quality, Quality::Good);
    assert!((back.value - 200_000).abs() <= 41, "{}", back.value);
}

/// Two of three scans faulty is a loose wire, even if never three in a row.
#[test]
fn intermittent_fault_becomes_bad() {
    let mut rig = Rig::new(0);
    let sound = counts_for_pascal(600_000.0);
    rig.hold(sound, 10);
    let went_bad = (0..8).any(|_| {
        rig.step(0);
        rig.step(0);
        rig.step(sound).is_bad()
    });
    assert!(went_bad);
}

#[test]
fn nothing_is_shown_before_the_first_sound_sample() {
    let mut rig = Rig::new(0);
    assert_eq!(rig.step(0).quality, Quality::None);
    let first = rig.step(counts_for_pascal(1_000_000.0));
    assert_eq!(first.quality, Quality::Good);
    assert!((first.value - 1_000_000).abs() <= 41);
}

/// A ramp of 1 bar/s: the lag is the shown deficit over the slope.
#[test]
fn filter_lags_less_than_a_quarter_second_at_every_scan_time() {
    for scan in [10, 25, 50, 100] {
        let cfg = SenseConfig::for_scan(Millis(scan));
        let mut rig = Rig { cfg, scan, ..Rig::new(0) };
        let mut deficit = 0.0;
        for k in 0..200u32 {
            let t = f64::from(k * scan) / 1_000.0;
            let truth = 100_000.0 + 100_000.0 * t;
            let shown = rig.step(counts_for_pascal(truth));
            deficit = truth - f64::from(shown.value);
        }
        let lag_ms = deficit / 100_000.0 * 1_000.0;
        assert!(lag_ms < 250.0, "scan {scan} ms: {lag_ms} ms");
        assert!(lag_ms > 0.5 * f64::from(scan), "no filter at all at scan {scan} ms");
    }
}

/// Shows F129.
#[test]
fn single_spike_inside_the_range_is_taken_out() {
    let mut rig = Rig::new(0);
    let level = counts_for_pascal(600_000.0);
    let calm = rig.hold(level, 20);
    assert_eq!(rig.step(counts_for_pascal(3_000_000.0)).value, calm.value);
    assert_eq!(rig.step(level).value, calm.value);
    assert_eq!(rig.step(level).value, calm.value);
}

/// A valve step is process, not noise; half a bar of white noise is not.
/// Shows F006.
#[test]
fn step_stays_good_and_noise_does_not() {
    let mut rig = Rig::new(0);
    rig.hold(counts_for_pascal(100_000.0), 20);
    for _ in 0..40 {
        assert_eq!(rig.step(counts_for_pascal(1_200_000.0)).quality, Quality::Good);
    }
    // Alternating +-0.5 bar around 12 bar: doubtful, and bad once it lasts (F006: 5 s).
    let mut roughs = |scans: u32| {
        for k in 0..scans {
            let off = if k % 2 == 0 { 50_000.0 } else { -50_000.0 };
            rig.step(counts_for_pascal(1_200_000.0 + off));
        }
        rig.step(counts_for_pascal(1_200_000.0)).quality
    };
    assert_eq!(roughs(20), Quality::Uncertain(Doubt::Jumpy));
    assert_eq!(roughs(80), Quality::Bad(Broken::Noisy));
    let calm = (0..100_u16).map(|k| rig.step(counts_for_pascal(1_200_000.0) + k % 2).quality);
    assert_eq!(calm.last(), Some(Quality::Good));
}

#[test]
fn vacuum_gauge_at_atmosphere_is_saturated_not_bad() {
    let mut rig = Rig::new(0);
    let reading = rig.hold(SATURATED_HIGH + 1_000, 10);
    assert_eq!(reading, Reading { value: 3_500_000, quality: Quality::Uncertain(Doubt::Saturated) });
    assert!(!reading.is_bad() && reading.usable().is_none());
}

#[test]
fn held_age_is_right_across_the_wrap_of_the_tick() {
    let mut rig = Rig::new(u32::MAX - 3 * SCAN);
    rig.hold(counts_for_pascal(600_000.0), 3);
    assert_eq!(rig.step(0).quality, Quality::Held(Millis(SCAN)));
}

/// Contacts that stop something open at once and close after three closed scans; the others change nothing by one scan of
/// bounce and show a real change one scan later. The first scan is taken as it is.
#[test]
fn stopping_switches_open_at_once_and_the_others_follow_the_majority_of_three() {
    const AT_ONCE: u16 = Switches::HS1_A_RELEASED
        | Switches::HS1_B_RELEASED
        | Switches::PSH1_HEALTHY
        | Switches::PSH2_HEALTHY
        | Switches::LS2_NOT_HIGH
        | Switches::ZS1_DOOR_SHUT;
    let cfg = SenseConfig::DEFAULT;
    let mut sense = Sense::new(&cfg);
    let mut at = 0;
    let mut read = |bits: u16| {
        at += SCAN;
        let frame = RawFrame { switches: Switches(bits), ..RawFrame::default() };
        sense.read(Instant(at), &frame, &cfg).switches.0
    };
    const ALL: u16 = Switches::ALL;
    assert_eq!(read(ALL), ALL);
    assert_eq!(read(0), ALL & !AT_ONCE);
    assert_eq!(read(ALL), ALL & !AT_ONCE);
    assert_eq!(read(ALL), ALL & !AT_ONCE);
    assert_eq!(read(ALL), ALL);
    assert_eq!(read(ALL - 1), ALL);
    assert_eq!(read(ALL - 1), ALL - 1);
}

/// A gauge whose offset is -1.75 kPa, its class, still shows the rise of a vacuum from 0.4 to 1.5 kPa.
#[test]
fn a_pressure_a_little_below_its_range_is_seen() {
    let mut rig = Rig::new(0);
    let counts = |pascal: f64| ((4.0 + 16.0 * pascal / 3.5e6) / 24.0 * 65_535.0).round() as u16;
    let mut shown = |pascal: f64| (0..100).map(|_| rig.step(counts(pascal)).value).last().unwrap_or(0);
    let (low, high) = (shown(-1_350.0), shown(-250.0));
    assert!((1_000..1_200).contains(&(high - low)), "{low} to {high} Pa");
    assert_eq!(shown(-20_000.0), -5_000);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    /// Whatever comes: the value stays in its range, and a sample in a fault band never looks good.
    /// Shows F104.
    #[test]
    fn any_counts_stay_in_range_and_faults_never_look_good(samples in prop::collection::vec(any::<u16>(), 1..80)) {
        let mut rig = Rig::new(u32::MAX - 1_000);
        for counts in samples {
            let reading = rig.step(counts);
            prop_assert!((-5_000..=3_500_000).contains(&reading.value), "{reading:?}");
            if !(9_831..57_344).contains(&counts) {
                prop_assert!(reading.quality != Quality::Good, "{counts} {reading:?}");
            }
        }
    }

    /// Same frames, same state and readings.
    #[test]
    fn reading_is_deterministic(samples in prop::collection::vec((any::<u16>(), any::<i32>(), any::<u8>(), any::<u16>()), 1..40)) {
        let cfg = SenseConfig::DEFAULT;
        let (mut a, mut b) = (Sense::new(&cfg), Sense::new(&cfg));
        for (k, (counts, code, sequence, switches)) in samples.into_iter().enumerate() {
            let mut frame = RawFrame { analog: [counts; ANALOG_COUNT], switches: Switches(switches), ..RawFrame::default() };
            frame.scales[0].code = code;
            frame.scales[0].sequence = sequence;
            let now = Instant(k as u32 * SCAN);
            prop_assert_eq!(a.read(now, &frame, &cfg), b.read(now, &frame, &cfg));
        }
        prop_assert_eq!(a, b);
    }
}
