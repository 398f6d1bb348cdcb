//! Which quantities of a case share a picture, in which unit, on which scale.

use valvewright_tests::solved::{Found, Kind, Solved};

/// Widest ratio of values drawn on even divisions; evacuation goes over more and gets decades.
const WIDE: f64 = 300.0;
/// Quantities that share a picture at most.
const MOST: usize = 5;

/// A picture.
pub struct Panel<'a> {
    /// What is drawn: `Pressure`.
    pub title: &'static str,
    /// Unit of the values.
    pub unit: &'static str,
    /// Decades instead of even divisions.
    pub logarithmic: bool,
    /// Name of the axis across.
    pub across: &'static str,
    /// The quantities.
    pub lines: Vec<Line<'a>>,
}

/// A quantity in a picture.
pub struct Line<'a> {
    /// Its values.
    pub found: &'a Found,
    /// Its name.
    pub name: &'static str,
    /// Reference: across and up, in the units of the picture.
    pub theirs: Vec<(f64, f64)>,
    /// Ours.
    pub ours: Vec<(f64, f64)>,
    /// Deviation in its unit.
    pub deviation: Vec<(f64, f64)>,
}

/// The pictures of a case: pressures, temperatures, masses and shares, apart where they would flatten each other.
pub fn panels(solved: &Solved) -> Vec<Panel<'_>> {
    let ends = solved.quantities.iter().filter_map(|found| found.points.last());
    let end = ends.map(|point| point.time).fold(0.0, f64::max);
    let kinds = [Kind::Pressure, Kind::Temperature, Kind::Mass, Kind::Share, Kind::Volume];
    let mut all = Vec::new();
    for kind in kinds {
        let of_kind: Vec<&Found> =
            solved.quantities.iter().filter(|one| one.quantity.kind() == kind && !one.points.is_empty()).collect();
        let alike = if matches!(kind, Kind::Mass | Kind::Share) { apart(of_kind) } else { vec![of_kind] };
        for group in alike.iter().flat_map(|group| group.chunks(MOST)) {
            all.push(panel(kind, group, end));
        }
    }
    all
}

fn range(found: &Found) -> (f64, f64) {
    let values = || found.points.iter().flat_map(|point| [point.theirs, point.ours]).filter(|value| value.is_finite());
    (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max))
}

/// Parts quantities whose ranges leave a gap twice as wide as what either spans: a vessel of 8 kg would flatten a charge of 500 g.
fn apart(mut all: Vec<&Found>) -> Vec<Vec<&Found>> {
    all.sort_by(|a, b| range(a).0.total_cmp(&range(b).0));
    let mut parts: Vec<(f64, f64, Vec<&Found>)> = Vec::new();
    for found in all {
        let (low, high) = range(found);
        match parts.last_mut() {
            Some((from, to, part)) if low - *to <= 2.0 * (*to - *from).max(high - low) => {
                *to = to.max(high);
                part.push(found);
            }
            _ => parts.push((low, high, vec![found])),
        }
    }
    parts.into_iter().rev().map(|part| part.2).collect()
}

fn panel<'a>(kind: Kind, group: &[&'a Found], end: f64) -> Panel<'a> {
    let largest = group.iter().map(|found| range(found)).fold(0.0, |most: f64, (low, high)| most.max(high).max(-low));
    let main = group.iter().max_by(|a, b| range(a).1.total_cmp(&range(b).1));
    let logarithmic = kind == Kind::Pressure && main.is_some_and(|found| falls_far(found));
    let (title, unit, factor) = match kind {
        Kind::Pressure if logarithmic || largest < 3e3 => ("Pressure", "Pa", 1.0),
        Kind::Pressure => ("Pressure", "kPa", 1e-3),
        Kind::Temperature => ("Temperature", "°C", 1.0),
        Kind::Mass if largest > 3.0 => ("Mass", "kg", 1.0),
        Kind::Mass if largest < 3e-3 => ("Mass", "mg", 1e6),
        Kind::Mass => ("Mass", "g", 1e3),
        Kind::Share => ("Purity", "kg/kg", 1.0),
        Kind::Volume => ("Volume", "mL", 1e6),
    };
    let (across, clock) = match end {
        0.0 => ("row", 1.0),
        _ if end > 900.0 => ("min", 1.0 / 60.0),
        _ => ("s", 1.0),
    };
    let line = |found: &&'a Found| {
        // A reference without time has rows only.
        let x = |at: usize, time: f64| if end == 0.0 { at as f64 + 1.0 } else { time * clock };
        let points = || found.points.iter().enumerate();
        let size = found.unit().0;
        Line {
            found,
            name: found.quantity.signal,
            theirs: points().map(|(at, point)| (x(at, point.time), point.theirs * factor)).collect(),
            ours: found.line.iter().enumerate().map(|(at, (time, value))| (x(at, *time), value * factor)).collect(),
            deviation: points().map(|(at, point)| (x(at, point.time), point.deviation * size)).collect(),
        }
    };
    Panel { title, unit, logarithmic, across, lines: group.iter().map(line).collect() }
}

/// Most values lie far below the largest.
fn falls_far(found: &Found) -> bool {
    let mut values: Vec<f64> = found.points.iter().map(|point| point.theirs).filter(|value| *value > 0.0).collect();
    values.sort_by(f64::total_cmp);
    match (values.get(values.len() / 2), values.last()) {
        (Some(middle), Some(largest)) => largest / middle > WIDE.sqrt(),
        _ => true,
    }
}
