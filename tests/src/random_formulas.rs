//! Formulas of temporal logic and traces that nobody wrote, from seeds; the same formula in the words of rtamt and in ours, and its value by
//! the bare definition.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};
use valvewright_sim::logic::formula::{Formula, Span};

/// Signals of a trace, by the names that rtamt is given.
pub const NAMES: [&str; 3] = ["a", "b", "c"];

/// Signals of the plant in their place.
const SIGNALS: [&str; 3] = ["vessel.p", "hose_low.p", "C-1.p_inner"];

/// A formula over comparisons, and a trace for it.
pub struct Pair {
    /// The formula; its atoms are `limits`.
    pub formula: Formula,
    /// Each atom: which signal, whether it must be below, the limit.
    pub limits: Vec<(usize, bool, f64)>,
    /// Each signal over time.
    pub trace: [Vec<f64>; 3],
}

struct Draw(Xoshiro256PlusPlus);

impl Draw {
    fn below(&mut self, n: usize) -> usize {
        ((u128::from(self.0.next_u64()) * n as u128) >> 64) as usize
    }

    /// A quarter's multiple, so that values meet and tie.
    fn quarter(&mut self, most: usize) -> f64 {
        (self.below(8 * most + 1) as f64) * 0.25 - most as f64
    }

    fn fine(&mut self) -> f64 {
        (self.below(2_000_001) as f64 - 1e6) * 1e-5
    }

    /// A signal: steps, ties, a switch, a walk, or one that never moves.
    fn signal(&mut self, length: usize) -> Vec<f64> {
        let kind = self.below(5);
        let mut value = self.quarter(4);
        (0..length)
            .map(|_| {
                match kind {
                    0 => value = self.fine(),
                    1 => value = self.quarter(3),
                    2 if self.below(5) == 0 => value = if value > 0.0 { -1.0 } else { 1.0 },
                    3 => value += self.quarter(1),
                    _ => {}
                }
                value
            })
            .collect()
    }

    /// Mostly short, some of no length, some longer than the trace.
    fn span(&mut self, length: usize) -> Option<Span> {
        let most = match self.below(8) {
            0 | 1 => return None,
            2 => 0,
            3 => length + 20,
            _ => 9,
        };
        let from = if self.below(2) == 0 { 0 } else { self.below(most + 1) };
        let to = from + self.below(most + 1 - from.min(most));
        Some(Span { from: from as f64, to: to as f64 })
    }

    fn formula(&mut self, depth: usize, length: usize, limits: &mut Vec<(usize, bool, f64)>) -> Formula {
        if depth == 0 || self.below(8) == 0 {
            let limit = if self.below(2) == 0 { self.quarter(3) } else { self.fine() };
            limits.push((self.below(3), self.below(2) == 0, limit));
            return Formula::Atom(limits.len() - 1);
        }
        let mut part = |draw: &mut Self| Box::new(draw.formula(depth - 1, length, limits));
        match self.below(12) {
            0 => Formula::Not(part(self)),
            1 => Formula::And(part(self), part(self)),
            2 => Formula::Or(part(self), part(self)),
            3 => Formula::Implies(part(self), part(self)),
            4 | 5 => Formula::Always(self.span(length), part(self)),
            6 | 7 => Formula::Eventually(self.span(length), part(self)),
            8 => Formula::Until(self.span(length), part(self), part(self)),
            9 => Formula::Historically(self.span(length), part(self)),
            10 => Formula::Once(self.span(length), part(self)),
            _ => Formula::Since(self.span(length), part(self), part(self)),
        }
    }
}

/// The pair of that seed.
pub fn pair(seed: u64) -> Pair {
    let mut draw = Draw(Xoshiro256PlusPlus::seed_from_u64(seed));
    // The shortest that the other program takes is two.
    let length = 2 + draw.below(58);
    let depth = 1 + draw.below(4);
    let mut limits = Vec::new();
    let formula = draw.formula(depth, length, &mut limits);
    let trace = std::array::from_fn(|_| draw.signal(length));
    Pair { formula, limits, trace }
}

impl Pair {
    /// How far each atom holds in each scan.
    pub fn margins(&self) -> Vec<Vec<f64>> {
        let at = |scan: usize| {
            let of = |(signal, below, limit): &(usize, bool, f64)| {
                let value = self.trace[*signal][scan];
                if *below { limit - value } else { value - limit }
            };
            self.limits.iter().map(of).collect()
        };
        (0..self.trace[0].len()).map(at).collect()
    }

    /// The formula as rtamt writes it, for samples a second apart.
    pub fn rtamt(&self) -> String {
        self.words(&self.formula)
    }

    fn words(&self, formula: &Formula) -> String {
        let span = formula.span().map(|span| format!("[{}:{}]", span.from, span.to)).unwrap_or_default();
        let parts: Vec<String> = formula.parts().into_iter().map(|part| self.words(part)).collect();
        let one = || parts[0].clone();
        let two = |word: &str| format!("({} {word}{span} {})", parts[0], parts[1]);
        match formula {
            Formula::Atom(atom) => {
                let (signal, below, limit) = self.limits[*atom];
                format!("({} {} {limit:?})", NAMES[signal], if below { "<=" } else { ">=" })
            }
            Formula::Not(_) => format!("(not {})", one()),
            Formula::And(..) => two("and"),
            Formula::Or(..) => two("or"),
            Formula::Implies(..) => two("implies"),
            Formula::Always(..) => format!("(always{span} {})", one()),
            Formula::Eventually(..) => format!("(eventually{span} {})", one()),
            Formula::Historically(..) => format!("(historically{span} {})", one()),
            Formula::Once(..) => format!("(once{span} {})", one()),
            Formula::Until(..) => two("until"),
            Formula::Since(..) => two("since"),
        }
    }

    /// The formula in our own words, over three pressures in bar; every part in brackets.
    pub fn text(&self) -> String {
        self.own_words(&self.formula)
    }

    fn own_words(&self, formula: &Formula) -> String {
        let parts: Vec<String> =
            formula.parts().into_iter().map(|part| format!("({})", self.own_words(part))).collect();
        let lasts = matches!(formula, Formula::Always(..) | Formula::Historically(..));
        let span = match formula.span() {
            None => String::new(),
            Some(Span { from: 0.0, to }) if lasts => format!(" for {to} s"),
            Some(Span { from: 0.0, to }) => format!(" within {to} s"),
            Some(Span { from, to }) => format!(" from {from} s to {to} s"),
        };
        let one = |word: &str| format!("{word}{span} {}", parts[0]);
        let two = |word: &str| format!("{} {word}{span} {}", parts[0], parts[1]);
        match formula {
            Formula::Atom(atom) => {
                let (signal, below, limit) = self.limits[*atom];
                format!("{} {} {limit:?} bar", SIGNALS[signal], if below { "<=" } else { ">=" })
            }
            Formula::Not(_) => one("not"),
            Formula::And(..) => two("and"),
            Formula::Or(..) => two("or"),
            Formula::Implies(..) => two("implies"),
            Formula::Always(..) => one("always"),
            Formula::Eventually(..) => one("eventually"),
            Formula::Historically(..) => one("historically"),
            Formula::Once(..) => one("once"),
            Formula::Until(..) => two("until"),
            Formula::Since(..) => two("since"),
        }
    }

    /// The value in each scan by the bare definition, window by window.
    pub fn plainly(&self) -> Vec<f64> {
        plainly(&self.formula, &self.margins())
    }
}

fn plainly(formula: &Formula, margins: &[Vec<f64>]) -> Vec<f64> {
    let length = margins.len();
    let parts: Vec<Vec<f64>> = formula.parts().into_iter().map(|part| plainly(part, margins)).collect();
    let (from, to) = formula.span().map_or((0, length), |span| (span.from as usize, span.to as usize));
    let ahead = |at: usize| (at + from).min(length)..(at + to + 1).min(length);
    let back = |at: usize| at.saturating_sub(to)..(at + 1).saturating_sub(from);
    let least = |list: &[f64]| list.iter().copied().fold(f64::INFINITY, f64::min);
    let most = |list: &[f64]| list.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let value = |at: usize| match formula {
        Formula::Atom(atom) => margins[at][*atom],
        Formula::Not(_) => -parts[0][at],
        Formula::And(..) => parts[0][at].min(parts[1][at]),
        Formula::Or(..) => parts[0][at].max(parts[1][at]),
        Formula::Implies(..) => (-parts[0][at]).max(parts[1][at]),
        Formula::Always(..) => least(&parts[0][ahead(at)]),
        Formula::Eventually(..) => most(&parts[0][ahead(at)]),
        Formula::Historically(..) => least(&parts[0][back(at)]),
        Formula::Once(..) => most(&parts[0][back(at)]),
        Formula::Until(..) => most(&ahead(at).map(|j| parts[1][j].min(least(&parts[0][at..j]))).collect::<Vec<_>>()),
        Formula::Since(..) => {
            most(&back(at).map(|j| parts[1][j].min(least(&parts[0][j + 1..=at]))).collect::<Vec<_>>())
        }
    };
    (0..length).map(value).collect()
}
