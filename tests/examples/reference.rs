//! Prints how far solved cases and flow laws are from their references:
//! `cargo run --release -p valvewright-tests --example reference [beginning of a name ...]`.
//! With `<case> <rig.toml> <reference.csv>` it compares a changed rig with a series the reference scripts made for it.

use std::path::Path;

use valvewright_tests::solved::{Case, Reference, Solved, rig};
use valvewright_tests::{flow_reference, law_reference, rig_reference};

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let cases = || rig_reference::CASES.iter().chain(flow_reference::CASES);
    let found: Vec<Result<Solved, String>> = match &arguments[..] {
        [case, file, reference] if Path::new(file).is_file() => {
            let known = cases().find(|known| known.name == case).ok_or_else(|| format!("there is no case `{case}`"));
            vec![known.and_then(|known| changed(known, file, reference))]
        }
        [] => cases().map(Case::solve).collect(),
        names => cases().filter(|case| names.iter().any(|name| case.name.starts_with(name))).map(Case::solve).collect(),
    };
    let wanted = |table: &str| arguments.is_empty() || arguments.iter().any(|name| table.starts_with(name));
    let laws = law_reference::checked().unwrap_or_else(|wrong| {
        eprintln!("{wrong}");
        std::process::exit(2);
    });
    let laws: Vec<_> = laws.iter().filter(|one| wanted(one.table)).collect();
    if found.is_empty() && laws.is_empty() {
        let known: Vec<&str> = cases().map(|case| case.name).collect();
        eprintln!("no case begins with `{}`; there are {}", arguments.join("` or `"), known.join(", "));
        std::process::exit(64);
    }
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
    for one in laws {
        failed |= !one.holds();
        println!("{}", one.line());
    }
    std::process::exit(i32::from(failed));
}

fn changed(case: &Case, file: &str, reference: &str) -> Result<Solved, String> {
    let text = std::fs::read_to_string(file).map_err(|wrong| format!("{file}: {wrong}"))?;
    case.solve_with(&rig(case.name, &text)?, &Reference::read(Path::new(reference))?)
}
