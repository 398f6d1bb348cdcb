//! A station that loses its power in a write, is off, and starts again: once, or again and again.

use valvewright_core::frame::Actuators;
use valvewright_core::kept::{Kept, Memory};
use valvewright_core::row::RowId;
use valvewright_core::talk::Notice;
use valvewright_sim::flash::Cut;
use valvewright_sim::run::{Simulation, Stand};

use super::{Told, boots, falls, found, ordered, scan, unpowered};

/// For how long power is off, scans: a second.
const OFF: u32 = 20;
/// Scans in which a store that works has taken what it is given, however often it had to try: a second.
const ANSWERS: u32 = 20;

/// A station without power, and what its store may hold.
#[derive(Clone)]
pub struct Dead {
    /// The run, before the scan in which power is back.
    pub run: Simulation,
    /// One of these is in the store.
    pub states: Vec<Kept>,
}

/// Power goes in the next scan, when the flash has done so much. `old` was acknowledged before it.
///
/// # Errors
/// Power did not go.
pub fn dies(before: &Simulation, cut: Cut, old: &Kept) -> Result<Dead, String> {
    let mut run = before.fork();
    let break_it = |scene: &mut valvewright_sim::run::Scene<'_>| {
        scene.store.chip_mut().reseed(cut.after ^ 0x5EED);
        scene.store.chip_mut().cut(cut);
    };
    scan(&mut run, break_it, |_| {})?;
    if !run.store().is_off() {
        return Err("power did not go".into());
    }
    let new = run.station().kept().clone();
    let states = if run.store().stored() == new.number { vec![new] } else { vec![old.clone(), new] };
    Ok(Dead { run: off(run, OFF)?, states })
}

fn off(mut run: Simulation, scans: u32) -> Result<Simulation, String> {
    for at in 0..scans {
        let mut on = Actuators::NONE;
        scan(&mut run, unpowered, |seen| on = seen.outputs.dropped.leave(seen.outputs.on))?;
        if !on.is_empty() {
            return Err(format!("{on:?} on in scan {at} without power"));
        }
    }
    Ok(run)
}

/// What the store gives, which must be one of these, and the same to whoever looks again.
fn reads(dead: &Dead) -> Result<Kept, String> {
    match found(&dead.run) {
        Memory::Sound(kept) if dead.states.contains(&kept) => Ok(kept),
        other => Err(format!("the start found {other:?}, which is none of {:?}", dead.states)),
    }
}

/// Power is back: one start, and so many scans after it.
///
/// # Errors
/// What is wrong, in words.
pub fn starts(dead: &Dead, scans: u32) -> Result<(Simulation, Told), String> {
    let found = reads(dead)?;
    let mut told = Told { states: vec![found.clone()], found, ..Told::default() };
    let mut run = dead.run.fork();
    let mut given = false;
    for at in 0..=scans {
        let (mut on, mut heard) = (Actuators::NONE, Vec::new());
        let before = |scene: &mut valvewright_sim::run::Scene<'_>| {
            if at == 0 {
                boots(scene);
            }
            given |= ordered(scene.operator.command.as_ref());
        };
        scan(&mut run, before, |seen| {
            on = seen.outputs.on;
            heard.extend_from_slice(seen.notices);
        })?;
        if !given && !on.without(Actuators::SAFE).is_empty() {
            return Err(format!("{on:?} on in scan {at} after the start, and nobody ordered anything"));
        }
        told.interrupted.extend(heard.iter().filter_map(|one| match one {
            Notice::Interrupted(order, charged) => Some((*order, charged.0)),
            _ => None,
        }));
        told.notices.extend(heard);
        told.states.push(run.station().kept().clone());
        if run.stand() == Stand::Broken {
            break;
        }
    }
    let exchanged = told.notices.iter().any(|one| matches!(one, Notice::Exchanged(..)));
    let now = run.station().kept();
    falls(&told.found, now, exchanged || now.unlocking != told.found.unlocking)?;
    for row in told.found.latched.iter() {
        let cleared = told.notices.iter().any(|one| matches!(one, Notice::Cleared(of) if *of == row));
        if !now.latched.has(row) && !cleared {
            return Err(format!("the latch of {row} did not outlive the cut"));
        }
    }
    if run.store().stored() == now.number {
        lives(&run)?;
        told.states = vec![now.clone()];
    } else if scans >= ANSWERS {
        let state = run.store().look(|store| {
            let tried = store.put(1, &valvewright_core::record::state::encode(now));
            format!("power {}, {:?}, {:?}, tried: {tried:?}", store.flash().is_on(), store.found(), store.health())
        });
        let stored = run.store().stored();
        return Err(format!("the store holds {stored} and does not take {} after the start: {state}", now.number));
    }
    Ok((run, told))
}

/// What was stored since is what one more start finds.
///
/// # Errors
/// It is not.
pub fn lives(run: &Simulation) -> Result<(), String> {
    match found(run) {
        Memory::Sound(kept) if kept == *run.station().kept() => Ok(()),
        other => Err(format!("one start later {other:?}, stored was {:?}", run.station().kept())),
    }
}

impl Dead {
    /// Steps of the flash that the start and the first write after it take.
    ///
    /// # Errors
    /// What is wrong with that start.
    pub fn start_steps(&self) -> Result<u64, String> {
        let mut run = self.run.fork();
        scan(&mut run, boots, |_| {})?;
        Ok(run.store().chip().counts().steps - self.run.store().chip().counts().steps)
    }

    /// Power goes once more in the start, or in the first write after it.
    ///
    /// # Errors
    /// What is wrong, in words.
    pub fn dies_again(&self, cut: Cut, off_for: u32) -> Result<Self, String> {
        let mut run = self.run.fork();
        let found = reads(self)?;
        let break_it = |scene: &mut valvewright_sim::run::Scene<'_>| {
            scene.store.chip_mut().reseed(cut.after ^ 0xD1CE);
            scene.store.cut_start(cut);
            boots(scene);
        };
        scan(&mut run, break_it, |_| {})?;
        let now = run.station().kept().clone();
        // A start that was cut off while it read has found nothing that it could go on from.
        let states = match run.store().stored() {
            stored if stored == now.number => vec![now],
            stored if stored == found.number => vec![found, now],
            _ => self.states.clone(),
        };
        Ok(Self { run: off(run, off_for)?, states })
    }
}

/// Power that comes and goes: on and off for so many scans in turn, `rounds` times, with a cut in the flash's steps of each start where `cut` says
/// so; then it stays.
///
/// # Errors
/// What is wrong, in words.
pub fn brown_out(
    dead: &Dead,
    rounds: u32,
    (on, off_for): (u32, u32),
    mut cut: impl FnMut(u32) -> Option<Cut>,
) -> Result<(Simulation, Told), String> {
    let mut now = dead.clone();
    for round in 0..rounds {
        now = match cut(round) {
            Some(cut) => now.dies_again(cut, off_for)?,
            None => {
                let (run, told) = starts(&now, on.saturating_sub(1))?;
                Dead { run: off(run, off_for)?, states: told.states }
            }
        };
    }
    let (run, told) = starts(&now, 20)?;
    // Whoever is there when power stays has heard none of the starts before.
    if dead.states.iter().all(|kept| kept.order != 0) && told.interrupted.is_empty() {
        return Err("the order that was broken off is not told any more when power stays".into());
    }
    let tripped = run.station().interlocks().tripped().or(run.station().interlocks().latched());
    if cut(0).is_none() && !tripped.has(RowId::I30) {
        return Err(format!("{rounds} starts in a row, and I30 says nothing"));
    }
    Ok((run, told))
}
