//! The controller's state on its store, as a board wires it: what is told as stored is there, and what power does in between loses nothing.

use valvewright_core::kept::{Hoses, Kept, Memory};
use valvewright_core::record::state::{decode, encode};
use valvewright_core::record::{Keeping, LOGS, LogPlan, Plan, Store, WhenFull};
use valvewright_core::row::RowSet;
use valvewright_core::token::{Part, Used};
use valvewright_core::units::Milligram;
use valvewright_sim::flash::{Cut, NorSim, Share};

type Chip = NorSim<8, 2048>;
const NO_LOG: LogPlan = LogPlan { pages: 0, longest: 1, when_full: WhenFull::Refuse };
const PLAN: Plan = Plan { side: 4, logs: [NO_LOG; LOGS], rating: 10_000 };

fn state(number: u32) -> Kept {
    Kept { number, drier: Milligram(number as i32 * 10), pump_oil: number, ..Kept::COMMISSIONED }
}

fn commissioned() -> Keeping<Chip> {
    Keeping::commission(Chip::new(8, 1), &PLAN, &state(1)).expect("a new part")
}

/// The part alone dips, and nobody starts anew: the store goes on as if nothing had been.
/// Shows F084, F091.
#[test]
fn dips_of_the_part_alone_are_overcome_with_the_next_try() {
    for share in [Share::Nothing, Share::Some, Share::AllBut, Share::All, Share::Scattered] {
        for dips in 1..4 {
            for after in 0..80 {
                let mut keeping = commissioned();
                for number in 2..2 + dips {
                    keeping.store_mut().flash_mut().cut(Cut { after, share });
                    keeping.keep(&state(number));
                    keeping.store_mut().flash_mut().power_on();
                }
                let last = state(9);
                let tries = (0..4).position(|_| keeping.keep(&last) == 9);
                assert!(tries.is_some(), "{share:?} after {after} steps, {dips} dips: never stored again");
                let (again, memory) = Keeping::mount(keeping.release(), &PLAN, 0).expect("this plan");
                assert_eq!((memory, again.stored()), (Memory::Sound(last), 9), "{share:?} after {after}, {dips} dips");
            }
        }
    }
}

/// An old image, whatever it holds, is lost where a count outside the part says that more was stored; without such a count it is believed.
/// Shows F089, H18, LC8.
#[test]
fn an_old_image_is_lost_by_the_count_outside_it() {
    let mut keeping = commissioned();
    let old = keeping.store().flash().clone();
    (2..20).for_each(|number| assert_eq!(keeping.keep(&state(number)), number));
    let count = keeping.count();
    let (mut again, memory) = Keeping::mount(old.clone(), &PLAN, count).expect("this plan");
    assert_eq!(memory, Memory::Lost);
    assert_eq!(Keeping::mount(old, &PLAN, 0).expect("this plan").1, Memory::Sound(state(1)));
    let (_, memory) = Keeping::mount(keeping.release(), &PLAN, count).expect("this plan");
    assert_eq!(memory, Memory::Sound(state(19)));
    // What is lost is not made sound by writing on: a supervisor commissions it anew.
    assert_eq!(again.keep(&state(99)), 0);
    assert_eq!(Keeping::mount(again.release(), &PLAN, 0).expect("this plan").1, Memory::Sound(state(1)));
}

/// Blank, and the state unreadable on both sides: lost, and nothing is written over it.
/// Shows H17, LC8.
#[test]
fn what_cannot_be_read_is_never_new_and_never_written_over() {
    let (mut blank, memory) = Keeping::mount(Chip::new(8, 1), &PLAN, 0).expect("this plan");
    assert_eq!(memory, Memory::Lost);
    assert_eq!(blank.keep(&state(5)), 0);

    let mut keeping = commissioned();
    keeping.keep(&state(2));
    let bytes: Vec<u8> = keeping.store().flash().cells().held().to_vec();
    let value = encode(&state(2));
    let places: Vec<usize> = (0..bytes.len() - value.len()).filter(|at| bytes[*at..].starts_with(&value)).collect();
    assert_eq!(places.len(), 2, "once on each side");
    places.iter().for_each(|at| keeping.store_mut().flash_mut().flip(at * 8 + 1));
    let (mut again, memory) = Keeping::mount(keeping.release(), &PLAN, 0).expect("this plan");
    assert_eq!(memory, Memory::Lost);
    assert_eq!(again.keep(&state(3)), 0, "COMMISSIONED must not take the place of what was lost");
    assert_eq!(Keeping::mount(again.release(), &PLAN, 0).expect("this plan").1, Memory::Lost, "nor at the next start");
}

/// Each field at its place, and no byte that is not there or is another layout's.
#[test]
fn a_state_comes_back_as_it_was_stored_and_half_of_it_does_not() {
    let full = Kept {
        number: u32::MAX - 1,
        latched: RowSet(0x8000_0000_0000_0102),
        starts: 2,
        drier: Milligram(-5),
        pump_oil: 216_001,
        clock: 820_454_400,
        span: [i32::MIN, i32::MAX, 7, -7],
        unlocking: Some(Part::PumpOil),
        used_codes: [Used::NONE.with(7).with(9), Used::NONE, Used::NONE.with(1_048_575)],
        wrong_codes: 200,
        due: [1, 2, 3, 4, 5, u32::MAX],
        order: 65_535,
        charged: Milligram(479_900),
        program: 513,
        samples: 299,
        minutes: 5_000_000,
        hoses: Hoses::Flushed,
    };
    let bytes = encode(&full);
    assert_eq!(decode(&bytes).as_ref(), Some(&full));
    assert_eq!(decode(&encode(&Kept::COMMISSIONED)), Some(Kept::COMMISSIONED));
    assert!((0..bytes.len()).all(|end| decode(&bytes[..end]).is_none()), "cut short");
    assert_eq!(decode(&[&bytes[..], &[0]].concat()), None, "too long");
    for at in 0..bytes.len() {
        let mut other = bytes;
        other[at] ^= 1;
        assert_ne!(decode(&other).as_ref(), Some(&full), "byte {at} says nothing");
    }
    assert_eq!(decode(&[&[4], &bytes[1..]].concat()), None, "another layout");
}

/// The layout before: the spans of the vessel scale alone, and nothing behind the charge of the order. It is read, and written anew in this one.
#[test]
fn a_state_of_the_layout_before_is_read_and_kept_in_this_one() {
    let known = Kept {
        number: 77,
        latched: RowSet(0x102),
        starts: 1,
        drier: Milligram(61_000_000),
        pump_oil: 9_000,
        clock: 820_600_000,
        span: [8_388_700, 8_388_500, 0, 0],
        unlocking: Some(Part::FilterDrier),
        used_codes: [Used::NONE.with(7), Used::NONE, Used::NONE.with(41)],
        wrong_codes: 3,
        due: [1, 0, 830_000_000, 0, 0, 0],
        order: 12,
        charged: Milligram(120_000),
        program: 0,
        samples: 0,
        minutes: 0,
        hoses: Hoses::Used,
    };
    let now = encode(&known);
    // The one before: all but the last byte, and nothing of a flush.
    let before: Vec<u8> = [&[2], &now[1..now.len() - 1]].concat();
    assert_eq!(decode(&before).as_ref(), Some(&known));
    assert_eq!(
        decode(&[&[2], &encode(&Kept { hoses: Hoses::Flushed, ..known.clone() })[1..now.len() - 1]].concat()).as_ref(),
        Some(&known)
    );
    // The first. Layout, number, latches, starts, drier, oil, clock: 26 bytes, then two spans of the four; the last 9 are new.
    let old: Vec<u8> = [&[1], &now[1..26 + 8], &now[26 + 16..now.len() - 9]].concat();
    assert_eq!(decode(&old).as_ref(), Some(&known));
    assert!((0..old.len()).all(|end| decode(&old[..end]).is_none()), "cut short");
    assert_eq!(decode(&[&old[..], &[0]].concat()), None, "too long");

    let mut store = Store::commission(Chip::new(8, 1), &PLAN).expect("a new part");
    store.put(1, &old).expect("room for it");
    let (mut keeping, memory) = Keeping::mount(store.release(), &PLAN, 0).expect("this plan");
    assert_eq!(memory, Memory::Sound(known.clone()));
    // Cut anywhere in the first write of this layout, it is the old state or the new one.
    let next = Kept { number: 78, program: 1, ..known.clone() };
    let part = keeping.store().flash().clone();
    assert_eq!(keeping.keep(&next), 78);
    let steps = keeping.store().flash().counts().steps - part.counts().steps;
    assert!(steps > 20, "{steps}");
    for after in 0..steps {
        for share in [Share::Nothing, Share::Some, Share::AllBut, Share::All, Share::Scattered] {
            let (mut cut, _) = Keeping::mount(part.clone(), &PLAN, 0).expect("this plan");
            cut.store_mut().flash_mut().cut(Cut { after, share });
            let stored = cut.keep(&next);
            cut.store_mut().flash_mut().power_on();
            let (_, memory) = Keeping::mount(cut.release(), &PLAN, 0).expect("this plan");
            let old = memory == Memory::Sound(known.clone()) && stored != 78;
            assert!(old || memory == Memory::Sound(next.clone()), "{after} {share:?}: {memory:?}");
        }
    }
}
