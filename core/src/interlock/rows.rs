//! A set of interlock rows, one bit each; the bit is the row's printed number, so that stored sets outlive the table.

use super::table::{ROW_COUNT, RowId};

/// A set of rows.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct RowSet(pub u64);

impl RowSet {
    /// No row.
    pub const NONE: Self = Self(0);
    /// Every row.
    pub const ALL: Self = {
        let (mut bits, mut i) = (0, 0);
        while i < ROW_COUNT {
            bits |= 1 << RowId::ALL[i] as u64;
            i += 1;
        }
        Self(bits)
    };

    /// The one row.
    pub const fn one(id: RowId) -> Self {
        Self(1 << id as u64)
    }
    /// Whether `id` is in the set.
    #[inline]
    pub const fn has(self, id: RowId) -> bool {
        self.0 & (1 << id as u64) != 0
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
        let mut left = self;
        core::iter::from_fn(move || {
            // Nearly always empty, and asked several times a scan.
            if left.is_empty() {
                return None;
            }
            let id = RowId::ALL.into_iter().find(|id| left.has(*id))?;
            left = left.without(Self::one(id));
            Some(id)
        })
    }
}
