//! The table of hazards in the book is that of the program, with the rows of the interlock table that answer each.
//!
//! `VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests --test suite docs_hazards` writes it anew.

use std::fmt::Write;
use std::path::Path;

use valvewright_core::interlock::table::ROWS;
use valvewright_sim::hazard::{CATALOGUE, Id};
use valvewright_sim::matrix::words;

/// What of the page is written by hand ends with this line.
const MARK: &str = "--test suite docs_hazards -->\n";

fn rows(id: Id) -> String {
    let mine = ROWS.iter().filter(|row| words::hazards(row).any(|one| one.to_string() == id.word()));
    let names: Vec<&str> = mine.map(|row| row.id.as_str()).collect();
    if names.is_empty() { "none yet".to_owned() } else { names.join(", ") }
}

fn made() -> String {
    let mut text = String::from("\n## All of them\n\n| | hazard | harm | rows |\n| --- | --- | --- | --- |\n");
    for one in &CATALOGUE {
        let _infallible = writeln!(text, "| {} | {} | {} | {} |", one.id.word(), one.title, one.harm, rows(one.id));
    }
    for one in &CATALOGUE {
        let _infallible = write!(
            text,
            "\n### {} {}\n\n- Judged by: {}.\n- Alert: {}.\n- Accident: {}.\n- Time to harm: {}.\n- Source: {}.\n- Rows that answer it: {}.\n",
            one.id.word(),
            one.title,
            one.truth,
            one.alert,
            one.accident,
            one.time,
            one.source,
            rows(one.id)
        );
    }
    text
}

#[test]
fn the_committed_page_is_made_from_the_catalogue() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/hazards.md");
    let page = std::fs::read_to_string(&path).expect("docs/hazards.md is there");
    let (hand, committed) = page.split_once(MARK).expect("the line that parts hand-written from made");
    let made = made();
    if std::env::var_os("VALVEWRIGHT_WRITE").is_some() {
        std::fs::write(&path, format!("{hand}{MARK}{made}")).expect("the page can be written");
    } else {
        assert!(committed == made, "docs/hazards.md is not what the program says: run with VALVEWRIGHT_WRITE=1");
    }
}

#[test]
fn every_row_of_the_table_answers_a_hazard_of_the_catalogue() {
    for row in ROWS {
        let known = |one: String| Id::EVERY.iter().any(|id| id.word() == one);
        assert!(words::hazards(row).all(|one| known(one.to_string())), "{}", row.id);
    }
}
