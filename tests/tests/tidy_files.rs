//! The sources stay readable: each file says what it promises and is within sight, each is reached, no constant of the core is bare.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Lines above which a file is split along its seams.
const LONGEST: usize = 400;
/// Files that are longer all the same, each with the lines it may have: they may shrink and be struck off, and none is added.
const LONG: &[(&str, usize)] = &[
    ("core/tests/controller/charging.rs", 555),
    ("core/tests/controller/give_up_charge.rs", 425),
    ("core/tests/controller/rows.rs", 480),
    ("core/tests/controller/vacuum.rs", 500),
    ("sim-host/src/plant/layout.rs", 510),
    ("sim-host/src/plant/spec.rs", 540),
    ("sim-host/src/plant/system.rs", 560),
    ("sim-host/src/report/data.rs", 475),
    ("sim-host/src/scenario/quantity.rs", 535),
    ("tests/tests/rig_plant.rs", 435),
];

fn house() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Every source of the workspace with its path from the top.
fn sources() -> Vec<(String, String)> {
    fn read(folder: &Path, house: &Path, all: &mut Vec<(String, String)>) {
        for entry in std::fs::read_dir(folder).expect("a source folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                read(&path, house, all);
            } else if path.extension().is_some_and(|end| end == "rs") {
                let name = path.strip_prefix(house).expect("inside").to_string_lossy().into_owned();
                all.push((name, std::fs::read_to_string(&path).expect("a source file")));
            }
        }
    }
    let (house, mut all) = (house(), Vec::new());
    let parts =
        ["core/src", "core/tests", "sim-host/src", "tests/src", "tests/tests", "tests/examples", "tests/benches"];
    for part in parts.into_iter().chain(["tests/model", "tests/fuzz/src"]) {
        read(&house.join(part), &house, &mut all);
    }
    all.sort();
    assert!(all.len() > 250, "{} files", all.len());
    all
}

#[test]
fn every_file_opens_with_what_it_promises() {
    let bare: Vec<String> =
        sources().into_iter().filter(|(_, text)| !text.starts_with("//! ")).map(|(name, _)| name).collect();
    assert_eq!(bare, Vec::<String>::new());
}

#[test]
fn no_file_grows_out_of_sight() {
    let mut long = Vec::new();
    for (name, text) in sources() {
        let (lines, allowed) = (text.lines().count(), LONG.iter().find(|(one, _)| *one == name));
        if lines > allowed.map_or(LONGEST, |(_, most)| *most) {
            long.push(format!("{name}: {lines} lines"));
        }
        if lines <= LONGEST && allowed.is_some() {
            long.push(format!("{name}: {lines} lines only, strike it off the list"));
        }
    }
    assert_eq!(long, Vec::<String>::new(), "split along its seams");
}

/// A file that no `mod` names is compiled by nobody.
#[test]
fn every_module_is_named_by_its_parent() {
    let all = sources();
    let named: BTreeSet<String> = all
        .iter()
        .flat_map(|(_, text)| text.lines())
        .filter_map(|line| {
            line.trim().trim_start_matches("pub ").trim_start_matches("pub(crate) ").strip_prefix("mod ")
        })
        .map(|rest| rest.trim_end_matches(';').split(' ').next().unwrap_or(rest).to_owned())
        .collect();
    let roots = ["lib", "main", "suite"];
    let dead: Vec<&str> = all
        .iter()
        .map(|(name, _)| name.as_str())
        .filter(|name| {
            !["tests/examples", "tests/benches", "tests/src/bin", "tests/fuzz/src/bin"]
                .iter()
                .any(|root| name.starts_with(root))
        })
        .filter(|name| {
            let path = Path::new(name);
            let stem = path.file_stem().expect("a name").to_string_lossy();
            let folder = path.parent().and_then(Path::file_name).expect("a folder").to_string_lossy();
            let module = if stem == "mod" { folder } else { stem };
            !roots.contains(&module.as_ref()) && !named.contains(module.as_ref())
        })
        .collect();
    assert_eq!(dead, Vec::<&str>::new());
}

/// Constants without a comment before them. Bits that stand in a row share the comment of the first.
fn bare_constants(text: &str) -> Vec<String> {
    let head = regex_lite::Regex::new(r"^\s*(pub(\([a-z]+\))? )?const [A-Z][A-Z0-9_]*: ").expect("a pattern");
    let bit = regex_lite::Regex::new(r"const [A-Z0-9_]+_BIT: ").expect("a pattern");
    let code = text.split("#[cfg(test)]\nmod ").next().unwrap_or(text);
    let lines: Vec<&str> = code.lines().collect();
    let mut bare = Vec::new();
    for (at, line) in lines.iter().enumerate().filter(|(_, line)| head.is_match(line)) {
        let before = lines[..at].iter().rev().find(|line| !line.trim().starts_with("#["));
        let told = before.is_some_and(|line| line.trim().starts_with("//") || bit.is_match(line));
        if !told {
            bare.push(line.trim().to_owned());
        }
    }
    bare
}

#[test]
fn every_constant_of_the_core_says_its_reason_or_source() {
    let mut bare = Vec::new();
    for (name, text) in sources().iter().filter(|(name, _)| name.starts_with("core/src")) {
        bare.extend(bare_constants(text).into_iter().map(|line| format!("{name}: {line}")));
    }
    assert_eq!(bare, Vec::<String>::new());
}

#[test]
fn a_bare_constant_is_found_and_a_told_one_is_not() {
    assert_eq!(bare_constants("/// Why.\n#[cfg(x)]\npub const A: u8 = 1;\nconst B: u8 = 2;"), ["const B: u8 = 2;"]);
    assert_eq!(
        bare_constants("// Why.\nconst A_BIT: u8 = 1;\nconst B_BIT: u8 = 2;\n\nconst C: u8 = 3;"),
        ["const C: u8 = 3;"]
    );
}

/// What stands at the top is what the design names; what git ignores may lie there too.
#[test]
fn nothing_lies_at_the_top_that_does_not_belong_there() {
    const NAMED: [&str; 9] =
        ["Cargo.lock", "Cargo.toml", "DEVELOPERS.md", "LICENSE", "README.md", "core", "docs", "sim-host", "tests"];
    let top = house();
    let ignored = std::fs::read_to_string(top.join(".gitignore")).expect("the list is there");
    let ignored: Vec<&str> = ignored.lines().map(|line| line.trim_matches('/')).collect();
    for entry in std::fs::read_dir(&top).expect("the top") {
        let name = entry.expect("an entry").file_name().into_string().expect("a name");
        let fits = name.starts_with('.') || NAMED.contains(&name.as_str()) || ignored.contains(&name.as_str());
        assert!(fits, "`{name}` lies at the top: put it into its room, or name it in .gitignore");
    }
}
