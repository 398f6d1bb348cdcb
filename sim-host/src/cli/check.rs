//! `check`: reads files and says all that is wrong with them.

use serde::Serialize;

use super::output::{Exit, Refusal, print, print_json};
use super::{CheckArgs, Global, Kind, input};
use crate::plant::{parse as network, rig};
use crate::scenario::diagnostic::{Diagnostic, Source};
use crate::scenario::{parse, reader, schema};

#[derive(Serialize)]
struct Checked {
    file: String,
    kind: &'static str,
    ok: bool,
    diagnostics: Vec<Diagnostic>,
}

/// A file with a vehicle or an order is a scenario, one with steps a rig, any other a network.
fn kind_of(source: &Source) -> Result<Kind, Diagnostic> {
    let document = reader::parse(source)?;
    let root = document.root();
    let any = |keys: &[&str]| keys.iter().any(|key| root.has(key));
    Ok(if any(&["vehicle", "order", "station", "site"]) {
        Kind::Scenario
    } else if any(&["step", "sweep"]) {
        Kind::Rig
    } else {
        Kind::Network
    })
}

fn diagnostics(source: &Source, kind: Kind) -> Vec<Diagnostic> {
    match kind {
        Kind::Scenario => match parse::read(source) {
            Ok(scenario) => station(source, scenario.station.network.as_deref()),
            Err(wrong) => Some(wrong),
        },
        Kind::Rig => rig::parse_rig(source).err(),
        Kind::Network => network::network(source).err(),
    }
    .unwrap_or_default()
}

/// What is wrong with the network file that a scenario names.
fn station(source: &Source, path: Option<&str>) -> Option<Vec<Diagnostic>> {
    let path = path?;
    match std::fs::read_to_string(path) {
        Ok(text) => network::network(&Source::new(path, text)).err(),
        Err(why) => {
            let document = reader::parse(source).ok()?;
            let station = document.root().node("station").ok()?;
            let what = format!("the network file {path} cannot be read: {why}");
            Some(vec![station.error_at("network", what).with_help("the path counts from the folder of this file")])
        }
    }
}

fn check_one(name: &str, wanted: Option<Kind>) -> Result<Checked, Refusal> {
    let source = input::any(name)?;
    let (kind, diagnostics) = match wanted.map_or_else(|| kind_of(&source), Ok) {
        Ok(kind) => (Some(kind), diagnostics(&source, kind)),
        Err(broken) => (None, vec![broken]),
    };
    let kind = match kind {
        Some(Kind::Scenario) => "scenario",
        Some(Kind::Rig) => "rig",
        Some(Kind::Network) => "network",
        None => "unknown",
    };
    Ok(Checked { file: source.name, kind, ok: diagnostics.is_empty(), diagnostics })
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
                print(&format!("{}: {} is well\n", one.file, one.kind))?;
            }
        }
        if bad > 0 {
            anstream::eprintln!("valvewright: {bad} of {} files cannot be used", checked.len());
        }
    }
    Ok(if bad == 0 { Exit::Held } else { Exit::Misuse })
}
