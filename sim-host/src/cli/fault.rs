//! `fault`: the catalogue, and one fault of it in full.

use super::output::{Exit, Refusal, print, print_json};
use super::{Global, Look};
use crate::fault::{self, FaultId, Injection, catalogue, text};
use crate::scenario::Scenario;
use crate::scenario::diagnostic::nearest;
use crate::scenario::parse_fault;

/// Lists the faults, or shows one.
pub fn fault(verb: &Look, global: Global) -> Result<Exit, Refusal> {
    match verb {
        Look::List if global.json => {
            print_json(&fault::injections().map(text::FaultRecord::from).collect::<Vec<_>>())?;
        }
        Look::List => print(&text::list())?,
        Look::Show { id } => {
            let found = find(id)?;
            if global.json {
                print_json(&text::FaultRecord::from(found))?;
            } else {
                print(&text::full(found))?;
            }
        }
    }
    Ok(Exit::Held)
}

/// A fault by its id.
pub(super) fn find(id: &str) -> Result<&'static Injection, Refusal> {
    FaultId::read(id).and_then(fault::find).ok_or_else(|| {
        let ids = catalogue::entries().iter().map(|one| one.id.as_str());
        let near = nearest(id, ids).map(|near| format!("nearest: {near}; ")).unwrap_or_default();
        let help = format!("{near}`valvewright fault list` shows F001 to F{:03}", catalogue::entries().len());
        Refusal::misuse(format!("the catalogue has no fault `{id}`")).with_help(help)
    })
}

/// Adds the faults of the command line to those of the file.
pub fn add(words: &[String], scenario: &mut Scenario) -> Result<(), Refusal> {
    for one in words {
        let (planned, job) = parse_fault::read_words(one).map_err(Refusal::file)?;
        match job.checked_sub(2) {
            None => scenario.faults.push(planned),
            Some(at) => match scenario.then.get_mut(at) {
                Some(later) => later.faults.push(planned),
                None => {
                    let jobs = 1 + scenario.then.len();
                    let wrong = Refusal::misuse(format!("--fault \"{one}\": there is no job {job}"));
                    return Err(wrong.with_help(format!("the scenario has {jobs}")));
                }
            },
        }
    }
    Ok(())
}
