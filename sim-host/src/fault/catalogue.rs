//! The fault catalogue as data: what can break, what that endangers, what finds it, and what is expected then.

use std::fmt;
use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

/// The catalogue as it is shipped.
pub const TEXT: &str = include_str!("../../data/faults.csv");

/// Number of a fault: F001 is 1. Numbers are never given anew.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct FaultId(pub u8);

impl FaultId {
    /// The fault written so, such as `F023`; none where the catalogue has no such line.
    pub fn read(text: &str) -> Option<Self> {
        let digits = text.strip_prefix('F').filter(|digits| digits.len() == 3)?;
        let id = Self(digits.parse().ok()?);
        entry(id).map(|_| id)
    }
}

impl fmt::Display for FaultId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "F{:03}", self.0)
    }
}

impl Serialize for FaultId {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

/// A line of the catalogue, column by column.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// `F001` to `F138`.
    pub id: String,
    /// Kind of part: `sensor`, `scale`, `actuator`, `power`, `operator` and so on.
    pub kind: String,
    /// What it is.
    pub component: String,
    /// Its tag.
    pub tag: String,
    /// How it fails.
    pub failure_mode: String,
    /// The same in the words of IEC 60812 and IEC 60730.
    pub vocab: String,
    /// Figures of the failure.
    pub parameters: String,
    /// Hazards that it leads to, by their ids.
    pub hazards: String,
    /// What finds it.
    pub detection: String,
    /// What the station is to do.
    pub expected_safe_reaction: String,
    /// Within how many seconds from its effect; `pre`: before the act that it would spoil, `pt`: at the next proof test.
    pub budget_s: String,
    /// `y` where nothing shows it until a second fault comes or a proof test is made.
    pub latent: String,
}

impl Entry {
    /// Its hazards, one by one.
    pub fn hazards(&self) -> impl Iterator<Item = &str> {
        self.hazards.split(',').map(str::trim)
    }

    /// Nothing shows it by itself.
    pub fn is_latent(&self) -> bool {
        self.latent == "y"
    }
}

static ENTRIES: LazyLock<Vec<Entry>> = LazyLock::new(|| read(TEXT).unwrap_or_default());

/// Reads a catalogue.
///
/// # Errors
/// A line that lacks a column or has one too many.
pub fn read(text: &str) -> Result<Vec<Entry>, csv::Error> {
    csv::Reader::from_reader(text.as_bytes()).deserialize().collect()
}

/// Every line in its order; line n is fault n, which the tests hold.
pub fn entries() -> &'static [Entry] {
    &ENTRIES
}

/// The line of a fault.
pub fn entry(id: FaultId) -> Option<&'static Entry> {
    entries().get(usize::from(id.0).checked_sub(1)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_reads_and_stands_at_its_number() {
        let list = read(TEXT).expect("the shipped catalogue reads");
        assert_eq!(list.len(), 138);
        for (at, one) in list.iter().enumerate() {
            assert_eq!(one.id, FaultId(at as u8 + 1).to_string());
            assert!(one.latent == "y" || one.latent == "n", "{}", one.id);
            let timed = one.budget_s.parse::<f64>().is_ok_and(|s| s > 0.0);
            assert!(timed || one.budget_s == "pre" || one.budget_s == "pt", "{}: {}", one.id, one.budget_s);
        }
        assert_eq!(FaultId::read("F138"), Some(FaultId(138)));
        let beyond = format!("F{}", list.len() + 1);
        assert_eq!([&beyond, "F1", "f001", "F-01", ""].map(FaultId::read), [None; 5]);
    }
}
