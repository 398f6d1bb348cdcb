//! What came of a property of a job.

use serde::Serialize;

use crate::display::Sentence;

/// How a property was judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PropertyVerdict {
    /// It held.
    Held,
    /// It did not hold, or could not be looked at in this job.
    Failed,
    /// It asks for what this controller does not have.
    NotJudged,
}

/// The comparison that a property came closest to failing by, or failed by most.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ClosestResult {
    /// The comparison.
    pub comparison: String,
    /// Simulated time, s.
    pub t_s: f64,
}

/// A property and what came of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PropertyResult {
    /// Its name in the scenario.
    pub name: String,
    /// Its formula as it was written.
    pub formula: String,
    /// Why it is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// How it was judged.
    pub verdict: PropertyVerdict,
    /// How far it held, or, below zero, failed: the margin in the scale of its comparison (docs/properties.md); absent where only what is so
    /// or not so decided.
    pub robustness: Option<f64>,
    /// What decided that figure.
    pub closest: Option<ClosestResult>,
    /// Simulated time from which the verdict was certain, s; absent where only the end decided.
    pub certain_s: Option<f64>,
    /// The run was long enough: no longer one that goes on the same way could change the verdict.
    pub whole: bool,
    /// Whether the condition of `whenever .. then ..` ever came; absent for other formulas.
    pub met: Option<bool>,
    /// The same in a sentence.
    pub detail: Sentence,
}
