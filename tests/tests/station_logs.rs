//! What a workshop's logs do when they are full, what its items do when they are damaged, and that all of it has room together.

use valvewright_core::kept::{Kept, Memory};
use valvewright_core::record::event::{Event, What};
use valvewright_core::record::meter::Meter;
use valvewright_core::record::presets::Presets;
use valvewright_core::record::roster::{OPERATORS, Operator, Role, Roster, name};
use valvewright_core::record::service::{Ending, Mass, Service};
use valvewright_core::record::settings::{Settings, line};
use valvewright_core::record::vehicle::{Oil, Vehicle, vehicle_name};
use valvewright_core::record::workshop::{Item, events_plan, key, services_plan};
use valvewright_core::record::{LogId, Plan, Refusal, Store};
use valvewright_core::units::{Microlitre, Milligram};
use valvewright_sim::flash::NorSim;
use valvewright_sim::run::Store as Part;
use valvewright_sim::shop::opened::Shop;

type Chip = NorSim<8, 1024>;
const PLAN: Plan = Plan { side: 4, logs: [services_plan(3), events_plan(2)], rating: 10_000 };

fn store() -> Store<Chip> {
    Store::commission(Chip::new(13, 5), &PLAN).expect("a part without faults")
}

fn serve(store: &mut Store<Chip>, order: u16) -> Result<u32, Refusal> {
    let service = Service { number: store.next_service()?, order, ending: Ending::Met, ..Service::default() };
    store.keep_running(&service)?;
    store.close_service(&service)
}

/// On F090: what is not exported is never given up; the one that found no room is still there, and goes in after an export.
/// Shows F090.
#[test]
fn services_are_refused_when_full_and_none_that_was_not_exported_is_given_up() {
    let mut store = store();
    let capacity = store.holding(LogId::Services).unwrap().capacity;
    let mut done = 0;
    let why = loop {
        match serve(&mut store, done + 1) {
            Ok(number) => done = number as u16,
            Err(why) => break why,
        }
    };
    assert_eq!(why, Refusal::Full);
    let holding = store.holding(LogId::Services).unwrap();
    assert_eq!((holding.oldest, holding.next, holding.room), (1, u32::from(done) + 1, 0));
    assert!(u32::from(done) >= capacity, "{done} of {capacity}");
    let Item::Sound(waits) = store.running().unwrap() else { panic!("the refused one is lost") };
    assert_eq!(waits.order, done + 1);
    assert!(!store.let_go(LogId::Services).unwrap(), "nothing was exported");
    store.mark_exported(LogId::Services, u32::from(done)).unwrap();
    assert!(store.let_go(LogId::Services).unwrap());
    assert_eq!(store.close_service(&waits), Ok(u32::from(done) + 1));
    assert_eq!(store.running().unwrap(), Item::Absent);
    // Closed once more, as by a start that does not know: it is not in the log twice.
    assert_eq!(store.close_service(&waits), Ok(u32::from(done) + 1));
    let oldest = store.holding(LogId::Services).unwrap().oldest;
    assert!(oldest > 1);
    for number in oldest..=u32::from(done) + 1 {
        assert_eq!(store.service(number).unwrap().map(|one| u32::from(one.order)), Some(number));
    }
}

#[test]
fn events_give_up_their_oldest_page_and_the_newest_are_there() {
    let mut store = store();
    for clock in 1..=500 {
        let number = store.note_event(&Event { clock, what: What::NotStored }).unwrap();
        assert_eq!(number, clock);
        let holding = store.holding(LogId::Events).unwrap();
        assert!(holding.oldest <= clock.saturating_sub(holding.capacity).max(1), "{holding:?}: too many were given up");
        for number in holding.oldest..holding.next {
            assert_eq!(store.event(number).unwrap().map(|event| event.clock), Some(number));
        }
    }
    assert!(store.holding(LogId::Events).unwrap().oldest > 400);
}

fn vehicle(number: u32) -> Vehicle {
    Vehicle {
        number,
        name: vehicle_name(&"v".repeat(24)).unwrap(),
        refrigerant: valvewright_core::fluid::Refrigerant::R134a,
        charge: Milligram(500_000),
        circuit: Microlitre(3_000_000),
        oil: Oil::Pag46,
        high_voltage: false,
        sides: Default::default(),
        served: 1,
    }
}

/// Everything that a workshop may keep, at its longest, beside the controller's state.
#[test]
fn a_full_house_has_room_on_the_part() {
    let mut part = Part::of_workshop(&Kept::COMMISSIONED);
    part.records(|store| {
        let text = "\u{fc}".repeat(15) + &"x".repeat(17);
        let header = [(); 4].map(|()| line(&text).expect("47 bytes"));
        store.put(key::SETTINGS, &Settings { header, ..Settings::default() }.encode()).unwrap();
        let mut roster = Roster::default();
        for number in 1..=OPERATORS as u16 {
            roster.add(Operator { number, role: Role::Supervisor, name: name(&"\u{fc}".repeat(12)).unwrap() }).unwrap();
        }
        store.put(key::OPERATORS, &roster.encode()).unwrap();
        store.put(key::PRESETS, &Presets::default().encode()).unwrap();
        store.put(key::METER, &Meter::default().encode()).unwrap();
        store.keep_running(&Service::default()).unwrap();
        store.mark_exported(LogId::Services, 0).unwrap();
        store.note_event(&Event { clock: 1, what: What::NotStored }).unwrap();
        store.mark_exported(LogId::Events, 1).unwrap();
        for at in 0..key::OWN {
            store.put(key::FIRST_OWN + at, &vehicle(u32::from(at) + 1).encode()).unwrap();
        }
        for at in 0..key::RECENT {
            store.put(key::FIRST_RECENT + at, &vehicle(u32::from(at) + 100).encode()).unwrap();
        }
        println!("room left beside a full house: {} items of 90 bytes", store.room(90));
        assert!(store.room(90) >= 1, "the controller's state has no room to grow");
    });
    let shop = Shop::open(&part.image(1)).unwrap();
    assert_eq!(shop.damaged(), [""; 0]);
    assert_eq!(shop.roster().all().len(), OPERATORS);
}

/// A settings item that is written by a later program, or has bytes that none writes: told, and the usual settings hold.
#[test]
fn a_damaged_item_is_told_and_falls_to_what_is_usual() {
    let mut part = Part::of_workshop(&Kept::COMMISSIONED);
    let text = |of: &str| Settings { header: [of, "", "", ""].map(|one| line(one).unwrap()), ..Settings::default() };
    part.records(|store| store.put(key::SETTINGS, &text("Kept").encode())).unwrap();
    assert_eq!(Shop::open(&part.image(1)).unwrap().settings(), text("Kept"));
    let mut later = text("Kept").encode();
    later[0] = 9;
    part.records(|store| store.put(key::SETTINGS, &later)).unwrap();
    part.records(|store| store.put(key::PRESETS, &[1, 2, 3])).unwrap();
    let shop = Shop::open(&part.image(1)).unwrap();
    assert_eq!(shop.settings(), Settings::default());
    assert_eq!(shop.damaged(), ["settings: the usual ones hold", "presets: none holds"]);
    // The controller's own state is none of it.
    assert!(shop.kept().is_some());
}

/// Both copies of an item are broken in the part itself.
/// Shows F083.
#[test]
fn an_item_broken_in_both_copies_is_told_and_not_taken_for_absent() {
    let mut part = Part::of_workshop(&Kept::COMMISSIONED);
    let settings =
        Settings { header: ["Broken soon", "", "", ""].map(|one| line(one).unwrap()), ..Settings::default() };
    part.records(|store| store.put(key::SETTINGS, &settings.encode())).unwrap();
    let mut image = part.image(1);
    let places: Vec<usize> =
        image.bytes.windows(11).enumerate().filter(|(_, bytes)| *bytes == b"Broken soon").map(|(at, _)| at).collect();
    assert!(places.len() >= 2, "{places:?}");
    // Seven bits, more than a second look mends.
    places.iter().for_each(|at| image.bytes[at + 3] ^= 0x7F);
    let shop = Shop::open(&image).unwrap();
    assert_eq!(shop.settings(), Settings::default());
    assert_eq!(shop.damaged(), ["settings: the usual ones hold"]);
}

/// An old image beside a count that knows of more: all is lost and said so, and nothing is new.
/// Shows F089.
#[test]
fn an_old_image_with_a_later_count_is_lost_and_not_new() {
    let mut part = Part::of_workshop(&Kept::COMMISSIONED);
    let old = part.image(1);
    part.keep(&Kept { number: 1, ..Kept::COMMISSIONED });
    let (_, memory) = Part::from_image(&old).unwrap();
    assert!(matches!(memory, Memory::Sound(_)));
    let mixed = valvewright_sim::flash::Image { register: part.image(1).register, ..old };
    let shop = Shop::open(&mixed).unwrap();
    assert!(shop.kept().is_none());
    assert_eq!(shop.damaged(), ["the controller's state: all limits count as expired"]);
}

#[test]
fn masses_that_were_not_said_stay_unsaid_in_the_log() {
    let mut store = store();
    let mut service = Service { number: 1, ending: Ending::Interrupted, ..Service::default() };
    service.say(Mass::Charged, Milligram(0));
    store.close_service(&service).unwrap();
    let read = store.service(1).unwrap().unwrap();
    assert_eq!((read.mass(Mass::Charged), read.mass(Mass::Recovered)), (Some(Milligram(0)), None));
}
