//! Why a campaign cannot go on, and whose fault that is.

use std::fmt;
use std::path::{Path, PathBuf};

use crate::run::RunError;
use crate::scenario::diagnostic::Diagnostic;

/// What went wrong.
#[derive(Debug)]
pub enum CampaignError {
    /// A scenario does not read on a station of the plan.
    Scenario(Vec<Diagnostic>),
    /// A healthy job of the plan cannot be run: its scenario, and why.
    Healthy(String, RunError),
    /// A run failed for a reason of ours: its number, and why.
    Run(u64, String),
    /// A file cannot be read or written.
    File(PathBuf, String),
    /// The folder holds something else than what was asked for, and what to do.
    Folder(String, String),
    /// A table could not be made or read.
    Table(String),
}

impl CampaignError {
    /// At a file.
    pub fn at(path: &Path, why: &impl fmt::Display) -> Self {
        Self::File(path.to_path_buf(), why.to_string())
    }
}

impl fmt::Display for CampaignError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Scenario(list) => f.write_str(&list.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")),
            Self::Healthy(name, why) => write!(f, "the healthy job of {name} cannot be run: {why}"),
            Self::Run(index, why) => write!(f, "run {index}: {why}"),
            Self::File(path, why) => write!(f, "{}: {why}", path.display()),
            Self::Folder(what, _) => f.write_str(what),
            Self::Table(why) => write!(f, "the table of results: {why}"),
        }
    }
}

impl std::error::Error for CampaignError {}
