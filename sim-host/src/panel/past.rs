//! A run as it was at a moment, with all that was done to it by hand from then on, to be done again in its forks.

use valvewright_core::token::Typed;

use super::altered::Altered;
use super::session::{HALF, Session};
use super::words::in_words;
use super::written::{Deed, heals};
use crate::run::{Simulation, Stand};
use crate::scenario::parse_fault::read_words;

/// The run at a moment.
#[derive(Clone)]
pub struct Past {
    /// The moment, s.
    pub t: f64,
    /// The run.
    pub run: Simulation,
    /// What was done from then on, in the order of time.
    pub later: Vec<Deed>,
    /// What had broken by hand by then and was healed by hand later: when, s since the job began, and its place.
    pub heals: Vec<(f64, usize)>,
    /// Its interlock table.
    pub altered: Altered,
}

impl Session {
    /// The run as it was at `t` s, with what was done from then on; none where it never was at that time.
    ///
    /// # Errors
    /// As [`Simulation::step`].
    pub fn at(&self, t: f64) -> Result<Option<Past>, String> {
        let Some(kept) = self.copy_before(t).and_then(|at| self.copies.get(at)) else { return Ok(None) };
        let mut run = kept.run.fork();
        while run.stand() == Stand::Running && run.time() < t - HALF {
            run.step().map_err(|why| why.to_string())?;
        }
        let later = self.deeds.get(kept.deeds.len()..).unwrap_or_default().to_vec();
        let heals = heals(&self.deeds, &kept.deeds, self.scenario.faults.len());
        Ok(Some(Past { t, run, later, heals, altered: kept.altered.clone() }))
    }
}

/// What was done to a run comes in its fork as well; returns its interlock table.
pub fn again(fork: &mut Simulation, deed: &Deed, altered: Altered) -> Altered {
    match deed {
        Deed::Act(_, act) => fork.plan_act(*act),
        Deed::Exchanged(_, part, code) => {
            // It was taken as a code once.
            if let Some(code) = Typed::read(code) {
                fork.plan_exchange(*part, code);
            }
        }
        Deed::Altered(_, table) => {
            table.apply(&altered, fork);
            return table.clone();
        }
        Deed::Broke(t, keys, until) => {
            let until = until.map(|until| format!("{until}s"));
            let mut given: Vec<(&str, &str)> = keys.iter().map(|(key, value)| (key.as_str(), value.as_str())).collect();
            given.extend(until.iter().map(|until| ("until_at", until.as_str())));
            let words = in_words(&given, *t).unwrap_or_default();
            if let Ok((planned, _)) = read_words(&words) {
                // It was taken once; where a fork cannot take it, nothing breaks there.
                let _ = fork.inject(&planned);
            }
        }
    }
    altered
}
