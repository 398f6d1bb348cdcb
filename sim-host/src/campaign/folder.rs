//! A campaign's folder: what it is of, its plan, and its shards, each a table of its own that is renamed when it is whole.
//!
//! Promises: a file with a shard's name is a whole shard, whenever the process or the machine went; nobody else's shard is taken for one.

use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::error::CampaignError;
use super::row::Row;
use super::runs::{Runs, SCHEMA};
use super::table::{Reader, Writer, columns, facts_of};

/// What the folder is of.
const HEAD: &str = "campaign.json";
/// A copy of the plan.
const PLAN: &str = "plan.toml";
/// Shards.
const SHARDS: &str = "shards";
/// End of the names of unfinished files.
const PART: &str = ".part";
/// An unfinished file that nobody has written to for so long is nobody's.
const OLD: Duration = Duration::from_secs(600);
/// All rows, merged.
pub const RESULT: &str = "result.parquet";

/// What a folder is of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Head {
    /// Version of the layout of the tables.
    pub schema: String,
    /// Name of the plan.
    pub campaign: String,
    /// Digest of plan, scenarios, stations and healthy jobs.
    pub digest: String,
    /// Runs in all.
    pub runs: u64,
    /// Runs of a shard.
    pub shard: u64,
    /// Shards in all.
    pub shards: u64,
}

impl Head {
    /// Of these runs.
    pub fn of(runs: &Runs) -> Self {
        Self {
            schema: SCHEMA.to_owned(),
            campaign: runs.plan().name.clone(),
            digest: runs.digest().to_owned(),
            runs: runs.count(),
            shard: runs.plan().shard,
            shards: runs.shards(),
        }
    }

    /// Rows of a shard.
    pub fn rows_of(&self, number: u64) -> u64 {
        self.runs.saturating_sub(number * self.shard).min(self.shard)
    }

    /// Facts in the metadata of a table.
    pub fn facts(&self, own: &[(&str, String)]) -> Vec<(String, String)> {
        facts_of(&self.schema, (&self.campaign, &self.digest), own)
    }
}

/// A campaign's folder.
pub struct Folder {
    path: PathBuf,
    /// What it is of.
    pub head: Head,
}

impl Folder {
    /// Makes the folder, or takes up the one that is there.
    ///
    /// # Errors
    /// It is of another campaign, or cannot be written.
    pub fn begin(path: &Path, runs: &Runs) -> Result<Self, CampaignError> {
        let head = Head::of(runs);
        if path.join(HEAD).exists() {
            let there = Self::open(path)?;
            if there.head != head {
                return Err(other(path, &there.head, &head));
            }
            return Ok(there);
        }
        if path.exists() && !is_free(path) {
            let what = format!("{} is no folder of a campaign", path.display());
            return Err(CampaignError::Folder(what, "give a new folder with --out".into()));
        }
        let shards = path.join(SHARDS);
        fs::create_dir_all(&shards).map_err(|why| CampaignError::at(&shards, &why))?;
        put(&path.join(PLAN), |file| file.write_all(runs.plan().text.as_bytes()).map_err(|why| why.to_string()))?;
        let text = serde_json::to_string_pretty(&head).map_err(|why| CampaignError::Table(why.to_string()))? + "\n";
        put(&path.join(HEAD), |file| file.write_all(text.as_bytes()).map_err(|why| why.to_string()))?;
        Ok(Self { path: path.to_path_buf(), head })
    }

    /// Opens a folder that is there.
    ///
    /// # Errors
    /// It is none of a campaign.
    pub fn open(path: &Path) -> Result<Self, CampaignError> {
        let file = path.join(HEAD);
        let text = fs::read_to_string(&file).map_err(|why| {
            let what = format!("{} is no folder of a campaign: {}: {why}", path.display(), file.display());
            CampaignError::Folder(what, "give the folder that a campaign was run into".into())
        })?;
        let head = serde_json::from_str(&text).map_err(|why| CampaignError::at(&file, &why))?;
        Ok(Self { path: path.to_path_buf(), head })
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The file of a shard.
    pub fn shard(&self, number: u64) -> PathBuf {
        self.path.join(SHARDS).join(format!("{number:06}.parquet"))
    }

    /// Names of all files among the shards that are tables, sorted.
    ///
    /// # Errors
    /// The folder cannot be read.
    pub fn tables(&self) -> Result<Vec<String>, CampaignError> {
        let folder = self.path.join(SHARDS);
        let entries = fs::read_dir(&folder).map_err(|why| CampaignError::at(&folder, &why))?;
        let names = entries.filter_map(|entry| entry.ok()?.file_name().into_string().ok());
        let mut names: Vec<String> = names.filter(|name| name.ends_with(".parquet")).collect();
        names.sort();
        Ok(names)
    }

    /// Whether a shard is there and whole. One that is not is made anew.
    pub fn has(&self, number: u64) -> bool {
        Reader::open(&self.shard(number)).is_ok_and(|table| self.is_mine(&table, number).is_ok())
    }

    /// Whether a table is shard `number` of this campaign.
    ///
    /// # Errors
    /// Why it is not.
    pub fn is_mine(&self, table: &Reader, number: u64) -> Result<(), String> {
        let fact = |name: &str| table.fact(&format!("valvewright.{name}")).unwrap_or("none").to_owned();
        let pairs =
            [("schema", self.head.schema.clone()), ("digest", self.head.digest.clone()), ("shard", number.to_string())];
        for (name, mine) in pairs {
            if fact(name) != mine {
                return Err(format!("its {name} is {}, here it is {mine}", fact(name)));
            }
        }
        let rows = self.head.rows_of(number);
        if table.count == rows { Ok(()) } else { Err(format!("it has {} rows, {rows} are wanted", table.count)) }
    }

    /// Writes a shard.
    ///
    /// # Errors
    /// It cannot be written.
    pub fn write(&self, runs: &Runs, number: u64, rows: &[Row]) -> Result<(), CampaignError> {
        let facts = self.head.facts(&[("shard", number.to_string())]);
        put(&self.shard(number), |file| {
            let mut table =
                Writer::new(file, columns(&runs.plan().name, &runs.keys()), &facts).map_err(|why| why.to_string())?;
            table.rows(rows).map_err(|why| why.to_string())?;
            table.finish().map(drop).map_err(|why| why.to_string())
        })
    }
}

/// A folder with nothing in it, or with what a process that was stopped at its very beginning left.
fn is_free(path: &Path) -> bool {
    let Ok(entries) = fs::read_dir(path) else { return false };
    let names = entries.filter_map(|entry| entry.ok()?.file_name().into_string().ok());
    let mut others = names.filter(|name| name != PLAN && name != SHARDS && !name.ends_with(PART));
    others.next().is_none()
}

fn other(path: &Path, there: &Head, here: &Head) -> CampaignError {
    let why = if there.campaign == here.campaign {
        "the plan, one of its scenarios or stations, or what their healthy jobs do has changed since"
    } else {
        "it is another plan's"
    };
    let what = format!("{} is of campaign {} and cannot be gone on with: {why}", path.display(), there.campaign);
    CampaignError::Folder(what, "give a new folder with --out, or take that one away".into())
}

/// Writes a file whole: under a name of its own, to the disk, and then renamed. What a process that went left of it is taken away.
///
/// # Errors
/// It cannot be written.
pub fn put(path: &Path, fill: impl FnOnce(&mut BufWriter<File>) -> Result<(), String>) -> Result<(), CampaignError> {
    let wrong = |why: &dyn std::fmt::Display| CampaignError::at(path, &why);
    let name = path.file_name().and_then(|name| name.to_str()).unwrap_or("file");
    let part = path.with_file_name(format!(".{name}.{}{PART}", std::process::id()));
    let made = File::create(&part).map_err(|why| why.to_string()).and_then(|file| {
        let mut to = BufWriter::new(file);
        fill(&mut to)?;
        let file = to.into_inner().map_err(|why| why.to_string())?;
        file.sync_all().map_err(|why| why.to_string())?;
        fs::rename(&part, path).map_err(|why| why.to_string())
    });
    made.map_err(|why| {
        // It may never have been made.
        let _ = fs::remove_file(&part);
        wrong(&why)
    })?;
    sweep(path, name);
    Ok(())
}

/// Takes away old unfinished files of this name: the whole one is there. A fresh one may be another process's.
fn sweep(path: &Path, name: &str) {
    let (head, Some(folder)) = (format!(".{name}."), path.parent()) else { return };
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    for entry in entries {
        let left = entry.file_name();
        let age = entry.metadata().ok().and_then(|facts| facts.modified().ok()?.elapsed().ok());
        let old = age.is_some_and(|age| age > OLD);
        if old && left.to_str().is_some_and(|left| left.starts_with(&head) && left.ends_with(PART)) {
            // Another process may have been faster.
            let _ = fs::remove_file(entry.path());
        }
    }
}
