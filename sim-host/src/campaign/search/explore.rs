//! Exploration by forks. The job branches at each mark that it comes to for the first time, into a bounded number of runs with one more fault,
//! drawn; those branch at their marks in turn. A mark is told apart by what it is, by the faults that act and by whether they did so from power-on:
//! seen again, it gets nothing. Of more faults than one only those marks count that fewer of them did not come to.
//!
//! At power-on, beside what is there from power-on, and where a hazard comes to its alert level for the first time, each fault is tried once: what
//! is latent waits for another, and at an alert little is left that may fail.
//!
//! When no mark is new, what is left of the bound goes into other moments of those sets of faults that narrowed a hazard's margin further than
//! any fewer of them ever did.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicBool, Ordering};

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};
use serde::Serialize;

use super::found::{Accident, Found};
use super::ground::Ground;
use super::looker::Outcome;
use super::mark::{ALERT, Mark, notch};
use super::moments::Sets;
use super::recipe::Recipe;
use super::trunk::Trunk;
use crate::hazard::HAZARD_COUNT;
use crate::run::RunError;

/// How far it goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bounds {
    /// Runs that a mark gets, 1 to 1 000.
    pub budget: usize,
    /// Runs in all, at most.
    pub runs: u64,
    /// Faults of a run, at most; 2 or 3.
    pub faults: usize,
    /// Seed of what is drawn.
    pub seed: u64,
}

/// What is told on the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Told {
    /// A round of so many runs begins.
    Round(usize),
    /// So many runs of it are done.
    Done(usize),
}

/// One round: the runs that branch from the marks of the round before.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Round {
    /// Marks that were seen for the first time and got a budget; none where other moments were tried.
    pub marks: u64,
    /// Runs.
    pub runs: u64,
    /// Kinds of accident that were new in it.
    pub accidents: u64,
}

/// What was found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Explored {
    /// Runs, without the healthy job.
    pub runs: u64,
    /// Scans that were made for them, each shared one once.
    pub scans: u64,
    /// Faults of a run, at most.
    pub faults: usize,
    /// Round by round.
    pub rounds: Vec<Round>,
    /// Accidents whose faults hold no smaller set that was seen to bring the hazard about.
    pub accidents: Vec<Accident>,
    /// Ways that could not come while the job runs, with the reason.
    pub left_out: Vec<(String, String)>,
    /// It was stopped, or came to its bound, with marks left that got no run.
    pub partial: bool,
}

/// What is known so far.
struct State<'a> {
    ground: &'a Ground,
    bounds: Bounds,
    known: BTreeSet<(Mark, Vec<(usize, bool)>)>,
    tries: BTreeMap<Vec<(usize, bool)>, u32>,
    /// The narrowest notch of each hazard under these faults.
    narrowest: BTreeMap<Vec<usize>, [u8; HAZARD_COUNT]>,
    sets: Sets,
    dice: Xoshiro256PlusPlus,
}

/// A run that is wanted: which draw of its mark it is, the recipe, and the mark.
struct Wanted {
    draw: usize,
    recipe: Recipe,
    mark: String,
}

impl State<'_> {
    /// A run that is done: how far its hazards came.
    fn note(&mut self, recipe: &Recipe, outcome: &Outcome) {
        let best = self.narrowest.entry(recipe.acting()).or_default();
        for (best, margin) in best.iter_mut().zip(outcome.worst) {
            *best = (*best).max(notch(margin));
        }
        self.sets.came(recipe, outcome);
    }

    /// How far this hazard came with fewer of these faults.
    fn with_fewer(&self, acting: &[usize], hazard: usize) -> u8 {
        let of = |acting: &[usize]| self.narrowest.get(acting).and_then(|all| all.get(hazard)).copied().unwrap_or(0);
        // Of three faults at most: none of them, each alone, and with one left out.
        let fewer = (0..acting.len()).map(|at| without(acting, at));
        let single = acting.iter().map(|one| of(&[*one]));
        fewer.map(|one| of(&one)).chain(single).fold(of(&[]), u8::max)
    }

    /// Whether fewer of these faults came to this mark.
    fn seen_with_fewer(&self, mark: &Mark, standing: &[(usize, bool)]) -> bool {
        let known = |one: Vec<(usize, bool)>| self.known.contains(&(mark.clone(), one));
        known(Vec::new()) || (0..standing.len()).any(|at| known(without(standing, at)))
    }

    /// The runs that branch from the new marks of a run; how many marks were new is added.
    fn branch(&mut self, recipe: &Recipe, outcome: &Outcome, wanted: &mut Vec<Wanted>) -> u64 {
        let (acting, standing, mut fresh) = (recipe.acting(), recipe.standing(), 0);
        let power_on = acting.is_empty().then_some((&Mark::PowerOn, 0));
        for (mark, scan) in power_on.into_iter().chain(outcome.marks()) {
            if scan >= outcome.scans {
                continue;
            }
            if let (Mark::Margin(hazard, notch), true) = (mark, acting.len() > 1)
                && *notch > self.with_fewer(&acting, *hazard)
            {
                self.sets.note(recipe, *hazard, *notch);
            }
            // Of two faults only what is news is worth a third.
            if acting.len() >= self.bounds.faults || acting.len() > 1 && self.seen_with_fewer(mark, &standing) {
                continue;
            }
            if !self.known.insert((mark.clone(), standing.clone())) {
                continue;
            }
            fresh += 1;
            // What is there from power-on may be latent until another comes.
            let latent = matches!(mark, Mark::Came(..)) && standing.iter().any(|(_, power_on)| *power_on);
            let all = latent || matches!(mark, Mark::PowerOn | Mark::Margin(_, ALERT));
            let budget = if all { self.ground.ways.len() } else { self.bounds.budget };
            for (draw, way) in self.draw(&standing, scan == 0, budget).into_iter().enumerate() {
                let recipe = recipe.and(way, scan);
                if self.sets.want(&recipe) {
                    wanted.push(Wanted { draw, recipe, mark: mark.words() });
                }
            }
        }
        fresh
    }

    /// Sets that do more together than fewer of them, each at so many other moments.
    fn other_moments(&mut self) -> Vec<Wanted> {
        let moved = self.sets.moved(self.bounds.budget, &mut self.dice);
        moved.into_iter().map(|(draw, recipe)| Wanted { draw, recipe, mark: "another moment".to_owned() }).collect()
    }

    /// Ways to come on top of these: those that were tried least with them, in the order of the dice.
    fn draw(&mut self, standing: &[(usize, bool)], power_on: bool, budget: usize) -> Vec<usize> {
        let id = |way: usize| self.ground.ways.get(way).map(|one| one.planned.id);
        let with = |way: usize| {
            let mut all = standing.to_vec();
            all.push((way, power_on));
            all.sort_unstable();
            all
        };
        let mut all: Vec<(u32, u64, usize)> = Vec::new();
        for way in 0..self.ground.ways.len() {
            if standing.iter().all(|(one, _)| id(*one) != id(way)) {
                all.push((self.tries.get(&with(way)).copied().unwrap_or(0), self.dice.next_u64(), way));
            }
        }
        all.sort_unstable();
        all.truncate(budget);
        for (_, _, way) in &all {
            *self.tries.entry(with(*way)).or_default() += 1;
        }
        all.into_iter().map(|(_, _, way)| way).collect()
    }
}

/// The same without the one at this place.
fn without<T: Copy>(all: &[T], at: usize) -> Vec<T> {
    all.iter().enumerate().filter(|(n, _)| *n != at).map(|(_, one)| *one).collect()
}

/// Explores a job in so many threads until the bound is reached, nothing is left to try or `stop` is set.
///
/// # Errors
/// A run failed for a reason of ours.
pub fn explore(
    ground: &Ground,
    bounds: Bounds,
    threads: usize,
    stop: &AtomicBool,
    each: &mut dyn FnMut(Told),
) -> Result<Explored, RunError> {
    let trunk = Trunk::grow(ground)?;
    let mut state = State {
        ground,
        bounds,
        known: BTreeSet::new(),
        tries: BTreeMap::new(),
        narrowest: BTreeMap::new(),
        sets: Sets::new(&trunk.healthy),
        dice: Xoshiro256PlusPlus::seed_from_u64(bounds.seed),
    };
    let (mut found, mut rounds, mut partial) = (Found::default(), Vec::new(), false);
    let (mut runs, mut scans) = (0_u64, 0_u64);
    state.note(&Recipe::default(), &trunk.healthy);
    found.take(ground, 0, &Recipe::default(), &trunk.healthy, "the healthy job");
    let mut wanted = Vec::new();
    let mut marks = state.branch(&Recipe::default(), &trunk.healthy, &mut wanted);
    while !partial && runs < bounds.runs {
        let of_marks = !wanted.is_empty();
        if !of_marks {
            wanted = state.other_moments();
        }
        if wanted.is_empty() {
            break;
        }
        // Of each mark one before any mark has its second: a bound then cuts all alike.
        wanted.sort_by_key(|one| one.draw);
        let left = bounds.runs.saturating_sub(runs) as usize;
        partial = of_marks && wanted.len() > left;
        wanted.truncate(left);
        each(Told::Round(wanted.len()));
        let recipes: Vec<Recipe> = wanted.iter().map(|one| one.recipe.clone()).collect();
        let outcomes = trunk.run(&recipes, threads, stop, &mut |done| each(Told::Done(done)))?;
        let (before, first) = (found.kinds(), runs);
        let mut next = Vec::new();
        let mut new_marks = 0;
        for (one, outcome) in wanted.iter().zip(&outcomes) {
            let Some(outcome) = outcome else { continue };
            runs += 1;
            scans += outcome.own;
            state.note(&one.recipe, outcome);
            found.take(ground, runs, &one.recipe, outcome, &one.mark);
        }
        for (one, outcome) in wanted.iter().zip(&outcomes) {
            if let Some(outcome) = outcome {
                new_marks += state.branch(&one.recipe, outcome, &mut next);
            }
        }
        rounds.push(Round { marks, runs: runs - first, accidents: (found.kinds() - before) as u64 });
        (wanted, marks) = (next, new_marks);
        partial |= stop.load(Ordering::Relaxed) || runs >= bounds.runs && !wanted.is_empty();
    }
    let accidents = found.accidents(ground)?;
    scans += trunk.walked();
    Ok(Explored { runs, scans, faults: bounds.faults, rounds, accidents, left_out: ground.left_out.clone(), partial })
}
