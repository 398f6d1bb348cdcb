//! A ledger as text, CSV and JSON: kilograms and CO2 equivalent beside each other, and until when each record is kept.

use std::fmt::Write;

use serde::Serialize;

use super::ledger::{Flows, Ledger, Line, Record, VERSION};
use super::{date, gwp};
use crate::fluid::FluidKind;

/// Columns of a line between period, place and refrigerant and the end, in the order of the papers.
pub const COLUMNS: [&str; 9] =
    ["opening", "bought", "recovered", "moved", "charged", "vented", "disposed", "unknown", "closing"];

/// What must stand beside every ledger.
pub const CAUTION: &str =
    "Books of a simulated station with an uncertified design: no record of refrigerant that exists.";

/// What the laws want kept, in our words, with where that was read.
pub const RULES: [(&str, &str); 2] = [
    (
        "United States, 40 CFR Part 82 Subpart B, 82.42(b) (read, annual edition 2015)",
        "3 years, where the service was done: name and address of each facility that refrigerant is sent to; that each operator is certified",
    ),
    (
        "European Union, Regulation (EU) 2024/573 (operators' information and a page that quotes Article 6 of 517/2014 read; the regulation itself was not)",
        "5 years at least: kind and mass of gas in the equipment, added and recovered; whether it was recycled or reclaimed, and by whom; who did the service and the number of the certificate; dates and results",
    ),
];

/// The figures of a line in the order of [`COLUMNS`], mg.
pub const fn figures(line: &Line) -> [i64; COLUMNS.len()] {
    let Flows { bought, recovered, charged, vented, disposed, moved, unknown } = line.flows;
    [line.opening, bought, recovered, moved, charged, vented, disposed, unknown, line.closing]
}

/// Kilograms.
pub const fn kg(mg: i64) -> f64 {
    mg as f64 / 1e6
}

/// How a line adds up, in words.
pub const SUM: &str = "opening + bought + recovered + moved - charged - vented - disposed - unknown = closing";

/// What the columns are.
pub const MEANING: [&str; 4] = [
    "recovered, charged and vented (by purging) are what the station said; moved is what came from another place of the workshop, less what went there",
    "opening and closing stock of a station are by weight at begin and end of its runs: all refrigerant in vessel, pipes and hoses",
    "unknown is what the weight is short of the book (negative: over it): scales that err, air that was weighed in, what stayed in hoses, what leaked; nothing is spread over other columns",
    "a station's whole content is booked as its own refrigerant, whatever came in",
];

fn potentials(ledger: &Ledger) -> Vec<String> {
    let here = |of: &FluidKind| ledger.lines.iter().any(|line| line.refrigerant == *of);
    let told = |of: FluidKind| {
        let potential = gwp::potential(of);
        format!("{of}: 1 kg stands for {} kg of CO2; {}", potential.value, potential.source)
    };
    FluidKind::ALL.into_iter().filter(here).map(told).collect()
}

/// All that stands below the tables, each a sentence.
pub fn remarks(ledger: &Ledger) -> Vec<String> {
    let meaning = MEANING.iter().map(|one| (*one).to_owned());
    ledger.notes.iter().cloned().chain([SUM.to_owned()]).chain(meaning).chain(potentials(ledger)).collect()
}

/// For a terminal.
pub fn text(ledger: &Ledger) -> String {
    let mut out = format!("{CAUTION}\n");
    // Writing to a String cannot fail, here and below.
    for (unit, co2) in [("kg", false), ("t of CO2 equivalent", true)] {
        let _ = write!(out, "\nIn {unit}\n{:<11}", "period");
        COLUMNS.iter().for_each(|name| out += &format!("{name:>10}"));
        out.push('\n');
        let mut place = None;
        for line in &ledger.lines {
            let here = (&line.place, line.refrigerant);
            if place != Some(here) {
                let _ = writeln!(out, "{}, {}", line.place, line.refrigerant);
                place = Some(here);
            }
            let _ = write!(out, "{:<11}", line.period);
            for mg in figures(line) {
                let _ = write!(out, "{:>10}", if co2 { carbon(line, mg) } else { plain(kg(mg)) });
            }
            out.push('\n');
        }
    }
    out += "\nRecords, and until when each is kept (US, EU)\n";
    for one in &ledger.records {
        let _ = writeln!(
            out,
            "{}  {}  {}  {:<9} in {:>8} kg, out {:>8} kg of {}, {}; {}; {}",
            one.made,
            one.keep_until_us,
            one.keep_until_eu,
            one.what,
            plain(one.in_kg),
            plain(one.out_kg),
            one.refrigerant,
            one.place,
            one.party,
            one.document
        );
    }
    out.push('\n');
    remarks(ledger).iter().for_each(|one| crate::display::wrap::wrapped(&mut out, "- ", one, 100));
    for (law, what) in RULES {
        crate::display::wrap::wrapped(&mut out, "- ", &format!("{law}: {what}."), 100);
    }
    out
}

/// Tonnes of CO2 equivalent: to a kilogram, and to a gram where they are small, as those of R-1234yf.
pub fn carbon(line: &Line, mg: i64) -> String {
    let tonnes = gwp::tonnes(line.refrigerant, kg(mg));
    if gwp::potential(line.refrigerant).value < 10.0 { format!("{:.6}", tonnes + 0.0) } else { plain(tonnes) }
}

/// To a gram, and never `-0.000`.
pub fn plain(value: f64) -> String {
    let text = format!("{value:.3}");
    if text == "-0.000" { "0.000".to_owned() } else { text }
}

/// The lines as CSV: period, place, refrigerant, then each column in kg to the mg, then each in t of CO2 equivalent.
pub fn csv(ledger: &Ledger) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let head = ["period", "place", "refrigerant"].map(str::to_owned);
    let units = ["kg", "tco2e"].into_iter().flat_map(|unit| COLUMNS.map(|name| format!("{name}_{unit}")));
    writer.write_record(head.into_iter().chain(units))?;
    for line in &ledger.lines {
        let head = [line.period.clone(), line.place.clone(), line.refrigerant.label().to_owned()];
        let masses = figures(line).map(|mg| format!("{:.6}", kg(mg)));
        let gases = figures(line).map(|mg| format!("{:.6}", gwp::tonnes(line.refrigerant, kg(mg)) + 0.0));
        writer.write_record(head.into_iter().chain(masses).chain(gases))?;
    }
    finished(writer)
}

/// The records as CSV.
pub fn records_csv(ledger: &Ledger) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    ledger.records.iter().try_for_each(|one| writer.serialize(one))?;
    finished(writer)
}

fn finished(writer: csv::Writer<Vec<u8>>) -> Result<String, csv::Error> {
    let bytes = writer.into_inner().map_err(|wrong| csv::Error::from(wrong.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

#[derive(Serialize)]
struct JsonLine<'a> {
    period: &'a str,
    place: &'a str,
    refrigerant: FluidKind,
    kg: std::collections::BTreeMap<&'static str, f64>,
    tco2e: std::collections::BTreeMap<&'static str, f64>,
}

/// A ledger for programs.
#[derive(Serialize)]
pub struct Json<'a> {
    version: u32,
    caution: &'static str,
    rows: Vec<JsonLine<'a>>,
    records: &'a [Record],
    notes: &'a [String],
    potentials: Vec<String>,
    years_us: u32,
    years_eu: u32,
    rules: Vec<[&'static str; 2]>,
}

/// The ledger as JSON has it.
pub fn json(ledger: &Ledger) -> Json<'_> {
    let rows = ledger.lines.iter().map(|line| {
        let all = COLUMNS.into_iter().zip(figures(line));
        JsonLine {
            period: &line.period,
            place: &line.place,
            refrigerant: line.refrigerant,
            kg: all.clone().map(|(name, mg)| (name, kg(mg))).collect(),
            tco2e: all.map(|(name, mg)| (name, gwp::tonnes(line.refrigerant, kg(mg)))).collect(),
        }
    });
    Json {
        version: VERSION,
        caution: CAUTION,
        rows: rows.collect(),
        records: &ledger.records,
        notes: &ledger.notes,
        potentials: potentials(ledger),
        years_us: date::YEARS_US,
        years_eu: date::YEARS_EU,
        rules: RULES.iter().map(|(law, what)| [*law, *what]).collect(),
    }
}
