//! Reads the whole workspace for evidence: what its tests and scenarios show, and which ids its files name.

pub mod cites;
pub mod marks;

use std::path::{Path, PathBuf};

use cites::Cite;
use toml_edit::{DocumentMut, Item};
use valvewright_sim::evidence::{By, Evidence, Id, Kind, Shown};
use valvewright_sim::scenario::shipped::{FAULTS, QUESTIONS, SHIPPED, UPKEEP};

/// The top of the workspace.
pub fn house() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Every file under a folder with one of these endings, path from the top and text; what was built is left out.
fn files(folders: &[&str], endings: &[&str]) -> Vec<(String, String)> {
    fn read(path: &Path, house: &Path, endings: &[&str], all: &mut Vec<(String, String)>) {
        if path.is_dir() {
            if path.join("CACHEDIR.TAG").exists() {
                return;
            }
            for entry in std::fs::read_dir(path).expect("a folder") {
                read(&entry.expect("an entry").path(), house, endings, all);
            }
        } else if path.extension().is_some_and(|end| endings.iter().any(|one| end == *one)) {
            let name = path.strip_prefix(house).expect("inside").to_string_lossy().into_owned();
            all.push((name, std::fs::read_to_string(path).expect("a text")));
        }
    }
    let (house, mut all) = (house(), Vec::new());
    for folder in folders {
        read(&house.join(folder), &house, endings, &mut all);
    }
    all.sort();
    all
}

/// What the workspace shows.
#[derive(Debug, Default)]
pub struct Scan {
    /// What shows each id, in order.
    pub shown: Vec<Shown>,
    /// Marks of tests that do not run: file and test, id, why.
    pub idle: Vec<(String, Id, String)>,
    /// Marks that are wrong.
    pub wrong: Vec<String>,
}

/// Module of a file of tests below its folder: `rows.rs` is `rows`, `cli_bench/mod.rs` is `cli_bench`; the root has none.
fn module(file: &str, folder: &str) -> String {
    let below = file.strip_prefix(folder).unwrap_or(file).trim_start_matches('/').trim_end_matches(".rs");
    let below = below.strip_suffix("/mod").unwrap_or(below);
    match below {
        "main" | "suite" | "lib" => String::new(),
        inner => format!("{}::", inner.replace('/', "::")),
    }
}

/// Reads every mark of the workspace.
pub fn scan() -> Scan {
    let mut scan = Scan::default();
    let folders = [("core/tests/controller", By::Core), ("tests/tests", By::Suite), ("sim-host/src", By::Library)];
    for (folder, by) in folders {
        for (file, text) in files(&[folder], &["rs"]) {
            let (marks, module) = (marks::read(&text), module(&file, folder));
            let shown = marks.shown.into_iter();
            scan.shown.extend(shown.map(|(test, id)| Shown { id, by, name: format!("{module}{test}") }));
            scan.idle.extend(marks.idle.into_iter().map(|(test, id, why)| (format!("{file}: {test}"), id, why)));
            scan.wrong.extend(marks.wrong.into_iter().map(|wrong| format!("{file}: {wrong}")));
        }
    }
    for (file, text) in files(&["core/src", "tests/src", "tests/benches", "tests/examples"], &["rs"]) {
        let marks = marks::read(&text);
        let idle = marks.shown.len() + marks.idle.len() + marks.wrong.len();
        scan.wrong.extend(
            (idle > 0).then(|| format!("{file}: marks count in core/tests/controller, tests/tests and sim-host/src")),
        );
    }
    for (file, text) in files(&["sim-host/scenarios"], &["toml"]) {
        scenario(&file, &text, &mut scan);
    }
    scan.shown.sort();
    let twice = scan
        .shown
        .windows(2)
        .filter(|two| two[0] == two[1])
        .map(|two| format!("{}: {} is marked twice", two[0].name, two[0].id));
    scan.wrong.extend(twice.collect::<Vec<_>>());
    scan.shown.dedup();
    scan
}

/// What a scenario shows. Whether its expectations hold is tested with all shipped ones; so it must be shipped, and must do what it shows:
/// a row trips, a fault is injected, a hazard is reached or one of its rows trips.
fn scenario(file: &str, text: &str, scan: &mut Scan) {
    let document: DocumentMut = text.parse().expect("a scenario");
    let table = document.as_table();
    let texts = |item: &Item| -> Vec<String> {
        item.as_array().into_iter().flatten().filter_map(|one| one.as_str().map(str::to_owned)).collect()
    };
    let Some(shows) = table.get("shows") else { return };
    let name = table.get("name").and_then(Item::as_str).unwrap_or_default().to_owned();
    if !SHIPPED.iter().chain(QUESTIONS).chain(FAULTS).chain(UPKEEP).any(|one| one.name == name) {
        scan.wrong.push(format!("{file}: shows ids and is not shipped, so that nothing runs it"));
    }
    let of_job = |key: &str| -> Vec<String> {
        let jobs = table.get("job").and_then(Item::as_array_of_tables);
        let below = jobs.into_iter().flatten().filter_map(|job| job.get("expect"));
        table.get("expect").into_iter().chain(below).filter_map(|one| one.get(key)).flat_map(texts).collect()
    };
    let (trips, reached) = (of_job("trips"), of_job("hazards"));
    let faults = table.get("fault").and_then(Item::as_array_of_tables);
    let faults: Vec<&str> = faults.into_iter().flatten().filter_map(|one| one.get("id")?.as_str()).collect();
    let acts = text.contains("operator.act]]");
    let evidence = Evidence::shipped();
    for text in texts(shows) {
        // Those that can't be read, the reader of scenarios refuses.
        let Some(id) = Id::parse(&text) else { continue };
        let does = match id.kind {
            Kind::Row => trips.contains(&text),
            Kind::Fault => {
                let kind = evidence.faults.iter().find(|one| one.id == id).map(|one| one.kind.as_str());
                // Where the fault is a condition of site or vehicle, or an act, the file itself may be it.
                let is_it = kind == Some("environment") || kind == Some("operator") && acts;
                faults.contains(&text.as_str()) || is_it
            }
            Kind::Hazard => {
                reached.contains(&text) || evidence.rows_of(id).iter().any(|row| trips.contains(&row.id.to_string()))
            }
            Kind::ControllerLaw | Kind::SimulatorLaw | Kind::Example => true,
        };
        if !does {
            let lacks = "a row has to stand in `trips`, a fault in [[fault]], of a hazard one row in `trips`";
            scan.wrong.push(format!("{file}: shows {id} but does not do it: {lacks}"));
            continue;
        }
        scan.shown.push(Shown { id, by: By::Scenario, name: name.clone() });
    }
}

/// The tables of the program with what the workspace shows now, whatever was committed.
pub fn fresh() -> Evidence {
    let mut evidence = Evidence::shipped().clone();
    evidence.shown = scan().shown;
    evidence
}

/// Ids that a file names because they are none: what a reader has to refuse.
const REFUSED: &[(&str, &str, &str)] = &[
    ("tests/tests/fault_plan.rs", "F", "02"),
    ("tests/tests/logic_language.rs", "F", "24"),
    ("tests/tests/logic_language.rs", "I", "99"),
    ("tests/tests/scenario_files.rs", "I", "99"),
    ("tests/tests/sense_faults.rs", "F", "02"),
];

/// Every id that a file of the workspace names, by file; and what is wrong with what looks like one.
pub fn cited() -> (Vec<(String, Cite)>, Vec<String>) {
    let (mut cites, mut wrong) = (Vec::new(), Vec::new());
    let mut all = files(&["core", "sim-host", "tests", "docs"], &["rs", "md", "toml", "py", "sh", "csv", "js", "css"]);
    for name in ["README.md", "DEVELOPERS.md", ".ci/run"] {
        all.push((name.to_owned(), std::fs::read_to_string(house().join(name)).expect("a text")));
    }
    for (file, head, number) in REFUSED {
        let (id, of) = ([*head, *number].concat(), all.iter().find(|one| one.0 == *file));
        wrong.extend((!of.is_some_and(|one| one.1.contains(&id))).then(|| format!("{file} names {id} no more")));
    }
    let refused =
        |file: &str, id: &str| REFUSED.iter().any(|(of, head, number)| *of == file && id == [*head, *number].concat());
    for (file, text) in all {
        // Of data only what is said about it; numbers of hashes look like anything.
        let text = if file.starts_with("tests/data") && file.ends_with(".csv") {
            text.lines().map(|line| if line.starts_with('#') { line } else { "" }).collect::<Vec<_>>().join("\n")
        } else {
            text
        };
        let (found, bad) = cites::read(&text);
        cites.extend(
            found.into_iter().filter(|cite| !refused(&file, &cite.id.to_string())).map(|cite| (file.clone(), cite)),
        );
        let bad = bad.into_iter().filter(|one| !refused(&file, &one.what));
        wrong.extend(bad.map(|one| format!("{file}, line {}: {}", one.line, one.why)));
    }
    (cites, wrong)
}

/// Holds a made file to what is committed, or writes it where that is asked for.
pub fn keep(path: &str, made: &str) {
    let file = house().join(path);
    let mut committed = std::fs::read_to_string(&file).unwrap_or_default();
    if std::env::var_os("VALVEWRIGHT_WRITE").is_some() && committed != made {
        std::fs::write(&file, made).expect("the file can be written");
        committed = std::fs::read_to_string(&file).unwrap_or_default();
    }
    let renew = "VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests --test suite -- evidence docs_";
    let line = committed.lines().zip(made.lines()).position(|(one, other)| one != other);
    let line = line.map_or_else(|| committed.lines().count().min(made.lines().count()) + 1, |line| line + 1);
    assert!(committed == made, "{path} is stale from line {line} on: {renew}");
}
