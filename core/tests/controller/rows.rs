//! Rows of the interlock table and the checks behind them: what a fault makes them do, and what does not free them.

use valvewright_core::interlock::table::ROWS;
use valvewright_core::interlock::{RowId, RowSet};

/// Stored latches must mean the same row in a program whose table has gained one.
#[test]
fn a_rows_bit_is_its_printed_number() {
    for row in ROWS {
        let printed = row.id.as_str().strip_prefix('I').map_or(63, |n| n.parse().expect("a number"));
        assert_eq!(RowSet::one(row.id).0, 1 << printed, "{}", row.id);
        assert_eq!(row.id.row().map(|r| r.id), Some(row.id));
    }
    let rows: Vec<RowId> = RowSet::ALL.iter().collect();
    assert_eq!(rows, RowId::ALL);
}
