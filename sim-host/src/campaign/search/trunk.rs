//! Runs of recipes, each forked from the run that it shares its beginning with: the healthy job to its first fault, and from there on the
//! run with those faults that came before its next.
//!
//! Promises: what a recipe comes to depends on the recipe alone, whatever was run beside it.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering};
use std::sync::mpsc;

use super::ground::Ground;
use super::looker::{Looker, Outcome};
use super::mark::Mark;
use super::recipe::Recipe;
use crate::run::{RunError, Simulation, Stand};

/// The healthy job with copies of it along its way.
pub struct Trunk<'a> {
    ground: &'a Ground,
    /// Copies, by their scans.
    copies: Vec<(Simulation, Looker)>,
    /// Scans that were made of the healthy job, and of runs on the way to their second fault.
    walked: AtomicU64,
    /// What it came to.
    pub healthy: Outcome,
}

/// Scans between two copies (own choice: some hundred copies of a job).
const APART: u64 = 200;

impl<'a> Trunk<'a> {
    /// Runs the healthy job once.
    ///
    /// # Errors
    /// As [`Simulation::new`].
    pub fn grow(ground: &'a Ground) -> Result<Self, RunError> {
        let (mut run, mut looker) = (ground.begin()?, Looker::new());
        let mut copies = vec![(run.fork(), looker.clone())];
        while looker.step(&mut run)? {
            if run.scans().is_multiple_of(APART) {
                copies.push((run.fork(), looker.clone()));
            }
        }
        let walked = AtomicU64::new(run.scans());
        Ok(Self { ground, copies, walked, healthy: looker.outcome(&run) })
    }

    /// Scans that were made beside those of the runs themselves.
    pub fn walked(&self) -> u64 {
        self.walked.load(Ordering::Relaxed)
    }

    /// Goes on to this scan; whether it came there.
    fn walk(&self, run: &mut Simulation, looker: &mut Looker, scan: u64) -> Result<bool, RunError> {
        let from = run.scans();
        let mut goes = true;
        while goes && run.scans() < scan {
            goes = looker.step(run)?;
        }
        self.walked.fetch_add(run.scans() - from, Ordering::Relaxed);
        Ok(goes && run.stand() == Stand::Running)
    }

    /// The healthy job before this scan; none where it is over by then.
    fn at(&self, scan: u64) -> Result<Option<(Simulation, Looker)>, RunError> {
        let before = self.copies.partition_point(|(run, _)| run.scans() <= scan);
        let Some((run, looker)) = before.checked_sub(1).and_then(|at| self.copies.get(at)) else { return Ok(None) };
        let (mut run, mut looker) = (run.fork(), looker.clone());
        let there = self.walk(&mut run, &mut looker, scan)?;
        Ok(there.then_some((run, looker)))
    }

    /// Runs recipes of one fault or more in so many threads; `each` hears how many are done. In their order; none where `stop` was set before.
    ///
    /// # Errors
    /// A run failed for a reason of ours.
    pub fn run(
        &self,
        recipes: &[Recipe],
        threads: usize,
        stop: &AtomicBool,
        each: &mut dyn FnMut(usize),
    ) -> Result<Vec<Option<Outcome>>, RunError> {
        let mut order: Vec<usize> = (0..recipes.len()).collect();
        order.sort_by(|a, b| recipes[*a].cmp(&recipes[*b]).then(a.cmp(b)));
        let groups: Vec<&[usize]> = order.chunk_by(|a, b| recipes[*a].0.first() == recipes[*b].0.first()).collect();
        let (next, (tell, hear)) = (AtomicUsize::new(0), mpsc::channel());
        let mut found: Vec<Option<Outcome>> = vec![None; recipes.len()];
        std::thread::scope(|scope| {
            for _ in 0..threads.max(1) {
                let (tell, next, groups) = (tell.clone(), &next, &groups);
                scope.spawn(move || {
                    while !stop.load(Ordering::Relaxed) {
                        let Some(group) = groups.get(next.fetch_add(1, Ordering::Relaxed)) else { return };
                        let mut put = |at: usize, one: Outcome| drop(tell.send(Ok((at, one))));
                        if let Err(why) = self.group(recipes, group, stop, &mut put) {
                            // Who listens goes only when all is done.
                            drop(tell.send(Err(why)));
                            return;
                        }
                    }
                });
            }
            drop(tell);
            let (mut done, mut first) = (0, Ok(()));
            while let Ok(told) = hear.recv() {
                match told {
                    Ok((at, one)) => {
                        done += 1;
                        found[at] = Some(one);
                        each(done);
                    }
                    Err(why) if first.is_ok() => first = Err(why),
                    Err(_) => {}
                }
            }
            first
        })?;
        Ok(found)
    }

    /// Recipes with the same first fault: its run is walked once.
    fn group(
        &self,
        recipes: &[Recipe],
        group: &[usize],
        stop: &AtomicBool,
        put: &mut dyn FnMut(usize, Outcome),
    ) -> Result<(), RunError> {
        let first = group.first().and_then(|at| recipes[*at].0.first());
        let Some((way, scan)) = first else { return Ok(()) };
        let Some((mut run, mut looker)) = self.at(*scan)? else {
            // The job was over before the fault: it is no run.
            group.iter().for_each(|at| put(*at, Outcome::default()));
            return Ok(());
        };
        self.inject(&mut run, &mut looker, *way, *scan)?;
        self.branch((run, looker), (recipes, group, 1), stop, put)
    }

    /// Recipes whose first so many faults are the same and were let into this run.
    fn branch(
        &self,
        (mut run, mut looker): (Simulation, Looker),
        (recipes, group, depth): (&[Recipe], &[usize], usize),
        stop: &AtomicBool,
        put: &mut dyn FnMut(usize, Outcome),
    ) -> Result<(), RunError> {
        let mut next: BTreeMap<(u64, usize), Vec<usize>> = BTreeMap::new();
        let mut whole = Vec::new();
        for at in group {
            match recipes[*at].0.get(depth) {
                Some((way, scan)) => next.entry((*scan, *way)).or_default().push(*at),
                None => whole.push(*at),
            }
        }
        let mut goes = true;
        for ((scan, way), part) in next {
            if stop.load(Ordering::Relaxed) {
                return Ok(());
            }
            goes = goes && self.walk(&mut run, &mut looker, scan)?;
            if !goes {
                // The job was over before the next fault: it is the run with those that came.
                part.iter().for_each(|at| put(*at, looker.outcome(&run)));
                continue;
            }
            let (mut fork, mut own) = (run.fork(), looker.clone());
            self.inject(&mut fork, &mut own, way, scan)?;
            self.branch((fork, own), (recipes, &part, depth + 1), stop, put)?;
        }
        if !whole.is_empty() {
            while goes && looker.step(&mut run)? {}
            let outcome = looker.outcome(&run);
            whole.into_iter().for_each(|at| put(at, outcome.clone()));
        }
        Ok(())
    }

    fn inject(&self, run: &mut Simulation, looker: &mut Looker, way: usize, scan: u64) -> Result<(), RunError> {
        if let Some(planned) = self.ground.planned(way, scan) {
            run.inject(&planned)?;
        }
        looker.faulted(run);
        Ok(())
    }
}

impl Outcome {
    /// Its marks, each with the scan from which on the run may branch there.
    pub fn marks(&self) -> impl Iterator<Item = (&Mark, u64)> {
        self.seen.iter().map(|(mark, scan)| (mark, *scan))
    }
}
