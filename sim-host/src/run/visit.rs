//! One vehicle after another on one station: what comes and goes with them, and their change at the plant.

use std::collections::BTreeSet;

use super::bind::VEHICLE;
use super::error::{NetworkFault, RunError};
use super::network::{network_of, station_of};
use crate::plant::{Exchanged, NetworkSpec, Plant};
use crate::scenario::Scenario;

/// The bottle of the pressure test, brought to the vehicle where the test is ordered.
const BOTTLE: &str = "nitrogen_bottle";

/// The network of a scenario with the vehicle and the order of one of its jobs, the first being 0; the station's contents in it are
/// those at the start of the whole row.
///
/// # Errors
/// There is no such job, or the network file cannot be read.
pub fn network_for(scenario: &Scenario, job: usize) -> Result<NetworkSpec, NetworkFault> {
    let alone = scenario.alone(job);
    let jobs = 1 + scenario.then.len();
    network_of(&alone.ok_or_else(|| NetworkFault(format!("there is no job {}; the scenario has {jobs}", job + 1)))?)
}

/// Names of all that comes and goes with the vehicles: their volumes, the nitrogen bottle, and what joins only those and the air. The
/// couplers are the station's.
///
/// # Errors
/// The network file cannot be read.
pub fn visitors(scenario: &Scenario) -> Result<BTreeSet<String>, NetworkFault> {
    // As the file has it: a job's own network may lack the leak or the bottle.
    let spec = &station_of(scenario)?.network;
    let theirs = |end: &str| VEHICLE.contains(&end) || end == BOTTLE;
    let outside = |end: &str| end == "ambient" || end == "vacuum";
    let joins = spec.elements.iter().filter(|element| {
        let ends = [element.from.as_str(), element.to.as_str()];
        ends.iter().any(|end| theirs(end)) && ends.iter().all(|end| theirs(end) || outside(end))
    });
    let volumes = spec.volumes.iter().map(|volume| &volume.name).filter(|name| theirs(name));
    Ok(volumes.chain(joins.map(|element| &element.name)).cloned().collect())
}

/// What comes to a standing station with the vehicle of a scenario's first job, worked out once: what its oil holds in equilibrium takes as long as
/// seconds of a service.
#[derive(Debug, Clone)]
pub struct Visit {
    /// The station's network with that vehicle.
    pub(super) spec: NetworkSpec,
    /// Names of what is the vehicle's.
    pub(super) names: BTreeSet<String>,
}

impl Visit {
    /// The visit of a scenario.
    ///
    /// # Errors
    /// As [`network_for`].
    pub fn of(scenario: &Scenario) -> Result<Self, RunError> {
        let spec = network_for(scenario, 0).map_err(RunError::Network)?;
        Ok(Self { spec, names: visitors(scenario).map_err(RunError::Network)? })
    }
}

/// At the plant's present time the vehicle that is there goes, and that of the job comes, as the file describes it. The couplers
/// stay as they stand: take them off before, and put on those that the next vehicle has. Signals and ids are to be found anew.
///
/// # Errors
/// As [`network_for`] and [`Plant::exchange`]; the plant is then as it was.
pub fn change_vehicle(plant: &mut Plant, scenario: &Scenario, job: usize) -> Result<Exchanged, RunError> {
    let next = network_for(scenario, job).map_err(RunError::Network)?;
    let theirs = visitors(scenario).map_err(RunError::Network)?;
    plant.exchange(&next, &|name| theirs.contains(name)).map_err(|why| RunError::Plant(why.to_string()))
}
