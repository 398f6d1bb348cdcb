//! What the page shows of the record store is what the store holds: after a job, after a code, where nothing can be believed, after going back; and
//! keeping records changes no run.

use serde_json::Value;
use valvewright_sim::panel::{Session, Start};
use valvewright_sim::run::{Control, EPOCH, RunOptions, Seams, Simulation, Stand, Workshop, complete};
use valvewright_sim::scenario::shipped::{FAULTS, QUESTIONS, UPKEEP};
use valvewright_sim::scenario::{parse, shipped};
use valvewright_sim::shop::history;
use valvewright_sim::shop::opened::Shop;

fn session(name: &str) -> Session {
    let source = shipped::source(name).expect("it is shipped");
    Session::new(Start::of(source, false)).expect("it begins")
}

fn to(session: &mut Session, t: f64) {
    while session.run().time() < t - 1e-6 && session.step().expect("it runs") {}
}

fn records(session: &Session) -> Value {
    session.records().expect("it can be believed")
}

/// Texts of a list.
fn texts(of: &Value) -> Vec<&str> {
    of.as_array().expect("a list").iter().map(|one| one["text"].as_str().expect("words")).collect()
}

/// What stands beside a name in a list of pairs.
fn beside<'a>(of: &'a Value, name: &str) -> &'a str {
    let all = of.as_array().expect("a list").iter();
    let found = all.filter(|pair| pair[0].as_str().is_some_and(|one| one.contains(name))).collect::<Vec<_>>();
    assert_eq!(found.len(), 1, "{name} in {of}");
    found[0][1].as_str().expect("words")
}

#[test]
fn after_a_job_the_page_shows_the_service_that_a_workshop_has_on_record() {
    let mut shown = session("mild_hatchback");
    to(&mut shown, 60.0);
    let before = records(&shown);
    assert_eq!(before["services_in_all"], 0, "{before}");
    assert!(before["running"].as_str().is_some_and(|words| words.contains("order 1")), "{}", before["running"]);
    assert!(beside(&before["counters"], "order under way").starts_with("order 1,"), "{}", before["counters"]);
    to(&mut shown, f64::INFINITY);
    let after = records(&shown);

    let scenario = parse::read(&shipped::source("mild_hatchback").expect("shipped")).expect("it reads");
    let own = Workshop {
        image: None,
        now: EPOCH,
        clock: valvewright_core::record::settings::Clock::Offset(0),
        operator: 0,
        book: Vec::new(),
    };
    let run = Simulation::in_workshop(&scenario, &RunOptions::BARE, &own).expect("it begins");
    let outcome = complete(run, &mut Seams::default(), &mut |_| Control::Continue).expect("it runs");
    assert_eq!(outcome.result.trace_hash, shown.run().hash());
    let shop = Shop::open(&outcome.store.expect("a workshop has one").0).expect("it opens");
    let entry = history::entries(&shop).expect("it can be believed").pop().expect("a service");
    let services = texts(&after["services"]);
    assert_eq!(services.len(), 1, "{services:?}");
    let grams = |g: Option<f64>| format!("{:.1} g", g.expect("it was said"));
    for words in [
        format!("{} to {}", entry.begun, entry.ended),
        "done as ordered".to_owned(),
        format!("recovered {}", grams(entry.recovered_g)),
        format!("charged {}", grams(entry.charged_g)),
        format!("not accounted for {}", grams(entry.unknown_g)),
        "leak check pass".to_owned(),
    ] {
        assert!(services[0].contains(&words), "`{words}` is not in `{}`", services[0]);
    }
    let drier = f64::from(shop.kept().expect("it is sound").drier.0) * 1e-6;
    assert_eq!(beside(&after["counters"], "filter-drier"), format!("{drier:.3} kg"));
    assert!(after["running"].is_null() && beside(&after["counters"], "order under way") == "none", "{after}");
    assert_ne!(before["stamp"], after["stamp"], "a page would not ask anew");

    shown.back(60.0).expect("it was there");
    assert_eq!(records(&shown), before, "what the store held before the way back");
}

#[test]
fn after_a_code_its_serial_number_is_burnt_the_counter_new_and_the_event_newest() {
    let mut shown = session("filter_exchanged");
    to(&mut shown, 10.0);
    let before = records(&shown);
    assert_eq!(beside(&before["codes"], "filter drier"), "none was used");
    assert_eq!(beside(&before["counters"], "filter-drier"), "68.200 kg");
    let due = |of: &Value| of["due"][0]["level"].as_str().map(str::to_owned);
    assert_eq!(due(&before).as_deref(), Some("DUE"), "{}", before["due"][0]);
    to(&mut shown, 22.0);
    let after = records(&shown);
    assert_eq!(beside(&after["codes"], "filter drier"), "used: serial number 7");
    assert_eq!(beside(&after["codes"], "pump oil"), "none was used");
    assert_eq!(beside(&after["counters"], "filter-drier"), "0.000 kg");
    assert_eq!(due(&after).as_deref(), Some("good"));
    let events = texts(&after["events"]);
    assert!(events[0].contains("filter drier exchanged, by its own code"), "{events:?}");
    assert!(events.last().is_some_and(|first| first.contains("power came")), "{events:?}");
}

#[test]
fn a_calibration_is_shown_with_its_gain_and_day() {
    let mut shown = session("vessel_scale_calibration");
    // Its record has a span that is not the one in use, and nobody adjusted it in this run.
    assert!(beside(&records(&shown)["calibrations"], "WT-1A").ends_with("; no adjustment is on record"));
    let new = records(&session("mild_hatchback"));
    assert!(beside(&new["calibrations"], "WT-1A").starts_with("none is on record"), "{}", new["calibrations"]);
    to(&mut shown, f64::INFINITY);
    let after = records(&shown);
    let told = beside(&after["calibrations"], "WT-1A");
    let gain = shown.run().station().kept().span[0];
    assert!(told.starts_with(&format!("gain {gain}, adjusted 2026-01-01")), "{told}");
    assert!(!beside(&after["calibrations"], "WT-2").contains("adjusted"), "{}", after["calibrations"]);
}

#[test]
fn what_is_lost_is_said_to_be_lost_until_it_is_restored() {
    let mut shown = session("restore_record");
    let lost = "lost: every limit counts as expired";
    let before = records(&shown);
    assert_eq!(beside(&before["counters"], "what the controller keeps"), lost);
    assert!(before["damaged"].as_array().is_some_and(|all| !all.is_empty()), "{before}");
    assert!(before["codes"].as_array().is_some_and(Vec::is_empty), "of codes nothing is known: {}", before["codes"]);
    to(&mut shown, f64::INFINITY);
    let after = records(&shown);
    assert!(beside(&after["codes"], "release").starts_with("used: serial number"), "{}", after["codes"]);
    assert!(!after["counters"].to_string().contains(lost), "{}", after["counters"]);
}

#[test]
fn a_row_of_jobs_has_its_services_newest_first() {
    let mut shown = session("monday_morning");
    to(&mut shown, f64::INFINITY);
    let after = records(&shown);
    let numbers: Vec<_> =
        after["services"].as_array().expect("a list").iter().map(|one| one["number"].as_u64()).collect();
    assert!(numbers.len() > 2 && numbers.windows(2).all(|pair| pair[0] > pair[1]), "{numbers:?}");
}

/// What asks the store for most: upkeep, codes, power cuts and broken flash.
#[test]
fn a_run_that_keeps_records_is_the_run_that_keeps_none() {
    let stores =
        |name: &str| name.get(1..4).and_then(|id| id.parse::<u32>().ok()).is_some_and(|id| (80..=99).contains(&id));
    let faults = FAULTS.iter().filter(|one| stores(one.name));
    let mut count = 0;
    for one in QUESTIONS.iter().chain(UPKEEP).chain(faults) {
        let source = shipped::source(one.name).expect("it is shipped");
        let scenario = parse::read(&source).expect("it reads");
        let mut plain = Simulation::new(&scenario, &RunOptions::BARE).expect("it begins");
        let mut keeps = Simulation::with_records(&scenario, &RunOptions::BARE).expect("it begins");
        while plain.step().expect("it runs") == Stand::Running {}
        while keeps.step().expect("it runs") == Stand::Running {}
        assert_eq!((plain.hash(), plain.time()), (keeps.hash(), keeps.time()), "valvewright run {}", one.name);
        count += 1;
    }
    assert!(count > 60, "{count} scenarios were looked at");
}
