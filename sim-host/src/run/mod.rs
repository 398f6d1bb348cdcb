//! The one place where plant, instruments and controller meet: the run loop.
//!
//! Once a scan: plant to now, truth to frame, frame to core, outputs to plant. Nothing here decides anything.

mod act;
mod alone;
mod bind;
mod disturb;
mod error;
mod finish;
mod hold;
mod marks;
mod moves;
mod network;
mod operator;
mod options;
mod reach;
mod reasons;
mod record;
mod remote;
mod seams;
mod setup;
mod simulation;
pub mod words;

use std::time::Instant as Clock;

use valvewright_core::job::PhaseKind;

use crate::board::Remote;
use crate::scenario::Scenario;

pub use alone::PlantAlone;
pub use disturb::{Disturb, Scene};
pub use error::{NetworkFault, RunError};
pub use hold::{Hold, Holds};
pub use moves::Move;
pub use network::{network_of, station_of};
pub use operator::Hand;
pub use options::{Control, Progress, RunOptions, RunOutcome};
use seams::Seams;
pub use setup::{instrument_spec, station_config, station_name, vessel_rest, work_order};
pub use simulation::{Simulation, Stand};

/// Scans between two words to the caller.
const PROGRESS_EVERY: u64 = 2_000;

/// Runs a scenario to its end, or until `each` says stop.
pub fn run_scenario(
    scenario: &Scenario,
    options: &RunOptions,
    each: &mut dyn FnMut(Progress<'_>) -> Control,
) -> Result<RunOutcome, RunError> {
    complete(Simulation::new(scenario, options)?, &mut Seams::default(), each)
}

/// Runs a scenario with a board in place of the built-in core. Every scan is compared with the core on the host, to the last
/// bit of its state, so that what the result says of the controller holds for the board; a difference ends the run.
pub fn run_on_board(
    scenario: &Scenario,
    options: &RunOptions,
    board: &mut dyn Remote,
    each: &mut dyn FnMut(Progress<'_>) -> Control,
) -> Result<RunOutcome, RunError> {
    let simulation = Simulation::new(scenario, options)?;
    board.begin(simulation.station.config(), vessel_rest(scenario)).map_err(RunError::Board)?;
    complete(simulation, &mut Seams { board: Some(board), faults: None }, each)
}

/// Runs a scenario to its end, or until `each` says stop, with `faults` asked once a scan.
pub fn run_with_faults(
    scenario: &Scenario,
    options: &RunOptions,
    faults: &mut dyn Disturb,
    each: &mut dyn FnMut(Progress<'_>) -> Control,
) -> Result<RunOutcome, RunError> {
    complete(Simulation::new(scenario, options)?, &mut Seams { board: None, faults: Some(faults) }, each)
}

/// Runs it to its end, or until `each` says stop, and judges it.
fn complete(
    mut simulation: Simulation,
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
    Ok(simulation.judged(seams.board.as_deref(), wall, partial))
}
