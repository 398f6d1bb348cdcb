//! The healthy job at each scan in which a fault may come, and the runs that go out from there: one fault, one table, looked at to the end.
//!
//! Promises: what a run comes to depends on its case and its table alone, whatever was run beside it and in however many threads.

use std::collections::BTreeMap;
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use valvewright_core::row::{RowId, RowSet};
use valvewright_core::talk::Notice;

use super::ground::Ground;
use super::looker::Looker;
use crate::campaign::course::acting;
use crate::hazard::{HAZARD_COUNT, Id};
use crate::report::data::HazardLevel;
use crate::run::{RunError, Simulation};

/// A run: a way to fail, none for the healthy job, and the scan in which it comes.
pub type Case = (Option<usize>, u64);

/// The healthy job without a fault, from its beginning.
pub const HEALTHY: Case = (None, 0);

/// What came of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Came {
    /// How far each hazard came.
    pub levels: [HazardLevel; HAZARD_COUNT],
    /// Least margin of each hazard.
    pub worst: [f64; HAZARD_COUNT],
    /// Rows that tripped.
    pub rows: Vec<RowId>,
    /// Rows that stood, were latched or withheld something in a scan of it, the healthy job before its fault included.
    pub acted: RowSet,
    /// Digest of every frame and output.
    pub hash: String,
}

/// A run on its way.
#[derive(Clone)]
struct Stem {
    run: Simulation,
    looker: Looker,
    acted: RowSet,
}

impl Stem {
    fn step(&mut self) -> Result<bool, RunError> {
        let goes = self.looker.step(&mut self.run)?;
        self.acted = self.acted.or(acting(&self.run));
        Ok(goes)
    }

    fn fork(&self) -> Self {
        Self { run: self.run.fork(), looker: self.looker.clone(), acted: self.acted }
    }
}

/// The healthy job at some of its scans.
pub struct Stems<'a> {
    ground: &'a Ground,
    at: BTreeMap<u64, Stem>,
}

impl<'a> Stems<'a> {
    /// Runs it once to the last of these scans, which rise.
    ///
    /// # Errors
    /// As [`Simulation::new`].
    pub fn grow(ground: &'a Ground, scans: &[u64]) -> Result<Self, RunError> {
        let mut stem = Stem { run: ground.begin()?, looker: Looker::new(), acted: RowSet::NONE };
        let mut at = BTreeMap::from([(0, stem.fork())]);
        for scan in scans {
            while stem.run.scans() < *scan && stem.step()? {}
            if stem.run.scans() == *scan {
                at.insert(*scan, stem.fork());
            }
        }
        Ok(Self { ground, at })
    }

    /// One run, with what is done to it before its fault comes; nothing where the job is over by then.
    ///
    /// # Errors
    /// As [`Simulation::step`] and [`Simulation::inject`].
    pub fn run(&self, (way, scan): Case, alter: &dyn Fn(&mut Simulation)) -> Result<Option<Came>, RunError> {
        let Some(stem) = self.at.get(&scan) else { return Ok(None) };
        let mut stem = stem.fork();
        alter(&mut stem.run);
        if let Some(planned) = way.and_then(|way| self.ground.planned(way, scan)) {
            stem.run.inject(&planned)?;
            stem.looker.faulted(&stem.run);
        }
        while stem.step()? {}
        let Stem { run, looker, acted } = stem;
        let mut rows: Vec<RowId> = run
            .told_since(0)
            .iter()
            .filter_map(|(_, notice)| if let Notice::Tripped(row, _) = notice { Some(*row) } else { None })
            .collect();
        rows.sort_unstable();
        rows.dedup();
        let results = run.hazards().map(|all| all.results()).unwrap_or_default();
        let level = |id: Id| results.iter().find(|one| one.id == id.word()).map_or(HazardLevel::None, |one| one.level);
        let worst = looker.outcome(&run).worst;
        Ok(Some(Came { levels: Id::EVERY.map(level), worst, rows, acted, hash: run.hash() }))
    }
}

/// What one thread has: places of cases, and what came of each.
type Part<T> = Vec<(usize, Option<T>)>;

/// The cases shared out among threads, the answers in their order; none for those that were not begun when `stop` was set.
///
/// # Errors
/// That of the first case that has one.
pub fn spread<T: Clone + Send>(
    cases: &[Case],
    threads: usize,
    stop: &AtomicBool,
    tell: &(dyn Fn(usize, usize) + Sync),
    work: &(dyn Fn(&Case) -> Result<Option<T>, RunError> + Sync),
) -> Result<Vec<Option<T>>, RunError> {
    let next = AtomicUsize::new(0);
    let worker = || {
        let mut done = Part::new();
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some(case) = cases.get(at).filter(|_| !stop.load(Ordering::Relaxed)) else { return Ok(done) };
            tell(at, cases.len());
            done.push((at, work(case)?));
        }
    };
    let all: Vec<Result<Part<T>, RunError>> = std::thread::scope(|scope| {
        let running: Vec<_> = (0..threads.max(1)).map(|_| scope.spawn(worker)).collect();
        // Runs that nobody made must not be missing in silence: a thread that ended badly ends this one.
        running.into_iter().map(|one| one.join().unwrap_or_else(|bad| resume_unwind(bad))).collect()
    });
    let mut found = vec![None; cases.len()];
    for part in all {
        for (at, came) in part? {
            found[at] = came;
        }
    }
    Ok(found)
}
