//! When did it become inevitable? The share of forks in which something still comes about, over the moment at which somebody steps in.
//!
//! Promises: the run at hand is not touched; the same run and question give the same figures, whatever the number of threads; the work is
//! bounded by simulated time, so that an answer comes within two seconds on two cores (figure in the book).

use std::panic::resume_unwind;

use serde::{Deserialize, Serialize};
use valvewright_core::row::{RowId, RowSet};
use valvewright_core::talk::Notice;

use super::past::{Past, again};
use super::session::Session;
use super::written::Deed;
use crate::report::data::HazardLevel;
use crate::run::{Simulation, Stand};
use crate::scenario::model::Act;

/// Moments that are tried, at most.
const MOMENTS: usize = 24;
/// Forks at each of them, each with other noise of the instruments.
const FORKS: u64 = 8;
/// Scans between two looks whether it has come about.
const LOOKS: u64 = 20;
/// Far less than a scan, s.
const HALF: f64 = 1e-6;
/// Longest look back and ahead, s: 24 moments of 8 forks, each over half the one and all the other, are some 58 000 s of simulated time.
const MOST_BACK: f64 = 300.0;
const MOST_AHEAD: f64 = 150.0;

/// What somebody does at the moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Remedy {
    /// The emergency stop is pressed.
    EmergencyStop,
    /// The order is paused.
    Pause,
    /// The order is ended.
    Abort,
    /// Every fault that acts or is to come heals.
    HealAll,
    /// Nothing: what the noise of the instruments alone makes of it.
    Nothing,
}

/// What is asked.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Question {
    /// A hazard such as H14 that came to its accident level, or a row such as I03 that tripped.
    pub of: String,
    /// What is done.
    pub remedy: Remedy,
    /// How far before the event the first moment is, s.
    pub back: f64,
}

/// How often it came about for one moment.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Odds {
    /// The moment, s.
    pub t: f64,
    /// Forks in which it came about.
    pub came: u32,
    /// Forks.
    pub of: u32,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// What was asked of.
    pub of: String,
    /// What is done.
    pub remedy: Remedy,
    /// When it came about in the run at hand, s.
    pub event_s: f64,
    /// How long after that it is looked for, s.
    pub ahead_s: f64,
    /// Over the moments, in their order.
    pub odds: Vec<Odds>,
    /// The first moment from which on it came about in every fork, s.
    pub inevitable_s: Option<f64>,
}

/// An event of a run.
#[derive(Debug, Clone, Copy)]
enum Event {
    Hazard(&'static str),
    Row(RowId),
}

impl Event {
    fn of(word: &str) -> Result<Self, String> {
        let hazard = crate::hazard::CATALOGUE.iter().map(|one| one.id.word()).find(|id| *id == word);
        let row = RowId::ALL.into_iter().find(|row| row.as_str() == word);
        let found = hazard.map(Self::Hazard).or_else(|| row.map(Self::Row));
        found.ok_or_else(|| format!("of: `{word}`; accepted: a hazard such as H14, or a row such as I03"))
    }

    /// When it came about first in a run from `from` on, s.
    fn since(self, run: &Simulation, from: f64) -> Option<f64> {
        match self {
            Self::Hazard(id) => {
                let results = run.hazards()?.results();
                let one = results.iter().find(|one| one.id == id)?;
                one.accident_t_s.filter(|_| one.level == HazardLevel::Accident)
            }
            Self::Row(row) => {
                let is = |notice: &Notice| matches!(notice, Notice::Tripped(one, _) if *one == row);
                run.told_since(0).iter().find(|(t, notice)| *t >= from - HALF && is(notice)).map(|(t, _)| *t)
            }
        }
    }
}

/// Answers the question for the run at hand.
///
/// # Errors
/// It has not come about in this run, or a figure is out of its range.
pub fn ask(session: &Session, question: &Question) -> Result<Answer, String> {
    let event = Event::of(&question.of)?;
    if !(1.0..=MOST_BACK).contains(&question.back) {
        return Err(format!("back: {} s; accepted: 1 to {MOST_BACK} s", question.back));
    }
    let run = session.run();
    let event_s = event
        .since(run, 0.0)
        .ok_or_else(|| format!("{} has not come about in this run: run on until it has", question.of))?;
    let scan = f64::from(run.config().scan.0) * 1e-3;
    let first = (event_s - question.back).max(0.0);
    let step = ((event_s - first) / (MOMENTS - 1) as f64).max(scan);
    let moments: Vec<f64> = (0..MOMENTS)
        .map(|at| ((first + at as f64 * step) / scan).round() * scan)
        .filter(|t| *t <= event_s + HALF && *t <= run.time())
        .collect();
    let until = event_s + MOST_AHEAD;
    let mut starts = Vec::new();
    for t in moments {
        starts.extend(session.at(t)?);
    }
    let odds = spread(&starts, event, question.remedy, until);
    let always = odds.iter().rev().take_while(|one| one.came == one.of).last();
    Ok(Answer {
        of: question.of.clone(),
        remedy: question.remedy,
        event_s,
        ahead_s: MOST_AHEAD,
        inevitable_s: always.map(|one| one.t),
        odds,
    })
}

/// The moments shared out among threads, every so manieth to each, for the early ones take longer.
fn spread(starts: &[Past], event: Event, remedy: Remedy, until: f64) -> Vec<Odds> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from).min(8);
    let mut all: Vec<(usize, Odds)> = std::thread::scope(|scope| {
        let work = |first: usize| {
            let own = starts.iter().enumerate().skip(first).step_by(threads);
            own.map(|(at, past)| (at, odds(past, event, remedy, until))).collect::<Vec<_>>()
        };
        let running: Vec<_> = (0..threads).map(|first| scope.spawn(move || work(first))).collect();
        // Moments that nobody worked out must not be missing in silence: a thread that ended badly ends this one.
        let joined = |one: std::thread::ScopedJoinHandle<'_, _>| one.join().unwrap_or_else(|bad| resume_unwind(bad));
        running.into_iter().flat_map(joined).collect()
    });
    all.sort_by_key(|(at, _)| *at);
    all.into_iter().map(|(_, odds)| odds).collect()
}

fn odds(past: &Past, event: Event, remedy: Remedy, until: f64) -> Odds {
    let came = (0..FORKS).filter(|seed| comes(past, *seed, event, remedy, until)).count();
    Odds { t: past.t, came: came as u32, of: FORKS as u32 }
}

fn comes(past: &Past, seed: u64, event: Event, remedy: Remedy, until: f64) -> bool {
    let mut fork = past.run.fork();
    let from = fork.time();
    if seed > 0 {
        fork.with_other_noise(seed);
    }
    let (mut later, mut heals) = (past.later.iter().peekable(), past.heals.iter().peekable());
    let mut altered = past.altered.clone();
    step_in(&mut fork, remedy);
    while fork.time() < until {
        let t = fork.time() - fork.began();
        while let Some((_, place)) = heals.next_if(|(at, _)| *at <= t + HALF) {
            // Who mends everything has done it before.
            let _ = fork.heal(*place);
        }
        while let Some(deed) = later.next_if(|deed| deed.at() <= t + HALF) {
            // What is mended before it breaks does not break.
            if remedy != Remedy::HealAll || !matches!(deed, Deed::Broke(..)) {
                altered = again(&mut fork, deed, altered);
            }
        }
        match fork.step() {
            Ok(Stand::Running) => {}
            Ok(_) | Err(_) => break,
        }
        if fork.scans().is_multiple_of(LOOKS) && event.since(&fork, from).is_some() {
            return true;
        }
    }
    event.since(&fork, from).is_some()
}

fn step_in(fork: &mut Simulation, remedy: Remedy) {
    match remedy {
        Remedy::EmergencyStop => fork.plan_act(Act::EmergencyStop),
        Remedy::Pause => fork.plan_act(Act::Pause),
        Remedy::Abort => fork.plan_act(Act::Abort),
        Remedy::HealAll => {
            for place in 0..fork.faults_acting().len() {
                // One that is over already has nothing to heal.
                let _ = fork.heal(place);
            }
        }
        Remedy::Nothing => {}
    }
}

/// Rows that the page may ask about: those that tripped.
pub fn tripped(run: &Simulation) -> RowSet {
    let rows = run.told_since(0).iter().filter_map(|(_, notice)| match notice {
        Notice::Tripped(row, _) => Some(*row),
        _ => None,
    });
    rows.fold(RowSet::NONE, |all, row| all.or(RowSet::one(row)))
}
