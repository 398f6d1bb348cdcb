//! The identifier as a device: answers the id it was asked with, ignores harmed requests, refuses oily and thin samples.

use valvewright_core::frame::{Outputs, RawFrame, SerialChunk};
use valvewright_core::sense::GasReport;
use valvewright_core::sense::identifier::{Reject, SampleLine, request};
use valvewright_sim::instrument::{GasTruth, InstrumentSpec, Instruments, Truth};

const SCAN_S: f64 = 0.05;

/// Station side and device side of one line.
struct Bench {
    instruments: Instruments,
    frame: RawFrame,
    link: SampleLine,
    scan: u32,
}

impl Bench {
    fn new(seed: u64) -> Self {
        let instruments = Instruments::new(&InstrumentSpec::default(), seed);
        Self { instruments, frame: RawFrame::default(), link: SampleLine::new(), scan: 0 }
    }
    /// A device that has been powered for longer than its warm-up.
    fn warm(seed: u64) -> Self {
        let mut bench = Self::new(seed);
        for _ in 0..(31.0 / SCAN_S) as u32 {
            assert!(bench.scan(&Truth::default(), SerialChunk::new()).is_none());
        }
        bench
    }
    fn scan(&mut self, truth: &Truth, bytes: SerialChunk) -> Option<GasReport> {
        let outputs = Outputs { identifier: bytes, ..Outputs::default() };
        let t = f64::from(self.scan) * SCAN_S;
        self.scan += 1;
        self.instruments.frame(t, SCAN_S, truth, &outputs, None, &mut self.frame);
        self.link.feed(&self.frame.identifier)
    }
    /// Sends `bytes`, then waits up to `limit_s` for a report; gives it and the time it took.
    fn ask(&mut self, truth: &Truth, bytes: SerialChunk, limit_s: f64) -> Option<(GasReport, f64)> {
        let mut bytes = bytes;
        for scan in 0..(limit_s / SCAN_S) as u32 {
            if let Some(report) = self.scan(truth, std::mem::take(&mut bytes)) {
                return Some((report, f64::from(scan) * SCAN_S));
            }
        }
        None
    }
}

fn sampling(gas: GasTruth) -> Truth {
    Truth { gas, ..Truth::default() }
}

#[test]
fn answers_with_the_id_asked_and_after_its_time() {
    let mut bench = Bench::warm(3);
    for id in [1, 77, 65_535] {
        bench.link.expect(id);
        let (report, took) = bench.ask(&Truth::default(), request(id), 60.0).expect("a report");
        assert_eq!(report.sample_id, id);
        assert!(report.healthy);
        assert!((took - 25.0).abs() <= 2.0 * SCAN_S, "took {took} s");
    }
    assert_eq!(bench.link.refused(Reject::Busy), 3, "each request is acknowledged at once");
    assert_eq!(bench.link.refused(Reject::Crc) + bench.link.refused(Reject::Framing), 0);
}

/// Shows F038.
#[test]
fn announces_its_start_and_warms_up_first() {
    let mut bench = Bench::new(3);
    bench.link.expect(9);
    bench.scan(&Truth::default(), SerialChunk::new());
    assert_eq!(bench.link.refused(Reject::Booted), 1);
    let (_, took) = bench.ask(&Truth::default(), request(9), 120.0).expect("a report");
    assert!((took - 55.0).abs() <= 3.0 * SCAN_S, "30 s of warm-up and 25 s of analysis, took {took} s");
}

#[test]
fn ignores_a_request_with_any_single_byte_harmed() {
    let sound = request(500);
    for at in 0..sound.len() {
        let mut harmed = sound.clone();
        harmed[at] ^= 0x04;
        let mut bench = Bench::warm(3);
        bench.link.expect(500);
        assert_eq!(bench.ask(&Truth::default(), harmed, 40.0), None, "byte {at} harmed");
        assert_eq!(bench.link.refused(Reject::Busy), 0, "byte {at} harmed");
    }
}

#[test]
fn a_harmed_request_does_not_spoil_the_next() {
    let mut bench = Bench::warm(3);
    bench.link.expect(6);
    bench.scan(&Truth::default(), SerialChunk::from_slice(&request(5)[..4]).expect("short"));
    let (report, _) = bench.ask(&Truth::default(), request(6), 40.0).expect("a report");
    assert_eq!(report.sample_id, 6);
}

#[test]
fn a_new_request_replaces_the_one_under_analysis() {
    let mut bench = Bench::warm(3);
    bench.link.expect(1);
    assert_eq!(bench.ask(&Truth::default(), request(1), 10.0), None);
    bench.link.expect(2);
    let (report, took) = bench.ask(&Truth::default(), request(2), 60.0).expect("a report");
    assert_eq!(report.sample_id, 2);
    assert!((took - 25.0).abs() <= 2.0 * SCAN_S, "took {took} s");
    assert_eq!(bench.link.refused(Reject::Stale), 0, "the first is never answered");
}

#[test]
fn shares_are_within_the_error_and_add_up() {
    let gas =
        GasTruth { r134a: 0.30, r1234yf: 0.60, other: 0.04, hydrocarbon: 0.06, air: 0.10, ..Truth::default().gas };
    for seed in 0..50 {
        let mut bench = Bench::warm(seed);
        bench.link.expect(1);
        let (report, _) = bench.ask(&sampling(gas), request(1), 60.0).expect("a report");
        let shares = [report.r134a, report.r1234yf, report.other, report.hydrocarbon].map(|share| share.0);
        assert_eq!(shares.iter().sum::<i32>(), 1000);
        // 3 of a thousand each, up to 12 in their sum which is divided out, and the rounding.
        for (shown, is) in shares.iter().zip([300, 600, 40, 60]) {
            let limit = 3.0 + 12.0 * f64::from(is) / 1000.0 + 1.5;
            assert!(f64::from((shown - is).abs()) <= limit, "seed {seed}: {shown} for {is}");
        }
        assert!((report.air.0 - 100).abs() <= 4, "air {}", report.air.0);
    }
}

#[test]
fn refuses_a_thin_or_oily_sample_even_if_it_recovers() {
    let rest = Truth::default().gas;
    for bad in [GasTruth { oil_film: true, ..rest }, GasTruth { pressure_pa: 1.19e5, ..rest }] {
        let mut bench = Bench::warm(3);
        bench.link.expect(1);
        assert_eq!(bench.ask(&sampling(bad), request(1), 5.0), None);
        let (report, _) = bench.ask(&sampling(rest), SerialChunk::new(), 40.0).expect("a report");
        assert!(!report.healthy, "{bad:?}");
    }
    let mut bench = Bench::warm(3);
    bench.link.expect(1);
    let enough = sampling(GasTruth { pressure_pa: 1.21e5, ..rest });
    assert!(bench.ask(&enough, request(1), 40.0).is_some_and(|(report, _)| report.healthy));
}

#[test]
fn a_sample_of_air_has_no_refrigerant_part() {
    let mut bench = Bench::warm(3);
    bench.link.expect(1);
    let gas = GasTruth { r1234yf: 0.0, air: 1.0, ..Truth::default().gas };
    let (report, _) = bench.ask(&sampling(gas), request(1), 40.0).expect("a report");
    assert!(report.air.0 >= 997 && report.r1234yf.0 == 0, "{report:?}");
}
