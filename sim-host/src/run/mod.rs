//! The one place where plant, instruments and controller meet: the run loop.
//!
//! Once a scan: plant to now, truth to frame, frame to core, outputs to plant. Nothing here decides anything.

mod act;
mod alone;
mod ask;
mod bind;
mod channels;
mod codes;
mod control;
mod desk;
mod error;
mod finish;
mod history;
mod inject;
mod journal;
mod lacks;
mod marks;
mod moves;
mod network;
mod onwards;
mod operator;
mod options;
mod places;
mod reach;
mod reasons;
mod record;
mod row;
mod scan;
mod seams;
mod setup;
mod simulation;
pub mod store;
mod told;
mod turn;
mod visit;
pub mod words;

use std::time::Instant as Clock;

use valvewright_core::job::PhaseKind;

use crate::controller::Controller;
use crate::scenario::Scenario;

pub use crate::fault::{Hold, Holds};
pub use alone::PlantAlone;
pub use bind::OIL_DENSITY;
pub use desk::{EPOCH, Workshop, opened};
pub use error::{NetworkFault, RunError};
pub use lacks::missing_signals;
pub use moves::Move;
pub use network::{network_of, station_of};
pub use onwards::{Change, Served, Stock};
pub use operator::Hand;
pub use options::{Control, Progress, RunOptions, RunOutcome};
pub use places::places;
pub use seams::{Acts, Disturb, Observe, Platform, Scene, Seams, Seen};
pub use setup::{instrument_spec, kept, start, station_config, station_name, vessel_rest, work_order};
pub use simulation::{Simulation, Stand};
pub use store::Store;
pub use visit::{Visit, change_vehicle, network_for, visitors};

/// Scans between two words to the caller.
const PROGRESS_EVERY: u64 = 2_000;

/// Runs a scenario with the built-in controller to its end, or until `each` says stop.
pub fn run_scenario(
    scenario: &Scenario,
    options: &RunOptions,
    each: &mut dyn FnMut(Progress<'_>) -> Control,
) -> Result<RunOutcome, RunError> {
    complete(Simulation::new(scenario, options)?, &mut Seams::default(), each)
}

/// Runs a scenario with a controller of the caller's to its end, or until `each` says stop.
pub fn run_controller<C: Controller>(
    scenario: &Scenario,
    options: &RunOptions,
    controller: C,
    each: &mut dyn FnMut(Progress<'_>) -> Control,
) -> Result<RunOutcome, RunError> {
    complete(Simulation::with(scenario, options, controller)?, &mut Seams::default(), each)
}

/// Runs a scenario to its end, or until `each` says stop, with `faults` asked once a scan.
pub fn run_with_faults(
    scenario: &Scenario,
    options: &RunOptions,
    faults: &mut dyn Disturb,
    each: &mut dyn FnMut(Progress<'_>) -> Control,
) -> Result<RunOutcome, RunError> {
    let mut seams = Seams { faults: Some(faults), observer: None };
    complete(Simulation::new(scenario, options)?, &mut seams, each)
}

/// Runs a simulation with what sits at its seams to its end, or until `each` says stop, and judges it.
pub fn complete<C: Controller>(
    mut simulation: Simulation<C>,
    seams: &mut Seams<'_>,
    each: &mut dyn FnMut(Progress<'_>) -> Control,
) -> Result<RunOutcome, RunError> {
    let started = Clock::now();
    let partial = loop {
        match simulation.scan(seams)? {
            Stand::Running => {}
            Stand::Over => break false,
            Stand::Broken => break true,
        }
        if simulation.ticks.is_multiple_of(PROGRESS_EVERY) {
            let phase = simulation.phase().map(PhaseKind::name);
            let t_s = simulation.time();
            if each(Progress { t_s, share: simulation.share(), phase }) == Control::Stop {
                break true;
            }
        }
    };
    let wall = started.elapsed().as_secs_f64();
    Ok(simulation.judged(wall, partial))
}
