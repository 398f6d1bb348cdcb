//! Prints how far every solved case is from its reference: `cargo run --release -p valvewright-tests --example reference [case ...]`.
//! With `<case> <rig.toml> <reference.csv>` it compares a changed rig with a series the reference scripts made for it.

use std::path::Path;

use valvewright_tests::rig_reference;
use valvewright_tests::solved::{Case, Reference, Solved, rig};

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let cases = || rig_reference::CASES.iter();
    let found: Vec<Result<Solved, String>> = match &arguments[..] {
        [case, file, reference] if Path::new(file).is_file() => {
            let known = cases().find(|known| known.name == case).ok_or_else(|| format!("there is no case `{case}`"));
            vec![known.and_then(|known| changed(known, file, reference))]
        }
        [] => cases().map(Case::solve).collect(),
        names => names
            .iter()
            .map(|name| {
                cases().find(|case| case.name == name).ok_or_else(|| format!("there is no case `{name}`"))?.solve()
            })
            .collect(),
    };
    let mut failed = false;
    for one in found {
        match one {
            Ok(one) => {
                println!("{one}");
                for line in one.broken() {
                    failed = true;
                    println!("  {line}");
                }
            }
            Err(reason) => {
                failed = true;
                println!("{reason}");
            }
        }
    }
    std::process::exit(i32::from(failed));
}

fn changed(case: &Case, file: &str, reference: &str) -> Result<Solved, String> {
    let text = std::fs::read_to_string(file).map_err(|wrong| format!("{file}: {wrong}"))?;
    case.solve_with(&rig(case.name, &text)?, &Reference::read(Path::new(reference))?)
}
