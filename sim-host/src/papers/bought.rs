//! What was bought, moved and given away: a CSV of the workshop's own, each bad row told with line and column.
//!
//! A file with a bad row makes no ledger at all, so that nothing is lost from it; all its bad rows are told.

use std::str::FromStr;

use chrono::NaiveDate;
use serde::Serialize;

use super::date;
use crate::fluid::FluidKind;
use crate::scenario::diagnostic::{Diagnostic, Source, nearest};

/// The columns, in any order; the first four must be there.
pub const COLUMNS: [&str; 7] = ["date", "kind", "refrigerant", "kg", "station", "party", "document"];
/// How many of them must be there.
const NEEDED: usize = 4;
/// No single entry is more, kg: a tank truck (own choice, against slips of the decimal point).
pub const MOST_KG: f64 = 20_000.0;

/// What happened to refrigerant that no job moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Came into the store from a supplier.
    Bought,
    /// From the store into a station.
    Filled,
    /// From a station into a cylinder of the store.
    Emptied,
    /// Left the store for reclaim or destruction.
    Disposed,
    /// The store was weighed: it holds so much.
    Counted,
}

impl Kind {
    /// All, in the order of this list.
    pub const ALL: [Self; 5] = [Self::Bought, Self::Filled, Self::Emptied, Self::Disposed, Self::Counted];

    /// The word in the file.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Bought => "bought",
            Self::Filled => "filled",
            Self::Emptied => "emptied",
            Self::Disposed => "disposed",
            Self::Counted => "counted",
        }
    }

    /// Whether a station has a part in it.
    pub const fn at_station(self) -> bool {
        matches!(self, Self::Filled | Self::Emptied)
    }

    /// Whether somebody outside has: the law wants supplier and receiver kept.
    pub const fn with_party(self) -> bool {
        matches!(self, Self::Bought | Self::Disposed)
    }
}

/// A row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// The day.
    pub day: NaiveDate,
    /// What happened.
    pub kind: Kind,
    /// To what.
    pub refrigerant: FluidKind,
    /// How much, mg.
    pub mg: i64,
    /// At which station, where one has a part in it.
    pub station: Option<String>,
    /// Name and address of supplier or receiver.
    pub party: String,
    /// Invoice or note.
    pub document: String,
    /// Line of the file, from 1.
    pub line: usize,
}

/// One record: its cells with the place of each, where the next record begins, and whether a quote was never closed.
struct Record {
    cells: Vec<(usize, String)>,
    end: usize,
    open: bool,
}

/// The record that begins at byte `from`. Quotes hold commas and line ends, two quotes are one. Read here and not by a library, for none
/// tells the column of a cell.
fn record(text: &str, from: usize) -> Record {
    let (mut all, mut cell, mut begin, mut quoted) = (Vec::new(), String::new(), from, false);
    let mut letters = text[from..].char_indices().map(|(at, letter)| (from + at, letter)).peekable();
    let mut end = text.len();
    while let Some((at, letter)) = letters.next() {
        match letter {
            '"' if quoted && letters.peek().is_some_and(|(_, next)| *next == '"') => {
                letters.next();
                cell.push('"');
            }
            '"' if quoted => quoted = false,
            '"' if cell.trim().is_empty() => {
                cell.clear();
                quoted = true;
            }
            ',' if !quoted => {
                all.push((begin, std::mem::take(&mut cell).trim().to_owned()));
                begin = at + 1;
            }
            '\n' if !quoted => {
                end = at + 1;
                break;
            }
            _ => cell.push(letter),
        }
    }
    all.push((begin, cell.trim().to_owned()));
    Record { cells: all, end, open: quoted }
}

struct Reader<'a> {
    source: &'a Source,
    wrong: Vec<Diagnostic>,
}

impl Reader<'_> {
    fn told(&mut self, at: usize, message: impl Into<String>, help: impl Into<String>) {
        // A cell's blanks before its text are no part of it.
        let blanks = self.source.text[at..].len() - self.source.text[at..].trim_start_matches(' ').len();
        self.wrong.push(self.source.diagnose(at + blanks..at + blanks, message).with_help(help));
    }

    /// Place of each column in the file.
    fn columns(&mut self, head: &[(usize, String)]) -> [Option<usize>; COLUMNS.len()] {
        let mut found = [None; COLUMNS.len()];
        for (place, (at, name)) in head.iter().enumerate() {
            match COLUMNS.iter().position(|column| column == name) {
                Some(which) if found[which].is_some() => {
                    self.told(*at, format!("column `{name}` is given twice"), "take one of them away");
                }
                Some(which) => found[which] = Some(place),
                None => {
                    let near = nearest(name, COLUMNS).map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
                    self.told(
                        *at,
                        format!("unknown column `{name}`"),
                        format!("{near}columns: {}", COLUMNS.join(", ")),
                    );
                }
            }
        }
        for (name, _) in COLUMNS.iter().zip(found).take(NEEDED).filter(|(_, place)| place.is_none()) {
            let help = format!("the first line names the columns: {}", COLUMNS.join(","));
            self.told(0, format!("column `{name}` is missing"), help);
        }
        found
    }

    fn row(&mut self, cells: &[(usize, String)], columns: &[Option<usize>], line: usize) -> Option<Row> {
        let before = self.wrong.len();
        let end = cells.first().map_or(0, |(at, _)| *at);
        let cell = |which: usize| {
            let found = columns.get(which).copied().flatten().and_then(|place| cells.get(place));
            found.map_or((end, ""), |(at, text)| (*at, text.as_str()))
        };
        let (at, text) = cell(0);
        let day = date::read(text);
        if day.is_none() {
            self.told(at, format!("`{text}` is no date"), "write year, month and day: 2026-01-31; from 1970 to 2199");
        }
        let (at, text) = cell(1);
        let words = Kind::ALL.map(Kind::word);
        let kind = Kind::ALL.into_iter().find(|kind| kind.word() == text);
        if kind.is_none() {
            let near = nearest(text, words).map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
            self.told(at, format!("unknown kind `{text}`"), format!("{near}kinds: {}", words.join(", ")));
        }
        let (at, text) = cell(2);
        let refrigerant = FluidKind::from_str(text).ok();
        if refrigerant.is_none() {
            let all = FluidKind::ALL.map(FluidKind::label).join(", ");
            self.told(at, format!("unknown refrigerant `{text}`"), format!("refrigerants: {all}"));
        }
        let mg = self.mass(cell(3), kind == Some(Kind::Counted));
        let (at, station) = cell(4);
        match kind {
            Some(kind) if kind.at_station() && station.is_empty() => {
                self.told(at, format!("`{}` needs a station", kind.word()), "name it as in the results");
            }
            Some(kind) if !kind.at_station() && !station.is_empty() => {
                let help =
                    "leave `station` empty; what goes into a station is `filled`, what comes out of it `emptied`";
                self.told(at, format!("`{}` is of the store, and no station's", kind.word()), help);
            }
            _ => {}
        }
        let (at, party) = cell(5);
        if let Some(kind) = kind.filter(|kind| kind.with_party() && party.is_empty()) {
            let help = "give name and address of the supplier or of the facility that took it: the records of it are to be kept";
            self.told(at, format!("`{}` needs a party", kind.word()), help);
        }
        let (named, document) = ((!station.is_empty()).then(|| station.to_owned()), cell(6).1.to_owned());
        if self.wrong.len() > before {
            return None;
        }
        let (day, kind, refrigerant, mg) = (day?, kind?, refrigerant?, mg?);
        Some(Row { day, kind, refrigerant, mg, station: named, party: party.to_owned(), document, line })
    }

    fn mass(&mut self, (at, text): (usize, &str), zero: bool) -> Option<i64> {
        let plain = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
        let kg = text.parse::<f64>().ok().filter(|kg| plain && *kg <= MOST_KG && (*kg > 0.0 || zero));
        if kg.is_none() {
            let help =
                format!("kilograms as 12.5, more than 0 and at most {MOST_KG}; what kind it is says the way it went");
            self.told(at, format!("`{text}` is no mass"), help);
            return None;
        }
        let mg = kg.map(|kg| (kg * 1e6).round() as i64);
        if mg == Some(0) && !zero {
            self.told(at, format!("`{text}` is less than a milligram"), "leave the row away");
            return None;
        }
        mg
    }
}

/// All rows of a file, or all that is wrong with it.
pub fn read(source: &Source) -> Result<Vec<Row>, Vec<Diagnostic>> {
    let text = source.text.as_str();
    let mut reader = Reader { source, wrong: Vec::new() };
    let (mut rows, mut columns, mut from) = (Vec::new(), None, text.len() - text.trim_start_matches('\u{feff}').len());
    let mut width = 0;
    while from < text.len() {
        let Record { cells: found, end, open } = record(text, from);
        let line = source.position(from).0;
        let empty = found.len() == 1 && found.first().is_some_and(|(_, cell)| cell.is_empty());
        match &columns {
            _ if empty => {}
            _ if open => {
                let at = found.last().map_or(from, |(at, _)| *at);
                reader.told(at, "a quote is opened here and never closed", "close it, or take it away");
            }
            None => {
                width = found.len();
                columns = Some(reader.columns(&found));
                if !reader.wrong.is_empty() {
                    return Err(reader.wrong);
                }
            }
            Some(_) if found.len() != width => {
                let message = format!("{} cells, and the first line has {width}", found.len());
                reader.told(from, message, "put text that has a comma in quotes");
            }
            Some(columns) => rows.extend(reader.row(&found, columns, line)),
        }
        from = end;
    }
    if columns.is_none() {
        reader.told(0, "the file is empty", format!("its first line names the columns: {}", COLUMNS.join(",")));
    }
    if reader.wrong.is_empty() { Ok(rows) } else { Err(reader.wrong) }
}
