//! A set of interlock rows, one bit each, in the order of the table.

use super::table::{ROW_COUNT, RowId};

/// A set of rows.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct RowSet(pub u32);

impl RowSet {
    /// No row.
    pub const NONE: Self = Self(0);
    /// Every row.
    pub const ALL: Self = Self((1 << ROW_COUNT) - 1);

    /// The one row.
    pub const fn one(id: RowId) -> Self {
        Self(1 << id as u32)
    }
    /// Whether `id` is in the set.
    #[inline]
    pub const fn has(self, id: RowId) -> bool {
        self.0 & (1 << id as u32) != 0
    }
    /// In either.
    #[inline]
    pub const fn or(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }
    /// In both.
    #[inline]
    pub const fn and(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }
    /// In `self` and not in `other`.
    #[inline]
    pub const fn without(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }
    /// Whether the set is empty.
    #[inline]
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }
    /// How many rows are in the set.
    pub const fn len(self) -> u32 {
        self.0.count_ones()
    }
    /// The rows in table order.
    pub fn iter(self) -> impl Iterator<Item = RowId> {
        let mut left = self.0;
        core::iter::from_fn(move || {
            let at = left.trailing_zeros() as usize;
            left &= left.wrapping_sub(1);
            RowId::ALL.get(at).copied()
        })
    }
}
