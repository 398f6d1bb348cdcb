//! Faults and the scans in which they come: what makes a run, and what makes it again.

use super::ground::Ground;
use crate::report::data::HazardLevel;
use crate::run::{RunError, Simulation};
use crate::scenario::Scenario;

/// Ways of a [`Ground`] by their places, each with the scan from which on it acts, the earliest first.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Recipe(pub Vec<(usize, u64)>);

/// A run from its beginning held against the fork that found it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Replayed {
    /// Digest of every frame and output to the scan in which the fork ended.
    pub hash: String,
    /// Hazards at their accident level there.
    pub accidents: Vec<&'static str>,
}

impl Recipe {
    /// The same with one more fault.
    #[must_use]
    pub fn and(&self, way: usize, scan: u64) -> Self {
        let mut all = self.0.clone();
        all.push((way, scan));
        Self(all)
    }

    /// Which ways act, sorted.
    pub fn acting(&self) -> Vec<usize> {
        let mut all: Vec<usize> = self.0.iter().map(|(way, _)| *way).collect();
        all.sort_unstable();
        all
    }

    /// Which ways act, sorted, each with whether it did so from power-on: what a self-test may see, and nothing later does.
    pub fn standing(&self) -> Vec<(usize, bool)> {
        let mut all: Vec<(usize, bool)> = self.0.iter().map(|(way, scan)| (*way, *scan == 0)).collect();
        all.sort_unstable();
        all
    }

    /// In the words of `--fault`.
    pub fn words(&self, ground: &Ground) -> Vec<String> {
        self.0.iter().map(|(way, scan)| ground.words(*way, *scan)).collect()
    }

    /// Runs it from the beginning, with its faults in the scenario, for so many scans.
    ///
    /// # Errors
    /// A fault cannot come in this job.
    pub fn replay(&self, ground: &Ground, scans: u64) -> Result<Replayed, RunError> {
        let faults = self.0.iter().filter_map(|(way, scan)| ground.planned(*way, *scan)).collect();
        let scenario = Scenario { faults, ..ground.scenario.clone() };
        let mut run = Simulation::new(&scenario, &ground.options)?;
        while run.scans() < scans && run.step()? == crate::run::Stand::Running {}
        let results = run.hazards().map(|all| all.results()).unwrap_or_default();
        let accidents = results.into_iter().filter(|one| one.level == HazardLevel::Accident).map(|one| one.id);
        Ok(Replayed { accidents: accidents.collect(), hash: run.hash() })
    }
}
