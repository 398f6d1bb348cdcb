//! Designs: from the number of a run to what is in it, reckoned when it is asked for, so that no list of all runs stands in memory.
//!
//! Promises: what a number stands for depends on the plan, the moments of its healthy jobs and that number alone.

mod full;
mod latin;
mod pairwise;
mod swarm;

pub use latin::permuted;
pub use pairwise::{Forbids, cover};

pub(super) use full::Full;
pub(super) use latin::Latin;
pub(super) use swarm::Swarm;

/// What the levels of a plan are, for a design.
#[derive(Clone, Debug)]
pub(super) struct Sizes {
    /// Moments of each scenario.
    pub(super) moments: Vec<usize>,
    /// Stations.
    pub(super) stations: usize,
    /// Levels of each varied key; none where it has a span.
    pub(super) factors: Vec<Option<usize>>,
    /// Seeds.
    pub(super) seeds: usize,
    /// Faults that come at a moment, by their places among the plan's ways.
    pub(super) any: Vec<usize>,
    /// Faults that come with the job only.
    pub(super) once: Vec<usize>,
}

impl Sizes {
    /// Ways in all.
    pub(super) fn ways(&self) -> usize {
        self.any.len() + self.once.len()
    }
}

/// A run as a design has it: levels, no values yet.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Draft {
    pub(super) scenario: usize,
    pub(super) station: usize,
    /// Of each varied key a share of its levels or its span, 0 to below 1.
    pub(super) shares: Vec<f64>,
    pub(super) seed: usize,
    /// Each fault: its place among the ways, and its moment among those of the scenario; none with the job.
    pub(super) faults: Vec<(usize, Option<usize>)>,
}

/// The middle of a level: a share that stands for it.
pub(super) fn share_of(level: usize, levels: usize) -> f64 {
    (level as f64 + 0.5) / levels.max(1) as f64
}
