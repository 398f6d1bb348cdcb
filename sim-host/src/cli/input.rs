//! Where input texts come from: a shipped name, a seed to draw from, or a file, told apart by what exists.

use std::path::Path;

use super::Kind;
use super::kind::kind_of;
use super::output::Refusal;
use crate::campaign::plan;
use crate::lesson::{self, Lesson};
use crate::plant::rig;
use crate::scenario::diagnostic::{Source, nearest};
use crate::scenario::{random, shipped};
use crate::station::{self, StationFault};

/// No input file is longer; a longer one is taken for a mistake rather than read.
const LONGEST: u64 = 4 << 20;

/// A scenario that needs no file: a shipped or a drawn one.
fn named(name: &str) -> Option<Result<Source, Refusal>> {
    let drawn = || Some(random::source(name)?.map_err(|bad| Refusal::misuse(bad.message).with_help(bad.help)));
    shipped::source(name).map(Ok).or_else(drawn)
}

/// A scenario by name or path; a file of another kind is told as what it is, and what it is good for.
pub fn scenario(name: &str) -> Result<Source, Refusal> {
    let is_file = Path::new(name).is_file();
    if let Some(source) = named(name).filter(|_| !is_file) {
        return source;
    }
    if !is_file && station::SHIPPED.iter().any(|one| one.name == name) {
        return Err(not_a_scenario(name, Kind::Station));
    }
    let source = file(name, "scenario", &shipped::SHIPPED.iter().map(|one| one.name).collect::<Vec<_>>())?;
    match kind_of(&source) {
        Ok(kind @ (Kind::Station | Kind::Rig)) => Err(not_a_scenario(name, kind)),
        _ => Ok(source),
    }
}

fn not_a_scenario(name: &str, kind: Kind) -> Refusal {
    if kind == Kind::Rig {
        let said = Refusal::misuse(format!("{name} is a rig, and no scenario"));
        return said.with_help(format!("use `valvewright rig {name}`"));
    }
    let said = Refusal::misuse(format!("{name} is a station file, and no scenario"));
    let demo = shipped::DEMO;
    said.with_help(format!(
        "use `valvewright run SCENARIO --station {name}`, such as `valvewright run {demo} --station {name}`"
    ))
}

fn not_a_station(name: &str, kind: Kind) -> Refusal {
    if kind == Kind::Rig {
        let said = Refusal::misuse(format!("{name} is a rig, and no station"));
        return said.with_help(format!("use `valvewright rig {name}`"));
    }
    let shipped = station::SHIPPED.iter().map(|one| one.name).collect::<Vec<_>>().join(", ");
    let said = Refusal::misuse(format!("{name} is a scenario, and no station"));
    said.with_help(format!("use `valvewright run {name} --station STATION`; shipped stations: {shipped}"))
}

/// A station by shipped name or path, as a scenario may name it. What is wrong with its file is told here, before the scenario is
/// held against it.
pub fn station(name: &str) -> Result<String, Refusal> {
    let name = station::resolve("", name);
    let is_file = Path::new(&name).is_file();
    match station::source(Some(&name)) {
        Ok(source) => {
            if let Ok(kind @ (Kind::Scenario | Kind::Rig)) = kind_of(&source) {
                return Err(not_a_station(&name, kind));
            }
        }
        Err(_) if !is_file && matches!(named(&name), Some(Ok(_))) => return Err(not_a_station(&name, Kind::Scenario)),
        Err(_) => {}
    }
    match station::load(Some(&name)) {
        Ok(_) => Ok(name),
        Err(StationFault::Wrong(list)) => Err(Refusal::file(list)),
        Err(missing) => Err(Refusal::misuse(missing.to_string())),
    }
}

/// A rig by shipped name or path.
pub fn rig(name: &str) -> Result<Source, Refusal> {
    if let Some(text) = rig::shipped_text(name).filter(|_| !Path::new(name).is_file()) {
        return Ok(Source::new(format!("{name}.toml"), text));
    }
    file(name, "rig", &rig::shipped().iter().map(|(name, _)| *name).collect::<Vec<_>>())
}

/// A campaign's plan by shipped name or path.
pub fn plan(name: &str) -> Result<Source, Refusal> {
    if let Some(source) = plan::source(name).filter(|_| !Path::new(name).is_file()) {
        return Ok(source);
    }
    file(name, "plan", &plan::SHIPPED.iter().map(|one| one.name).collect::<Vec<_>>())
}

/// A lesson by shipped name or path.
pub fn lesson(name: &str) -> Result<Lesson, Refusal> {
    if let Some(found) = lesson::shipped(name).filter(|_| !Path::new(name).is_file()) {
        return Ok(found);
    }
    let source = file(name, "lesson", &lesson::LESSONS.iter().map(|(name, _)| *name).collect::<Vec<_>>())?;
    lesson::read(&source).map_err(Refusal::file)
}

/// A file of failure rates.
pub fn rates(name: &str) -> Result<Source, Refusal> {
    file(name, "file of rates", &[])
}

/// Any input by path or name.
pub fn any(name: &str) -> Result<Source, Refusal> {
    if !Path::new(name).is_file() {
        if let Some(source) = named(name) {
            return source;
        }
        if let Some(text) = rig::shipped_text(name) {
            return Ok(Source::new(format!("{name}.toml"), text));
        }
        if let Some(one) = station::SHIPPED.iter().find(|one| one.name == name) {
            return Ok(Source::new(format!("{name}.toml"), one.text));
        }
        if let Some(source) = plan::source(name) {
            return Ok(source);
        }
    }
    let scenarios = shipped::SHIPPED.iter().map(|one| one.name);
    let stations = station::SHIPPED.iter().map(|one| one.name);
    let rigs = rig::shipped().iter().map(|(name, _)| *name);
    file(name, "scenario, station or rig", &scenarios.chain(stations).chain(rigs).collect::<Vec<_>>())
}

fn file(name: &str, what: &str, shipped: &[&str]) -> Result<Source, Refusal> {
    let path = Path::new(name);
    let size = std::fs::metadata(path).map(|facts| facts.len());
    let bytes = match size {
        Ok(size) if size > LONGEST => {
            return Err(Refusal::misuse(format!("{name} is too long for a {what}: {size} bytes, at most {LONGEST}")));
        }
        _ => std::fs::read(path),
    };
    let bytes = bytes.map_err(|wrong| {
        if wrong.kind() != std::io::ErrorKind::NotFound {
            return Refusal::misuse(format!("{name} cannot be read: {wrong}"));
        }
        if shipped.is_empty() {
            return Refusal::misuse(format!("there is no {what} at `{name}`"));
        }
        let stem = path.file_stem().and_then(|stem| stem.to_str()).unwrap_or(name);
        let list = shipped.join(", ");
        let help = match nearest(stem, shipped.iter().copied()) {
            Some(near) => format!("nearest shipped name: `{near}`; shipped: {list}"),
            None => format!("shipped: {list}"),
        };
        Refusal::misuse(format!("no file and no shipped {what} is called `{name}`")).with_help(help)
    })?;
    String::from_utf8(bytes).map(|text| Source::new(name, text)).map_err(|wrong| {
        let start = wrong.utf8_error().valid_up_to();
        let text = String::from_utf8_lossy(wrong.as_bytes()).into_owned();
        let found = Source::new(name, text).diagnose(start..start, "the file is not UTF-8 text");
        Refusal::file(vec![found.with_help("save it as UTF-8")])
    })
}
