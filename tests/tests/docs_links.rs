//! The book hangs together: every page is in the table of contents, and every relative link leads to something.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use valvewright_sim::scenario::diagnostic::{Diagnostic, Source};
use valvewright_sim::scenario::{parse, shipped};

fn house() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Targets of the Markdown links of a text, code blocks left out.
fn links(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut code = false;
    for line in text.lines() {
        if line.trim_start().starts_with("```") {
            code = !code;
        }
        if code {
            continue;
        }
        for part in line.split("](").skip(1) {
            if let Some((target, _)) = part.split_once(')') {
                found.push(target.to_owned());
            }
        }
    }
    found
}

/// Anchors a page offers, as mdBook and others make them of its headings.
fn anchors(text: &str) -> BTreeSet<String> {
    let heading = |line: &str| {
        let kept = line.trim_start_matches('#').trim().to_lowercase();
        let kept: String = kept.chars().filter(|c| c.is_alphanumeric() || " -_".contains(*c)).collect();
        kept.replace(' ', "-")
    };
    text.lines().filter(|line| line.starts_with('#')).map(heading).collect()
}

/// What is wrong with the links of one file.
fn broken(page: &Path) -> Vec<String> {
    let text = fs::read_to_string(page).expect("page is readable");
    let mut wrong = Vec::new();
    for link in links(&text) {
        if link.contains("://") || link.starts_with("mailto:") {
            continue;
        }
        let (file, anchor) = link.split_once('#').unwrap_or((&link, ""));
        let target = if file.is_empty() { page.to_owned() } else { page.parent().expect("in a folder").join(file) };
        if !target.exists() {
            wrong.push(format!("{}: {link} leads nowhere", page.display()));
        } else if !anchor.is_empty() {
            let there = fs::read_to_string(&target).unwrap_or_default();
            if !anchors(&there).contains(anchor) {
                wrong.push(format!("{}: {link} names no heading", page.display()));
            }
        }
    }
    wrong
}

fn pages() -> Vec<PathBuf> {
    let folder = house().join("docs");
    let mut pages: Vec<PathBuf> = fs::read_dir(folder)
        .expect("docs is there")
        .map(|entry| entry.expect("entry is readable").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "md"))
        .collect();
    pages.sort();
    pages
}

#[test]
fn every_relative_link_leads_to_a_file_and_a_heading() {
    let mut all = pages();
    assert!(all.len() > 8, "the book has {} pages", all.len());
    all.extend(["README.md", "DEVELOPERS.md"].map(|name| house().join(name)));
    let wrong: Vec<String> = all.iter().filter(|page| page.exists()).flat_map(|page| broken(page)).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_table_of_contents_lists_every_page_once() {
    let summary = fs::read_to_string(house().join("docs/SUMMARY.md")).expect("SUMMARY.md is there");
    let mut listed = links(&summary);
    listed.sort();
    let mut there: Vec<String> = pages()
        .iter()
        .filter_map(|page| page.file_name()?.to_str().map(str::to_owned))
        .filter(|name| name != "SUMMARY.md")
        .collect();
    there.sort();
    assert_eq!(listed, there);
}

#[test]
fn links_and_anchors_are_read_as_written() {
    assert_eq!(links("a [b](c.md#d) and [e](f)\n```\n[no](x)\n```\n"), ["c.md#d", "f"]);
    assert!(anchors("## What it does, and why\ntext").contains("what-it-does-and-why"));
}

/// The reader itself tells which keys a table takes when it meets one it does not know.
fn keys_of_scenario_tables() -> BTreeSet<String> {
    let shipped =
        fs::read_to_string(house().join("sim-host/scenarios/mild_hatchback.toml")).expect("scenario is there");
    let mut text = format!(
        "zzqx = 1\n{shipped}\n[vehicle.gas]\nzzqx = 1\n[[operator.act]]\nzzqx = 1\n[[fault]]\nzzqx = 1\n[[property]]\nzzqx = 1\n"
    );
    for table in ["site", "station", "vehicle", "vehicle.volumes", "order", "operator", "expect"] {
        text = text.replacen(&format!("[{table}]\n"), &format!("[{table}]\nzzqx = 1\n"), 1);
    }
    let row = block("scenario-file.md", "toml", "[[job]]").replace("phases = \"whole\"\n", "zzqx = 1\n");
    let row = format!("{}\n{}", head_of(&shipped), row.replace("[[vehicle]]\n", "[[vehicle]]\nzzqx = 1\n"));
    let mut problems = refused("all.toml", &text);
    problems.extend(refused("row.toml", &row));
    let lists = problems.iter().filter_map(|one| one.help.as_deref()?.split_once("valid keys: "));
    lists.flat_map(|(_, list)| list.split(", ").map(|key| key.trim_matches(['`', ' ']).to_owned())).collect()
}

fn refused(name: &str, text: &str) -> Vec<Diagnostic> {
    parse::read(&Source::new(name, text)).expect_err("unknown keys are refused")
}

/// A scenario's text before its vehicle.
fn head_of(scenario: &str) -> &str {
    scenario.split("[vehicle]").next().unwrap_or_default()
}

#[test]
fn the_scenario_page_names_every_key() {
    let page = fs::read_to_string(house().join("docs/scenario-file.md")).expect("page is there");
    let keys = keys_of_scenario_tables();
    assert!(
        keys.len() > 48 && keys.contains("after") && keys.contains("job"),
        "only {} keys found: {keys:?}",
        keys.len()
    );
    let silent: Vec<&String> =
        keys.iter().filter(|key| !page.contains(&format!("`{key}`")) && !page.contains(&format!("{key}]"))).collect();
    assert!(silent.is_empty(), "docs/scenario-file.md does not name {silent:?}");
}

/// The first code block of this language in a page that holds `with`.
fn block(page: &str, language: &str, with: &str) -> String {
    let text = fs::read_to_string(house().join("docs").join(page)).expect("page is there");
    let blocks = text.split("```").skip(1).step_by(2).filter_map(|one| one.strip_prefix(language));
    blocks.into_iter().find(|one| one.contains(with)).expect("the block is there").to_owned()
}

#[test]
fn the_files_shown_in_the_book_are_valid() {
    let source = |name: &str, text: String| Source::new(name, text);
    let shipped = shipped::source(shipped::DEMO).expect("shipped").text;
    let row = [head_of(&shipped), &block("scenario-file.md", "toml", "[[job]]")].concat();
    for scenario in [source("my_job.toml", block("quick-start.md", "toml", "[order]")), source("row.toml", row)] {
        if let Err(problems) = parse::read(&scenario) {
            panic!("{}", problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"));
        }
    }
    let network = source("network.toml", block("rig-file.md", "toml", "[element.vent]"));
    if let Err(problems) = valvewright_sim::plant::parse::network(&network) {
        panic!("{}", problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"));
    }
}

#[test]
fn a_board_with_every_wire_broken_runs_nothing_but_its_fan() {
    use valvewright_core::config::StationConfig;
    use valvewright_core::fluid::Refrigerant;
    use valvewright_core::frame::{Actuators, RawFrame};
    use valvewright_core::station::Station;
    use valvewright_core::units::{Instant, Millis};

    let mut station = Station::new(StationConfig::reference(Refrigerant::R1234yf), Millis(0));
    for scan in 0..2_000_u32 {
        let outputs = station.tick(Instant(scan * 50), &RawFrame::default());
        assert!(outputs.on.without(Actuators::SAFE).is_empty(), "scan {scan}: {:?}", outputs.on);
    }
    assert!(!station.interlocks().latched().is_empty());
}
