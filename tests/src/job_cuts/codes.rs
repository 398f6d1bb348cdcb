//! What becomes of a code that is typed after a power cut: burnt is refused, fresh is taken once.

use valvewright_core::talk::{Command, Notice};
use valvewright_core::token::{CodeFault, Part, Typed, Used};
use valvewright_sim::run::Simulation;

use super::{Told, scan};

/// Scans in which the answer to a code has to come: a second.
const ANSWERS: u32 = 20;

fn typed(run: &mut Simulation, part: Part, code: Typed) -> Result<Vec<Notice>, String> {
    let mut heard = Vec::new();
    for at in 0..ANSWERS {
        let give = |scene: &mut valvewright_sim::run::Scene<'_>| {
            scene.operator.command = (at == 0).then_some(Command::Exchanged { part, code });
        };
        scan(run, give, |seen| heard.extend_from_slice(seen.notices))?;
    }
    Ok(heard)
}

/// Types the code of the exchange after a start: what the store holds as burnt is not taken, what it does not is taken once.
/// Returns whether it was burnt.
///
/// # Errors
/// What is wrong, in words.
pub fn codes_after(run: &Simulation, told: &Told, part: Part, code: Typed) -> Result<bool, String> {
    let is_taken = |heard: &[Notice]| heard.iter().any(|one| matches!(one, Notice::Exchanged(..)));
    let is_used = |heard: &[Notice]| heard.contains(&Notice::CodeRefused(part, CodeFault::UsedBefore));
    // What the operator's plan typed in the meantime counts too.
    let burnt = run.station().kept().used_codes != [Used::NONE; 3];
    let mut run = run.fork();
    let heard = typed(&mut run, part, code)?;
    if burnt == is_taken(&heard) || burnt != is_used(&heard) {
        return Err(format!("burnt {burnt}, and typed after the start it is told {heard:?}"));
    }
    let again = typed(&mut run, part, code)?;
    if is_taken(&again) || !is_used(&again) {
        return Err(format!("typed twice after the start, it is told {again:?}"));
    }
    if told.found.unlocking.is_some() && run.station().kept().unlocking.is_none() {
        return Err("a part that is owed a life was unlocked by a code that is burnt".into());
    }
    Ok(burnt)
}
