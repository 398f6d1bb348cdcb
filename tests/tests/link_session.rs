//! The board's end of a line: it trusts only what it can check, and what it can't check ends in the safe state.

use std::hash::{Hash, Hasher};

use proptest::prelude::*;
use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuators, Outputs, RawFrame, Switches};
use valvewright_core::kept::Start;
use valvewright_core::port::digest::Digest;
use valvewright_core::port::link::{Down, FORMAT, LinkFault, NAME, PACKET, Receiver, Setup, Took, Up, encode};
use valvewright_core::port::remote::{Session, Step, Wires};
use valvewright_core::sense::SenseConfig;
use valvewright_core::sense::scale::ScaleCal;
use valvewright_core::station::Station;
use valvewright_core::units::{Instant, Milligram, Millis};
use valvewright_sim::run::start;
use valvewright_tests::job_runs::Run;

/// A board without adapters, which remembers what was on.
#[derive(Default)]
struct Plain {
    frame: RawFrame,
    on: Actuators,
}

impl Wires for Plain {
    fn begin(&mut self) {
        *self = Self::default();
        self.make_safe();
    }
    fn load(&mut self, frame: &RawFrame) {
        self.frame = frame.clone();
    }
    fn scan(&mut self, station: &mut Station, now: Instant) -> (Outputs, Took) {
        let outputs = station.tick(now, &self.frame);
        self.on = outputs.on;
        (outputs, Took::default())
    }
    fn pins(&self) -> Actuators {
        self.on
    }
    fn make_safe(&mut self) {
        self.on = Actuators::SAFE;
    }
}

/// Both ends of a line.
struct Bench {
    session: Session,
    wires: Plain,
    sequence: u32,
}

const PATIENCE: Millis = Millis(500);

fn setup() -> Setup {
    let config = StationConfig::reference(Refrigerant::R1234yf);
    Setup { format: FORMAT, config, start: Start::first(Millis(0)), patience: PATIENCE }
}

fn ready() -> Up {
    Up::Ready { format: FORMAT, name: NAME.try_into().expect("the name fits") }
}

fn packet(sequence: u32, message: &Down) -> Vec<u8> {
    let mut buffer = [0; PACKET];
    encode(sequence, message, &mut buffer).expect("a message fits a packet").to_vec()
}

fn scan(ms: u32) -> Down {
    let frame = RawFrame { switches: Switches(Switches::ALL), ..RawFrame::default() };
    Down::Scan { now: Instant(ms), frame }
}

impl Bench {
    fn new() -> Self {
        Self { session: Session::new(), wires: Plain::default(), sequence: 0 }
    }

    fn ready() -> Self {
        let mut bench = Self::new();
        assert_eq!(bench.say(&Down::Setup(setup())), vec![ready()]);
        bench
    }

    fn say(&mut self, message: &Down) -> Vec<Up> {
        let bytes = packet(self.sequence, message);
        self.sequence += 1;
        self.bytes(&bytes)
    }

    /// What the board answers to these bytes, decoded.
    fn bytes(&mut self, bytes: &[u8]) -> Vec<Up> {
        let mut answers = Vec::new();
        for byte in bytes {
            if let Step::Send(answer) = self.session.take(*byte, Instant(0), &mut self.wires) {
                answers.push(decoded(answer));
            }
        }
        answers
    }

    /// The board is in the safe state for this reason, and stays there through good packets.
    fn keeps_safe(&mut self, why: LinkFault) {
        assert_eq!(self.session.fault(), Some(why));
        assert_eq!(self.wires.on, Actuators::SAFE);
        for ms in [0, 50, 100] {
            assert_eq!(self.say(&scan(ms)), vec![Up::Safe { why, on: Actuators::SAFE }]);
            assert_eq!(self.wires.on, Actuators::SAFE);
        }
    }
}

fn decoded(bytes: &[u8]) -> Up {
    let mut receiver = Receiver::new();
    let packet = bytes.iter().find_map(|byte| receiver.feed::<Up>(*byte));
    packet.expect("an answer is a whole packet").expect("an answer is unharmed").1
}

/// A bench whose outputs are other than the safe state, so that safety is a change.
fn busy() -> Bench {
    let mut bench = Bench::ready();
    bench.say(&scan(0));
    bench.wires.on = Actuators::ALL;
    bench
}

#[test]
fn a_job_over_the_line_is_the_job_on_the_host() {
    let run = Run::shipped("large_leak");
    let mut bench = Bench::new();
    let setup = Setup { config: run.fresh_station().config().clone(), start: start(&run.scenario), ..setup() };
    bench.say(&Down::Setup(setup));
    let (mut scans, mut told) = (0, 0);
    let mut twin = run.fresh_station();
    for (ms, frame) in &run.outcome.tape.frames {
        let outputs = twin.tick(Instant(*ms), frame);
        let notices: Vec<_> = std::iter::from_fn(|| twin.take_notice()).collect();
        let answers = bench.say(&Down::Scan { now: Instant(*ms), frame: frame.clone() });
        let [Up::Scan(answer)] = answers.as_slice() else { panic!("scan {scans}: {answers:?}\n{}", run.replay()) };
        assert_eq!(answer.outputs, outputs, "scan {scans}\n{}", run.replay());
        assert_eq!(answer.notices.as_slice(), notices, "scan {scans}\n{}", run.replay());
        assert_eq!(answer.state, Digest::of(&twin), "scan {scans}\n{}", run.replay());
        (scans, told) = (scans + 1, told + notices.len());
    }
    assert!(scans > 4_000 && told > 10, "the job is too short to show anything: {scans} scans, {told} notices");
}

#[test]
fn a_lost_packet_is_told_with_both_numbers() {
    let mut bench = busy();
    bench.sequence += 1;
    bench.say(&scan(50));
    bench.keeps_safe(LinkFault::Lost { due: 2, came: 3 });
}

#[test]
fn a_packet_that_comes_twice_is_a_fault() {
    let mut bench = busy();
    bench.sequence -= 1;
    bench.say(&scan(50));
    bench.keeps_safe(LinkFault::Lost { due: 2, came: 1 });
}

#[test]
fn a_late_scan_is_a_fault_and_one_at_the_limit_is_not() {
    let mut bench = busy();
    assert!(matches!(bench.say(&scan(500)).as_slice(), [Up::Scan(_)]));
    bench.wires.on = Actuators::ALL;
    bench.say(&scan(1_001));
    bench.keeps_safe(LinkFault::Late(Millis(501)));
}

#[test]
fn a_silence_is_noticed_by_the_boards_own_clock() {
    let mut bench = busy();
    assert_eq!(bench.session.idle(Instant(500), &mut bench.wires), Step::Nothing);
    assert_eq!(bench.wires.on, Actuators::ALL);
    assert!(matches!(bench.session.idle(Instant(501), &mut bench.wires), Step::Send(_)));
    bench.keeps_safe(LinkFault::Silent(Millis(501)));
}

#[test]
fn a_board_that_was_never_set_up_does_not_mind_the_silence() {
    let mut bench = Bench::new();
    assert_eq!(bench.session.idle(Instant(90_000), &mut bench.wires), Step::Nothing);
    assert_eq!(bench.session.fault(), None);
}

#[test]
fn a_closed_line_ends_in_the_safe_state() {
    let mut bench = busy();
    bench.session.closed(&mut bench.wires);
    bench.keeps_safe(LinkFault::Closed);
}

#[test]
fn a_scan_before_the_setup_is_a_fault() {
    let mut bench = Bench::new();
    bench.say(&scan(0));
    bench.keeps_safe(LinkFault::NotSetUp);
}

#[test]
fn another_packet_format_is_refused() {
    let mut bench = Bench::new();
    bench.say(&Down::Setup(Setup { format: FORMAT + 1, ..setup() }));
    bench.keeps_safe(LinkFault::Format { due: FORMAT, came: FORMAT + 1 });
}

/// What follows the number in a setup of another format can't be read here: 2 is the format before the frame had a layout.
#[test]
fn a_setup_that_cannot_be_read_is_refused_by_its_format() {
    for (content, why) in [
        ((0_u8, 2_u16, [7_u8; 90].as_slice()), LinkFault::Format { due: FORMAT, came: 2 }),
        ((0, FORMAT, &[7; 90]), LinkFault::Broken),
    ] {
        let mut bench = Bench::new();
        let mut buffer = [0; PACKET];
        let packet = encode(0, &content, &mut buffer).expect("it fits").to_vec();
        bench.bytes(&packet);
        assert_eq!(bench.session.fault(), Some(why), "{content:?}");
        assert_eq!(bench.wires.on, Actuators::SAFE);
    }
}

#[test]
fn a_packet_too_long_is_broken_and_the_next_is_heard() {
    let mut bench = busy();
    bench.bytes(&[7; PACKET + 1]);
    bench.bytes(&[0]);
    bench.keeps_safe(LinkFault::Broken);
}

#[test]
fn a_new_setup_begins_anew() {
    let mut bench = busy();
    bench.say(&scan(90_000));
    assert!(bench.session.fault().is_some());
    assert_eq!(bench.say(&Down::Setup(setup())), vec![ready()]);
    assert_eq!(bench.session.fault(), None);
    assert!(matches!(bench.say(&scan(7)).as_slice(), [Up::Scan(_)]));
    let mut fresh = Bench::ready();
    assert!(matches!(fresh.say(&scan(7)).as_slice(), [Up::Scan(_)]));
    assert_eq!(bench.session.station(), fresh.session.station());
}

#[test]
fn settings_arrive_as_they_were_sent() {
    let scan = Millis(20);
    let mut config = StationConfig {
        scan,
        sense: SenseConfig::for_scan(scan),
        barometer: valvewright_core::units::AbsPa(84_000),
        ..StationConfig::reference(Refrigerant::R134a)
    };
    let cal = ScaleCal::new(-20_000, 3_000_000, Milligram::from_grams(5_000), Milligram(1_234_567));
    config.sense.scales[0].cal = cal.expect("a usable line");
    let sent = Down::Setup(Setup { config, start: Start::first(Millis(u32::MAX)), ..setup() });
    let mut receiver = Receiver::new();
    let got = packet(9, &sent).iter().find_map(|byte| receiver.feed::<Down>(*byte));
    assert_eq!(got, Some(Ok((9, sent))));
}

#[test]
fn a_calibration_without_a_span_does_not_arrive() {
    // The form of a calibration on the line, with both points on the same code.
    let flat = (100_000_i32, 100_000_i32, Milligram::from_grams(25_000), Milligram(0));
    let mut buffer = [0; PACKET];
    let bytes = encode(0, &flat, &mut buffer).expect("it fits").to_vec();
    let mut receiver = Receiver::new();
    let got = bytes.iter().find_map(|byte| receiver.feed::<ScaleCal>(*byte));
    assert_eq!(got, Some(Err(LinkFault::Broken)));
}

#[test]
fn the_digest_counts_lengths_and_variants_as_32_bit() {
    let mut wide = Digest::default();
    wide.write_usize(3);
    wide.write_isize(-1);
    let mut narrow = Digest::default();
    narrow.write_u32(3);
    narrow.write_u32(u32::MAX);
    assert_eq!(wide.finish(), narrow.finish());
    // Worked by hand from the definition, with the constant 2^64 / 1.618...: 0, rotated, xor 1, times the constant.
    let mut one = Digest::default();
    one.write_u32(1);
    assert_eq!(one.finish(), 0x9E37_79B9_7F4A_7C15 ^ 0x9E37_79B9);
    let mut bytes = Digest::default();
    bytes.write(&[1, 0, 0, 0, 9]);
    let mut parts = Digest::default();
    parts.write_u32(1);
    parts.write_u8(9);
    assert_eq!(bytes.finish(), parts.finish());
    (1_u8, [2_u16; 3]).hash(&mut bytes);
    assert_ne!(bytes.finish(), parts.finish());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Shows F138.
    #[test]
    fn any_single_flipped_bit_ends_in_the_safe_state(at in any::<prop::sample::Index>(), bit in 0..8_u8) {
        let mut bench = busy();
        let mut bytes = packet(bench.sequence, &scan(50));
        let at = at.index(bytes.len());
        bytes[at] ^= 1 << bit;
        // Where the delimiter itself was hit, the next packet runs into this one.
        bytes.extend(packet(bench.sequence + 1, &scan(100)));
        bench.bytes(&bytes);
        prop_assert!(bench.session.fault().is_some(), "byte {} bit {}", at, bit);
        prop_assert_eq!(bench.wires.on, Actuators::SAFE);
    }

    #[test]
    fn whatever_is_sent_nothing_but_the_fan_is_on_without_a_setup(bytes in prop::collection::vec(any::<u8>(), 0..2_000)) {
        let mut bench = Bench::new();
        bench.bytes(&bytes);
        prop_assert!(bench.session.station().is_none());
        prop_assert!(bench.wires.on.without(Actuators::SAFE).is_empty());
    }

    #[test]
    fn a_differing_count_always_shows_in_the_digest(channel in 0..13_usize, by in 1..=u16::MAX) {
        let frame = RawFrame::default();
        let mut other = frame.clone();
        other.analog[channel] = by;
        prop_assert_ne!(Digest::of(&frame), Digest::of(&other));
    }
}
