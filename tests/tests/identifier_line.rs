//! The identifier's serial line: published stuffing and check vectors, and only sound, asked-for reports get in.

use proptest::prelude::*;
use valvewright_core::sense::GasReport;
use valvewright_core::sense::cobs::{Deframer, Unframed, stuff};
use valvewright_core::sense::identifier::{Flags, Reject, RequestListener, SampleLine, crc, encode_report, request};
use valvewright_core::units::Permille;

fn bytes(hex: &str) -> Vec<u8> {
    (0..hex.len()).step_by(2).map(|i| u8::from_str_radix(&hex[i..i + 2], 16).expect("hexadecimal data file")).collect()
}

fn rows(table: &str) -> Vec<(String, String)> {
    let split = |l: &str| l.split_once(',').map(|(a, b)| (a.to_string(), b.to_string())).expect("two columns");
    table.lines().filter(|l| !l.starts_with('#')).map(split).collect()
}

fn pure(sample_id: u16) -> GasReport {
    GasReport {
        sample_id,
        r134a: Permille(0),
        r1234yf: Permille(998),
        other: Permille(1),
        hydrocarbon: Permille(1),
        air: Permille(12),
        healthy: true,
    }
}

/// A link that waits for sample 7.
fn waiting() -> SampleLine {
    let mut link = SampleLine::new();
    link.expect(7);
    link
}

#[test]
fn stuffing_matches_published_examples() {
    let table = rows(include_str!("../data/sense/cobs.csv"));
    assert_eq!(table.len(), 6);
    for (plain, stuffed) in table {
        let out = stuff(&bytes(&plain));
        assert_eq!(out.first(), Some(&0), "a zero opens every frame");
        assert_eq!(out[1..], bytes(&stuffed), "{plain}");
        let mut deframer = Deframer::new();
        let last = out.iter().map(|b| deframer.feed(*b)).last();
        assert!(matches!(last, Some(Unframed::Frame(f)) if *f == *bytes(&plain)), "{plain}");
    }
}

#[test]
fn check_matches_published_values() {
    let table = rows(include_str!("../data/sense/crc16_ibm3740.csv"));
    assert_eq!(table.len(), 2);
    for (message, expected) in table {
        assert_eq!(crc(&bytes(&message)), u16::from_str_radix(&expected, 16).unwrap(), "{message}");
    }
}

#[test]
fn sound_report_arrives_once() {
    let mut link = waiting();
    let line = encode_report(&pure(7), Flags::default());
    assert!(line.len() <= 19);
    assert_eq!(link.feed(&line), Some(pure(7)));
    assert_eq!(link.feed(&line), None);
    assert_eq!(link.refused(Reject::Stale), 1);
}

#[test]
fn request_reaches_the_device_and_is_no_report() {
    let mut device = RequestListener::new();
    assert_eq!(device.feed(&request(0x0100)), Some(0x0100));
    let mut link = waiting();
    assert_eq!(link.feed(&request(7)), None);
    assert_eq!(link.last_refusal(), Some(Reject::Kind));
}

/// Shows F032, F033, F038.
#[test]
fn every_refusal_names_its_reason() {
    let with = |change: fn(&mut GasReport)| {
        let mut report = pure(7);
        change(&mut report);
        encode_report(&report, Flags::default()).to_vec()
    };
    let mut harmed = encode_report(&pure(7), Flags::default()).to_vec();
    harmed[8] ^= 0x40;
    let mut short = vec![0x81, 7, 0];
    short.extend(crc(&[0x81, 7, 0]).to_le_bytes());
    let cases = [
        (with(|r| r.sample_id = 6), Reject::Stale),
        (with(|r| r.r1234yf = Permille(994)), Reject::Implausible),
        (with(|r| r.r1234yf = Permille(1_002)), Reject::Implausible),
        (with(|r| r.air = Permille(1_001)), Reject::Implausible),
        (encode_report(&pure(7), Flags(Flags::BUSY)).to_vec(), Reject::Busy),
        (encode_report(&pure(7), Flags(Flags::BOOTED)).to_vec(), Reject::Booted),
        (harmed, Reject::Crc),
        (stuff(&short).to_vec(), Reject::Length),
        (vec![0, 9, 1, 2, 0], Reject::Framing),
        ([vec![1; 40], vec![0]].concat(), Reject::Framing),
    ];
    for (line, reason) in cases {
        let mut link = waiting();
        assert_eq!(link.feed(&line), None, "{reason:?}");
        assert_eq!((link.last_refusal(), link.refused(reason)), (Some(reason), 1), "{line:02x?}");
        assert_eq!(link.feed(&encode_report(&pure(7), Flags::default())), Some(pure(7)), "after {reason:?}");
    }
}

/// Rounding may make the shares add up to 997-1003.
#[test]
fn rounded_shares_are_taken() {
    for share in 995..=1_001 {
        let report = GasReport { r1234yf: Permille(share), ..pure(7) };
        assert_eq!(waiting().feed(&encode_report(&report, Flags::default())), Some(report));
    }
}

#[test]
fn sample_of_nothing_but_air_is_plausible() {
    let zero = Permille(0);
    let air = GasReport { r1234yf: zero, other: zero, hydrocarbon: zero, air: Permille(1_000), ..pure(7) };
    assert_eq!(waiting().feed(&encode_report(&air, Flags::default())), Some(air));
    let half = GasReport { air: Permille(500), ..air };
    assert_eq!(waiting().feed(&encode_report(&half, Flags::default())), None);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    /// Bursts arrive over several scans in any split.
    #[test]
    fn any_split_gives_the_same_report(cut in 0usize..19, noise in prop::collection::vec(1u8.., 0..20)) {
        let mut link = waiting();
        prop_assert_eq!(link.feed(&noise), None);
        let line = encode_report(&pure(7), Flags::default());
        let (head, tail) = line.split_at(cut.min(line.len()));
        let got = link.feed(head).or(link.feed(tail));
        prop_assert_eq!(got, Some(pure(7)));
    }

    /// Any change of one byte on the line is found: a CRC of 16 bits finds every burst of up to 16 bits.
    /// Shows F032.
    #[test]
    fn harmed_frame_is_never_taken(at in 1usize..18, flip in 1u8..) {
        let mut line = encode_report(&pure(7), Flags::default()).to_vec();
        let at = at.min(line.len() - 2);
        line[at] ^= flip;
        prop_assert_eq!(waiting().feed(&line), None);
    }

    /// Noise gives nothing and breaks nothing.
    #[test]
    fn noise_is_survived(noise in prop::collection::vec(any::<u8>(), 0..400)) {
        let mut link = waiting();
        prop_assert_eq!(link.feed(&noise), None);
        link.expect(7);
        prop_assert_eq!(link.feed(&encode_report(&pure(7), Flags::default())), Some(pure(7)));
    }
}
