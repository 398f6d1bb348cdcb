//! Rigs: a bare network under a schedule, without any controller. A rig is one TOML file; `run_rig` gives its series.
//!
//! A `[[step]]` sets openings and changes parameters, then waits `for` a time or `until` a condition; a parameter may also move over
//! the step in a ramp. A step that holds steps of its own repeats them until its condition holds at the end of a round. `[[sweep]]` runs
//! the schedule for every combination of starting values.

use super::spec::{Amount, NetworkSpec, VolumeSpec};
use crate::scenario::quantity::Dim;

pub use super::rig_read::parse_rig;
pub use super::rig_run::{Column, RigSeries, Row, run_rig};
pub use super::shipped::{shipped, shipped_text};

/// A rig, ready to run.
#[derive(Debug, Clone)]
pub struct RigSpec {
    /// What it shows, one line.
    pub title: String,
    /// The network.
    pub network: NetworkSpec,
    /// The schedule.
    pub steps: Vec<Step>,
    /// Starting values to go through.
    pub sweep: Vec<SweepAxis>,
    /// Row interval where a step gives none, s.
    pub output: f64,
    /// Integration tolerance.
    pub tolerance: f64,
}

/// One step of the schedule.
#[derive(Debug, Clone)]
pub struct Step {
    /// Name, the `phase` of its rows.
    pub name: String,
    /// Openings commanded at its start.
    pub set: Vec<(String, f64)>,
    /// Parameters set at its start: names as for `Plant::set_param`, values SI.
    pub change: Vec<(String, f64)>,
    /// Parameters that move evenly to a value over the whole step, which then has no `until`.
    pub ramp: Vec<(String, f64)>,
    /// Ends when this holds.
    pub until: Option<Condition>,
    /// Ends after this time at the latest, s.
    pub longest: f64,
    /// Row interval, s.
    pub output: f64,
    /// Steps to repeat.
    pub round: Vec<Step>,
}

/// A condition on one signal.
#[derive(Debug, Clone, PartialEq)]
pub struct Condition {
    /// Signal name.
    pub signal: String,
    /// How it is compared.
    pub test: Test,
    /// With what, SI.
    pub value: f64,
}

/// How a condition compares.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Test {
    /// Falls below.
    Below,
    /// Rises above.
    Above,
    /// Has risen since the step began by.
    RisesBy,
    /// Has fallen since the step began by.
    FallsBy,
}

/// Starting values of one quantity.
#[derive(Debug, Clone)]
pub struct SweepAxis {
    /// Volume it belongs to.
    pub volume: String,
    /// Which quantity.
    pub what: Swept,
    /// Values, SI.
    pub values: Vec<f64>,
}

/// What a sweep can vary.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Swept {
    /// Starting temperature, K.
    Temperature,
    /// Refrigerant mass, kg.
    Refrigerant,
    /// Air mass, kg.
    Air,
}

impl Swept {
    pub(super) const ALL: &[(&str, Self, Dim)] = &[
        ("temperature", Self::Temperature, Dim::Temperature),
        ("refrigerant", Self::Refrigerant, Dim::Mass),
        ("air", Self::Air, Dim::Mass),
    ];

    /// The key it is written with.
    pub fn key(self) -> &'static str {
        Self::ALL.iter().find(|one| one.1 == self).map_or("", |one| one.0)
    }

    /// Puts a value into a network.
    pub fn apply(self, network: &mut NetworkSpec, volume: &str, value: f64) {
        if let Some(volume) = network.volume_mut(volume) {
            self.put(volume, value);
        }
    }

    pub(super) fn put(self, volume: &mut VolumeSpec, value: f64) {
        match self {
            Self::Temperature => volume.fill.temperature = value,
            Self::Refrigerant => volume.fill.refrigerant = Amount::Mass(value),
            Self::Air => volume.fill.air = Amount::Mass(value),
        }
    }
}
