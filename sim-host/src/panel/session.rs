//! The run at hand, what was done to it by hand, and copies of it along its way to go back to.

use valvewright_core::row::{RowId, RowSet};
use valvewright_core::talk::Notice;

use super::asked::Until;
use super::history::History;
use super::written::{self, Deed};
use crate::display::Language;
use crate::fault::Begins;
use crate::run::{RunOptions, Simulation, Stand, network_of};
use crate::scenario::diagnostic::{Diagnostic, Source};
use crate::scenario::model::{Act, Answers};
use crate::scenario::parse_fault::read_words;
use crate::scenario::{Scenario, parse, random, shipped};

/// Scans between two copies at first, and how many copies are kept before every second one goes.
const APART: u64 = 200;
const COPIES: usize = 400;
/// Most deeds of a run (own choice).
const DEEDS: usize = 500;
/// Far less than a scan, s.
const HALF: f64 = 1e-6;

/// What a session begins from.
#[derive(Debug, Clone)]
pub struct Start {
    /// The scenario's text.
    pub source: Source,
    /// Another station than it names.
    pub station: Option<String>,
    /// Questions are left to whoever sits at the page.
    pub by_hand: bool,
}

impl Start {
    fn scenario(&self) -> Result<Scenario, String> {
        let read = parse::read_on(&self.source, self.station.as_deref());
        let mut scenario = read.map_err(|list| list.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))?;
        if self.by_hand {
            scenario.operator.answers = Answers::None;
        }
        Ok(scenario)
    }
}

/// A copy to come back to, with what had been done by then.
struct Kept {
    run: Simulation,
    deeds: Vec<Deed>,
    without: RowSet,
    last: f64,
    /// It stands before or after a deed, and is never thinned out.
    of_a_deed: bool,
}

/// A run with its history.
pub struct Session {
    start: Start,
    scenario: Scenario,
    run: Simulation,
    deeds: Vec<Deed>,
    without: RowSet,
    /// When something was done last, s.
    last: f64,
    copies: Vec<Kept>,
    apart: u64,
    history: History,
    language: Language,
    /// Names of the network's places and elements.
    names: (Vec<String>, Vec<String>),
}

impl Session {
    /// At time 0.
    ///
    /// # Errors
    /// What is wrong with the scenario, or why it cannot run.
    pub fn new(start: Start) -> Result<Self, String> {
        let scenario = start.scenario()?;
        let run = Simulation::new(&scenario, &RunOptions::BARE).map_err(|why| why.to_string())?;
        let spec = network_of(&scenario).map_err(|why| why.to_string())?;
        let names = (
            spec.volumes.into_iter().map(|one| one.name).collect(),
            spec.elements.into_iter().map(|one| one.name).collect(),
        );
        let mut history = History::default();
        history.look(&run);
        let mut made = Self {
            start,
            scenario,
            run,
            deeds: Vec::new(),
            without: RowSet::NONE,
            last: f64::NEG_INFINITY,
            copies: Vec::new(),
            apart: APART,
            history,
            language: Language::En,
            names,
        };
        made.keep(false);
        Ok(made)
    }

    /// The run.
    pub const fn run(&self) -> &Simulation {
        &self.run
    }
    /// Its scenario.
    pub const fn scenario(&self) -> &Scenario {
        &self.scenario
    }
    /// Rows that are switched off.
    pub const fn without(&self) -> RowSet {
        self.without
    }
    /// What was done by hand.
    pub fn deeds(&self) -> &[Deed] {
        &self.deeds
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

    /// How much of that was told or happened so far: rises when the next one comes.
    pub fn count(&self, of: Until) -> usize {
        let told = self.run.told_since(0);
        let is = |notice: &Notice| match of {
            Until::Phase => matches!(notice, Notice::PhaseStarted(_) | Notice::PhaseEnded(..)),
            Until::Trip => matches!(notice, Notice::Tripped(..)),
            Until::Notice => true,
            Until::End => false,
        };
        told.iter().filter(|(_, notice)| is(notice)).count()
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

    /// A fault begins in the next scan.
    ///
    /// # Errors
    /// What is wrong with it, or why it cannot be had here.
    pub fn break_now(&mut self, keys: &[(&'static str, &str)]) -> Result<(), String> {
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
            let keys = given.into_iter().map(|(key, value)| (key, value.to_owned())).collect();
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
            Deed::Act(..) | Deed::Row(_) => None,
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
        let found = RowId::ALL.into_iter().find(|one| one.as_str() == row);
        let row = found.map(RowSet::one).ok_or_else(|| format!("the interlock table has no row `{row}`"))?;
        self.before()?;
        self.without = if off { self.without.or(row) } else { self.without.without(row) };
        self.deeds.push(Deed::Row(self.job_time()));
        self.run.leave_out(self.without);
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
        // There is a copy before and one after each deed: the last that knows of none from then on lacks none before it.
        let fits = |one: &Kept| one.run.time() <= t + HALF && one.last < t - HALF;
        let Some(at) = self.copies.iter().rposition(fits) else { return Ok(()) };
        self.copies.truncate(at + 1);
        let kept = &self.copies[at];
        self.run = kept.run.fork();
        (self.deeds, self.without, self.last) = (kept.deeds.clone(), kept.without, kept.last);
        self.history.back(t);
        while self.run.stand() == Stand::Running && self.run.time() < t - HALF {
            self.step()?;
        }
        Ok(())
    }

    /// Notices are told in it.
    pub const fn tell_in(&mut self, language: Language) {
        self.language = language;
    }

    /// What a run from time 0 begins from: a shipped or drawn scenario, or the one at hand.
    ///
    /// # Errors
    /// No such scenario is shipped.
    pub fn another(&self, scenario: Option<&str>, by_hand: Option<bool>) -> Result<Start, String> {
        let by_hand = by_hand.unwrap_or(self.start.by_hand);
        let Some(name) = scenario else { return Ok(Start { by_hand, ..self.start.clone() }) };
        let drawn = || random::source(name).map(|drawn| drawn.map_err(|bad| bad.message));
        let source = shipped::source(name).map(Ok).or_else(drawn);
        let source = source.unwrap_or_else(|| Err(format!("`{name}` is no shipped scenario, and not random:SEED")))?;
        Ok(Start { source, station: self.start.station.clone(), by_hand })
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
        written::scenario(&self.start.source.text, self.start.by_hand, &self.deeds, (self.run.time(), &hash))
    }

    fn keep(&mut self, of_a_deed: bool) {
        let (deeds, without, last) = (self.deeds.clone(), self.without, self.last);
        self.copies.push(Kept { run: self.run.fork(), deeds, without, last, of_a_deed });
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

/// A fault in the words of the command line.
fn in_words(keys: &[(&'static str, &str)], t: f64) -> Result<String, String> {
    let mut words = String::new();
    for (key, value) in keys {
        let value = shlex::try_quote(value).map_err(|_| format!("{key}: a text without zero bytes is wanted"))?;
        words += &if *key == "id" { value.into_owned() } else { format!(" {key}={value}") };
    }
    Ok(words + &format!(" at={t}s"))
}

/// What is wrong with words that nobody typed as such: without their place.
fn plainly(list: &[Diagnostic]) -> String {
    let one = |one: &Diagnostic| {
        one.help.as_ref().map_or_else(|| one.message.clone(), |help| format!("{} ({help})", one.message))
    };
    list.iter().map(one).collect::<Vec<_>>().join("; ")
}
