//! Why a run cannot go on: when, where, what, and what to do.

use std::fmt;

/// A run that came to an end of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct PlantFault {
    /// When, s.
    pub time: f64,
    /// Element or volume.
    pub place: String,
    /// What happened.
    pub what: String,
    /// What to do.
    pub advice: String,
}

impl fmt::Display for PlantFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "t = {:.6} s, `{}`: {}; {}", self.time, self.place, self.what, self.advice)
    }
}
