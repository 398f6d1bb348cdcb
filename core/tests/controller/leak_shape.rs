//! The vacuum hold judged by shape: on figures, and on solved curves of a leaking, a wet, a leaking wet and a tight loop.

use valvewright_core::fluid::Refrigerant;
use valvewright_core::job::leak::{saturated, shape, smallest, throughput};
use valvewright_core::job::{GiveUp, LeakResult, LeakVerdict, Outcome, PhaseKind};
use valvewright_core::talk::Notice;
use valvewright_core::units::{AbsPa, CentiKelvin, Microlitre, Millis};
use valvewright_core::verdict::milligram_per_year;

use crate::bench::{Bench, order};

/// Limit of the reference station, 1e-6 Pa m3/s.
const LIMIT: i32 = 2_000;

/// Pressure over the time of the hold; see the head of each file for its source.
struct Curve(Vec<(f64, f64)>);

impl Curve {
    fn read(text: &str) -> Self {
        let rows = text.lines().filter(|l| !l.starts_with('#') && !l.starts_with("t_s"));
        let row = |l: &str| l.split_once(',').map(|(t, p)| (t.parse().unwrap(), p.parse().unwrap()));
        Self(rows.map(|l| row(l).expect("two columns")).collect())
    }
    fn at(&self, t: f64) -> f64 {
        let next = self.0.partition_point(|(s, _)| *s <= t).clamp(1, self.0.len() - 1);
        let ((t0, p0), (t1, p1)) = (self.0[next - 1], self.0[next]);
        p0 + (p1 - p0) * ((t - t0) / (t1 - t0)).clamp(0.0, 1.0)
    }
    /// Throughputs of the three thirds of ten minutes, the loop of 4 L.
    fn thirds(&self) -> [i32; 3] {
        [0.0, 200.0, 400.0].map(|t| {
            let rise = AbsPa((self.at(t + 200.0) - self.at(t)).round() as i32);
            throughput(Microlitre(4_000_000), rise, Millis::from_secs(200))
        })
    }
    fn verdict(&self) -> LeakVerdict {
        let [a, b, c] = self.thirds();
        shape(a, b, c, LIMIT)
    }
}

const TIGHT: &str = include_str!("../../../tests/data/leak/c1_hold.csv");
const LEAK: &str = include_str!("../../../tests/data/leak/c2_hold.csv");
const BOTH: &str = include_str!("../../../tests/data/leak/c3_hold.csv");
const WET: &str = include_str!("../../../tests/data/leak/c4_hold.csv");

#[test]
fn figures_are_judged_by_their_bend() {
    for (q, expected) in [
        ([0, 0, 0], LeakVerdict::Tight),
        ([LIMIT, LIMIT, LIMIT], LeakVerdict::Tight),
        ([-500, -300, -100], LeakVerdict::Tight),
        ([9_000, 9_000, 9_000], LeakVerdict::Leak),
        ([9_000, 8_000, 7_000], LeakVerdict::Leak),
        ([2_001, 2_001, 2_001], LeakVerdict::Leak),
        // Flattening: each third keeps less than three quarters.
        ([30_000, 15_000, 7_000], LeakVerdict::Moisture),
        ([30_000, 500, 100], LeakVerdict::Moisture),
        ([1_000, 3_000, 100], LeakVerdict::Moisture),
        // Superposed: the bend is over, a straight rise is left.
        ([40_000, 12_000, 11_500], LeakVerdict::Leak),
    ] {
        assert_eq!(shape(q[0], q[1], q[2], LIMIT), expected, "{q:?}");
    }
}

#[test]
fn three_quarters_is_the_border() {
    assert_eq!(shape(10_000, 8_000, 6_000, LIMIT), LeakVerdict::Leak);
    assert_eq!(shape(10_000, 8_000, 5_999, LIMIT), LeakVerdict::Moisture);
    assert_eq!(shape(i32::MAX, i32::MAX, i32::MAX, LIMIT), LeakVerdict::Leak);
}

#[test]
fn solved_curves_get_their_verdicts() {
    let expected = [
        (TIGHT, LeakVerdict::Tight),
        (LEAK, LeakVerdict::Leak),
        (BOTH, LeakVerdict::Leak),
        (WET, LeakVerdict::Moisture),
    ];
    for (text, verdict) in expected {
        let curve = Curve::read(text);
        assert_eq!(curve.0.first().map(|r| r.0), Some(0.0));
        assert_eq!(curve.verdict(), verdict, "{:?}\n{}", curve.thirds(), text.lines().next().unwrap_or(""));
    }
}

/// Case c2: 172.17 Pa/min into 4 L is 1.1478e-2 Pa m3/s, and so is the last third of the wet leaking loop c3.
#[test]
fn last_third_gives_the_size_of_the_leak() {
    let [q1, q2, q3] = Curve::read(LEAK).thirds();
    for q in [q1, q2, q3, Curve::read(BOTH).thirds()[2]] {
        assert!((q - 11_478).abs() <= 25, "{q}");
    }
}

/// The curve at PT-4 of a station that runs the leak check alone, one minute of equalising before the hold of 510 s.
fn through_the_station(text: &str) -> (Option<LeakResult>, Option<Outcome>) {
    let curve = Curve::read(text);
    let mut order = order(&[PhaseKind::LeakCheck]);
    order.leak_hold = Millis::from_secs(510);
    // Hoses and manifold of the reference station, 118.574 mL, stand under vacuum too: 4 L in all.
    order.circuit = Microlitre(4_000_000 - 118_574);
    let mut bench = Bench::new();
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (1_000.0, 1_000.0, curve.at(0.0));
    bench.seconds(5);
    bench.start(1, order);
    assert!(bench.until(60, |b| b.station.job().phase().is_some()), "{:?}", bench.notices);
    let begun = bench.now();
    while bench.station.job().busy() {
        bench.world.p_vacuum = curve.at(f64::from(bench.now() - begun) * 1e-3);
        bench.scan(None);
        assert!(bench.now() - begun < 700_000, "never ended: {:?}", bench.notices);
    }
    let said = bench.notices.iter().find_map(|n| if let Notice::Leak(r) = n { Some(*r) } else { None });
    (said, bench.station.job().records().first().map(|r| r.outcome))
}

#[test]
fn the_station_judges_solved_curves_the_same() {
    let (said, outcome) = through_the_station(LEAK);
    let result = said.expect("a verdict");
    assert_eq!((result.verdict, outcome), (LeakVerdict::Leak, Some(Outcome::Failed(GiveUp::Leaks))));
    assert!((result.micro_pa_m3_per_s - 11_478).abs() < 120, "{result:?}");
    assert_eq!(result.milligram_per_year(), milligram_per_year(result.micro_pa_m3_per_s, Refrigerant::R1234yf));
    let (said, outcome) = through_the_station(BOTH);
    assert_eq!((said.map(|r| r.verdict), outcome), (Some(LeakVerdict::Leak), Some(Outcome::Failed(GiveUp::Leaks))));
    let (said, outcome) = through_the_station(WET);
    assert_eq!(
        (said.map(|r| r.verdict), outcome),
        (Some(LeakVerdict::Moisture), Some(Outcome::Failed(GiveUp::StillWet)))
    );
}

/// A gauge that shows the very same for ten minutes is not believed, since a frozen one looks like a tight circuit.
#[test]
fn a_gauge_that_never_moves_is_no_proof_of_tightness() {
    let (said, outcome) = through_the_station(TIGHT);
    assert_eq!((said, outcome), (None, Some(Outcome::Failed(GiveUp::GaugeNotLive))));
}

/// 1e-4 Pa m3/s are 132.1 g of R-134a a year (1 321 kg a year per Pa m3/s) and 147.65 g of R-1234yf.
#[test]
fn a_loss_is_reckoned_of_the_refrigerant_of_the_station() {
    let result = |micro, smallest, refrigerant| LeakResult {
        verdict: LeakVerdict::Tight,
        micro_pa_m3_per_s: micro,
        smallest_micro: smallest,
        refrigerant,
    };
    let loss = |r: LeakResult| (r.milligram_per_year(), r.smallest_milligram_per_year(), r.below_milligram_per_year());
    assert_eq!(loss(result(100, 50, Some(Refrigerant::R134a))), (132_100, 66_050, 198_150));
    assert_eq!(loss(result(100, 50, Some(Refrigerant::R1234yf))), (147_650, 73_825, 221_475));
    assert_eq!(loss(result(-100, 50, Some(Refrigerant::R134a))), (0, 66_050, 66_050), "drift is no gain");
    assert_eq!(loss(result(100, 50, None)), (0, 0, 0), "before the first hold");
    assert_eq!(result(100, 50, None).below_micro(), 150);
    assert_eq!(result(-100, 50, None).below_micro(), 50);
}

/// Water at 24 degC, the warmest place of a circuit in a shop of 22 degC, stands at 29.9 mbar at most.
#[test]
fn a_vapour_pressure_creeps_by_a_tenth_and_is_no_higher_than_water() {
    let shop = CentiKelvin::from_centi_celsius(2_200);
    for (from, to, water) in
        [(2_000, 2_200, true), (2_000, 2_201, false), (2_800, 2_980, true), (2_800, 2_995, false), (2_000, 1_900, true)]
    {
        assert_eq!(saturated(AbsPa(from), AbsPa(to), shop), water, "{from} Pa to {to} Pa");
    }
}

/// 2 Pa of noise and a hundredth of the pressure, in 3.6 L over 100 s.
#[test]
fn what_a_hold_can_tell_grows_with_its_pressure() {
    let smallest = |p| smallest(Microlitre(3_600_000), AbsPa(p), Millis(100_000));
    assert_eq!([0, 20, 1_000, 5_000].map(smallest), [72, 79, 432, 1_872]);
    assert_eq!(smallest(-50), 72, "a gauge below nothing tells no better");
    assert_eq!(throughput(Microlitre(3_000_000), AbsPa(6_773), Millis(300_000)), 67_730);
    assert_eq!(throughput(Microlitre(3_000_000), AbsPa(-6_773), Millis(300_000)), -67_730);
    assert_eq!(throughput(Microlitre(i32::MAX), AbsPa(i32::MAX), Millis(1)), i32::MAX);
    assert_eq!(throughput(Microlitre(i32::MAX), AbsPa(i32::MIN), Millis(1)), i32::MIN);
    assert_eq!(throughput(Microlitre(3_000_000), AbsPa(1), Millis(0)), 0, "no time, no rate");
}
