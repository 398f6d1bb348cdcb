//! The book's page on stations names every key of `[controller]` and every name that the simulator looks for.

use std::collections::BTreeSet;
use std::path::Path;

use valvewright_core::frame::Analog;
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::station::{SHIPPED, read, transmitter};

fn page() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/station-file.md");
    std::fs::read_to_string(path).expect("the page")
}

/// The keys that the reader offers in place of one that is nowhere, in the table that begins with `head`.
fn offered(head: &str) -> BTreeSet<String> {
    let text = SHIPPED[1].text;
    assert_eq!(text.matches(head).count(), 1, "{head}");
    let text = text.replace(head, &format!("{head}nowhere = 1\n"));
    let all = read(&Source::new("own.toml", text)).expect_err("a key is unknown");
    let help = all.iter().find(|one| one.message.contains("`nowhere`")).and_then(|one| one.help.clone());
    let help = help.unwrap_or_else(|| panic!("nothing is said of the unknown key: {all:?}"));
    let keys = help.split_once("valid keys: ").map(|(_, keys)| keys.to_owned()).unwrap_or_else(|| panic!("{help}"));
    keys.split(", ").map(str::to_owned).collect()
}

#[test]
fn the_page_on_stations_names_every_key() {
    let page = page();
    let mut keys = BTreeSet::new();
    for head in ["[controller]\n", "[controller.scales]\n", "[controller.transmitters]\n"] {
        keys.extend(offered(head));
    }
    assert!(keys.len() >= 14 + 3 + 14, "only {keys:?}");
    let named = |key: &str| {
        [format!("`{key}`"), format!("`[controller.{key}]`")].iter().any(|form| page.contains(form.as_str()))
    };
    let silent: Vec<&String> = keys.iter().filter(|key| !named(key)).collect();
    assert!(silent.is_empty(), "docs/station-file.md does not name {silent:?}");
    assert!(Analog::ALL.into_iter().all(|input| keys.contains(transmitter(input).tag)));
    assert!(Analog::ALL.into_iter().all(|input| transmitter(input).input == input));
}

/// Told by the reader itself, of a station that has nothing.
#[test]
fn the_page_on_stations_names_what_the_simulator_looks_for() {
    let text = "refrigerant = \"R1234yf\"\n[controller]\n[volume.some]\nvolume = \"1 L\"\n";
    let all = read(&Source::new("own.toml", text)).expect_err("nothing is there");
    let told: Vec<String> = all.iter().map(ToString::to_string).collect();
    let page = page();
    let names: BTreeSet<&str> = told
        .iter()
        .flat_map(|one| one.split("[volume.").skip(1).chain(one.split("[element.").skip(1)))
        .filter_map(|one| one.split(']').next())
        .map(|one| one.trim_matches('"'))
        .collect();
    // 14 volumes, 14 elements without the heater, whose actuators nothing follows, and the relief valve.
    assert_eq!(names.len(), 14 + 14 + 1, "{told:?}");
    let silent: Vec<&&str> = names.iter().filter(|name| !page.contains(&format!("`{name}`"))).collect();
    assert!(silent.is_empty(), "docs/station-file.md does not name {silent:?}");
}
