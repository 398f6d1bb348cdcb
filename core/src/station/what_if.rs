//! A station whose interlock table is taken to be another: for teaching and tests, behind the feature `what-if`, which no firmware has.

use super::Station;
use crate::row::{RowSet, Watch};

impl Station {
    /// What if these rows were not there: from the next scan on none of them trips or withholds anything.
    pub const fn leave_out(&mut self, rows: RowSet) {
        self.interlocks.leave_out(rows);
    }

    /// What if this set point lay higher by so much, in the unit of its reading: as
    /// [`Interlocks::move_set_point`](crate::interlock::Interlocks::move_set_point).
    pub fn move_set_point(&mut self, watch: Watch, by: i32) -> bool {
        self.interlocks.move_set_point(watch, by)
    }
}
