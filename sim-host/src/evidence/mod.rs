//! Hazards, interlock rows, faults, laws and worked examples as one graph, with the tests and scenarios that show each.
//!
//! The tables stand in `sim-host/data`; rows are the core's own. What shows an id is found in the marks of tests and
//! scenarios and kept in `sim-host/data/shown.csv`, which a test of the workspace renews and holds to the sources.

mod data;
mod graph;
mod id;
pub mod pages;
pub mod record;
mod text;

use std::sync::LazyLock;

pub use data::{By, Example, Fault, Figure, Hazard, Known, Law, Missing, Open, Shown, Source, rows};
pub use graph::{Node, Where};
pub use id::{Id, Kind};
pub use text::{counts, full, list, overview, proof, state};

/// Everything that evidence is made of.
#[derive(Clone, Debug)]
pub struct Evidence {
    /// The hazards, in order.
    pub hazards: Vec<Hazard>,
    /// The laws, those of the controller first.
    pub laws: Vec<Law>,
    /// The faults, in order.
    pub faults: Vec<Fault>,
    /// The worked examples, in order.
    pub examples: Vec<Example>,
    /// Where figures come from.
    pub sources: Vec<Source>,
    /// What shows each id, in order.
    pub shown: Vec<Shown>,
    /// Ids that nothing shows yet.
    pub open: Vec<Open>,
}

impl Evidence {
    /// The tables of this program.
    ///
    /// # Errors
    /// What of them can't be read.
    pub fn read() -> Result<Self, String> {
        Ok(Self {
            hazards: data::hazards(include_str!("../../data/hazards.toml"))?,
            laws: data::laws(include_str!("../../data/laws.toml"))?,
            faults: rows("faults.csv", include_str!("../../data/faults.csv"))?,
            examples: rows("examples.csv", include_str!("../../data/examples.csv"))?,
            sources: rows("sources.csv", include_str!("../../data/sources.csv"))?,
            shown: rows("shown.csv", include_str!("../../data/shown.csv"))?,
            open: rows("open.csv", include_str!("../../data/open.csv"))?,
        })
    }

    /// The same, read once.
    ///
    /// # Panics
    /// Never in a program whose tests passed: one of them reads the tables.
    pub fn shipped() -> &'static Self {
        static READ: LazyLock<Evidence> =
            LazyLock::new(|| Evidence::read().unwrap_or_else(|wrong| panic!("the tables of this program: {wrong}")));
        &READ
    }
}
