//! The monitors of hazards ask no controller: from the core they take the names of actuators, inputs and scales, the shapes of frame and
//! outputs, and the two refrigerants' names; they import nothing of the run, and share no named figure with the core.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

fn house() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn sources(folder: &Path) -> Vec<(PathBuf, String)> {
    let mut all = Vec::new();
    for entry in std::fs::read_dir(folder).expect("a source folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            all.extend(sources(&path));
        } else if path.extension().is_some_and(|end| end == "rs") {
            let text = std::fs::read_to_string(&path).expect("a source");
            all.push((path, text));
        }
    }
    all
}

/// What of `valvewright_core` a text names: the path behind it up to the list or the item.
fn of_core(text: &str) -> BTreeSet<String> {
    let find = regex_lite::Regex::new(r"valvewright_core::([a-z_]+(?:::[a-z_]+)*)").expect("a pattern");
    find.captures_iter(text).map(|one| one[1].to_owned()).collect()
}

/// Named figures of a text. What is one in a unit of its own (`8.0e4`) counts by its name.
fn constants(text: &str) -> BTreeSet<String> {
    let find = regex_lite::Regex::new(r"\bconst ([A-Z][A-Z0-9_]+):").expect("a pattern");
    find.captures_iter(text).map(|one| one[1].to_owned()).collect()
}

#[test]
fn monitors_take_names_from_the_core_and_nothing_else() {
    let allowed: BTreeSet<String> = ["frame".to_owned()].into();
    let all = sources(&house().join("sim-host/src/hazard"));
    assert!(all.len() > 10, "{} files", all.len());
    for (path, text) in &all {
        let taken = of_core(text);
        assert!(taken.is_subset(&allowed), "{}: takes {taken:?} from the core", path.display());
        for room in [
            "valvewright_core::{",
            "crate::run",
            "crate::controller",
            "crate::board",
            "crate::matrix",
            "Readings",
            "Interlocks",
        ] {
            assert!(!text.contains(room), "{}: `{room}`", path.display());
        }
    }
}

#[test]
fn monitors_share_no_named_figure_with_the_core() {
    let named = |folder: &str| -> BTreeMap<String, PathBuf> {
        let all = sources(&house().join(folder));
        all.into_iter()
            .flat_map(|(path, text)| constants(&text).into_iter().map(move |one| (one, path.clone())))
            .collect()
    };
    let (ours, theirs) = (named("sim-host/src/hazard"), named("core/src"));
    assert!(ours.len() > 40 && theirs.len() > 100, "{} and {}", ours.len(), theirs.len());
    let shared: Vec<_> = ours.iter().filter(|(name, _)| theirs.contains_key(*name)).collect();
    assert!(shared.is_empty(), "name them otherwise, and judge by figures of your own: {shared:?}");
}

#[test]
fn an_import_and_a_shared_name_are_found() {
    let text = "use valvewright_core::interlock::table::ROWS;\nuse valvewright_core::{frame, sense};\nlet x = valvewright_core::job::X;";
    assert_eq!(of_core(text), ["interlock::table", "job"].map(str::to_owned).into());
    assert_eq!(constants("pub const AIR_LIMIT: f64 = 1.0;\nconst fn f() {}"), ["AIR_LIMIT".to_owned()].into());
}
