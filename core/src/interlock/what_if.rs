//! Rows that are taken to be not there, so that a student sees what each of them is for, and a test that each of them is missed. Behind
//! the feature `what-if`, which no firmware has.

use core::hash::{Hash, Hasher};

use super::{Interlocks, RowSet};

/// Rows that are left out. It is no part of the state that host and board are compared by: it never changes while they run.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct LeftOut(pub(super) RowSet);

impl Hash for LeftOut {
    fn hash<H: Hasher>(&self, _: &mut H) {}
}

impl Interlocks {
    /// From the next evaluation on these rows neither trip nor withhold anything.
    pub const fn leave_out(&mut self, rows: RowSet) {
        self.left_out = LeftOut(rows);
    }

    /// Rows that are left out.
    pub const fn left_out(&self) -> RowSet {
        self.left_out.0
    }
}
