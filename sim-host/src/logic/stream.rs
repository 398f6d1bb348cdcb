//! A formula as a row of small machines, each fed by the ones before it: a sample goes in, and each value comes out once, in order,
//! as soon as it is known. What looks ahead without bound knows its values when the run is over.

use super::degree::{Degree, Point};
use super::formula::Formula;
use super::runs::Join;
use super::window::{Ahead, Back, Beyond, Since, Steps, Until};

/// A machine; those that feed it are named by their place in the row.
#[derive(Clone, Debug)]
enum Machine {
    Atom(usize),
    Not(usize),
    Pair {
        of: (usize, usize),
        most: bool,
        join: Join,
    },
    Implies {
        of: (usize, usize),
        join: Join,
    },
    Ahead(usize, Ahead),
    Back(usize, Back),
    Until {
        of: (usize, usize),
        join: Join,
        window: Box<Until>,
    },
    Since {
        of: (usize, usize),
        join: Join,
        window: Box<Since>,
    },
    /// Over all that was so far.
    SoFar {
        of: usize,
        most: bool,
        value: Point,
    },
    SinceStart {
        of: (usize, usize),
        join: Join,
        value: Point,
    },
    /// Over all that comes.
    ToEnd {
        of: usize,
        most: bool,
        kept: Vec<(Point, u32)>,
    },
    UntilEnd {
        of: (usize, usize),
        join: Join,
        kept: Vec<(Point, Point, u32)>,
    },
}

/// A machine and what it gave last.
#[derive(Clone, Debug)]
struct Place {
    machine: Machine,
    /// It counts by its contrary in the whole.
    contrary: bool,
    out: Option<Point>,
}

/// The machines of a formula, or of several that share a row.
#[derive(Clone, Debug, Default)]
pub struct Row {
    places: Vec<Place>,
}

/// A span that lies between two scans: in it nothing would ever be looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BetweenScans(pub super::formula::Span);

impl Row {
    /// Adds the machines of a formula, for scans of this period, s; the place of the last one.
    pub fn add(&mut self, formula: &Formula, period: f64, contrary: bool) -> Result<usize, BetweenScans> {
        let steps = formula.span().map(|span| Steps::of(span, period).ok_or(BetweenScans(span))).transpose()?;
        let first_contrary = match formula {
            Formula::Not(_) | Formula::Implies(..) => !contrary,
            _ => contrary,
        };
        let mut places = Vec::new();
        for (at, part) in formula.parts().into_iter().enumerate() {
            places.push(self.add(part, period, if at == 0 { first_contrary } else { contrary })?);
        }
        let one = places.first().copied().unwrap_or_default();
        let of = (one, places.get(1).copied().unwrap_or_default());
        let join = Join::default();
        let machine = match (formula, steps) {
            (Formula::Atom(atom), _) => Machine::Atom(*atom),
            (Formula::Not(_), _) => Machine::Not(one),
            (Formula::And(..), _) => Machine::Pair { of, most: false, join },
            (Formula::Or(..), _) => Machine::Pair { of, most: true, join },
            (Formula::Implies(..), _) => Machine::Implies { of, join },
            (Formula::Always(..), Some(steps)) => Machine::Ahead(one, Ahead::new(steps, false)),
            (Formula::Eventually(..), Some(steps)) => Machine::Ahead(one, Ahead::new(steps, true)),
            (Formula::Historically(..), Some(steps)) => Machine::Back(one, Back::new(steps, false)),
            (Formula::Once(..), Some(steps)) => Machine::Back(one, Back::new(steps, true)),
            (Formula::Until(..), Some(steps)) => Machine::Until { of, join, window: Box::new(Until::new(steps)) },
            (Formula::Since(..), Some(steps)) => Machine::Since { of, join, window: Box::new(Since::new(steps)) },
            (Formula::Always(..), None) => Machine::ToEnd { of: one, most: false, kept: Vec::new() },
            (Formula::Eventually(..), None) => Machine::ToEnd { of: one, most: true, kept: Vec::new() },
            (Formula::Until(..), None) => Machine::UntilEnd { of, join, kept: Vec::new() },
            (Formula::Historically(..), None) => Machine::SoFar { of: one, most: false, value: Point::empty(false) },
            (Formula::Once(..), None) => Machine::SoFar { of: one, most: true, value: Point::empty(true) },
            (Formula::Since(..), None) => Machine::SinceStart { of, join, value: Point::empty(true) },
        };
        self.places.push(Place { machine, contrary, out: None });
        Ok(self.places.len() - 1)
    }

    /// One scan: what the atoms say goes through all machines.
    #[inline]
    pub fn step(&mut self, atoms: &[Point]) {
        for at in 0..self.places.len() {
            let (before, rest) = self.places.split_at_mut(at);
            let Some(place) = rest.first_mut() else { return };
            let given = |of: usize| before.get(of).and_then(|place| place.out);
            place.out = place.machine.take(atoms, given);
        }
    }

    /// What the machine of this place gave in the last scan.
    #[inline]
    pub fn given(&self, place: usize) -> Option<Point> {
        self.places.get(place).and_then(|place| place.out)
    }

    /// The place of the condition of an implication.
    pub fn condition(&self, place: usize) -> Option<usize> {
        match self.places.get(place)?.machine {
            Machine::Implies { of, .. } => Some(of.0),
            _ => None,
        }
    }

    /// What each machine did not give yet, the run being over.
    pub fn rest(&mut self, beyond: Beyond) -> Vec<Vec<Point>> {
        let mut all: Vec<Vec<Point>> = Vec::with_capacity(self.places.len());
        for place in &mut self.places {
            let mut out = Vec::new();
            let (first, second) = place.machine.fed_by();
            let list = |of: Option<usize>| of.and_then(|of| all.get(of)).map_or(&[][..], Vec::as_slice);
            let (first, second) = (list(first), list(second));
            for at in 0..first.len().max(second.len()) {
                let of = |list: &[Point]| list.get(at).copied();
                out.extend(place.machine.feed(of(first), of(second)));
            }
            place.machine.rest(beyond.degree(place.contrary), &mut out);
            all.push(out);
        }
        all
    }

    /// How many samples are kept by all machines.
    pub fn room(&self) -> usize {
        self.places.iter().map(|place| place.machine.room()).sum()
    }
}

impl Machine {
    const fn fed_by(&self) -> (Option<usize>, Option<usize>) {
        match self {
            Self::Atom(_) => (None, None),
            Self::Not(of) | Self::Ahead(of, _) | Self::Back(of, _) => (Some(*of), None),
            Self::SoFar { of, .. } | Self::ToEnd { of, .. } => (Some(*of), None),
            Self::Pair { of, .. }
            | Self::Implies { of, .. }
            | Self::Until { of, .. }
            | Self::Since { of, .. }
            | Self::SinceStart { of, .. }
            | Self::UntilEnd { of, .. } => (Some(of.0), Some(of.1)),
        }
    }

    #[inline]
    fn take(&mut self, atoms: &[Point], given: impl Fn(usize) -> Option<Point>) -> Option<Point> {
        if let Self::Atom(atom) = self {
            return atoms.get(*atom).copied();
        }
        let (first, second) = self.fed_by();
        self.feed(first.and_then(&given), second.and_then(&given))
    }

    #[inline]
    fn feed(&mut self, first: Option<Point>, second: Option<Point>) -> Option<Point> {
        match self {
            Self::Atom(_) => None,
            Self::Not(_) => first.map(Point::not),
            Self::Pair { most, join, .. } => join.push(first, second).map(|(a, b)| a.pick(b, *most)),
            Self::Implies { join, .. } => join.push(first, second).map(|(a, b)| b.most(a.not())),
            Self::Ahead(_, window) => window.push(first?),
            Self::Back(_, window) => first.map(|point| window.push(point)),
            Self::Until { join, window, .. } => {
                join.push(first, second).and_then(|(left, right)| window.push(left, right))
            }
            Self::Since { join, window, .. } => join.push(first, second).map(|(left, right)| window.push(left, right)),
            Self::SoFar { most, value, .. } => {
                *value = value.pick(first?, *most);
                Some(*value)
            }
            Self::SinceStart { join, value, .. } => {
                let (left, right) = join.push(first, second)?;
                *value = right.most(left.least(*value));
                Some(*value)
            }
            Self::ToEnd { kept, .. } => {
                let point = first?;
                match kept.last_mut() {
                    Some((last, count)) if last.degree == point.degree && last.atom == point.atom => *count += 1,
                    _ => kept.push((point, 1)),
                }
                None
            }
            Self::UntilEnd { join, kept, .. } => {
                let (left, right) = join.push(first, second)?;
                match kept.last_mut() {
                    Some((a, b, count)) if a.degree == left.degree && b.degree == right.degree => *count += 1,
                    _ => kept.push((left, right, 1)),
                }
                None
            }
        }
    }

    fn rest(&mut self, beyond: Option<Degree>, out: &mut Vec<Point>) {
        match self {
            Self::Ahead(_, window) => window.rest(beyond, out),
            Self::Until { window, .. } => window.rest(beyond, out),
            Self::ToEnd { most, kept, .. } => {
                let mut value = Point::empty(*most);
                for (point, count) in kept.drain(..).rev() {
                    value = point.pick(value, *most);
                    out.extend(std::iter::repeat_n(value, count as usize));
                }
                out.reverse();
            }
            Self::UntilEnd { kept, .. } => {
                let mut value = Point::empty(true);
                for (left, right, count) in kept.drain(..).rev() {
                    value = right.most(left.least(value));
                    out.extend(std::iter::repeat_n(value, count as usize));
                }
                out.reverse();
            }
            _ => {}
        }
    }

    fn room(&self) -> usize {
        match self {
            Self::Atom(_) | Self::Not(_) | Self::SoFar { .. } => 0,
            Self::Pair { join, .. } | Self::Implies { join, .. } | Self::SinceStart { join, .. } => join.room(),
            Self::Ahead(_, window) => window.room(),
            Self::Back(_, window) => window.room(),
            Self::Until { join, window, .. } => join.room() + window.room(),
            Self::Since { join, window, .. } => join.room() + window.room(),
            Self::ToEnd { kept, .. } => kept.len(),
            Self::UntilEnd { join, kept, .. } => join.room() + kept.len(),
        }
    }
}

/// The value of a formula in each scan of a run that is over: how far each atom holds in each scan is given, by the rule for finite runs.
///
/// # Errors
/// A span of the formula lies between two scans.
pub fn values(formula: &Formula, period: f64, margins: &[Vec<f64>]) -> Result<Vec<f64>, BetweenScans> {
    let mut row = Row::default();
    let place = row.add(formula, period, false)?;
    let mut out = Vec::new();
    for (at, scan) in margins.iter().enumerate() {
        let of = |(atom, margin): (usize, &f64)| Point {
            degree: Degree::of(*margin).unwrap_or(Degree::LEAST),
            at: at as u32,
            atom: atom as u32,
        };
        let points: Vec<Point> = scan.iter().enumerate().map(of).collect();
        row.step(&points);
        out.extend(row.given(place));
    }
    out.extend(row.rest(Beyond::Nothing).pop().unwrap_or_default());
    Ok(out.into_iter().map(|point| point.degree.get()).collect())
}
