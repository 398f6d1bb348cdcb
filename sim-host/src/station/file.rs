//! Station files: those that are shipped, those that a scenario names, each read once for as long as its text stays the same.

use std::collections::BTreeMap;
use std::fmt;
use std::path::Path;
use std::sync::{Arc, LazyLock, Mutex, PoisonError};

use super::agree;
use super::controller;
use super::derive::{Names, Network};
use super::facts::Facts;
use crate::plant::NetworkSpec;
use crate::plant::parse::network_part;
use crate::scenario::diagnostic::{Diagnostic, Problems, Source, nearest};
use crate::scenario::reader::{self, Document};

/// A station as its file describes it.
#[derive(Debug, Clone)]
pub struct StationFile {
    /// Name of a shipped station, or the path of its file.
    pub name: String,
    /// One line for people; empty where the file has none.
    pub title: String,
    /// Its network.
    pub network: NetworkSpec,
    /// What its controller must know.
    pub facts: Facts,
}

/// A station that comes with the program.
pub struct Shipped {
    /// Name for scenarios and the command line.
    pub name: &'static str,
    /// The TOML text.
    pub text: &'static str,
}

/// Every shipped station; the first is that of scenarios that name none.
pub const SHIPPED: &[Shipped] = &[
    Shipped { name: "workshop", text: include_str!("../../networks/workshop.toml") },
    Shipped { name: "fleet_yard", text: include_str!("../../networks/fleet_yard.toml") },
];

/// What a vessel may hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rating {
    /// Most, kg.
    pub rated: f64,
    /// What stays in it, kg.
    pub heel: f64,
}

/// Why a station cannot be had.
#[derive(Debug, Clone)]
pub enum StationFault {
    /// There is no such file, or it cannot be read: its path, and why.
    Unreadable(String, String),
    /// What is wrong with it.
    Wrong(Vec<Diagnostic>),
}

impl fmt::Display for StationFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable(path, why) => {
                let shipped = SHIPPED.iter().map(|one| one.name);
                let stem = Path::new(path).file_stem().and_then(|stem| stem.to_str()).unwrap_or(path);
                let near = nearest(stem, shipped.clone());
                let near = near.map(|near| format!("nearest shipped station: `{near}`; ")).unwrap_or_default();
                let list = shipped.collect::<Vec<_>>().join(", ");
                write!(
                    f,
                    "the network file {path} cannot be read: {why}\n  help: check the path; {near}shipped stations: {list}"
                )
            }
            Self::Wrong(list) => f.write_str(&list.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")),
        }
    }
}

impl std::error::Error for StationFault {}

/// What a file `from` means by `name`: a path beside it where there is such a file, else a shipped station, else that path all the same.
/// A path is never just the name of a shipped station.
pub fn resolve(from: &str, name: &str) -> String {
    let folder = Path::new(from).parent().filter(|folder| !folder.as_os_str().is_empty());
    let path = folder.map_or_else(|| name.to_owned(), |folder| folder.join(name).display().to_string());
    match SHIPPED.iter().any(|one| one.name == name) {
        true if !Path::new(&path).is_file() => name.to_owned(),
        true if path == name => format!("./{path}"),
        _ => path,
    }
}

/// Text of the shipped station of that name, or of the file at that path; the first shipped one where none is named.
pub fn source(name: Option<&str>) -> Result<Source, StationFault> {
    let name = name.unwrap_or(SHIPPED[0].name);
    if let Some(shipped) = SHIPPED.iter().find(|one| one.name == name) {
        return Ok(Source::new(format!("{name}.toml"), shipped.text));
    }
    let text = std::fs::read_to_string(name);
    text.map(|text| Source::new(name, text)).map_err(|why| StationFault::Unreadable(name.to_owned(), why.to_string()))
}

/// The station of that name or path. No text is read twice: many runs share what was read, and a file that changes between
/// two runs is still seen.
pub fn load(name: Option<&str>) -> Result<Arc<StationFile>, StationFault> {
    static DEFAULT: LazyLock<Result<Arc<StationFile>, StationFault>> = LazyLock::new(|| fresh(None, &source(None)?));
    static KNOWN: Mutex<BTreeMap<(String, String), Arc<StationFile>>> = Mutex::new(BTreeMap::new());
    if name.is_none() {
        return DEFAULT.clone();
    }
    let source = source(name)?;
    // Whoever panicked with the lock in hand left whole entries.
    let mut known = KNOWN.lock().unwrap_or_else(PoisonError::into_inner);
    let key = (source.name.clone(), source.text.clone());
    if let Some(station) = known.get(&key) {
        return Ok(station.clone());
    }
    let station = fresh(name, &source)?;
    known.insert(key, station.clone());
    Ok(station)
}

fn fresh(name: Option<&str>, source: &Source) -> Result<Arc<StationFile>, StationFault> {
    let station = read(source).map_err(StationFault::Wrong)?;
    Ok(Arc::new(StationFile { name: name.unwrap_or(SHIPPED[0].name).to_owned(), ..station }))
}

/// What the vessel of a station may hold; none where its file cannot be used.
pub fn rating(name: Option<&str>) -> Option<Rating> {
    let station = load(name).ok()?;
    Some(Rating { rated: station.facts.rated, heel: station.facts.heel })
}

/// Names of the tables of one part of a file, whatever is in them.
fn tables(document: &Document, part: &str) -> Vec<String> {
    let table = document.root().opt_node(part).ok().flatten();
    table.map(|table| table.keys().into_iter().map(str::to_owned).collect()).unwrap_or_default()
}

/// Reads a station file, or says everything that is wrong with it.
pub fn read(source: &Source) -> Result<StationFile, Vec<Diagnostic>> {
    let document = reader::parse(source).map_err(|one| vec![one])?;
    let mut root = document.root();
    let mut problems = Problems::new();
    let title = problems.take(root.opt_string("title")).flatten().unwrap_or_default();
    let (volumes, elements) = (tables(&document, "volume"), tables(&document, "element"));
    let names = Names { volumes: &volumes, elements: &elements, document: &document };
    if !volumes.is_empty() {
        // Before the elements that do not know them: these may be more than are told.
        agree::volumes(names, &mut problems);
    }
    let mut of_network = Problems::new();
    let spec = network_part(&mut root, &mut of_network).spec.filter(|_| of_network.is_empty());
    of_network.into_list().into_iter().for_each(|one| problems.push(one));
    let table = problems.take(root.opt_node("controller")).flatten();
    let head = table.as_ref().map_or_else(|| root.error_here(""), |table| table.error_here(""));
    let network = spec.as_ref().map(|spec| Network { spec, document: &document });
    let facts = controller::facts(table, head, names, network, &mut problems);
    root.finish_into(&mut problems);
    match (spec, facts) {
        (Some(network), Some(facts)) if problems.is_empty() => {
            Ok(StationFile { name: source.name.clone(), title, network, facts })
        }
        _ => Err(problems.into_list()),
    }
}
