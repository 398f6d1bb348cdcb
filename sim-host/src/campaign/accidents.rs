//! Single faults that are known to reach an accident, each with its cause: what a sweep finds beyond them is new, and fails it.

use std::sync::LazyLock;

use serde::Serialize;

/// The table as it stands in `sim-host/data`.
pub const KNOWN: &str = include_str!("../../data/accidents.csv");

/// One known accident.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Known {
    /// The fault.
    pub fault: &'static str,
    /// The hazard that it leads to its accident level.
    pub hazard: &'static str,
    /// Why, and what is missing against it.
    pub cause: &'static str,
}

/// All of them.
pub(super) fn known() -> &'static [Known] {
    static ALL: LazyLock<Vec<Known>> = LazyLock::new(|| {
        let mut reader = csv::Reader::from_reader(KNOWN.as_bytes());
        let rows = reader.records().filter_map(Result::ok);
        let keep = |text: &str| -> &'static str { Box::leak(text.to_owned().into_boxed_str()) };
        rows.filter_map(|row| {
            Some(Known { fault: keep(row.get(0)?), hazard: keep(row.get(1)?), cause: keep(row.get(2)?) })
        })
        .collect()
    });
    &ALL
}
