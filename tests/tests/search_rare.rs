//! Splitting finds probabilities that are known in closed form, within the interval that it states, for a tenth of the steps of plain sampling;
//! on a random walk and on faults that come into a job.

use std::convert::Infallible;
use std::sync::atomic::AtomicBool;

use rand_xoshiro::rand_core::{Rng, SeedableRng};
use valvewright_sim::campaign::search::splitting::{Dice, Estimate, Split, Walk, plain, split};
use valvewright_sim::campaign::search::{Event, Ground, Question, Rare};
use valvewright_sim::hazard::Id;

use crate::campaign_bench::{bench, runs};

/// Up with three chances in ten, down with seven, over at 0.
#[derive(Clone, Debug)]
struct Drunkard(u32);

impl Walk for Drunkard {
    type Wrong = Infallible;

    fn anew(&mut self, _: &mut Dice) {}

    fn step(&mut self, dice: &mut Dice) -> Result<bool, Infallible> {
        self.0 = if dice.next_u64() % 10 < 3 { self.0 + 1 } else { self.0 - 1 };
        Ok(self.0 > 0)
    }

    fn height(&self) -> u32 {
        self.0
    }
}

/// Chance to come from 1 to `top` before 0 (the ruin of the gambler): 1.19e-4 for 11.
fn ruin(top: i32) -> f64 {
    let odds: f64 = 7.0 / 3.0;
    (odds - 1.0) / (odds.powi(top) - 1.0)
}

fn one(top: u32, walks: usize, seed: u64) -> Split<Drunkard> {
    let mut dice = Dice::seed_from_u64(seed);
    let found = split(&Drunkard(1), walks, top, &mut dice, &AtomicBool::new(false));
    found.unwrap_or_else(|never| match never {}).expect("nobody stops it")
}

/// Twenty estimates by a hundred walks each, and their steps.
fn estimate(top: u32, seed: u64) -> (Estimate, u64) {
    let all: Vec<Split<Drunkard>> = (0..20).map(|n| one(top, 100, seed * 1000 + n)).collect();
    let shares: Vec<f64> = all.iter().map(|one| one.probability).collect();
    (Estimate::of(&shares).expect("twenty"), all.iter().map(|one| one.steps).sum())
}

#[test]
fn a_random_walks_rare_height_is_as_probable_as_its_closed_form_says() {
    let known = ruin(11);
    assert!((known - 1.19e-4).abs() < 1e-6, "{known}");
    let mut within = 0;
    for seed in 1..=60 {
        let (found, _) = estimate(11, seed);
        within += u32::from((found.low..=found.high).contains(&known));
        assert!((found.probability / known - 1.0).abs() < 0.5, "{found:?} for {known:e}");
    }
    // Of a 95 % interval 57 of 60; 51 and fewer come in one case of a hundred.
    assert!((52..=60).contains(&within), "{within} of 60 intervals hold {known:e}");
}

/// Would turn red where ties at the least height were not all dropped: the mean is then off by several times this.
#[test]
fn the_mean_of_many_estimates_has_no_bias() {
    let known = ruin(7);
    let all: Vec<f64> = (0..4000).map(|seed| one(7, 20, seed).probability).collect();
    let found = Estimate::of(&all).expect("many");
    assert!((found.probability - known).abs() < 3.0 * found.error, "{found:?} for {known:e}");
    assert!(found.error < 0.02 * known, "too coarse to say so: {found:?}");
}

#[test]
fn splitting_takes_a_tenth_of_the_steps_of_plain_sampling_at_one_in_ten_thousand() {
    let (found, steps) = estimate(11, 1);
    let sampled = plain(&Drunkard(1), 20_000, 11, &mut Dice::seed_from_u64(1), &AtomicBool::new(false));
    let sampled = sampled.unwrap_or_else(|never| match never {});
    let each = sampled.steps as f64 / sampled.walks as f64;
    // Mean time to the end of such a walk: 1 / (0.7 - 0.3).
    assert!((each - 2.5).abs() < 0.1, "{each}");
    let wanted = found.plain_steps(each);
    assert!(wanted > 10.0 * steps as f64, "{wanted} steps of plain sampling for {steps}");
}

#[test]
fn plain_sampling_counts_what_comes_to_the_top() {
    let found = plain(&Drunkard(1), 40_000, 5, &mut Dice::seed_from_u64(3), &AtomicBool::new(false));
    let found = found.unwrap_or_else(|never| match never {});
    let share = found.came as f64 / found.walks as f64;
    assert!((share - ruin(5)).abs() < 4.0 * (ruin(5) / 40_000.0).sqrt(), "{share} for {}", ruin(5));
}

#[test]
fn where_no_walk_rises_the_estimate_is_nothing_and_says_so() {
    /// Goes nowhere.
    #[derive(Clone)]
    struct Stone;
    impl Walk for Stone {
        type Wrong = Infallible;
        fn anew(&mut self, _: &mut Dice) {}
        fn step(&mut self, _: &mut Dice) -> Result<bool, Infallible> {
            Ok(false)
        }
        fn height(&self) -> u32 {
            0
        }
    }
    let found = split(&Stone, 10, 3, &mut Dice::seed_from_u64(1), &AtomicBool::new(false));
    let found = found.unwrap_or_else(|never| match never {}).expect("nobody stops it");
    assert_eq!((found.probability, found.top.len(), found.steps), (0.0, 0, 10));
    assert_eq!(Estimate::of(&[0.0, 0.0]).expect("two").empty, 2);
    assert_eq!(Estimate::of(&[0.5]), None, "one estimate has no spread");
    let stopped = split(&Stone, 10, 3, &mut Dice::seed_from_u64(1), &AtomicBool::new(true));
    assert!(stopped.unwrap_or_else(|never| match never {}).is_none());
}

/// Three faults that the short job does not feel: a blind gas detector, a dead pressure switch and a relief valve that does not lift.
const LATENT: &str = r#"
name = "latent"
title = "Faults that nothing notices"
design = "latin"
runs = 1
[factors]
scenario = ["short.toml"]
seeds = [1]
[faults]
which = ["F040", "F043", "F073"]
[moments]
each = 1
"#;

fn asked(event: Event, per_hour: f64, threads: usize) -> (Rare, f64) {
    let bench = bench(LATENT);
    let runs = runs(&bench, LATENT);
    let ground = Ground::of(&runs).unwrap_or_else(|wrong| panic!("{wrong}"));
    let question = Question { ground: &ground, rates: vec![per_hour / 3600.0; 3], event };
    let mut job = ground.begin().expect("it begins");
    while job.step().expect("it runs") == valvewright_sim::run::Stand::Running {}
    let within = ground.time(job.scans() - 1);
    let stop = AtomicBool::new(false);
    let found = question.rare((6, 60), 1, threads, &stop, &mut |_| {}).unwrap_or_else(|wrong| panic!("{wrong}"));
    (found.expect("nobody stops it"), question.closed_form(2, within))
}

#[test]
fn two_faults_in_a_job_are_as_probable_as_their_rates_say_for_any_number_of_threads() {
    let (found, known) = asked(Event::Came(2), 1.0, 1);
    let of = &found.estimate;
    assert!((of.low..=of.high).contains(&known) && known < 0.01, "{of:?} for {known:e}");
    assert_eq!(found, asked(Event::Came(2), 1.0, 3).0);
    assert!(found.recipes.iter().all(|one| one.replayed && one.faults.len() == 2), "{:?}", found.recipes);
    let whole: f64 = found.recipes.iter().map(|one| one.share).sum();
    assert!((whole - 1.0).abs() < 1e-9, "{whole}");
}

#[test]
fn what_these_faults_cannot_bring_about_comes_out_as_nothing() {
    let (found, _) = asked(Event::Accident(Id::H25), 20.0, 2);
    assert_eq!((found.estimate.probability, found.estimate.empty), (0.0, 6));
    assert!(found.recipes.is_empty());
}

#[test]
fn the_closed_form_is_the_one_of_two_coins() {
    let bench = bench(LATENT);
    let runs = runs(&bench, LATENT);
    let ground = Ground::of(&runs).unwrap_or_else(|wrong| panic!("{wrong}"));
    let question = Question { ground: &ground, rates: vec![0.01, 0.02, 0.0], event: Event::Came(2) };
    let (a, b) = (1.0 - (-1.0_f64).exp(), 1.0 - (-2.0_f64).exp());
    assert!((question.closed_form(2, 100.0) - a * b).abs() < 1e-12);
    assert!((question.closed_form(1, 100.0) - (a + b - a * b)).abs() < 1e-12);
    assert!(question.closed_form(3, 100.0).abs() < 1e-12);
}
