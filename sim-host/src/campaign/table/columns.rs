//! The columns of a table of results: name, kind, what it says, and what of a row it holds.

use crate::campaign::row::{Fault, Hazard, Row, hazard_ids};
use crate::report::data::HazardLevel;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Whole numbers (UInt64).
    Whole,
    /// Numbers (Float64).
    Number,
    /// Texts (Utf8).
    Text,
    /// `true` or `false`.
    Flag,
    /// Lists of texts.
    Texts,
    /// Lists of numbers.
    Numbers,
}

/// What a row has in a column.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// A whole number.
    Whole(Option<u64>),
    /// A number.
    Number(Option<f64>),
    /// A text.
    Text(Option<String>),
    /// `true` or `false`.
    Flag(Option<bool>),
    /// Texts.
    Texts(Vec<String>),
    /// Numbers.
    Numbers(Vec<Option<f64>>),
}

/// What a column takes of a row.
type Of = Box<dyn Fn(&Row) -> Cell + Send + Sync>;

/// A column.
pub struct Column {
    /// Its name.
    pub name: String,
    /// What it holds.
    pub kind: Kind,
    /// What it says, for the book.
    pub what: &'static str,
    of: Of,
}

impl Column {
    fn new(
        name: impl Into<String>,
        kind: Kind,
        what: &'static str,
        of: impl Fn(&Row) -> Cell + Send + Sync + 'static,
    ) -> Self {
        Self { name: name.into(), kind, what, of: Box::new(of) }
    }

    /// What this row has in it.
    pub fn cell(&self, row: &Row) -> Cell {
        (self.of)(row)
    }
}

/// All columns of a campaign of this name that changes these keys.
pub fn columns(campaign: &str, keys: &[&str]) -> Vec<Column> {
    let mut all = of_run(campaign.to_owned());
    for key in keys {
        let mine = (*key).to_owned();
        let value = move |row: &Row| {
            let found = row.changes.iter().find(|(key, _)| *key == mine);
            Cell::Text(found.map(|(_, value)| value.clone()))
        };
        all.push(Column::new(*key, Kind::Text, "what this key of the scenario was set to", value));
    }
    all.extend(of_faults());
    all.extend(of_outcome());
    all.extend(of_reaction());
    for (at, id) in hazard_ids().enumerate() {
        all.extend(of_hazard(at, &id.to_lowercase()));
    }
    all.extend(of_masses());
    all.extend(of_end());
    all
}

fn text(of: &str) -> Cell {
    Cell::Text(Some(of.to_owned()))
}

fn of_run(campaign: String) -> Vec<Column> {
    vec![
        Column::new("campaign", Kind::Text, "name of the plan", move |_| text(&campaign)),
        Column::new("index", Kind::Whole, "number of the run, from 0", |row| Cell::Whole(Some(row.index))),
        Column::new("seed", Kind::Whole, "seed of noise and device errors", |row| Cell::Whole(Some(row.seed))),
        Column::new("scenario", Kind::Text, "the scenario as the plan names it", |row| text(&row.scenario)),
        Column::new("station", Kind::Text, "the station, empty for the scenario's own", |row| text(&row.station)),
    ]
}

fn of_faults() -> Vec<Column> {
    let texts = |name: &str, what: &'static str, of: fn(&Fault) -> &str| {
        Column::new(name, Kind::Texts, what, move |row| {
            Cell::Texts(row.faults.iter().map(|one| of(one).to_owned()).collect())
        })
    };
    let numbers = |name: &str, what: &'static str, of: fn(&Fault) -> Option<f64>| {
        Column::new(name, Kind::Numbers, what, move |row| Cell::Numbers(row.faults.iter().map(of).collect()))
    };
    vec![
        texts("fault", "ids of the faults, in the order of their plan", |one| &one.id),
        texts("fault_mode", "mode of each, empty where it has one only", |one| &one.mode),
        texts("fault_tag", "device of each", |one| &one.tag),
        texts("fault_severity", "severity of each with its unit, empty where it has none", |one| &one.severity),
        texts("fault_moment", "when each was to come, in words", |one| &one.moment),
        numbers("fault_at_s", "the time of that, null where a condition says so", |one| one.at),
        numbers("fault_began_s", "when it began, null where it never did", |one| one.began),
        numbers("fault_ended_s", "when it ended, null while it acts", |one| one.ended),
    ]
}

fn of_outcome() -> Vec<Column> {
    vec![
        Column::new("fate", Kind::Text, "`ended`, `stands`, `goes`, `broken`, `not_reached`, `refused`", |row| {
            text(row.fate)
        }),
        Column::new("refused", Kind::Text, "why it was refused", |row| Cell::Text(row.refused.clone())),
        Column::new(
            "verdict",
            Kind::Text,
            "how the order stood: `pass`, `refused`, `failed`, `aborted`, `unfinished`",
            |row| Cell::Text(row.verdict.map(str::to_owned)),
        ),
        Column::new("end_s", Kind::Number, "simulated time at the end", |row| Cell::Number(row.end)),
        Column::new("scans", Kind::Whole, "scans of the controller", |row| Cell::Whole(row.scans)),
    ]
}

fn of_reaction() -> Vec<Column> {
    vec![
        Column::new("row", Kind::Texts, "rows that tripped from the first fault on, in order, each once", |row| {
            Cell::Texts(row.rows.iter().map(|(id, _)| id.clone()).collect())
        }),
        Column::new("row_after_s", Kind::Numbers, "latency of each: time from the begin of the first fault", |row| {
            Cell::Numbers(row.rows.iter().map(|(_, after)| Some(*after)).collect())
        }),
        Column::new("first_row", Kind::Text, "the first of them", |row| {
            Cell::Text(row.rows.first().map(|(id, _)| id.clone()))
        }),
        Column::new("first_row_after_s", Kind::Number, "its latency", |row| {
            Cell::Number(row.rows.first().map(|(_, after)| *after))
        }),
        Column::new(
            "safe_after_s",
            Kind::Number,
            "from the first fault to the first scan in which nothing but the fan was on",
            |row| Cell::Number(row.safe_after),
        ),
        Column::new("safe_after_scans", Kind::Whole, "the same in scans", |row| Cell::Whole(row.safe_after_scans)),
        Column::new(
            "budget_s",
            Kind::Number,
            "time that the fault's own scenario gives for the reaction; null where it names none, and with several faults",
            |row| Cell::Number(row.budget),
        ),
        Column::new("reaction_s", Kind::Number, "time to what is asked for there", |row| Cell::Number(row.reaction)),
        Column::new(
            "in_budget",
            Kind::Flag,
            "whether that was in time; null where the run ended before it could be said",
            |row| Cell::Flag(row.in_budget),
        ),
    ]
}

fn of_hazard(at: usize, id: &str) -> Vec<Column> {
    let of = move |row: &Row| row.hazards.get(at).copied().unwrap_or_default();
    let number = |end: &str, what: &'static str, take: fn(Hazard) -> Option<f64>| {
        Column::new(format!("{id}_{end}"), Kind::Number, what, move |row| Cell::Number(take(of(row))))
    };
    let level = move |row: &Row| Cell::Text(of(row).level.map(|level: HazardLevel| level.word().to_owned()));
    vec![
        Column::new(
            format!("{id}_level"),
            Kind::Text,
            "`none`, `alert` or `accident`; null where it was not judged",
            level,
        ),
        number("margin", "least distance from the accident: 1 at rest, 0 at its level, negative beyond", |one| {
            one.margin
        }),
        number("alert_s", "when it first came to its alert level", |one| one.alert),
        number("accident_s", "when it first came to its accident level", |one| one.accident),
    ]
}

fn of_masses() -> Vec<Column> {
    let grams = |name: &str, what: &'static str, of: fn(&Row) -> Option<f64>| {
        Column::new(name, Kind::Number, what, move |row| Cell::Number(of(row)))
    };
    vec![
        Column::new("accident", Kind::Texts, "hazards that came to their accident level, by their ids", |row| {
            let came = hazard_ids().zip(&row.hazards).filter(|(_, one)| one.level == Some(HazardLevel::Accident));
            Cell::Texts(came.map(|(id, _)| id.to_owned()).collect())
        }),
        Column::new(
            "unknown_accident",
            Kind::Texts,
            "those of them that are not known to follow from one of the faults",
            |row| Cell::Texts(row.unknown.clone()),
        ),
        grams("recovered_shown_g", "recovered, as the station shows it", |row| row.masses.recovered_shown),
        grams("recovered_true_g", "recovered in truth", |row| row.masses.recovered),
        grams("charge_ordered_g", "charge that was ordered", |row| row.masses.ordered),
        grams("charged_shown_g", "charged, as the station shows it", |row| row.masses.charged_shown),
        grams("charged_true_g", "charged in truth", |row| row.masses.charged),
        grams("escaped_g", "gone into the air", |row| row.masses.escaped),
        grams("mass_error_g", "lost or made up by rounding in the plant", |row| row.masses.error),
        grams("ledger_error_g", "by how much the station's refrigerant does not add up", |row| row.masses.ledger_error),
    ]
}

fn of_end() -> Vec<Column> {
    vec![
        Column::new(
            "rest_after_s",
            Kind::Number,
            "from healing to the station's rest with free hoses; null without healing, and where it did not come",
            |row| Cell::Number(row.rest_after),
        ),
        Column::new("stuck", Kind::Text, "why it did not come to rest", |row| Cell::Text(row.stuck.clone())),
        Column::new(
            "without",
            Kind::Text,
            "the row of the interlock table that was left out; empty for the whole table",
            |row| text(&row.without),
        ),
        Column::new("hash", Kind::Text, "digest of every frame and every output to the end of the run", |row| {
            Cell::Text(row.hash.clone())
        }),
        Column::new("replay", Kind::Text, "the command that has the run again", |row| text(&row.replay)),
    ]
}
