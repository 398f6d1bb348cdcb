//! The scales as devices: counts per gram, lag, creep, hose force, drift, vibration and the conversion counter.

use valvewright_core::frame::{Outputs, RawFrame, Scale, ScaleSample};
use valvewright_sim::instrument::{InstrumentSpec, Instruments, ScaleHealth, ScaleSpec, Truth};

const SCAN_S: f64 = 0.05;

/// A scale with nothing but a gain; single effects are put back by the tests.
const PLAIN: ScaleSpec = ScaleSpec {
    counts_per_gram: 100.0,
    zero_code: 0.0,
    gain_class: 0.0,
    noise_g: 0.0,
    vibration_g: 0.0,
    lag_s: 0.0,
    creep_share: 0.0,
    drift_g_per_k: 0.0,
    hose_g_per_bar: 0.0,
    scans_per_conversion: 1,
    ..ScaleSpec::VESSEL
};

struct Bench {
    instruments: Instruments,
    frame: RawFrame,
}

impl Bench {
    fn new(vessel: ScaleSpec) -> Self {
        let spec =
            InstrumentSpec { scales: [vessel, vessel, ScaleSpec::OIL, ScaleSpec::OIL], ..InstrumentSpec::default() };
        Self { instruments: Instruments::new(&spec, 9), frame: RawFrame::default() }
    }
    fn scan(&mut self, truth: &Truth) -> ScaleSample {
        self.instruments.frame(0.0, SCAN_S, truth, &Outputs::default(), None, &mut self.frame);
        self.frame.scales[Scale::Wt1A as usize]
    }
    /// In gram, by the nominal counts.
    fn grams(&mut self, truth: &Truth) -> f64 {
        f64::from(self.scan(truth).code) / PLAIN.counts_per_gram
    }
}

fn holding(kilogram: f64) -> Truth {
    Truth { m_vessel_kg: kilogram, ..Truth::default() }
}

/// Mean and standard deviation.
fn spread(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    (mean, (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n).sqrt())
}

#[test]
fn a_hundred_counts_are_a_gram() {
    for (kilogram, code) in [(0.0, 0), (0.001, 100), (6.0, 600_000), (10.0, 1_000_000)] {
        assert_eq!(Bench::new(PLAIN).scan(&holding(kilogram)).code, code);
    }
    assert_eq!(Bench::new(ScaleSpec { zero_code: -4321.0, ..PLAIN }).scan(&holding(0.0)).code, -4321);
}

#[test]
fn a_step_is_followed_by_the_exact_exponential() {
    let mut bench = Bench::new(ScaleSpec { lag_s: 0.2, ..PLAIN });
    bench.scan(&holding(6.0));
    for scan in 1..=60 {
        let t = f64::from(scan) * SCAN_S;
        let expected = 6000.0 + 500.0 * (1.0 - (-t / 0.2).exp());
        let shown = bench.grams(&holding(6.5));
        assert!((shown - expected).abs() <= 0.0051, "{shown} g for {expected} g at {t} s");
    }
}

#[test]
fn a_stiff_hose_pushes_in_proportion_to_its_pressure() {
    let mut bench = Bench::new(ScaleSpec { hose_g_per_bar: 0.5, ..PLAIN });
    let at = |bar: f64| Truth { p_charge_line: bar * 1e5, ..holding(6.0) };
    let push = -bench.grams(&at(1.0)) + bench.grams(&at(9.0));
    assert!((push - 4.0).abs() < 0.011, "8 bar push with {push} g");
}

#[test]
fn creep_is_the_stated_share_and_takes_its_time() {
    let mut bench = Bench::new(ScaleSpec { creep_share: 0.3e-3, creep_s: 600.0, ..PLAIN });
    assert_eq!(bench.grams(&holding(0.0)), 0.0);
    let at_once = bench.grams(&holding(10.0));
    assert!((at_once - 10_000.0).abs() < 0.02, "{at_once} g at once");
    for _ in 0..(30 * 60 * 20 - 1) {
        bench.scan(&holding(10.0));
    }
    let crept = bench.grams(&holding(10.0)) - 10_000.0;
    let expected = 3.0 * (1.0 - (-1800.0_f64 / 600.0).exp());
    assert!((crept - expected).abs() < 0.011, "creep of {crept} g for {expected} g");
}

#[test]
fn warmth_moves_the_zero() {
    let mut bench = Bench::new(ScaleSpec { drift_g_per_k: 0.1, ..PLAIN });
    let shift = bench.grams(&Truth { t_ambient: 303.15, ..holding(6.0) }) - 6000.0;
    assert!((shift - 1.0).abs() < 0.011, "10 K move the zero by {shift} g");
}

#[test]
fn noise_at_rest_has_its_stated_spread() {
    let mut bench = Bench::new(ScaleSpec { noise_g: 0.15, ..PLAIN });
    let values: Vec<f64> = (0..20_000).map(|_| bench.grams(&holding(6.0))).collect();
    let (mean, deviation) = spread(&values);
    // Five standard errors: 0.15 / sqrt(n) and 0.15 / sqrt(2 n).
    assert!((mean - 6000.0).abs() < 0.0054, "mean {mean} g");
    assert!((deviation - 0.15).abs() < 0.0038, "deviation {deviation} g");
}

#[test]
fn running_motors_shake_by_the_stated_amplitude_and_rest_stills_it() {
    let mut bench = Bench::new(ScaleSpec { vibration_g: 3.0, ..PLAIN });
    let shaken = Truth { motors_running: true, ..holding(6.0) };
    let values: Vec<f64> = (0..20_000).map(|_| bench.grams(&shaken)).collect();
    let (mean, deviation) = spread(&values);
    assert!((mean - 6000.0).abs() < 0.02, "a tone moves no mean: {mean} g");
    assert!((deviation - 3.0 / 2.0_f64.sqrt()).abs() < 0.03, "deviation {deviation} g");
    assert!(values.iter().all(|v| (v - 6000.0).abs() < 3.01), "the amplitude does not grow");
    assert_eq!(bench.grams(&holding(6.0)), 6000.0);
}

#[test]
fn the_sequence_counts_conversions_and_stops_when_frozen() {
    let mut bench = Bench::new(PLAIN);
    let mut last = bench.scan(&holding(6.0)).sequence;
    for _ in 0..600 {
        let next = bench.scan(&holding(6.0)).sequence;
        assert_eq!(next, last.wrapping_add(1));
        last = next;
    }
    bench.instruments.set_scale(Scale::Wt1A, ScaleHealth::Frozen);
    let frozen = bench.scan(&holding(6.0));
    for _ in 0..20 {
        assert_eq!(bench.scan(&holding(7.0)), frozen);
    }
    bench.instruments.set_scale(Scale::Wt1A, ScaleHealth::Good);
    assert_eq!(bench.scan(&holding(7.0)).code, 700_000, "healed");
}

#[test]
fn a_slower_converter_repeats_its_last_conversion() {
    let mut bench = Bench::new(ScaleSpec { scans_per_conversion: 2, ..PLAIN });
    let sequence: Vec<u8> = (0..40).map(|_| bench.scan(&holding(6.0)).sequence).collect();
    assert_eq!(&sequence[..6], &[1, 1, 2, 2, 3, 3]);
    assert_eq!(sequence.last(), Some(&20));
}

#[test]
fn an_open_bridge_and_an_absurd_load_sit_at_the_rail() {
    assert_eq!(Bench::new(PLAIN).scan(&holding(1e6)).code, 8_388_607);
    assert_eq!(Bench::new(PLAIN).scan(&holding(-1e6)).code, -8_388_608);
    let mut bench = Bench::new(PLAIN);
    bench.instruments.set_scale(Scale::Wt1A, ScaleHealth::Open);
    let (first, second) = (bench.scan(&holding(6.0)), bench.scan(&holding(6.0)));
    assert_eq!((first.code, second.code), (8_388_607, 8_388_607));
    assert_ne!(first.sequence, second.sequence, "conversions go on, only their code is wrong");
}

#[test]
fn the_core_reads_the_reference_scales_within_their_class() {
    use valvewright_core::sense::{Sense, SenseConfig};
    use valvewright_core::units::Instant;
    let truth = Truth { m_vessel_kg: 8.0, m_used_oil_kg: 0.1, m_new_oil_kg: 0.5, ..Truth::default() };
    for seed in 0..20 {
        let mut instruments = Instruments::new(&InstrumentSpec::default(), seed);
        let (mut frame, cfg) = (RawFrame::default(), SenseConfig::DEFAULT);
        let mut sense = Sense::new(&cfg);
        let mut readings = Default::default();
        for scan in 0..200_u32 {
            instruments.frame(0.0, SCAN_S, &truth, &Outputs::default(), None, &mut frame);
            readings = sense.read(Instant(scan * 50), &frame, &cfg);
        }
        // Vessel: gain 0.02 % (1.6 g), settled creep 0.03 % (2.4 g), hose 0.5 g/bar at 5.9 bar (3 g), noise.
        for (weight, gram, limit) in
            [(readings.wt1, 8000.0, 7.5), (readings.wt2, 100.0, 0.2), (readings.wt3, 500.0, 0.4)]
        {
            let shown = f64::from(weight.mass.value.0) * 1e-3;
            assert!(weight.still && weight.mass.usable().is_some(), "seed {seed}: {weight:?}");
            assert!((shown - gram).abs() < limit, "seed {seed}: {shown} g for {gram} g");
        }
    }
}
