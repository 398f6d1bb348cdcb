//! How probable a rare accident of a job is, where faults come by exponential clocks of stated rates: splitting on the margin of its hazard and on
//! how many faults have come, in forks.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;

use rand_xoshiro::rand_core::SeedableRng;
use serde::Serialize;
use xxhash_rust::xxh3::xxh3_64_with_seed;

use super::ground::Ground;
use super::looker::Looker;
use super::mark::notch;
use super::recipe::Recipe;
use super::splitting::{Dice, Estimate, Plain, Split, Walk, plain, share, split, wait};
use crate::hazard::Id;
use crate::run::{RunError, Simulation};

/// What is rare.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event {
    /// This hazard comes to its accident level.
    Accident(Id),
    /// So many different faults come while the job runs: its probability is known where none of them changes how long the job takes.
    Came(u32),
}

/// Notches of a margin.
const NOTCHES: u32 = 10;
/// So many faults make a walk higher by themselves: a third one is no nearer to an accident of two (own choice).
const FAULTS: u32 = 2;

/// The question.
pub struct Question<'a> {
    /// Job and faults.
    pub ground: &'a Ground,
    /// Arrivals of each way of the ground, 1/s.
    pub rates: Vec<f64>,
    /// What is rare.
    pub event: Event,
}

impl Question<'_> {
    /// Where it has come.
    pub const fn top(&self) -> u32 {
        match self.event {
            Event::Accident(_) => (FAULTS + 1) * NOTCHES,
            Event::Came(count) => count,
        }
    }

    /// The probability that so many different faults come within so long, s, each with its rate.
    pub fn closed_form(&self, count: u32, within: f64) -> f64 {
        // Chances of 0, 1, ... faults, those of the ways one after the other taken in.
        let mut chances = vec![1.0];
        for rate in &self.rates {
            let comes = 1.0 - (-rate * within).exp();
            let mut next = vec![0.0; chances.len() + 1];
            for (at, chance) in chances.iter().enumerate() {
                next[at] += chance * (1.0 - comes);
                next[at + 1] += chance * comes;
            }
            chances = next;
        }
        chances.iter().skip(count as usize).sum()
    }

    fn begin(&self) -> Result<Job<'_>, RunError> {
        let rate = self.rates.iter().sum();
        Ok(Job { of: self, rate, run: self.ground.begin()?, looker: Looker::new(), recipe: Recipe::default(), next: 0 })
    }

    /// So many independent estimates by so many walks each, in so many threads; `each` hears how many are done. None where `stop` was set.
    ///
    /// # Errors
    /// A run failed for a reason of ours.
    pub fn rare(
        &self,
        (repeats, walks): (usize, usize),
        seed: u64,
        threads: usize,
        stop: &AtomicBool,
        each: &mut dyn FnMut(usize),
    ) -> Result<Option<Rare>, RunError> {
        let start = self.begin()?;
        let mut found: Vec<Option<Split<Job<'_>>>> = (0..repeats).map(|_| None).collect();
        let (next, (tell, hear)) = (AtomicUsize::new(0), mpsc::channel());
        std::thread::scope(|scope| {
            for _ in 0..threads.max(1) {
                let (tell, next, start) = (tell.clone(), &next, &start);
                scope.spawn(move || {
                    while !stop.load(Ordering::Relaxed) {
                        let at = next.fetch_add(1, Ordering::Relaxed);
                        if at >= repeats {
                            return;
                        }
                        let mut dice = dice(seed, at);
                        // Who listens goes only when all is done.
                        drop(tell.send((at, split(start, walks, self.top(), &mut dice, stop))));
                    }
                });
            }
            drop(tell);
            let (mut done, mut first) = (0, Ok(()));
            while let Ok((at, one)) = hear.recv() {
                match one {
                    Ok(one) => {
                        done += 1;
                        each(done);
                        found[at] = one;
                    }
                    Err(why) if first.is_ok() => first = Err(why),
                    Err(_) => {}
                }
            }
            first
        })?;
        let all: Vec<Split<Job<'_>>> = found.into_iter().flatten().collect();
        let estimates: Vec<f64> = all.iter().map(|one| one.probability).collect();
        if all.len() < repeats {
            return Ok(None);
        }
        let Some(estimate) = Estimate::of(&estimates) else { return Ok(None) };
        let steps = all.iter().map(|one| one.steps).sum();
        Ok(Some(Rare { estimate, scans: steps, recipes: self.recipes(&all)? }))
    }

    /// Plain sampling of so many runs.
    ///
    /// # Errors
    /// A run failed for a reason of ours.
    pub fn plain(&self, walks: u64, seed: u64, stop: &AtomicBool) -> Result<Plain, RunError> {
        plain(&self.begin()?, walks, self.top(), &mut dice(seed, usize::MAX), stop)
    }

    /// Sets of faults of the walks at the top, by their share of the probability, each with a recipe.
    fn recipes(&self, all: &[Split<Job<'_>>]) -> Result<Vec<Share>, RunError> {
        let mut sets: BTreeMap<Vec<usize>, (f64, Recipe, u64, String)> = BTreeMap::new();
        let whole: f64 = all.iter().map(|one| one.probability).sum();
        for one in all {
            let weight = one.probability / (whole * one.top.len().max(1) as f64);
            for walk in &one.top {
                let fresh = || (0.0, walk.recipe.clone(), walk.run.scans(), walk.run.hash());
                sets.entry(walk.recipe.acting()).or_insert_with(fresh).0 += weight;
            }
        }
        let mut shares = Vec::new();
        for (share, recipe, scans, hash) in sets.into_values() {
            let words = recipe.words(self.ground);
            let again = recipe.replay(self.ground, scans)?;
            let accident = match self.event {
                Event::Accident(id) => again.accidents.contains(&id.word()),
                Event::Came(_) => true,
            };
            let (replay, same_digest) = (self.ground.replay(&words), again.hash == hash);
            shares.push(Share { share, replay, faults: words, replayed: accident, same_digest });
        }
        shares.sort_by(|a, b| b.share.total_cmp(&a.share));
        Ok(shares)
    }
}

/// The dice of one estimate.
fn dice(seed: u64, at: usize) -> Dice {
    Dice::seed_from_u64(xxh3_64_with_seed(&(at as u64).to_le_bytes(), seed))
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Rare {
    /// The probability in one job.
    pub estimate: Estimate,
    /// Scans that were made.
    pub scans: u64,
    /// By which faults, the most probable first.
    pub recipes: Vec<Share>,
}

/// What a set of faults has of the probability.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Share {
    /// Its share, 0 to 1.
    pub share: f64,
    /// A recipe, in the words of `--fault`.
    pub faults: Vec<String>,
    /// The run from its beginning came to the same.
    pub replayed: bool,
    /// And has the same digest.
    pub same_digest: bool,
    /// The command that has it again.
    pub replay: String,
}

/// A job into which faults come by chance.
#[derive(Clone)]
struct Job<'a> {
    of: &'a Question<'a>,
    rate: f64,
    run: Simulation,
    looker: Looker,
    recipe: Recipe,
    /// The scan in which the next fault comes.
    next: u64,
}

impl Job<'_> {
    /// Which fault it is that comes; one that acts already comes again without effect.
    fn comes(&mut self, dice: &mut Dice) -> Result<(), RunError> {
        let mut at = share(dice) * self.rate;
        let found = self.of.rates.iter().position(|rate| {
            at -= rate;
            at < 0.0
        });
        let (way, scan) = (found.unwrap_or(0), self.run.scans());
        if !self.recipe.0.iter().any(|(one, _)| *one == way)
            && let Some(planned) = self.of.ground.planned(way, scan)
        {
            self.run.inject(&planned)?;
            self.looker.faulted(&self.run);
            self.recipe = self.recipe.and(way, scan);
        }
        self.next = scan + self.scans_to_next(dice);
        Ok(())
    }

    /// Scans from one in which a fault may come to the one in which it does: the clock is looked at once a scan.
    fn scans_to_next(&self, dice: &mut Dice) -> u64 {
        (wait(self.rate, dice) / self.of.ground.scan_s()).ceil().max(1.0) as u64
    }
}

impl Walk for Job<'_> {
    type Wrong = RunError;

    fn anew(&mut self, dice: &mut Dice) {
        // The last scan is over and the clock may run out before the next; none comes in the very first.
        self.next = self.run.scans().saturating_sub(1).saturating_add(self.scans_to_next(dice));
    }

    fn step(&mut self, dice: &mut Dice) -> Result<bool, RunError> {
        if self.run.scans() >= self.next {
            self.comes(dice)?;
        }
        self.looker.step(&mut self.run)
    }

    fn height(&self) -> u32 {
        let came = self.recipe.0.len() as u32;
        match self.of.event {
            Event::Came(_) => came,
            Event::Accident(id) => {
                let margin = self.run.hazards().and_then(|all| all.worst(id)).unwrap_or(1.0);
                let near = u32::from(notch(margin));
                if near >= NOTCHES { self.of.top() } else { near + NOTCHES * came.min(FAULTS) }
            }
        }
    }
}
