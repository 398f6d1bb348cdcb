//! Where the store ends: an image that is old, a part that is full, a part of which nothing can be read (F089, F090).

use valvewright_core::record::{Found, LogId, LogPlan, Plan, Refusal, Store, Tidied, WhenFull};

use crate::store_bench::{new_store, pages, restart};
use crate::store_faults::{PAGE, PLAN, Part, get, in_use};

/// On F089. An image of some days ago is sound in itself: only a counter elsewhere tells.
#[test]
fn an_old_image_is_told_by_its_generation_alone() {
    let (mut store, _) = in_use();
    let image = store.flash().clone();
    let outside = {
        for step in 0..20_u32 {
            store.put(0, &step.to_le_bytes()).expect("a part without faults");
        }
        store.generation()
    };
    let now = restart(store, &PLAN).expect("this layout");
    assert_eq!(now.generation(), outside, "it does not fall by a start");
    let old = Store::mount(image, &PLAN).expect("this layout");
    assert_eq!(old.found(), Found::Sound);
    assert!(old.generation() < outside, "{} of {outside}", old.generation());
}

/// On F090. `room` tells beforehand how many fit; one more is refused as full, and nothing is lost for it.
#[test]
fn full_is_foretold_refused_and_harmless() {
    for len in [0, 4, 100, 240] {
        let mut store = new_store::<4, 1024>(&PLAN, 5);
        let foretold = store.room(len);
        assert!(foretold > 2);
        for key in 0..foretold {
            store
                .put(key as u8, &vec![key as u8; len])
                .unwrap_or_else(|refusal| panic!("{key} of {foretold}: {refusal:?}"));
            assert_eq!(store.room(len), foretold - 1 - key);
            if key == 200 {
                return;
            }
        }
        assert_eq!(store.put(230, &vec![1; len]), Err(Refusal::Full), "length {len}");
        // What is there can still be changed, as often as wanted, with a start in between.
        for round in 0..200_u32 {
            store.put((round % foretold) as u8, &vec![round as u8; len]).expect("of the same length");
            if round % 50 == 0 {
                store = restart(store, &PLAN).expect("this layout");
            }
        }
        assert_eq!(store.put(230, &vec![1; len]), Err(Refusal::Full), "length {len}");
        assert_eq!(get(&mut store, 230), Ok(None));
    }
}

/// On F084. Nothing but a part that is blank throughout is new: one bit anywhere, or nothing that can be read, is not.
#[test]
fn unreadable_is_never_new() {
    let blank = Part::new(pages(&PLAN), 1);
    let mut store = Store::mount(blank.clone(), &PLAN).expect("a plan that fits");
    assert_eq!(
        (store.found(), store.put(0, b"x"), get(&mut store, 0)),
        (Found::Blank, Err(Refusal::Blank), Err(Refusal::Blank))
    );
    for bit in (0..pages(&PLAN) * PAGE * 8).step_by(997) {
        let mut part = blank.clone();
        part.flip(bit);
        let mut store = Store::mount(part.clone(), &PLAN).expect("a plan that fits");
        assert_eq!(
            (store.found(), store.put(0, b"x"), get(&mut store, 0)),
            (Found::Lost, Err(Refusal::Lost), Err(Refusal::Lost))
        );
        assert_eq!(store.tidy(), Tidied::Nothing);
        assert_eq!(store.release().cells().held(), part.cells().held(), "it is left as it is");
    }
    // All page heads of a store in use.
    let (mut store, _) = in_use();
    for page in 0..2 * usize::from(PLAN.side) {
        store.flash_mut().force(page * PAGE + 16, &[0; 20]);
    }
    let mut store = restart(store, &PLAN).expect("this layout");
    assert_eq!((store.found(), get(&mut store, 0)), (Found::Lost, Err(Refusal::Lost)));
    let mut anew = Store::commission(store.release(), &PLAN).expect("the part works");
    assert_eq!((anew.found(), get(&mut anew, 0)), (Found::Sound, Ok(None)));
}

/// On F083. The head of any page of a log, three bits: records of that page are told as lost, all others are there, no number is given twice.
#[test]
fn a_page_of_a_log_whose_head_is_bad_is_told_record_by_record() {
    let plan = Plan { logs: [LogPlan { pages: 4, longest: 60, when_full: WhenFull::Refuse }, LogPlan::NONE], ..PLAN };
    let id = LogId::Services;
    let mut whole = new_store::<4, 1024>(&plan, 1);
    // 12 records a page: the third page is the newest.
    for number in 1..=30_u8 {
        assert_eq!(whole.append_to(id, &[number; 60]), Ok(u32::from(number)));
    }
    let first = 2 * usize::from(plan.side);
    let held = whole.flash().cells().held();
    let pages: Vec<usize> = (first..first + 4).filter(|page| held[page * PAGE + 16] != 0xFF).collect();
    assert_eq!(pages.len(), 3);
    for page in pages {
        let mut hurt = whole.clone();
        let victims: Vec<u8> = (1..=30)
            .filter(|number| held[page * PAGE..][..PAGE].windows(60).any(|part| part == [*number; 60]))
            .collect();
        assert!(victims.len() >= 6, "{victims:?}");
        for bit in [3, 40, 71] {
            hurt.flash_mut().flip((page * PAGE + 16) * 8 + bit);
        }
        let mut hurt = restart(hurt, &plan).expect("this layout");
        assert_eq!(hurt.found(), Found::Partly);
        for number in 1..=30_u8 {
            let mut bytes = [0; 60];
            let now = hurt.read_from(id, u32::from(number), &mut bytes);
            assert_eq!(
                now,
                if victims.contains(&number) { Err(Refusal::Lost) } else { Ok(Some(60)) },
                "page {page}, record {number}"
            );
        }
        assert!(hurt.append_to(id, b"next").expect("room") > 30);
    }
}
