//! What must outlive power, on NOR flash: keyed items that are there twice, and logs beside them.
//!
//! Promises: what was acknowledged is found at the next start, whole, whatever power did in between; what was not acknowledged is old or
//! new, never a third thing; what can't be read is told as lost, never as new. See `docs/record-store.md` for layout and figures.
//!
//! | what happens | what is lost |
//! | --- | --- |
//! | power goes in any program or erase, once, twice or again and again | nothing that was acknowledged |
//! | 1 to 3 bits flip in one copy of an item | nothing; it is written anew at the next start or by `tidy` |
//! | both copies of an item are damaged | that item, and it is told; if not even its key can be read, all items that are older |
//! | a record of a log is damaged | that record, and it is told |
//! | a page wears out | nothing while as many others are left as all items need twice over |
//! | an old image is put back | not noticed here: hold [`Store::generation`] against a counter elsewhere |
//!
//! The worst that one `put` costs, with `p` pages a side and `k` items, on parts that work: `2 (p - 1)` erases if `tidy` was never called, none if it
//! was until it had nothing left to do; and `2 (2 k + 2 p + 4)` programs, of at most 256 bytes, and one more for each erase.

mod anew;
mod bytes;
pub mod event;
mod item;
mod keeping;
mod log;
mod log_scan;
mod logs;
mod media;
pub mod meter;
mod page;
pub mod presets;
mod renew;
pub mod roster;
pub mod service;
pub mod settings;
mod side;
pub mod state;
mod store;
mod upkeep;
pub mod vehicle;
mod words;
pub mod workshop;

pub use keeping::Keeping;
pub use logs::{Holding, LogId};
pub use store::Store;
pub use words::{Found, Health, LOGS, LogPlan, MOST, Plan, Refusal, SIDE_MOST, Tidied, WhenFull};
