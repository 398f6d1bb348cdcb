//! Power goes in every erase and every word of every program while a workshop's records and items are written: old or new, never a third thing,
//! and a service is in the log once.

use valvewright_core::record::event::{Event, What};
use valvewright_core::record::service::{Ending, Mass, Service};
use valvewright_core::record::settings::{Settings, line};
use valvewright_core::record::workshop::{Item, events_plan, key, services_plan};
use valvewright_core::record::{LogId, Plan, Refusal, Store};
use valvewright_core::units::Milligram;
use valvewright_sim::flash::{Cut, NorSim, Share};

type Chip = NorSim<8, 1024>;
const PLAN: Plan = Plan { side: 4, logs: [services_plan(3), events_plan(2)], rating: 10_000 };
const PAGES: usize = 2 * 4 + 3 + 2;
const SHARES: [Share; 5] = [Share::Nothing, Share::Some, Share::AllBut, Share::All, Share::Scattered];

/// What a workshop asks of its store.
#[derive(Debug, Clone)]
enum Act {
    /// A service begins, and ends: both records.
    Serve(u32),
    Set(u8),
    Event(u32),
    Export,
}

/// What was acknowledged.
#[derive(Debug, Clone, Default)]
struct Known {
    services: Vec<Service>,
    settings: Option<Settings>,
    /// The last event.
    event: u32,
}

fn service(order: u32) -> Service {
    let mut made = Service { order: order as u16, begun: order * 10, ended: order * 10 + 5, ..Service::default() };
    made.say(Mass::Recovered, Milligram(order as i32 * 1_000));
    made
}

fn settings(of: u8) -> Settings {
    let text = format!("Workshop {of:03} {}", "-".repeat(usize::from(of) % 16));
    Settings {
        ticket: of.is_multiple_of(2),
        header: [&text, "", &text, ""].map(|one| line(one).expect("short")),
        ..Settings::default()
    }
}

/// As a start does with what ran.
fn close_left(store: &mut Store<Chip>) -> Result<(), Refusal> {
    if let Item::Sound(mut left) = store.running()? {
        if left.ending == Ending::Running {
            left.ending = Ending::Interrupted;
        }
        store.close_service(&left)?;
    }
    Ok(())
}

fn act(store: &mut Store<Chip>, known: &mut Known, act: &Act) -> Result<(), Refusal> {
    match act {
        Act::Serve(order) => {
            let mut running = Service { number: store.next_service()?, ..service(*order) };
            store.keep_running(&running)?;
            running.ending = Ending::Met;
            store.keep_running(&running)?;
            let number = store.close_service(&running)?;
            assert_eq!(number as usize, known.services.len() + 1, "numbers have no gap");
            known.services.push(running);
        }
        Act::Set(of) => {
            store.put(key::SETTINGS, &settings(*of).encode())?;
            known.settings = Some(settings(*of));
        }
        Act::Event(clock) => {
            store.note_event(&Event { clock: *clock, what: What::NotStored })?;
            known.event = *clock;
        }
        Act::Export => {
            let last = store.holding(LogId::Services)?.next - 1;
            store.mark_exported(LogId::Services, last)?;
            store.let_go(LogId::Services)?;
        }
    }
    Ok(())
}

/// Holds a store after a start, and after what ran was closed, against what is known; `during` was asked for when power went.
fn compare(store: &mut Store<Chip>, known: &mut Known, during: Option<&Act>) -> Result<(), String> {
    let fail = |why: Refusal| format!("{why:?}");
    close_left(store).map_err(fail)?;
    if store.running().map_err(fail)? != Item::Absent {
        return Err("something still runs".into());
    }
    let found = match store.settings().map_err(fail)? {
        Item::Sound(found) => Some(found),
        Item::Absent => None,
        Item::Damaged => return Err("settings are damaged".into()),
    };
    if found != known.settings {
        match during {
            Some(Act::Set(of)) if found.as_ref() == Some(&settings(*of)) => known.settings = found,
            _ => return Err(format!("settings are a third thing: {found:?}")),
        }
    }
    let holding = store.holding(LogId::Services).map_err(fail)?;
    if holding.next as usize == known.services.len() + 2
        && let Some(Act::Serve(order)) = during
    {
        let last = store.service(holding.next - 1).map_err(fail)?.ok_or("it is gone")?;
        let whole = |ending| Service { number: holding.next - 1, ending, ..service(*order) };
        if last != whole(Ending::Met) && last != whole(Ending::Interrupted) {
            return Err(format!("a service is a third thing: {last:?}"));
        }
        known.services.push(last);
    }
    if holding.next as usize != known.services.len() + 1 {
        return Err(format!("{holding:?}, {} services are known", known.services.len()));
    }
    for number in holding.oldest..holding.next {
        let read = store.service(number).map_err(fail)?;
        if read.as_ref() != known.services.get(number as usize - 1) {
            return Err(format!("service {number} is {read:?}"));
        }
    }
    let events = store.holding(LogId::Events).map_err(fail)?;
    let last = if events.next > 1 { store.event(events.next - 1).map_err(fail)?.map_or(0, |one| one.clock) } else { 0 };
    match during {
        _ if last == known.event => {}
        Some(Act::Event(clock)) if last == *clock => known.event = last,
        _ => return Err(format!("the last event is {last}, {} is known", known.event)),
    }
    Ok(())
}

fn restart(store: Store<Chip>) -> Store<Chip> {
    let mut flash = store.release();
    flash.power_on();
    Store::mount(flash, &PLAN).expect("the same plan")
}

fn acts() -> Vec<Act> {
    let mut all = Vec::new();
    for at in 0..24_u32 {
        all.extend([Act::Set(at as u8), Act::Serve(at + 1)]);
        all.extend([Act::Event(4 * at + 1), Act::Event(4 * at + 2), Act::Event(4 * at + 3)]);
        if at % 5 == 4 {
            all.push(Act::Export);
        }
    }
    all
}

/// On F084, F085.
#[test]
fn a_cut_anywhere_leaves_a_workshops_records_old_or_new_and_each_service_once() {
    let mut store = Store::commission(Chip::new(PAGES, 3), &PLAN).expect("a part without faults");
    let (mut known, mut points, mut interrupted) = (Known::default(), 0_u32, 0_u32);
    let acts = acts();
    for (at, one) in acts.iter().enumerate() {
        let (mut after, mut then) = (store.clone(), known.clone());
        act(&mut after, &mut then, one).unwrap_or_else(|why| panic!("{one:?}: {why:?}"));
        let steps = after.flash().counts().steps - store.flash().counts().steps;
        for step in 0..steps {
            for share in SHARES {
                points += 1;
                let (mut cut, mut seen) = (store.clone(), known.clone());
                cut.flash_mut().reseed(u64::from(points));
                cut.flash_mut().cut(Cut { after: step, share });
                let done = act(&mut cut, &mut seen, one);
                let during = done.is_err().then_some(one);
                let mut again = restart(cut);
                let told = |wrong: String| panic!("act {at}, {one:?}, cut in step {step}, {share:?}: {wrong}");
                compare(&mut again, &mut seen, during).unwrap_or_else(told);
                interrupted += u32::from(seen.services.last().is_some_and(|last| last.ending == Ending::Interrupted));
                // And it stays so over one more start, and goes on.
                let mut once_more = restart(again);
                compare(&mut once_more, &mut seen, None).unwrap_or_else(told);
                if points.is_multiple_of(7)
                    && let Some(next) = acts.get(at + 1)
                {
                    act(&mut once_more, &mut seen, next).unwrap_or_else(|why| told(format!("then {next:?}: {why:?}")));
                    compare(&mut once_more, &mut seen, None).unwrap_or_else(told);
                }
            }
        }
        (store, known) = (after, then);
    }
    println!(
        "records of a workshop: {points} cut points, {interrupted} of them left a service that the next start closed"
    );
    assert!(points > 5_000 && interrupted > 500, "{points}, {interrupted}");
    let wear = store.flash().wear();
    assert!(wear[9..].iter().filter(|erases| **erases >= 2).count() >= 3, "the logs were not turned over: {wear:?}");
}
