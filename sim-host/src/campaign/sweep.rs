//! All cases of a sweep, and the threads that run them: the same answer for any number of threads.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;

use valvewright_core::job::phase::Phase;
use valvewright_core::order::PhaseKind;

use super::moments::{Moment, moments};
use super::one::{Case, Done, run_on};
use crate::fault::{Begins, Injection, Planned};
use crate::run::{RunError, RunOptions, Simulation, Stand};
use crate::scenario::Scenario;

/// Jobs that a sweep forks from where no other is named: the everyday job, one whose vessel has rested with air in it, one with a pressure
/// test, one whose vessel has to be warmed.
pub const BASES: [&str; 6] = [
    "mild_hatchback",
    "pumped_over_lunch",
    "proof_under_nitrogen",
    "cold_vessel",
    "purge_at_a_cost",
    "permissions_are_earned",
];

/// A healthy job, its moments, and a copy of its run at each.
struct Base {
    scenario: Scenario,
    moments: Vec<Moment>,
    forks: Vec<Simulation>,
}

/// The healthy jobs of a sweep.
pub struct Bases(Vec<Base>);

impl Bases {
    /// Runs each job once and keeps a copy at so many moments of each of its steps.
    ///
    /// # Errors
    /// As [`Simulation::new`].
    pub fn run(scenarios: Vec<Scenario>, each: usize) -> Result<Self, RunError> {
        let bases = scenarios.into_iter().map(|scenario| {
            let moments = moments(&scenario, each)?;
            let mut run = Simulation::new(&scenario, &RunOptions::BARE)?;
            let mut forks = Vec::with_capacity(moments.len());
            for moment in &moments {
                while run.time() < moment.t_s - 1e-6 && run.step()? == Stand::Running {}
                forks.push(run.fork());
            }
            Ok(Base { scenario, moments, forks })
        });
        bases.collect::<Result<_, _>>().map(Self)
    }

    /// How many moments there are.
    pub fn moments(&self) -> usize {
        self.0.iter().map(|base| base.moments.len()).sum()
    }

    /// Every moment with its job's name.
    pub fn all(&self) -> impl Iterator<Item = (&str, &Moment)> {
        self.0.iter().flat_map(|base| base.moments.iter().map(|moment| (base.scenario.name.as_str(), moment)))
    }

    /// Steps of phases that none of the jobs comes to: nothing is let in there.
    pub fn missed(&self) -> Vec<String> {
        let comes = |kind: PhaseKind, step: &str| {
            self.all().any(|(_, moment)| moment.phase == Some(kind) && (moment.step == step || step.is_empty()))
        };
        let steps = |kind: PhaseKind| match Phase::step_words(kind) {
            [] => vec![""],
            words => words.to_vec(),
        };
        // Upkeep is no service: its procedures have scenarios of their own.
        let services = PhaseKind::ALL.into_iter().filter(|kind| *kind != PhaseKind::Upkeep);
        let all = services.flat_map(|kind| steps(kind).into_iter().map(move |step| (kind, step)));
        all.filter(|(kind, step)| !comes(*kind, step)).map(|(kind, step)| format!("{} {step}", kind.name())).collect()
    }

    fn done(&self, case: &Case) -> Result<Done, RunError> {
        let broken = || RunError::Fault(format!("there is no such moment as {}", case.moment.words()));
        let base = self.0.get(case.base).ok_or_else(broken)?;
        if case.from_the_start() {
            let faults = vec![case.planned.clone()];
            let scenario = Scenario { faults, ..base.scenario.clone() };
            return run_on(case, Simulation::new(&scenario, &RunOptions::BARE)?);
        }
        let at = base.moments.iter().position(|one| *one == case.moment).ok_or_else(broken)?;
        run_on(case, base.forks.get(at).ok_or_else(broken)?.fork())
    }
}

/// The cases of these faults at all moments of the bases, in their order. With `full` in every way and at every device, each in full;
/// otherwise in the usual way at the usual device.
pub fn cases(bases: &Bases, faults: &[&'static Injection], full: bool) -> Vec<Case> {
    let mut list = Vec::new();
    for injection in faults {
        for planned in ways(injection, full) {
            for (at, base) in bases.0.iter().enumerate() {
                let once = injection.begins == Begins::WithTheJob;
                for moment in base.moments.iter().take(if once { 1 } else { usize::MAX }) {
                    let moment = if once { Moment { t_s: 0.0, ..*moment } } else { *moment };
                    let mut planned = planned.clone();
                    planned.begin.after = moment.t_s;
                    list.push(Case { base: at, scenario: base.scenario.name.clone(), moment, planned });
                }
            }
        }
    }
    list
}

fn ways(injection: &'static Injection, full: bool) -> Vec<Planned> {
    let Ok(usual) = Planned::usual(injection.id) else { return Vec::new() };
    if !full {
        return vec![usual];
    }
    let mut list = Vec::new();
    for mode in injection.modes {
        for tag in injection.tags {
            let severity = mode.severity.map(|severity| severity.usual_si());
            list.push(Planned { mode: mode.name, tag, severity, ..usual.clone() });
        }
    }
    list
}

/// What a sweep found.
pub struct Sweep {
    /// What became of each case, in their order; none where it was not run any more.
    pub done: Vec<Option<Done>>,
    /// Cases that this station or job cannot have, with the reason.
    pub refused: Vec<(Case, String)>,
}

impl Sweep {
    /// Runs all cases in so many threads; `each` hears how many are done. Stops where `stop` is set.
    ///
    /// # Errors
    /// A run could not be had for another reason than that its fault does not fit.
    pub fn run(
        bases: &Bases,
        cases: &[Case],
        threads: usize,
        stop: &AtomicBool,
        each: &mut dyn FnMut(usize),
    ) -> Result<Self, RunError> {
        let (next, (tell, hear)) = (AtomicUsize::new(0), mpsc::channel());
        let mut found: Vec<Option<Result<Done, RunError>>> = cases.iter().map(|_| None).collect();
        std::thread::scope(|scope| {
            for _ in 0..threads.max(1) {
                let (tell, next) = (tell.clone(), &next);
                scope.spawn(move || {
                    while !stop.load(Ordering::Relaxed) {
                        let at = next.fetch_add(1, Ordering::Relaxed);
                        let Some(case) = cases.get(at) else { return };
                        // Who listened has gone only when the process ends.
                        let _ = tell.send((at, bases.done(case)));
                    }
                });
            }
            drop(tell);
            let mut count = 0;
            while let Ok((at, one)) = hear.recv() {
                count += 1;
                each(count);
                found[at] = Some(one);
            }
        });
        let (mut done, mut refused) = (Vec::with_capacity(cases.len()), Vec::new());
        for (case, one) in cases.iter().zip(found) {
            done.push(match one {
                Some(Err(RunError::Fault(why))) => {
                    refused.push((case.clone(), why));
                    None
                }
                Some(Err(other)) => return Err(other),
                Some(Ok(one)) => Some(one),
                None => None,
            });
        }
        Ok(Self { done, refused })
    }

    /// Not all cases were run.
    pub fn partial(&self) -> bool {
        self.done.iter().flatten().count() + self.refused.len() < self.done.len()
    }
}
