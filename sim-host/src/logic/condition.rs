//! A condition: a formula without time, asked scan by scan whether it holds now.
//!
//! What is no number holds no comparison, whichever way it points.

use serde::Serialize;
use valvewright_core::config::StationConfig;

use super::Wrong;
use super::formula::{Formula, Parsed};
use super::names::Names;
use super::parse;
use super::property::NotJudged;
use super::watch::{View, Watch};
use crate::plant::Plant;

/// A condition as it was read.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Condition {
    /// As it was written.
    pub text: String,
    #[serde(skip)]
    parsed: Parsed,
}

impl Condition {
    /// Reads one.
    ///
    /// # Errors
    /// It is no formula, or looks at other scans than the one at hand.
    pub fn read(text: &str, names: &Names) -> Result<Self, Wrong> {
        let parsed = parse::parse(text, names)?;
        if is_of_now(&parsed.formula) {
            return Ok(Self { text: text.trim().to_owned(), parsed });
        }
        let help = "write what is compared, joined by `and`, `or`, `not`; `after` and `for` say the times";
        Err(Wrong::new(0..text.len(), "a condition is of one moment and has no times".to_owned(), help))
    }
}

fn is_of_now(formula: &Formula) -> bool {
    let timeless = match formula {
        Formula::Atom(_) | Formula::Not(_) | Formula::And(..) | Formula::Or(..) | Formula::Implies(..) => true,
        Formula::Always(..)
        | Formula::Eventually(..)
        | Formula::Until(..)
        | Formula::Historically(..)
        | Formula::Once(..)
        | Formula::Since(..) => false,
    };
    timeless && formula.parts().into_iter().all(is_of_now)
}

/// A condition with its signals found in a run.
#[derive(Clone, Debug)]
pub struct Standing {
    formula: Formula,
    watch: Watch,
}

impl Standing {
    /// In a run on this plant; `rows` where the controller has rows.
    ///
    /// # Errors
    /// It looks at something that the run does not have.
    pub fn new(of: &Condition, plant: &Plant, config: &StationConfig, rows: bool) -> Result<Self, NotJudged> {
        let watch = Watch::alone(&of.parsed, plant, config, rows)?;
        Ok(Self { formula: of.parsed.formula.clone(), watch })
    }

    /// Whether it holds in this scan.
    pub fn holds(&mut self, view: &View<'_>) -> bool {
        let margins = self.watch.margins(view);
        holds(&self.formula, margins)
    }

    /// The plant's signals are found anew.
    pub fn found_anew(&mut self, plant: &Plant) {
        self.watch.found_anew(plant);
    }
}

fn holds(formula: &Formula, margins: &[f64]) -> bool {
    let of = |part: &Formula| holds(part, margins);
    match formula {
        // At the limit itself the sign of zero is the truth.
        Formula::Atom(at) => margins.get(*at).is_some_and(|margin| !margin.is_nan() && margin.is_sign_positive()),
        Formula::Not(part) => !of(part),
        Formula::And(a, b) => of(a) && of(b),
        Formula::Or(a, b) => of(a) || of(b),
        Formula::Implies(a, b) => !of(a) || of(b),
        // Refused when it was read.
        _ => false,
    }
}
