//! How near a job comes to a hazard: the way to fail, its moment, its severity and the surroundings at which the hazard's margin is least, looked
//! for with a tree-structured Parzen estimator, or drawn evenly to be held against it.
//!
//! Each coordinate is a share of its range, told to an estimator of its own: where a margin hangs on two of them at once in a way that none
//! shows alone, this is no better than drawing.

use std::sync::atomic::{AtomicBool, Ordering};

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;
use serde::Serialize;
use tpe::TpeOptimizer;

use super::ground::Ground;
use super::splitting::share;
use crate::campaign::error::CampaignError;
use crate::campaign::plan::{Way, changed, level, quoted};
use crate::campaign::runs::{Base, Runs};
use crate::fault::{Planned, Severity};
use crate::hazard::Id;
use crate::report::data::HazardLevel;
use crate::run::{RunError, Simulation, Stand};
use crate::scenario::{Scenario, parse_fault, quantity};

/// Runs that are drawn evenly before an estimator has a say (own choice: two for each of some five coordinates).
const EVEN: u64 = 10;
/// Every so manieth run is drawn evenly all the same, so that no part of the ranges is given up (own choice).
const EVERY: u64 = 8;

/// How the next run is chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Choice {
    /// By the margins of those before.
    Guided,
    /// Evenly.
    Even,
}

/// What is looked for.
pub struct Aim<'a> {
    runs: &'a Runs,
    ground: &'a Ground,
    hazard: Id,
    base: Base,
    /// Scans of the healthy job.
    length: u64,
}

/// A run that was tried.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tried {
    /// Least margin of the hazard: 1 at rest, 0 at the accident, not below -1.
    pub margin: f64,
    /// When the accident came, s; none where it did not.
    pub accident_s: Option<f64>,
    /// The fault in the words of `--fault`.
    pub fault: String,
    /// Keys of the scenario that were changed, and their values.
    pub changes: Vec<(String, String)>,
    /// Digest of the run.
    pub hash: String,
}

/// What was found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Nearest {
    /// How runs were chosen.
    pub choice: Choice,
    /// Runs.
    pub runs: u64,
    /// Number of the first run with the accident, from 1.
    pub first: Option<u64>,
    /// The run with the least margin.
    pub best: Option<Tried>,
    /// Changes that do not fit together: no runs.
    pub unfit: u64,
}

/// Keys of a scenario and what they are set to.
type Changes = Vec<(String, String)>;

impl<'a> Aim<'a> {
    /// At this hazard, from the job of a plan.
    ///
    /// # Errors
    /// The healthy job cannot be run.
    pub fn new(runs: &'a Runs, ground: &'a Ground, hazard: Id) -> Result<Self, CampaignError> {
        let healthy = |why| CampaignError::Healthy(ground.plan.clone(), why);
        let mut run = ground.begin().map_err(healthy)?;
        while run.step().map_err(healthy)? == Stand::Running {}
        let first = runs.at(0).map(|one| one.base);
        let lost = || CampaignError::Folder(format!("{}: it has no runs", ground.plan), "give it at least one".into());
        Ok(Self { runs, ground, hazard, base: first.ok_or_else(lost)?, length: run.scans() })
    }

    /// Coordinates: way, moment, severity, and each key that the plan varies.
    fn size(&self) -> usize {
        3 + self.runs.plan().factors.len()
    }

    /// The scenario of a point, its fault and the changes; none where they do not fit together.
    fn point(&self, at: &[f64]) -> Option<(Scenario, String, Changes)> {
        let coordinate = |n: usize| at.get(n).copied().unwrap_or(0.0);
        let ways = &self.ground.ways;
        let way = ways.get(level(coordinate(0), ways.len()))?;
        let scan = 1 + (coordinate(1) * self.length.saturating_sub(1) as f64) as u64;
        let (words, planned) = severe(way, coordinate(2), self.ground.time(scan))?;
        let factors = self.runs.plan().factors.iter().enumerate();
        let changes: Vec<(String, String)> =
            factors.map(|(n, one)| (one.key.clone(), one.values.at(coordinate(3 + n)))).collect();
        let healthy = self.runs.scenario(&Base { changes: changes.clone(), ..self.base.clone() }).ok()?;
        Some((Scenario { faults: vec![planned], ..healthy }, words, changes))
    }

    /// Runs a point to its end; none where it does not fit together.
    fn run(&self, at: &[f64]) -> Result<Option<Tried>, RunError> {
        let Some((scenario, fault, changes)) = self.point(at) else { return Ok(None) };
        let mut run = match Simulation::new(&scenario, &self.ground.options) {
            Ok(run) => run,
            Err(RunError::Fault(_)) => return Ok(None),
            Err(other) => return Err(other),
        };
        let mut looker = super::looker::Looker::new();
        while looker.step(&mut run)? {}
        let results = run.hazards().map(|all| all.results()).unwrap_or_default();
        let Some(one) = results.into_iter().find(|one| one.id == self.hazard.word()) else { return Ok(None) };
        let margin = if one.worst_margin.is_finite() { one.worst_margin } else { 1.0 };
        let accident_s = (one.level == HazardLevel::Accident).then(|| one.accident_t_s.unwrap_or(0.0));
        Ok(Some(Tried { margin, accident_s, fault, changes, hash: run.hash() }))
    }

    /// Tries so many runs, or until the first accident where that is enough; `each` hears how many are done and the least margin.
    ///
    /// # Errors
    /// A run failed for a reason of ours.
    pub fn approach(
        &self,
        choice: Choice,
        (budget, to_the_first): (u64, bool),
        seed: u64,
        stop: &AtomicBool,
        each: &mut dyn FnMut(u64, f64),
    ) -> Result<Nearest, RunError> {
        let mut dice = Xoshiro256PlusPlus::seed_from_u64(seed);
        let mut guides: Vec<TpeOptimizer> = (0..self.size()).filter_map(|_| guide()).collect();
        let mut found = Nearest { choice, runs: 0, first: None, best: None, unfit: 0 };
        while found.runs + found.unfit < budget && !stop.load(Ordering::Relaxed) {
            let number = found.runs + found.unfit;
            let even = choice == Choice::Even || number < EVEN || number.is_multiple_of(EVERY);
            let at: Vec<f64> = guides
                .iter_mut()
                .map(|guide| {
                    let drawn = share(&mut dice);
                    // An estimator gives a figure of its range; were there none, it is drawn.
                    if even { drawn } else { guide.ask(&mut dice).map_or(drawn, |one| one.clamp(0.0, 1.0 - 1e-12)) }
                })
                .collect();
            let Some(tried) = self.run(&at)? else {
                found.unfit += 1;
                continue;
            };
            found.runs += 1;
            for (guide, coordinate) in guides.iter_mut().zip(&at) {
                // It is a number within the range, so that nothing is refused.
                let _ = guide.tell(*coordinate, tried.margin);
            }
            let accident = tried.accident_s.is_some();
            if accident {
                found.first.get_or_insert(found.runs);
            }
            if found.best.as_ref().is_none_or(|best| tried.margin < best.margin) {
                found.best = Some(tried);
            }
            each(found.runs, found.best.as_ref().map_or(1.0, |best| best.margin));
            if accident && to_the_first {
                break;
            }
        }
        Ok(found)
    }

    /// The scenario with its keys changed, as a file, and the command that runs it with its fault.
    pub fn replay(&self, tried: &Tried, file: &str) -> Option<(String, String)> {
        let named = self.runs.plan().scenarios.get(self.base.scenario)?;
        let source = changed(&named.source, &tried.changes).ok()?;
        let station = self.runs.plan().stations.first().cloned().flatten();
        let station = station.map(|name| format!(" --station {}", quoted(&name))).unwrap_or_default();
        let (file, fault) = (quoted(file), quoted(&tried.fault));
        Some((source.text, format!("valvewright run {file} --seed {}{station} --fault {fault}", self.base.seed)))
    }
}

fn guide() -> Option<TpeOptimizer> {
    Some(TpeOptimizer::new(tpe::parzen_estimator(), tpe::range(0.0, 1.0).ok()?))
}

/// A way at this share of its severity's range, at a time, s; its usual severity where it has none.
fn severe(way: &Way, share: f64, at: f64) -> Option<(String, Planned)> {
    let planned = &way.planned;
    let mut words = planned.id.to_string();
    let mut add = |key: &str, value: &str| words += &format!(" {key}={}", quoted(value));
    if !planned.mode.is_empty() {
        add("mode", planned.mode);
    }
    if planned.injection().is_some_and(|one| one.tags.len() > 1) {
        add("tag", planned.tag);
    }
    if let Some(severity) = planned.way().and_then(|one| one.severity) {
        add("severity", &figure(&severity, share)?);
    }
    let words = format!("{words} at={at:.3}s");
    let (planned, _) = parse_fault::read_words(&words).ok()?;
    Some((words, planned))
}

/// A figure at this share of the range, with its unit; what would be no fault is moved to where it is one.
fn figure(severity: &Severity, share: f64) -> Option<String> {
    let (from, to) = severity.range;
    let text = |figure: f64| format!("{} {}", quantity::short(figure), severity.unit).trim().to_owned();
    let wanted = from + (to - from) * share;
    let side = if wanted < severity.neutral { -1.0 } else { 1.0 };
    let nearest = [wanted, severity.neutral + 1.001 * side * severity.least, severity.usual];
    nearest.into_iter().map(text).find(|text| severity.read(text).is_ok())
}
