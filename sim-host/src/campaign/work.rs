//! Threads over shards: each takes the next one that is not there yet.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;

use super::error::CampaignError;
use super::folder::Folder;
use super::runs::Runs;
use super::shard::Maker;

/// Which shards a process makes: number `which` (from 1) of `of` processes takes every so manieth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Part {
    /// Which, from 1.
    pub which: u64,
    /// Of how many.
    pub of: u64,
}

impl Part {
    /// All of them.
    pub const ALL: Self = Self { which: 1, of: 1 };

    /// Its shards.
    pub fn shards(self, runs: &Runs) -> impl Iterator<Item = u64> {
        (self.which.saturating_sub(1)..runs.shards()).step_by(self.of.max(1) as usize)
    }
}

/// What is told on the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Told {
    /// So many runs stand in shards that were there already.
    There(u64),
    /// A run was done.
    Run,
    /// A shard of so many runs is whole.
    Shard(u64),
}

/// Makes the shards of a part in so many threads. Where `stop` is set, shards in hand are given up.
///
/// # Errors
/// A run failed for a reason of ours, or a shard could not be written. What is whole stays.
pub fn work(
    runs: &Runs,
    folder: &Folder,
    part: Part,
    threads: usize,
    stop: &AtomicBool,
    each: &mut dyn FnMut(Told),
) -> Result<(), CampaignError> {
    let mut there = 0;
    let missing: Vec<u64> = part
        .shards(runs)
        .filter(|number| {
            let has = folder.has(*number);
            there += if has { folder.head.rows_of(*number) } else { 0 };
            !has
        })
        .collect();
    each(Told::There(there));
    let (maker, next, (tell, hear)) = (Maker::new(runs), AtomicUsize::new(0), mpsc::channel());
    let broken = AtomicBool::new(false);
    std::thread::scope(|scope| {
        for _ in 0..threads.max(1) {
            let (tell, next, maker, missing, broken) = (tell.clone(), &next, &maker, &missing, &broken);
            scope.spawn(move || {
                // Who listens goes only when all is done.
                let run = || drop(tell.send(Ok(Told::Run)));
                while !stop.load(Ordering::Relaxed) && !broken.load(Ordering::Relaxed) {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let Some(number) = missing.get(at).copied() else { return };
                    let made = maker.shard(number, stop, &run);
                    let done = made.and_then(|rows| {
                        let Some(rows) = rows else { return Ok(None) };
                        folder.write(runs, number, &rows)?;
                        Ok(Some(Told::Shard(rows.len() as u64)))
                    });
                    match done {
                        Ok(None) => return,
                        Ok(Some(told)) => drop(tell.send(Ok(told))),
                        Err(why) => {
                            broken.store(true, Ordering::Relaxed);
                            drop(tell.send(Err(why)));
                            return;
                        }
                    }
                }
            });
        }
        drop(tell);
        let mut first = Ok(());
        while let Ok(told) = hear.recv() {
            match told {
                Ok(told) => each(told),
                Err(why) if first.is_ok() => first = Err(why),
                Err(_) => {}
            }
        }
        first
    })
}
