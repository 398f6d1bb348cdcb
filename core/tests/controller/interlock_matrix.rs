//! The interlock table against a hand-written cause-and-effect matrix, cell by cell.

use valvewright_core::frame::Actuator;
use valvewright_core::interlock::table::{Latch, ROWS, Row};

fn cell(row: &Row, one: Actuator) -> String {
    let mut out = String::new();
    if row.trip.inhibits.has(one) {
        out.push('X');
    }
    if row.trip.stops.has(one) {
        out.push('S');
    }
    if row.withholds.has(one) {
        out.push('P');
    }
    if row.trip.forces.has(one) {
        out.push('F');
    }
    if out.is_empty() { "-".into() } else { out }
}

fn latch(row: &Row) -> String {
    match row.latch {
        Latch::None => "none".into(),
        Latch::Phase => "phase".into(),
        Latch::After(events) => format!("after {events}"),
        Latch::Connection => "connection".into(),
        Latch::Latched => "latched".into(),
    }
}

#[test]
fn table_does_what_the_matrix_says() {
    let text = include_str!("../../../tests/data/sense/cause_effect.csv");
    let head = text.lines().filter_map(|l| l.strip_prefix("# row,")).next().expect("heading");
    let tags: Vec<&str> = Actuator::ALL.iter().map(|a| a.tag()).collect();
    assert_eq!(head, tags.join(",") + ",latch");
    let expected: Vec<&str> = text.lines().filter(|l| !l.starts_with('#')).collect();
    for (row, expected) in ROWS.iter().zip(&expected) {
        let cells: Vec<String> = Actuator::ALL.iter().map(|a| cell(row, *a)).collect();
        assert_eq!(format!("{},{},{}", row.id, cells.join(","), latch(row)), *expected);
    }
    assert_eq!(ROWS.len(), expected.len());
}

/// Texts are for people: each row says why it is there and how to clear it.
#[test]
fn every_row_explains_itself() {
    for row in ROWS {
        assert!(row.why.text().len() > 10 && row.reset.text().len() > 10, "{}", row.id);
        assert!(row.reset.text().is_ascii(), "{}: shown on small displays too", row.id);
    }
}
