//! Each fault of the record store by its name in the catalogue, F083 and F085 to F088: what must not be lost is there, what is lost is told.

use valvewright_core::record::{Found, LogId, Plan, Refusal, Store, Tidied};
use valvewright_sim::flash::{NorSim, Worn};

use crate::store_bench::{Known, act, compare, new_store, plan, restart, workload};

pub type Part = NorSim<4, 1024>;
pub const PAGE: usize = 1024;
/// An item that is sought in the bytes of the part.
const MARKED: [u8; 22] = *b"the item under attack!";
pub const PLAN: Plan = plan(4, 2, 2);

/// A store in use, with the marked item neither its oldest nor its newest.
pub fn in_use() -> (Store<Part>, Known) {
    let (mut store, mut known) = (new_store::<4, 1024>(&PLAN, 11), Known::default());
    let (early, late) = (workload(30, 6, 60, true), workload(4, 3, 20, false));
    for op in &early {
        act(&mut store, &mut known, op).expect("a part without faults");
    }
    store.put(9, &MARKED).expect("room for it");
    known.items.insert(9, MARKED.to_vec());
    for op in &late {
        act(&mut store, &mut known, op).expect("a part without faults");
    }
    (store, known)
}

pub fn get(store: &mut Store<Part>, key: u8) -> Result<Option<Vec<u8>>, Refusal> {
    let mut bytes = [0; 240];
    Ok(store.get(key, &mut bytes)?.map(|len| bytes[..len].to_vec()))
}

/// Where the marked item's value begins on a side, the only time that it stands there.
fn value_at(store: &Store<Part>, side: usize) -> usize {
    let bytes = store.flash().cells().held();
    let from = side * usize::from(PLAN.side) * PAGE;
    let here = &bytes[from..from + usize::from(PLAN.side) * PAGE];
    let found: Vec<usize> = (0..here.len() - MARKED.len()).filter(|at| here[*at..].starts_with(&MARKED)).collect();
    assert_eq!(found.len(), 1, "side {side} holds it once: {found:?}");
    from + found[0]
}

/// Bytes of the record before the value, and with value, filling and mark behind its start.
const HEAD: usize = 12;
const RECORD: usize = 12 + 22 + 6 + 8;

/// After flips the store is as it was, has mended itself, and is sound at the next start.
fn mends(store: Store<Part>, known: &Known, what: &str) -> Found {
    let mut store = restart(store, &PLAN).expect("this layout");
    let found = store.found();
    compare(&mut store, &mut known.clone(), None).unwrap_or_else(|wrong| panic!("{what}: {wrong}"));
    let mut store = restart(store, &PLAN).expect("this layout");
    assert_eq!(store.found(), Found::Sound, "{what}: one start later");
    compare(&mut store, &mut known.clone(), None).unwrap_or_else(|wrong| panic!("{what}, one start later: {wrong}"));
    found
}

/// On F083. Every bit of a copy, of either side: head, sum, value, mark, and the head of its page.
#[test]
fn a_flipped_bit_in_one_copy_loses_nothing() {
    let (store, known) = in_use();
    let (mut tried, mut noticed) = (0, 0);
    for side in 0..2 {
        let value = value_at(&store, side);
        let page = value / PAGE * PAGE;
        for byte in (page..page + 48).chain(value - HEAD..value - HEAD + RECORD) {
            for bit in 0..8 {
                let mut hurt = store.clone();
                hurt.flash_mut().flip(byte * 8 + bit);
                let found = mends(hurt, &known, &format!("bit {bit} of byte {} of its page, side {side}", byte - page));
                tried += 1;
                noticed += u32::from(found == Found::Repaired);
            }
        }
    }
    println!(
        "{tried} single flips, {noticed} noticed: the others are in the erase marker of an open page and in the filling"
    );
    assert_eq!(tried, 2 * 8 * (48 + RECORD as u32));
    assert_eq!(noticed, tried - 2 * 8 * (16 + 6), "only marker and filling say nothing");
}

/// On F083. Two and three bits anywhere in one copy's record or page head.
#[test]
fn three_flipped_bits_in_one_copy_lose_nothing() {
    let (store, known) = in_use();
    let mut dice = 12_345_u32;
    let mut draw = |end: usize| {
        dice = dice.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (dice >> 8) as usize % end
    };
    for round in 0..3_000 {
        let side = round % 2;
        let value = value_at(&store, side);
        let mut hurt = store.clone();
        let flips: Vec<usize> = (0..2 + round / 2 % 2)
            .map(|_| {
                let byte = draw(RECORD + 48);
                let at = if byte < 48 { value / PAGE * PAGE + byte } else { value - HEAD + byte - 48 };
                at * 8 + draw(8)
            })
            .collect();
        flips.iter().for_each(|bit| hurt.flash_mut().flip(*bit));
        mends(hurt, &known, &format!("bits {flips:?}"));
    }
}

/// On F083. The same bits of both values: told as lost, at each start, until it is put anew. All else stands.
#[test]
fn an_item_whose_both_copies_are_bad_is_lost_and_never_a_default() {
    let (store, known) = in_use();
    for byte in 0..MARKED.len() {
        let mut hurt = store.clone();
        for side in 0..2 {
            let at = value_at(&hurt, side) + byte;
            hurt.flash_mut().flip(at * 8 + side);
        }
        assert_eq!(get(&mut hurt, 9), Err(Refusal::Lost), "byte {byte}, as soon as it is read");
        for start in 0..3 {
            hurt = restart(hurt, &PLAN).expect("this layout");
            assert_eq!(
                (hurt.found(), get(&mut hurt, 9)),
                (Found::Partly, Err(Refusal::Lost)),
                "byte {byte}, start {start}"
            );
            for (key, value) in known.items.iter().filter(|(key, _)| **key != 9) {
                assert_eq!(get(&mut hurt, *key), Ok(Some(value.clone())), "byte {byte}, key {key}");
            }
        }
        hurt.put(9, b"again").expect("a supervisor's repair");
        hurt = restart(hurt, &PLAN).expect("this layout");
        assert_eq!((hurt.found(), get(&mut hurt, 9)), (Found::Sound, Ok(Some(b"again".to_vec()))));
    }
}

/// On F083. Where not even the key can be read on either side, every item that is older may be the one: all are told as lost.
#[test]
fn an_unknown_item_that_is_lost_takes_all_older_ones_with_it() {
    let (store, known) = in_use();
    let mut hurt = store;
    for side in 0..2 {
        let head = value_at(&hurt, side) - HEAD;
        for bit in [1, 12, 40] {
            hurt.flash_mut().flip(head * 8 + bit);
        }
    }
    for _ in 0..3 {
        hurt = restart(hurt, &PLAN).expect("this layout");
        assert_eq!(hurt.found(), Found::Partly);
        // Keys 0, 1 and 2 were put after it.
        for (key, value) in &known.items {
            let expected = if *key <= 2 { Ok(Some(value.clone())) } else { Err(Refusal::Lost) };
            assert_eq!(get(&mut hurt, *key), expected, "key {key}");
        }
        assert_eq!(get(&mut hurt, 200), Err(Refusal::Lost), "even what was never put: nobody knows");
    }
    hurt.put(9, b"again").expect("a supervisor's repair");
    assert_eq!(get(&mut hurt, 9), Ok(Some(b"again".to_vec())));
}

/// On F085. A page of which only half was erased looks blank and falls back: it is erased anew before it is used.
#[test]
fn what_looks_blank_is_not_trusted() {
    for seed in 0..60 {
        let (mut store, mut known) = in_use();
        store.flash_mut().reseed(seed);
        let mut rounds = 0;
        // The next erase is cut near its end, whenever it comes.
        for op in workload(200, 6, 60, true) {
            let erases = store.flash().counts().erases;
            let mut trial = (store.clone(), known.clone());
            act(&mut trial.0, &mut trial.1, &op).expect("a part without faults");
            if trial.0.flash().counts().erases == erases {
                (store, known) = trial;
                continue;
            }
            let cut = valvewright_sim::flash::Cut { after: 0, share: valvewright_sim::flash::Share::AllBut };
            store.flash_mut().cut(cut);
            let during = act(&mut store, &mut known, &op).is_err().then_some(&op);
            store = restart(store, &PLAN).expect("this layout");
            compare(&mut store, &mut known, during).unwrap_or_else(|wrong| panic!("seed {seed}: {wrong}"));
            store.flash_mut().age();
            rounds += 1;
            if rounds == 3 {
                break;
            }
        }
        assert_eq!(rounds, 3);
    }
}

/// On F086. Pages that wear out one after the other, told by the driver or in silence: work goes on elsewhere, the rating is warned of,
/// and when too few are left nothing is taken and nothing is lost.
#[test]
fn worn_pages_are_given_up_and_the_last_are_kept_for_reading() {
    for told in [true, false] {
        let (mut store, mut known) = in_use();
        for page in 0..8 {
            store.flash_mut().wears(page, Worn { after: 10 + 5 * page as u32, told });
        }
        let mut refused = None;
        for step in 0..20_000_u32 {
            let value = step.to_le_bytes().to_vec();
            match store.put(0, &value) {
                Ok(()) => known.items.insert(0, value),
                Err(refusal) => {
                    refused = Some((step, refusal, value));
                    break;
                }
            };
            if step % 8 == 0 {
                while store.tidy() != Tidied::Nothing {}
            }
        }
        let (step, refusal, value) = refused.expect("pages end");
        assert_eq!(refusal, Refusal::WornOut, "told {told}, put {step}");
        println!("told {told}: {step} puts, then {refusal:?}, {:?}", store.health());
        assert!(step > 300 && store.health().retired >= 3, "{:?}", store.health());
        for _ in 0..3 {
            store = restart(store, &PLAN).expect("this layout");
            let during = crate::store_bench::Op::Put(0, value.clone());
            compare(&mut store, &mut known, Some(&during)).unwrap_or_else(|wrong| panic!("told {told}: {wrong}"));
        }
    }
}

/// On F086.
#[test]
fn wear_is_warned_of_at_80_percent_of_the_rating() {
    let plan = Plan { rating: 50, ..PLAN };
    let mut store = new_store::<4, 1024>(&plan, 1);
    let mut warned = None;
    for step in 0..10_000_u32 {
        store.put(0, &step.to_le_bytes()).expect("it still works");
        if store.health().worn {
            warned = Some(*store.flash().wear().iter().max().expect("pages"));
            break;
        }
    }
    assert_eq!(warned, Some(40));
}

/// On F087. Any program, and any two in a row, that says well and does nothing: found, and done elsewhere.
#[test]
fn a_program_that_does_nothing_is_found() {
    let (store, known) = in_use();
    let (mut tried, mut noticed) = (0, 0);
    // Enough programs for a start that writes both sides anew, and the put.
    for from_start in [false, true] {
        for after in 0..60 {
            for count in [1, 2, 3] {
                let (mut now, mut known) = (store.clone(), known.clone());
                if from_start {
                    now = restart(now, &PLAN).expect("this layout");
                }
                let before = now.health().mended;
                now.flash_mut().ignore(after, count);
                now.put(9, b"newer").unwrap_or_else(|refusal| panic!("after {after}, {count} of them: {refusal:?}"));
                known.items.insert(9, b"newer".to_vec());
                noticed += u32::from(now.health().mended > before);
                tried += 1;
                now = restart(now, &PLAN).expect("this layout");
                compare(&mut now, &mut known, None).unwrap_or_else(|wrong| panic!("after {after}, {count}: {wrong}"));
            }
        }
    }
    println!("{tried} puts with programs left out, {noticed} met one");
    assert!(noticed > 60, "{noticed}");
}

/// On F087. A part that takes nothing any more: nothing is acknowledged, and all that was is there.
#[test]
fn a_part_that_ignores_every_program_acknowledges_nothing() {
    let (mut store, mut known) = in_use();
    store.flash_mut().ignore(0, u64::MAX);
    for key in [0, 9, 20] {
        assert!(matches!(store.put(key, b"nowhere"), Err(Refusal::NotStored | Refusal::WornOut)));
    }
    assert!(store.append_to(LogId::Events, b"nowhere").is_err());
    assert!(store.mark_exported(LogId::Events, 1).is_err());
    compare(&mut store, &mut known, None).expect("as before");
    let mut store = restart(store, &PLAN).expect("this layout");
    compare(&mut store, &mut known, None).expect("as before");
}

/// On F088. Bits of one copy that read otherwise in a share of all reads: the item is right at every start, and is moved to a place that
/// holds still.
#[test]
fn unsteady_bits_are_read_right_and_refreshed() {
    let (store, known) = in_use();
    let mut tried = 0;
    for share in [0.1, 0.2, 0.3, 0.4, 0.5, 0.6] {
        for side in 0..2 {
            let value = value_at(&store, side);
            let page = value / PAGE * PAGE;
            for byte in (page..page + 48).chain(value - HEAD..value - HEAD + RECORD) {
                let mut hurt = store.clone();
                hurt.flash_mut().reseed(byte as u64);
                hurt.flash_mut().unsettle(byte * 8 + byte % 8, share);
                for start in 0..6 {
                    hurt = restart(hurt, &PLAN).expect("this layout");
                    compare(&mut hurt, &mut known.clone(), None)
                        .unwrap_or_else(|wrong| panic!("byte {byte}, p {share}, start {start}: {wrong}"));
                }
                hurt.put(9, b"after").expect("a part without other faults");
                assert_eq!(get(&mut hurt, 9), Ok(Some(b"after".to_vec())));
                tried += 1;
            }
        }
    }
    assert_eq!(tried, 6 * 2 * (48 + RECORD));
    // One that was noticed is at rest after the start that noticed it.
    let mut hurt = store.clone();
    let at = value_at(&hurt, 0);
    hurt.flash_mut().unsettle(at * 8, 0.5);
    for start in 0..40 {
        hurt = restart(hurt, &PLAN).expect("this layout");
        if hurt.found() == Found::Repaired {
            while hurt.tidy() != Tidied::Nothing {}
            assert_eq!(hurt.flash().cells().unsteady(), 0, "start {start}");
            return;
        }
    }
    panic!("40 starts did not notice a bit that reads wrong every other time");
}

/// On F088. Bits of both copies, right in 4 of 10 reads: with one it is always found right, with more it is right or lost, never something else.
#[test]
fn unsteady_bits_in_both_copies_are_right_or_lost() {
    let (store, known) = in_use();
    for bits in 1..=4 {
        let (mut right, mut lost) = (0, 0);
        for seed in 0..300 {
            let mut hurt = store.clone();
            hurt.flash_mut().reseed(seed);
            for side in 0..2 {
                let at = value_at(&store, side);
                (0..bits).for_each(|bit| hurt.flash_mut().unsettle(at * 8 + 9 * bit, 0.6));
            }
            let mut hurt = restart(hurt, &PLAN).expect("this layout");
            match get(&mut hurt, 9) {
                Ok(Some(value)) if Some(&value) == known.items.get(&9) => right += 1,
                Err(Refusal::Lost) => lost += 1,
                other => panic!("{bits} bits, seed {seed}: {other:?}"),
            }
        }
        println!("{bits} bits of both copies at 0.6: {right} right, {lost} told as lost");
        assert_eq!(right + lost, 300);
        assert!(bits > 1 || lost == 0, "{lost}");
    }
}
