//! The interlock table for people and programs: one writer for the terminal, the book, a page in print, a spreadsheet and JSON.
//!
//! Everything is read from the core's const table; nothing of it is kept here a second time. Text, Markdown and the page follow the
//! display; CSV and JSON are metric with absolute pressures.

mod files;
mod markdown;
mod page;
pub mod points;
mod text;
pub mod words;

use serde::Serialize;
use valvewright_core::drive::PUMP_LEAD;
use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::interlock::table::{Condition, Level, ROWS, Role, Row};

use crate::evidence::{Evidence, Id, record};

pub use files::csv;
pub use markdown::{book, section};
pub use page::page;
pub use text::{full, overview};

/// How the marks of the table are read.
pub fn key() -> String {
    format!(
        "X trips off, S trips off once the valve it serves has been shut for {} s, P withholds until permitted, F forces on.",
        PUMP_LEAD.to_secs()
    )
}

/// The row of that id in any case, with its hyphen or without.
pub fn find(id: &str) -> Option<&'static Row> {
    let plain = |id: &str| id.trim().replace('-', "").to_ascii_lowercase();
    ROWS.iter().find(|row| plain(row.id.as_str()) == plain(id))
}

/// Ids of the rows that are written most like `id`, at most three.
pub fn nearest(id: &str) -> Vec<&'static str> {
    let wanted = id.to_ascii_uppercase();
    let mut ids: Vec<(usize, &str)> =
        ROWS.iter().map(|row| (strsim::osa_distance(&wanted, row.id.as_str()), row.id.as_str())).collect();
    ids.sort();
    let least = ids.first().map_or(0, |one| one.0);
    ids.into_iter().take_while(|one| one.0 == least).take(3).map(|one| one.1).collect()
}

/// Every id, in the order of the table.
pub fn ids() -> Vec<&'static str> {
    ROWS.iter().map(|row| row.id.as_str()).collect()
}

/// What a row does to one output, as the letters of [`key`].
fn marks(row: &Row, one: Actuator) -> String {
    let marks = [(row.trip.inhibits, 'X'), (row.trip.stops, 'S'), (row.withholds, 'P'), (row.trip.forces, 'F')];
    marks.iter().filter(|(set, _)| set.has(one)).map(|(_, mark)| *mark).collect()
}

/// A number of the table or of a reading, for programs.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Measure {
    /// The number.
    pub value: f64,
    /// `Pa`, `K`, `% LFL`, `%` (of the fill limit), `kg`, `A`, `rpm` or `V`.
    pub unit: &'static str,
    /// What a pressure counts from: `vacuum` or `barometer`; absent for other quantities.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from: Option<&'static str>,
}

impl Measure {
    /// A set point; `None` for a state, which has no number.
    pub fn of(level: Level) -> Option<Self> {
        let (value, unit, from) = match level {
            Level::Pressure(p) => (f64::from(p.0), "Pa", Some("vacuum")),
            Level::OverBarometer(p) => (f64::from(p.0), "Pa", Some("barometer")),
            Level::Temperature(t) => (f64::from(t.0) / 100.0, "K", None),
            Level::Gas(share) => (f64::from(share.0) / 10.0, "% LFL", None),
            Level::FillShare(share) => (f64::from(share.0) / 10.0, "%", None),
            Level::Mass(m) => (f64::from(m.0) / 1e6, "kg", None),
            Level::Current(i) => (f64::from(i.0) / 1e3, "A", None),
            Level::Speed(v) => (f64::from(v.0), "rpm", None),
            Level::Voltage(v) => (f64::from(v.0) / 1e3, "V", None),
            Level::State => return None,
        };
        Some(Self { value, unit, from })
    }
}

/// A row as JSON gives it.
#[derive(Debug, Serialize)]
pub struct RowRecord {
    id: &'static str,
    causes: Vec<CauseRecord>,
    holds_off: Vec<&'static str>,
    stops_behind_valve: Vec<&'static str>,
    opens: Vec<&'static str>,
    forces_on: Vec<&'static str>,
    withholds: Vec<&'static str>,
    latch: &'static str,
    to_clear: &'static str,
    hazards: Vec<HazardRecord>,
    why: &'static str,
    defeated_by: serde_json::Value,
    shown_by: serde_json::Value,
}

#[derive(Debug, Serialize)]
struct CauseRecord {
    watch: String,
    text: String,
    role: &'static str,
    trip: Option<Measure>,
    hold_s: f64,
    clear: Option<Measure>,
    clear_hold_s: f64,
}

#[derive(Debug, Serialize)]
struct HazardRecord {
    id: String,
    name: String,
}

impl CauseRecord {
    fn of(one: &Condition) -> Self {
        Self {
            watch: words::watch_id(one.watch),
            text: words::acts(one).to_string(),
            role: if one.role == Role::Trip { "trip" } else { "permission" },
            trip: Measure::of(one.trip),
            hold_s: f64::from(one.hold.0) / 1e3,
            clear: Measure::of(one.clear),
            clear_hold_s: f64::from(one.clear_hold.0) / 1e3,
        }
    }
}

impl RowRecord {
    /// The record of a row with its evidence.
    pub fn of(row: &Row, evidence: &Evidence) -> Self {
        let tags = |set: Actuators| words::tags(set).collect();
        Self {
            id: row.id.as_str(),
            causes: row.causes.iter().map(CauseRecord::of).collect(),
            holds_off: tags(row.trip.inhibits),
            stops_behind_valve: tags(row.trip.stops),
            opens: words::relays(row.trip.drops).collect(),
            forces_on: tags(row.trip.forces),
            withholds: tags(row.withholds),
            latch: words::latch(row.latch),
            to_clear: row.reset.text(),
            hazards: words::hazards(row)
                .map(|one| HazardRecord { id: one.to_string(), name: evidence.hazard_title(one) })
                .collect(),
            why: row.why.text(),
            defeated_by: record::faults(evidence, Id::from(row.id)),
            shown_by: record::shown(evidence, Id::from(row.id)),
        }
    }
}
