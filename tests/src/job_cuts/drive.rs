//! Drives cuts through a whole job: single ones, pairs, power that comes and goes, and orders that are given anew after it.

use valvewright_core::talk::{Command, Notice};
use valvewright_core::token::{Part, Typed};
use valvewright_sim::flash::Cut;
use valvewright_sim::run::{Simulation, Stand, work_order};
use valvewright_sim::scenario::Scenario;

use super::{SHARES, Write, brown_out, codes_after, cut, dies, scan, starts, writes};
use crate::job_runs::scenario;

/// Scans that are looked at after a start: a second.
const SCANS: u32 = 20;
/// Of the starts, one in so many gets the order anew, and goes on to its end.
const ORDERED: u64 = 211;
/// Of the starts of an exchange, one in so many is typed its code, beside all those where the code was being counted, burnt or its life given.
const TYPED: u64 = 5;
/// No shipped order takes so long, s.
const ENDS: f64 = 4.0 * 3_600.0;

/// What was tried.
#[derive(Debug, Clone, Copy, Default)]
pub struct Count {
    /// Scans that write.
    pub writes: u64,
    /// Cuts, or pairs of them.
    pub points: u64,
    /// Starts that told an order that was broken off.
    pub interrupted: u64,
    /// Starts after which the code was found burnt, and refused.
    pub burnt: u64,
    /// Starts after which it was not, and taken once.
    pub fresh: u64,
    /// Orders given anew that were met, and others that ended with their reason.
    pub ended: [u64; 2],
}

/// Cuts at every step of every write of a job, with so many shares of each step in turn, all of them where a code is written.
///
/// # Errors
/// What is wrong, in words.
pub fn singles(name: &str, shares: usize, code: Option<Typed>) -> Result<Count, String> {
    let (scenario, mut count) = (scenario(name, &[], ""), Count::default());
    writes(&scenario, &mut |write| {
        count.writes += 1;
        let shares = if write.is_of_codes() { SHARES.len() } else { shares };
        for step in 0..write.steps {
            for at in 0..shares {
                let share = SHARES[(step as usize + count.writes as usize + at) % SHARES.len()];
                count.points += 1;
                single(write, Cut { after: step, share }, code, &scenario, &mut count)
                    .map_err(|wrong| format!("cut after {step} of {} steps, {share:?}: {wrong}", write.steps))?;
            }
        }
        Ok(())
    })?;
    Ok(count)
}

fn single(
    write: &Write,
    Cut { after, share }: Cut,
    code: Option<Typed>,
    scenario: &Scenario,
    count: &mut Count,
) -> Result<(), String> {
    let (run, told) = cut(write, after, share, SCANS)?;
    count.interrupted += u64::from(!told.interrupted.is_empty());
    if let Some(code) = code
        && (write.is_of_codes() || count.points.is_multiple_of(TYPED))
    {
        let burnt = codes_after(&run, &told, Part::FilterDrier, code)?;
        count.burnt += u64::from(burnt);
        count.fresh += u64::from(!burnt);
    }
    if count.points.is_multiple_of(ORDERED) {
        let met = finishes(run, scenario)?;
        count.ended[0] += u64::from(met == Some(true));
        count.ended[1] += u64::from(met == Some(false));
    }
    Ok(())
}

/// The order is given anew, and ends by its rules, or is not taken, with its reason. None where the run was over with the order that was cut.
fn finishes(mut run: Simulation, scenario: &Scenario) -> Result<Option<bool>, String> {
    let (order, latest) = (work_order(scenario), run.time() + ENDS);
    let (mut given, mut end) = (false, None);
    while end.is_none() && run.stand() == Stand::Running {
        if run.time() > latest {
            return Err("the order that was given anew comes to no end".into());
        }
        let give = |scene: &mut valvewright_sim::run::Scene<'_>| {
            if !std::mem::replace(&mut given, true) {
                scene.operator.command = Some(Command::Start { id: 99, order: order.clone() });
            }
        };
        scan(&mut run, give, |seen| {
            end = seen.notices.iter().find_map(|one| match one {
                Notice::OrderEnded(well) => Some(*well),
                Notice::Refused(_) if !seen.core.is_some_and(|core| core.job().busy()) => Some(false),
                _ => None,
            });
        })?;
    }
    Ok(end)
}

/// A cut at every `stride`th step of the writes that are more than a running minute, and after each a second one at every step of the start and of
/// its first write.
///
/// # Errors
/// What is wrong, in words.
pub fn pairs(name: &str, stride: usize) -> Result<Count, String> {
    let mut count = Count::default();
    writes(&scenario(name, &[], ""), &mut |write| {
        // A state of number 0, which a station has for one scan of its life, is not told from none.
        if !write.is_rare() || write.old.number == 0 {
            return Ok(());
        }
        count.writes += 1;
        for after in (count.writes % stride as u64..write.steps).step_by(stride) {
            let first = Cut { after, share: SHARES[(after as usize + count.writes as usize) % SHARES.len()] };
            let dead = dies(&write.run, first, &write.old)?;
            for after in 0..dead.start_steps()? {
                count.points += 1;
                let second = Cut { after, share: SHARES[(after + count.points / 7) as usize % SHARES.len()] };
                let twice = dead.dies_again(second, 1).and_then(|dead| starts(&dead, 2));
                let (_, told) = twice.map_err(|wrong| format!("{first:?}, then {second:?}: {wrong}"))?;
                count.interrupted += u64::from(!told.interrupted.is_empty());
            }
        }
        Ok(())
    })?;
    Ok(count)
}

/// Power that goes in every `every`th write of a job and comes back twenty times, for 50 ms to 2 s, before it stays: with the flash at rest, and
/// with a cut in each start.
///
/// # Errors
/// What is wrong, in words.
pub fn brown_outs(name: &str, every: u64) -> Result<Count, String> {
    let mut count = Count::default();
    writes(&scenario(name, &[], ""), &mut |write| {
        count.writes += 1;
        if !count.writes.is_multiple_of(every) && !write.is_of_codes() || write.old.number == 0 {
            return Ok(());
        }
        let first = Cut { after: count.writes * 5 % write.steps, share: SHARES[count.writes as usize % SHARES.len()] };
        let dead = dies(&write.run, first, &write.old)?;
        for spell in [(1, 1), (2, 1), (3, 10), (20, 20), (40, 40)] {
            for cut in [false, true] {
                count.points += 1;
                let plan = |round: u32| {
                    let share = SHARES[(round + spell.0) as usize % SHARES.len()];
                    cut.then_some(Cut { after: u64::from(round * 7 + spell.1) % 90, share })
                };
                let (_, told) = brown_out(&dead, 20, spell, plan)
                    .map_err(|wrong| format!("{spell:?} scans, cut in each start: {cut}: {wrong}"))?;
                count.interrupted += u64::from(!told.interrupted.is_empty());
            }
        }
        Ok(())
    })?;
    Ok(count)
}
