//! Designs keep what they promise: pairs all meet, strata come once each, what is drawn depends on the seed and the number alone.

use std::collections::BTreeSet;

use valvewright_sim::campaign::Spec;
use valvewright_sim::campaign::design::{cover, permuted};
use valvewright_sim::campaign::plan::Occasion;

use crate::campaign_bench::{PLAN, bench, runs};

#[test]
fn a_pairwise_design_lets_every_two_levels_meet_in_few_runs() {
    for sizes in [vec![3, 3, 3, 3], vec![7, 2, 5, 1, 4], vec![20, 12, 2, 2], vec![1, 1], vec![6]] {
        let rows = cover(&sizes, &|_, _| false);
        let mut longest = sizes.clone();
        longest.sort_unstable_by(|a, b| b.cmp(a));
        for f in 0..sizes.len() {
            for g in f + 1..sizes.len() {
                let met: BTreeSet<(u32, u32)> = rows.iter().map(|row| (row[f], row[g])).collect();
                assert_eq!(met.len(), sizes[f] * sizes[g], "factors {f} and {g} of {sizes:?}");
            }
        }
        let least = longest[0] * longest.get(1).copied().unwrap_or(1);
        assert!(rows.len() >= least && rows.len() <= least * 2, "{} rows of {sizes:?}, at least {least}", rows.len());
    }
}

#[test]
fn what_may_not_meet_does_not_and_all_else_does() {
    let sizes = [3, 4, 5];
    // Of the second factor the level 0 meets only level 0 of the third.
    let forbids = |one: (usize, usize), other: (usize, usize)| one == (1, 0) && other.0 == 2 && other.1 != 0;
    let rows = cover(&sizes, &forbids);
    assert!(rows.iter().all(|row| row[1] != 0 || row[2] == 0), "{rows:?}");
    let met: BTreeSet<(u32, u32)> = rows.iter().map(|row| (row[1], row[2])).collect();
    assert_eq!(met.len(), 4 * 5 - 4);
    let others: BTreeSet<(u32, u32)> = rows.iter().map(|row| (row[0], row[2])).collect();
    assert_eq!(others.len(), 3 * 5);
}

#[test]
fn a_shuffle_without_a_list_is_a_shuffle() {
    for count in [1, 2, 3, 100, 1_000, 4_096] {
        let all: BTreeSet<u64> = (0..count).map(|at| permuted(at, count, 77)).collect();
        assert_eq!((all.len() as u64, all.last().copied()), (count, Some(count - 1)));
    }
    let order = |key| (0..50).map(|at| permuted(at, 50, key)).collect::<Vec<_>>();
    assert_ne!(order(1), order(2));
    assert_ne!(order(1), (0..50).collect::<Vec<_>>());
}

fn all(text: &str) -> Vec<Spec> {
    let bench = bench(text);
    let runs = runs(&bench, text);
    (0..runs.count()).map(|at| runs.at(at).expect("a run")).collect()
}

#[test]
fn a_latin_design_visits_each_stratum_of_a_span_once() {
    let text = PLAN.replace("design = \"full\"", "design = \"latin\"\nruns = 40").replace(
        "seeds = [3]",
        "seeds = [3]\nambient = { from = \"0 degC\", to = \"40 degC\" }\nleak = [\"0 mm\", \"0.1 mm\"]",
    );
    let specs = all(&text);
    let value = |spec: &Spec, key: &str| {
        let found = spec.base.changes.iter().find(|(one, _)| one == key).map(|(_, value)| value.clone());
        found.expect("it is varied")
    };
    let degrees = specs.iter().map(|spec| {
        let text = value(spec, "site.ambient");
        text.trim_end_matches(" degC").parse::<f64>().expect("a figure")
    });
    // A figure is rounded to four digits, so that one at the edge of its degree may show as the edge.
    let strata: BTreeSet<u64> = degrees.map(|degrees| (degrees - 5e-3).max(0.0) as u64).collect();
    assert!(strata.len() >= 39, "{strata:?}");
    let leaks = specs.iter().filter(|spec| value(spec, "vehicle.leak") == "0.1 mm").count();
    assert_eq!(leaks, 20, "two levels, each half of the strata");
}

#[test]
fn a_swarm_is_the_same_for_the_same_seed_and_another_for_another() {
    let text = |seed: u64| {
        PLAN.replace("design = \"full\"", &format!("design = \"swarm\"\nruns = 60\nseed = {seed}"))
            .replace("[\"F001\", \"F070\", \"F111\"]", "[\"sensor\"]\nleast = 0\nmost = 4")
    };
    let (one, again, other) = (all(&text(1)), all(&text(1)), all(&text(2)));
    assert_eq!(one, again);
    assert_ne!(one, other);
    let counts: BTreeSet<usize> = one.iter().map(|spec| spec.faults.len()).collect();
    assert_eq!(counts, (0..=4).collect(), "from the least to the most");
    for spec in &one {
        let words: BTreeSet<&str> = spec.faults.iter().map(|one| one.words.as_str()).collect();
        assert_eq!(words.len(), spec.faults.len(), "no fault twice in a run");
    }
}

/// What is of the job comes with it once, whatever the moments; all else at each moment.
#[test]
fn a_full_design_has_each_fault_at_each_moment_and_what_comes_with_the_job_once() {
    let bench = bench(PLAN);
    let runs = runs(&bench, PLAN);
    let moments = runs.occasions(0).len() as u64;
    assert!(moments >= 6, "{:?}", runs.occasions(0));
    assert_eq!(runs.count(), 2 * moments + 1, "F111 hides what the vehicle is: it is of the job");
    let of =
        |id: &str| (0..runs.count()).filter_map(|at| runs.at(at)).filter(|spec| spec.faults[0].words == id).count();
    assert_eq!((of("F001"), of("F070"), of("F111")), (moments as usize, moments as usize, 1));
    assert!(runs.at(runs.count()).is_none());
    assert_eq!(runs.at(5), runs.at(5));
    let last = runs.at(runs.count() - 1).expect("a run");
    assert_eq!(last.faults[0].occasion, Occasion::Job);
}

#[test]
fn a_pairwise_plan_lets_each_fault_meet_each_moment_and_each_value() {
    let text = PLAN
        .replace("design = \"full\"", "design = \"pairwise\"")
        .replace("seeds = [3]", "seeds = [1, 2]\nambient = [\"10 degC\", \"20 degC\", \"30 degC\"]");
    let specs = all(&text);
    let pairs: BTreeSet<(String, String)> = specs
        .iter()
        .map(|spec| (spec.faults[0].words.clone(), spec.faults[0].occasion.words()))
        .filter(|(words, _)| words == "F070")
        .collect();
    let bench = bench(PLAN);
    assert_eq!(pairs.len(), runs(&bench, PLAN).occasions(0).len() + 1, "each moment, and with the job");
    let values: BTreeSet<(u64, String)> =
        specs.iter().map(|spec| (spec.base.seed, spec.base.changes[0].1.clone())).collect();
    assert_eq!(values.len(), 6);
    let with_the_job = specs.iter().filter(|spec| spec.faults[0].words == "F111");
    assert!(with_the_job.clone().count() >= 3);
    assert!(with_the_job.clone().all(|spec| spec.faults[0].occasion == Occasion::Job));
}
