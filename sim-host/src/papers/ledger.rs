//! The books of refrigerant: opening stock, what came and went, closing stock, for each period and place; what does not balance is a
//! column of its own.
//!
//! Places are the stations and the store beside them. A station's stock is known by weight at begin and end of each run. In between
//! the book goes on with what the station said; where a weight differs from the book, the difference is `unknown` on that day, and
//! the book goes on from the weight. So each line closes to the milligram, and nothing that leaked, was misread or was not written down is
//! hidden.

use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate, NaiveDateTime, TimeDelta};
use serde::Serialize;
use valvewright_core::talk::Notice;

use super::bought::{Kind, Row};
use super::date;
use super::read::{Run, Unfit};
use super::ticket_figures::Seen;
use crate::fluid::FluidKind;

/// Shape of a ledger as JSON; one more with each change that a reader would not understand.
pub const VERSION: u32 = 1;
/// The place that is no station.
pub const STORE: &str = "store";

/// Length of a period.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// Each day.
    Day,
    /// Each month.
    Month,
    /// Each year.
    Year,
}

impl By {
    fn period(self, day: NaiveDate) -> String {
        let whole = date::day_words(day);
        let letters = match self {
            Self::Day => 10,
            Self::Month => 7,
            Self::Year => 4,
        };
        whole.chars().take(letters).collect()
    }
}

/// What came and went, each in mg.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Flows {
    /// Came from suppliers.
    pub bought: i64,
    /// Came from vehicles, by the station's word.
    pub recovered: i64,
    /// Went into vehicles, by the station's word.
    pub charged: i64,
    /// Went into the air with a purge, by the station's word.
    pub vented: i64,
    /// Went to reclaim or destruction.
    pub disposed: i64,
    /// Came from another place of the workshop, less what went there.
    pub moved: i64,
    /// Is less by weight than the book says; negative: more.
    pub unknown: i64,
}

impl Flows {
    /// What they change of a stock.
    pub const fn net(&self) -> i64 {
        self.bought + self.recovered + self.moved - self.charged - self.vented - self.disposed - self.unknown
    }
}

/// A line of the ledger: one period, place and refrigerant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// `2026-01-31`, `2026-01` or `2026`.
    pub period: String,
    /// A station, or [`STORE`].
    pub place: String,
    /// Of what.
    pub refrigerant: FluidKind,
    /// In stock before, mg.
    pub opening: i64,
    /// What came and went.
    pub flows: Flows,
    /// In stock after, mg.
    pub closing: i64,
}

/// Something whose record is to be kept.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Record {
    /// The day it was made.
    pub made: String,
    /// Kept in the United States until.
    pub keep_until_us: String,
    /// Kept in the European Union until, at least.
    pub keep_until_eu: String,
    /// `service`, `bought`, `filled`, `emptied`, `disposed` or `counted`.
    pub what: &'static str,
    /// Where.
    pub place: String,
    /// Of what.
    pub refrigerant: FluidKind,
    /// Into the place, kg.
    pub in_kg: f64,
    /// Out of it, kg.
    pub out_kg: f64,
    /// Supplier or receiver, or the vehicle.
    pub party: String,
    /// File with line or job, and invoice.
    pub document: String,
}

/// A run with the day on which it began and the name of its file.
pub struct Booked {
    /// The run.
    pub run: Run,
    /// Its file.
    pub file: String,
    /// Its day.
    pub day: NaiveDate,
}

/// The books.
#[derive(Clone, Debug, PartialEq)]
pub struct Ledger {
    /// Lines by place, refrigerant and period.
    pub lines: Vec<Line>,
    /// Records by day.
    pub records: Vec<Record>,
    /// What a reader must know beside the lines.
    pub notes: Vec<String>,
}

#[derive(Clone, Copy)]
enum What {
    Flow(Flows),
    /// By weight, mg.
    Weighed(i64),
}

type Place = (String, FluidKind);
type Events = BTreeMap<Place, Vec<(NaiveDateTime, What)>>;

/// Grams of a result in mg; what is no number is nothing.
fn mg(grams: f64) -> i64 {
    if grams.is_finite() { (grams * 1e3).round() as i64 } else { 0 }
}

/// The ledger of runs and rows, or why their runs cannot stand in one: two of one station at the same time.
pub fn ledger(runs: &[Booked], rows: &[(String, Row)], by: By) -> Result<Ledger, Unfit> {
    apart(runs)?;
    let mut books = Books { events: Events::new(), records: Vec::new(), notes: Vec::new() };
    // Rows first: what is written down for a day counts from its first minute on.
    rows.iter().for_each(|(file, row)| books.row(file, row));
    runs.iter().for_each(|one| books.run(one));
    same_runs(runs, &mut books.notes);
    let mut lines = Vec::new();
    for ((place, refrigerant), mut events) in books.events {
        events.sort_by_key(|(at, _)| *at);
        let made = lines_of(&place, refrigerant, &events, by);
        if made.iter().any(|line| line.closing < 0 || line.opening < 0) {
            books.notes.push(format!(
                "{place}, {refrigerant}: the stock goes below nothing; something that came in is not written down"
            ));
        }
        lines.extend(made);
    }
    books.records.sort_by(|a, b| a.made.cmp(&b.made));
    Ok(Ledger { lines, records: books.records, notes: books.notes })
}

/// Two runs of one station at one time would be two contents of one vessel.
fn apart(runs: &[Booked]) -> Result<(), Unfit> {
    let end = |one: &Booked| date::moment(one.day, one.run.sim_seconds);
    for (at, one) in runs.iter().enumerate() {
        if one.run.station.name == STORE {
            let why = format!("{}: a station that is called `{STORE}` cannot be told from the store", one.file);
            return Err(Unfit { why, help: "give its file another name, and run the scenario again".to_owned() });
        }
        for other in runs.iter().skip(at + 1).filter(|other| other.run.station.name == one.run.station.name) {
            let begins = (date::moment(one.day, 0.0), date::moment(other.day, 0.0));
            if begins.0 <= end(other) && begins.1 <= end(one) {
                let station = &one.run.station.name;
                let why = format!("{} and {} are of one station, `{station}`, at the same time", one.file, other.file);
                let free = date::day_words(free_day(runs));
                let help = format!("say on which day a run began, behind its file: result.json@{free}");
                return Err(Unfit { why, help });
            }
        }
    }
    Ok(())
}

fn same_runs(runs: &[Booked], notes: &mut Vec<String>) {
    for (at, one) in runs.iter().enumerate() {
        for other in runs.iter().skip(at + 1).filter(|other| other.run.trace_hash == one.run.trace_hash) {
            notes.push(format!("{} and {} are the same run by their hash: is it booked twice?", one.file, other.file));
        }
    }
}

struct Books {
    events: Events,
    records: Vec<Record>,
    notes: Vec<String>,
}

impl Books {
    fn put(&mut self, place: &str, of: FluidKind, at: NaiveDateTime, what: What) {
        self.events.entry((place.to_owned(), of)).or_default().push((at, what));
    }

    fn keep(&mut self, day: NaiveDate, record: Record) {
        self.records.push(Record {
            made: date::day_words(day),
            keep_until_us: date::day_words(date::keep_until(day, date::YEARS_US)),
            keep_until_eu: date::day_words(date::keep_until(day, date::YEARS_EU)),
            ..record
        });
    }

    fn row(&mut self, file: &str, row: &Row) {
        let at = date::moment(row.day, 0.0);
        let (none, mg) = (Flows::default(), row.mg);
        let store = match row.kind {
            Kind::Bought => What::Flow(Flows { bought: mg, ..none }),
            Kind::Disposed => What::Flow(Flows { disposed: mg, ..none }),
            Kind::Filled => What::Flow(Flows { moved: -mg, ..none }),
            Kind::Emptied => What::Flow(Flows { moved: mg, ..none }),
            Kind::Counted => What::Weighed(mg),
        };
        self.put(STORE, row.refrigerant, at, store);
        let into_station = if row.kind == Kind::Filled { mg } else { -mg };
        if let Some(station) = &row.station {
            self.put(station, row.refrigerant, at, What::Flow(Flows { moved: into_station, ..none }));
        }
        let kg = mg as f64 / 1e6;
        let comes = matches!(row.kind, Kind::Bought | Kind::Filled);
        let (in_kg, out_kg) = match row.kind {
            Kind::Counted => (0.0, 0.0),
            _ if comes => (kg, 0.0),
            _ => (0.0, kg),
        };
        let paper = if row.document.is_empty() { String::new() } else { format!(", {}", row.document) };
        let record = Record {
            made: String::new(),
            keep_until_us: String::new(),
            keep_until_eu: String::new(),
            what: row.kind.word(),
            place: row.station.clone().unwrap_or_else(|| STORE.to_owned()),
            refrigerant: row.refrigerant,
            in_kg,
            out_kg,
            party: row.party.clone(),
            document: format!("{file} line {}{paper}", row.line),
        };
        self.keep(row.day, record);
    }

    fn run(&mut self, one: &Booked) {
        let (run, none) = (&one.run, Flows::default());
        let (station, of) = (run.station.name.as_str(), run.service.refrigerant);
        let at = |t_s: f64| date::moment(one.day, t_s);
        self.put(station, of, at(0.0), What::Weighed(mg(run.stock.start_g)));
        for told in &run.notices {
            if let Some(Notice::Purged(mass)) = told.told {
                self.put(station, of, at(told.t_s), What::Flow(Flows { vented: mass.0.into(), ..none }));
            }
        }
        for (number, job) in run.jobs.iter().enumerate() {
            let Some(seen) = Seen::of(run, number) else { continue };
            let said = |what: &str, figure: Option<f64>, notes: &mut Vec<String>| {
                if figure.is_none() {
                    notes.push(format!(
                        "{} job {}: {what} was not said and is booked as nothing",
                        one.file,
                        number + 1
                    ));
                }
                mg(figure.unwrap_or(0.0))
            };
            let recovered = said("what was recovered", seen.recovered(), &mut self.notes);
            let charged = said("what was charged", seen.charged(), &mut self.notes);
            self.put(station, of, at(job.end_s), What::Flow(Flows { recovered, charged, ..none }));
            let vehicle = run.service.jobs.get(number).map_or("", |vehicle| vehicle.vehicle_id.as_str());
            let record = Record {
                made: String::new(),
                keep_until_us: String::new(),
                keep_until_eu: String::new(),
                what: "service",
                place: station.to_owned(),
                refrigerant: of,
                in_kg: recovered as f64 / 1e6,
                out_kg: charged as f64 / 1e6,
                party: format!("{} ({vehicle})", job.vehicle),
                document: format!("{} job {}, {}", one.file, number + 1, job.verdict.word()),
            };
            self.keep(at(job.end_s).date(), record);
        }
        // The end of a run is the end of its last job, and the weight is taken after it.
        self.put(station, of, at(run.sim_seconds), What::Weighed(mg(run.stock.end_g)));
        if run.jobs.len() < run.jobs_in_all {
            let (began, all) = (run.jobs.len(), run.jobs_in_all);
            self.notes.push(format!("{}: cut off, {began} of {all} jobs were begun", one.file));
        }
    }
}

/// The lines of one place. Its first weight says what was there before, for no book stands against it; but it was never less than
/// nothing, and what is short of that is unknown.
fn lines_of(place: &str, refrigerant: FluidKind, events: &[(NaiveDateTime, What)], by: By) -> Vec<Line> {
    let first = events.iter().position(|(_, what)| matches!(what, What::Weighed(_)));
    let before = |to: usize| -> i64 {
        let flows = events.iter().take(to).map(|(_, what)| if let What::Flow(flows) = what { flows.net() } else { 0 });
        flows.sum()
    };
    let mut stock = first.map_or(0, |at| match events.get(at) {
        Some((_, What::Weighed(weight))) => (weight - before(at)).max(0),
        _ => 0,
    });
    let mut lines: Vec<Line> = Vec::new();
    for (at, what) in events {
        let period = by.period(at.date());
        if lines.last().is_none_or(|line| line.period != period) {
            let (place, flows) = (place.to_owned(), Flows::default());
            lines.push(Line { period, place, refrigerant, opening: stock, flows, closing: stock });
        }
        let Some(line) = lines.last_mut() else { continue };
        let flow = match what {
            What::Flow(flow) => *flow,
            What::Weighed(weight) => Flows { unknown: stock - weight, ..Flows::default() },
        };
        line.flows = sum(line.flows, flow);
        stock += flow.net();
        line.closing = stock;
    }
    lines
}

const fn sum(a: Flows, b: Flows) -> Flows {
    Flows {
        bought: a.bought + b.bought,
        recovered: a.recovered + b.recovered,
        charged: a.charged + b.charged,
        vented: a.vented + b.vented,
        disposed: a.disposed + b.disposed,
        moved: a.moved + b.moved,
        unknown: a.unknown + b.unknown,
    }
}

/// The day after the last that a run covers.
fn free_day(runs: &[Booked]) -> NaiveDate {
    let last = runs.iter().map(|one| date::moment(one.day, one.run.sim_seconds).date()).max();
    let next = last.unwrap_or_else(date::first_day) + TimeDelta::days(1);
    if next.year() < 2200 { next } else { date::first_day() }
}
