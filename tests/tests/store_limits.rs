//! Where the store ends: an image that is old, a part that is full, a part of which nothing can be read (F089, F090).

use valvewright_core::record::{Found, Refusal, Store, Tidied};

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
