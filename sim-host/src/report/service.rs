//! What papers say of station and vehicles beside a result: what they are, and in which shape this file is.

use serde::{Deserialize, Serialize};

use crate::fluid::FluidKind;
use crate::scenario::Scenario;
use crate::scenario::model::OilKind;

/// Shape of what papers are made from: this part, `jobs`, `notices` with what was `told`, `interlocks`, `ledger`. One more with each
/// change that a reader would not understand.
pub const FORMAT: u32 = 1;

/// What the papers of a run say of its station and vehicles.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Service {
    /// [`FORMAT`].
    pub format: u32,
    /// What the station holds.
    pub refrigerant: FluidKind,
    /// The new oil it has.
    pub new_oil: String,
    /// The vehicles in the order of their jobs.
    pub jobs: Vec<ServiceJob>,
    /// What its workshop puts on a ticket; absent where the run is of no workshop.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub workshop: Option<Workshop>,
}

/// What a workshop puts on a ticket.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Workshop {
    /// Its head; empty where none is set.
    pub header: Vec<String>,
    /// Name and number of the operator; absent where nobody was named.
    pub operator: Option<String>,
    /// The day on which the run began, as 2026-01-31.
    pub day: String,
    /// Presets that were used.
    pub presets: Vec<String>,
}

/// A vehicle as its paper has it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ServiceJob {
    /// Its name in the scenario, or that of the scenario and its number: no plate.
    pub vehicle_id: String,
    /// What the vehicle's label says is in it.
    pub refrigerant: FluidKind,
    /// How much of it, g.
    pub label_g: f64,
    /// It has a high-voltage compressor.
    pub high_voltage: bool,
}

impl Service {
    /// Of a scenario.
    pub fn of(scenario: &Scenario) -> Self {
        let vehicles = scenario.jobs().map(|job| job.vehicle);
        let jobs = vehicles.enumerate().map(|(at, vehicle)| ServiceJob {
            vehicle_id: vehicle.name.clone().unwrap_or_else(|| format!("{}-{}", scenario.name, at + 1)),
            refrigerant: vehicle.refrigerant.into(),
            label_g: (vehicle.charge_label * 1e6).round() * 1e-3,
            high_voltage: vehicle.high_voltage,
        });
        let named = OilKind::ALL.into_iter().zip(OilKind::WORDS);
        let oil = named.into_iter().find(|(kind, _)| *kind == scenario.station.new_oil).map_or("", |(_, word)| word);
        Self {
            format: FORMAT,
            refrigerant: scenario.station.refrigerant.into(),
            new_oil: oil.to_owned(),
            jobs: jobs.collect(),
            workshop: None,
        }
    }
}
