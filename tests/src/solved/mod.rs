//! Solved cases: rigs whose course an outside solver computed too, and how far we are from it.
//!
//! A case names its rig, its reference file, and for each column which of our signals it is, how a deviation counts and how much is allowed.
//! Limits stand beside the cases (`rig_reference`, `flow_reference`), with where they come from.

mod compare;
mod found;
mod reference;

use std::path::PathBuf;

use valvewright_sim::plant::rig::{RigSeries, RigSpec, parse_rig, run_rig};
use valvewright_sim::scenario::diagnostic::Source;

pub use found::{Found, Moment, Point, Solved};
pub use reference::{Reference, data};

/// A case.
#[derive(Debug, Clone)]
pub struct Case {
    /// Its name, that of rig and reference file.
    pub name: &'static str,
    /// Folder of its reference under `tests/data`.
    pub folder: &'static str,
    /// What is compared.
    pub quantities: &'static [Quantity],
    /// How far the end of a step may be off.
    pub end: Allowed,
    /// Column of a wall that freezes and our signal for it: the moment it passes 0 degC is compared as well.
    pub freezing: Option<(&'static str, &'static str, Allowed)>,
}

/// One quantity of a case.
#[derive(Debug, Clone, Copy)]
pub struct Quantity {
    /// Column of the reference; its ending says the unit.
    pub column: &'static str,
    /// Our signal, or several to be added: `loop.m + loop.m_second`.
    pub signal: &'static str,
    /// What a deviation is divided by.
    pub scale: Scale,
    /// What a deviation may be at most, after the division.
    pub limit: f64,
    /// Rows that do not count.
    pub except: Except,
}

/// What a deviation is divided by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scale {
    /// The value itself.
    Itself,
    /// Our signal: a partial pressure counts against the whole.
    Signal(&'static str),
    /// The largest value of the column.
    Largest,
    /// A fixed amount in the unit of the column: a limit then is an absolute one.
    Fixed(f64),
}

/// Rows that do not count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Except {
    /// All count.
    None,
    /// Rows where our signal is below a value: a ratio of two vanishing numbers is no temperature.
    Below(&'static str, f64),
    /// The first row of a step: what the reference has jump takes us a moment.
    First,
}

/// How far a time may be off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Allowed {
    /// Seconds.
    Seconds(f64),
    /// Share of the time since the run began.
    Share(f64),
}

impl Allowed {
    /// In seconds.
    pub fn seconds(self, time: f64) -> f64 {
        match self {
            Self::Seconds(value) => value,
            Self::Share(share) => share * time,
        }
    }
}

/// Kinds of quantities that share a unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Pa.
    Pressure,
    /// degC.
    Temperature,
    /// kg.
    Mass,
    /// Share of a whole.
    Share,
    /// m3.
    Volume,
}

impl Quantity {
    /// A quantity of which all rows count.
    pub const fn new(column: &'static str, signal: &'static str, scale: Scale, limit: f64) -> Self {
        Self { column, signal, scale, limit, except: Except::None }
    }

    /// Its kind, by the ending of the column.
    pub fn kind(&self) -> Kind {
        match self.column.rsplit_once('_').map(|(_, unit)| unit) {
            Some("Pa") => Kind::Pressure,
            Some("C") => Kind::Temperature,
            Some("kg") => Kind::Mass,
            Some("m3") => Kind::Volume,
            _ => Kind::Share,
        }
    }
}

impl Case {
    /// Path of its reference.
    pub fn path(&self) -> PathBuf {
        data().join(self.folder).join(format!("{}.csv", self.name))
    }

    /// Reads its rig.
    pub fn rig(&self) -> Result<RigSpec, String> {
        let file = format!("{}/../sim-host/rigs/{}.toml", env!("CARGO_MANIFEST_DIR"), self.name);
        let text = std::fs::read_to_string(&file).map_err(|wrong| format!("{}: {file}: {wrong}", self.name))?;
        rig(self.name, &text)
    }

    /// Runs the rig and compares it.
    pub fn solve(&self) -> Result<Solved, String> {
        self.solve_with(&self.rig()?, &Reference::read(&self.path())?)
    }

    /// Runs a relative of the rig and compares it with a reference made for that.
    pub fn solve_with(&self, rig: &RigSpec, reference: &Reference) -> Result<Solved, String> {
        let clock = std::time::Instant::now();
        let series = run_rig(rig, |_| true).map_err(|wrong| format!("{}: {wrong}", self.name))?;
        let wall = clock.elapsed().as_secs_f64();
        if let Some(fault) = &series.fault {
            return Err(format!("{}: {fault}", self.name));
        }
        let mut solved =
            compare::compare(self, &series, reference).map_err(|wrong| format!("{}: {wrong}", self.name))?;
        solved.title.clone_from(&rig.title);
        solved.wall = wall;
        Ok(solved)
    }

    /// Compares a series with a reference.
    pub fn compare(&self, series: &RigSeries, reference: &Reference) -> Result<Solved, String> {
        compare::compare(self, series, reference).map_err(|wrong| format!("{}: {wrong}", self.name))
    }
}

/// Reads a rig from its text.
pub fn rig(name: &str, text: &str) -> Result<RigSpec, String> {
    parse_rig(&Source::new(format!("{name}.toml"), text))
        .map_err(|all| all.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
}
