//! The run at hand, what was done to it by hand, and copies of it along its way to go back to.

use valvewright_core::talk::Notice;
use valvewright_core::token::{Part, Typed};

use super::altered::Altered;
use super::asked::Until;
use super::history::History;
use super::learning::Learning;
use super::start::Start;
use super::words::{in_words, plainly};
use super::written::{self, Deed};
use crate::display::Language;
use crate::fault::Begins;
use crate::run::{RunOptions, Simulation, Stand, network_of};
use crate::scenario::Scenario;
use crate::scenario::model::Act;
use crate::scenario::parse_fault::read_words;

/// Scans between two copies at first, and how many copies are kept before every second one goes.
const APART: u64 = 200;
const COPIES: usize = 400;
/// Most deeds of a run (own choice).
const DEEDS: usize = 500;
/// Scans between two looks at a lesson's goals.
const LOOKS: u64 = 20;
/// Far less than a scan, s.
pub(super) const HALF: f64 = 1e-6;

/// A copy to come back to, with what had been done by then.
pub(super) struct Kept {
    pub(super) run: Simulation,
    pub(super) deeds: Vec<Deed>,
    pub(super) altered: Altered,
    pub(super) last: f64,
    /// It stands before or after a deed, and is never thinned out.
    of_a_deed: bool,
}

/// A run with its history.
pub struct Session {
    start: Start,
    pub(super) scenario: Scenario,
    run: Simulation,
    pub(super) deeds: Vec<Deed>,
    altered: Altered,
    /// When something was done last, s.
    last: f64,
    pub(super) copies: Vec<Kept>,
    apart: u64,
    history: History,
    language: Language,
    /// Names of the network's places and elements.
    names: (Vec<String>, Vec<String>),
    learning: Option<Learning>,
}

impl Session {
    /// At time 0.
    ///
    /// # Errors
    /// What is wrong with the scenario, or why it cannot run.
    pub fn new(start: Start) -> Result<Self, String> {
        let scenario = start.scenario()?;
        let run = Simulation::with_records(&scenario, &RunOptions::BARE).map_err(|why| why.to_string())?;
        let spec = network_of(&scenario).map_err(|why| why.to_string())?;
        let names = (
            spec.volumes.into_iter().map(|one| one.name).collect(),
            spec.elements.into_iter().map(|one| one.name).collect(),
        );
        let mut history = History::default();
        history.look(&run);
        let learning = start.lesson.clone().map(|(lesson, may_hint)| Learning::new(lesson, may_hint));
        let mut made = Self {
            start,
            scenario,
            run,
            deeds: Vec::new(),
            altered: Altered::default(),
            last: f64::NEG_INFINITY,
            copies: Vec::new(),
            apart: APART,
            history,
            language: Language::En,
            names,
            learning,
        };
        made.keep(false);
        made.come_in()?;
        Ok(made)
    }

    /// A lesson begins where its file says.
    fn come_in(&mut self) -> Result<(), String> {
        let Some(Learning { lesson, .. }) = &self.learning else { return Ok(()) };
        let (phase, later) = (lesson.from_phase, lesson.from);
        while phase.is_some_and(|phase| self.run.phase() != Some(phase)) {
            if !self.step()? {
                return Err("the lesson begins in a phase that its scenario does not come to".to_owned());
            }
        }
        let from = self.run.time() + later;
        while self.run.time() < from - HALF {
            if !self.step()? {
                return Err("the lesson begins later than its scenario lasts".to_owned());
            }
        }
        Ok(())
    }

    /// The run.
    pub const fn run(&self) -> &Simulation {
        &self.run
    }
    /// Its scenario.
    pub const fn scenario(&self) -> &Scenario {
        &self.scenario
    }
    /// How its interlock table is another than the shipped one.
    pub const fn altered(&self) -> &Altered {
        &self.altered
    }
    /// What was done by hand.
    pub fn deeds(&self) -> &[Deed] {
        &self.deeds
    }
    /// How many copies of its way it keeps to come back to.
    pub const fn copies(&self) -> usize {
        self.copies.len()
    }
    /// What is drawn over time.
    pub const fn history(&self) -> &History {
        &self.history
    }
    /// Names of the network's places and elements.
    pub const fn names(&self) -> &(Vec<String>, Vec<String>) {
        &self.names
    }
    /// Questions are left to the page.
    pub const fn by_hand(&self) -> bool {
        self.start.by_hand
    }
    /// The lesson, where it is one.
    pub const fn learning(&self) -> Option<&Learning> {
        self.learning.as_ref()
    }
    /// The same, to read a hint or to answer.
    ///
    /// # Errors
    /// It is none.
    pub fn learn(&mut self) -> Result<(&mut Learning, &Simulation), String> {
        let none = || "this run is no lesson: begin one".to_owned();
        self.learning.as_mut().map(|learning| (learning, &self.run)).ok_or_else(none)
    }
    /// What came of the lesson, to be handed in.
    ///
    /// # Errors
    /// It is none.
    pub fn result(&self) -> Result<serde_json::Value, String> {
        let learning = self.learning.as_ref().ok_or("this run is no lesson: begin one")?;
        Ok(learning.result(&self.run, self.written()))
    }
    /// Notices are told in it.
    pub const fn language(&self) -> Language {
        self.language
    }

    /// One scan; whether it goes on.
    ///
    /// # Errors
    /// As [`Simulation::step`].
    pub fn step(&mut self) -> Result<bool, String> {
        let stand = self.run.step().map_err(|why| why.to_string())?;
        self.history.look(&self.run);
        if let Some(learning) = &mut self.learning
            && (stand != Stand::Running || self.run.scans().is_multiple_of(LOOKS))
        {
            learning.look(&self.run);
        }
        if stand == Stand::Running && self.run.scans().is_multiple_of(self.apart) {
            self.keep(false);
            if self.copies.iter().filter(|one| !one.of_a_deed).count() > COPIES {
                self.apart *= 2;
                let apart = self.apart;
                self.copies.retain(|one| one.of_a_deed || one.run.scans().is_multiple_of(apart));
            }
        }
        Ok(stand == Stand::Running)
    }

    /// Whether one of these was told since so many notices; counts those that it looked at.
    pub fn told_since(&self, of: Until, seen: &mut usize) -> bool {
        let told = self.run.told_since(*seen);
        *seen += told.len();
        let is = |notice: &Notice| match of {
            Until::Phase => matches!(notice, Notice::PhaseStarted(_) | Notice::PhaseEnded(..)),
            Until::Trip => matches!(notice, Notice::Tripped(..)),
            Until::Notice => true,
            Until::End => false,
        };
        told.iter().any(|(_, notice)| is(notice))
    }

    /// The copy from which the run comes to `t` s as it did.
    pub(super) fn copy_before(&self, t: f64) -> Option<usize> {
        // There is a copy before and one after each deed: the last that knows of none from then on lacks none before it.
        self.copies.iter().rposition(|one| one.run.time() <= t + HALF && one.last < t - HALF)
    }

    fn job_time(&self) -> f64 {
        self.run.time() - self.run.began()
    }

    /// The operator does something in the next scan.
    ///
    /// # Errors
    /// No such act, or nothing runs.
    pub fn act(&mut self, word: &str) -> Result<(), String> {
        let found = Act::ALL.into_iter().zip(Act::WORDS).find(|(act, name)| *name == word && *act != Act::Exchange);
        let Some((act, _)) = found else {
            let words: Vec<_> = Act::WORDS.into_iter().filter(|word| *word != "exchange").collect();
            return Err(format!("`{word}` is no act; accepted: {}", words.join(", ")));
        };
        self.before()?;
        self.deeds.push(Deed::Act(self.job_time(), act));
        self.run.plan_act(act);
        self.after(Ok(()))
    }

    /// A new part was put in, and its code is typed in the next scan.
    ///
    /// # Errors
    /// There is no such part, or it is no code by its length; what else is wrong with it the station says.
    pub fn exchange(&mut self, part: &str, code: &str) -> Result<(), String> {
        let parts = Part::ALL.map(Part::name).join(", ");
        let found = Part::ALL.into_iter().find(|one| one.name() == part);
        let found = found.ok_or_else(|| format!("part: `{part}`; accepted: {parts}"))?;
        let typed = Typed::read(code).ok_or("a code has sixteen symbols, typed as 5-5-5-1 with or without dashes")?;
        self.before()?;
        self.deeds.push(Deed::Exchanged(self.job_time(), found, code.to_owned()));
        self.run.plan_exchange(found, typed);
        self.after(Ok(()))
    }

    /// A fault begins in the next scan.
    ///
    /// # Errors
    /// What is wrong with it, or why it cannot be had here.
    pub fn break_now(&mut self, keys: &[(&str, &str)]) -> Result<(), String> {
        let given: Vec<_> = keys.iter().copied().filter(|(_, value)| !value.is_empty()).collect();
        let t = self.job_time();
        let (planned, _) = read_words(&in_words(&given, t)?).map_err(|list| plainly(&list))?;
        if planned.injection().is_some_and(|one| one.begins != Begins::AnyTime) {
            let id = planned.id;
            return Err(format!(
                "{id} cannot come in the middle of a run: it is a [[fault]] of the scenario from its beginning"
            ));
        }
        self.before()?;
        let done = self.run.inject(&planned).map_err(|why| why.to_string());
        if done.is_ok() {
            let keys = given.into_iter().map(|(key, value)| (key.to_owned(), value.to_owned())).collect();
            self.deeds.push(Deed::Broke(t, keys, None));
        }
        self.after(done)
    }

    /// A fault ends in the next scan.
    ///
    /// # Errors
    /// There is none, or it is over.
    pub fn heal(&mut self, place: usize) -> Result<(), String> {
        let Some(own) = place.checked_sub(self.scenario.faults.len()) else {
            let why = "this fault is of the scenario's file, which says when it ends; only what was broken here is healed here";
            return Err(why.to_owned());
        };
        self.before()?;
        let healed = self.run.heal(place).ok_or_else(|| format!("no fault number {place} acts or is to come"));
        let mut broke = self.deeds.iter_mut().filter_map(|deed| match deed {
            Deed::Broke(_, _, until) => Some(until),
            Deed::Act(..) | Deed::Exchanged(..) | Deed::Altered(..) => None,
        });
        if let (Ok(at), Some(until)) = (&healed, broke.nth(own)) {
            *until = Some(*at);
        }
        self.after(healed.map(|_| ()))
    }

    /// A row of the interlock table is taken to be not there, or there again, from the next scan on.
    ///
    /// # Errors
    /// The table has no such row.
    pub fn leave_out(&mut self, row: &str, off: bool) -> Result<(), String> {
        let mut altered = self.altered.clone();
        altered.row(row, off)?;
        self.alter(altered)
    }

    /// A set point lies elsewhere from the next scan on ([`Altered::set_point`]).
    ///
    /// # Errors
    /// There is no such set point.
    pub fn set_point(&mut self, watch: &str, to: f64) -> Result<(), String> {
        let mut altered = self.altered.clone();
        altered.set_point(watch, to)?;
        self.alter(altered)
    }

    fn alter(&mut self, altered: Altered) -> Result<(), String> {
        self.before()?;
        altered.apply(&self.altered, &mut self.run);
        self.deeds.push(Deed::Altered(self.job_time(), altered.clone()));
        self.altered = altered;
        self.after(Ok(()))
    }

    /// Back to `t` s, at which the next scan is made; what was done at that time or later is undone.
    ///
    /// # Errors
    /// It is no time of the way at hand.
    pub fn back(&mut self, t: f64) -> Result<(), String> {
        if !(0.0..=self.run.time()).contains(&t) {
            return Err(format!("t: {t} s; accepted: 0 to {} s, where the run is", self.run.time()));
        }
        let Some(at) = self.copy_before(t) else { return Ok(()) };
        self.copies.truncate(at + 1);
        let kept = &self.copies[at];
        self.run = kept.run.fork();
        (self.deeds, self.altered, self.last) = (kept.deeds.clone(), kept.altered.clone(), kept.last);
        self.history.back(t);
        if let Some(learning) = &mut self.learning {
            learning.back(t);
        }
        while self.run.stand() == Stand::Running && self.run.time() < t - HALF {
            self.step()?;
        }
        Ok(())
    }

    /// Notices are told in it.
    pub const fn tell_in(&mut self, language: Language) {
        self.language = language;
    }

    /// What it begins from.
    pub const fn start(&self) -> &Start {
        &self.start
    }

    /// What was done by hand, as a scenario file.
    ///
    /// # Errors
    /// It cannot be said in one, and why.
    pub fn written(&self) -> Result<String, String> {
        if self.run.began() > 0.0 && !self.deeds.is_empty() {
            return Err("what was done in a later job of a row cannot be saved: play one job at a time".to_owned());
        }
        let hash = self.run.hash();
        written::scenario(&self.start, &self.deeds, (self.run.time(), &hash))
    }

    fn keep(&mut self, of_a_deed: bool) {
        let (deeds, altered, last) = (self.deeds.clone(), self.altered.clone(), self.last);
        self.copies.push(Kept { run: self.run.fork(), deeds, altered, last, of_a_deed });
    }

    /// Before a deed: a copy to come back to.
    fn before(&mut self) -> Result<(), String> {
        if self.run.stand() != Stand::Running {
            return Err("the run is over: go back to an earlier time, or begin anew".to_owned());
        }
        if self.copies.iter().filter(|one| one.of_a_deed).count() >= 2 * DEEDS {
            return Err(format!("more than {DEEDS} things were done in this run: save it, and begin anew"));
        }
        self.keep(true);
        Ok(())
    }

    /// After it, or after it was refused.
    fn after(&mut self, done: Result<(), String>) -> Result<(), String> {
        if done.is_ok() {
            self.last = self.run.time();
            self.keep(true);
        } else {
            self.copies.pop();
        }
        done
    }
}
