//! Shares of runs: each run alike, or each way to fail by its rate.
//!
//! Promises: with rates, every way to fail counts by its rate alone, however many runs the plan gave it; what has no rate counts for nothing
//! and is named.

use std::collections::{BTreeMap, BTreeSet};

use super::Findings;
use super::count::Cover;

/// Parts of this many: finer than any share is told.
const PARTS: f64 = 1e9;

/// Shares of a device or a hazard, each as a part of a whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shares {
    /// Found before the accident, or where none came at any time.
    pub found: (u64, u64),
    /// Came to the accident by one fault alone.
    pub single: (u64, u64),
    /// One fault that acted to the end, unnoticed and without accident.
    pub latent: (u64, u64),
}

/// The shares of these runs; `ways` are the runs with one fault among them, by the way to fail.
pub fn shares(of: &Findings, all: &Cover, ways: Option<&BTreeMap<String, Cover>>) -> Shares {
    if of.rates.is_none() {
        let turned = |(all, part): (u64, u64)| (part, all);
        return Shares { found: (all.found, all.runs), single: turned(all.single), latent: turned(all.latent) };
    }
    let weigh = |pick: &dyn Fn(&Cover) -> (u64, u64)| weighted(of, ways, pick);
    Shares {
        found: weigh(&|one| (one.found, one.runs)),
        single: weigh(&|one| (one.single.1, one.single.0)),
        latent: weigh(&|one| (one.latent.1, one.latent.0)),
    }
}

/// The rate of a way to fail, failures an hour.
pub fn rate(of: &Findings, literal: &str) -> Option<f64> {
    let way = of.counts.literals.get(literal)?;
    Some(of.rates.as_ref()?.of(way)?.per_hour)
}

/// A part of a whole: never the whole where some of it is missing.
fn weighted(of: &Findings, ways: Option<&BTreeMap<String, Cover>>, pick: &dyn Fn(&Cover) -> (u64, u64)) -> (u64, u64) {
    let (mut part, mut all, mut whole) = (0.0, 0.0, true);
    for (literal, cover) in ways.into_iter().flatten() {
        let (some, of_all) = pick(cover);
        let Some(rate) = rate(of, literal).filter(|_| of_all > 0) else { continue };
        part += rate * some as f64 / of_all as f64;
        all += rate;
        whole &= some == of_all;
    }
    if all == 0.0 {
        return (0, 0);
    }
    let most = if whole { PARTS } else { PARTS - 1.0 };
    ((part / all * PARTS).round().min(most) as u64, PARTS as u64)
}

/// Ways to fail that were seen and have no rate.
pub fn unrated(of: &Findings) -> BTreeSet<&str> {
    let literals = of.counts.literals.keys().map(String::as_str);
    literals.filter(|one| rate(of, one).is_none()).collect()
}
