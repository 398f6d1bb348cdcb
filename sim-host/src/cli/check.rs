//! `check`: reads files and says all that is wrong with them.

use serde::Serialize;

use super::output::{Exit, Refusal, print, print_json};
use super::{CheckArgs, Global, Kind, input};
use crate::plant::{parse as network, rig};
use crate::scenario::diagnostic::{Diagnostic, Source};
use crate::scenario::{parse, reader, schema};
use crate::station::{self, StationFault};

#[derive(Serialize)]
struct Checked {
    file: String,
    kind: &'static str,
    ok: bool,
    /// The station that a scenario is for, and that was checked with it: a shipped name or a path.
    #[serde(skip_serializing_if = "Option::is_none")]
    station: Option<String>,
    diagnostics: Vec<Diagnostic>,
}

/// A file with a vehicle or an order is a scenario, one that speaks to a controller a station, one with steps a rig, one with a
/// vehicle's circuit beside a vessel a station too, any other a network.
fn kind_of(source: &Source) -> Result<Kind, Diagnostic> {
    let document = reader::parse(source)?;
    let root = document.root();
    let any = |keys: &[&str]| keys.iter().any(|key| root.has(key));
    Ok(if any(&["vehicle", "order", "station", "site"]) {
        Kind::Scenario
    } else if any(&["controller"]) {
        Kind::Station
    } else if any(&["step", "sweep"]) {
        Kind::Rig
    } else if document.root().opt_node("volume").ok().flatten().is_some_and(|v| v.has("vessel") && v.has("vehicle_low"))
    {
        Kind::Station
    } else {
        Kind::Network
    })
}

/// What is wrong with a file, and the station that a scenario is for.
fn diagnostics(source: &Source, kind: Kind) -> (Vec<Diagnostic>, Option<String>) {
    let wrong = match kind {
        Kind::Scenario => return scenario(source),
        Kind::Station => station::read(source).err(),
        Kind::Rig => rig::parse_rig(source).err(),
        Kind::Network => network::network(source).err(),
    };
    (wrong.unwrap_or_default(), None)
}

/// What is wrong with a scenario and with the station that it names: both are told, each with its places.
fn scenario(source: &Source) -> (Vec<Diagnostic>, Option<String>) {
    let read = parse::read(source);
    let named = reader::parse(source).ok().and_then(|document| {
        let mut station = document.root().node("station").ok()?;
        station.opt_string("network").ok().flatten().map(|name| station::resolve(&source.name, &name))
    });
    let mut wrong = read.err().unwrap_or_default();
    match station::load(named.as_deref()) {
        Ok(_) => {}
        Err(StationFault::Wrong(list)) => wrong.extend(list),
        Err(missing) => wrong.extend(at_network(source, &missing)),
    }
    (wrong, Some(named.unwrap_or_else(|| station::SHIPPED[0].name.to_owned())))
}

/// A station that cannot be read, told where the scenario names it.
fn at_network(source: &Source, missing: &StationFault) -> Option<Diagnostic> {
    let document = reader::parse(source).ok()?;
    let station = document.root().node("station").ok()?;
    let told = missing.to_string();
    let (what, help) = told.split_once("\n  help: ").unwrap_or((&told, ""));
    Some(station.error_at("network", what).with_help(format!("the path counts from the folder of this file; {help}")))
}

fn check_one(name: &str, wanted: Option<Kind>) -> Result<Checked, Refusal> {
    let source = input::any(name)?;
    let (kind, (diagnostics, station)) = match wanted.map_or_else(|| kind_of(&source), Ok) {
        Ok(kind) => (Some(kind), diagnostics(&source, kind)),
        Err(broken) => (None, (vec![broken], None)),
    };
    let kind = match kind {
        Some(Kind::Scenario) => "scenario",
        Some(Kind::Station) => "station",
        Some(Kind::Rig) => "rig",
        Some(Kind::Network) => "network",
        None => "unknown",
    };
    Ok(Checked { file: source.name, kind, ok: diagnostics.is_empty(), station, diagnostics })
}

/// Checks every file, then answers: 0 if all are well, 64 if one is not.
pub fn check(args: &CheckArgs, global: Global) -> Result<Exit, Refusal> {
    if args.schema {
        let schema = schema::schema().ok_or_else(|| Refusal::ours("the shipped demo does not read"))?;
        print_json(&schema)?;
        return Ok(Exit::Held);
    }
    let checked: Vec<Checked> = args.files.iter().map(|name| check_one(name, args.kind)).collect::<Result<_, _>>()?;
    let bad = checked.iter().filter(|one| !one.ok).count();
    if global.json {
        print_json(&checked)?;
    } else {
        for one in &checked {
            for diagnostic in &one.diagnostics {
                anstream::eprintln!("{diagnostic}");
            }
            if one.ok {
                let with =
                    one.station.as_ref().map(|name| format!(", and so is its station {name}")).unwrap_or_default();
                print(&format!("{}: {} is well{with}\n", one.file, one.kind))?;
            }
        }
        if bad > 0 {
            anstream::eprintln!("valvewright: {bad} of {} files cannot be used", checked.len());
        }
    }
    Ok(if bad == 0 { Exit::Held } else { Exit::Misuse })
}
