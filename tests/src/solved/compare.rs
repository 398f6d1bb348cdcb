//! Lays our rows beside those of a reference.
//!
//! Rows are matched by step and time within it, so that an event some milliseconds early does not read as a deviation of everything after
//! it; the last row of a step is matched with the last, and the times of the events are compared on their own. Between rows of ours a
//! straight line is drawn, which matters only where a reference has a row at an event inside a step.

use std::ops::Range;

use valvewright_sim::plant::rig::{RigSeries, Row};

use super::reference::{Reference, spans};
use super::{Case, Except, Found, Moment, Point, Quantity, Scale, Solved};

/// Times closer than this are the same, s; references print seven digits and more.
const SAME: f64 = 2e-3;

pub(super) fn compare(case: &Case, series: &RigSeries, reference: &Reference) -> Result<Solved, String> {
    let pairs = Pairs::new(case, series, reference)?;
    let mut solved = Solved {
        case: case.name.to_owned(),
        head: reference.head.clone(),
        rows: pairs.rows.len(),
        wanted: reference.rows.len(),
        steps: [series.steps.accepted, series.steps.rejected],
        seconds: series.seconds,
        mass_balance: series.balance.mass_error_kg.abs() / series.balance.start_kg.max(1e-3),
        energy_balance: series.balance.energy_error_j.abs() / series.balance.energy_scale_j.max(1.0),
        moments: pairs.ends.clone(),
        ..Solved::default()
    };
    for quantity in case.quantities {
        solved.quantities.extend(found(quantity, series, reference, &pairs.rows)?);
    }
    if let Some((column, signal, allowed)) = case.freezing {
        let (at, track) = (reference.column(column)?, sum(series, signal)?);
        let clock = reference.column("t_s")?;
        let theirs = passes_zero(reference.rows.iter().map(|row| (row.1[clock], row.1[at])));
        let ours = passes_zero(series.rows.iter().zip(&track).map(|(row, value)| (row.time, *value)));
        let limit = allowed.seconds(theirs);
        solved.moments.push(Moment { name: "first ice".to_owned(), theirs, ours, limit });
    }
    Ok(solved)
}

/// A row of theirs and what it is compared with.
struct Pair {
    theirs: usize,
    ours: Place,
    first: bool,
}

/// Between which of our rows, and how far from the first to the second.
#[derive(Clone, Copy)]
struct Place {
    row: usize,
    next: usize,
    share: f64,
}

struct Pairs {
    rows: Vec<Pair>,
    ends: Vec<Moment>,
}

impl Pairs {
    fn new(case: &Case, series: &RigSeries, reference: &Reference) -> Result<Self, String> {
        let mut made = Self { rows: Vec::new(), ends: Vec::new() };
        let Ok(clock) = reference.column("t_s") else {
            if reference.rows.len() != series.rows.len() {
                return Err(format!("{} rows, {} in the reference", series.rows.len(), reference.rows.len()));
            }
            let at = |row| Pair { theirs: row, ours: Place { row, next: row, share: 0.0 }, first: false };
            made.rows.extend((0..reference.rows.len()).map(at));
            return Ok(made);
        };
        // A reference without a phase column holds one step.
        let theirs = reference.steps();
        let named = theirs.iter().any(|step| !step.0.is_empty());
        let ours = spans(series.rows.iter().map(|row| if named { row.phase.as_str() } else { "" }));
        if theirs.iter().map(|step| &step.0).ne(ours.iter().map(|step| &step.0)) {
            return Err(format!("steps differ, {} here and {} in the reference", ours.len(), theirs.len()));
        }
        let time = |row: usize| reference.rows[row].1[clock];
        for ((name, there), (_, here)) in theirs.iter().zip(&ours) {
            let (start, origin) = (time(there.start), series.rows[here.start].time);
            let (end, limit) = (time(there.end - 1), case.end.seconds(time(there.end - 1)));
            let ended = series.rows[here.end - 1].time;
            let what = if name.is_empty() { "end".to_owned() } else { format!("end of {name}") };
            made.ends.push(Moment { name: what, theirs: end, ours: ended, limit });
            for row in there.clone() {
                let last = row + 1 == there.end;
                let place = if last {
                    Some(Place { row: here.end - 1, next: here.end - 1, share: 0.0 })
                } else {
                    place(series, here.clone(), origin + time(row) - start)
                };
                let first = row == there.start;
                made.rows.extend(place.map(|ours| Pair { theirs: row, ours, first }));
            }
        }
        Ok(made)
    }
}

/// Where a time lies among our rows of a step; nowhere if the step had ended by then.
fn place(series: &RigSeries, rows: Range<usize>, time: f64) -> Option<Place> {
    let next = rows.start + series.rows[rows.clone()].partition_point(|row| row.time < time - SAME);
    let found = series.rows.get(next).filter(|_| next < rows.end)?;
    if found.time <= time + SAME || next == rows.start {
        return Some(Place { row: next, next, share: 0.0 });
    }
    let before = series.rows[next - 1].time;
    Some(Place { row: next - 1, next, share: (time - before) / (found.time - before) })
}

/// The sum of signals `a + b`, row by row.
fn sum(series: &RigSeries, signal: &str) -> Result<Vec<f64>, String> {
    let mut total = vec![0.0; series.rows.len()];
    for name in signal.split('+').map(str::trim) {
        let at = series.column(name).ok_or_else(|| format!("the rig has no signal {name}"))?;
        for (total, row) in total.iter_mut().zip(&series.rows) {
            *total += row.values[at];
        }
    }
    Ok(total)
}

fn found(
    quantity: &Quantity,
    series: &RigSeries,
    reference: &Reference,
    pairs: &[Pair],
) -> Result<Option<Found>, String> {
    let column = reference.column(quantity.column)?;
    let wanted = |pair: &Pair| reference.rows[pair.theirs].1[column];
    // A dry volume has neither pool nor oil; the reference then writes zero or nothing.
    if pairs.iter().all(|pair| wanted(pair) == 0.0 || wanted(pair).is_nan()) && sum(series, quantity.signal).is_err() {
        return Ok(None);
    }
    let track = sum(series, quantity.signal)?;
    let scaling = match quantity.scale {
        Scale::Signal(name) => Some(sum(series, name)?),
        _ => None,
    };
    let guard = match quantity.except {
        Except::Below(name, least) => Some((sum(series, name)?, least)),
        _ => None,
    };
    let read = |track: &[f64], place: Place| {
        let (from, to) = (track[place.row], track[place.next]);
        if place.share == 0.0 { from } else { from + place.share * (to - from) }
    };
    let largest = pairs.iter().map(|pair| wanted(pair).abs()).fold(0.0, f64::max);
    let clock = reference.column("t_s").ok();
    let mut points = Vec::with_capacity(pairs.len());
    for pair in pairs {
        let below = guard.as_ref().is_some_and(|(track, least)| read(track, pair.ours) < *least);
        if below || (quantity.except == Except::First && pair.first) {
            continue;
        }
        let (theirs, ours) = (wanted(pair), read(&track, pair.ours));
        let scale = match quantity.scale {
            Scale::Itself => theirs.abs(),
            Scale::Signal(_) => scaling.as_ref().map_or(theirs, |track| read(track, pair.ours)).abs(),
            Scale::Largest => largest,
            Scale::Fixed(amount) => amount,
        };
        let deviation = (ours - theirs) / scale.max(1e-12);
        let deviation = if deviation.is_nan() { f64::INFINITY } else { deviation };
        let time = clock.map_or(0.0, |at| reference.rows[pair.theirs].1[at]);
        points.push(Point { time, theirs, ours, deviation });
    }
    let counts = |row: usize| guard.as_ref().is_none_or(|(track, least)| track[row] >= *least);
    let shown = |(at, row): (usize, &Row)| (row.time, if counts(at) { track[at] } else { f64::NAN });
    let line = series.rows.iter().enumerate().map(shown).collect();
    Ok(Some(Found { quantity: *quantity, points, line }))
}

/// When a falling temperature reaches 0 degC, s: the last two rows above it, prolonged. A wall rests there while its water freezes, so the
/// rows after say little.
fn passes_zero(track: impl Iterator<Item = (f64, f64)>) -> f64 {
    let mut before: Option<(f64, f64)> = None;
    let mut last: Option<(f64, f64)> = None;
    for (time, value) in track {
        if value <= 0.0 {
            return match (before, last) {
                (Some((t0, v0)), Some((t1, v1))) if v0 > v1 => (t1 + v1 * (t1 - t0) / (v0 - v1)).min(time),
                _ => time,
            };
        }
        // The end of a step and the start of the next are one moment.
        if last.is_none_or(|(t, _)| time > t) {
            before = last;
            last = Some((time, value));
        }
    }
    f64::NAN
}
