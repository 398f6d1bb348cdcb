//! A record store on a simulated flash, a workload for it, and what a start may find after each cut: the bench of the `store_*` tests.

use std::collections::BTreeMap;

use valvewright_core::record::{Found, LogId, LogPlan, Plan, Refusal, Store, Tidied, WhenFull};
use valvewright_sim::flash::NorSim;

/// Pages of each side, services that refuse when full, events over what was exported.
pub const fn plan(side: u8, services: u16, events: u16) -> Plan {
    Plan {
        side,
        logs: [
            LogPlan { pages: services, longest: 60, when_full: WhenFull::Refuse },
            LogPlan { pages: events, longest: 28, when_full: WhenFull::OverExported },
        ],
        rating: 10_000,
    }
}

/// Pages that a plan needs.
pub fn pages(plan: &Plan) -> usize {
    2 * usize::from(plan.side) + plan.logs.iter().map(|log| usize::from(log.pages)).sum::<usize>()
}

/// A new store.
pub fn new_store<const W: usize, const E: usize>(plan: &Plan, seed: u64) -> Store<NorSim<W, E>> {
    Store::commission(NorSim::new(pages(plan), seed), plan).expect("a part without faults")
}

/// What is asked of the store.
#[derive(Clone, Debug)]
pub enum Op {
    Put(u8, Vec<u8>),
    Append(LogId, Vec<u8>),
    Export(LogId),
    LetGo(LogId),
    Tidy,
}

/// What was acknowledged, and what may have happened beside it.
#[derive(Clone, Default, Debug)]
pub struct Known {
    pub items: BTreeMap<u8, Vec<u8>>,
    /// Of each log, all records that were acknowledged, the first is number 1.
    pub logs: [Vec<Vec<u8>>; 2],
    pub exported: [u32; 2],
    /// The oldest number that must still be there.
    pub oldest: [u32; 2],
}

/// Does one thing, and notes what was acknowledged.
pub fn act<const W: usize, const E: usize>(
    store: &mut Store<NorSim<W, E>>,
    known: &mut Known,
    op: &Op,
) -> Result<(), Refusal> {
    match op {
        Op::Put(key, value) => {
            store.put(*key, value)?;
            known.items.insert(*key, value.clone());
        }
        Op::Append(id, record) => {
            let number = store.append_to(*id, record)?;
            let log = &mut known.logs[*id as usize];
            log.push(record.clone());
            assert_eq!(number as usize, log.len(), "numbers have no gap");
        }
        Op::Export(id) => {
            let upto = known.logs[*id as usize].len() as u32;
            store.mark_exported(*id, upto)?;
            known.exported[*id as usize] = upto;
        }
        Op::LetGo(id) => {
            store.let_go(*id)?;
        }
        Op::Tidy => while store.tidy() != Tidied::Nothing {},
    }
    Ok(())
}

fn item<const W: usize, const E: usize>(store: &mut Store<NorSim<W, E>>, key: u8) -> Result<Option<Vec<u8>>, Refusal> {
    let mut bytes = [0; 240];
    Ok(store.get(key, &mut bytes)?.map(|len| bytes[..len].to_vec()))
}

/// Holds a store against what is known. `during` was asked for when power went: it is done, or not, and `known` learns which.
///
/// # Errors
/// What is wrong, in words.
pub fn compare<const W: usize, const E: usize>(
    store: &mut Store<NorSim<W, E>>,
    known: &mut Known,
    during: Option<&Op>,
) -> Result<(), String> {
    if !matches!(store.found(), Found::Sound | Found::Repaired) {
        let lost: Vec<u8> = (0..=u8::MAX).filter(|key| store.get(*key, &mut []).is_err()).collect();
        let logs = [LogId::Services, LogId::Events].map(|id| store.holding(id));
        return Err(format!("the start found {:?}, keys lost {lost:?}, logs {logs:?}", store.found()));
    }
    let mut keys: Vec<u8> = known.items.keys().copied().collect();
    if let Some(Op::Put(key, _)) = during
        && !keys.contains(key)
    {
        keys.push(*key);
    }
    for key in keys {
        let (old, now) = (known.items.get(&key).cloned(), item(store, key));
        let new = match during {
            Some(Op::Put(one, value)) if *one == key => Some(value.clone()),
            _ => old.clone(),
        };
        match now {
            Ok(value) if value == old => {}
            Ok(Some(value)) if Some(&value) == new.as_ref() => {
                known.items.insert(key, value);
            }
            other => return Err(format!("key {key}: {other:?}, neither {old:?} nor {new:?}")),
        }
    }
    for id in [LogId::Services, LogId::Events] {
        compare_log(store, known, id, during)?;
    }
    Ok(())
}

fn compare_log<const W: usize, const E: usize>(
    store: &mut Store<NorSim<W, E>>,
    known: &mut Known,
    id: LogId,
    during: Option<&Op>,
) -> Result<(), String> {
    let at = id as usize;
    let Ok(holding) = store.holding(id) else { return Ok(()) };
    if let Some(Op::Append(one, record)) = during
        && *one == id
        && holding.next as usize == known.logs[at].len() + 2
    {
        known.logs[at].push(record.clone());
    }
    if let Some(Op::Export(one)) = during
        && *one == id
        && holding.exported as usize == known.logs[at].len()
    {
        known.exported[at] = holding.exported;
    }
    let expected = (known.logs[at].len() as u32 + 1, known.exported[at]);
    if (holding.next, holding.exported) != expected {
        return Err(format!("{id:?}: {holding:?}, next and exported should be {expected:?}"));
    }
    if holding.oldest < known.oldest[at].max(1) || holding.oldest > known.exported[at] + 1 {
        return Err(format!("{id:?}: {holding:?}, but {} was exported", known.exported[at]));
    }
    known.oldest[at] = holding.oldest;
    for number in holding.oldest..holding.next {
        let mut bytes = [0; 240];
        let now = store.read_from(id, number, &mut bytes).map(|len| len.map(|len| bytes[..len].to_vec()));
        if now != Ok(Some(known.logs[at][number as usize - 1].clone())) {
            return Err(format!("{id:?}: record {number} is {now:?}"));
        }
    }
    Ok(())
}

/// A workload: a counter with every third step, other items of many lengths in turn, records, exports, some tidying.
pub fn workload(steps: usize, keys: u8, longest: usize, logs: bool) -> Vec<Op> {
    let mut ops = Vec::new();
    for step in 0..steps {
        let byte = step as u8;
        if step % 3 == 0 {
            ops.push(Op::Put(0, (step as u32).to_le_bytes().to_vec()));
        } else {
            let key = 1 + byte % (keys - 1);
            ops.push(Op::Put(key, vec![byte.wrapping_mul(31) ^ key; (step * 7) % (longest + 1)]));
        }
        if logs && step % 4 == 1 {
            ops.push(Op::Append(LogId::Events, vec![byte; 1 + step % 28]));
        }
        if logs && step % 6 == 2 {
            ops.push(Op::Append(LogId::Services, vec![byte; 20 + step % 40]));
        }
        if logs && step % 12 == 7 {
            ops.push(Op::Export(LogId::Events));
        }
        if logs && step % 24 == 19 {
            ops.extend([Op::Export(LogId::Services), Op::LetGo(LogId::Services)]);
        }
        if step % 10 == 9 {
            ops.push(Op::Tidy);
        }
    }
    ops
}

/// Takes the power of a store away and gives it back.
pub fn restart<const W: usize, const E: usize>(
    store: Store<NorSim<W, E>>,
    plan: &Plan,
) -> Result<Store<NorSim<W, E>>, Refusal> {
    let mut flash = store.release();
    flash.power_on();
    Store::mount(flash, plan)
}
