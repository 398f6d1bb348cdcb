//! The fuzz targets with the ordinary toolchain: each takes its inputs, cuts of them and bytes with one bit turned, so that no target rots; and each
//! can fail.

use std::path::Path;

#[path = "../fuzz/src/controller/mod.rs"]
mod controller;
#[path = "../fuzz/src/files/mod.rs"]
mod files;

/// Inputs that stand in the house for a target: one a line of its list, or the shipped files.
fn inputs(target: &str) -> Vec<Vec<u8>> {
    let list = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/corpus").join(format!("{target}.hex"));
    let text = std::fs::read_to_string(&list).unwrap_or_default();
    let byte = |pair: &[u8]| u8::from_str_radix(std::str::from_utf8(pair).expect("text"), 16).expect("two digits");
    let mut all: Vec<Vec<u8>> = text.lines().map(|line| line.as_bytes().chunks(2).map(byte).collect()).collect();
    all.extend(shipped(target).iter().map(|text| text.as_bytes().to_vec()));
    all
}

fn shipped(target: &str) -> Vec<&'static str> {
    use valvewright_sim::{campaign::plan, scenario::shipped, station};
    match target {
        "scenario" => shipped::SHIPPED.iter().map(|one| one.text).collect(),
        "station" | "network" => station::SHIPPED.iter().map(|one| one.text).collect(),
        "plan" => plan::SHIPPED.iter().map(|one| one.text).collect(),
        _ => Vec::new(),
    }
}

/// Runs a target over its inputs, whole, cut in the middle, and with one bit turned; over how many.
fn run(target: controller::Target, most: usize) -> usize {
    let (name, body) = target;
    let all = inputs(name);
    assert!(!all.is_empty(), "{name} has no input to begin with");
    body(&[]);
    for (at, whole) in all.iter().take(most).enumerate() {
        body(whole);
        body(&whole[..whole.len() / 2]);
        let mut turned = whole.clone();
        if let Some(byte) = turned.get_mut(at * 7 % whole.len().max(1)) {
            *byte ^= 1 << (at % 8);
        }
        body(&turned);
    }
    all.len().min(most)
}

#[test]
fn every_target_of_the_controller_takes_its_inputs() {
    for target in controller::TARGETS {
        println!("{}: {} inputs", target.0, run(target, 400));
    }
}

#[test]
fn every_target_of_files_takes_its_inputs() {
    for target in files::TARGETS {
        println!("{}: {} inputs", target.0, run(target, 40));
    }
}

/// Every target is named by the script that runs them at night and by the book.
#[test]
fn the_nightly_script_and_the_book_name_every_target() {
    let house = Path::new(env!("CARGO_MANIFEST_DIR"));
    let script = std::fs::read_to_string(house.join("fuzz/nightly.sh")).expect("the script");
    let page = std::fs::read_to_string(house.join("../docs/fuzzing.md")).expect("the page");
    let list = |name: &str| -> Vec<String> {
        let line = script.lines().find_map(|line| line.strip_prefix(&format!("{name}=\""))).expect("a list of targets");
        line.trim_end_matches('"').split(' ').map(str::to_owned).collect()
    };
    let names = |targets: &[controller::Target]| targets.iter().map(|(name, _)| (*name).to_owned()).collect::<Vec<_>>();
    assert_eq!(list("CORE"), names(&controller::TARGETS));
    assert_eq!(list("FILES"), names(&files::TARGETS));
    for (name, _) in controller::TARGETS.iter().chain(&files::TARGETS) {
        assert!(page.contains(&format!("| `{name}` |")), "`{name}` is missing in docs/fuzzing.md");
    }
}
