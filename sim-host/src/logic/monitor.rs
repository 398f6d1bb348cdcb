//! A formula held against a run while it runs: what is asked is its value in the first scan. Operators that stand at the start of the formula
//! need one number, whatever they look over; those under them are a [`Row`].

use super::degree::{Degree, Point};
use super::formula::Formula;
use super::runs::Join;
use super::stream::{BetweenScans, Row};
use super::window::{Beyond, Steps};

/// What is looked for in the first scan alone.
#[derive(Clone, Debug)]
enum Anchor {
    First { place: usize, value: Option<Point> },
    Not(Box<Self>),
    Pair { of: Box<(Self, Self)>, most: bool },
    Implies(Box<(Self, Self)>),
    Over { place: usize, steps: Option<Steps>, most: bool, contrary: bool, seen: u32, value: Point },
    Until { of: (usize, usize), join: Join, steps: Option<Steps>, contrary: bool, seen: u32, kept: Point, value: Point },
}

/// What came of a formula.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Its value, by the rule for finite runs: what lies beyond the end is in no window.
    pub value: Point,
    /// Whether the comparison that made the value counts by its contrary.
    pub contrary: bool,
    /// What it could have become at worst and at best, had the run gone on for as long as its windows look; what looks over all the run
    /// is over with it.
    pub range: (Degree, Degree),
    /// The scan in which the verdict became certain, where it did before the end.
    pub certain: Option<u32>,
    /// Whether the condition of a formula `whenever ..` ever came; nothing for other formulas.
    pub met: Option<bool>,
    /// The first scan and comparison with a signal that was no number; such a comparison counts against the formula.
    pub unknown: Option<(u32, u32)>,
}

impl Finding {
    /// Whether the run was long enough to know.
    pub const fn known(&self) -> bool {
        self.range.0.holds() == self.range.1.holds()
    }
}

/// A formula and how far it has come.
#[derive(Clone, Debug)]
pub struct Monitor {
    row: Row,
    root: Anchor,
    /// For each atom whether it counts by its contrary.
    contrary: Vec<bool>,
    points: Vec<Point>,
    scans: u32,
    certain: Option<u32>,
    settled: bool,
    met: Option<(usize, bool)>,
    unknown: Option<(u32, u32)>,
}

impl Monitor {
    /// Before the first scan of a run with this period, s.
    ///
    /// # Errors
    /// A span of the formula lies between two scans.
    pub fn new(formula: &Formula, period: f64) -> Result<Self, BetweenScans> {
        let mut row = Row::default();
        let mut met = None;
        let root = anchor(formula, period, false, &mut row, &mut met)?;
        let mut contrary = Vec::new();
        parity(formula, false, &mut contrary);
        let points = vec![Point::bare(Degree::LEAST); contrary.len()];
        let met = met.map(|place| (place, false));
        Ok(Self { row, root, contrary, points, scans: 0, certain: None, settled: false, met, unknown: None })
    }

    /// One scan: how far each comparison holds, what is no number counting against the formula. Of margins that are zero the sign is the
    /// truth.
    #[inline]
    pub fn scan(&mut self, margins: &[f64]) {
        let at = self.scans;
        self.scans = self.scans.saturating_add(1);
        if self.settled {
            return;
        }
        for (atom, ((point, margin), contrary)) in self.points.iter_mut().zip(margins).zip(&self.contrary).enumerate() {
            let atom = atom as u32;
            let degree = Degree::of(*margin).unwrap_or_else(|| {
                self.unknown.get_or_insert((at, atom));
                if *contrary { Degree::MOST } else { Degree::LEAST }
            });
            *point = Point { degree, at, atom };
        }
        self.row.step(&self.points);
        if let Some((place, met)) = &mut self.met {
            *met |= self.row.given(*place).is_some_and(|point| point.degree.holds());
        }
        let row = &self.row;
        if self.root.take(&|place| row.given(place)) && self.certain.is_none() {
            self.look(at);
        }
    }

    #[cold]
    fn look(&mut self, at: u32) {
        let (low, high) = self.root.bounds();
        if low.holds() == high.holds() {
            self.certain = Some(at);
        }
        self.settled = low == high;
    }

    /// Whether it is certain how the formula will be judged, and how; further scans can only move the figure.
    pub fn verdict(&self) -> Option<bool> {
        self.certain.map(|_| self.root.bounds().0.holds())
    }

    /// How many samples it keeps.
    pub fn room(&self) -> usize {
        self.row.room()
    }

    /// What came of it, the run being over.
    pub fn finish(self) -> Finding {
        let (certain, met, unknown) = (self.certain, self.met.map(|(_, met)| met), self.unknown);
        let end = |beyond: Beyond| {
            let (mut row, mut root) = (self.row.clone(), self.root.clone());
            let rest = row.rest(beyond);
            root.end(&rest, beyond);
            root.value().unwrap_or(Point::bare(beyond.degree(false).unwrap_or(Degree::MOST)))
        };
        let range = (end(Beyond::Worst).degree, end(Beyond::Best).degree);
        let value = end(Beyond::Nothing);
        let contrary = self.contrary.get(value.atom as usize).copied().unwrap_or(false);
        Finding { value, contrary, range, certain, met, unknown }
    }
}

/// For each atom whether it counts by its contrary.
fn parity(formula: &Formula, contrary: bool, list: &mut Vec<bool>) {
    if let Formula::Atom(atom) = formula {
        list.resize(list.len().max(atom + 1), false);
        list[*atom] = contrary;
    }
    for (at, part) in formula.parts().into_iter().enumerate() {
        let turned = at == 0 && matches!(formula, Formula::Not(_) | Formula::Implies(..));
        parity(part, contrary != turned, list);
    }
}

fn anchor(
    formula: &Formula,
    period: f64,
    contrary: bool,
    row: &mut Row,
    met: &mut Option<usize>,
) -> Result<Anchor, BetweenScans> {
    let steps = formula.span().map(|span| Steps::of(span, period).ok_or(BetweenScans(span))).transpose()?;
    let mut part = |of: &Formula, contrary: bool| anchor(of, period, contrary, row, &mut None);
    Ok(match formula {
        Formula::Not(of) => Anchor::Not(Box::new(part(of, !contrary)?)),
        Formula::And(a, b) => Anchor::Pair { of: Box::new((part(a, contrary)?, part(b, contrary)?)), most: false },
        Formula::Or(a, b) => Anchor::Pair { of: Box::new((part(a, contrary)?, part(b, contrary)?)), most: true },
        Formula::Implies(a, b) => Anchor::Implies(Box::new((part(a, !contrary)?, part(b, contrary)?))),
        Formula::Always(_, of) | Formula::Eventually(_, of) => {
            let most = matches!(formula, Formula::Eventually(..));
            let place = row.add(of, period, contrary)?;
            if let (Formula::Implies(..), false) = (&**of, most) {
                *met = row.condition(place);
            }
            Anchor::Over { place, steps, most, contrary, seen: 0, value: Point::empty(most) }
        }
        Formula::Until(_, a, b) => {
            let of = (row.add(a, period, contrary)?, row.add(b, period, contrary)?);
            let (kept, value) = (Point::empty(false), Point::empty(true));
            Anchor::Until { of, join: Join::default(), steps, contrary, seen: 0, kept, value }
        }
        _ => Anchor::First { place: row.add(formula, period, contrary)?, value: None },
    })
}

impl Anchor {
    /// Takes what the machines gave in this scan; whether anything may have become certain by it.
    #[inline]
    fn take(&mut self, given: &impl Fn(usize) -> Option<Point>) -> bool {
        match self {
            Self::First { place, value } => {
                let new = value.is_none();
                if new {
                    *value = given(*place);
                }
                new
            }
            Self::Not(of) => of.take(given),
            Self::Pair { of, .. } | Self::Implies(of) => {
                let (a, b) = (of.0.take(given), of.1.take(given));
                a | b
            }
            Self::Over { place, .. } => {
                let place = *place;
                given(place).is_some_and(|point| self.over(point))
            }
            Self::Until { of, join, .. } => {
                let pair = join.push(given(of.0), given(of.1));
                pair.is_some_and(|(left, right)| self.until(left, right))
            }
        }
    }

    #[inline]
    fn over(&mut self, point: Point) -> bool {
        let Self::Over { steps, most, seen, value, .. } = self else { return false };
        let at = *seen;
        *seen = seen.saturating_add(1);
        if let Some(steps) = steps {
            if at > steps.to {
                return false;
            }
            if at >= steps.from {
                *value = value.pick(point, *most);
            }
            return at == steps.to || value.degree.holds() == *most;
        }
        *value = value.pick(point, *most);
        value.degree.holds() == *most
    }

    #[inline]
    fn until(&mut self, left: Point, right: Point) -> bool {
        let Self::Until { steps, seen, kept, value, .. } = self else { return false };
        let at = *seen;
        *seen = seen.saturating_add(1);
        let (from, to) = steps.map_or((0, u32::MAX), |steps| (steps.from, steps.to));
        if at > to {
            return false;
        }
        if at >= from {
            *value = value.most(kept.least(right));
        }
        *kept = kept.least(left);
        at == to || value.degree.holds() || !kept.degree.holds()
    }

    /// Takes what the machines still had, and what lies beyond the end.
    fn end(&mut self, rest: &[Vec<Point>], beyond: Beyond) {
        let list = |place: usize| rest.get(place).map_or(&[][..], Vec::as_slice);
        match self {
            Self::First { place, value } => *value = value.or_else(|| list(*place).first().copied()),
            Self::Not(of) => of.end(rest, beyond),
            Self::Pair { of, .. } | Self::Implies(of) => {
                of.0.end(rest, beyond);
                of.1.end(rest, beyond);
            }
            Self::Over { place, .. } => {
                for point in list(*place) {
                    self.over(*point);
                }
                if let Self::Over { steps: Some(steps), most, contrary, seen, value, .. } = self
                    && *seen <= steps.to
                    && let Some(degree) = beyond.degree(*contrary)
                {
                    *value = value.pick(Point::bare(degree), *most);
                }
            }
            Self::Until { of, .. } => {
                let (left, right) = (list(of.0), list(of.1));
                for at in 0..left.len().max(right.len()) {
                    let Self::Until { join, .. } = self else { return };
                    if let Some((left, right)) = join.push(left.get(at).copied(), right.get(at).copied()) {
                        self.until(left, right);
                    }
                }
                if let Self::Until { steps: Some(steps), contrary, seen, kept, value, .. } = self
                    && *seen <= steps.to
                    && beyond.degree(*contrary) == Some(Degree::MOST)
                {
                    *value = value.most(*kept);
                }
            }
        }
    }

    /// The value, where it is known.
    fn value(&self) -> Option<Point> {
        match self {
            Self::First { value, .. } => *value,
            Self::Not(of) => of.value().map(Point::not),
            Self::Pair { of, most } => Some(of.0.value()?.pick(of.1.value()?, *most)),
            Self::Implies(of) => Some(of.1.value()?.most(of.0.value()?.not())),
            Self::Over { value, .. } | Self::Until { value, .. } => Some(*value),
        }
    }

    /// Between which the value will be, whatever comes.
    fn bounds(&self) -> (Degree, Degree) {
        match self {
            Self::First { value, .. } => value.map_or((Degree::LEAST, Degree::MOST), |one| (one.degree, one.degree)),
            Self::Not(of) => {
                let (low, high) = of.bounds();
                (high.not(), low.not())
            }
            Self::Pair { of, most } => {
                let (a, b) = (of.0.bounds(), of.1.bounds());
                if *most { (a.0.max(b.0), a.1.max(b.1)) } else { (a.0.min(b.0), a.1.min(b.1)) }
            }
            Self::Implies(of) => {
                let (a, b) = (of.0.bounds(), of.1.bounds());
                (a.1.not().max(b.0), a.0.not().max(b.1))
            }
            Self::Over { steps, most, seen, value, .. } => {
                let over = steps.is_some_and(|steps| *seen > steps.to);
                match (over, most) {
                    (true, _) => (value.degree, value.degree),
                    (false, true) => (value.degree, Degree::MOST),
                    (false, false) => (Degree::LEAST, value.degree),
                }
            }
            Self::Until { steps, seen, kept, value, .. } => {
                let over = steps.is_some_and(|steps| *seen > steps.to);
                (value.degree, if over { value.degree } else { value.degree.max(kept.degree) })
            }
        }
    }
}
