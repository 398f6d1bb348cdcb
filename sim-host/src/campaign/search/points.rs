//! How far each set point of the interlock table can move to its dangerous side before a hazard comes about that does not come about with the
//! table as it is: the same job and faults each time, the moved figure alone being another.
//!
//! Promises: each answer is a bracket, the furthest figure tried at which nothing worse came and the nearest at which something did, with the
//! command that has it again; where nothing comes even with the row's cause out of reach, that is said. True of these runs alone.

use std::sync::atomic::{AtomicBool, Ordering};

use serde::Serialize;
use valvewright_core::interlock::table::{Level, ROWS, Side};

use super::ground::Ground;
use super::stems::{Came, Case, HEALTHY, Stems, spread};
use crate::campaign::moments::moments;
use crate::hazard::Id;
use crate::matrix::points::{self, Point};
use crate::run::RunError;

/// Halvings between the table's figure and the one out of reach: the bracket is a 64th of that distance.
const HALVINGS: u32 = 6;
/// Moments of each step that are looked at, of which those within the step are taken.
const EACH: usize = 3;
/// Margin at which a hazard is at its alert level, and at its accident level.
const ALERT: f64 = 0.5;
const ACCIDENT: f64 = 0.0;
/// By how much a margin must be less to count as worse: what noise of another way makes of it (own choice).
const WORSE: f64 = 0.02;

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
/// As [`crate::run::Simulation::new`].
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
    let mut cases: Vec<Case> = vec![HEALTHY];
    cases.extend(scans.iter().flat_map(|scan| (0..ground.ways.len()).map(move |way| (Some(way), *scan))));
    let stems = Stems::grow(ground, &scans)?;
    let with = |case: &Case, point: Option<(&Point, f64)>| {
        stems.run(*case, &|run| {
            if let Some((point, at)) = point
                && let Some(by) = point.by(at)
            {
                run.move_set_point(point.watch, by);
            }
        })
    };
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
