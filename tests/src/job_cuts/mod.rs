//! Whole jobs in which power goes at any step of the flash that keeps the station's state: what a start finds, says and does after it.
//!
//! Promises: each cut is made in a copy of the run, so that no cut knows of another; what a start may find is reckoned from the run alone.

mod after;
mod codes;
mod drive;

use valvewright_core::kept::{Boot, Kept, Memory, OWED, Proof};
use valvewright_core::order::Task;
use valvewright_core::talk::{Command, Notice, Question};
use valvewright_core::token::Used;
use valvewright_sim::flash::{Cut, Share};
use valvewright_sim::run::{RunOptions, Scene, Seams, Seen, Simulation, Stand};
use valvewright_sim::scenario::Scenario;

pub use after::{Dead, brown_out, dies, lives, starts};
pub use codes::codes_after;
pub use drive::{Count, brown_outs, pairs, singles};

/// How much of the step in hand is done when power goes.
pub const SHARES: [Share; 5] = [Share::Nothing, Share::Some, Share::AllBut, Share::All, Share::Scattered];
/// What is no more than what a start may lag behind a running charge, g: the step in which it is kept, and what flows in two scans.
pub const CHARGE_LAGS: f64 = 10.0 + 2.5;

/// A run that is about to make a scan in which the flash is written.
#[derive(Clone)]
pub struct Write {
    /// Before that scan.
    pub run: Simulation,
    /// Steps of the flash that the scan takes.
    pub steps: u64,
    /// What was acknowledged before it.
    pub old: Kept,
    /// What is to be stored in it.
    pub new: Kept,
    /// A person was told to open the pipes.
    pub loosened: bool,
}

impl Write {
    /// More changes than what runs on by itself: minutes, clock and pump.
    pub fn is_rare(&self) -> bool {
        let Kept { number, clock, minutes, pump_oil, drier, .. } = self.new.clone();
        let same = Kept { number, clock, minutes, pump_oil, drier, ..self.old.clone() };
        same != self.new
    }

    /// A code is counted, burnt, or its life given.
    pub fn is_of_codes(&self) -> bool {
        let of = |kept: &Kept| (kept.used_codes, kept.wrong_codes, kept.unlocking);
        of(&self.old) != of(&self.new)
    }
}

/// Holds two states of one run against each other: no counter falls but by a new life, no code comes back.
///
/// # Errors
/// What fell.
pub fn falls(before: &Kept, after: &Kept, exchanged: bool) -> Result<(), String> {
    let lower = |what: &str, was: u32, now: u32| {
        if now < was { Err(format!("{what} fell from {was} to {now}")) } else { Ok(()) }
    };
    if !exchanged {
        lower("WQI-1", before.drier.0.cast_unsigned(), after.drier.0.cast_unsigned())?;
        lower("KQI-1", before.pump_oil, after.pump_oil)?;
        lower("tries of codes", u32::from(before.wrong_codes), u32::from(after.wrong_codes))?;
    }
    lower("KT-1", before.clock, after.clock)?;
    lower("minutes", before.minutes, after.minutes)?;
    for (was, now) in before.used_codes.iter().zip(&after.used_codes) {
        if was != now && *was != Used::NONE && !exchanged {
            return Err(format!("used codes were {was:?} and are {now:?}"));
        }
    }
    Ok(())
}

/// Runs a scenario to its end and calls `each` before each scan that writes.
///
/// # Errors
/// What is wrong with the run itself, or what `each` says.
pub fn writes(scenario: &Scenario, each: &mut dyn FnMut(&Write) -> Result<(), String>) -> Result<Simulation, String> {
    let mut run = Simulation::new(scenario, &RunOptions::BARE).map_err(|why| why.to_string())?;
    let Memory::Sound(mut old) = found(&run) else { return Err("the run begins without a store".into()) };
    let mut loosened = false;
    let mut stand = Stand::Running;
    while stand == Stand::Running {
        let before = run.fork();
        let mut heard = Vec::new();
        let mut see = |seen: &Seen<'_>| heard.extend_from_slice(seen.notices);
        stand = run.scan(&mut Seams { faults: None, observer: Some(&mut see) }).map_err(|why| why.to_string())?;
        let steps = run.store().chip().counts().steps - before.store().chip().counts().steps;
        let new = run.station().kept().clone();
        if run.store().stored() != new.number {
            return Err(format!("at {} s the store did not take {new:?}", run.time()));
        }
        let exchanged = heard.iter().any(|one| matches!(one, Notice::Exchanged(..)));
        falls(&old, &new, exchanged || new.unlocking != old.unlocking)?;
        if steps > 0 {
            let write = Write { run: before, steps, old: old.clone(), new: new.clone(), loosened };
            each(&write).map_err(|wrong| format!("in the scan at {:.2} s: {wrong}", write.run.time()))?;
        }
        for one in &heard {
            if let Notice::Asked(asked) = one
                && asked.question == Question::Task(Task::ChangeDrier)
            {
                if old.due[Proof::InternalLeak as usize] != OWED {
                    return Err("a part is to be loosened, and the leak check is not owed in the store".into());
                }
                loosened = true;
            }
        }
        old = new;
    }
    Ok(run)
}

/// What a start that was cut off finds, and what it says in its first seconds.
#[derive(Debug, Clone, Default)]
pub struct Told {
    /// Everything told.
    pub notices: Vec<Notice>,
    /// The order and what it had charged, mg.
    pub interrupted: Vec<(u16, i32)>,
    /// The state that the start found.
    pub found: Kept,
    /// One of these is in the store at the end.
    pub states: Vec<Kept>,
}

/// Cuts a write at one step, lets the station be without power, starts it, and looks on for a while.
///
/// # Errors
/// What is wrong, in words.
pub fn cut(write: &Write, step: u64, share: Share, scans: u32) -> Result<(Simulation, Told), String> {
    let dead = dies(&write.run, Cut { after: step, share }, &write.old)?;
    let (run, told) = starts(&dead, scans)?;
    owed(write, &told)?;
    charge_told(write, &told)?;
    Ok((run, told))
}

/// Pipes that a person was told to open are owed their proof.
fn owed(write: &Write, told: &Told) -> Result<(), String> {
    let of = |kept: &Kept| kept.due[Proof::InternalLeak as usize];
    if write.loosened && of(&write.old) == OWED && of(&told.found) != OWED && of(&told.found) != of(&write.new) {
        return Err("the leak check that was owed is not any more".into());
    }
    Ok(())
}

/// An order that was interrupted is told, with what it had charged.
fn charge_told(write: &Write, told: &Told) -> Result<(), String> {
    let wanted: Vec<(u16, i32)> =
        (told.found.order != 0).then_some((told.found.order, told.found.charged.0)).into_iter().collect();
    if told.interrupted != wanted {
        return Err(format!("{:?} was told of an order, {wanted:?} was found", told.interrupted));
    }
    let job = write.run.station().job();
    if let (true, Some((_, charged))) = (job.busy(), wanted.first()) {
        let lag = f64::from(job.ledger.charged().0 - charged).abs() * 1e-3;
        if lag > CHARGE_LAGS {
            return Err(format!("{lag:.1} g of the charge are not told"));
        }
    }
    Ok(())
}

/// What a store gives to a start, read from a copy of it.
pub fn found(run: &Simulation) -> Memory {
    run.store().clone().read()
}

/// One scan with this done before it, and what was told in it. It is made though the order may be over: no station is left in the dark.
pub(crate) fn scan(
    run: &mut Simulation,
    mut before: impl FnMut(&mut Scene<'_>),
    mut see: impl FnMut(&Seen<'_>),
) -> Result<(), String> {
    run.go_on();
    run.scan(&mut Seams { faults: Some(&mut before), observer: Some(&mut see) }).map_err(|why| why.to_string())?;
    Ok(())
}

/// The machine is without power in this scan.
pub(crate) fn unpowered(scene: &mut Scene<'_>) {
    scene.platform.unpowered = true;
    scene.platform.stalled = true;
    scene.platform.rail_lost = true;
}

/// The machine starts in this scan.
pub(crate) fn boots(scene: &mut Scene<'_>) {
    scene.platform.restart = Some(Boot::PowerOn);
}

/// Whether an order was given in a scan.
pub(crate) fn ordered(command: Option<&Command>) -> bool {
    matches!(command, Some(Command::Start { .. }))
}
