//! A loop is alive or it is not: stuck, too rough, without a value; and a healthy rustle is never accused.
//!
//! Budgets are those of the fault catalogue, counted at a scan of 50 ms: stuck 30 s (F003), too rough 5 s (F006), clipped 1 s where its
//! trip lies below any clip (F008).

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{ANALOG_COUNT, Analog, RawFrame, ScaleSample};
use valvewright_core::interlock::table::{Level, ROWS};
use valvewright_core::sense::analog::{ChannelConfig, HELD_MAX, counts_at};
use valvewright_core::sense::{Broken, Doubt, Quality, Readings, Sense, SenseConfig};
use valvewright_core::units::{Instant, Millis};

/// Noise of the reference transmitters in counts (sigma), by what 16 mA are of each span: 100 Pa of 35 bar, 1 Pa of 100 mbar, 0.02 K of
/// 200 K, 0.2 % of the limit; the motor, the fan and the rails are not judged.
const SIGMA: [f64; ANALOG_COUNT] = [1.25, 1.25, 1.25, 4.4, 1.25, 4.4, 4.4, 4.4, 4.4, 87.0, 65.0, 36.0, 22.0, 22.0];
/// Judged for silence and for noise: all but motor current, fan speed and rails.
const JUDGED: usize = 10;

/// White noise by a seed, twelve uniform deviates for a normal one.
struct Noise(u64);

impl Noise {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn gauss(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
}

/// Every loop at its level with its noise, and what is done to one of them.
struct Loops {
    sense: Sense,
    cfg: SenseConfig,
    noise: Noise,
    now: Instant,
    scan: u32,
    level: f64,
    last: [u16; ANALOG_COUNT],
}

impl Loops {
    fn new(seed: u64) -> Self {
        let cfg = SenseConfig::DEFAULT;
        let last = [0; ANALOG_COUNT];
        Self { sense: Sense::new(&cfg), cfg, noise: Noise(seed), now: Instant(0), scan: 50, level: 30_000.0, last }
    }
    fn step(&mut self, change: impl FnOnce(&mut [u16; ANALOG_COUNT], &[u16; ANALOG_COUNT], &mut Noise)) -> Readings {
        self.now = self.now.after(Millis(self.scan));
        let mut analog = SIGMA.map(|sigma| (self.level + sigma * self.noise.gauss()).round() as u16);
        change(&mut analog, &self.last, &mut self.noise);
        self.last = analog;
        self.sense.read(self.now, &RawFrame { analog, ..RawFrame::default() }, &self.cfg)
    }
    fn healthy(&mut self, scans: u32) {
        for _ in 0..scans {
            self.step(|_, _, _| {});
        }
    }
    /// Time until the input has this quality, s.
    fn until(
        &mut self,
        at: usize,
        wanted: Quality,
        mut change: impl FnMut(&mut [u16; ANALOG_COUNT], &[u16; ANALOG_COUNT], &mut Noise),
    ) -> Option<f64> {
        let found = (1..=1_200_u32).find(|_| qualities(&self.step(&mut change))[at] == wanted);
        found.map(|scans| f64::from(scans * self.scan) / 1e3)
    }
}

fn qualities(r: &Readings) -> [Quality; ANALOG_COUNT] {
    let pressures = [&r.pt1, &r.pt2, &r.pt3, &r.pt4, &r.pt5].map(|p| p.quality);
    let [a, b, c, d, e] = pressures;
    let [f, g, h, i] = [&r.tt1, &r.tt2, &r.tt3, &r.tt4].map(|t| t.quality);
    [a, b, c, d, e, f, g, h, i, r.at2.quality, r.it1.quality, r.st1.quality, r.et1.quality, r.et2.quality]
}

const STUCK: Quality = Quality::Bad(Broken::Frozen);
const NOISY: Quality = Quality::Bad(Broken::Noisy);

/// F003, F009, F013, F018, F134 as a converter that repeats its last counts.
#[test]
fn a_loop_that_stands_still_is_stuck_within_seven_seconds() {
    for at in 0..JUDGED {
        for seed in 0..5 {
            let mut loops = Loops::new(seed);
            loops.healthy(200 + seed as u32 * 11);
            let found = loops.until(at, STUCK, |now, last, _| now[at] = last[at]);
            let found = found.unwrap_or_else(|| panic!("{:?} seed {seed}: not found", Analog::ALL[at]));
            assert!((4.0..6.5).contains(&found), "{:?} seed {seed}: after {found} s", Analog::ALL[at]);
            // The others stay what they are, and a loop that rustles again is believed again.
            let others = qualities(&loops.step(|now, last, _| now[at] = last[at]));
            assert!(others.iter().enumerate().all(|(k, q)| k == at || *q == Quality::Good), "{others:?}");
            let back = loops.until(at, Quality::Good, |_, _, _| {}).expect("believed again");
            assert!(back <= 4.3, "{:?} seed {seed}: after {back} s", Analog::ALL[at]);
        }
    }
}

/// An hour of healthy noise at any level between two counts, down to a third of the quietest transmitter's.
#[test]
fn a_healthy_rustle_is_never_called_stuck() {
    for (share, offset) in [(1.0, 0.0), (1.0, 0.5), (0.5, 0.0), (0.33, 0.0), (0.33, 0.25)] {
        let mut loops = Loops::new(7);
        loops.level += offset;
        for _ in 0..72_000 {
            let level = loops.level;
            let r = loops.step(|now, _, noise| {
                for (c, sigma) in now.iter_mut().zip(SIGMA) {
                    *c = (level + share * sigma * noise.gauss()).round() as u16;
                }
            });
            assert!(qualities(&r).iter().all(|q| *q == Quality::Good), "{share} of the noise: {:?}", qualities(&r));
        }
    }
}

/// The motor's current, the fan's speed and the rails may stand; so may every loop behind a converter that is too coarse to show a rustle.
#[test]
fn what_is_not_judged_for_noise_may_stand() {
    for (at, coarse) in (JUDGED..ANALOG_COUNT).map(|at| (at, false)).chain((0..JUDGED).map(|at| (at, true))) {
        let mut loops = Loops::new(3);
        if coarse {
            let was = loops.cfg.channels[at];
            loops.cfg.channels[at] = ChannelConfig::new(was.low(), was.high(), u16::MAX);
        }
        loops.healthy(100);
        assert_eq!(loops.until(at, STUCK, |now, last, _| now[at] = last[at]), None, "{:?}", Analog::ALL[at]);
    }
}

/// A vacuum gauge over its span drives 20.5 mA and no more, for hours; one that has come below its live zero 3.8 mA.
#[test]
fn a_transmitter_at_the_end_of_what_it_drives_is_not_stuck() {
    for (end, wanted) in [(55_977, Quality::Uncertain(Doubt::Saturated)), (10_377, Quality::Good)] {
        let mut loops = Loops::new(1);
        for _ in 0..2_000 {
            let r = loops.step(|now, _, _| now[Analog::Pt4 as usize] = end);
            assert_eq!(r.pt4.quality, wanted, "at {end} counts");
        }
    }
    // A whole count inside is no end.
    let mut loops = Loops::new(1);
    assert!(loops.until(3, STUCK, |now, _, _| now[3] = 10_378).is_some());
}

/// F006: too noisy from 0.1 bar (sigma) on, white or in bursts of half the time.
#[test]
fn a_loop_that_stays_too_rough_is_bad_within_five_seconds() {
    for at in [0, 1, 2, 4, 5, 6, 7, 8] {
        for (bar, burst) in [(0.15, false), (0.5, false), (0.5, true)] {
            let mut loops = Loops::new(11);
            loops.healthy(333);
            let mut scan = 0_u32;
            let found = loops.until(at, NOISY, |now, _, noise| {
                scan += 1;
                if !burst || scan % 8 < 4 {
                    // 1 bar of 35 is 1 248 counts; a kelvin of 200 is 218, and 0.1 bar is some 0.6 K of what is judged.
                    now[at] = (30_000.0 + bar * 1_248.0 * if at > 4 { 1.75 } else { 1.0 } * noise.gauss()) as u16;
                }
            });
            let found = found.unwrap_or_else(|| panic!("{:?} {bar} bar: not found", Analog::ALL[at]));
            assert!(found <= 5.0, "{:?} {bar} bar: after {found} s", Analog::ALL[at]);
            let back = loops.until(at, Quality::Good, |_, _, _| {}).expect("believed again");
            assert!(back <= 10.0, "{:?}: after {back} s", Analog::ALL[at]);
        }
    }
    // Half the limit goes on: the filter takes it.
    let mut loops = Loops::new(5);
    for _ in 0..4_000 {
        let r = loops.step(|now, _, noise| now[0] = (30_000.0 + 0.05 * 1_248.0 * noise.gauss()) as u16);
        assert_eq!(r.pt1.quality, Quality::Good);
    }
}

/// Valves that step the pressure by ten bar every second are process and no noise.
#[test]
fn steps_are_not_noise() {
    let mut loops = Loops::new(9);
    for scan in 0..4_000_u32 {
        let high = scan / 20 % 2 == 0;
        let r = loops.step(|now, _, _| now[1] = if high { now[1] + 12_500 } else { now[1] });
        assert!(!r.pt2.is_bad(), "{:?} in scan {scan}", r.pt2.quality);
    }
}

/// PT-4 is judged by the vacuum hold, which waits for its noise to end: it is doubtful, never bad.
#[test]
fn a_rough_vacuum_gauge_is_doubtful_and_not_bad() {
    let mut loops = Loops::new(2);
    assert_eq!(loops.until(3, NOISY, |now, _, noise| now[3] = (30_000.0 + 800.0 * noise.gauss()) as u16), None);
    let r = loops.step(|now, _, _| now[3] = 30_000);
    assert_eq!(r.pt4.quality, Quality::Uncertain(Doubt::Jumpy));
}

/// F008: a transmitter that clips at 60 % of its span or more has passed PT-1's trip before it clips. Where the truth stays above, its
/// silence is found like any other.
#[test]
fn no_clip_hides_the_trip_of_the_vessel_pressure() {
    let trip = ROWS.iter().flat_map(|row| row.causes).find_map(|c| match (c.watch, c.trip) {
        (valvewright_core::row::Watch::VesselPressure, Level::Pressure(p)) => Some(p.0),
        _ => None,
    });
    let span = StationConfig::reference(Refrigerant::R1234yf).sense.channels[0].high();
    assert!(trip.expect("I03 watches PT-1") < span / 10 * 6, "the lowest clip is at {} Pa", span / 10 * 6);
    let mut loops = Loops::new(4);
    loops.level = 42_000.0;
    let found = loops.until(0, STUCK, |now, _, _| now[0] = now[0].min(41_000)).expect("found");
    assert!(found <= 6.5, "after {found} s");
}

/// One bad scan is bridged by the last value; where no other comes for half a second there is none.
#[test]
fn a_value_that_does_not_come_grows_old() {
    let mut loops = Loops::new(6);
    loops.healthy(100);
    for (after, wanted) in [(HELD_MAX.0, Quality::Held(HELD_MAX)), (HELD_MAX.0 + 1, Quality::Bad(Broken::Old))] {
        let mut late = Loops { sense: loops.sense.clone(), cfg: loops.cfg.clone(), noise: Noise(1), ..loops };
        late.scan = after;
        let r = late.step(|now, _, _| now[0] = 0);
        assert_eq!(r.pt1.quality, wanted, "{after} ms");
        assert_eq!(r.pt1.usable().is_some(), wanted == Quality::Held(HELD_MAX));
    }
    // A scale whose converter has not delivered in two scans, the second of them late.
    let mut sense = Sense::new(&SenseConfig::DEFAULT);
    let mut frame = RawFrame { analog: [counts_at(12_000); ANALOG_COUNT], ..RawFrame::default() };
    let mut read = |ms, sequence| {
        frame.scales = [ScaleSample { code: 1_000_000, sequence }; 4];
        sense.read(Instant(ms), &frame, &SenseConfig::DEFAULT).wt1a.mass.quality
    };
    assert_eq!([read(50, 1), read(100, 2), read(150, 2)], [Quality::Good; 3]);
    assert_eq!(read(200, 2), Quality::Held(Millis(100)));
    assert_eq!(read(700, 2), Quality::Bad(Broken::Old));
}

/// A wire that breaks in a stuck or rough loop is told as a broken wire, and a mended one is not taken for silent.
#[test]
fn a_wire_fault_weighs_more_than_silence() {
    let mut loops = Loops::new(8);
    loops.healthy(100);
    loops.until(0, STUCK, |now, last, _| now[0] = last[0]).expect("stuck");
    for _ in 0..400 {
        loops.step(|now, _, _| now[0] = 0);
    }
    assert_eq!(loops.step(|now, _, _| now[0] = 0).pt1.quality, Quality::Bad(Broken::Under));
    let back = loops.until(0, Quality::Good, |_, _, _| {}).expect("mended");
    assert!(back <= 0.2, "after {back} s");
}
