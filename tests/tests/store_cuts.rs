//! Power goes in every erase and every word of every program, once, and twice: each item is old or new, nothing acknowledged is lost, no
//! counter goes back, and work goes on.
//!
//! The longer forms: `cargo test --release -p valvewright-tests --test suite -- --ignored store_cuts`.

use valvewright_core::record::{Plan, Store, Tidied};
use valvewright_sim::flash::{Cut, NorSim, Share};

use crate::store_bench::{Known, Op, act, compare, new_store, plan, restart, workload};
use crate::store_phantom::header;

const SHARES: [Share; 5] = [Share::Nothing, Share::Some, Share::AllBut, Share::All, Share::Scattered];

/// A run up to an operation, and what was known then.
struct Before<const W: usize, const E: usize> {
    store: Store<NorSim<W, E>>,
    known: Known,
}

/// Steps that this costs.
fn steps<const W: usize, const E: usize>(from: &Store<NorSim<W, E>>, to: &Store<NorSim<W, E>>) -> u64 {
    to.flash().counts().steps - from.flash().counts().steps
}

/// Does `op` with a cut, starts again, and holds what is found against what was known.
fn cut_in<const W: usize, const E: usize>(
    before: &Before<W, E>,
    plan: &Plan,
    op: &Op,
    cut: Cut,
) -> Result<Before<W, E>, String> {
    let mut now = Before { store: before.store.clone(), known: before.known.clone() };
    now.store.flash_mut().reseed(cut.after ^ 0x5EED);
    now.store.flash_mut().cut(cut);
    let done = act(&mut now.store, &mut now.known, op);
    if done.is_ok() && now.store.flash().is_on() {
        return Err("power did not go".to_owned());
    }
    let during = done.is_err().then_some(op);
    let store = restart(now.store, plan).map_err(|refusal| format!("{refusal:?}"))?;
    now.store = store;
    compare(&mut now.store, &mut now.known, during)?;
    Ok(now)
}

/// What follows goes through, and is right at the end and after one more start.
fn goes_on<const W: usize, const E: usize>(mut now: Before<W, E>, plan: &Plan, ops: &[Op]) -> Result<(), String> {
    for op in ops {
        act(&mut now.store, &mut now.known, op).map_err(|refusal| format!("then {op:?}: {refusal:?}"))?;
    }
    compare(&mut now.store, &mut now.known, None)?;
    now.store = restart(now.store, plan).map_err(|refusal| format!("{refusal:?}"))?;
    compare(&mut now.store, &mut now.known, None).map_err(|wrong| format!("one start later, {wrong}"))
}

/// After the cut a free page of each side has the head of a newer, empty generation in cells too weak to show (F091): they are read as blank
/// by the start, and show with a program of the next put. Returns how many of them came to show: with the last program of the put, where only
/// a scan can find them before it is acknowledged, and with one before.
fn haunted<const W: usize, const E: usize>(now: &Before<W, E>, plan: &Plan, points: u64) -> Result<u64, String> {
    let op = Op::Put(0, (points as u32).to_le_bytes().to_vec());
    let mut trial = Before { store: now.store.clone(), known: now.known.clone() };
    act(&mut trial.store, &mut trial.known, &op).map_err(|refusal| format!("{refusal:?}"))?;
    let programs = trial.store.flash().counts().programs - now.store.flash().counts().programs;
    let free = |store: &Store<NorSim<W, E>>, page: usize| {
        store.flash().cells().held()[page * E + 16..(page + 1) * E].iter().all(|byte| *byte == 0xFF)
    };
    let pages = usize::from(plan.side);
    let weak: Option<Vec<(usize, Vec<u8>)>> = (0..2)
        .map(|side| {
            let mut own = side * pages..(side + 1) * pages;
            let page = own.find(|page| free(&now.store, *page) && free(&trial.store, *page))?;
            Some((page * E + 16, header(page * E, side as u8, 1, 1_000)))
        })
        .collect();
    let Some(weak) = weak else { return Ok(0) };
    for after in [programs, 1 + points % programs] {
        let mut now = Before { store: now.store.clone(), known: now.known.clone() };
        now.store.flash_mut().weaken(after, weak.clone());
        act(&mut now.store, &mut now.known, &op).map_err(|refusal| format!("haunted: {refusal:?}"))?;
        now.store = restart(now.store, plan).map_err(|refusal| format!("haunted: {refusal:?}"))?;
        compare(&mut now.store, &mut now.known, None).map_err(|wrong| format!("weak cells, {after}: {wrong}"))?;
    }
    Ok(2)
}

/// Cuts everywhere in a workload. Of the rest of it, all is done after every `whole`th cut, and `some` operations after the others.
fn single<const W: usize, const E: usize>(plan: &Plan, ops: &[Op], whole: u64, some: usize) -> u64 {
    let mut before = Before { store: new_store::<W, E>(plan, 7), known: Known::default() };
    let (mut points, mut shown) = (0, 0);
    for (at, op) in ops.iter().enumerate() {
        let mut after = Before { store: before.store.clone(), known: before.known.clone() };
        act(&mut after.store, &mut after.known, op).expect("a part without faults");
        for step in 0..steps(&before.store, &after.store) {
            for share in SHARES {
                let cut = Cut { after: step, share };
                points += 1;
                let rest = if points % whole == 0 { &ops[at..] } else { &ops[at..ops.len().min(at + some)] };
                let rest = if matches!(op, Op::Append(..)) { &rest[1..] } else { rest };
                let done = cut_in(&before, plan, op, cut).and_then(|now| {
                    // One share of each step in turn.
                    if points % 5 == points / 5 % 5 {
                        shown += haunted(&now, plan, points)?;
                    }
                    goes_on(now, plan, rest)
                });
                if let Err(wrong) = done {
                    panic!("operation {at}, {op:?}, {cut:?}: {wrong}");
                }
            }
        }
        before = after;
    }
    let wear = before.store.flash().wear();
    let sides = 2 * usize::from(plan.side);
    assert!(wear[..sides].iter().all(|erases| *erases >= 3), "the ring was not turned over twice: {wear:?}");
    assert!(wear[sides..].iter().all(|erases| *erases >= 2), "the logs were not turned over: {wear:?}");
    assert_eq!(before.store.flash().counts().overwrites, 0, "nothing is programmed twice");
    println!("{shown} times weak cells came to show in the put after a cut");
    assert!(shown > points / 20 || plan.side < 3, "{shown} of {points}");
    points
}

/// On F084, F085.
#[test]
fn power_cut_anywhere_once_leaves_old_or_new_and_work_goes_on() {
    let plan = plan(3, 2, 2);
    let points = single::<4, 1024>(&plan, &workload(170, 6, 100, true), 97, 2);
    println!("single cuts, words of 4, pages of 1 KiB: {points} cut points");
    assert!(points > 5_000, "{points}");
}

/// The least that a store may have, and the largest words: each word is programmed once only.
#[test]
fn power_cut_anywhere_on_the_smallest_store_leaves_old_or_new() {
    let points = single::<8, 1024>(&plan(2, 0, 0), &workload(110, 4, 60, false), 97, 2);
    println!("single cuts, words of 8, two pages of 1 KiB a side: {points} cut points");
    assert!(points > 2_000, "{points}");
}

/// Cuts at every step of a start and of the next put, after a cut at every step of an operation.
fn double<const W: usize, const E: usize>(plan: &Plan, ops: &[Op], from: usize) -> u64 {
    let mut before = Before { store: new_store::<W, E>(plan, 7), known: Known::default() };
    let mut points = 0;
    for (at, op) in ops.iter().enumerate() {
        let mut after = Before { store: before.store.clone(), known: before.known.clone() };
        act(&mut after.store, &mut after.known, op).expect("a part without faults");
        let last = if at < from { 0 } else { steps(&before.store, &after.store) };
        for step in 0..last {
            for share in SHARES {
                let first = Cut { after: step, share };
                points += second(&before, plan, op, first, &ops[at..])
                    .unwrap_or_else(|wrong| panic!("operation {at}, {op:?}, {first:?}, {wrong}"));
            }
        }
        before = after;
    }
    points
}

/// The second cut, everywhere between the start after the first and the end of the operation that is tried again.
fn second<const W: usize, const E: usize>(
    before: &Before<W, E>,
    plan: &Plan,
    op: &Op,
    first: Cut,
    rest: &[Op],
) -> Result<u64, String> {
    let mut cut = Before { store: before.store.clone(), known: before.known.clone() };
    cut.store.flash_mut().reseed(first.after ^ 0x5EED);
    cut.store.flash_mut().cut(first);
    let done = act(&mut cut.store, &mut cut.known, op);
    let during = done.is_err().then_some(op);
    let again = if matches!((op, &during), (Op::Append(..), None)) { rest.get(1).unwrap_or(op) } else { op };
    let mut off = cut.store.release();
    off.power_on();
    // How much there is to cut.
    let mut whole = Store::mount(off.clone(), plan).map_err(|refusal| format!("{refusal:?}"))?;
    let mut found = cut.known.clone();
    compare(&mut whole, &mut found, during)?;
    act(&mut whole, &mut found, again).map_err(|refusal| format!("again: {refusal:?}"))?;
    let steps = whole.flash().counts().steps - off.counts().steps;
    let mut points = 0;
    for step in 0..steps {
        for share in [Share::Nothing, Share::Some, Share::AllBut] {
            points += 1;
            let next = Cut { after: step, share };
            again_cut(&off, &cut.known, plan, (during, again), next, rest)
                .map_err(|wrong| format!("then {next:?}: {wrong}"))?;
        }
    }
    Ok(points)
}

fn again_cut<const W: usize, const E: usize>(
    off: &NorSim<W, E>,
    known: &Known,
    plan: &Plan,
    (during, again): (Option<&Op>, &Op),
    cut: Cut,
    rest: &[Op],
) -> Result<(), String> {
    let (mut flash, mut known) = (off.clone(), known.clone());
    flash.reseed(cut.after ^ 0xD1CE);
    flash.cut(cut);
    let mut store = Store::mount(flash, plan).map_err(|refusal| format!("{refusal:?}"))?;
    let mut then = during;
    if store.flash().is_on() {
        compare(&mut store, &mut known, during)?;
        then = act(&mut store, &mut known, again).is_err().then_some(again);
    }
    store = restart(store, plan).map_err(|refusal| format!("{refusal:?}"))?;
    compare(&mut store, &mut known, then)?;
    let rest = if matches!(again, Op::Append(..)) { &[] } else { &rest[..rest.len().min(2)] };
    goes_on(Before { store, known }, plan, rest)
}

/// On F084, F085, F091.
#[test]
fn power_cut_anywhere_twice_leaves_old_or_new_and_work_goes_on() {
    let ops = workload(14, 3, 24, false);
    let points = double::<8, 1024>(&plan(2, 0, 0), &ops, 8);
    println!("double cuts of items: {points} pairs");
    assert!(points > 5_000, "{points}");
}

/// The same with logs.
#[test]
fn power_cut_twice_in_a_log_loses_no_record() {
    let ops = workload(24, 3, 16, true);
    let points = double::<4, 1024>(&plan(2, 2, 2), &ops, ops.len() - 3);
    println!("double cuts with logs: {points} pairs");
    assert!(points > 5_000, "{points}");
}

/// All of the rest after every cut, more keys, more pages. Some minutes.
#[test]
#[ignore = "some minutes; the command is in the head"]
fn power_cut_anywhere_long_form() {
    let points = single::<1, 2048>(&plan(4, 3, 3), &workload(260, 12, 160, true), 5, 6);
    println!("single cuts, words of 1, pages of 2 KiB: {points} cut points");
    let points = points + double::<4, 1024>(&plan(3, 2, 2), &workload(60, 5, 60, true), 0);
    println!("with double cuts: {points}");
    assert!(points > 100_000, "{points}");
}

/// Power that comes and goes: cut in each start again and again, at a step further each time.
#[test]
fn brown_outs_in_a_row_lose_nothing() {
    let plan = plan(3, 2, 2);
    let mut now = Before { store: new_store::<8, 2048>(&plan, 3), known: Known::default() };
    let ops = workload(40, 6, 100, true);
    for op in &ops {
        act(&mut now.store, &mut now.known, op).expect("a part without faults");
    }
    let mut survived = 0;
    for round in 0..400_u64 {
        let op = Op::Put(1, vec![round as u8; 30]);
        now.store.flash_mut().cut(Cut { after: round * 7 % 90, share: SHARES[round as usize % SHARES.len()] });
        let during = act(&mut now.store, &mut now.known, &op).is_err().then_some(&op);
        for dip in 0..round % 4 {
            let mut flash = now.store.release();
            flash.power_on();
            flash.cut(Cut { after: dip * 11 % 60, share: Share::Some });
            now.store = Store::mount(flash, &plan).expect("this layout");
        }
        now.store = restart(now.store, &plan).expect("this layout");
        compare(&mut now.store, &mut now.known, during).unwrap_or_else(|wrong| panic!("round {round}: {wrong}"));
        survived += 1;
    }
    while now.store.tidy() != Tidied::Nothing {}
    println!("{survived} rounds of brown-outs, erases of pages {:?}", now.store.flash().wear());
    assert_eq!(survived, 400);
}
