//! Drawn scenarios: every seed gives a text that reads, always the same one, and no other seed gives the same job.

use std::collections::BTreeSet;

use proptest::prelude::*;
use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_sim::run::work_order;
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::model::{Act, Answers, Phase, Sides, Trigger};
use valvewright_sim::scenario::{Scenario, parse, random};
use valvewright_tests::job_runs::drawn;

/// Seeds of the searches below, which cost a few ten microseconds each.
const SEEDS: u64 = 4_000;

fn all() -> impl Iterator<Item = Scenario> {
    (0..SEEDS).map(drawn)
}

#[test]
fn thousands_of_seeds_read_and_each_is_another_job() {
    let mut jobs = BTreeSet::new();
    for (seed, job) in (0..SEEDS).zip(all()) {
        assert_eq!((job.name.as_str(), job.seed), (format!("random-{seed}").as_str(), seed));
        assert!(job.time_limit <= 2_400.0 && job.operator.acts.len() <= 6, "seed {seed}");
        // Everything but what bears the seed.
        let Scenario { site, station, vehicle, order, operator, .. } = job;
        assert!(jobs.insert(format!("{:?}", (site, station, vehicle, order, operator))), "seed {seed} repeats a job");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn any_seed_reads_gives_the_same_text_again_and_an_order_the_controller_takes(seed: u64) {
        let text = random::text(seed);
        prop_assert_eq!(&text, &random::text(seed));
        let told = |problems: Vec<_>| TestCaseError::fail(format!("{problems:?}\n{text}"));
        let job = parse::read(&Source::new("drawn.toml", text.as_str())).map_err(told)?;
        let replay = format!("valvewright run random:{seed}\n");
        prop_assert!(text.contains(&replay));
        let config = StationConfig::reference(Refrigerant::R1234yf);
        prop_assert_eq!(work_order(&job).check(&config), Ok(()));
    }
}

/// What a job can differ in, each with the number of seeds among [`SEEDS`] that must have it.
#[test]
fn the_seeds_reach_what_the_format_can_say() {
    let jobs: Vec<Scenario> = all().collect();
    let often = |what: &str, least: usize, is: &dyn Fn(&Scenario) -> bool| {
        let found = jobs.iter().filter(|job| is(job)).count();
        assert!(found >= least, "{what}: {found} of {SEEDS}, at least {least} wanted");
    };
    for refrigerant in [Refrigerant::R1234yf, Refrigerant::R134a] {
        often(&format!("{refrigerant:?}"), 1_000, &|j| j.station.refrigerant == refrigerant);
    }
    for scan in [0.01, 0.02, 0.025, 0.05, 0.1] {
        often(&format!("scan {scan}"), 500, &|j| (j.station.scan - scan).abs() < 1e-9);
    }
    for phase in Phase::ALL.into_iter().filter(|phase| *phase != Phase::Upkeep) {
        let least = if phase == Phase::PressureTest { 400 } else { 1_500 };
        often(phase.name(), least, &|j| j.order.has(phase));
        often(&format!("no {}", phase.name()), 400, &|j| !j.order.has(phase));
    }
    for sides in [Sides::Both, Sides::Low, Sides::High] {
        often(&format!("{sides:?}"), 500, &|j| j.order.sides == sides);
    }
    for answers in [Answers::Confirm, Answers::Decline, Answers::None] {
        often(&format!("{answers:?}"), 100, &|j| j.operator.answers == answers);
    }
    // To do just what is asked is what the drawn operators do anyway.
    for act in Act::ALL.into_iter().filter(|act| *act != Act::DoAsAsked) {
        often(&format!("{act:?}"), 50, &|j| j.operator.acts.iter().any(|a| a.act == act));
    }
    often("an act at a time", 400, &|j| j.operator.acts.iter().any(|a| matches!(a.when, Trigger::At(_))));
    often("an act in a phase", 400, &|j| j.operator.acts.iter().any(|a| matches!(a.when, Trigger::PhaseStart(_))));
    often("an act on a notice", 400, &|j| j.operator.acts.iter().any(|a| matches!(a.when, Trigger::Notice(_))));
    often("six acts", 50, &|j| j.operator.acts.len() == 6);
    often("a quiet operator", 1_200, &|j| j.operator.acts.is_empty());
    often("frost", 150, &|j| j.site.ambient < 273.15);
    often("heat", 150, &|j| j.site.ambient > 273.15 + 40.0);
    often("high up", 400, &|j| j.site.barometer < 80e3);
    often("nothing in the vehicle", 200, &|j| j.vehicle.content == 0.0);
    often("too much in the vehicle", 200, &|j| j.vehicle.content > 1.05 * j.vehicle.charge_label);
    often("a gas off its label", 200, &|j| j.vehicle.gas.hydrocarbon + j.vehicle.gas.other > 0.0);
    often("the other refrigerant", 100, &|j| j.vehicle.refrigerant != j.station.refrigerant);
    often("a leak", 300, &|j| j.vehicle.leak > 0.0);
    often("water", 300, &|j| j.vehicle.water > 0.0);
    often("high voltage", 300, &|j| j.vehicle.high_voltage);
    often("a full vessel", 200, &|j| j.station.vessel_content > 9.3);
    often("an empty vessel", 50, &|j| j.station.vessel_content < 1.0);
    often("a rested vessel", 800, &|j| j.station.rested >= 4.0 * 3600.0);
    often("a short evacuation", 2_000, &|j| j.order.evacuate_time <= 300.0);
    often("a long evacuation", 300, &|j| j.order.evacuate_time > 600.0);
}

#[test]
fn a_name_without_a_seed_is_refused_with_the_range() {
    assert_eq!(random::seed_of("mild_hatchback"), None);
    assert_eq!(random::seed_of("random"), None);
    assert_eq!(random::seed_of("random:0"), Some(Ok(0)));
    assert_eq!(random::seed_of("random:18446744073709551615"), Some(Ok(u64::MAX)));
    for (name, says) in [
        ("random:", "the seed is missing"),
        ("random:x", "`x` is no whole number"),
        ("random:-1", "`-1` is no whole number"),
        ("random:+1", "`+1` is no whole number"),
        ("random:1.5", "`1.5` is no whole number"),
        ("random: 1", "` 1` is no whole number"),
        ("random:18446744073709551616", "outside the accepted range"),
    ] {
        let bad = random::seed_of(name).expect("a drawn name").expect_err(name);
        assert!(bad.message.contains(name) && bad.message.contains(says), "{bad:?}");
        assert!(bad.help.contains("0 to 18446744073709551615"), "{bad:?}");
    }
}
