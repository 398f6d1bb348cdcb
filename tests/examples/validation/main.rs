//! Draws every solved case and every flow law against its outside solution: `cargo run --release -p valvewright-tests --example validation -- FOLDER`.
//!
//! FOLDER gets `index.html`, one page with all charts, and each chart as an SVG of its own.

mod curves;
mod laws;
mod page;
mod panel;
mod plot;

use std::path::Path;

use maud::Markup;
use valvewright_tests::solved::{Case, Solved};
use valvewright_tests::{flow_reference, rig_reference};

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [folder] = &arguments[..] else {
        eprintln!("name one folder for the pictures");
        std::process::exit(64);
    };
    let cases = rig_reference::CASES.iter().chain(flow_reference::CASES);
    let found: Vec<(&Case, Result<Solved, String>)> = cases.map(|case| (case, case.solve())).collect();
    let laws = laws::sections().unwrap_or_else(|wrong| {
        eprintln!("{wrong}");
        std::process::exit(2);
    });
    match write(Path::new(folder), &found, &laws) {
        Ok(count) => println!("{count} cases in {folder}/index.html"),
        Err(wrong) => {
            eprintln!("{folder}: {wrong}");
            std::process::exit(2);
        }
    }
}

fn write(
    folder: &Path,
    found: &[(&Case, Result<Solved, String>)],
    laws: &(Markup, [usize; 2]),
) -> std::io::Result<usize> {
    std::fs::create_dir_all(folder)?;
    for (case, solved) in found {
        if let Ok(solved) = solved {
            std::fs::write(folder.join(format!("{}.svg", case.name)), plot::alone(&panel::panels(solved)))?;
        }
    }
    std::fs::write(folder.join("index.html"), page::page(found, laws).into_string())?;
    Ok(found.iter().filter(|one| one.1.is_ok()).count())
}
