//! Reads the reference files of `tests/data/fluid` and keeps the worst deviation with the place where it was seen.
#![allow(dead_code)] // each test binary uses a part of it

use std::collections::HashMap;
use valvewright_sim::fluid::{Fluid, FluidKind};

/// The rows of a reference file, values by column name.
pub struct Table {
    columns: HashMap<String, usize>,
    rows: Vec<Vec<String>>,
}

/// One row of a [`Table`].
pub struct Row<'a>(&'a Table, &'a [String]);

impl Table {
    pub fn read(name: &str) -> Self {
        let path = format!("{}/data/fluid/{name}", env!("CARGO_MANIFEST_DIR"));
        let mut reader =
            csv::ReaderBuilder::new().comment(Some(b'#')).from_path(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
        let columns = reader.headers().unwrap().iter().enumerate().map(|(k, c)| (c.to_owned(), k)).collect();
        let rows: Vec<Vec<String>> = reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect();
        assert!(rows.len() >= 10, "{path}: only {} rows", rows.len());
        Self { columns, rows }
    }

    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|r| Row(self, r))
    }
}

impl Row<'_> {
    pub fn text(&self, column: &str) -> &str {
        &self.1[*self.0.columns.get(column).unwrap_or_else(|| panic!("no column {column}"))]
    }

    pub fn num(&self, column: &str) -> f64 {
        self.text(column).parse().unwrap_or_else(|e| panic!("{column}: {e}"))
    }

    pub fn opt(&self, column: &str) -> Option<f64> {
        self.text(column).parse().ok()
    }
}

/// Largest deviations by name, checked at the end so that one run shows them all.
#[derive(Default)]
pub struct Worst(Vec<(String, f64, String)>);

impl Worst {
    /// Notes a deviation of `name` at a place.
    pub fn see(&mut self, name: &str, deviation: f64, place: impl FnOnce() -> String) {
        let deviation = if deviation.is_nan() { f64::INFINITY } else { deviation.abs() };
        match self.0.iter_mut().find(|w| w.0 == name) {
            None => self.0.push((name.to_owned(), deviation, place())),
            Some(w) if deviation > w.1 => *w = (name.to_owned(), deviation, place()),
            Some(_) => {}
        }
    }

    /// Fails if any deviation passes `limit`, or if nothing was seen.
    pub fn check(&self, title: &str, limit: f64) {
        assert!(!self.0.is_empty(), "{title}: nothing compared");
        let list: Vec<String> = self.0.iter().map(|(n, d, p)| format!("  {n}: {d:.3e} at {p}")).collect();
        println!("{title}, limit {limit:.1e}\n{}", list.join("\n"));
        assert!(self.0.iter().all(|w| w.1 <= limit), "{title}: over {limit:.1e}\n{}", list.join("\n"));
    }
}

/// Relative deviation.
pub fn rel(value: f64, reference: f64) -> f64 {
    value / reference - 1.0
}

/// Both fluids with the spelling of the reference files.
pub fn fluids() -> [(&'static Fluid, &'static str); 2] {
    [(Fluid::get(FluidKind::R1234yf), "R1234yf"), (Fluid::get(FluidKind::R134a), "R134a")]
}
