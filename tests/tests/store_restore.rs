//! A store that a start found lost is one again on a supervisor's release: what can be read stays, the count goes on, and no cut gives a third thing.

use valvewright_core::kept::{Kept, Limits, Memory};
use valvewright_core::record::event::{Event, What};
use valvewright_core::record::workshop::events_plan;
use valvewright_core::record::{Keeping, LOGS, LogPlan, Plan, WhenFull};
use valvewright_sim::flash::{Cut, NorSim, Share};

type Chip = NorSim<8, 2048>;
const NO_LOG: LogPlan = LogPlan { pages: 0, longest: 1, when_full: WhenFull::Refuse };
const PLAN: Plan = Plan { side: 4, logs: [NO_LOG; LOGS], rating: 10_000 };
const LOGGING: Plan = Plan { logs: [NO_LOG, events_plan(4)], ..PLAN };
const OTHER: u8 = 9;
const EVENT: Event = Event { clock: 5, what: What::NotStored };

fn restored(number: u32) -> Kept {
    Kept { number, ..Kept::restored(&Limits::USUAL, 900) }
}

/// Used for a while, with another item and an event beside the state.
fn used() -> Keeping<Chip> {
    let mut keeping =
        Keeping::commission(Chip::new(12, 1), &LOGGING, &Kept { number: 1, ..Kept::COMMISSIONED }).expect("a new part");
    keeping.store_mut().put(OTHER, b"header").expect("room");
    keeping.store_mut().note_event(&EVENT).expect("room");
    (2..30).for_each(|number| assert_eq!(keeping.keep(&Kept { number, ..Kept::COMMISSIONED }), number));
    keeping
}

fn mounted(part: Chip, least: u32) -> (Keeping<Chip>, Memory) {
    Keeping::mount(part, &LOGGING, least).expect("this plan")
}

/// An old image, whose count outside the part is higher: the state alone is lost, and the next start believes what was restored.
/// Shows F089, H17, H18.
#[test]
fn an_old_image_that_is_restored_counts_on_from_what_is_known_outside_it() {
    let mut keeping = used();
    let old = keeping.store().flash().clone();
    (30..60).for_each(|number| assert_eq!(keeping.keep(&Kept { number, ..Kept::COMMISSIONED }), number));
    let least = keeping.count();
    let (mut again, memory) = mounted(old, least);
    assert_eq!(memory, Memory::Lost);
    assert_eq!(again.keep(&Kept { number: 3, ..Kept::COMMISSIONED }), 0, "no release stands behind it");
    assert_eq!(again.keep(&restored(4)), 4);
    assert!(again.count() > least, "{} after {least}", again.count());
    let count = again.count();
    let (mut found, memory) = mounted(again.release(), count);
    assert_eq!(memory, Memory::Sound(restored(4)));
    let mut into = [0; 16];
    assert_eq!(found.store_mut().get(OTHER, &mut into), Ok(Some(6)), "what could be read stays");
    assert_eq!(found.store_mut().event(1), Ok(Some(EVENT)));
    assert_eq!(found.keep(&restored(5)), 5, "and it goes on as a store does");
}

/// Nothing on either side can be read: the sides are made anew, the log stays.
/// Shows H18, LC8.
#[test]
fn a_store_whose_sides_are_gone_is_restored_with_its_log() {
    let mut keeping = used();
    let least = keeping.count();
    let chip = keeping.store_mut().flash_mut();
    for place in 0..8 * 2048 {
        chip.flip(place * 8 + place % 8);
    }
    let (mut again, memory) = mounted(keeping.release(), least);
    assert_eq!(memory, Memory::Lost);
    assert_eq!(again.keep(&restored(4)), 4);
    let count = again.count();
    assert!(count > least);
    let (mut found, memory) = mounted(again.release(), count);
    assert_eq!(memory, Memory::Sound(restored(4)));
    assert_eq!(found.store_mut().event(1), Ok(Some(EVENT)));
}

/// Power goes at any step of the flash while it is restored: the next start finds nothing, or what was restored, and another try ends well.
/// Shows H17, H18, F078.
#[test]
fn a_restoring_that_power_breaks_off_leaves_it_lost_or_restored() {
    let mut keeping = used();
    let old = keeping.store().flash().clone();
    keeping.keep(&Kept { number: 30, ..Kept::COMMISSIONED });
    let least = keeping.count();
    let blank = Chip::new(12, 1);
    for part in [old, blank] {
        let (mut whole, _) = mounted(part.clone(), least);
        let before = whole.store().flash().counts().steps;
        assert_eq!(whole.keep(&restored(4)), 4);
        let steps = whole.store().flash().counts().steps - before;
        assert!(steps > 20, "{steps}");
        let (mut lost, mut sound) = (0, 0);
        for after in 0..steps {
            for share in [Share::Nothing, Share::Some, Share::AllBut, Share::All, Share::Scattered] {
                let (mut cut, _) = mounted(part.clone(), least);
                cut.store_mut().flash_mut().cut(Cut { after, share });
                let told = cut.keep(&restored(4));
                cut.store_mut().flash_mut().power_on();
                let (mut next, memory) = mounted(cut.release(), least);
                match memory {
                    Memory::Lost => {
                        assert_eq!(told, 0, "{after} {share:?}: told and not kept");
                        assert_eq!(next.keep(&restored(7)), 7, "{after} {share:?}");
                        lost += 1;
                    }
                    Memory::Sound(kept) => {
                        assert_eq!(kept, restored(4), "{after} {share:?}");
                        sound += 1;
                    }
                }
            }
        }
        assert!(lost > 0 && sound > 0, "{lost} {sound}");
    }
}
