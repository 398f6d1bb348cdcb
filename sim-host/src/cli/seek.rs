//! What the searches of `search` share: the job of a plan, a hazard by its id, how a broken recipe is told.

use std::sync::atomic::AtomicBool;

use super::campaign_refusal::refusal;
use super::input;
use super::output::{Exit, Refusal};
use crate::campaign::{Runs, plan};
use crate::hazard::Id;
use crate::run::RunError;

/// Set by Ctrl-C: what was found by then is told.
pub static STOP: AtomicBool = AtomicBool::new(false);
/// What stands under every answer.
pub const CAUTION: &str =
    "True of the simulator and of this plan; an uncertified design. What a search does not find may be there.\n";

/// The runs of a plan, of which a search takes the job and the faults.
pub fn plan_of(name: &str) -> Result<Runs, Refusal> {
    Runs::new(plan::read(&input::plan(name)?).map_err(Refusal::file)?).map_err(refusal)
}

/// A hazard by its id.
pub fn hazard(word: &str) -> Result<Id, Refusal> {
    let found = Id::EVERY.into_iter().find(|id| id.word().eq_ignore_ascii_case(word));
    let unknown = || Refusal::misuse(format!("--hazard {word}: there is no such hazard"));
    found.ok_or_else(|| unknown().with_help("accepted: H01 to H25"))
}

/// Threads that are asked for, or one for each processor.
pub fn threads(asked: Option<u32>) -> usize {
    asked.map_or_else(|| std::thread::available_parallelism().map_or(1, usize::from), |n| n as usize)
}

/// A run that should have gone and did not.
pub fn ours(wrong: &RunError) -> Refusal {
    Refusal::ours(wrong.to_string())
}

/// A recipe that does not do again what its fork did is a fault of ours; the answer was told by then.
pub fn differs(replay: &str) -> Exit {
    eprintln!("valvewright: a fault of the program: from its beginning this does not do what its fork did: {replay}");
    Exit::OurFault
}
