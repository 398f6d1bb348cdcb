//! `list`: what comes with the program, and with `--notices` what its controller can tell.

use std::fmt::Write;

use serde_json::json;

use super::output::{Exit, Refusal, print, print_json};
use super::{Global, ListArgs, input, notices};
use crate::campaign::plan;
use crate::fluid::{Fluid, FluidKind};
use crate::plant::rig;
use crate::scenario::diagnostic::Source;
use crate::scenario::{parse, random, shipped};
use crate::station;

/// Title of a shipped text; the shipped ones all read, which the tests hold.
fn scenario_title(one: &shipped::Shipped) -> String {
    parse::read(&Source::new(one.name, one.text)).map(|scenario| scenario.title).unwrap_or_default()
}

fn rig_title(name: &str, text: &str) -> String {
    rig::parse_rig(&Source::new(name, text)).map(|spec| spec.title).unwrap_or_default()
}

fn station_title(one: &station::Shipped) -> String {
    station::read(&Source::new(one.name, one.text)).map(|station| station.title).unwrap_or_default()
}

fn plan_title(one: &plan::Shipped) -> String {
    plan::read(&Source::new(one.name, one.text)).map(|plan| plan.title).unwrap_or_default()
}

/// Lists scenarios, stations, rigs, plans and fluids, or prints the text of one.
pub fn list(args: &ListArgs, global: Global) -> Result<Exit, Refusal> {
    if args.notices {
        return notices::notices(&args.told, global);
    }
    args.told.refuse_without_notices()?;
    if let Some(name) = &args.name {
        let source = input::any(name)?;
        if global.json {
            print_json(&json!({ "file": source.name, "text": source.text }))?;
        } else {
            print(&source.text)?;
        }
        return Ok(Exit::Held);
    }
    let scenarios: Vec<(&str, String)> = shipped::SHIPPED.iter().map(|one| (one.name, scenario_title(one))).collect();
    let faults: Vec<(&str, String)> = shipped::FAULTS.iter().map(|one| (one.name, scenario_title(one))).collect();
    let questions: Vec<(&str, String)> = shipped::QUESTIONS.iter().map(|one| (one.name, scenario_title(one))).collect();
    let upkeep: Vec<(&str, String)> = shipped::UPKEEP.iter().map(|one| (one.name, scenario_title(one))).collect();
    let rigs: Vec<(&str, String)> = rig::shipped().iter().map(|(name, text)| (*name, rig_title(name, text))).collect();
    let stations: Vec<(&str, String)> = station::SHIPPED.iter().map(|one| (one.name, station_title(one))).collect();
    let plans: Vec<(&str, String)> = plan::SHIPPED.iter().map(|one| (one.name, plan_title(one))).collect();
    if global.json {
        let named = |list: &[(&str, String)]| -> Vec<_> {
            list.iter().map(|(name, title)| json!({ "name": name, "title": title })).collect()
        };
        let fluids: Vec<_> = FluidKind::ALL
            .iter()
            .map(|kind| {
                let fluid = Fluid::get(*kind);
                json!({ "name": kind.label(), "t_min_K": fluid.t_min(), "t_sat_max_K": fluid.t_sat_max(), "t_max_K": fluid.t_max() })
            })
            .collect();
        let drawn = json!({ "prefix": random::PREFIX, "first": u64::MIN, "last": u64::MAX });
        print_json(
            &json!({ "scenarios": named(&scenarios), "questions": named(&questions), "upkeep": named(&upkeep), "faults": named(&faults), "random": drawn, "stations": named(&stations), "rigs": named(&rigs), "plans": named(&plans),
                "fluids": fluids }),
        )?;
        return Ok(Exit::Held);
    }
    let bold = anstyle::Style::new().bold();
    let mut text = String::new();
    let mut section = |head: &str, rows: &[(&str, String)]| {
        let width = rows.iter().map(|(name, _)| name.len()).max().unwrap_or(0);
        let _ = writeln!(text, "{bold}{head}{bold:#}");
        for (name, title) in rows {
            let _ = writeln!(text, "  {name:<width$}  {title}");
        }
    };
    section("Scenarios (valvewright run NAME)", &scenarios);
    let drawn = format!("A job drawn from a seed, 0 to {}; the same seed, the same job", u64::MAX);
    section("Questions to the interlock table (valvewright run NAME)", &questions);
    section("Procedures of upkeep, done and refused (valvewright run NAME)", &upkeep);
    if let (Some((first, title)), Some((last, _))) = (faults.first(), faults.last()) {
        let head = format!(
            "Scenarios of faults (valvewright run {first}, ... {last}: {} of them, each named after its fault)",
            faults.len()
        );
        section(&head, &[(first, title.clone())]);
    }
    section("Drawn scenarios (valvewright run random:17)", &[("random:SEED", drawn)]);
    section("Stations (valvewright run NAME --station STATION)", &stations);
    section("Rigs (valvewright rig NAME)", &rigs);
    section("Plans of campaigns (valvewright campaign NAME)", &plans);
    let fluids: Vec<(&str, String)> = FluidKind::ALL
        .iter()
        .map(|kind| {
            let fluid = Fluid::get(*kind);
            let celsius = |kelvin: f64| kelvin - 273.15;
            let range = format!(
                "saturation {:.0} to {:.1} degC, any state to {:.0} degC",
                celsius(fluid.t_min()),
                celsius(fluid.t_sat_max()),
                celsius(fluid.t_max())
            );
            (kind.label(), range)
        })
        .collect();
    section("Fluids (valvewright fluid NAME)", &fluids);
    print(&text)?;
    Ok(Exit::Held)
}
