//! The store over years: wear, capacity, what a full log does, layouts before and after this one, what a put costs at worst.

use std::collections::BTreeMap;

use crc::{CRC_32_ISO_HDLC, Crc};
use valvewright_core::record::{Found, LogId, LogPlan, Plan, Refusal, Store, Tidied, WhenFull};
use valvewright_sim::flash::{Counts, Cut, NorSim, Share};

use crate::store_bench::{Known, act, compare, new_store, pages, plan, restart, workload};
use crate::store_phantom::header;

const SUM: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

fn tidy<const W: usize, const E: usize>(store: &mut Store<NorSim<W, E>>) {
    while store.tidy() != Tidied::Nothing {}
}

fn cost(before: Counts, after: Counts) -> Counts {
    Counts {
        reads: after.reads - before.reads,
        programs: after.programs - before.programs,
        erases: after.erases - before.erases,
        steps: after.steps - before.steps,
        overwrites: after.overwrites - before.overwrites,
        ns: after.ns - before.ns,
    }
}

/// Every page of a side takes its turn: after 100 000 puts no page has a fifth more erases than another of its side.
#[test]
fn a_hundred_thousand_puts_wear_all_pages_alike() {
    let plan = plan(8, 0, 0);
    let mut store = new_store::<8, 2048>(&plan, 1);
    let (mut worst, mut longest) = (Counts::default(), 0);
    let start = store.flash().counts();
    for step in 0..100_000_u32 {
        let before = store.flash().counts();
        let key = if step % 4 == 0 { 0 } else { 1 + (step % 24) as u8 };
        store.put(key, &[step as u8; 48][..16 + (step % 32) as usize]).expect("a part without faults");
        let spent = cost(before, store.flash().counts());
        (worst.programs, worst.erases) = (worst.programs.max(spent.programs), worst.erases.max(spent.erases));
        longest = longest.max(spent.ns);
        if step % 16 == 0 {
            tidy(&mut store);
        }
    }
    let all = cost(start, store.flash().counts());
    println!(
        "100 000 puts of 16 to 47 bytes, 8 pages of 2 KiB a side: {} programs, {} erases, {:.2} ms each on average, {:.1} ms at most, at most {} \
         programs and {} erases in one put; erases of pages {:?}",
        all.programs,
        all.erases,
        all.ns as f64 / 1e11,
        longest as f64 / 1e6,
        worst.programs,
        worst.erases,
        store.flash().wear()
    );
    for side in store.flash().wear().chunks(8) {
        let (least, most) = (side.iter().min().expect("pages"), side.iter().max().expect("pages"));
        assert!(*most <= least + least / 5 && *least > 100, "{side:?}");
    }
    assert_eq!(store.flash().counts().overwrites, 0);
}

/// What the head of the room says of the worst put, with a start before each so that both sides are written anew: without tidying, and with.
#[test]
fn the_worst_put_costs_what_is_said() {
    const PAGES: u64 = 4;
    let plan = plan(PAGES as u8, 0, 0);
    for tidied in [false, true] {
        let mut store = new_store::<8, 1024>(&plan, 1);
        let keys = u64::from(store.room(60).min(12));
        let mut worst = (0, 0);
        for round in 0..600_u32 {
            if round % 7 == 0 {
                store = restart(store, &plan).expect("this layout");
            }
            if tidied {
                tidy(&mut store);
            }
            let before = store.flash().counts();
            store.put((u64::from(round) % keys) as u8, &[round as u8; 60]).expect("room for it");
            let spent = cost(before, store.flash().counts());
            worst = (worst.0.max(spent.programs), worst.1.max(spent.erases));
        }
        println!("tidied {tidied}: {keys} items, at most {} programs and {} erases in a put", worst.0, worst.1);
        // An erase is followed by the program of its marker.
        let most = if tidied { 0 } else { 2 * (PAGES - 1) };
        assert!(worst.1 <= most && worst.0 <= 2 * (2 * keys + 2 * PAGES + 4) + worst.1, "{worst:?}");
        assert!(worst.0 > 2 * keys);
    }
}

/// `tidy` does one erase at most, and comes to an end.
#[test]
fn tidying_is_done_in_single_erases() {
    let (mut store, mut known) = (new_store::<4, 1024>(&plan(4, 3, 3), 1), Known::default());
    let mut erased = 0;
    for op in workload(120, 6, 60, true) {
        act(&mut store, &mut known, &op).expect("a part without faults");
        for _ in 0..20 {
            let before = store.flash().counts().erases;
            let done = store.tidy();
            let spent = store.flash().counts().erases - before;
            assert!(spent <= 1, "{done:?}: {spent}");
            erased += spent;
        }
        assert_eq!(store.tidy(), Tidied::Nothing);
    }
    assert!(erased > 10, "{erased}");
    compare(&mut store, &mut known, None).expect("as before");
}

const LOGGED: Plan = Plan {
    side: 2,
    logs: [
        LogPlan { pages: 3, longest: 60, when_full: WhenFull::Refuse },
        LogPlan { pages: 3, longest: 28, when_full: WhenFull::OverExported },
    ],
    rating: 10_000,
};

/// A log that refuses takes what it said, refuses then, and takes more only after somebody let go of what was exported.
#[test]
fn a_log_that_refuses_keeps_all_until_let_go() {
    let mut store = new_store::<4, 1024>(&LOGGED, 1);
    let id = LogId::Services;
    let holding = store.holding(id).expect("a log");
    for number in 1..=holding.room {
        assert_eq!(store.append_to(id, &[number as u8; 60]), Ok(number));
        assert_eq!(store.holding(id).expect("a log").room, holding.room - number);
    }
    assert!(holding.room >= holding.capacity);
    assert_eq!(store.append_to(id, b"one more"), Err(Refusal::Full));
    assert_eq!(store.let_go(id), Ok(false), "nothing was exported");
    assert_eq!(store.mark_exported(id, holding.room + 1), Err(Refusal::Input), "that number was not given");
    store.mark_exported(id, holding.room).expect("the last one");
    assert_eq!(store.mark_exported(id, 1), Err(Refusal::Input), "the mark does not go back");
    assert_eq!(store.append_to(id, b"one more"), Err(Refusal::Full), "exported is not let go");
    assert_eq!(store.let_go(id), Ok(true));
    assert_eq!(store.append_to(id, b"one more"), Ok(holding.room + 1));
    let now = store.holding(id).expect("a log");
    assert!(now.oldest > 1 && now.count() > holding.capacity / 2);
    println!("slots of 60 bytes in 3 pages of 1 KiB: capacity {}, {} when new", holding.capacity, holding.room);
}

/// A log that goes over what was exported never gives up what was not.
#[test]
fn a_log_goes_over_nothing_but_what_was_exported() {
    let mut store = new_store::<4, 1024>(&LOGGED, 1);
    let id = LogId::Events;
    let mut next = 1;
    while let Ok(number) = store.append_to(id, &[next as u8; 28]) {
        assert_eq!(number, next);
        next += 1;
    }
    assert_eq!(store.append_to(id, b"one more"), Err(Refusal::Full));
    for upto in [1, next / 2, next - 1] {
        store.mark_exported(id, upto).expect("given");
        for _ in 0..4 {
            match store.append_to(id, &[next as u8; 28]) {
                Ok(number) => {
                    assert_eq!(number, next);
                    next += 1;
                }
                Err(refusal) => assert_eq!(refusal, Refusal::Full),
            }
            let now = store.holding(id).expect("a log");
            assert!(now.oldest <= upto + 1, "{now:?} after {upto} were exported");
            for number in now.oldest..now.next {
                let mut bytes = [0; 28];
                assert_eq!(store.read_from(id, number, &mut bytes), Ok(Some(28)));
                assert_eq!(bytes, [number as u8; 28]);
            }
        }
    }
    assert!(store.holding(id).expect("a log").oldest > 1, "it did go over");
}

/// Each start that is followed by a record costs a slot, as said, and no record.
#[test]
fn a_start_costs_a_slot_of_a_log_and_no_more() {
    let mut store = new_store::<4, 1024>(&LOGGED, 1);
    let id = LogId::Events;
    let first = store.holding(id).expect("a log").room;
    let (mut appended, mut starts) = (0, 0);
    while store.append_to(id, &[appended as u8; 20]).is_ok() {
        appended += 1;
        if appended % 5 == 0 {
            store = restart(store, &LOGGED).expect("this layout");
            starts += 1;
        }
    }
    println!("{appended} records with {starts} starts where {first} fit without");
    assert!(appended + starts >= first, "{appended} + {starts} of {first}");
    for number in 1..=appended {
        let mut bytes = [0; 28];
        assert_eq!(store.read_from(id, number, &mut bytes), Ok(Some(20)));
        assert_eq!(bytes[0], (number - 1) as u8);
    }
}

/// A record of a log that is damaged is told as lost; those beside it are there, and its number is not given again. Shows F083.
#[test]
fn a_damaged_record_of_a_log_is_lost_and_told() {
    let mut whole = new_store::<4, 1024>(&LOGGED, 1);
    for number in 1..=20_u8 {
        whole.append_to(LogId::Events, &[0x40 + number; 28]).expect("room");
    }
    for victim in [1_u8, 9, 20] {
        for (offset, bit) in [(0, 3), (-12, 1), (-4, 7), (-6, 2)] {
            let mut store = whole.clone();
            let held = store.flash().cells().held();
            let at = (0..held.len() - 28).find(|at| held[*at..*at + 28] == [0x40 + victim; 28]).expect("it is there");
            store.flash_mut().flip((at as isize + offset) as usize * 8 + bit);
            let mut store = restart(store, &LOGGED).expect("this layout");
            assert_eq!(store.found(), Found::Partly);
            let mut bytes = [0; 28];
            for number in 1..=20_u8 {
                let now = store.read_from(LogId::Events, u32::from(number), &mut bytes);
                let expected = if number == victim { Err(Refusal::Lost) } else { Ok(Some(28)) };
                assert_eq!(now, expected, "record {number}, {victim} damaged at {offset}");
            }
            assert_eq!(store.append_to(LogId::Events, b"next"), Ok(21));
        }
    }
}

/// The head of every page of the sides as an earlier or later layout has it.
fn in_layout(part: &mut NorSim<4, 1024>, plan: &Plan, layout: u8) -> u32 {
    let mut changed = 0;
    for page in 0..2 * usize::from(plan.side) {
        let at = page * 1024 + 16;
        let mut head = part.cells().held()[at..at + 24].to_vec();
        if head[..3] == [0xFF; 3] {
            continue;
        }
        head[0] = layout;
        if layout == 0 {
            // Layout 0 had no list of pages given up: these bytes were left blank.
            head[12..14].fill(0xFF);
        }
        let sum = SUM.checksum(&head[..20]);
        head[20..].copy_from_slice(&sum.to_le_bytes());
        part.force(at, &head);
        changed += 1;
    }
    changed
}

#[test]
fn the_layout_before_is_taken_over_even_with_power_cuts() {
    let plan = plan(3, 2, 2);
    let (mut store, mut known) = (new_store::<4, 1024>(&plan, 9), Known::default());
    for op in workload(40, 6, 60, true) {
        act(&mut store, &mut known, &op).expect("a part without faults");
    }
    let mut old = store.release();
    assert!(in_layout(&mut old, &plan, 0) >= 2);
    let layouts = |part: &NorSim<4, 1024>| {
        let heads = part.cells().held().chunks(1024).take(6).map(|page| page[16]).filter(|layout| *layout != 0xFF);
        heads.fold(BTreeMap::new(), |mut count, layout| {
            *count.entry(layout).or_insert(0) += 1;
            count
        })
    };
    let mut store = Store::mount(old.clone(), &plan).expect("layout 0");
    assert_eq!(store.found(), Found::Repaired);
    compare(&mut store, &mut known.clone(), None).expect("all of it");
    tidy(&mut store);
    let steps = store.flash().counts().steps - old.counts().steps;
    assert_eq!(layouts(store.flash()).keys().copied().collect::<Vec<u8>>(), [1], "all is layout 1");
    let store = restart(store, &plan).expect("layout 1");
    assert_eq!(store.found(), Found::Sound);
    for step in 0..steps {
        for share in [Share::Nothing, Share::Some, Share::AllBut, Share::Scattered] {
            let mut part = old.clone();
            part.cut(Cut { after: step, share });
            let store = Store::mount(part, &plan).expect("layout 0");
            let mut store = restart(store, &plan).expect("layout 0 or 1");
            compare(&mut store, &mut known.clone(), None).unwrap_or_else(|wrong| panic!("{step} {share:?}: {wrong}"));
        }
    }
}

#[test]
fn a_later_layout_is_refused_and_left_alone() {
    let plan = plan(3, 2, 2);
    let (mut store, mut known) = (new_store::<4, 1024>(&plan, 9), Known::default());
    for op in workload(40, 6, 60, true) {
        act(&mut store, &mut known, &op).expect("a part without faults");
    }
    let mut later = store.release();
    in_layout(&mut later, &plan, 2);
    let counts = later.counts();
    let mut seen = later.clone();
    assert_eq!(Store::mount(&mut seen, &plan).err(), Some(Refusal::TooNew(2)));
    assert_eq!(seen.cells().held(), later.cells().held());
    assert_eq!((seen.counts().programs, seen.counts().erases), (counts.programs, counts.erases));
    // One page of it is enough.
    let mut part = new_store::<4, 1024>(&plan, 9).release();
    part.force(2 * 1024 + 16, &header(2 * 1024, 0, 7, 90));
    assert_eq!(Store::mount(part, &plan).err(), Some(Refusal::TooNew(7)));
}

/// Cut off anywhere, commissioning leaves a part that is blank or lost, or a new store: nothing of what was there before comes back.
#[test]
fn commissioning_that_is_cut_off_brings_nothing_back() {
    let plan = plan(2, 2, 0);
    let (mut store, mut known) = (new_store::<4, 1024>(&plan, 9), Known::default());
    for op in workload(20, 4, 60, false) {
        act(&mut store, &mut known, &op).expect("a part without faults");
    }
    let used = store.release();
    for part in [used, NorSim::new(pages(&plan), 4)] {
        let whole = Store::commission(part.clone(), &plan).expect("the part works");
        let steps = whole.flash().counts().steps - part.counts().steps;
        let mut anew = 0;
        for step in 0..steps {
            for share in [Share::Nothing, Share::Some, Share::AllBut, Share::All] {
                let mut cut = part.clone();
                cut.cut(Cut { after: step, share });
                assert!(Store::commission(&mut cut, &plan).is_err(), "cut in {step}");
                cut.power_on();
                let mut store = Store::mount(cut, &plan).expect("this layout");
                let found = store.found();
                let first = store.get(1, &mut [0; 240]);
                // What the first erase has not touched is still as it was.
                let before =
                    step == 0 && known.items.contains_key(&1) && first == Ok(known.items.get(&1).map(Vec::len));
                anew += u32::from(first == Ok(None));
                assert!(
                    before || matches!(found, Found::Blank | Found::Lost) || first == Ok(None),
                    "step {step}, {share:?}: {found:?}, {first:?}"
                );
                let again = Store::commission(store.release(), &plan).expect("the part works");
                assert_eq!(again.found(), Found::Sound);
            }
        }
        assert!(anew > 0, "the last steps leave a new store");
    }
}

/// Plans that do not fit are refused.
#[test]
fn a_plan_that_does_not_fit_is_refused() {
    let good = plan(3, 2, 2);
    let part = || NorSim::<4, 1024>::new(pages(&good), 1);
    assert!(Store::commission(part(), &good).is_ok());
    let log = |pages, longest| [LogPlan { pages, longest, when_full: WhenFull::Refuse }, LogPlan::NONE];
    for bad in [
        Plan { side: 1, ..good },
        Plan { side: 17, ..good },
        Plan { side: 6, ..good },
        Plan { logs: log(1, 10), ..good },
        Plan { logs: log(2, 0), ..good },
        Plan { logs: log(2, 241), ..good },
    ] {
        assert_eq!(Store::mount(part(), &bad).err(), Some(Refusal::Plan), "{bad:?}");
        assert_eq!(Store::commission(part(), &bad).err(), Some(Refusal::Plan), "{bad:?}");
    }
    let mut store = new_store::<4, 1024>(&Plan { logs: log(2, 10), ..good }, 1);
    assert_eq!(store.put(0xF0, b"x"), Err(Refusal::Input), "a key of the store's own");
    assert_eq!(store.put(0, &[0; 241]), Err(Refusal::Input));
    assert_eq!(store.append_to(LogId::Services, &[0; 11]), Err(Refusal::Input));
    assert_eq!(store.append_to(LogId::Events, &[0; 1]), Err(Refusal::Plan), "no such log");
}

/// What it takes of the RAM, without a flash's own.
#[test]
fn a_store_takes_little_ram() {
    let bytes = size_of::<Store<()>>();
    println!("{bytes} bytes");
    assert!(bytes <= 512, "{bytes}");
}
