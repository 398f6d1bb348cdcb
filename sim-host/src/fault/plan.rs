//! A fault as a scenario plans it: which, at what, how severe, when it begins and when it ends.

use serde::Serialize;
use valvewright_core::order::PhaseKind;

use super::catalogue::FaultId;
use super::injection::{Given, Injection, Mode};
use super::table;
use crate::logic::Condition;
use crate::scenario::quantity::{self, Dim};

/// What sets a fault off.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum When {
    /// The job's begin.
    Job,
    /// A phase begins.
    Phase(PhaseKind),
    /// A phase comes to a step of its own.
    Step(PhaseKind, String),
    /// A notice of this id is given.
    Notice(String),
    /// A row trips.
    Row(String),
    /// A condition holds.
    Holds(Condition),
}

/// When a fault begins.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Begin {
    /// What sets it off, the first time in the job.
    pub when: When,
    /// Time from then, s.
    pub after: f64,
}

/// When a fault ends.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum End {
    /// Not before the run, or for a fault of the vehicle before that goes.
    Never,
    /// So long after its begin, s.
    After(f64),
    /// At this time of the job, s.
    At(f64),
    /// When this phase ends.
    PhaseEnds(PhaseKind),
    /// When a notice of this id is given.
    Notice(String),
    /// When a row trips.
    Row(String),
    /// When a condition holds.
    Holds(Condition),
}

/// A planned fault.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Planned {
    /// Which.
    pub id: FaultId,
    /// Its way, by name; empty where it has one only.
    pub mode: &'static str,
    /// The device.
    pub tag: &'static str,
    /// How severe, SI; none where it has no more and no less.
    pub severity: Option<f64>,
    /// When it begins.
    pub begin: Begin,
    /// When it ends.
    pub end: End,
}

impl Planned {
    /// The fault in its usual way, at its usual device, in full, from the beginning of the job on.
    ///
    /// # Errors
    /// Why it cannot be injected.
    pub fn usual(id: FaultId) -> Result<Self, &'static str> {
        let injection = table::find(id).ok_or("the catalogue has no such fault")?;
        let (Some(mode), Some(tag)) = (injection.modes.first(), injection.tags.first()) else {
            return Err(injection.refused.unwrap_or("it has no way to be injected"));
        };
        let severity = mode.severity.map(|severity| severity.usual_si());
        let begin = Begin { when: When::Job, after: 0.0 };
        Ok(Self { id, mode: mode.name, tag, severity, begin, end: End::Never })
    }

    /// How it is brought about.
    pub fn injection(&self) -> Option<&'static Injection> {
        table::find(self.id)
    }

    /// Its way.
    pub fn way(&self) -> Option<&'static Mode> {
        self.injection()?.modes.iter().find(|mode| mode.name == self.mode)
    }

    /// What its effects are made of.
    pub fn given(&self) -> Given {
        Given { severity: self.severity.unwrap_or(0.0), tag: self.tag }
    }

    /// Its severity in words; none where it has none.
    pub fn severity_text(&self) -> Option<String> {
        Some(self.way()?.severity?.text(self.severity?))
    }

    /// The fault in a few words: `F023 vessel load cell WT-1A, creep, 1 %`.
    pub fn words(&self) -> String {
        let mut words = format!("{}", self.id);
        if let Some(injection) = self.injection() {
            let entry = injection.entry();
            words += &format!(" {} {}, {}", entry.component, self.tag, entry.failure_mode);
        }
        for more in [Some(self.mode.to_owned()).filter(|mode| !mode.is_empty()), self.severity_text()] {
            more.into_iter().for_each(|more| words += &format!(", {more}"));
        }
        words
    }

    /// When it begins, in words.
    pub fn begin_words(&self) -> String {
        let after = quantity::text(Dim::Time, self.begin.after, None);
        let what = match &self.begin.when {
            When::Job => return format!("at {after}"),
            When::Phase(kind) => format!("{} begins", kind.name()),
            When::Step(kind, step) => format!("{} comes to `{step}`", kind.name()),
            When::Notice(id) => format!("`{id}` is told"),
            When::Row(id) => format!("{id} trips"),
            When::Holds(one) => format!("`{}` holds", one.text),
        };
        if self.begin.after > 0.0 { format!("{after} after {what}") } else { format!("when {what}") }
    }

    /// When it ends, in words.
    pub fn end_words(&self) -> String {
        let time = |seconds| quantity::text(Dim::Time, seconds, None);
        match &self.end {
            End::Never if self.injection().is_some_and(|one| one.stays) => "and stays".to_owned(),
            End::Never if self.way().is_some_and(|way| way.lasts.is_some()) => "and is over by itself".to_owned(),
            End::Never => "and does not end".to_owned(),
            End::After(seconds) => format!("for {}", time(*seconds)),
            End::At(t) => format!("until {}", time(*t)),
            End::PhaseEnds(kind) => format!("until {} ends", kind.name()),
            End::Notice(id) => format!("until `{id}` is told"),
            End::Row(id) => format!("until {id} trips"),
            End::Holds(one) => format!("until `{}` holds", one.text),
        }
    }
}
