//! The scenario of one fault, run, and how long its reaction took in it: from the fault's first scan to the first in which all that is asked
//! for is so.

use crate::fault::{FaultId, Planned};
use crate::logic::Standing;
use crate::report::data::RunResult;
use crate::run::{RunError, RunOptions, Simulation, Stand};
use crate::scenario::Scenario;

/// What a scenario's property of this name asks for is the reaction.
pub const NAME: &str = "reaction";

/// What came of a fault's scenario.
#[derive(Clone, Debug)]
pub struct Reaction {
    /// The run.
    pub result: RunResult,
    /// When the fault began, s; none where it never did.
    pub began_s: Option<f64>,
    /// From there to the reaction, s; none where it did not come, or where the property is not of the kind that has a time.
    pub after_s: Option<f64>,
    /// Rows that tripped from then on, in order.
    pub rows: Vec<String>,
}

/// What has to be so within a time, in a property `whenever fault F003 acts then within 30 s (C-1 is off)`.
pub fn asked(formula: &str) -> Option<&str> {
    let rest = formula.strip_prefix("whenever fault ")?;
    let (_, rest) = rest.split_once(" acts then within ")?;
    let (_, rest) = rest.split_once(" (")?;
    rest.strip_suffix(')')
}

/// Runs the scenario of `fault`.
///
/// # Errors
/// As [`Simulation::new`], or what is asked for cannot be looked at.
pub fn reaction(scenario: &Scenario, fault: FaultId, options: &RunOptions) -> Result<Reaction, RunError> {
    let mut run = Simulation::new(scenario, options)?;
    let formula = scenario.properties.iter().find(|one| one.name == NAME).map(|one| one.formula.as_str());
    let mut standing: Option<Standing> = formula.and_then(asked).map(|text| run.condition(text)).transpose()?;
    let place = scenario.faults.iter().position(|planned: &Planned| planned.id == fault);
    let (mut began_s, mut after_s) = (None, None);
    loop {
        let (t, stand) = (run.time(), run.step()?);
        if began_s.is_none() && place.is_some_and(|at| run.faults_acting().get(at) == Some(&true)) {
            began_s = Some(t);
        }
        if let (Some(began), Some(asked)) = (began_s, standing.as_mut())
            && run.is_so(asked)
        {
            after_s = Some(t - began);
            standing = None;
        }
        if stand != Stand::Running {
            break;
        }
    }
    let result = run.finish().result;
    let since = began_s.unwrap_or(0.0) - 1e-6;
    let mut rows: Vec<String> = Vec::new();
    for one in result.interlocks.iter().filter(|one| one.t_s >= since) {
        if !rows.contains(&one.id) {
            rows.push(one.id.clone());
        }
    }
    Ok(Reaction { result, began_s, after_s, rows })
}
