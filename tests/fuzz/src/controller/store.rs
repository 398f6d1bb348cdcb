//! The record store over an image of anything: it opens, never panics, is new only where every byte is blank, and gives no value that was not put.

use std::collections::BTreeMap;

use valvewright_core::record::event::Event;
use valvewright_core::record::meter::Meter;
use valvewright_core::record::presets::Presets;
use valvewright_core::record::roster::Roster;
use valvewright_core::record::service::Service;
use valvewright_core::record::settings::Settings;
use valvewright_core::record::vehicle::Vehicle;
use valvewright_core::record::{Found, LogId, LogPlan, Plan, Refusal, Store, WhenFull, state};

use super::flash::{PAGE, Part};
use super::take::Take;

/// Two pages a side, and none or two for each log.
const fn plan(pages: u16) -> Plan {
    let services = LogPlan { pages, longest: 60, when_full: WhenFull::Refuse };
    let events = LogPlan { pages, longest: 28, when_full: WhenFull::OverExported };
    Plan { side: 2, logs: [services, events], rating: 10_000 }
}
/// Things done to a store in one input: more would be slow, and say no more.
const MOST: usize = 8;

/// What was ever put under a key, the newest last; `None` while nobody knows what a store that was damaged makes of it.
type Put = BTreeMap<u8, Vec<Vec<u8>>>;

/// One input: what is put into a store, how its image is damaged, and what is put into it after that.
pub fn run(data: &[u8]) {
    let mut take = Take(data);
    let mut put = Put::new();
    let head = take.byte();
    let plan = plan(if head & 2 == 0 { 0 } else { 2 });
    let mut part = Part(vec![0xFF; PAGE * (4 + usize::from(plan.logs[0].pages) * 2)]);
    if head & 1 == 0 {
        let mut store = Store::commission(part, &plan).expect("a part that works");
        fill(&mut store, &mut take, &mut put);
        part = store.release();
    }
    damage(&mut part, &mut take);
    open(part, &plan, &mut take, put);
}

/// Puts and appends until the input says otherwise. All of them are found again at once.
fn fill(store: &mut Store<Part>, take: &mut Take, put: &mut Put) {
    for _ in 0..MOST {
        match take.byte() {
            key @ 0..=99 => {
                let length = usize::from(take.byte()) % 80;
                let value = vec![take.byte(); length];
                if store.put(key % 5, &value).is_ok() {
                    assert_eq!(get(store, key % 5), Ok(Some(value.clone())), "what was acknowledged is there");
                    put.entry(key % 5).or_default().push(value);
                }
            }
            log @ 100..=159 => {
                let id = if log & 1 == 0 { LogId::Services } else { LogId::Events };
                let record = vec![take.byte(); usize::from(log & 15)];
                if let Ok(number) = store.append_to(id, &record) {
                    let mut into = [0; 64];
                    let read = store.read_from(id, number, &mut into).expect("it is there");
                    assert_eq!(read.map(|length| into[..length].to_vec()), Some(record));
                }
            }
            160..=179 => drop(store.tidy()),
            180..=199 => {
                let upto = store.holding(LogId::Events).map_or(0, |holding| holding.next.saturating_sub(1));
                let _refused = store.mark_exported(LogId::Events, upto);
            }
            _ => return,
        }
    }
}

fn get(store: &mut Store<Part>, key: u8) -> Result<Option<Vec<u8>>, Refusal> {
    let mut into = [0; 240];
    store.get(key, &mut into).map(|found| found.map(|length| into[..length].to_vec()))
}

/// Erases pages, clears and flips bits, copies pieces over each other, writes garbage.
fn damage(part: &mut Part, take: &mut Take) {
    let size = part.0.len();
    for _ in 0..MOST {
        let way = take.byte();
        let at = usize::from(take.half()) % size;
        match way {
            0..=31 => part.0[at / PAGE * PAGE..][..PAGE].fill(0xFF),
            32..=95 => part.0[at] ^= 1 << (way & 7),
            96..=127 => part.0[at] &= take.byte(),
            128..=159 => {
                let bytes = take.bytes(usize::from(way & 31) + 1);
                part.0[at..].iter_mut().zip(bytes).for_each(|(held, new)| *held = *new);
            }
            160..=191 => {
                let (to, length) = (usize::from(take.half()) % size, usize::from(take.byte()) * 8);
                let (from, to) = (at & !7, to & !7);
                let length = length.min(size - from).min(size - to);
                part.0.copy_within(from..from + length, to);
            }
            192..=207 => part.0[at..].iter_mut().take(usize::from(way & 15) * 64).for_each(|held| *held = 0),
            _ => return,
        }
    }
}

fn open(part: Part, plan: &Plan, take: &mut Take, mut put: Put) {
    let blank = part.0.iter().all(|byte| *byte == 0xFF);
    let mut store = match Store::mount(part.clone(), plan) {
        Ok(store) => store,
        Err(why) => return assert!(matches!(why, Refusal::TooNew(_)), "{why:?} of a plan that fits"),
    };
    assert!(store.found() != Found::Blank || blank, "garbage is never taken for new");
    if blank {
        assert_eq!(store.found(), Found::Blank);
    }
    if matches!(store.found(), Found::Blank | Found::Lost) {
        assert_eq!(*store.flash(), part, "what can't be believed is not touched");
    }
    for key in 0..8 {
        if let Ok(Some(value)) = get(&mut store, key) {
            assert!(put.get(&key).is_some_and(|all| all.contains(&value)), "key {key} holds {value:?}, never put");
        }
    }
    for id in [LogId::Services, LogId::Events] {
        if let Ok(holding) = store.holding(id) {
            let mut into = [0; 64];
            for number in holding.oldest..holding.next.min(holding.oldest.saturating_add(8)) {
                let _lost = store.read_from(id, number, &mut into);
            }
        }
    }
    fill(&mut store, take, &mut put);
    let acknowledged: Vec<_> = (0..5).map(|key| get(&mut store, key)).collect();
    let mut again = Store::mount(store.release(), plan).expect("as before");
    let then: Vec<_> = (0..5).map(|key| get(&mut again, key)).collect();
    assert_eq!(then, acknowledged, "a start finds what was there");
}

/// One input: a piece of a record, read as each of the layouts. What is read is written and read again to the same.
pub fn records(data: &[u8]) {
    if let Some(kept) = state::decode(data) {
        assert_eq!(state::decode(&state::encode(&kept)), Some(kept));
    }
    macro_rules! both_ways {
        ($($layout:ty),*) => {$(
            if let Some(read) = <$layout>::decode(data) {
                assert_eq!(<$layout>::decode(&read.encode()), Some(read));
            }
        )*};
    }
    both_ways!(Event, Service, Settings, Roster, Presets, Meter, Vehicle);
}
