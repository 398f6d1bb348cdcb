//! Runs of a shard: those that begin alike are forked from one healthy run, which is walked once through the moments of their first faults.
//!
//! Promises: at most one walking run for each interlock row that is left out and acts in the healthy job, one with the whole table and one fork at
//! a time; the rows come in the order of their numbers, whatever was run first. A run without an interlock row that does nothing in it with the
//! whole table is not made: it is that run, to its hash.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use valvewright_core::row::{RowId, RowSet};

use super::case::{Case, Unrun};
use super::course::{Course, acting, take_on};
use super::error::CampaignError;
use super::other;
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

    /// The healthy job at its beginning, with a row left out or none.
    fn begin(&self, without: Option<RowId>) -> Result<Simulation, RunError> {
        Simulation::new(scenario(self)?, &self.left_out(without))
    }

    fn left_out(&self, without: Option<RowId>) -> RunOptions {
        RunOptions { without: without.map_or(RowSet::NONE, RowSet::one), ..self.options.clone() }
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

/// Healthy runs on their way through the moments of a group.
#[derive(Default)]
struct Walking {
    /// With the whole table, and the rows that have acted in it so far.
    whole: Option<(Simulation, RowSet)>,
    /// Without a row that acted in it before the moment.
    without: BTreeMap<RowId, Simulation>,
}

impl Walking {
    /// A copy of the healthy run at `t` s, which may not go back, and what has acted until then.
    fn fork(&mut self, ground: &Ground, t: f64) -> Result<(Simulation, RowSet), RunError> {
        let (run, acted) = match &mut self.whole {
            Some(walking) => walking,
            none => none.insert((ground.begin(None)?, RowSet::NONE)),
        };
        while run.time() < t - 1e-6 && run.step()? == Stand::Running {
            *acted = acted.or(acting(run));
        }
        *acted = acted.or(acting(run));
        Ok((run.fork(), *acted))
    }

    /// The same without a row.
    fn fork_without(&mut self, ground: &Ground, t: f64, row: RowId) -> Result<Simulation, RunError> {
        let (mut whole, acted) = self.fork(ground, t)?;
        if !acted.has(row) {
            whole.leave_out(RowSet::one(row));
            return Ok(whole);
        }
        let run = match self.without.entry(row) {
            Entry::Occupied(walking) => walking.into_mut(),
            Entry::Vacant(free) => free.insert(ground.begin(Some(row))?),
        };
        while run.time() < t - 1e-6 && run.step()? == Stand::Running {}
        Ok(run.fork())
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
        // What a fault's own scenario asks for is asked of the core.
        let looked_into = plan.controller.is_none();
        let budgets = Reacts::of_all(plan.ways.iter().map(|way| way.planned.id).chain(listed).filter(|_| looked_into));
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
        let tables = self.runs.tables();
        let blocks: Vec<&[Spec]> = specs.chunk_by(|a, b| a.index / tables == b.index / tables).collect();
        let cases: Vec<Result<Case, Unrun>> =
            blocks.iter().filter_map(|block| block.first()).map(|spec| self.case(spec, &ground)).collect();
        let moment =
            |at: &usize| cases.get(*at).and_then(|case| case.as_ref().ok()).and_then(|case| self.forks_at(case));
        let mut order: Vec<usize> = (0..blocks.len()).collect();
        order.sort_by(|a, b| moment(a).unwrap_or(0.0).total_cmp(&moment(b).unwrap_or(0.0)).then(a.cmp(b)));
        let mut found: Vec<Vec<Row>> = vec![Vec::new(); blocks.len()];
        let mut walking = Walking::default();
        for at in order {
            if stop.load(Ordering::Relaxed) {
                return Ok(None);
            }
            found[at] = self.block(blocks[at], &cases[at], &ground, &mut walking)?;
            blocks[at].iter().for_each(|_| each());
        }
        Ok(Some(found.into_iter().flatten().collect()))
    }

    /// Runs that differ by the interlock row that is left out.
    fn block(
        &self,
        specs: &[Spec],
        case: &Result<Case, Unrun>,
        ground: &Ground,
        walking: &mut Walking,
    ) -> Result<Vec<Row>, CampaignError> {
        let case = match case {
            Ok(case) => case,
            Err(why) => return Ok(specs.iter().map(|spec| Row::unrun(spec, self.runs.plan(), why)).collect()),
        };
        let mut before = RowSet::NONE;
        let whole = match self.forks_at(case) {
            Some(t) => walking.fork(ground, t).and_then(|(run, acted)| {
                before = acted;
                self.go(case, ground, (run, true))
            }),
            None => self.whole(case, ground, None),
        };
        let acted = whole.as_ref().map_or(RowSet::ALL, |course| before.or(course.acted));
        let mut rows = Vec::with_capacity(specs.len());
        for spec in specs {
            rows.push(match spec.without.filter(|row| acted.has(*row)) {
                None => self.row(spec, case, &whole)?,
                Some(row) => {
                    let course = match self.forks_at(case) {
                        Some(t) => {
                            walking.fork_without(ground, t, row).and_then(|run| self.go(case, ground, (run, true)))
                        }
                        None => self.whole(case, ground, Some(row)),
                    };
                    self.row(spec, case, &course)?
                }
            });
        }
        Ok(rows)
    }

    fn case(&self, spec: &Spec, ground: &Ground) -> Result<Case, Unrun> {
        if let Err(why) = &ground.scenario {
            return Err(Unrun::Refused(why.clone()));
        }
        Case::new(spec, self.runs.plan().heal, &mut || ground.line())
    }

    /// As [`Case::forks_at`]; another controller than the core begins anew in every run.
    fn forks_at(&self, case: &Case) -> Option<f64> {
        case.forks_at().filter(|_| self.runs.plan().controller.is_none())
    }

    fn whole(&self, case: &Case, ground: &Ground, without: Option<RowId>) -> Result<Course, RunError> {
        let faulted = Scenario { faults: case.faults.clone(), ..scenario(ground)?.clone() };
        if let Some(command) = &self.runs.plan().controller {
            return other::drive(command, case, &faulted, &ground.options);
        }
        self.go(case, ground, (Simulation::new(&faulted, &ground.left_out(without))?, false))
    }

    fn go(&self, case: &Case, ground: &Ground, run: (Simulation, bool)) -> Result<Course, RunError> {
        let reacts = match case.faults.as_slice() {
            [fault] => self.budgets.get(&fault.id),
            _ => None,
        };
        take_on(case, scenario(ground)?, run, self.runs.plan().heal, reacts)
    }

    fn row(&self, spec: &Spec, case: &Case, course: &Result<Course, RunError>) -> Result<Row, CampaignError> {
        match course {
            Ok(course) => Ok(Row::ran((spec, case), self.runs.plan(), course, &self.budgets)),
            Err(RunError::Fault(why)) => Ok(Row::unrun(spec, self.runs.plan(), &Unrun::Refused(why.clone()))),
            Err(other) => Err(CampaignError::Run(spec.index, other.to_string())),
        }
    }

    /// The faults of a run in words, each with when it comes; none where it is not run.
    pub fn words(&self, spec: &Spec) -> Option<Vec<String>> {
        self.case(spec, &self.ground(&spec.base)).ok().map(|case| case.words)
    }

    /// One run by itself, from its beginning and not from a fork: the same row.
    ///
    /// # Errors
    /// It failed for a reason of ours.
    pub fn alone(&self, spec: &Spec) -> Result<Row, CampaignError> {
        let ground = self.ground(&spec.base);
        match self.case(spec, &ground) {
            Err(why) => Ok(Row::unrun(spec, self.runs.plan(), &why)),
            Ok(case) => self.row(spec, &case, &self.whole(&case, &ground, spec.without)),
        }
    }
}

/// The scenario of a ground that a case was made on: it reads.
fn scenario(ground: &Ground) -> Result<&Scenario, RunError> {
    ground.scenario.as_ref().map_err(|why| RunError::Fault(why.clone()))
}
