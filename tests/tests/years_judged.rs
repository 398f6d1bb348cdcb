//! Years of services on one station: they hold with many power cuts, they are the same again from the same seed, and every judgement finds
//! what is broken on purpose.

use std::collections::BTreeSet;

use valvewright_core::kept::{Kept, Memory};
use valvewright_core::token::{Code, CodeFault, CodeKey, Kind as CodeKind, Part};
use valvewright_core::units::{Milligram, Millis};
use valvewright_sim::years::codes::Sort;
use valvewright_sim::years::judge::{self, Law, Ledger};
use valvewright_sim::years::tally::Tally;
use valvewright_sim::years::{Plan, page, run, text};

/// Short orders, and power that goes in most of the services.
fn hard(seed: u64) -> Plan {
    Plan {
        years: 1,
        seed,
        cuts: 0.7,
        mistakes: 0.2,
        scan: 0.1,
        evacuate: (120.0, 240.0),
        leak_hold: (120.0, 150.0),
        ..Plan::default()
    }
}

fn first(plan: &Plan, services: u32) -> Tally {
    run(plan, Some(services), &mut |_| true).expect("runs")
}

/// Shows LC8.
#[test]
fn sixty_services_with_many_power_cuts_hold_every_judgement() {
    let tally = first(&hard(5), 60);
    assert_eq!(tally.services, 60);
    assert!(tally.held(), "{:#?}\nreplay: {}", tally.breaches, text::again(&tally, 60, None));
    let cuts = tally.count(|month| month.cuts);
    assert!(cuts >= 30, "power was cut {cuts} times");
    assert!(tally.count(|month| month.starts) >= cuts, "every cut was followed by a start");
    assert!(tally.ledger_worst_g < 1e-3, "{} g", tally.ledger_worst_g);
    assert!(tally.ledger.brought > 10.0 && tally.ledger.left > 10.0, "vehicles bring and take: {:?}", tally.ledger);
    for law in Law::ALL {
        assert!(tally.judged[&law] >= 30, "{law:?} was judged {} times", tally.judged[&law]);
    }
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_one_does_not() {
    let (one, two, other) = (first(&hard(8), 5), first(&hard(8), 5), first(&hard(9), 5));
    let json = |tally: &Tally| serde_json::to_string(tally).expect("JSON");
    assert_eq!(json(&one), json(&two));
    assert_eq!(page::page(&one, None), page::page(&two, None));
    assert_eq!(text::csv(&one).expect("CSV"), text::csv(&two).expect("CSV"));
    assert_ne!(one.hash, other.hash);
}

#[test]
fn a_run_up_to_a_service_does_what_the_longer_run_did_up_to_it() {
    let plan = hard(12);
    let mut vessel = Vec::new();
    for services in [4, 6] {
        let tally = first(&plan, services);
        vessel.push(tally.points.iter().map(|point| point.vessel_kg.to_bits()).take(4).collect::<Vec<_>>());
    }
    assert_eq!(vessel[0].len(), 4);
    assert_eq!(vessel[0], vessel[1]);
}

#[test]
fn what_is_broken_off_keeps_what_it_has() {
    let tally = run(&hard(3), None, &mut |going| going.done < 4).expect("runs");
    assert!(tally.partial);
    assert_eq!(tally.services, 4);
    assert_eq!(tally.points.len(), 4);
}

#[test]
fn a_ledger_that_loses_two_grams_is_found_and_one_that_closes_is_not() {
    let closed =
        Ledger { opening: 6.0, brought: 0.5, left: 0.45, lost: 0.01, station: 6.0, between: 0.04, ..Ledger::default() };
    assert_eq!(closed.judge(), None);
    for broken in [
        Ledger { station: 5.998, ..closed },
        Ledger { brought: 0.502, ..closed },
        Ledger { bay: -0.002, ..closed },
        Ledger { lost: 0.0, ..closed },
        Ledger { left: f64::NAN, ..closed },
    ] {
        assert_eq!(broken.judge().expect("found").law, Law::Ledger, "{broken:?}");
    }
}

/// A state as the store acknowledged it.
fn acknowledged() -> Kept {
    Kept { number: 900, drier: Milligram(40_000_000), pump_oil: 70_000, clock: 900_000_000, ..Kept::COMMISSIONED }
}

#[test]
fn a_start_that_finds_the_acknowledged_state_or_a_later_one_is_good() {
    let was = acknowledged();
    assert_eq!(judge::start(&was, &Memory::Sound(was.clone())), []);
    let later = Kept { number: 901, drier: Milligram(40_010_000), ..was.clone() };
    assert_eq!(judge::start(&was, &Memory::Sound(later)), []);
}

/// Shows LC8.
#[test]
fn a_start_that_finds_less_than_was_acknowledged_is_found_out() {
    let was = acknowledged();
    let older = Kept { number: 899, ..was.clone() };
    let other = Kept { latched: valvewright_core::row::RowSet::NONE, starts: 1, ..was.clone() };
    let drier = Kept { number: 901, drier: Milligram(39_999_999), ..was.clone() };
    let pump = Kept { number: 901, pump_oil: 69_940, ..was.clone() };
    let clock = Kept { number: 901, clock: 899_999_999, ..was.clone() };
    for (what, found) in [("older", older), ("other", other), ("drier", drier), ("pump", pump), ("clock", clock)] {
        let breaches = judge::start(&was, &Memory::Sound(found));
        assert!(breaches.iter().any(|one| one.law == Law::Counters), "{what}: {breaches:?}");
    }
    let lost = judge::start(&was, &Memory::Lost);
    assert_eq!(lost.first().map(|one| one.law), Some(Law::Memory));
}

#[test]
fn a_new_life_without_a_burnt_code_is_found_and_one_against_a_code_is_not() {
    let was = acknowledged();
    let fresh = Kept { number: 905, drier: Milligram(0), ..was.clone() };
    assert_eq!(judge::start(&was, &Memory::Sound(fresh.clone())).first().map(|one| one.law), Some(Law::Counters));
    let mut paid = fresh;
    paid.used_codes[0] = paid.used_codes[0].with(7);
    assert_eq!(judge::start(&was, &Memory::Sound(paid.clone())), []);
    // And that code is new again.
    let forgot = Kept { number: 906, used_codes: was.used_codes, ..paid.clone() };
    assert!(judge::start(&paid, &Memory::Sound(forgot)).iter().any(|one| one.law == Law::Codes));
}

#[test]
fn a_code_that_is_taken_twice_is_found() {
    let code = Code { kind: CodeKind::PumpOil, serial: 3 }.mint(&CodeKey::DEMO).expect("a code");
    let mut taken = BTreeSet::new();
    assert_eq!(judge::taken(&mut taken, code.number()), None);
    assert_eq!(judge::taken(&mut taken, code.number()).map(|one| one.law), Some(Law::Codes));
    assert_eq!(judge::taken(&mut taken, None).map(|one| one.law), Some(Law::Codes));
}

#[test]
fn a_code_that_is_answered_with_anothers_reason_is_found() {
    use CodeFault::*;
    let other = OtherKind(Part::PumpOil.kind());
    let right = [
        (Sort::Own, Ok(())),
        (Sort::Release, Ok(())),
        (Sort::Mistyped, Err(Mistyped)),
        (Sort::Used, Err(UsedBefore)),
        (Sort::Used, Err(TooOld)),
        (Sort::OtherKind, Err(other)),
        (Sort::OtherKey, Err(NotOurs)),
        (Sort::Used, Err(Wait(Millis(30_000)))),
    ];
    for (sort, answer) in right {
        assert_eq!(judge::answer(sort, answer, false), None, "{sort:?} {answer:?}");
    }
    let wrong = [
        (Sort::Mistyped, Ok(())),
        (Sort::Used, Ok(())),
        (Sort::OtherKind, Ok(())),
        (Sort::OtherKey, Ok(())),
        (Sort::Used, Err(NotOurs)),
        (Sort::Own, Err(UsedBefore)),
        (Sort::OtherKey, Err(Mistyped)),
    ];
    for (sort, answer) in wrong {
        assert_eq!(judge::answer(sort, answer, false).map(|one| one.law), Some(Law::Codes), "{sort:?} {answer:?}");
    }
    // Power went between its try and its answer: it may be burnt.
    assert_eq!(judge::answer(Sort::Own, Err(UsedBefore), true), None);
}

#[test]
fn wear_over_the_rating_a_hazard_and_an_order_left_unsaid_are_found() {
    assert_eq!(judge::wear(10_000, 10_000), None);
    assert_eq!(judge::wear(10_001, 10_000).map(|one| one.law), Some(Law::Wear));
    assert_eq!(judge::hazards(&[], &[]), None);
    assert_eq!(judge::hazards(&["H06".to_owned()], &["H25"]).map(|one| one.law), Some(Law::Hazards));
    assert_eq!(judge::hazards(&["H25".to_owned()], &["H25"]), None);
    assert_eq!(judge::interrupted(0, &[]), None);
    assert_eq!(judge::interrupted(41, &[40, 41]), None);
    assert_eq!(judge::interrupted(41, &[40]).map(|one| one.law), Some(Law::Interrupted));
}

/// A station near both limits, whose panel always sees wrong codes first.
fn worn(seed: u64) -> Plan {
    let wrong_codes = 1.0;
    Plan { drier_used: 67.9, pump_oil_used: 60.0 * 3_600.0 - 60.0, cuts: 0.3, mistakes: 0.0, wrong_codes, ..hard(seed) }
}

/// Seed 4 breaks off a start before its state is stored, so that the next start gives the same number to another state.
#[test]
fn worn_parts_are_exchanged_against_codes_and_every_wrong_one_is_refused_for_its_reason() {
    let mut refused = BTreeSet::new();
    let (mut driers, mut oils) = (0, 0);
    for seed in 1..=6 {
        let tally = first(&worn(seed), 6);
        assert!(tally.held(), "{:#?}\nseed {seed}", tally.breaches);
        assert!(tally.months.iter().all(|month| month.codes_taken == month.driers + month.pump_oils));
        driers += tally.count(|month| month.driers);
        oils += tally.count(|month| month.pump_oils);
        refused.extend(tally.months.iter().flat_map(|month| month.codes_refused.keys().cloned()));
        // A service that comes to a limit is finished; the next one begins with the part exchanged.
        let worn = tally.points.windows(2).filter(|two| {
            two[0].drier_kg >= 68.0 && two[1].drier_kg >= two[0].drier_kg
                || two[0].pump_h >= 60.0 && two[1].pump_h >= two[0].pump_h
        });
        assert_eq!(worn.count(), 0, "seed {seed}: {:#?}", tally.points);
    }
    assert!(driers >= 3 && oils >= 6, "{driers} filter-driers, {oils} pump oils");
    for reason in ["mistyped", "used before", "other kind", "other key"] {
        assert!(refused.contains(reason), "`{reason}` is missing: {refused:?}");
    }
}
