//! Runs of a shard: those that begin alike are forked from one healthy run, which is walked once through the moments of their first faults.
//!
//! Promises: at most one walking run and one fork at a time; the rows come in the order of their numbers, whatever was run first.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use super::case::{Case, Unrun};
use super::course::{Course, take_on};
use super::error::CampaignError;
use super::reacts::Reacts;
use super::row::Row;
use super::runs::{Base, Runs, Spec};
use super::timeline::Timeline;
use crate::fault::FaultId;
use crate::run::{RunError, RunOptions, Simulation, Stand};
use crate::scenario::Scenario;

/// Healthy jobs whose course is kept: neighbouring shards have the same ones.
const KEPT: usize = 64;

/// The healthy job of a base.
struct Ground {
    scenario: Result<Scenario, String>,
    options: RunOptions,
    line: OnceLock<Result<Timeline, String>>,
}

impl Ground {
    fn new(runs: &Runs, base: &Base) -> Self {
        let options = RunOptions { seed: Some(base.seed), ..RunOptions::BARE };
        Self { scenario: runs.scenario(base), options, line: OnceLock::new() }
    }

    /// The course of it, run once.
    fn line(&self) -> Result<Timeline, String> {
        let made = || {
            let scenario = self.scenario.as_ref().map_err(Clone::clone)?;
            Timeline::of(scenario, &self.options).map_err(|why| why.to_string())
        };
        self.line.get_or_init(made).clone()
    }
}

/// Makes the runs of a campaign.
pub struct Maker<'a> {
    runs: &'a Runs,
    budgets: BTreeMap<FaultId, Reacts>,
    grounds: Mutex<Vec<(Base, Arc<Ground>)>>,
}

impl<'a> Maker<'a> {
    /// Of these runs.
    pub fn new(runs: &'a Runs) -> Self {
        let plan = runs.plan();
        let listed = plan.list.iter().flat_map(|one| one.faults.iter().map(|(_, planned)| planned.id));
        let budgets = Reacts::of_all(plan.ways.iter().map(|way| way.planned.id).chain(listed));
        Self { runs, budgets, grounds: Mutex::new(Vec::new()) }
    }

    fn ground(&self, base: &Base) -> Arc<Ground> {
        // Whoever panicked with the lock in hand left whole entries.
        let mut known = self.grounds.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, ground)) = known.iter().find(|(one, _)| one == base) {
            return Arc::clone(ground);
        }
        if known.len() >= KEPT {
            known.remove(0);
        }
        let made = Arc::new(Ground::new(self.runs, base));
        known.push((base.clone(), Arc::clone(&made)));
        made
    }

    /// The rows of a shard; none where `stop` was set on the way. `each` is told of every run that is done.
    ///
    /// # Errors
    /// A run failed for a reason of ours.
    pub fn shard(&self, number: u64, stop: &AtomicBool, each: &dyn Fn()) -> Result<Option<Vec<Row>>, CampaignError> {
        let size = self.runs.plan().shard;
        self.span(number * size..(number + 1) * size, stop, each)
    }

    /// The same of any run of numbers.
    ///
    /// # Errors
    /// As [`Maker::shard`].
    pub fn span(
        &self,
        numbers: std::ops::Range<u64>,
        stop: &AtomicBool,
        each: &dyn Fn(),
    ) -> Result<Option<Vec<Row>>, CampaignError> {
        let specs: Vec<Spec> = numbers.map_while(|at| self.runs.at(at)).collect();
        let mut rows = Vec::with_capacity(specs.len());
        for group in specs.chunk_by(|a, b| a.base == b.base) {
            match self.group(group, stop, each)? {
                Some(found) => rows.extend(found),
                None => return Ok(None),
            }
        }
        Ok(Some(rows))
    }

    /// Runs that begin alike.
    fn group(&self, specs: &[Spec], stop: &AtomicBool, each: &dyn Fn()) -> Result<Option<Vec<Row>>, CampaignError> {
        let Some(first) = specs.first() else { return Ok(Some(Vec::new())) };
        let ground = self.ground(&first.base);
        let cases: Vec<Result<Case, Unrun>> = specs.iter().map(|spec| self.case(spec, &ground)).collect();
        let moment = |at: &usize| cases.get(*at).and_then(|case| case.as_ref().ok()).and_then(Case::forks_at);
        let mut order: Vec<usize> = (0..specs.len()).collect();
        order.sort_by(|a, b| moment(a).unwrap_or(0.0).total_cmp(&moment(b).unwrap_or(0.0)).then(a.cmp(b)));
        let mut found: Vec<Option<Row>> = vec![None; specs.len()];
        let mut walking: Option<Simulation> = None;
        for at in order {
            if stop.load(Ordering::Relaxed) {
                return Ok(None);
            }
            let (spec, case) = (&specs[at], &cases[at]);
            let row = match case {
                Err(why) => Row::unrun(spec, self.runs.plan(), why),
                Ok(case) => {
                    let course = match case.forks_at() {
                        Some(t) => {
                            self.fork(&ground, &mut walking, t).and_then(|run| self.go(case, &ground, (run, true)))
                        }
                        None => self.whole(case, &ground),
                    };
                    self.row(spec, case, course)?
                }
            };
            found[at] = Some(row);
            each();
        }
        Ok(Some(found.into_iter().flatten().collect()))
    }

    fn case(&self, spec: &Spec, ground: &Ground) -> Result<Case, Unrun> {
        if let Err(why) = &ground.scenario {
            return Err(Unrun::Refused(why.clone()));
        }
        Case::new(spec, self.runs.plan().heal, &mut || ground.line())
    }

    /// A copy of the healthy run at `t` s.
    fn fork(&self, ground: &Ground, walking: &mut Option<Simulation>, t: f64) -> Result<Simulation, RunError> {
        let run = match walking {
            Some(run) => run,
            None => walking.insert(Simulation::new(scenario(ground)?, &ground.options)?),
        };
        while run.time() < t - 1e-6 && run.step()? == Stand::Running {}
        Ok(run.fork())
    }

    fn whole(&self, case: &Case, ground: &Ground) -> Result<Course, RunError> {
        let faulted = Scenario { faults: case.faults.clone(), ..scenario(ground)?.clone() };
        self.go(case, ground, (Simulation::new(&faulted, &ground.options)?, false))
    }

    fn go(&self, case: &Case, ground: &Ground, run: (Simulation, bool)) -> Result<Course, RunError> {
        let reacts = match case.faults.as_slice() {
            [fault] => self.budgets.get(&fault.id),
            _ => None,
        };
        take_on(case, scenario(ground)?, run, self.runs.plan().heal, reacts)
    }

    fn row(&self, spec: &Spec, case: &Case, course: Result<Course, RunError>) -> Result<Row, CampaignError> {
        match course {
            Ok(course) => Ok(Row::ran((spec, case), self.runs.plan(), &course, &self.budgets)),
            Err(RunError::Fault(why)) => Ok(Row::unrun(spec, self.runs.plan(), &Unrun::Refused(why))),
            Err(other) => Err(CampaignError::Run(spec.index, other)),
        }
    }

    /// One run by itself, from its beginning and not from a fork: the same row.
    ///
    /// # Errors
    /// It failed for a reason of ours.
    pub fn alone(&self, spec: &Spec) -> Result<Row, CampaignError> {
        let ground = self.ground(&spec.base);
        match self.case(spec, &ground) {
            Err(why) => Ok(Row::unrun(spec, self.runs.plan(), &why)),
            Ok(case) => self.row(spec, &case, self.whole(&case, &ground)),
        }
    }
}

/// The scenario of a ground that a case was made on: it reads.
fn scenario(ground: &Ground) -> Result<&Scenario, RunError> {
    ground.scenario.as_ref().map_err(|why| RunError::Fault(why.clone()))
}
