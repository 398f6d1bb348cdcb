//! A campaign's plan: what is varied, how it is combined, when faults come and when they heal. Plain data, read from a file by [`read()`].

mod change;
mod factors;
mod list;
mod occasion;
mod read;
mod shipped;
mod ways;

use valvewright_core::row::RowId;

use crate::fault::Planned;
use crate::scenario::diagnostic::Source;

pub(super) use change::level;
pub use change::{Factor, Values, changed};
pub use occasion::Occasion;
pub(super) use occasion::shares;
pub use read::read;
pub use shipped::{SHIPPED, Shipped, source};
pub(super) use ways::quoted;
pub use ways::{Way, of_fault};

/// How factors are combined into runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Design {
    /// Every combination.
    Full,
    /// Fewest runs, by a greedy search, in which every two levels of two factors meet.
    Pairwise,
    /// So many runs; each factor's range is cut into as many strata, and each stratum comes once.
    Latin(u64),
    /// So many runs; each has a random subset of the faults, of least to most.
    Swarm {
        /// Runs.
        runs: u64,
        /// Fewest faults of a run.
        least: usize,
        /// Most faults of a run.
        most: usize,
    },
    /// The runs that the file lists.
    List,
}

impl Design {
    /// Words of plan files.
    pub const WORDS: [&'static str; 5] = ["full", "pairwise", "latin", "swarm", "list"];

    /// The word of this one.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Full => "full",
            Self::Pairwise => "pairwise",
            Self::Latin(_) => "latin",
            Self::Swarm { .. } => "swarm",
            Self::List => "list",
        }
    }
}

/// Faults that come in one run of a full or Latin design.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Together {
    /// One.
    One,
    /// Each pair of two different ones, both at the same moment.
    TwoAtOnce,
    /// Each pair of two different ones, each at a moment of its own.
    TwoApart,
}

/// Seeds of the runs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Seeds {
    /// These.
    These(Vec<u64>),
    /// So many, drawn from the campaign's seed.
    Drawn(usize),
}

impl Seeds {
    /// How many.
    pub const fn count(&self) -> usize {
        match self {
            Self::These(list) => list.len(),
            Self::Drawn(count) => *count,
        }
    }
}

/// A scenario that runs begin from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    /// As the plan names it.
    pub name: String,
    /// Its text.
    pub source: Source,
}

/// When faults come.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Moments {
    /// So many moments of each step that the healthy job comes to; 0 for none of them.
    pub each: u32,
    /// Those that are named.
    pub named: Vec<Occasion>,
}

/// The second half of a run: faults heal, and the station has to come to rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heal {
    /// Faults end so long after the last of them began, s (1 to 86 400).
    pub after: f64,
    /// The job may be held for so long from then on, s (60 to 86 400).
    pub within: f64,
}

/// A run that the file lists.
#[derive(Clone, Debug, PartialEq)]
pub struct Listed {
    /// Place of its scenario among the plan's.
    pub scenario: usize,
    /// Place of its station among the plan's.
    pub station: usize,
    /// What is changed about the scenario: keys and values.
    pub changes: Vec<(String, String)>,
    /// Its seed.
    pub seed: u64,
    /// Its faults: the words for a command line, and as they were read.
    pub faults: Vec<(String, Planned)>,
}

/// A plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Its name, fit for a folder.
    pub name: String,
    /// One line for people.
    pub title: String,
    /// Seed of all that is drawn.
    pub seed: u64,
    /// The command of another controller than the core, which then drives every run.
    pub controller: Option<String>,
    /// How factors are combined.
    pub design: Design,
    /// Runs of a shard, 10 to 100 000.
    pub shard: u64,
    /// Scenarios.
    pub scenarios: Vec<Named>,
    /// Stations: shipped names or paths; none for the scenario's own.
    pub stations: Vec<Option<String>>,
    /// Keys of the scenario that are varied.
    pub factors: Vec<Factor>,
    /// Seeds.
    pub seeds: Seeds,
    /// Ways to fail.
    pub ways: Vec<Way>,
    /// How many of them come in one run.
    pub together: Together,
    /// When they come.
    pub moments: Moments,
    /// When they heal.
    pub heal: Option<Heal>,
    /// The runs of a list.
    pub list: Vec<Listed>,
    /// Each run comes once with the whole interlock table, and once more without each of these rows.
    pub ablation: Vec<RowId>,
    /// The text of the file.
    pub text: String,
}
