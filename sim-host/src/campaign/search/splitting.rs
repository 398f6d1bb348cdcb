//! Adaptive multilevel splitting (Cerou and Guyader, 2007; from memory): how probable it is that a random walk comes to a height that it
//! rarely comes to.
//!
//! So many walks are run to their ends. Those whose greatest height is the least of all are dropped, and each is replaced by a copy of
//! another, taken where that first stood higher, which goes on with dice of its own. The share that was kept is a factor of the probability; again
//! until all have come to the top. With whole heights several may be dropped at once; the estimate stays without bias if all of the
//! same height are (Brehier and others, 2016; from memory).

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::Rng;

/// What is rolled.
pub type Dice = Xoshiro256PlusPlus;

/// A number from 0 to below 1.
pub fn share(dice: &mut Dice) -> f64 {
    (dice.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
}

/// A time to what comes so often a second, s.
pub fn wait(rate: f64, dice: &mut Dice) -> f64 {
    -(1.0 - share(dice)).ln() / rate
}

/// Something that goes on by chance and without memory: a copy goes on as the original could have.
pub trait Walk: Clone {
    /// Why it cannot go on.
    type Wrong;

    /// What is drawn ahead is drawn anew.
    fn anew(&mut self, dice: &mut Dice);

    /// One step; whether there is another.
    ///
    /// # Errors
    /// It cannot go on.
    fn step(&mut self, dice: &mut Dice) -> Result<bool, Self::Wrong>;

    /// How near to the top it stands.
    fn height(&self) -> u32;
}

/// What splitting found.
#[derive(Clone, Debug)]
pub struct Split<W> {
    /// The estimate.
    pub probability: f64,
    /// Steps that were made.
    pub steps: u64,
    /// How often walks were dropped.
    pub rounds: u32,
    /// Walks at the top; none where all were dropped first.
    pub top: Vec<Arc<W>>,
}

/// A walk that is over: how high it came, and copies from where it first stood higher than before.
#[derive(Clone)]
struct Path<W> {
    height: u32,
    rungs: Vec<(u32, Arc<W>)>,
}

impl<W: Walk> Path<W> {
    /// Goes on from here to the end or to the top.
    fn run(mut self, mut walk: W, top: u32, dice: &mut Dice, steps: &mut u64) -> Result<Self, W::Wrong> {
        let mut goes = self.height < top;
        while goes {
            goes = walk.step(dice)?;
            *steps += 1;
            let height = walk.height();
            if height > self.height {
                self.height = height;
                self.rungs.push((height, Arc::new(walk.clone())));
                goes &= height < top;
            }
        }
        Ok(self)
    }

    /// Where it first stood higher than this.
    fn above(&self, height: u32) -> Option<&(u32, Arc<W>)> {
        self.rungs.iter().find(|(one, _)| *one > height)
    }
}

/// One estimate by so many walks from `start`, whose height is below the top; none where `stop` was set on the way.
///
/// # Errors
/// A walk could not go on.
pub fn split<W: Walk>(
    start: &W,
    walks: usize,
    top: u32,
    dice: &mut Dice,
    stop: &AtomicBool,
) -> Result<Option<Split<W>>, W::Wrong> {
    let mut made = Split { probability: 1.0, steps: 0, rounds: 0, top: Vec::new() };
    let mut paths = Vec::with_capacity(walks);
    for _ in 0..walks {
        if stop.load(Ordering::Relaxed) {
            return Ok(None);
        }
        let mut walk = start.clone();
        walk.anew(dice);
        paths.push(Path { height: start.height(), rungs: Vec::new() }.run(walk, top, dice, &mut made.steps)?);
    }
    loop {
        let least = paths.iter().map(|one| one.height).min().unwrap_or(top);
        if least >= top {
            break;
        }
        let kept: Vec<usize> = (0..paths.len()).filter(|at| paths[*at].height > least).collect();
        made.probability *= kept.len() as f64 / paths.len() as f64;
        made.rounds += 1;
        if kept.is_empty() {
            return Ok(Some(made));
        }
        // No copy is taken from lower than this any more.
        for path in &mut paths {
            path.rungs.retain(|(height, _)| *height > least);
        }
        for at in 0..paths.len() {
            if paths[at].height > least {
                continue;
            }
            if stop.load(Ordering::Relaxed) {
                return Ok(None);
            }
            let of = kept[((share(dice) * kept.len() as f64) as usize).min(kept.len() - 1)];
            let Some((height, from)) = paths[of].above(least).cloned() else { continue };
            let mut walk = W::clone(&from);
            walk.anew(dice);
            let path = Path { height, rungs: vec![(height, from)] };
            paths[at] = path.run(walk, top, dice, &mut made.steps)?;
        }
    }
    made.top = paths.into_iter().filter_map(|one| one.rungs.into_iter().next_back()).map(|(_, walk)| walk).collect();
    Ok(Some(made))
}

/// One walk after the other from `start`: how many of so many came to the top, and the steps that they made; fewer where `stop` was set.
///
/// # Errors
/// A walk could not go on.
pub fn plain<W: Walk>(start: &W, walks: u64, top: u32, dice: &mut Dice, stop: &AtomicBool) -> Result<Plain, W::Wrong> {
    let mut made = Plain::default();
    while made.walks < walks && !stop.load(Ordering::Relaxed) {
        let mut walk = start.clone();
        walk.anew(dice);
        let mut goes = true;
        while goes {
            goes = walk.step(dice)? && walk.height() < top;
            made.steps += 1;
        }
        made.walks += 1;
        made.came += u64::from(walk.height() >= top);
    }
    Ok(made)
}

/// What plain sampling found.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct Plain {
    /// Walks.
    pub walks: u64,
    /// Of these, those that came to the top.
    pub came: u64,
    /// Steps that were made.
    pub steps: u64,
}

/// A mean of independent estimates with its 95 % interval.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Estimate {
    /// The mean.
    pub probability: f64,
    /// Lower end of the interval, not below 0.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
    /// Its standard error.
    pub error: f64,
    /// Estimates that it is of.
    pub of: usize,
    /// Those of them that came out as nothing.
    pub empty: usize,
}

impl Estimate {
    /// Of at least two independent estimates, each without bias; none of fewer.
    pub fn of(all: &[f64]) -> Option<Self> {
        let n = all.len();
        if n < 2 {
            return None;
        }
        let mean = all.iter().sum::<f64>() / n as f64;
        let spread = all.iter().map(|one| (one - mean) * (one - mean)).sum::<f64>() / (n - 1) as f64;
        let error = (spread / n as f64).sqrt();
        let half = student(n - 1) * error;
        let empty = all.iter().filter(|one| **one <= 0.0).count();
        Some(Self { probability: mean, low: (mean - half).max(0.0), high: mean + half, error, of: n, empty })
    }

    /// How many steps plain sampling needs for the same relative error, where a walk of it takes so many on average.
    pub fn plain_steps(&self, each: f64) -> f64 {
        let p = self.probability;
        let relative = self.error / p;
        each * (1.0 - p) / (p * relative * relative)
    }
}

/// Quantile of Student's t at 97.5 % with so many degrees of freedom (series of Abramowitz and Stegun, 26.7.5, from memory; within 0.5 % from 4 on).
fn student(freedom: usize) -> f64 {
    const Z: f64 = 1.959_964;
    let n = freedom as f64;
    let (z3, z5, z7) = (Z.powi(3), Z.powi(5), Z.powi(7));
    Z + (z3 + Z) / (4.0 * n)
        + (5.0 * z5 + 16.0 * z3 + 3.0 * Z) / (96.0 * n * n)
        + (3.0 * z7 + 19.0 * z5 + 17.0 * z3 - 15.0 * Z) / (384.0 * n * n * n)
}

#[cfg(test)]
mod tests {
    use super::student;

    #[test]
    fn the_quantile_is_that_of_the_tables() {
        for (freedom, table) in [(4, 2.776), (9, 2.262), (19, 2.093), (29, 2.045), (120, 1.980)] {
            assert!((student(freedom) / table - 1.0).abs() < 5e-3, "{freedom}: {}", student(freedom));
        }
    }
}
