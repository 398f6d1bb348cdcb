//! Many runs of one question: every fault at every step of a job, forked from healthy jobs, judged by the monitors of hazards.
//!
//! Two ways to ask. A sweep ([`Sweep`], [`Bases`], [`Tally`]) lets single faults in at the [`moments()`] of healthy jobs and adds up in memory;
//! [`reaction`] times what one fault's scenario asks for. A campaign goes from a [`plan`] by a [`design`] to [`Runs`], a list that is reckoned and
//! not kept; a [`Maker`] makes the rows of a shard, forked from shared beginnings; [`work()`] shares shards out over threads into a [`Folder`], and
//! [`merge()`] makes one [`table`] of them, and [`findings`] say what is in it. A [`search`] goes out from one job of a plan to where accidents are likely. Either answer is the same for any number of threads: it is in the order of the runs, whoever was done first.

mod accidents;
mod case;
mod course;
pub mod design;
mod error;
pub mod findings;
mod folder;
mod merge;
mod moments;
mod one;
mod other;
pub mod plan;
mod progress;
pub mod reaction;
mod reacts;
mod row;
mod runs;
pub mod search;
mod shard;
pub mod shrink;
mod sweep;
pub mod table;
mod tally;
mod timeline;
mod words;
mod work;

pub use accidents::{KNOWN, Known};
pub use error::CampaignError;
pub use folder::{Folder, Head, RESULT};
pub use merge::{Summary, merge};
pub use moments::{Moment, moments};
pub use one::{Case, Done, Fate};
pub use row::{Fault, Hazard, Masses, Row};
pub use runs::{Base, Coming, Runs, SCHEMA, Spec};
pub use shard::Maker;
pub use sweep::{BASES, Bases, Sweep, cases};
pub use tally::{FaultTally, Tally};
pub use timeline::{Step, Timeline};
pub use words::{csv, text};
pub use work::{Part, Told, work};
