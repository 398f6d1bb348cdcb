//! A part is exchanged: its code is burnt before its life begins anew, through every power cut, and nothing else begins a life.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::interlock::RowId;
use valvewright_core::job::PhaseKind;
use valvewright_core::kept::{Boot, Kept, Limits, Memory, Start};
use valvewright_core::station::Station;
use valvewright_core::talk::{Command, Notice, Refusal};
use valvewright_core::token::{Code, CodeFault, CodeKey, Kind, Part, Typed};
use valvewright_core::units::{Milligram, Millis};

use crate::bench::{Bench, order};

fn mint(kind: Kind, serial: u32) -> Typed {
    Code { kind, serial }.mint(&CodeKey::DEMO).expect("in range")
}

/// Filter-drier and pump oil at their limits.
fn worn() -> Kept {
    Kept { drier: Limits::USUAL.drier, pump_oil: Limits::USUAL.pump_oil, ..Kept::COMMISSIONED }
}

fn woken(kept: Kept) -> Bench {
    let mut bench = Bench::new();
    let start = Start { memory: Memory::Sound(kept), boot: Boot::PowerOn, vessel_rest: Millis(0) };
    bench.station = Station::wake(StationConfig::reference(Refrigerant::R1234yf), &start);
    bench.seconds(5);
    bench
}

/// Types a code and waits for the word on it.
fn types(bench: &mut Bench, part: Part, code: Typed) -> Notice {
    bench.notices.clear();
    bench.give(Command::Exchanged { part, code });
    bench.seconds(3);
    let word = |n: &&Notice| matches!(n, Notice::CodeRefused(..) | Notice::Exchanged(..) | Notice::Refused(_));
    let words: Vec<Notice> = bench.notices.iter().filter(word).copied().collect();
    assert_eq!(words.len(), 1, "one word on one code: {:?}", bench.notices);
    words[0]
}

fn refused(why: CodeFault) -> Notice {
    Notice::CodeRefused(Part::FilterDrier, why)
}

/// Shows H17, I22, LC8.
#[test]
fn a_fresh_code_begins_the_life_of_its_part_and_no_other() {
    let mut bench = woken(worn());
    assert_eq!(
        types(&mut bench, Part::FilterDrier, mint(Kind::FilterDrier, 7)),
        Notice::Exchanged(Part::FilterDrier, false)
    );
    let kept = bench.station.kept();
    assert_eq!((kept.drier, kept.pump_oil, kept.unlocking), (Milligram(0), Limits::USUAL.pump_oil, None));
    assert_eq!(types(&mut bench, Part::PumpOil, mint(Kind::PumpOil, 7)), Notice::Exchanged(Part::PumpOil, false));
    assert_eq!(bench.station.kept().pump_oil, 0);
    bench.start(1, order(&[PhaseKind::Evacuate]));
    bench.seconds(1);
    assert!(!bench.station.interlocks().withheld().has(RowId::I22));
}

/// Each way to be wrong has a reason of its own, and the life stays.
/// Shows H17, F107, F108.
#[test]
fn every_wrong_code_is_refused_with_its_own_reason() {
    let used = mint(Kind::FilterDrier, 40);
    let mut mistyped = mint(Kind::FilterDrier, 41);
    mistyped.0[3] = if mistyped.0[3] == b'0' { b'1' } else { b'0' };
    let other = Code { kind: Kind::FilterDrier, serial: 41 }.mint(&CodeKey([9; 32])).expect("in range");
    let wrong = [
        (used, CodeFault::UsedBefore),
        (mistyped, CodeFault::Mistyped),
        (other, CodeFault::NotOurs),
        (mint(Kind::PumpOil, 41), CodeFault::OtherKind(Kind::PumpOil)),
        (mint(Kind::FilterDrier, 7), CodeFault::TooOld),
    ];
    for (code, why) in wrong {
        let mut bench = woken(worn());
        assert!(matches!(types(&mut bench, Part::FilterDrier, used), Notice::Exchanged(..)));
        let kept = Kept { drier: Limits::USUAL.drier, ..bench.station.kept().clone() };
        let mut bench = woken(kept);
        assert_eq!(types(&mut bench, Part::FilterDrier, code), refused(why));
        assert_eq!(bench.station.kept().drier, Limits::USUAL.drier, "{why:?}");
    }
}

/// A lost code's way out: a release stands for any part, once, and the word says so.
#[test]
fn a_release_stands_in_for_any_part_once() {
    let mut bench = woken(worn());
    let release = mint(Kind::Release, 1);
    assert_eq!(types(&mut bench, Part::PumpOil, release), Notice::Exchanged(Part::PumpOil, true));
    assert_eq!(types(&mut bench, Part::FilterDrier, release), refused(CodeFault::UsedBefore));
    assert_eq!(bench.station.kept().drier, Limits::USUAL.drier);
}

/// The thousandth guess in a row is not even looked at, and neither switching off nor on shortens the wait.
/// Shows H17.
#[test]
fn guessing_is_slowed_down_and_a_power_cut_gives_no_guess_back() {
    let mut bench = woken(worn());
    let mut guess = 0_u32;
    let mut next = || {
        guess += 1;
        Code { kind: Kind::FilterDrier, serial: guess }.mint(&CodeKey([9; 32])).expect("in range")
    };
    let mut looked_at = 0;
    for at in 1..=1_000 {
        let word = types(&mut bench, Part::FilterDrier, next());
        match word {
            Notice::CodeRefused(_, CodeFault::NotOurs) => looked_at += 1,
            Notice::CodeRefused(_, CodeFault::Wait(left)) => assert!(left <= Millis::from_secs(3_600)),
            other => panic!("guess {at}: {other:?}"),
        }
        if at % 100 == 0 {
            bench = woken(bench.station.kept().clone());
        }
    }
    assert!(looked_at <= 9, "{looked_at} of 1000 guesses in an hour were looked at");
    assert_eq!(bench.station.kept().wrong_codes, looked_at);
    let wait = bench.station.exchange().wait();
    assert!(wait > Millis::from_secs(300), "{wait:?}");
    // The right one waits like any other, and is taken after it.
    assert!(matches!(
        types(&mut bench, Part::FilterDrier, mint(Kind::FilterDrier, 1)),
        Notice::CodeRefused(_, CodeFault::Wait(_))
    ));
    bench.seconds(wait.to_secs() + 1);
    assert!(matches!(types(&mut bench, Part::FilterDrier, mint(Kind::FilterDrier, 1)), Notice::Exchanged(..)));
    assert_eq!(bench.station.kept().wrong_codes, 0);
}

/// Power goes in every scan after the code was typed, and the store holds either what was asked last or what was before: never is there a
/// life without a burnt code, never a code that is taken again.
/// Shows H17, I23.
#[test]
fn no_power_cut_gives_a_life_for_nothing_or_a_code_back() {
    let code = mint(Kind::FilterDrier, 7);
    let (mut cuts, mut owed) = (0, 0);
    for scans in 0..12 {
        for lost in [false, true] {
            let mut bench = woken(worn());
            let mut before = bench.station.kept().clone();
            bench.give(Command::Exchanged { part: Part::FilterDrier, code });
            for _ in 0..scans {
                before = bench.station.kept().clone();
                bench.scan(None);
            }
            let stored = if lost { before } else { bench.station.kept().clone() };
            let told = bench.notices.iter().any(|n| matches!(n, Notice::Exchanged(..)));
            let mut after = woken(stored);
            let kept = after.station.kept().clone();
            let burnt = kept.used_codes[0].newest() == 7;
            assert!(burnt || kept.drier == Limits::USUAL.drier, "{scans} scans: a life without its code");
            assert!(!told || burnt && kept.drier == Milligram(0), "{scans} scans: told and not kept");
            assert_eq!(kept.unlocking.is_some(), burnt && kept.drier == Limits::USUAL.drier, "{scans} scans");
            after.start(1, order(&[PhaseKind::Evacuate]));
            after.seconds(1);
            assert_eq!(after.station.interlocks().withheld().has(RowId::I23), kept.unlocking.is_some());
            owed += u32::from(kept.unlocking.is_some());
            after.give(Command::Abort);
            after.seconds(1);
            let again = types(&mut after, Part::FilterDrier, code);
            assert_eq!(again == refused(CodeFault::UsedBefore), burnt, "{scans} scans: {again:?}");
            if kept.unlocking.is_some() {
                let fresh = types(&mut after, Part::FilterDrier, mint(Kind::FilterDrier, 8));
                assert!(
                    matches!(fresh, Notice::Exchanged(..)),
                    "the way out of a replacement that was broken off: {fresh:?}"
                );
                assert!(!after.station.interlocks().withheld().has(RowId::I23));
            }
            cuts += 1;
        }
    }
    assert!(owed > 0, "some of {cuts} cuts fell between code and life");
}

/// A filter that is owed its life is not forgotten over pump oil: the oil's code is not even looked at before the filter has its own.
/// Shows I23, H17.
#[test]
fn a_life_that_is_owed_is_given_before_another_part_is_exchanged() {
    let mut bench = woken(Kept { unlocking: Some(Part::FilterDrier), drier: Milligram(5), ..worn() });
    let oil = mint(Kind::PumpOil, 1);
    assert_eq!(types(&mut bench, Part::PumpOil, oil), Notice::Refused(Refusal::Tripped(RowId::I23)));
    assert_eq!((bench.station.kept().unlocking, bench.station.kept().wrong_codes), (Some(Part::FilterDrier), 0));
    let release = mint(Kind::Release, 1);
    assert_eq!(types(&mut bench, Part::FilterDrier, release), Notice::Exchanged(Part::FilterDrier, true));
    assert_eq!(types(&mut bench, Part::PumpOil, oil), Notice::Exchanged(Part::PumpOil, false));
}

/// A store that takes nothing: the code is not looked at, a burnt one gives no life, and it is said.
/// Shows H17, H18, I24.
#[test]
fn without_a_store_nothing_is_burnt_and_nothing_given() {
    let mut bench = woken(worn());
    bench.store_stands = true;
    assert_eq!(types(&mut bench, Part::FilterDrier, mint(Kind::FilterDrier, 7)), refused(CodeFault::NotStored));
    assert_eq!(bench.station.kept().drier, Limits::USUAL.drier);
    assert!(bench.notices.contains(&Notice::NotStored), "{:?}", bench.notices);

    let mut bench = woken(worn());
    bench.give(Command::Exchanged { part: Part::FilterDrier, code: mint(Kind::FilterDrier, 7) });
    assert!(bench.until(1, |b| b.station.kept().unlocking.is_some()), "the code is burnt");
    bench.store_stands = true;
    bench.seconds(3);
    assert!(bench.notices.contains(&refused(CodeFault::NotStored)), "{:?}", bench.notices);
    assert_eq!(bench.station.kept().drier, Limits::USUAL.drier, "no life before the burnt code was read back");
    bench.store_stands = false;
    bench.start(1, order(&[PhaseKind::Evacuate]));
    bench.seconds(1);
    assert!(bench.station.interlocks().withheld().has(RowId::I23));
}

/// F087: what is not read back within a second is told, and the next order does not begin; once it is stored, it does.
/// Shows I24, H18.
#[test]
fn a_store_that_does_not_answer_is_told_within_a_second_and_locks_the_next_order() {
    let mut bench = woken(Kept::COMMISSIONED);
    bench.store_stands = true;
    bench.notices.clear();
    // The wall clock moves on by a minute, which is to be kept.
    let before = bench.station.kept().number;
    assert!(bench.until(70, |b| b.station.kept().number != before));
    let changed = bench.now();
    assert!(bench.until(2, |b| b.notices.contains(&Notice::NotStored)), "{:?}", bench.notices);
    assert!(bench.now() - changed <= 1_050, "{} ms", bench.now() - changed);
    bench.start(1, order(&[PhaseKind::Evacuate]));
    bench.seconds(1);
    assert!(bench.station.interlocks().withheld().has(RowId::I24));
    bench.store_stands = false;
    bench.seconds(2);
    bench.give(Command::Abort);
    bench.seconds(1);
    bench.start(2, order(&[PhaseKind::Evacuate]));
    bench.seconds(1);
    assert!(!bench.station.interlocks().withheld().has(RowId::I24), "it works again");
}

#[test]
fn no_code_is_looked_at_while_an_order_runs_and_no_order_begins_while_one_is() {
    let mut bench = Bench::running(order(&[PhaseKind::Evacuate]));
    bench.notices.clear();
    bench.give(Command::Exchanged { part: Part::PumpOil, code: mint(Kind::PumpOil, 1) });
    assert!(bench.notices.contains(&Notice::Refused(Refusal::Busy)));
    bench.seconds(2);
    assert!(!bench.notices.iter().any(|n| matches!(n, Notice::Exchanged(..))));

    let mut bench = woken(worn());
    bench.give(Command::Exchanged { part: Part::PumpOil, code: mint(Kind::PumpOil, 1) });
    bench.give(Command::Exchanged { part: Part::FilterDrier, code: mint(Kind::FilterDrier, 1) });
    bench.start(1, order(&[PhaseKind::Evacuate]));
    let busy = bench.notices.iter().filter(|n| **n == Notice::Refused(Refusal::Busy)).count();
    assert_eq!(busy, 2, "{:?}", bench.notices);
}

/// Without a record nobody knows which codes were used.
/// Shows I24, F089.
#[test]
fn a_lost_record_locks_codes() {
    let mut bench = Bench::new();
    let start = Start { memory: Memory::Lost, boot: Boot::PowerOn, vessel_rest: Millis(0) };
    bench.station = Station::wake(StationConfig::reference(Refrigerant::R1234yf), &start);
    bench.seconds(5);
    let word = types(&mut bench, Part::FilterDrier, mint(Kind::FilterDrier, 7));
    assert_eq!(word, Notice::Refused(Refusal::Tripped(RowId::I24)));
}
