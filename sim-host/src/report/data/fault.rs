//! A fault of a run: which, how severe, when it came and when it went.

use serde::Serialize;

/// A planned fault and what became of it.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct FaultRecord {
    /// Its id in the catalogue.
    pub id: String,
    /// The device.
    pub tag: String,
    /// What that is.
    pub component: String,
    /// How it fails.
    pub failure_mode: String,
    /// Its way, where it has several.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub mode: String,
    /// Its severity as set, with its unit; absent where it has none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub severity: Option<String>,
    /// The job that it was planned for, from 1.
    pub job: usize,
    /// When it was to begin, in words.
    pub begins: String,
    /// Simulated time at which it began, s; absent where it never did.
    pub began_s: Option<f64>,
    /// Simulated time at which it ended, s; absent while it acts.
    pub ended_s: Option<f64>,
}

impl FaultRecord {
    /// The fault in a few words: `F023 vessel load cell WT-1A, creep, 1 %`.
    pub fn words(&self) -> String {
        let mut words = format!("{} {} {}, {}", self.id, self.component, self.tag, self.failure_mode);
        for more in [Some(self.mode.as_str()).filter(|mode| !mode.is_empty()), self.severity.as_deref()] {
            more.into_iter().for_each(|more| words += &format!(", {more}"));
        }
        words
    }
}
