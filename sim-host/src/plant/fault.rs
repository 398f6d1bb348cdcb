//! Why a run of a plant cannot go on: when, where, what, and what may help.

use std::fmt;

/// The plant stands still from here on.
#[derive(Debug, Clone, PartialEq)]
pub struct PlantFault {
    /// Time, s.
    pub time: f64,
    /// Volume or element it happened in; empty where it cannot be pinned down.
    pub place: String,
    /// What happened, a clause.
    pub what: String,
    /// What to do about it, a clause.
    pub advice: String,
}

impl PlantFault {
    /// `at 12.3 s in `hose`: <what>`.
    pub fn when_and_why(&self) -> String {
        let Self { time, place, what, .. } = self;
        let place = if place.is_empty() { String::new() } else { format!(" in `{place}`") };
        format!("at {time:.6} s{place}: {what}")
    }
}

impl fmt::Display for PlantFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.when_and_why(), self.advice)
    }
}
