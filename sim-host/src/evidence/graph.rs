//! The edges: which rows answer a hazard, which faults can defeat a row, what shows an id, and what lies around one.

use serde::Serialize;
use valvewright_core::frame::Actuator;
use valvewright_core::interlock::table::{ROWS, Row};

use super::{Evidence, Example, Fault, Hazard, Id, Kind, Law, Missing, Open, Shown};
use crate::matrix::words;

/// Where a fault meets a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Where {
    /// At an input that the row reads.
    Read,
    /// At an output that the row moves.
    Moved,
    /// Elsewhere: the analysis names it for the row's first hazard.
    Elsewhere,
}

impl Where {
    /// Every place.
    pub const ALL: [Self; 3] = [Self::Read, Self::Moved, Self::Elsewhere];

    /// For sentences.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Read => "at what it reads",
            Self::Moved => "at what it moves",
            Self::Elsewhere => "elsewhere",
        }
    }
}

/// What an id stands for.
#[derive(Clone, Copy, Debug)]
pub enum Node<'a> {
    /// A hazard.
    Hazard(&'a Hazard),
    /// A row of the table.
    Row(&'static Row),
    /// A row that is not in the table yet.
    RowToCome(&'a Open),
    /// A fault.
    Fault(&'a Fault),
    /// A law.
    Law(&'a Law),
    /// A worked example.
    Example(&'a Example),
}

impl Node<'_> {
    /// What it is, in one line.
    pub fn title(&self) -> String {
        match self {
            Self::Hazard(one) => one.title.clone(),
            Self::Row(one) => one.why.text().to_owned(),
            Self::RowToCome(one) => format!("not in the table yet: {}", one.why),
            Self::Fault(one) => format!("{} ({}): {}", one.component, one.tag, one.failure_mode),
            Self::Law(one) => one.title.clone(),
            Self::Example(one) => one.what.clone(),
        }
    }
}

/// Whether a tag of the catalogue, or one of several in it, is this one. A scale stands for each of its bridges, `XV-any` for any valve.
fn names(tags: &str, tag: &str) -> bool {
    tags.split(' ').any(|one| {
        one == tag
            || one == "XV-any" && tag.starts_with("XV-")
            || [(one, tag), (tag, one)].iter().any(|(scale, bridge)| {
                scale.starts_with("WT-") && bridge.strip_prefix(scale).is_some_and(|rest| rest == "A" || rest == "B")
            })
    })
}

/// Tags of instruments in a text; an output in it says when they are looked at.
fn tags_in(text: &str) -> Vec<String> {
    let parts = text.split(|letter: char| !letter.is_ascii_alphanumeric() && letter != '-');
    let is_tag = |part: &&str| {
        part.split_once('-').is_some_and(|(head, rest)| {
            head.bytes().all(|one| one.is_ascii_uppercase()) && rest.starts_with(|one: char| one.is_ascii_digit())
        })
    };
    parts.filter(is_tag).filter(|tag| Actuator::ALL.iter().all(|one| one.tag() != *tag)).map(str::to_owned).collect()
}

/// Tags in the words of a row's causes.
fn read_by(row: &Row) -> Vec<String> {
    row.causes.iter().flat_map(|one| tags_in(&words::acts(one).to_string())).collect()
}

impl Evidence {
    /// What the id stands for; `None` where it is not defined.
    pub fn node(&self, id: Id) -> Option<Node<'_>> {
        match id.kind {
            Kind::Hazard => self.hazards.iter().find(|one| one.id == id).map(Node::Hazard),
            Kind::Fault => self.faults.iter().find(|one| one.id == id).map(Node::Fault),
            Kind::ControllerLaw | Kind::SimulatorLaw => self.laws.iter().find(|one| one.id == id).map(Node::Law),
            Kind::Example => self.examples.iter().find(|one| one.id == id).map(Node::Example),
            Kind::Row => {
                let row = ROWS.iter().find(|row| Id::from(row.id) == id).map(Node::Row);
                let open = || self.open.iter().find(|one| one.id == id && one.missing == Missing::Row);
                row.or_else(|| open().map(Node::RowToCome))
            }
        }
    }

    /// Every id that is defined, in order.
    pub fn ids(&self) -> Vec<Id> {
        let rows = ROWS.iter().map(|row| Id::from(row.id));
        let to_come = self.open.iter().filter(|one| one.missing == Missing::Row).map(|one| one.id);
        let mut ids: Vec<Id> = self.hazards.iter().map(|one| one.id).chain(rows).chain(to_come).collect();
        ids.extend(self.faults.iter().map(|one| one.id));
        ids.extend(self.laws.iter().map(|one| one.id));
        ids.extend(self.examples.iter().map(|one| one.id));
        ids.sort();
        ids.dedup();
        ids
    }

    /// Ids that are written most like `text`, at most three.
    pub fn nearest(&self, text: &str) -> Vec<Id> {
        let wanted = text.trim().to_ascii_uppercase();
        let all = self.ids().into_iter().map(|id| (strsim::osa_distance(&wanted, &id.to_string()), id));
        let mut ids: Vec<(usize, Id)> = all.collect();
        ids.sort();
        let least = ids.first().map_or(0, |one| one.0);
        ids.into_iter().take_while(|one| one.0 == least).take(3).map(|one| one.1).collect()
    }

    /// What happens in a hazard; its id where it is not defined.
    pub fn hazard_title(&self, of: impl Into<Id>) -> String {
        let id = of.into();
        self.hazards.iter().find(|one| one.id == id).map_or_else(|| id.to_string(), |one| one.title.clone())
    }

    /// The rows that answer a hazard: those that do so first, then those that do so too.
    pub fn rows_of(&self, hazard: Id) -> Vec<&'static Row> {
        let answers = |row: &&Row| words::hazards(row).any(|one| Id::from(one) == hazard);
        let mut rows: Vec<&Row> = ROWS.iter().filter(answers).collect();
        rows.sort_by_key(|row| Id::from(row.hazard) != hazard);
        rows
    }

    /// Tags that a row reads: those in the words of its causes, and those that show its first hazard where a cause is a verdict without any.
    fn tags_of(&self, row: &Row) -> Vec<String> {
        let mut tags = read_by(row);
        if row.causes.iter().any(|one| tags_in(&words::acts(one).to_string()).is_empty()) {
            let hazard = self.hazards.iter().find(|one| one.id == Id::from(row.hazard));
            tags.extend(hazard.into_iter().flat_map(|one| one.sensing.iter().cloned()));
        }
        tags
    }

    /// Faults that can defeat a row, with where they meet it: at something that it reads or moves, towards a hazard that it answers; or
    /// elsewhere, where the analysis names them for its first hazard.
    pub fn faults_of(&self, row: &Row) -> Vec<(&Fault, Where)> {
        let read = self.tags_of(row);
        let moved = row.trip.inhibits.or(row.trip.stops).or(row.trip.forces).or(row.withholds);
        let first = self.hazards.iter().find(|one| one.id == Id::from(row.hazard));
        let meets = |fault: &Fault| {
            let towards = words::hazards(row).any(|one| fault.hazards.contains(&Id::from(one)));
            if towards && read.iter().any(|tag| names(&fault.tag, tag)) {
                Some(Where::Read)
            } else if towards && words::tags(moved).any(|tag| names(&fault.tag, tag)) {
                Some(Where::Moved)
            } else {
                first.is_some_and(|one| one.defeated_by.contains(&fault.id)).then_some(Where::Elsewhere)
            }
        };
        self.faults.iter().filter_map(|one| Some((one, meets(one)?))).collect()
    }

    /// The source of a worked example and where in it.
    pub fn source_words(&self, of: &Example) -> String {
        let source = self.sources.iter().find(|one| one.id == of.source).map_or(of.source.as_str(), |one| &one.what);
        let part = if of.part.is_empty() { String::new() } else { format!("; {}", of.part) };
        format!("{source}{part} ({})", of.known.word())
    }

    /// What shows an id, in order.
    pub fn shown_by(&self, id: Id) -> impl Iterator<Item = &Shown> {
        self.shown.iter().filter(move |one| one.id == id)
    }

    /// Why nothing shows an id yet.
    pub fn open(&self, id: Id) -> Option<&Open> {
        self.open.iter().find(|one| one.id == id)
    }

    /// Ids that lie one step from this one, in order.
    pub fn around(&self, id: Id) -> Vec<Id> {
        let mut ids: Vec<Id> = match self.node(id) {
            Some(Node::Hazard(one)) => {
                let rows = self.rows_of(id).into_iter().map(|row| Id::from(row.id));
                rows.chain(one.defeated_by.iter().copied()).chain(one.worked.iter().copied()).collect()
            }
            Some(Node::Row(row)) => {
                let faults = self.faults_of(row).into_iter().map(|(one, _)| one.id);
                words::hazards(row).map(Id::from).chain(faults).collect()
            }
            Some(Node::Fault(one)) => {
                let rows = ROWS.iter().filter(|row| self.faults_of(row).iter().any(|(fault, _)| fault.id == id));
                one.hazards.iter().copied().chain(rows.map(|row| Id::from(row.id))).collect()
            }
            Some(Node::Example(_)) => {
                self.hazards.iter().filter(|one| one.worked.contains(&id)).map(|one| one.id).collect()
            }
            Some(Node::Law(_) | Node::RowToCome(_)) | None => Vec::new(),
        };
        ids.sort();
        ids.dedup();
        ids
    }
}
