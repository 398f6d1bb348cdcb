//! What of a store is changed: settings, operators, presets. What is protected needs a supervisor.

use serde_json::json;
use valvewright_core::record::event::Changed;
use valvewright_core::record::roster::Role;
use valvewright_core::record::workshop::key;

use super::{OperatorsVerb, PresetsArgs, RoleArg, SettingsArgs, StoreArgs};
use crate::cli::Global;
use crate::cli::output::{Exit, Refusal, print, print_json};
use crate::shop::{operators as list, presets as preset, settings as set};

/// Settings.
pub fn settings(args: &SettingsArgs, global: Global) -> Result<Exit, Refusal> {
    let mut shop = args.change.store.open()?;
    let mut now = shop.settings();
    let mut clock = false;
    for one in &args.changes {
        clock |= set::change(&mut now, one)?;
    }
    if clock {
        shop.supervisor(args.change.operator, "to set the clock")?;
    }
    if !args.changes.is_empty() {
        shop.change("the settings", |all| all.put(key::SETTINGS, &now.encode()))?;
        let what = if clock { Changed::Clock } else { Changed::Settings };
        shop.changed(what, args.change.operator)?;
        args.change.store.keep(&shop)?;
    }
    let lines = set::lines(&now);
    if global.json {
        print_json(&json!({ "version": 1, "settings": lines }))?;
    } else {
        let text: String =
            lines.iter().map(|one| format!("{:<10}{:<34}{}\n", one.key, one.value, one.accepted)).collect();
        print(&text)?;
    }
    Ok(Exit::Held)
}

/// Operators.
pub fn operators(verb: &OperatorsVerb, global: Global) -> Result<Exit, Refusal> {
    let (store, shop): (&StoreArgs, _) = match verb {
        OperatorsVerb::List(store) => (store, store.open()?),
        OperatorsVerb::Add { number, name, role, change } => {
            let role = match role {
                RoleArg::Technician => Role::Technician,
                RoleArg::Supervisor => Role::Supervisor,
            };
            let mut shop = change.store.open()?;
            list::add(&mut shop, *number, name, role, change.operator)?;
            (&change.store, shop)
        }
        OperatorsVerb::Remove { number, change } => {
            let mut shop = change.store.open()?;
            list::remove(&mut shop, *number, change.operator)?;
            (&change.store, shop)
        }
    };
    if !matches!(verb, OperatorsVerb::List(_)) {
        store.keep(&shop)?;
    }
    let roster = shop.roster();
    if global.json {
        let all: Vec<_> = roster
            .all()
            .iter()
            .map(|one| json!({ "number": one.number, "name": one.name.as_str(), "role": one.role.name() }))
            .collect();
        print_json(&json!({ "version": 1, "operators": all }))?;
    } else if roster.all().is_empty() {
        print("nobody is on the list\n")?;
    } else {
        let lines: String = roster
            .all()
            .iter()
            .map(|one| format!("{:>5}  {:<16}  {}\n", one.number, one.name, one.role.name()))
            .collect();
        print(&lines)?;
    }
    Ok(Exit::Held)
}

/// Presets.
pub fn presets(args: &PresetsArgs, global: Global) -> Result<Exit, Refusal> {
    let mut shop = args.change.store.open()?;
    let mut now = shop.look(|all| all.presets()).map(|item| item.or(Default::default()).0).unwrap_or_default();
    for one in &args.changes {
        preset::change(&mut now, one)?;
    }
    if !args.changes.is_empty() {
        shop.supervisor(args.change.operator, "to change presets")?;
        shop.change("the presets", |all| all.put(key::PRESETS, &now.encode()))?;
        shop.changed(Changed::Presets, args.change.operator)?;
        args.change.store.keep(&shop)?;
    }
    let lines = preset::lines(&now);
    if global.json {
        print_json(&json!({ "version": 1, "presets": lines }))?;
        return Ok(Exit::Held);
    }
    let line = |one: &preset::Line| {
        let value = one.value.as_deref().unwrap_or("-");
        let note = if one.applies { "" } else { "; a scenario always says it" };
        format!("{:<20}{value:<12}{} ({}{note})\n", one.name, one.range, one.what)
    };
    print(&lines.iter().map(line).collect::<String>())?;
    Ok(Exit::Held)
}
