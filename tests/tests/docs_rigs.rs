//! The book's page on rigs names every key that the reader takes, kind by kind of table.

use std::collections::BTreeSet;
use std::path::Path;

use valvewright_sim::plant::rig::parse_rig;
use valvewright_sim::scenario::diagnostic::Source;

const HEAD: &str = "title = \"t\"\nrefrigerant = \"R1234yf\"\n";
const NOWHERE: &str = "nowhere = 1\n";
const VOLUME: &str = "[volume.v]\nvolume = \"1 L\"\n";
const WALL: &str = "[volume.v.wall]\nheat_capacity = \"1 J/K\"\nwet = \"1 W/K\"\n";

/// The keys that the reader offers in place of one that is nowhere.
fn offered(text: &str) -> BTreeSet<String> {
    let all = parse_rig(&Source::new("rig.toml", text)).expect_err("a key is unknown");
    let help = all.iter().find(|one| one.message.contains("`nowhere`")).and_then(|one| one.help.clone());
    let help = help.unwrap_or_else(|| panic!("nothing is said of the unknown key:\n{all:?}\n{text}"));
    let keys = help.split_once("valid keys: ").map(|(_, keys)| keys.to_owned()).unwrap_or_else(|| panic!("{help}"));
    keys.split(", ").map(str::to_owned).collect()
}

fn element(kind: &str, below: &str) -> BTreeSet<String> {
    let cabinet = "[volume.c]\nkind = \"cabinet\"\nvolume = \"9 L\"\n";
    let to = if matches!(kind, "heater" | "fan") { "" } else { "to = \"ambient\"\n" };
    offered(&format!("{HEAD}{VOLUME}{cabinet}[element.e]\nkind = \"{kind}\"\nfrom = \"v\"\n{to}{below}{NOWHERE}"))
}

fn every_key() -> BTreeSet<String> {
    let mut all = BTreeSet::new();
    all.extend(offered(&format!("{NOWHERE}{HEAD}second_refrigerant = \"R134a\"\n{VOLUME}")));
    all.extend(offered(&format!("{HEAD}second_refrigerant = \"R134a\"\n{VOLUME}{NOWHERE}")));
    for part in ["wall", "cold_wall", "water", "oil", "air_uptake"] {
        all.extend(offered(&format!("{HEAD}{VOLUME}[volume.v.{part}]\n{NOWHERE}")));
    }
    for law in ["flory", "raoult", "linear"] {
        all.extend(offered(&format!("{HEAD}{VOLUME}[volume.v.oil]\nmass = \"1 g\"\nlaw = \"{law}\"\n{NOWHERE}")));
    }
    all.extend(offered(&format!("{HEAD}[volume.v]\nkind = \"cabinet\"\n{NOWHERE}")));
    all.extend(offered(&format!("{HEAD}{VOLUME}[ambient]\n{NOWHERE}")));
    let kinds = ["orifice", "check valve", "leak", "liquid orifice", "duct", "hose", "compressor", "vacuum pump"];
    for kind in kinds.iter().chain(&["relief valve", "heater", "oil line", "heat link", "fan"]) {
        all.extend(element(kind, ""));
    }
    for part in ["hose", "oil"] {
        all.extend(element("vacuum pump", &format!("[element.e.{part}]\n")));
    }
    all.extend(offered(&format!("{HEAD}{VOLUME}{WALL}[[step]]\n{NOWHERE}")));
    all.extend(offered(&format!("{HEAD}{VOLUME}[[sweep]]\nvolume = \"v\"\nair = [\"1 g\"]\n{NOWHERE}")));
    all
}

#[test]
fn the_page_on_rigs_names_every_key() {
    let page =
        std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/rig-file.md")).expect("the page");
    let keys = every_key();
    assert!(keys.len() > 85, "only {} keys found: {keys:?}", keys.len());
    let named = |key: &str| {
        [
            format!("`{key}`"),
            format!("[.{key}]"),
            format!("NAME.{key}]"),
            format!("[{key}.NAME]"),
            format!("[{key}]"),
            format!("[step.{key}]"),
        ]
        .iter()
        .any(|form| page.contains(form.as_str()))
    };
    let silent: Vec<&String> = keys.iter().filter(|key| !named(key)).collect();
    assert!(silent.is_empty(), "docs/rig-file.md does not name {silent:?}");
}
