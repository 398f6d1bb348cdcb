//! How far each set point of the interlock table can move to its dangerous side before a hazard comes about that does not come about with the
//! table as it is: the same job and faults each time, the moved figure alone being another.
//!
//! Promises: each answer is a bracket, the furthest figure tried at which nothing worse came and the nearest at which something did, with the
//! command that has it again; where nothing comes even with the row's cause out of reach, that is said. True of these runs alone.

use std::collections::BTreeMap;
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use serde::Serialize;
use valvewright_core::interlock::table::{Level, ROWS, Side};
use valvewright_core::row::RowId;
use valvewright_core::talk::Notice;

use super::ground::Ground;
use super::looker::Looker;
use crate::campaign::moments::moments;
use crate::hazard::{HAZARD_COUNT, Id};
use crate::matrix::points::{self, Point};
use crate::run::{RunError, Simulation};

/// Halvings between the table's figure and the one out of reach: the bracket is a 64th of that distance.
const HALVINGS: u32 = 6;
/// Moments of each step that are looked at, of which those within the step are taken.
const EACH: usize = 3;
/// Margin at which a hazard is at its alert level, and at its accident level.
const ALERT: f64 = 0.5;
const ACCIDENT: f64 = 0.0;
/// By how much a margin must be less to count as worse: what noise of another way makes of it (own choice).
const WORSE: f64 = 0.02;

/// What came of a run: the least margin of each hazard, and the rows that tripped.
#[derive(Clone)]
struct Came {
    worst: [f64; HAZARD_COUNT],
    rows: Vec<RowId>,
}

/// A hazard that came about where the set point lay too far.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Worse {
    /// The hazard.
    pub hazard: &'static str,
    /// At its accident level; at its alert level otherwise.
    pub accident: bool,
    /// Its least margin, and what that was with the table as it is.
    pub margin: f64,
    /// With the table as it is.
    pub before: f64,
    /// The nearest figure at which it came.
    pub at: f64,
    /// The command that has it again.
    pub replay: String,
}

/// A set point and how far it can move.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reach {
    /// Its row.
    pub row: &'static str,
    /// Its name.
    pub name: String,
    /// Its unit.
    pub unit: &'static str,
    /// Where the table has it.
    pub table: f64,
    /// A figure that its reading never comes to.
    pub far: f64,
    /// Runs in which its row tripped; the others do not depend on it.
    pub runs: usize,
    /// The furthest figure tried at which nothing worse came; `far` where nothing came at all.
    pub safe: f64,
    /// What came beyond that.
    pub worse: Option<Worse>,
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reaches {
    /// Runs with the table as it is, and in all.
    pub base: usize,
    /// In all.
    pub runs: usize,
    /// Each set point, in the order of the table.
    pub points: Vec<Reach>,
    /// It was broken off.
    pub partial: bool,
}

/// A run: a way to fail, none for the healthy job, and the scan in which it comes.
type Case = (Option<usize>, u64);

/// A figure of the unit of a level that no reading comes to, on the dangerous side (own choice, beyond the ranges of design section 3).
fn far(point: &Point) -> f64 {
    let mut conditions = ROWS.iter().flat_map(|row| row.causes.iter());
    let level = conditions.find(|one| one.watch == point.watch).map(|one| (one.trip, one.watch.side()));
    match level {
        Some((_, Side::Low)) => match point.unit {
            "bar" => -1.0,
            _ => 0.0,
        },
        Some((Level::Pressure(_) | Level::OverBarometer(_), _)) => 40.0,
        Some((Level::Temperature(_), _)) => 400.0,
        Some((Level::Gas(_), _)) => 200.0,
        Some((Level::FillShare(_), _)) => 300.0,
        _ => point.table * 10.0,
    }
}

/// Looks how far each goes.
///
/// # Errors
/// As [`Simulation::new`].
pub fn reaches(
    ground: &Ground,
    threads: usize,
    stop: &AtomicBool,
    tell: &(dyn Fn(usize, usize) + Sync),
) -> Result<Reaches, RunError> {
    let mut scans: Vec<u64> = moments(&ground.scenario, EACH)?
        .iter()
        .filter(|one| one.share > 0.0 && one.share < 1.0)
        .map(|one| (one.t_s / ground.scan_s()).round() as u64)
        .collect();
    scans.sort_unstable();
    scans.dedup();
    let mut cases: Vec<Case> = vec![(None, 0)];
    cases.extend(scans.iter().flat_map(|scan| (0..ground.ways.len()).map(move |way| (Some(way), *scan))));
    let starts = starts(ground, &scans)?;
    let with = |case: &Case, point: Option<(&Point, f64)>| one(ground, &starts, *case, point);
    let base = spread(&cases, threads, stop, tell, &|case| with(case, None))?;
    let mut runs = base.len();
    let mut found = Vec::new();
    for point in points::all() {
        if stop.load(Ordering::Relaxed) {
            break;
        }
        let own: Vec<(Case, Came)> = cases
            .iter()
            .zip(&base)
            .filter_map(|(case, came)| {
                came.as_ref().filter(|came| came.rows.contains(&point.row)).map(|came| (*case, came.clone()))
            })
            .collect();
        let mut tried = |at: f64| -> Result<Option<Worse>, RunError> {
            let list: Vec<Case> = own.iter().map(|(case, _)| *case).collect();
            let came = spread(&list, threads, stop, &|_, _| {}, &|case| with(case, Some((&point, at))))?;
            runs += list.len();
            Ok(worst(ground, &point, at, own.iter().zip(came)))
        };
        let reach = reach(&point, own.len(), &mut tried)?;
        if stop.load(Ordering::Relaxed) {
            // Runs of it were left out: what they would have said is not known, and silence is no "nothing worse".
            break;
        }
        found.push(reach);
        tell(found.len(), 0);
    }
    Ok(Reaches { base: base.len(), runs, points: found, partial: stop.load(Ordering::Relaxed) })
}

/// Halves the way between the table's figure and the one out of reach.
fn reach(
    point: &Point,
    runs: usize,
    tried: &mut dyn FnMut(f64) -> Result<Option<Worse>, RunError>,
) -> Result<Reach, RunError> {
    let far = far(point);
    let mut made = Reach {
        row: point.row.as_str(),
        name: point.name(),
        unit: point.unit,
        table: point.table,
        far,
        runs,
        safe: far,
        worse: None,
    };
    let Some(mut worse) = tried(far)? else { return Ok(made) };
    let (mut safe, mut bad) = (0.0_f64, 1.0_f64);
    for _ in 0..HALVINGS {
        let half = 0.5 * (safe + bad);
        match tried(point.table + half * (far - point.table))? {
            // The level that comes far off is the one that is asked for: an alert on the way to an accident is nothing yet.
            Some(found) if found.accident || !worse.accident => (bad, worse) = (half, found),
            _ => safe = half,
        }
    }
    made.safe = point.table + safe * (far - point.table);
    made.worse = Some(worse);
    Ok(made)
}

/// The worst of what came worse than with the table as it is.
fn worst<'a>(
    ground: &Ground,
    point: &Point,
    at: f64,
    runs: impl Iterator<Item = (&'a (Case, Came), Option<Came>)>,
) -> Option<Worse> {
    let mut found: Option<Worse> = None;
    for (((way, scan), before), came) in runs.filter_map(|(own, came)| came.map(|came| (own, came))) {
        for (id, (now, was)) in Id::EVERY.iter().zip(came.worst.iter().zip(&before.worst)) {
            let falls = |level: f64| *now <= level && *was > level && was - now > WORSE;
            let accident = falls(ACCIDENT);
            let better = found.as_ref().is_none_or(|one| (accident, -now) > (one.accident, -one.margin));
            if (accident || falls(ALERT)) && better {
                let faults: Vec<String> = way.iter().map(|way| ground.words(*way, *scan)).collect();
                let replay = format!("{} --set-point {}={at}", ground.replay(&faults), point.name());
                found = Some(Worse { hazard: id.word(), accident, margin: *now, before: *was, at, replay });
            }
        }
    }
    found
}

/// The healthy job at each of these scans.
fn starts(ground: &Ground, scans: &[u64]) -> Result<BTreeMap<u64, (Simulation, Looker)>, RunError> {
    let (mut run, mut looker) = (ground.begin()?, Looker::new());
    let mut all = BTreeMap::from([(0, (run.fork(), looker.clone()))]);
    for scan in scans {
        while run.scans() < *scan && looker.step(&mut run)? {}
        if run.scans() == *scan {
            all.insert(*scan, (run.fork(), looker.clone()));
        }
    }
    Ok(all)
}

/// One run; nothing where the job is over before its fault.
fn one(
    ground: &Ground,
    starts: &BTreeMap<u64, (Simulation, Looker)>,
    (way, scan): Case,
    moved: Option<(&Point, f64)>,
) -> Result<Option<Came>, RunError> {
    let Some((run, looker)) = starts.get(&scan) else { return Ok(None) };
    let (mut run, mut looker) = (run.fork(), looker.clone());
    if let Some((point, at)) = moved
        && let Some(by) = point.by(at)
    {
        run.move_set_point(point.watch, by);
    }
    if let Some(planned) = way.and_then(|way| ground.planned(way, scan)) {
        run.inject(&planned)?;
        looker.faulted(&run);
    }
    while looker.step(&mut run)? {}
    let mut rows: Vec<RowId> = run
        .told_since(0)
        .iter()
        .filter_map(|(_, notice)| if let Notice::Tripped(row, _) = notice { Some(*row) } else { None })
        .collect();
    rows.sort_unstable();
    rows.dedup();
    Ok(Some(Came { worst: looker.outcome(&run).worst, rows }))
}

/// What one thread has: places of cases, and what came of each.
type Part = Vec<(usize, Option<Came>)>;

/// The cases shared out among threads, the answers in their order.
fn spread(
    cases: &[Case],
    threads: usize,
    stop: &AtomicBool,
    tell: &(dyn Fn(usize, usize) + Sync),
    work: &(dyn Fn(&Case) -> Result<Option<Came>, RunError> + Sync),
) -> Result<Vec<Option<Came>>, RunError> {
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
    let all: Vec<Result<Part, RunError>> = std::thread::scope(|scope| {
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
