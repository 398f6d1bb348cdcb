//! A record that was lost is restored on a supervisor's release alone, and comes back with nothing in it new.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::interlock::RowId;
use valvewright_core::job::{GiveUp, Outcome, PhaseKind, PhaseSet, WorkOrder};
use valvewright_core::kept::{Boot, Kept, Limits, Memory, OWED, Proof, Start};
use valvewright_core::order::{Procedure, Task};
use valvewright_core::station::Station;
use valvewright_core::talk::{Command, Notice, Question, Refusal};
use valvewright_core::token::{Code, CodeFault, CodeKey, Kind, Part, Typed};
use valvewright_core::units::{Milligram, Millis, Permille};

use crate::bench::{Bench, order};

const RESTORE: WorkOrder = WorkOrder::upkeep(Procedure::RestoreRecord, Milligram(0));

fn mint(kind: Kind, serial: u32) -> Typed {
    Code { kind, serial }.mint(&CodeKey::DEMO).expect("in range")
}

fn woken(memory: Memory) -> Bench {
    let mut bench = Bench::new();
    let start = Start { memory, boot: Boot::PowerOn, vessel_rest: Millis(0) };
    bench.station = Station::wake(StationConfig::reference(Refrigerant::R1234yf), &start);
    bench.seconds(5);
    bench
}

/// Lost, the loss accepted, and the wait of a start without a record over.
fn awaits() -> Bench {
    let mut bench = woken(Memory::Lost);
    bench.start(1, RESTORE);
    let asked = |b: &Bench| b.station.job().question() == Some(Question::Task(Task::AcceptLoss));
    assert!(bench.until(90, asked), "{:?}", bench.notices);
    bench.answer(true);
    assert!(bench.until(2, |b| b.notices.contains(&Notice::CodeAwaited(Part::Record))), "{:?}", bench.notices);
    bench
}

fn types(bench: &mut Bench, part: Part, code: Typed) {
    bench.notices.clear();
    bench.give(Command::Exchanged { part, code });
    bench.seconds(3);
}

fn restored(serial: u32) -> Bench {
    let mut bench = awaits();
    types(&mut bench, Part::Record, mint(Kind::Release, serial));
    assert!(bench.notices.contains(&Notice::Exchanged(Part::Record, true)), "{:?}", bench.notices);
    assert!(bench.notices.contains(&Notice::OrderEnded(true)), "{:?}", bench.notices);
    bench
}

/// Shows H18, I24, LC8.
#[test]
fn what_is_restored_is_expired_in_every_part_and_test() {
    let mut bench = restored(900);
    let kept = bench.station.kept().clone();
    assert_eq!((kept.drier, kept.pump_oil), (Limits::USUAL.drier, Limits::USUAL.pump_oil));
    assert!(kept.due.iter().all(|due| *due == OWED), "{:?}", kept.due);
    bench.start(2, order(&[PhaseKind::Identify]));
    bench.seconds(1);
    let withheld = bench.station.interlocks().withheld();
    let stand = [RowId::I21, RowId::I22, RowId::I24, RowId::I27].map(|row| withheld.has(row));
    assert_eq!(stand, [true, true, false, true], "scales unproven, parts worn, a record again, tests owed");
    assert!(bench.notices.contains(&Notice::Worn(Part::FilterDrier, Permille(1_000))), "{:?}", bench.notices);
    // And so it is after the next start.
    let mut again = woken(Memory::Sound(kept));
    again.start(1, order(&[PhaseKind::Identify]));
    again.seconds(1);
    let after = again.station.interlocks().withheld();
    assert_eq!([RowId::I21, RowId::I22, RowId::I24, RowId::I27].map(|row| after.has(row)), stand);
    assert_eq!(again.station.kept().overdue(0), Some(Proof::GasDetector));
}

/// Shows H17.
#[test]
fn no_code_up_to_the_number_of_the_release_is_taken_after_it() {
    for serial in [1, 40, 867, 868, 899, 900] {
        for kind in [Kind::FilterDrier, Kind::Release] {
            let mut bench = restored(900);
            types(&mut bench, Part::FilterDrier, mint(kind, serial));
            let why = if serial < 868 { CodeFault::TooOld } else { CodeFault::UsedBefore };
            assert_eq!(bench.notices, [Notice::CodeRefused(Part::FilterDrier, why)], "{kind:?} {serial}");
            assert_eq!(bench.station.kept().drier, Limits::USUAL.drier);
        }
    }
    let mut bench = restored(900);
    types(&mut bench, Part::FilterDrier, mint(Kind::FilterDrier, 901));
    assert_eq!(bench.notices, [Notice::Exchanged(Part::FilterDrier, false)]);
}

/// To restore a sound record would be a way round the numbers of used codes.
#[test]
fn a_sound_record_is_not_restored() {
    let mut bench = woken(Memory::Sound(Kept::COMMISSIONED));
    bench.start(1, RESTORE);
    assert!(bench.until(90, |b| !b.station.job().records().is_empty()), "{:?}", bench.notices);
    assert_eq!(bench.station.job().records()[0].outcome, Outcome::Failed(GiveUp::RecordSound));
    types(&mut bench, Part::Record, mint(Kind::Release, 900));
    assert_eq!(bench.notices, [Notice::Refused(Refusal::NoQuestion)]);
    assert!(!bench.station.kept().released());
}

/// Shows H17, I24.
#[test]
fn only_a_release_restores_and_only_where_it_is_asked_for() {
    let mut bench = woken(Memory::Lost);
    types(&mut bench, Part::Record, mint(Kind::Release, 900));
    assert!(
        bench.notices.contains(&Notice::Refused(Refusal::NoQuestion)),
        "outside the procedure: {:?}",
        bench.notices
    );
    let mut bench = awaits();
    let mut mistyped = mint(Kind::Release, 900);
    mistyped.0[3] = if mistyped.0[3] == b'0' { b'1' } else { b'0' };
    let foreign = Code { kind: Kind::Release, serial: 900 }.mint(&CodeKey([9; 32])).expect("in range");
    let wrong = [
        (mint(Kind::FilterDrier, 900), CodeFault::OtherKind(Kind::FilterDrier)),
        (mistyped, CodeFault::Mistyped),
        (foreign, CodeFault::NotOurs),
    ];
    for (code, why) in wrong {
        types(&mut bench, Part::Record, code);
        assert!(bench.notices.contains(&Notice::CodeRefused(Part::Record, why)), "{:?}", bench.notices);
        assert!(!bench.station.kept().released());
        bench.seconds(bench.station.exchange().wait().to_secs() + 1);
    }
    types(&mut bench, Part::FilterDrier, mint(Kind::Release, 900));
    assert!(bench.notices.contains(&Notice::Refused(Refusal::Busy)), "for another part: {:?}", bench.notices);
    types(&mut bench, Part::Record, mint(Kind::Release, 900));
    assert!(bench.notices.contains(&Notice::Exchanged(Part::Record, true)), "{:?}", bench.notices);
}

/// Where no try can be counted, a start waits before it looks at the first: switching off and on is no way to guess faster.
/// Shows H17.
#[test]
fn each_start_without_a_record_waits_before_a_code_is_looked_at() {
    let mut bench = woken(Memory::Lost);
    assert!(bench.station.exchange().wait() > Millis::from_secs(20), "{:?}", bench.station.exchange().wait());
    bench.start(1, RESTORE);
    assert!(bench.until(90, |b| b.station.job().question().is_some()));
    bench.answer(true);
    bench.seconds(1);
    types(&mut bench, Part::Record, mint(Kind::FilterDrier, 1));
    let wait = bench.station.exchange().wait();
    assert!(wait > Millis::from_secs(50), "doubled with the next wrong one: {wait:?}");
}

/// Shows H18, I24, LC8.
#[test]
fn what_the_store_does_not_take_restores_nothing_and_may_be_typed_again() {
    let mut bench = awaits();
    bench.store_stands = true;
    types(&mut bench, Part::Record, mint(Kind::Release, 900));
    let refused = Notice::CodeRefused(Part::Record, CodeFault::NotStored);
    assert!(bench.notices.contains(&refused), "{:?}", bench.notices);
    assert!(!bench.notices.contains(&Notice::OrderEnded(true)));
    assert!(bench.station.kept().unlocking.is_none(), "nothing is owed to it");
    bench.store_stands = false;
    bench.seconds(1);
    // What was read back late is a record: the release is no more wanted.
    types(&mut bench, Part::Record, mint(Kind::Release, 900));
    assert!(bench.notices.contains(&Notice::Exchanged(Part::Record, true)), "{:?}", bench.notices);
    assert_eq!(bench.station.kept().drier, Limits::USUAL.drier);
}

/// The store took the release late; an older one that is typed after it opens no number again.
/// Shows H17.
#[test]
fn an_older_release_does_not_lower_the_floor() {
    let mut bench = awaits();
    bench.store_stands = true;
    types(&mut bench, Part::Record, mint(Kind::Release, 900));
    bench.store_stands = false;
    bench.seconds(1);
    types(&mut bench, Part::Record, mint(Kind::Release, 5));
    assert!(bench.notices.contains(&Notice::Exchanged(Part::Record, true)), "{:?}", bench.notices);
    assert_eq!(bench.station.kept().used_codes.map(|used| used.newest()), [900; 3]);
    types(&mut bench, Part::FilterDrier, mint(Kind::FilterDrier, 6));
    assert_eq!(bench.notices, [Notice::CodeRefused(Part::FilterDrier, CodeFault::TooOld)]);
}

/// Whatever a supervisor says, a person stands behind the loss first.
#[test]
fn a_loss_that_nobody_accepts_restores_nothing() {
    let mut bench = woken(Memory::Lost);
    bench.start(1, RESTORE);
    assert!(bench.until(90, |b| b.station.job().question().is_some()));
    bench.answer(false);
    bench.seconds(1);
    assert_eq!(bench.station.job().records()[0].outcome, Outcome::Failed(GiveUp::Declined));
    types(&mut bench, Part::Record, mint(Kind::Release, 900));
    assert!(bench.notices.contains(&Notice::Refused(Refusal::NoQuestion)), "{:?}", bench.notices);
    bench.start(2, WorkOrder { phases: PhaseSet::of(&[PhaseKind::Evacuate]), ..order(&[PhaseKind::Identify]) });
    bench.seconds(1);
    assert!(bench.station.interlocks().withheld().has(RowId::I24));
}
