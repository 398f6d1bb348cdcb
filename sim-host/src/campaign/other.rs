//! A run that another controller than the core drives, from its beginning to its end: judged by what is on and by the plant's truth, for nothing
//! else is known of it.
//!
//! Promises: a run ends as one of the core does, but for what only the core can tell: without a step or a held job to see, it stands still when
//! nothing but the fan was on for so long.

use valvewright_core::frame::Actuators;
use valvewright_core::row::RowSet;
use valvewright_core::units::Millis;

use super::case::Case;
use super::course::{Course, HALF, since};
use super::one::{Fate, LONGEST, quiet_for};
use crate::board::Outside;
use crate::controller::Controller;
use crate::report::data::Verdict;
use crate::run::{RunError, RunOptions, Simulation, Stand};
use crate::scenario::Scenario;

/// How long a program may take for an answer, ms of the wall clock (own choice): so long that a busy machine makes no finding.
const PATIENCE: Millis = Millis(60_000);

/// Starts the program and takes the job to its end; its faults are in the scenario.
///
/// # Errors
/// The program cannot be had, or a fault cannot come in this job.
pub fn drive(command: &str, case: &Case, scenario: &Scenario, options: &RunOptions) -> Result<Course, RunError> {
    let program = Outside::program(command, PATIENCE).map_err(RunError::Board)?;
    to_the_end(case, Simulation::with(scenario, options, program)?, scenario)
}

fn to_the_end<C: Controller>(case: &Case, mut run: Simulation<C>, of: &Scenario) -> Result<Course, RunError> {
    let still = quiet_for(&of.order);
    let mut began = case.first();
    let (mut safe_after, mut quiet_since) = (None, 0.0);
    let fate = loop {
        let t = run.time();
        let stand = run.step()?;
        if case.on_condition() && began.is_none() && run.faults_acting().contains(&true) {
            began = Some(t);
        }
        let on = run.outputs().on.without(Actuators::SAFE);
        if on != Actuators::NONE || t < case.last() {
            quiet_since = t;
        }
        if let Some(began) = began.filter(|began| safe_after.is_none() && t >= *began - HALF)
            && on == Actuators::NONE
        {
            safe_after = Some(since(began, t));
        }
        match stand {
            Stand::Broken => break Fate::Broken,
            Stand::Over => break Fate::Ended,
            Stand::Running if t - quiet_since > still => break Fate::Stands,
            Stand::Running if !case.faults.is_empty() && t - case.last() > LONGEST => break Fate::Goes,
            Stand::Running => {}
        }
    };
    let hazards = run.hazards().map(|all| all.results()).unwrap_or_default();
    let (hash, scans, end_s) = (run.hash(), run.scans(), run.time());
    let result = run.finish().result;
    // Time that ran out ends a run, and not its order.
    let fate = if fate == Fate::Ended && result.verdict == Verdict::Unfinished { Fate::Goes } else { fate };
    Ok(Course {
        fate,
        result,
        hazards,
        hash,
        scans,
        end_s,
        scan_s: of.station.scan,
        safe_after,
        reaction: None,
        rest: None,
        acted: RowSet::NONE,
    })
}
