//! Random work, cuts anywhere, and faults of one side between starts, against a model that is a map.

use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use valvewright_core::record::{LogId, Plan, Store};
use valvewright_sim::flash::{Cut, NorSim, Share};

use crate::store_bench::{Known, Op, act, compare, new_store, plan, restart};

const PLAN: Plan = plan(4, 3, 3);
const PAGE: usize = 1024;

/// What happens next.
#[derive(Clone, Debug)]
enum Event {
    Do(Op),
    /// Power goes in what follows, after so many steps.
    Cut(u64, Share),
    Restart,
    /// Bits of one side flip, at these places of its pages in use, and the station starts anew.
    Flip(usize, Vec<u32>),
    /// A bit of one side no longer holds still.
    Unsettle(usize, u32, f64),
    /// Programs that do nothing.
    Ignore(u64, u64),
    Age,
}

fn events() -> impl Strategy<Value = Event> {
    let bytes = |most: usize| (any::<u8>(), 0..=most).prop_map(|(byte, len)| vec![byte; len]);
    let share = prop::sample::select(vec![Share::Nothing, Share::Some, Share::AllBut, Share::All, Share::Scattered]);
    let id = || prop::sample::select(vec![LogId::Services, LogId::Events]);
    prop_oneof![
        8 => (0_u8..8, bytes(100)).prop_map(|(key, value)| Event::Do(Op::Put(key, value))),
        4 => (id(), bytes(28)).prop_map(|(id, record)| Event::Do(Op::Append(id, record))),
        1 => id().prop_map(|id| Event::Do(Op::Export(id))),
        1 => id().prop_map(|id| Event::Do(Op::LetGo(id))),
        1 => Just(Event::Do(Op::Tidy)),
        3 => (0_u64..120, share).prop_map(|(after, share)| Event::Cut(after, share)),
        1 => Just(Event::Restart),
        1 => (0_usize..2, prop::collection::vec(any::<u32>(), 1..=3)).prop_map(|(side, bits)| Event::Flip(side, bits)),
        1 => (0_usize..2, any::<u32>(), 0.1..0.6).prop_map(|(side, bit, p)| Event::Unsettle(side, bit, p)),
        1 => (0_u64..12, 1_u64..3).prop_map(|(after, count)| Event::Ignore(after, count)),
        1 => Just(Event::Age),
    ]
}

type Part = NorSim<4, 1024>;

/// A start, and whether everything is as it should be.
fn start(store: Store<Part>, known: &mut Known, during: Option<&Op>) -> Result<Store<Part>, TestCaseError> {
    let mut store = restart(store, &PLAN).map_err(|refusal| TestCaseError::fail(format!("{refusal:?}")))?;
    compare(&mut store, known, during).map_err(TestCaseError::fail)?;
    Ok(store)
}

fn live(events: &[Event]) -> Result<(), TestCaseError> {
    let (mut store, mut known) = (new_store::<4, 1024>(&PLAN, 21), Known::default());
    let side_bits = usize::from(PLAN.side) * PAGE * 8;
    for event in events {
        match event {
            Event::Do(op) => {
                let done = act(&mut store, &mut known, op);
                if !store.flash().is_on() {
                    // A cut in what comes after the last word leaves it done and told.
                    store = start(store, &mut known, done.is_err().then_some(op))?;
                } else if let Err(refusal) = done {
                    let full = matches!(op, Op::Append(..)) && refusal == valvewright_core::record::Refusal::Full;
                    prop_assert!(full, "{op:?}: {refusal:?}");
                }
            }
            Event::Cut(after, share) => store.flash_mut().cut(Cut { after: *after, share: *share }),
            Event::Restart => store = start(store, &mut known, None)?,
            Event::Flip(side, bits) => {
                // Both sides are whole before one is hurt, so that only one is.
                store = start(store, &mut known, None)?;
                let base = side * side_bits;
                bits.iter().for_each(|bit| store.flash_mut().flip(base + *bit as usize % side_bits));
                store = start(store, &mut known, None)?;
            }
            Event::Unsettle(side, bit, p) => {
                store = start(store, &mut known, None)?;
                store.flash_mut().unsettle(side * side_bits + *bit as usize % side_bits, *p);
            }
            Event::Ignore(after, count) => store.flash_mut().ignore(*after, *count),
            Event::Age => store.flash_mut().age(),
        }
    }
    start(store, &mut known, None).map(|_| ())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, rng_seed: RngSeed::Fixed(0x5EED), ..ProptestConfig::default() })]

    /// On F083-F085, F087, F088.
    #[test]
    fn random_lives_lose_nothing(events in prop::collection::vec(events(), 1..120)) {
        live(&events)?;
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 20_000, failure_persistence: None, max_shrink_iters: 200_000, ..ProptestConfig::default() })]

    /// `cargo test --release -p valvewright-tests --test suite -- --ignored random_lives`, other dice each time.
    #[test]
    #[ignore = "minutes; the command is above"]
    fn random_lives_long_form(events in prop::collection::vec(events(), 1..200)) {
        live(&events)?;
    }
}
