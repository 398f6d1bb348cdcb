//! A run made ready: its faults as they will be planned, when they come, and the command that has it again.

use super::plan::{Heal, Occasion, Plan, quoted};
use super::runs::Spec;
use super::timeline::Timeline;
use crate::fault::{Begins, End, Planned, When};
use crate::scenario::parse_fault;

/// Why a run is not run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unrun {
    /// Its job never comes to the moment of one of its faults.
    NotReached,
    /// It does not fit together, with the reason.
    Refused(String),
}

/// A run that is ready.
#[derive(Clone, Debug)]
pub struct Case {
    /// Its faults, in the order of their plan.
    pub faults: Vec<Planned>,
    /// When each comes, s; none where a condition says so.
    pub times: Vec<Option<f64>>,
    /// Their words for a command line.
    pub words: Vec<String>,
}

impl Case {
    /// Makes a run ready; `line` is the course of its healthy job, asked for where a step of it is meant.
    ///
    /// # Errors
    /// Why it is not run.
    pub fn new(
        spec: &Spec,
        heal: Option<Heal>,
        line: &mut dyn FnMut() -> Result<Timeline, String>,
    ) -> Result<Self, Unrun> {
        let mut made = Self { faults: Vec::new(), times: Vec::new(), words: Vec::new() };
        let mut known: Option<Timeline> = None;
        for coming in &spec.faults {
            let begins = match &coming.occasion {
                Occasion::Job | Occasion::Own => String::new(),
                Occasion::At(t) => at(*t),
                Occasion::Begins(words) => format!(" {words}"),
                Occasion::Step { phase, step, share } => {
                    if known.is_none() {
                        known = Some(line().map_err(Unrun::Refused)?);
                    }
                    let found = known.as_ref().and_then(|line| line.time(*phase, step, *share));
                    at(found.ok_or(Unrun::NotReached)?)
                }
            };
            let words = format!("{}{begins}", coming.words);
            let planned = if begins.is_empty() {
                coming.planned.clone()
            } else {
                let read = parse_fault::read_words(&words);
                let first = |list: Vec<crate::scenario::diagnostic::Diagnostic>| {
                    list.into_iter().next().map(|one| one.message).unwrap_or_default()
                };
                read.map_err(|list| Unrun::Refused(first(list)))?.0
            };
            made.times.push((planned.begin.when == When::Job).then_some(planned.begin.after));
            made.faults.push(planned);
            made.words.push(words);
        }
        if let Some(heal) = heal {
            made.heal(heal);
        }
        Ok(made)
    }

    /// Lets the faults end.
    fn heal(&mut self, heal: Heal) {
        let last = self.last();
        for (fault, time) in self.faults.iter_mut().zip(&self.times) {
            let stays = fault.injection().is_some_and(|one| one.stays);
            if fault.end == End::Never && !stays {
                fault.end = End::After(heal.after + time.map_or(0.0, |time| last - time));
            }
        }
    }

    /// When the first of them comes, as far as it is known, s.
    pub fn first(&self) -> Option<f64> {
        self.times.iter().flatten().copied().reduce(f64::min)
    }

    /// When the last of them comes, as far as it is known, s.
    pub fn last(&self) -> f64 {
        self.times.iter().flatten().copied().fold(0.0, f64::max)
    }

    /// Some come on a condition.
    pub fn on_condition(&self) -> bool {
        self.times.contains(&None)
    }

    /// The time until which the run is the healthy one, s; none where its faults have to stand in it from the beginning: one comes with
    /// the job, is prepared before it comes, or waits for a condition.
    pub fn forks_at(&self) -> Option<f64> {
        let any_time = |one: &Planned| one.injection().is_some_and(|injection| injection.begins == Begins::AnyTime);
        let first = self.first().filter(|first| *first > 0.0 && !self.on_condition());
        first.filter(|_| self.faults.iter().all(any_time))
    }

    /// The command that has the run again: of `run` where that can say it, else by its number.
    pub fn replay(&self, spec: &Spec, plan: &Plan) -> String {
        let named = plan.scenarios.get(spec.base.scenario).map_or("", |one| one.name.as_str());
        if !spec.base.changes.is_empty() || plan.heal.is_some() {
            return format!("valvewright campaign {} --run {}", quoted(&plan.name), spec.index);
        }
        let mut command = format!("valvewright run {} --seed {}", quoted(named), spec.base.seed);
        if let Some(Some(station)) = plan.stations.get(spec.base.station) {
            command += &format!(" --station {}", quoted(station));
        }
        self.words.iter().for_each(|words| command += &format!(" --fault {}", quoted(words)));
        if let Some(controller) = &plan.controller {
            command += &format!(" --controller {}", quoted(controller));
        }
        if let Some(row) = spec.without {
            command += &format!(" --without {}", row.as_str());
        }
        command
    }
}

/// A time in the words of a fault, to the millisecond: what scans are counted in.
fn at(t: f64) -> String {
    format!(" at={t:.3}s")
}
