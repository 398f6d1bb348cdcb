//! Broken loops, scales and contacts: each does what it says while it lasts, and mending gives back the healthy device.
//!
//! A healthy twin of the same seed sees the same truth; what the broken one differs by is the fault alone, noise and all.

use valvewright_core::frame::{Analog, COUNTS_AT_24_MA, Outputs, RawFrame, Scale, Switches};
use valvewright_sim::instrument::{
    ContactHealth, InstrumentSpec, Instruments, LoopHealth, ScaleHealth, ScaleSpec, Truth,
};

const SCAN_S: f64 = 0.05;
const SEED: u64 = 9;
/// Counts of the vessel scale for a gram, own error of the device left out.
const PER_GRAM: f64 = ScaleSpec::VESSEL.counts_per_gram;

/// A device and its healthy twin.
struct Pair {
    broken: Instruments,
    twin: Instruments,
}

impl Pair {
    fn new() -> Self {
        let made = || Instruments::new(&InstrumentSpec::default(), SEED);
        Self { broken: made(), twin: made() }
    }

    /// The frames of one scan, the broken one first.
    fn scan(&mut self, truth: &Truth) -> [RawFrame; 2] {
        [&mut self.broken, &mut self.twin].map(|devices| {
            let mut frame = RawFrame::default();
            devices.frame(0.0, SCAN_S, truth, &Outputs::default(), None, &mut frame);
            frame
        })
    }

    /// What WT-1 shows more than its twin, g.
    fn more_grams(&mut self, truth: &Truth) -> f64 {
        let [broken, twin] = self.scan(truth).map(|frame| f64::from(frame.scales[Scale::Wt1A as usize].code));
        (broken - twin) / PER_GRAM
    }

    /// What this loop shows more than its twin, in its unit, over a range `span` at 16 mA.
    fn more(&mut self, input: Analog, span: f64) -> f64 {
        let [broken, twin] = self.scan(&Truth::default()).map(|frame| f64::from(frame.analog[input as usize]));
        (broken - twin) / (16.0 / 24.0 * f64::from(COUNTS_AT_24_MA)) * span
    }
}

/// Within a code of 5 mg at either end and the gain class of 0.02 %.
fn near(got: f64, expected: f64) -> bool {
    (got - expected).abs() <= 0.011 + 0.3e-3 * expected.abs()
}

#[test]
fn a_stuck_code_goes_on_counting_conversions() {
    let mut pair = Pair::new();
    let [before, _] = pair.scan(&Truth::default()).map(|frame| frame.scales[Scale::Wt1A as usize]);
    pair.broken.set_scale(Scale::Wt1A, ScaleHealth::Stuck);
    let mut last = before.sequence;
    for _ in 0..300 {
        let [stuck, twin] = pair.scan(&Truth { m_vessel_kg: 7.0, ..Truth::default() }).map(|f| f.scales[0]);
        assert_eq!(stuck.code, before.code);
        assert_eq!(stuck.sequence, last.wrapping_add(1), "a dead sequence number would give it away");
        assert_eq!(stuck.sequence, twin.sequence);
        last = stuck.sequence;
    }
}

#[test]
fn gain_halves_the_whole_code_and_span_only_the_load() {
    let mut pair = Pair::new();
    let half = |spec: f64, gram: f64| (0.5 * (spec + PER_GRAM * gram) - spec) / PER_GRAM - gram;
    pair.broken.set_scale(Scale::Wt1A, ScaleHealth::Gain(0.5));
    for gram in [0.0, 3000.0, 9000.0] {
        let truth = Truth { m_vessel_kg: gram * 1e-3, p_charge_line: 0.0, t_ambient: 293.15, ..Truth::default() };
        (0..200).for_each(|_| drop(pair.scan(&truth)));
        let more = pair.more_grams(&truth);
        let expected = half(ScaleSpec::VESSEL.zero_code, gram);
        // Creep of 0.03 % and half of the noise of 0.15 g, 3.5 sigma.
        assert!((more - expected).abs() < 0.3 + 0.5e-3 * gram, "{more} g for {expected} g at {gram} g");
    }
    pair.broken.set_scale(Scale::Wt1A, ScaleHealth::Span(-0.05));
    for gram in [0.0, 3000.0, 9000.0] {
        let truth = Truth { m_vessel_kg: gram * 1e-3, p_charge_line: 0.0, t_ambient: 293.15, ..Truth::default() };
        (0..200).for_each(|_| drop(pair.scan(&truth)));
        let more = pair.more_grams(&truth);
        assert!((more + 0.05 * gram).abs() < 0.1 + 0.5e-3 * gram, "{more} g at {gram} g");
    }
}

#[test]
fn a_drift_grows_with_time_whatever_the_pace_of_conversions_and_begins_anew() {
    for (scale, per_gram) in [(Scale::Wt1A, PER_GRAM), (Scale::Wt3, ScaleSpec::OIL.counts_per_gram)] {
        let mut pair = Pair::new();
        let more = |pair: &mut Pair, scans: u32| {
            let mut last = 0.0;
            for _ in 0..scans {
                let [broken, twin] = pair.scan(&Truth::default()).map(|f| f64::from(f.scales[scale as usize].code));
                last = (broken - twin) / per_gram;
            }
            last
        };
        more(&mut pair, 10);
        for _ in 0..2 {
            pair.broken.set_scale(scale, ScaleHealth::Drift(0.3));
            let grown = more(&mut pair, 1200);
            assert!((grown - 18.0).abs() < 0.05, "{scale:?}: {grown} g after a minute of 0.3 g/s");
        }
        pair.broken.set_scale(scale, ScaleHealth::Good);
        assert_eq!(more(&mut pair, 4), 0.0, "{scale:?} mended");
    }
}

#[test]
fn a_step_stands_until_it_is_mended() {
    let mut pair = Pair::new();
    pair.scan(&Truth::default());
    pair.broken.set_scale(Scale::Wt1A, ScaleHealth::Step(50.0));
    for _ in 0..100 {
        let more = pair.more_grams(&Truth::default());
        assert!(near(more, 50.0), "{more} g");
    }
    pair.broken.set_scale(Scale::Wt1A, ScaleHealth::Good);
    assert_eq!(pair.more_grams(&Truth::default()), 0.0);
}

#[test]
fn a_loop_stuck_at_a_value_rustles_around_it_and_says_nothing_of_the_truth() {
    let mut pair = Pair::new();
    pair.broken.set_loop(Analog::Pt4, LoopHealth::Stuck { at: 200.0, noise: 1.0 });
    let counts_per_pascal = 16.0 / 24.0 * f64::from(COUNTS_AT_24_MA) / 1e4;
    let shown: Vec<f64> = (0..20_000)
        .map(|scan| {
            let truth = Truth { p_vacuum: f64::from(scan % 9000), ..Truth::default() };
            f64::from(pair.scan(&truth)[0].analog[Analog::Pt4 as usize]) / counts_per_pascal - 2500.0
        })
        .collect();
    let n = shown.len() as f64;
    let mean = shown.iter().sum::<f64>() / n;
    let deviation = (shown.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n).sqrt();
    // The device's own class: 5 Pa and 1 %. Rounding to counts of 0.23 Pa adds little to the noise.
    assert!((mean - 200.0).abs() < 7.0, "{mean} Pa");
    assert!((deviation - 1.0).abs() < 0.05, "{deviation} Pa");
}

/// Shows LS5.
#[test]
fn offset_gain_and_drift_of_a_loop_add_to_its_reading_and_go_when_mended() {
    let mut pair = Pair::new();
    let span = 35e5;
    // Two roundings of 80 Pa, and the gain class of 0.05 %.
    let close = |got: f64, expected: f64| (got - expected).abs() < 170.0 + 1e-3 * expected.abs();
    assert_eq!(pair.more(Analog::Pt2, span), 0.0);
    pair.broken.set_loop(Analog::Pt2, LoopHealth::Offset(-1e5));
    let more = pair.more(Analog::Pt2, span);
    assert!(close(more, -1e5), "{more} Pa");
    pair.broken.set_loop(Analog::Pt2, LoopHealth::Gain(0.5));
    let more = pair.more(Analog::Pt2, span);
    assert!(close(more, -0.5 * Truth::default().p_low), "{more} Pa");
    pair.broken.set_loop(Analog::Pt2, LoopHealth::Drift(1e3));
    let last = (0..600).map(|_| pair.more(Analog::Pt2, span)).last().expect("scans");
    assert!(close(last, 30e3), "{last} Pa after 30 s of 1 kPa/s");
    pair.broken.set_loop(Analog::Pt2, LoopHealth::Good);
    assert_eq!(pair.more(Analog::Pt2, span), 0.0);
}

#[test]
fn no_fault_of_a_sensor_drives_its_loop_out_of_the_band_of_a_healthy_one() {
    let mut pair = Pair::new();
    for (health, counts) in [(LoopHealth::Offset(-1e9), 10_377), (LoopHealth::Offset(1e9), 55_977)] {
        pair.broken.set_loop(Analog::Pt1, health);
        let [frame, _] = pair.scan(&Truth::default());
        assert_eq!(frame.analog[Analog::Pt1 as usize], counts, "{health:?}");
    }
}

#[test]
fn a_stuck_contact_does_not_follow_and_a_mended_one_does() {
    let mut pair = Pair::new();
    let still = Truth { fan_on: false, door_shut: false, ..Truth::default() };
    let seen = |pair: &mut Pair, truth: &Truth, mask: u16| pair.scan(truth)[0].switches.closed(mask);
    assert!(!seen(&mut pair, &still, Switches::FSL1_FLOW));
    pair.broken.set_contact(Switches::FSL1_FLOW, ContactHealth::StuckClosed);
    pair.broken.set_contact(Switches::ZS2_COUPLED, ContactHealth::StuckOpen);
    assert!(seen(&mut pair, &still, Switches::FSL1_FLOW));
    assert!(!seen(&mut pair, &still, Switches::ZS2_COUPLED), "coupled, and not seen");
    assert!(!seen(&mut pair, &still, Switches::ZS1_DOOR_SHUT), "others follow");
    pair.broken.set_contact(Switches::FSL1_FLOW | Switches::ZS2_COUPLED, ContactHealth::Good);
    let [broken, twin] = pair.scan(&still);
    assert_eq!(broken.switches, twin.switches, "mended");
    assert!(!broken.switches.closed(Switches::FSL1_FLOW) && broken.switches.closed(Switches::ZS2_COUPLED));
}
