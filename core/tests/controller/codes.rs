//! Codes of parts: what is typed is read as it was printed, nobody makes one without the key, and none is taken twice.

use hmac::{Hmac, KeyInit, Mac};
use sha2::{Digest, Sha256};
use valvewright_core::token::code::{LAST_SERIAL, VERSION};
use valvewright_core::token::used::Standing;
use valvewright_core::token::{Code, CodeFault, CodeKey, Draft, Kind, Sealing, Typed, Used, wait_after};
use valvewright_core::units::Millis;

fn typed(text: &str) -> Typed {
    Typed::read(text).unwrap_or_else(|| panic!("`{text}` has not sixteen symbols"))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Draws that are the same in every run (SplitMix64).
fn draws(seed: u64) -> impl FnMut() -> u64 {
    let mut state = seed;
    move || {
        state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mixed = (state ^ (state >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }
}

/// FIPS 180-4's example "abc"; RFC 4231, cases 1 and 2 (all from memory, and the same by Python's hashlib).
#[test]
fn the_primitives_give_the_published_vectors() {
    assert_eq!(hex(&Sha256::digest(b"abc")), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    let cases: [(&[u8], &[u8], &str); 2] = [
        (&[0x0b; 20], b"Hi There", "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"),
        (b"Jefe", b"what do ya want for nothing?", "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"),
    ];
    for (key, data, due) in cases {
        let mut mac = <Hmac<Sha256> as KeyInit>::new_from_slice(key).expect("any length will do");
        mac.update(data);
        assert_eq!(hex(&mac.finalize().into_bytes()), due);
    }
}

/// Worked with Python: `hmac.new(key, b"valvewright part code" + bytes([version, kind]) + serial.to_bytes(4, "big"), "sha256")`.
#[test]
fn a_seal_is_the_first_48_bits_of_the_digest_of_its_fields() {
    for (kind, serial, due) in [(1, 7, "64d4f7cb8a2c"), (2, 1, "eea169b6636a"), (15, LAST_SERIAL, "fe5a29cb0225")] {
        assert_eq!(hex(&CodeKey::DEMO.seal(VERSION, kind, serial)), due, "kind {kind}, serial {serial}");
    }
}

/// The turns of a digest against the `hmac` crate, for drawn keys and fields.
#[test]
fn a_digest_made_in_turns_is_that_of_the_reference_library() {
    let mut draw = draws(31);
    for _ in 0..500 {
        let key = CodeKey(core::array::from_fn(|_| draw() as u8));
        let (version, kind, serial) = (draw() as u8, draw() as u8, draw() as u32);
        let mut mac = <Hmac<Sha256> as KeyInit>::new_from_slice(&key.0).expect("any length will do");
        mac.update(b"valvewright part code");
        mac.update(&[version, kind]);
        mac.update(&serial.to_be_bytes());
        let due = mac.finalize().into_bytes();
        let mut sealing = Sealing::default();
        let turns: Vec<_> = (0..5).map(|_| sealing.turn(&key, version, kind, serial)).collect();
        assert_eq!(turns[..4], [None; 4]);
        assert_eq!(
            turns[4].expect("the turn after the fourth block tells it")[..],
            due[..6],
            "{version} {kind} {serial}"
        );
        assert_eq!(sealing, Sealing::default(), "ready for the next");
    }
}

/// Whoever reads a log learns nothing that could stand in for the key.
#[test]
fn neither_a_key_nor_a_digest_in_the_making_prints_anything_of_itself() {
    let key = CodeKey::DEMO;
    assert_eq!(format!("{key:?}"), "CodeKey(..)");
    let mut sealing = Sealing::default();
    for _ in 0..3 {
        assert_eq!(sealing.turn(&key, VERSION, 1, 7), None);
        assert_eq!(format!("{sealing:?}"), "Sealing(..)");
    }
}

/// D. Crockford, *Base 32* (from memory): 1234 is written 16J, and its remainder by 37 is 13, the symbol D.
#[test]
fn symbols_write_numbers_as_their_inventor_has_it() {
    assert_eq!(&Typed::of_number(1_234).0, b"00000000000016JD");
    assert_eq!(typed("00000-00000-0016J-D").number(), Some(1_234));
    assert_eq!(typed("ooooo OOOOO oOl6j d").number(), Some(1_234), "as they look");
    for (remainder, symbol) in (32_u128..37).zip(*b"*~$=U") {
        assert_eq!(Typed::of_number(remainder).0[15], symbol);
        assert_eq!(Typed::of_number(remainder).number(), Some(remainder));
    }
    assert_eq!(typed("UUUUU-UUUUU-UUUUU-U").number(), None, "U is a check symbol only");
    assert_eq!(&Typed::of_number(1_234).grouped(), b"00000-00000-0016J-D");
}

#[test]
fn any_code_comes_back_as_it_was_minted() {
    let mut draw = draws(1);
    for at in 0..500 {
        let kind = Kind::ALL[at % Kind::ALL.len()];
        let code = Code { kind, serial: 1 + draw() as u32 % LAST_SERIAL };
        let symbols = code.mint(&CodeKey::DEMO).expect("a serial number in range");
        let text = String::from_utf8(symbols.grouped().to_vec()).expect("ASCII").to_lowercase();
        assert_eq!(Draft::read(typed(&text)).and_then(|draft| draft.prove(&CodeKey::DEMO)), Ok(code), "{text}");
    }
    assert_eq!(Code { kind: Kind::PumpOil, serial: 0 }.mint(&CodeKey::DEMO), None);
    assert_eq!(Code { kind: Kind::PumpOil, serial: LAST_SERIAL + 1 }.mint(&CodeKey::DEMO), None);
}

/// Every other symbol at every place, and every exchange of two neighbours.
/// Shows F107.
#[test]
fn every_single_slip_is_seen_by_the_check_symbol() {
    const SYMBOLS: &[u8] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ*~$=U";
    let mut slips = 0;
    for serial in [1, 7, 500, LAST_SERIAL] {
        let right = Code { kind: Kind::FilterDrier, serial }.mint(&CodeKey::DEMO).expect("in range");
        for at in 0..16 {
            for symbol in SYMBOLS.iter().filter(|symbol| **symbol != right.0[at]) {
                let mut wrong = right;
                wrong.0[at] = *symbol;
                assert_eq!(Draft::read(wrong), Err(CodeFault::Mistyped), "{serial}: {} at {at}", char::from(*symbol));
                slips += 1;
            }
            if at < 15 && right.0[at] != right.0[at + 1] {
                let mut wrong = right;
                wrong.0.swap(at, at + 1);
                assert_eq!(Draft::read(wrong), Err(CodeFault::Mistyped), "{serial}: {at} exchanged with the next");
                slips += 1;
            }
        }
    }
    assert!(slips > 2_000, "{slips}");
}

/// One bit of the number flipped and the check symbol made to fit: the digest does not.
/// Shows F107.
#[test]
fn no_neighbour_of_a_code_is_one() {
    let right = Code { kind: Kind::FilterDrier, serial: 7 }.mint(&CodeKey::DEMO).and_then(Typed::number).expect("one");
    for bit in 0..75 {
        let near = Draft::read(Typed::of_number(right ^ 1 << bit)).expect("its check symbol fits");
        let found = near.prove(&CodeKey::DEMO);
        let due = if bit >= 72 { CodeFault::OtherVersion } else { CodeFault::NotOurs };
        assert_eq!(found, Err(due), "bit {bit}");
    }
}

#[test]
fn a_code_of_another_stations_key_is_not_ours() {
    let other = CodeKey([7; 32]);
    let theirs = Code { kind: Kind::FilterDrier, serial: 7 }.mint(&other).expect("in range");
    let draft = Draft::read(theirs).expect("well typed");
    assert_eq!(draft.prove(&CodeKey::DEMO), Err(CodeFault::NotOurs));
    assert!(draft.prove(&other).is_ok());
}

/// The chance of one guess is 2^-48; 1e5 of them, checked all the way, find nothing.
#[test]
fn guesses_find_nothing() {
    let mut draw = draws(2);
    for _ in 0..100_000 {
        // Version and kind as every code of a filter-drier has them.
        let number = (u128::from(VERSION) << 72) | 1_u128 << 68 | u128::from(draw()) << 4 | u128::from(draw() & 15);
        let draft = Draft::read(Typed::of_number(number & ((1 << 75) - 1))).expect("its check symbol fits");
        assert!(draft.prove(&CodeKey::DEMO).is_err(), "{number:x}");
    }
}

/// Against a list that forgets nothing: a serial number that was used is never fresh again, and one that was not is refused only
/// where it lies below the window.
#[test]
fn what_was_used_is_never_fresh_again() {
    let mut draw = draws(3);
    for _ in 0..300 {
        let (mut used, mut list) = (Used::NONE, Vec::new());
        for _ in 0..120 {
            let near = list.iter().max().copied().unwrap_or(1) + 8;
            let serial = 1 + draw() as u32 % if draw().is_multiple_of(8) { LAST_SERIAL } else { near };
            let newest = list.iter().max().copied().unwrap_or(0);
            let due = match serial {
                // One that lies so far below is refused whether it was used or not.
                _ if newest > serial && newest - serial > Used::WINDOW => Standing::TooOld,
                _ if list.contains(&serial) => Standing::Used,
                _ => Standing::Fresh,
            };
            assert_eq!(used.look(serial), due, "{serial} after {list:?}");
            if due == Standing::Fresh {
                used = used.with(serial);
                list.push(serial);
            }
        }
        assert_eq!(used.newest(), list.iter().max().copied().unwrap_or(0));
    }
}

#[test]
fn waits_double_up_to_an_hour_and_never_shrink() {
    let waits: Vec<Millis> = (0..=u8::MAX).map(wait_after).collect();
    assert!(waits.is_sorted());
    assert_eq!(waits[..5], [0, 0, 0, 30, 60].map(Millis::from_secs));
    assert_eq!(waits[255], Millis::from_secs(3_600));
}
