//! `check`: reads files, says all that is wrong with them, and of a scenario that is well what will run.

use serde::Serialize;

use super::kind::kind_of;
use super::output::{Exit, Refusal, print, print_json};
use super::{CheckArgs, Global, Kind, input};
use crate::display::wrap::{WIDTH, wrapped};
use crate::explain::{self, Planning};
use crate::logic::Property;
use crate::plant::{parse as network, rig};
use crate::run;
use crate::scenario::diagnostic::{Diagnostic, Source};
use crate::scenario::{Scenario, parse, reader, schema};
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
    /// What the properties of a scenario say.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    properties: Vec<Said>,
    /// What will run.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    plan: Vec<Planning>,
    /// What of it will never come.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    warnings: Vec<String>,
}

/// A property in a sentence.
#[derive(Serialize)]
struct Said {
    name: String,
    formula: String,
    says: String,
}

/// What came of reading a file.
#[derive(Default)]
struct Found {
    wrong: Vec<Diagnostic>,
    station: Option<String>,
    told: Option<Told>,
    properties: Vec<Said>,
    plan: Vec<Planning>,
    warnings: Vec<String>,
}

/// What is wrong with a file, the station that a scenario is for, and what a station tells its controller.
fn found(source: &Source, kind: Kind) -> Found {
    let wrong = match kind {
        Kind::Scenario => {
            return scenario(source);
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
fn scenario(source: &Source) -> Found {
    let read = parse::read(source);
    let named = reader::parse(source).ok().and_then(|document| {
        let mut station = document.root().node("station").ok()?;
        station.opt_string("network").ok().flatten().map(|name| station::resolve(&source.name, &name))
    });
    let properties = read.iter().flat_map(said).collect();
    let plan = read.iter().flat_map(explain::plan).collect();
    let warnings = read.iter().flat_map(explain::doubts).collect();
    // What a network has is known when it can be built, so a station that is wrong is told first.
    let missing = read.as_ref().map_or_else(|_| Vec::new(), |scenario| missing(source, scenario));
    let mut wrong = read.err().unwrap_or(missing);
    match station::load(named.as_deref()) {
        Ok(_) => {}
        Err(StationFault::Wrong(list)) => wrong.extend(list),
        Err(missing) => wrong.extend(at_network(source, &missing)),
    }
    let station = Some(named.unwrap_or_else(|| station::SHIPPED[0].name.to_owned()));
    Found { wrong, station, properties, plan, warnings, told: None }
}

/// The properties of all jobs, each in a sentence.
fn said(scenario: &Scenario) -> Vec<Said> {
    let row = !scenario.then.is_empty();
    let of = |at: usize, one: &Property| Said {
        name: if row { format!("job {}: {}", at + 1, one.name) } else { one.name.clone() },
        formula: one.formula.clone(),
        says: one.parsed.sentence(),
    };
    scenario.jobs().enumerate().flat_map(|(at, job)| job.properties.iter().map(move |one| of(at, one))).collect()
}

/// Signals that a property asks for and that the plant of its job does not have: a leak where the vehicle is tight.
fn missing(source: &Source, scenario: &Scenario) -> Vec<Diagnostic> {
    let lacks = run::missing_signals(scenario).into_iter();
    let told = lacks.filter_map(|(job, at, signal)| {
        let document = reader::parse(source).ok()?;
        let mut root = document.root();
        let mut list = if root.has("job") { root.nodes("job").ok()?.into_iter().nth(job)? } else { root };
        let node = list.nodes("property").ok()?.into_iter().nth(at)?;
        let what = format!("{}: the plant of this job has no `{signal}`", node.full_name("formula"));
        let help = "what a part has depends on the job: a leak, a second gas, water, nitrogen; ask for what is there";
        Some(node.error_at("formula", what).with_help(help))
    });
    told.collect()
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
    let Found { wrong: diagnostics, station, told, properties, plan, warnings } = found;
    let ok = diagnostics.is_empty();
    Ok(Checked { file: source.name, kind, ok, station, diagnostics, told, properties, plan, warnings })
}

/// What will run, for a terminal.
fn planned(plan: &[Planning]) -> String {
    let (mut out, mut job) = (String::new(), "");
    for one in plan {
        if one.job != job && !one.job.is_empty() {
            out += &format!("  {}\n", one.job);
        }
        job = &one.job;
        for (at, says) in one.says.iter().enumerate() {
            let about = if at == 0 { one.about } else { "" };
            wrapped(&mut out, &format!("  {about:<11}"), says, WIDTH);
        }
    }
    out
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
            if !one.plan.is_empty() {
                print(&format!("{} will run\n{}", one.file, planned(&one.plan)))?;
            }
            for warning in &one.warnings {
                anstream::eprintln!("{}: warning: {warning}", one.file);
            }
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
