//! The book's interlock table is the core's: the committed page is what `valvewright matrix --format markdown` prints.
//!
//! `VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests --test suite -- evidence docs_` writes it anew.

use crate::evidence_scan::{fresh, keep};
use valvewright_core::interlock::table::ROWS;
use valvewright_sim::display::STANDARD;
use valvewright_sim::matrix::{book, words};

#[test]
fn the_committed_page_is_made_from_the_table() {
    keep("docs/interlock-table.md", &book(&fresh(), &STANDARD));
}

#[test]
fn a_set_point_reads_as_a_technician_writes_it() {
    let row = ROWS.iter().find(|row| row.id.as_str() == "I11").expect("I11 is there");
    let text: Vec<String> = row.causes.iter().map(|one| words::cause(one).to_string()).collect();
    let tripped = "higher hose pressure (PT-2, PT-3) while XV-6 is open at or above 80 mbar over the barometer; clear below 30 mbar over the barometer for 2 s";
    assert!(text.iter().any(|line| line == tripped), "{text:?}");
}
