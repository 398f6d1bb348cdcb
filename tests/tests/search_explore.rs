//! Exploration by forks: the same for the same seed, within its bounds, and what it finds happens again from the beginning.

use std::sync::atomic::AtomicBool;

use valvewright_sim::campaign::Runs;
use valvewright_sim::campaign::search::{Against, Bounds, Explored, Ground, Told, explore};
use valvewright_sim::report::data::HazardLevel;
use valvewright_sim::run::{Control, RunOptions, run_scenario};
use valvewright_sim::scenario::{Scenario, parse, parse_fault};

use crate::campaign_bench::{bench, runs, short_job};

/// Faults of which some pairs let gas stand in the cabinet, and some do nothing.
const PAIRS: &str = r#"
name = "pairs_of_five"
title = "Pairs that hurt and pairs that do not"
design = "latin"
runs = 1
[factors]
scenario = ["short.toml"]
seeds = [1]
[faults]
which = ["F040", "F057", "F070", "F135", "F110"]
[moments]
each = 1
"#;

const BOUNDS: Bounds = Bounds { budget: 2, runs: 400, faults: 2, seed: 1 };

fn found(bounds: Bounds, threads: usize) -> Explored {
    found_of(PAIRS, bounds, threads)
}

fn found_of(plan: &str, bounds: Bounds, threads: usize) -> Explored {
    let bench = bench(plan);
    let runs = runs(&bench, plan);
    let ground = Ground::of(&runs).unwrap_or_else(|wrong| panic!("{wrong}"));
    let stop = AtomicBool::new(false);
    explore(&ground, bounds, threads, &stop, &mut |_| {}).unwrap_or_else(|wrong| panic!("{wrong}"))
}

#[test]
fn an_exploration_is_the_same_for_any_number_of_threads_and_another_for_another_seed() {
    let one = found(BOUNDS, 1);
    assert_eq!(one, found(BOUNDS, 4));
    assert_ne!(one, found(Bounds { seed: 2, ..BOUNDS }, 2));
    assert!(one.runs > 50 && one.rounds.len() >= 2, "{:?}", one.rounds);
    assert_eq!(one.runs, one.rounds.iter().map(|round| round.runs).sum::<u64>());
}

#[test]
fn a_pair_that_hurts_is_found_and_its_command_does_it_again() {
    let all = found(BOUNDS, 2);
    let pair = |faults: &[&str]| {
        let is = |one: &str, id: &&str| one.split(' ').next() == Some(id);
        let same = |list: &[String]| list.len() == faults.len() && list.iter().zip(faults).all(|(a, b)| is(a, b));
        all.accidents.iter().find(|one| one.hazard == "H22" && same(&one.faults))
    };
    let one = pair(&["F070", "F135"]).unwrap_or_else(|| panic!("{:#?}", all.accidents));
    assert!(pair(&["F070"]).is_none() && pair(&["F135"]).is_none(), "neither does it alone");
    assert!(all.accidents.iter().all(|one| one.replayed), "{:#?}", all.accidents);
    let words = shlex::split(&one.replay).expect("a command");
    assert_eq!(words[..5], ["valvewright", "run", "short.toml", "--seed", "1"]);
    let faults: Vec<_> = words
        .windows(2)
        .filter(|pair| pair[0] == "--fault")
        .map(|pair| parse_fault::read_words(&pair[1]).expect("it reads").0)
        .collect();
    assert_eq!(faults.len(), 2);
    let source = valvewright_sim::scenario::diagnostic::Source::new("short.toml".to_owned(), short_job());
    let scenario = Scenario { faults, ..parse::read(&source).expect("it reads") };
    let options = RunOptions { seed: Some(1), ..RunOptions::BARE };
    let result = run_scenario(&scenario, &options, &mut |_| Control::Continue).expect("it runs").result;
    let hazard = result.hazards.iter().find(|one| one.id == "H22").expect("judged");
    assert_eq!(hazard.level, HazardLevel::Accident);
    assert!((hazard.accident_t_s.expect("a time") - one.at_s).abs() < 1e-6);
}

#[test]
fn with_three_faults_no_accident_of_two_is_lost_and_none_of_three_holds_a_smaller_one() {
    let two = found(Bounds { runs: 1_000, ..BOUNDS }, 2);
    let three = found(Bounds { runs: 4_000, faults: 3, ..BOUNDS }, 2);
    let of = |all: &Explored, count: usize| {
        let some = all.accidents.iter().filter(|one| one.faults.len() == count);
        some.map(|one| (one.hazard, one.faults.clone())).collect::<Vec<_>>()
    };
    assert!(of(&two, 3).is_empty() && two.faults == 2);
    assert!(
        !of(&two, 2).is_empty() && of(&two, 2).iter().all(|one| of(&three, 2).contains(one)),
        "{:?}",
        of(&three, 2)
    );
    for (hazard, faults) in of(&three, 3) {
        let smaller = |one: &(&str, Vec<String>)| one.0 == hazard && one.1.iter().all(|fault| faults.contains(fault));
        assert!(!of(&three, 2).iter().any(smaller) && !of(&three, 1).iter().any(smaller), "{hazard} {faults:?}");
    }
    assert!(three.accidents.iter().all(|one| one.replayed), "{:#?}", three.accidents);
}

/// A processor that stands still, a watchdog that does not bite, a heater that is welded: any two are held.
#[test]
fn an_accident_that_needs_three_faults_is_found_by_three_and_by_no_fewer() {
    let plan = PAIRS.replace(r#""F040", "F057", "F070", "F135", "F110""#, r#""F097", "F098", "F135""#);
    let of = |faults: usize| {
        let all = found_of(&plan, Bounds { runs: 1_000, faults, budget: 4, ..BOUNDS }, 2);
        all.accidents.into_iter().filter(|one| one.hazard == "H22").map(|one| one.faults).collect::<Vec<_>>()
    };
    assert_eq!(of(2), Vec::<Vec<String>>::new());
    let three = of(3);
    assert_eq!(three.len(), 1, "{three:?}");
    assert_eq!(three[0].len(), 3, "{three:?}");
}

#[test]
fn what_is_left_of_the_bound_goes_into_other_moments_of_what_alarms() {
    let long = found(Bounds { runs: 1_000, ..BOUNDS }, 2);
    assert_eq!((long.runs, long.partial), (1_000, false), "{:?}", long.rounds);
    let moments: Vec<_> = long.rounds.iter().filter(|round| round.marks == 0).collect();
    assert!(!moments.is_empty() && moments.iter().all(|round| round.runs > 0), "{:?}", long.rounds);
    // The marks come first: a search that ends with them has the same rounds before.
    let marks: u64 = long.rounds.iter().filter(|round| round.marks > 0).map(|round| round.runs).sum();
    let short = found(Bounds { runs: marks, ..BOUNDS }, 2);
    assert_eq!(short.rounds[..], long.rounds[..short.rounds.len()]);
    let kinds = |of: &Explored| of.accidents.iter().map(|one| one.faults.clone()).collect::<Vec<_>>();
    assert!(kinds(&long).len() >= kinds(&short).len(), "{:?} {:?}", kinds(&long), kinds(&short));
}

#[test]
fn what_comes_with_the_job_is_left_out_and_named() {
    let all = found(Bounds { runs: 3, ..BOUNDS }, 2);
    assert!(all.left_out.iter().any(|(words, why)| words.starts_with("F110") && why.contains("with the job")));
    assert_eq!((all.runs, all.partial), (3, true), "a bound is kept, and told");
}

#[test]
fn a_search_that_is_stopped_tells_what_it_has() {
    let bench = bench(PAIRS);
    let runs = runs(&bench, PAIRS);
    let ground = Ground::of(&runs).unwrap_or_else(|wrong| panic!("{wrong}"));
    let stop = AtomicBool::new(false);
    let mut each = |told: Told| {
        if told == Told::Done(5) {
            stop.store(true, std::sync::atomic::Ordering::Relaxed);
        }
    };
    let part = explore(&ground, BOUNDS, 1, &stop, &mut each).unwrap_or_else(|wrong| panic!("{wrong}"));
    assert!(part.partial && part.runs >= 5 && part.runs < found(BOUNDS, 2).runs, "{:?}", part.rounds);
}

#[test]
fn more_to_a_mark_is_more_runs_and_finds_no_less() {
    let (less, more) = (found(BOUNDS, 2), found(Bounds { budget: 4, runs: 1_000, ..BOUNDS }, 2));
    assert!(more.runs > less.runs && !more.partial, "{:?} {:?}", less.rounds, more.rounds);
    let kinds = |of: &Explored| of.accidents.iter().map(|one| (one.hazard, one.faults.clone())).collect::<Vec<_>>();
    let smaller = |one: &(&str, Vec<String>), all: &[(&str, Vec<String>)]| {
        all.iter().any(|(hazard, faults)| *hazard == one.0 && faults.iter().all(|fault| one.1.contains(fault)))
    };
    assert!(kinds(&less).iter().all(|one| smaller(one, &kinds(&more))), "{:?} {:?}", kinds(&less), kinds(&more));
}

#[test]
fn what_a_campaign_found_and_the_search_did_not_is_named() {
    let all = found(BOUNDS, 2);
    let theirs = valvewright_sim::campaign::findings::Cuts::default();
    let none = Against::new("empty", 0, &theirs, &all.accidents);
    assert!(none.missed.is_empty() && none.kinds == 0);
    assert!(none.more.iter().any(|(hazard, faults)| hazard == "H22" && faults.len() == 2), "{none:?}");
    let mut theirs = valvewright_sim::campaign::findings::Cuts::default();
    theirs.take(&accident(17, &["F070", "F135"], 21));
    theirs.take(&accident(18, &["F040", "F043"], 0));
    let one = Against::new("planted", 2, &theirs, &all.accidents);
    assert_eq!((one.kinds, one.both), (2, 1), "{one:?}");
    assert_eq!(one.missed, [("H01".to_owned(), vec!["F040".to_owned(), "F043".to_owned()], 1)]);
}

/// A row of a campaign in which these faults brought this hazard, by its place, to an accident.
fn accident(index: u64, faults: &[&str], hazard: usize) -> valvewright_sim::campaign::Row {
    use valvewright_sim::campaign::{Fault, Hazard, Row};
    let tags = |id: &str| match id {
        "F070" => "K-1",
        "F135" => "H-2",
        _ => "",
    };
    let fault =
        |id: &&str| Fault { id: (*id).to_owned(), tag: tags(id).to_owned(), began: Some(1.0), ..Fault::default() };
    let mut hazards = vec![Hazard { level: Some(HazardLevel::None), ..Hazard::default() }; 25];
    hazards[hazard] = Hazard { level: Some(HazardLevel::Accident), accident: Some(2.0), ..Hazard::default() };
    Row { index, faults: faults.iter().map(fault).collect(), hazards, ..Row::default() }
}

/// A plan with this in place of its scenario and this at its end.
fn refused(scenario: &str, end: &str) -> String {
    let text = PAIRS.replace("[\"short.toml\"]", scenario) + end;
    let bench = bench(&text);
    let runs: Runs = runs(&bench, &text);
    Ground::of(&runs).err().unwrap_or_else(|| panic!("{text} is taken")).to_string()
}

#[test]
fn a_plan_of_more_than_one_job_is_refused_with_what_to_change() {
    assert!(refused("[\"short.toml\", \"mild_hatchback\"]", "").contains("one job"));
    assert!(refused("[\"short.toml\"]", "[heal]\nafter = \"60 s\"\n").contains("heal"));
    assert!(refused("[\"short.toml\"]\nambient = [\"10 degC\", \"20 degC\"]", "").contains("site.ambient"));
    let text = PAIRS.replace("\"F040\", \"F057\", \"F070\", \"F135\", ", "");
    let bench = bench(&text);
    assert!(Ground::of(&runs(&bench, &text)).is_err_and(|why| why.to_string().contains("while the job runs")));
}
