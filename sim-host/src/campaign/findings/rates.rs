//! Failure rates out of a file: each row held against the catalogue of faults, each with its source, and mistakes told with what is accepted.

use csv::{ReaderBuilder, StringRecord, Trim};

use crate::fault::{self, FaultId, Injection, catalogue};
use crate::scenario::diagnostic::{Diagnostic, Problems, Source, nearest};

/// Columns of the file; mode and tag may be left out.
const COLUMNS: [&str; 5] = ["fault", "mode", "tag", "rate_per_h", "source"];
/// Columns that may be left out.
const OPTIONAL: [&str; 2] = ["mode", "tag"];
/// More than one failure an hour is a slip of the unit (own choice).
const MOST_PER_H: f64 = 1.0;

/// How often a fault comes in a way, at a device.
#[derive(Clone, Debug, PartialEq)]
pub struct Rate {
    /// Id of the fault, mode and device; an empty one stands for any that has no row of its own.
    pub way: [String; 3],
    /// Failures an hour, above 0 to 1.
    pub per_hour: f64,
    /// Where that figure comes from.
    pub source: String,
}

/// Rates of a file.
#[derive(Clone, Debug, PartialEq)]
pub struct Rates {
    /// Name of the file.
    pub file: String,
    rows: Vec<Rate>,
}

impl Rates {
    /// The rate of a fault in this mode at this device: of the row that says most about it. Of two that say as much, a mode counts more
    /// than a device.
    pub fn of(&self, way: &[String; 3]) -> Option<&Rate> {
        let fits = |one: &&Rate| {
            one.way[0] == way[0] && one.way.iter().zip(way).all(|(own, wanted)| own.is_empty() || own == wanted)
        };
        self.rows.iter().filter(fits).max_by_key(|one| (!one.way[1].is_empty(), !one.way[2].is_empty()))
    }
}

/// Reads a file of rates.
///
/// # Errors
/// All that is wrong with it, each with its line.
pub fn read(source: &Source) -> Result<Rates, Vec<Diagnostic>> {
    let mut reader = ReaderBuilder::new().trim(Trim::All).from_reader(source.text.as_bytes());
    let mut p = Problems::new();
    let head = reader.headers().cloned().map_err(|why| vec![broken(source, &why)])?;
    let places = columns(source, &head).map_err(|one| vec![one])?;
    let mut rows: Vec<(Rate, usize)> = Vec::new();
    for record in reader.records() {
        let Some(record) = p.take(record.map_err(|why| broken(source, &why))) else { continue };
        let at = record.position().map_or(0, |one| one.byte() as usize);
        let cell = |name: usize| places[name].and_then(|at| record.get(at)).unwrap_or_default();
        let from = at + blank(source, at);
        let diagnose = |what: String| source.diagnose(from..from, what);
        let Some(rate) = p.take(rate(COLUMNS.map(|name| cell(place(name))), &diagnose)) else { continue };
        if let Some((_, first)) = rows.iter().find(|(one, _)| one.way == rate.way) {
            let what = format!("{} has a rate already, in line {first}", words(&rate.way));
            p.push(diagnose(what).with_help("take one of them out, or name mode or tag"));
        }
        rows.push((rate, source.position(from).0));
    }
    if rows.is_empty() && p.is_empty() {
        p.push(source.diagnose(0..0, "there is no rate in it").with_help(format!("a row is {}", COLUMNS.join(","))));
    }
    let list = p.into_list();
    let rows = rows.into_iter().map(|(one, _)| one).collect();
    if list.is_empty() { Ok(Rates { file: source.name.clone(), rows }) } else { Err(list) }
}

/// Line ends before a record count as its beginning for the reader.
fn blank(source: &Source, at: usize) -> usize {
    source.text.get(at..).map_or(0, |rest| rest.len() - rest.trim_start_matches(['\n', '\r']).len())
}

fn place(name: &str) -> usize {
    COLUMNS.iter().position(|one| *one == name).unwrap_or_default()
}

fn words(way: &[String; 3]) -> String {
    way.iter().filter(|one| !one.is_empty()).cloned().collect::<Vec<_>>().join(" ")
}

fn broken(source: &Source, why: &csv::Error) -> Diagnostic {
    let at = why.position().map_or(0, |one| one.byte() as usize);
    let what = match why.kind() {
        csv::ErrorKind::UnequalLengths { expected_len, len, .. } => {
            format!("it has {len} cells, the head has {expected_len}")
        }
        _ => format!("it is no CSV: {why}"),
    };
    let help = format!("a row is {}; a cell with a comma in it stands in quotes", COLUMNS.join(","));
    let from = at + blank(source, at);
    source.diagnose(from..from, what).with_help(help)
}

/// Where each column stands.
fn columns(source: &Source, head: &StringRecord) -> Result<[Option<usize>; 5], Diagnostic> {
    let help = format!("the first line is {}; mode and tag may be left out", COLUMNS.join(","));
    for one in head {
        if !COLUMNS.contains(&one) {
            let near = nearest(one, COLUMNS).map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
            return Err(source.diagnose(0..0, format!("no column is called `{one}`")).with_help(near + &help));
        }
        if head.iter().filter(|other| *other == one).count() > 1 {
            return Err(source.diagnose(0..0, format!("the column `{one}` is there twice")).with_help(help));
        }
    }
    let places = COLUMNS.map(|name| head.iter().position(|one| one == name));
    match COLUMNS.iter().zip(places).find(|(name, at)| at.is_none() && !OPTIONAL.contains(name)) {
        Some((name, _)) => Err(source.diagnose(0..0, format!("the column `{name}` is missing")).with_help(help)),
        None => Ok(places),
    }
}

fn rate(cells: [&str; 5], diagnose: &dyn Fn(String) -> Diagnostic) -> Result<Rate, Diagnostic> {
    let [id, mode, tag, figure, origin] = cells;
    let Some(of) = FaultId::read(id).and_then(fault::find) else {
        let near = nearest(id, catalogue::entries().iter().map(|one| one.id.as_str()));
        let near = near.map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
        let help = format!("{near}F001 to F{:03}", catalogue::entries().len());
        return Err(diagnose(format!("fault: no fault is called `{id}`")).with_help(help));
    };
    known(of, "mode", mode, &of.modes.iter().map(|one| one.name).collect::<Vec<_>>(), diagnose)?;
    known(of, "tag", tag, of.tags, diagnose)?;
    let range = format!("accepted range: above 0 to {MOST_PER_H} failures an hour, such as 2e-6");
    let per_hour = figure.parse::<f64>().ok().filter(|one| *one > 0.0 && *one <= MOST_PER_H);
    let per_hour = per_hour.ok_or_else(|| diagnose(format!("rate_per_h: `{figure}` is no rate")).with_help(range))?;
    if origin.is_empty() {
        let help = "say where the rate comes from, or that it is an assumption";
        return Err(diagnose("source: it is missing".into()).with_help(help));
    }
    Ok(Rate { way: [id, mode, tag].map(str::to_owned), per_hour, source: origin.to_owned() })
}

/// An empty word, or one that the fault has.
fn known(
    of: &Injection,
    what: &str,
    word: &str,
    all: &[&str],
    diagnose: &dyn Fn(String) -> Diagnostic,
) -> Result<(), Diagnostic> {
    let named: Vec<&str> = all.iter().copied().filter(|one| !one.is_empty()).collect();
    if word.is_empty() || named.contains(&word) {
        return Ok(());
    }
    let near = nearest(word, named.iter().copied()).map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
    let help =
        if named.is_empty() { "leave it empty".to_owned() } else { format!("{near}empty, or {}", named.join(", ")) };
    Err(diagnose(format!("{what}: {} has no {what} `{word}`", of.id)).with_help(help))
}
