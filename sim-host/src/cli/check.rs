//! `check`: reads files and says all that is wrong with them.

use serde::Serialize;

use super::kind::kind_of;
use super::output::{Exit, Refusal, print, print_json};
use super::{CheckArgs, Global, Kind, input};
use crate::plant::{parse as network, rig};
use crate::scenario::diagnostic::{Diagnostic, Source};
use crate::scenario::{parse, reader, schema};
use crate::station::{self, StationFault, Told};

#[derive(Serialize)]
struct Checked {
    file: String,
    kind: &'static str,
    ok: bool,
    /// The station that a scenario is for, and that was checked with it: a shipped name or a path.
    #[serde(skip_serializing_if = "Option::is_none")]
    station: Option<String>,
    diagnostics: Vec<Diagnostic>,
    /// What the controller of a station will be told.
    #[serde(skip_serializing_if = "Option::is_none")]
    told: Option<Told>,
}

/// What came of reading a file.
#[derive(Default)]
struct Found {
    wrong: Vec<Diagnostic>,
    station: Option<String>,
    told: Option<Told>,
}

/// What is wrong with a file, the station that a scenario is for, and what a station tells its controller.
fn found(source: &Source, kind: Kind) -> Found {
    let wrong = match kind {
        Kind::Scenario => {
            let (wrong, station) = scenario(source);
            return Found { wrong, station, told: None };
        }
        Kind::Station => match station::read(source) {
            Ok(station) => return Found { told: Some(station.facts.told()), ..Found::default() },
            Err(wrong) => Some(wrong),
        },
        Kind::Rig => rig::parse_rig(source).err(),
        Kind::Network => network::network(source).err(),
    };
    Found { wrong: wrong.unwrap_or_default(), ..Found::default() }
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
    let (kind, found) = match wanted.map_or_else(|| kind_of(&source), Ok) {
        Ok(kind) => (Some(kind), found(&source, kind)),
        Err(broken) => (None, Found { wrong: vec![broken], ..Found::default() }),
    };
    let kind = match kind {
        Some(Kind::Scenario) => "scenario",
        Some(Kind::Station) => "station",
        Some(Kind::Rig) => "rig",
        Some(Kind::Network) => "network",
        None => "unknown",
    };
    let Found { wrong: diagnostics, station, told } = found;
    Ok(Checked { file: source.name, kind, ok: diagnostics.is_empty(), station, diagnostics, told })
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
            if let Some(told) = &one.told {
                let lines = told.lines();
                let lines: String = lines.iter().map(|(name, figure)| format!("  {name:<14}{figure}\n")).collect();
                print(&format!("its controller will be told\n{lines}"))?;
            }
        }
        if bad > 0 {
            anstream::eprintln!("valvewright: {bad} of {} files cannot be used", checked.len());
        }
    }
    Ok(if bad == 0 { Exit::Held } else { Exit::Misuse })
}
