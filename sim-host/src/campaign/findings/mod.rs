//! What a campaign says: its merged table added up, and held against another's; as a text, Markdown, a page, JUnit XML and a fault tree.
//!
//! Promises: everything comes from the table alone and, where they are given, failure rates; the same table gives the same bytes; each share says what it is of.

mod ablation;
mod cell;
mod compare;
mod count;
mod cuts;
mod differences;
mod heat;
pub(in crate::campaign) mod judge;
mod junit;
mod markdown;
mod page;
mod rates;
mod read;
mod tables;
mod text;
mod tree;
mod usual;
mod weights;

use std::io::Write;
use std::path::{Path, PathBuf};

use super::error::CampaignError;
use super::folder::put;
pub use ablation::{Ablation, Appears, Without};
pub use cell::{Cell, Section, Tone};
pub use compare::{Change, Comparison, Difference};
pub use count::{Counts, Cover, Exercise, Mode, Spot};
pub use cuts::{Cuts, Recipe};
pub use judge::Outcome;
pub use rates::{Rate, Rates, read as read_rates};
use read::Merged;
pub use tables::{band, sections, share};
use usual::Usual;

/// What stands on every form of the report.
const CAUTION: &str = "True of the simulator and of this plan: of these faults, at these moments, on this plant. No certificate and no probability. Real stations hold flammable gas under pressure; local codes and licensed practice decide.";

/// What a campaign says.
#[derive(Debug, Default)]
pub struct Findings {
    /// Name of the plan.
    pub campaign: String,
    /// Digest of what was run.
    pub digest: String,
    /// Sums over its runs.
    pub counts: Counts,
    /// Alerts that were taken for the job's own.
    pub usual: Vec<String>,
    /// What became of runs without a row of the interlock table.
    pub ablation: Ablation,
    /// What differs from another.
    pub comparison: Option<Comparison>,
    /// How often faults come, where a file says so.
    pub rates: Option<Rates>,
}

impl Findings {
    /// Reads the table in a folder, and that of another to be held against. `each` is told the share that is read.
    ///
    /// # Errors
    /// A folder has no whole merged table of this version; the two have no run in common.
    pub fn of(folder: &Path, against: Option<&Path>, each: &mut dyn FnMut(f64)) -> Result<Self, CampaignError> {
        let table = Merged::open(folder)?;
        let other = against.map(Merged::open).transpose()?;
        let all = (table.count + other.as_ref().map_or(0, |one| one.count)).max(1) as f64;
        let mut done = 0_u64;
        let mut step = |each: &mut dyn FnMut(f64)| {
            done += 1;
            if done.is_multiple_of(1_000) {
                each(done as f64 / all);
            }
        };
        let mut comparison = None;
        if let Some(other) = other {
            let mut made = Comparison::new(other.campaign.clone());
            other.rows(&mut |row| {
                if row.without.is_empty() {
                    made.there(&row);
                }
                step(each);
            })?;
            made.turn();
            comparison = Some(made);
        }
        let (campaign, digest) = (table.campaign.clone(), table.digest.clone());
        let mut usual = Usual::default();
        Merged::open(folder)?.rows(&mut |row| {
            if row.without.is_empty() {
                usual.take(&row);
            }
        })?;
        let (mut counts, mut ablation) = (Counts::new(), Ablation::default());
        table.rows(&mut |mut row| {
            ablation.take(row.clone());
            step(each);
            // All other sums are of the whole table.
            if !row.without.is_empty() {
                return;
            }
            usual.leave_out(&mut row);
            counts.take(&row);
            if let Some(comparison) = &mut comparison {
                comparison.here(&row);
            }
        })?;
        if let Some(made) = &mut comparison {
            made.end();
            if made.common == 0 {
                let what = format!("campaign {} and campaign {} have no run in common", campaign, made.other);
                let help = "compare two campaigns of one plan: same scenarios, seeds, faults and moments";
                return Err(CampaignError::Folder(what, help.into()));
            }
        }
        Ok(Self { campaign, digest, counts, usual: usual.words(), ablation, comparison, rates: None })
    }

    /// The same with failure rates, by which shares are weighted then.
    #[must_use]
    pub fn with_rates(self, rates: Option<Rates>) -> Self {
        Self { rates, ..self }
    }

    /// Nothing got worse against the other campaign.
    pub fn held(&self) -> bool {
        self.comparison.as_ref().is_none_or(|one| one.worse.is_empty())
    }

    /// For a terminal.
    pub fn text(&self) -> String {
        text::text(self)
    }

    /// For a browser or in print.
    pub fn page(&self) -> String {
        page::page(self)
    }

    /// As Markdown.
    pub fn markdown(&self) -> String {
        markdown::markdown(self)
    }

    /// As JUnit XML.
    pub fn junit(&self) -> String {
        junit::document(self)
    }

    /// As a fault tree in the Open-PSA Model Exchange Format.
    pub fn fault_tree(&self) -> String {
        tree::document(self)
    }

    /// Writes page, Markdown, JUnit XML and fault tree into a folder; their paths.
    ///
    /// # Errors
    /// One cannot be written.
    pub fn write(&self, folder: &Path) -> Result<Vec<PathBuf>, CampaignError> {
        let files = [
            ("report.html", self.page()),
            ("report.md", self.markdown()),
            ("report.junit.xml", self.junit()),
            ("fault_tree.xml", self.fault_tree()),
        ];
        let mut paths = Vec::new();
        for (name, text) in files {
            let path = folder.join(name);
            put(&path, |file| file.write_all(text.as_bytes()).map_err(|why| why.to_string()))?;
            paths.push(path);
        }
        Ok(paths)
    }
}
