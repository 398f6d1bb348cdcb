//! The one campaign that may be under way: begun, heard of, stopped, its outcome kept until the next.
//!
//! Promises: it runs in threads of its own and leaves the run at hand a processor where there are several; it goes on though its page is gone;
//! a second is refused while one is under way; one that was stopped has no outcome.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;

use serde_json::{Value, json};

use super::altered::Altered;
use super::campaign::Campaign;
use super::outcome::{self, Outcome};
use super::start::Start;

/// One that runs.
struct Going {
    stop: Arc<AtomicBool>,
    known: Arc<AtomicUsize>,
    of: usize,
    thread: JoinHandle<Result<Option<Outcome>, String>>,
}

/// How it stands.
#[derive(Default)]
enum Stand {
    /// Nobody asked yet.
    #[default]
    Idle,
    Runs(Going),
    Over(Arc<Outcome>),
    /// So many runs were known, of so many.
    Stopped(usize, usize),
    Broken(String),
}

/// The campaign.
#[derive(Default)]
pub struct Underway {
    now: Mutex<(u32, Stand)>,
}

impl Underway {
    /// What it stands at, an end that came since included. Rises with each that was begun.
    fn now(&self) -> MutexGuard<'_, (u32, Stand)> {
        // Nothing is half done in it where a thread ended badly.
        let mut now = self.now.lock().unwrap_or_else(PoisonError::into_inner);
        if matches!(&now.1, Stand::Runs(going) if going.thread.is_finished()) {
            Self::settle(&mut now.1);
        }
        now
    }

    /// Waits for the end of one that runs.
    fn settle(stand: &mut Stand) {
        let Stand::Runs(going) = std::mem::take(stand) else { return };
        let (known, of) = (going.known.load(Ordering::Relaxed), going.of);
        *stand = match going.thread.join() {
            Ok(Ok(Some(found))) => Stand::Over(Arc::new(found)),
            Ok(Ok(None)) => Stand::Stopped(known, of),
            Ok(Err(why)) => Stand::Broken(why),
            Err(_) => Stand::Broken("it stopped by a fault of the program".to_owned()),
        };
    }

    /// Plans it and begins it where that is wanted; what it will do.
    ///
    /// # Errors
    /// As [`Campaign::of`], or one is under way.
    pub fn asked(
        &self,
        start: &Start,
        at_hand: &Altered,
        (row, faults): (&str, &str),
        begins: bool,
    ) -> Result<Value, String> {
        if begins {
            drop(self.free()?);
        }
        let campaign = Campaign::of(start, at_hand, row, faults)?;
        let told = campaign.told();
        if begins {
            self.begin(campaign)?;
        }
        Ok(told)
    }

    fn free(&self) -> Result<MutexGuard<'_, (u32, Stand)>, String> {
        let now = self.now();
        if let Stand::Runs(going) = &now.1 {
            let (known, of) = (going.known.load(Ordering::Relaxed), going.of);
            return Err(format!(
                "a campaign is under way, {known} of {of} runs are done: wait for its end, or stop it"
            ));
        }
        Ok(now)
    }

    /// Begins it.
    ///
    /// # Errors
    /// One is under way.
    pub fn begin(&self, campaign: Campaign) -> Result<(), String> {
        let mut now = self.free()?;
        let (stop, known, of) = (Arc::<AtomicBool>::default(), Arc::<AtomicUsize>::default(), campaign.tables.runs());
        let (stops, tells) = (Arc::clone(&stop), Arc::clone(&known));
        let threads = std::thread::available_parallelism().map_or(1, usize::from).saturating_sub(1).clamp(1, 8);
        let tell = move |n: usize| {
            tells.fetch_max(n, Ordering::Relaxed);
        };
        let thread = std::thread::spawn(move || outcome::run(&campaign, threads, &stops, &tell));
        *now = (now.0 + 1, Stand::Runs(Going { stop, known, of, thread }));
        Ok(())
    }

    /// Stops the one under way, once the runs at hand are done.
    ///
    /// # Errors
    /// None is.
    pub fn stop(&self) -> Result<(), String> {
        match &self.now().1 {
            Stand::Runs(going) => {
                going.stop.store(true, Ordering::Relaxed);
                Ok(())
            }
            _ => Err("no campaign is under way".to_owned()),
        }
    }

    /// For a page: its number, how it stands, how far it is.
    pub fn told(&self) -> Value {
        let now = self.now();
        let (number, stand) = &*now;
        match stand {
            Stand::Idle => json!({ "number": number, "stand": "idle" }),
            Stand::Runs(Going { known, of, .. }) => {
                json!({ "number": number, "stand": "runs", "known": known.load(Ordering::Relaxed), "of": of })
            }
            Stand::Over(_) => json!({ "number": number, "stand": "over" }),
            Stand::Stopped(known, of) => json!({ "number": number, "stand": "stopped", "known": known, "of": of }),
            Stand::Broken(why) => json!({ "number": number, "stand": "broken", "why": why }),
        }
    }

    /// What came of the last one.
    ///
    /// # Errors
    /// There is none, and why.
    pub fn outcome(&self) -> Result<Arc<Outcome>, String> {
        match &self.now().1 {
            Stand::Over(found) => Ok(Arc::clone(found)),
            Stand::Idle => Err("no campaign was asked for yet".to_owned()),
            Stand::Runs(_) => Err("the campaign is under way: wait for its end".to_owned()),
            Stand::Stopped(known, of) => {
                Err(format!("the campaign was stopped after {known} of {of} runs: it has no outcome"))
            }
            Stand::Broken(why) => Err(format!("the campaign broke off: {why}")),
        }
    }

    /// Nobody is there any more.
    pub fn end(&self) {
        let mut now = self.now();
        if let Stand::Runs(going) = &now.1 {
            going.stop.store(true, Ordering::Relaxed);
            Self::settle(&mut now.1);
        }
    }
}
