//! Sets of faults that bring a hazard nearer than any fewer of them do, and the same faults at other moments.
//!
//! Promises: what is drawn depends on what was noted and on the dice alone, and no recipe is drawn that was run.

use std::collections::{BTreeMap, BTreeSet};

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::Rng;

use super::looker::Outcome;
use super::mark::{ALERT, LAST, Mark, notch};
use super::recipe::Recipe;
use crate::hazard::HAZARD_COUNT;

/// Draws for one new recipe before it is given up (own choice).
const TRIES: usize = 8;

/// How far each hazard came in a run: not to its alert, to it, to the accident.
type Levels = [u8; HAZARD_COUNT];

/// What was seen of sets of faults.
#[derive(Default)]
pub struct Sets {
    /// Of each set: the first recipe that came to this notch of this hazard.
    near: BTreeMap<Vec<usize>, BTreeMap<(usize, u8), Recipe>>,
    /// Of each set: the first recipe with these levels. Between two of them the outcome turns.
    outcomes: BTreeMap<Vec<usize>, BTreeMap<Levels, Recipe>>,
    /// Every recipe that was wanted.
    known: BTreeSet<Recipe>,
    /// Where the steps of the healthy job begin, and where it ends, in scans.
    steps: Vec<u64>,
}

impl Sets {
    /// By the steps of the healthy job.
    pub fn new(healthy: &Outcome) -> Self {
        let begins = healthy.marks().filter(|(mark, _)| matches!(mark, Mark::Step(..))).map(|(_, scan)| scan);
        let mut steps: Vec<u64> = [0].into_iter().chain(begins).chain([healthy.scans.max(1)]).collect();
        steps.dedup();
        Self { steps, ..Self::default() }
    }

    /// A recipe is going to be run; whether it is new.
    pub fn want(&mut self, recipe: &Recipe) -> bool {
        self.known.insert(recipe.clone())
    }

    /// What a recipe of several faults came to.
    pub fn came(&mut self, recipe: &Recipe, outcome: &Outcome) {
        if recipe.0.len() > 1 {
            let levels = outcome.worst.map(|margin| match notch(margin) {
                ..ALERT => 0,
                LAST => 2,
                _ => 1,
            });
            let all = self.outcomes.entry(recipe.acting()).or_default();
            all.entry(levels).or_insert_with(|| recipe.clone());
        }
    }

    /// This recipe brought the hazard to a notch that no fewer of its faults came to.
    pub fn note(&mut self, recipe: &Recipe, hazard: usize, notch: u8) {
        let near = self.near.entry(recipe.acting()).or_default();
        near.entry((hazard, notch)).or_insert_with(|| recipe.clone());
    }

    /// So many new recipes of each set that comes to an alert, at other moments; the number says which of its set's it is.
    pub fn moved(&mut self, each: usize, dice: &mut Xoshiro256PlusPlus) -> Vec<(usize, Recipe)> {
        // Those that come to an alert are worth more than those that only stir; where none does, these are what there is.
        let alarming = |near: &BTreeMap<(usize, u8), Recipe>| near.keys().any(|(_, notch)| *notch >= ALERT);
        let some = self.near.values().any(alarming);
        let mut all = Vec::new();
        for (acting, near) in self.near.iter().filter(|(_, near)| !some || alarming(near)) {
            let mut hazards: Vec<usize> = near.keys().map(|(hazard, _)| *hazard).collect();
            hazards.dedup();
            for draw in 0..each {
                let fresh = (0..TRIES).find_map(|_| {
                    // Every hazard as often, however many notches the set came through.
                    let hazard = *hazards.get(below(dice, hazards.len()))?;
                    let of: Vec<&Recipe> = near.range((hazard, 0)..=(hazard, u8::MAX)).map(|(_, one)| one).collect();
                    let one = self.other(of.get(below(dice, of.len()))?, acting, dice);
                    (!self.known.contains(&one)).then_some(one)
                });
                if let Some(one) = fresh {
                    self.known.insert(one.clone());
                    all.push((draw, one));
                }
            }
        }
        all
    }

    /// One of its faults at another moment, near by more often than far; each between its moments in two runs that came to something else; one, or
    /// each, in a step of the job that is drawn.
    fn other(&self, recipe: &Recipe, acting: &[usize], dice: &mut Xoshiro256PlusPlus) -> Recipe {
        let mut faults = recipe.0.clone();
        let at = below(dice, faults.len());
        let kind = below(dice, 4);
        let outcomes: Vec<&Recipe> = self.outcomes.get(acting).into_iter().flat_map(BTreeMap::values).collect();
        if kind == 1 && outcomes.len() > 1 {
            let first = below(dice, outcomes.len());
            let second = (first + 1 + below(dice, outcomes.len() - 1)) % outcomes.len();
            return between(outcomes[first], outcomes[second], dice);
        }
        for (n, (_, scan)) in faults.iter_mut().enumerate() {
            *scan = match kind {
                0 | 1 if n == at => self.near_by(*scan, dice),
                2 if n == at => self.anywhere(dice),
                3 => self.anywhere(dice),
                _ => *scan,
            };
        }
        faults.sort_by_key(|(_, scan)| *scan);
        Recipe(faults)
    }

    fn near_by(&self, scan: u64, dice: &mut Xoshiro256PlusPlus) -> u64 {
        let length = self.steps.last().copied().unwrap_or(1);
        // Between -1 and 1, dense about 0.
        let share = (dice.next_u64() >> 11) as f64 / (1_u64 << 52) as f64 - 1.0;
        let step = share * share.abs() * length as f64;
        (scan as f64 + step).clamp(0.0, length.saturating_sub(1) as f64) as u64
    }

    /// In each step as often, however long it lasts: power-on is the first moment of the first.
    fn anywhere(&self, dice: &mut Xoshiro256PlusPlus) -> u64 {
        let at = below(dice, self.steps.len().saturating_sub(1));
        let (from, to) = (self.steps.get(at).copied().unwrap_or(0), self.steps.get(at + 1).copied().unwrap_or(1));
        from + below(dice, (to - from) as usize) as u64
    }
}

/// The same faults, each somewhere between its moments in these two recipes.
fn between(a: &Recipe, b: &Recipe, dice: &mut Xoshiro256PlusPlus) -> Recipe {
    let mut faults = a.0.clone();
    for (way, scan) in &mut faults {
        let other = b.0.iter().find(|(one, _)| one == way).map_or(*scan, |(_, scan)| *scan);
        let (from, to) = ((*scan).min(other), (*scan).max(other));
        *scan = from + below(dice, (to - from + 1) as usize) as u64;
    }
    faults.sort_by_key(|(_, scan)| *scan);
    Recipe(faults)
}

/// A number below this; 0 of none.
fn below(dice: &mut Xoshiro256PlusPlus, count: usize) -> usize {
    (dice.next_u64() % count.max(1) as u64) as usize
}
