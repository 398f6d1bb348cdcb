//! Runs that keep a workshop's history: the same run as without, services and events as the station told them, power cuts closed, the clock going on.

use valvewright_core::kept::Memory;
use valvewright_core::order::PhaseKind;
use valvewright_core::record::event::What;
use valvewright_core::record::service::{Ending, Mass, PhaseEnd};
use valvewright_core::record::settings::Clock;
use valvewright_core::units::Milligram;
use valvewright_core::verdict::LeakVerdict;
use valvewright_sim::flash::Image;
use valvewright_sim::report::data::RunResult;
use valvewright_sim::run::{
    Control, EPOCH, RunOptions, Seams, Simulation, Store as Part, Workshop, complete, run_scenario,
};
use valvewright_sim::scenario::Scenario;
use valvewright_sim::shop::opened::Shop;
use valvewright_sim::shop::{events, history};
use valvewright_tests::job_runs::scenario;

fn quick() -> RunOptions {
    RunOptions { no_samples: true, ..RunOptions::default() }
}

fn workshop(image: Option<Image>, now: u32) -> Workshop {
    Workshop { image, now, clock: Clock::Offset(0), operator: 12, book: vec![31, 32, 33, 34, 35] }
}

fn visit(scenario: &Scenario, workshop: &Workshop) -> (RunResult, Image) {
    let (result, image, not_kept) = visit_with(scenario, workshop);
    assert_eq!(not_kept, 0, "records that were not kept");
    (result, image)
}

/// The same with how many records the store did not take.
fn visit_with(scenario: &Scenario, workshop: &Workshop) -> (RunResult, Image, u32) {
    let run = Simulation::in_workshop(scenario, &quick(), workshop).unwrap_or_else(|why| panic!("{why}"));
    let outcome = complete(run, &mut Seams::default(), &mut |_| Control::Continue).unwrap();
    let (image, not_kept) = outcome.store.expect("a store");
    (outcome.result, image, not_kept)
}

fn grams(mass: Option<Milligram>) -> f64 {
    f64::from(mass.expect("it was said").0) * 1e-3
}

#[test]
fn a_run_on_a_new_store_is_the_run_without_and_its_service_is_what_was_shown() {
    let scenario = scenario("mild_hatchback", &[], "");
    let alone = run_scenario(&scenario, &quick(), &mut |_| Control::Continue).unwrap();
    assert!(alone.store.is_none());
    let (result, image) = visit(&scenario, &workshop(None, EPOCH));
    assert_eq!(result.trace_hash, alone.result.trace_hash, "valvewright run mild_hatchback --store NEW");
    let shop = Shop::open(&image).unwrap();
    let services = history::services(&shop).unwrap();
    let [(1, Some(service))] = services.as_slice() else { panic!("{services:?}") };
    assert_eq!((service.ending, service.operator, service.book, service.order), (Ending::Met, 12, 31, 1));
    assert!((grams(service.mass(Mass::Recovered)) - result.recovered_g.shown.unwrap()).abs() < 1e-9);
    assert!((grams(service.mass(Mass::Charged)) - result.charged_g.shown.unwrap()).abs() < 1e-9);
    assert!((grams(service.mass(Mass::Ordered)) - 480.0).abs() < 1e-9);
    assert!(grams(service.mass(Mass::Unknown)).abs() < 5.0, "{:?}", service.mass(Mass::Unknown));
    assert_eq!(service.mass(Mass::Hoses), Some(Milligram(0)), "they were cleared");
    assert_eq!((service.leak.verdict, service.trips), (LeakVerdict::Tight, 0));
    assert_eq!(service.begun, EPOCH);
    for phase in &result.phases {
        let kind = PhaseKind::ALL.into_iter().find(|kind| kind.name() == phase.name).unwrap();
        let note = service.phases[kind as usize];
        assert!((f64::from(note.seconds) - phase.seconds).abs() <= 1.0, "{}: {note:?}, {}", phase.name, phase.seconds);
        assert!(matches!(note.end, PhaseEnd::Done | PhaseEnd::Skipped), "{}: {note:?}", phase.name);
    }
    assert_eq!(service.phases[PhaseKind::PressureTest as usize].end, PhaseEnd::Never);
    let starts = events::events(&shop).unwrap();
    assert!(matches!(starts.as_slice(), [(1, Some(one))] if matches!(one.what, What::Started(..))), "{starts:?}");
}

#[test]
fn counters_logs_and_clock_go_on_from_run_to_run_and_the_same_history_has_the_same_bytes() {
    let scenario = scenario("mild_hatchback", &[], "");
    let history_of = || {
        let mut image = visit(&scenario, &workshop(None, EPOCH)).1;
        let mut drier = vec![];
        for day in 1..3 {
            drier.push(Shop::open(&image).unwrap().kept().unwrap().drier);
            image = visit(&scenario, &workshop(Some(image), EPOCH + day * 86_400)).1;
        }
        drier.push(Shop::open(&image).unwrap().kept().unwrap().drier);
        (image, drier)
    };
    let (image, drier) = history_of();
    assert!(drier.windows(2).all(|pair| pair[1] > pair[0]), "{drier:?}");
    let shop = Shop::open(&image).unwrap();
    let services: Vec<_> = history::services(&shop).unwrap().into_iter().map(|(at, one)| (at, one.unwrap())).collect();
    assert_eq!(services.iter().map(|(at, one)| (*at, one.number)).collect::<Vec<_>>(), [(1, 1), (2, 2), (3, 3)]);
    assert!(services.windows(2).all(|pair| pair[1].1.begun == pair[0].1.begun + 86_400));
    let sum: i32 = services.iter().map(|(_, one)| one.mass(Mass::Recovered).unwrap().0).sum();
    // WQI-1 follows the scale as it shakes and never goes back; the record has the weighing at rest.
    let more = shop.kept().unwrap().drier.0 - sum;
    assert!((0..5_000).contains(&more), "WQI-1 is the sum of the services on record, and {more} mg");
    assert_eq!(image.now / 86_400, (EPOCH + 2 * 86_400) / 86_400);
    assert_eq!(image, history_of().0);
    assert_eq!(Image::from_bytes(&image.to_bytes()), Ok(image));
}

#[test]
fn a_row_of_jobs_has_a_record_each_with_what_went_wrong() {
    let (result, image) = visit(&scenario("monday_morning", &[], ""), &workshop(None, EPOCH));
    let shop = Shop::open(&image).unwrap();
    let services = history::services(&shop).unwrap();
    assert_eq!(services.len(), result.jobs.len());
    for ((number, service), job) in services.iter().zip(&result.jobs) {
        let service = service.as_ref().expect("kept");
        assert_eq!(
            service.ending == Ending::Met,
            job.verdict == valvewright_sim::report::data::Verdict::Pass,
            "job {number}"
        );
        assert_eq!(u32::from(service.order), *number);
        assert!((grams(service.mass(Mass::Recovered)) - job.recovered_g.shown.unwrap()).abs() < 1e-9, "job {number}");
        assert_eq!(valvewright_sim::run::words::leak(service.leak.verdict), job.leak.verdict, "job {number}");
    }
}

/// The power goes in mid-charge: the start that follows closes the service with what was known, and says so in the log of events.
/// Shows H18, H24.
#[test]
fn what_power_cut_off_is_closed_by_the_next_start_with_what_was_told() {
    let fault = "\n[[fault]]\nid = \"F080\"\nphase = \"charge\"\nafter = \"40 s\"\nfor = \"1 s\"\n";
    for (name, extra) in [("f084", ""), ("mild_hatchback", fault)] {
        let scenario = scenario(name, &[], extra);
        let (result, image, not_kept) = visit_with(&scenario, &workshop(None, EPOCH));
        // F084 takes the part's power while the latch of HS-1 is written: the event of that trip finds it off.
        assert_eq!(not_kept, u32::from(name == "f084"), "{name}");
        let told =
            result.notices.iter().find(|one| one.id == "interrupted").unwrap_or_else(|| panic!("{name} was not cut"));
        let shop = Shop::open(&image).unwrap();
        let services = history::services(&shop).unwrap();
        let [(1, Some(service))] = services.as_slice() else { panic!("{name}: {services:?}") };
        assert_eq!(service.ending, Ending::Interrupted, "{name}");
        assert!(grams(service.mass(Mass::Recovered)) > 300.0, "{name}");
        let Some(valvewright_core::talk::Notice::Interrupted(1, charged)) = told.notice else { panic!("{told:?}") };
        assert_eq!(service.mass(Mass::Charged), Some(charged), "{name}");
        assert_eq!(service.mass(Mass::Unknown), None, "{name}: nobody weighed it");
        assert_eq!(service.phases[PhaseKind::Charge as usize].end, PhaseEnd::Open, "{name}");
        let kinds: Vec<&str> = events::entries(&shop).unwrap().iter().map(|one| one.kind).collect();
        assert!(
            kinds.iter().filter(|one| **one == "start").count() >= 2 && kinds.contains(&"interrupted"),
            "{name}: {kinds:?}"
        );
    }
}

/// A run that is broken off leaves its part as it is; the next run's start closes the service.
#[test]
fn a_run_that_was_broken_off_is_closed_by_the_next_one() {
    let scenario = scenario("mild_hatchback", &[], "");
    let mut run = Simulation::in_workshop(&scenario, &quick(), &workshop(None, EPOCH)).unwrap();
    run.run_until(1_500.0).unwrap();
    let image = run.finish().store.unwrap().0;
    assert!(history::services(&Shop::open(&image).unwrap()).unwrap().is_empty());
    let (_, image) = visit(&scenario, &workshop(Some(image), EPOCH + 86_400));
    let shop = Shop::open(&image).unwrap();
    let endings: Vec<Ending> =
        history::services(&shop).unwrap().into_iter().map(|(_, one)| one.unwrap().ending).collect();
    assert_eq!(endings, [Ending::Interrupted, Ending::Met]);
}

#[test]
fn a_clock_that_was_not_set_labels_nothing() {
    let shop = Workshop { clock: Clock::NotSet, ..workshop(None, EPOCH) };
    let (_, image) = visit(&scenario("mild_hatchback", &[], ""), &shop);
    let services = history::services(&Shop::open(&image).unwrap()).unwrap();
    let service = services[0].1.as_ref().unwrap();
    assert_eq!((service.begun, service.ended), (0, 0));
    assert_eq!(history::entries(&Shop::open(&image).unwrap()).unwrap()[0].begun, "clock not set");
}

#[test]
fn a_fork_goes_on_to_the_same_bytes() {
    let mut run =
        Simulation::in_workshop(&scenario("mild_hatchback", &[], ""), &quick(), &workshop(None, EPOCH)).unwrap();
    run.run_until(900.0).unwrap();
    let mut other = run.fork();
    run.run_until(2_000.0).unwrap();
    other.run_until(2_000.0).unwrap();
    assert_eq!(run.finish().store, other.finish().store);
}

#[test]
fn a_file_that_is_no_image_is_told_as_what_it_is() {
    let image = Part::of_workshop(&valvewright_core::kept::Kept::COMMISSIONED).image(7);
    let bytes = image.to_bytes();
    assert_eq!(Image::from_bytes(&bytes), Ok(image.clone()));
    for cut in [0, 5, 20, 27, 400, bytes.len() - 1] {
        let said = Image::from_bytes(&bytes[..cut]).unwrap_err().to_string();
        assert!(said.contains("not whole"), "{cut}: {said}");
    }
    for at in [9, 11, 13, 17, 21, 30, 1_000, bytes.len() - 2] {
        let mut other = bytes.clone();
        other[at] ^= 1;
        assert!(Image::from_bytes(&other).is_err(), "byte {at}");
    }
    assert_eq!(
        Image::from_bytes(b"name = \"a scenario\"\nand much more of it").unwrap_err().to_string(),
        "is no image of a station's store"
    );
    let mut other = image;
    other.bytes.truncate(4 * 2_048);
    other.wear.truncate(4);
    assert!(Part::from_image(&other).is_none_or(|(_, memory)| memory == Memory::Lost), "a part that is too small");
}
