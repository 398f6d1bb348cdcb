//! Results as a Parquet table: one row a run. The columns are those of `docs/campaign.md`; their layout has a version, which stands in each file.
//!
//! Promises: the same rows give the same bytes.

mod columns;
mod file;

pub use columns::{Cell, Column, Kind, columns};
pub use file::{Reader, Writer, facts_of};
