//! Every public type of the core can be logged with defmt, but for the few that hold a board's devices.
//!
//! That the formats also work is shown on the target: `tests/target/check.sh` logs a value of each kind and reads it back.

use std::fs;
use std::path::{Path, PathBuf};

/// Public types without a format, and why.
const EXCEPTIONS: [(&str, &str); 12] = [
    ("Store", "holds the board's flash, whose type is the board's"),
    ("Parts", "only holds the board's devices"),
    ("Board", "only holds the board's devices"),
    ("SpiLoops", "holds a bus device, whose type is the board's"),
    ("I2cLoops", "holds a bus, whose type is the board's"),
    ("Pair", "holds two converters, whose types are the board's"),
    ("BridgeAdc", "holds a device and a pin, whose types are the board's"),
    ("SerialLine", "holds a port, whose type is the board's"),
    ("ActuatorPins", "holds pins, whose type is the board's"),
    ("IndicatorPins", "holds pins, whose type is the board's"),
    ("ContactPins", "holds pins, whose type is the board's"),
    ("Inbox", "is shared with interrupts: reading it for a log would need a critical section"),
];

const STARTS: [&str; 3] = ["pub struct ", "pub enum ", "pub union "];
const DERIVED: &str = r#"#[cfg_attr(feature = "defmt", derive(defmt::Format))]"#;

fn name_letter(letter: char) -> bool {
    letter.is_alphanumeric() || "_$".contains(letter)
}

/// A public type of a source text: its name and whether it has a format.
fn types(source: &str) -> Vec<(String, bool)> {
    let lines: Vec<&str> = source.lines().map(str::trim).collect();
    let mut found = Vec::new();
    for (at, line) in lines.iter().enumerate() {
        let Some(rest) = STARTS.iter().find_map(|start| line.strip_prefix(start)) else { continue };
        let name: String = rest.chars().take_while(|c| name_letter(*c)).collect();
        let above = lines[..at].iter().rev().take_while(|line| line.starts_with("#[") || line.starts_with("//"));
        let derived = above.clone().any(|line| line.starts_with(DERIVED));
        let of_this = |line: &str| {
            let target = line.split_once("defmt::Format for ").map(|(_, target)| target);
            target.and_then(|target| target.strip_prefix(&name)).is_some_and(|rest| !rest.starts_with(name_letter))
        };
        let written = lines.iter().any(|line| line.starts_with("impl") && of_this(line));
        found.push((name, derived || written));
    }
    found
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

#[test]
fn every_public_type_of_the_core_has_a_format() {
    let mut files = Vec::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../core/src"), &mut files);
    files.sort();
    let (mut seen, mut without) = (0, Vec::new());
    for file in &files {
        for (name, format) in types(&fs::read_to_string(file).unwrap()) {
            seen += 1;
            if !format {
                without.push(name);
            }
        }
    }
    assert!(seen > 100, "only {seen} public types were found in {} files: the search is broken", files.len());
    let excepted = |name: &String| EXCEPTIONS.iter().any(|(exception, _)| exception == name);
    let missing: Vec<_> = without.iter().filter(|name| !excepted(name)).collect();
    assert!(missing.is_empty(), "give these #[cfg_attr(feature = \"defmt\", derive(defmt::Format))]: {missing:?}");
    let stale: Vec<_> = EXCEPTIONS.iter().filter(|(name, _)| !without.iter().any(|found| found == name)).collect();
    assert!(stale.is_empty(), "these are no exceptions any more: {stale:?}");
}

#[test]
fn a_type_without_a_format_is_found() {
    let source = "\
/// One.
#[derive(Debug)]
pub struct Bare(u8);

/// Two; defmt::Format is only spoken of.
pub enum Spoken {}

#[cfg_attr(feature = \"defmt\", derive(defmt::Format))]
/// Three.
pub struct Derived<T>(T);

pub struct Written;
#[cfg(feature = \"defmt\")]
impl defmt::Format for Written {}
pub struct Writ;
struct Hidden;
";
    let expected = [("Bare", false), ("Spoken", false), ("Derived", true), ("Written", true), ("Writ", false)];
    assert_eq!(types(source), expected.map(|(name, format)| (name.to_owned(), format)));
}
