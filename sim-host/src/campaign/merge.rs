//! One table out of all shards: whole, none twice, all of one campaign; and what it says in short.

use std::collections::BTreeMap;
use std::path::PathBuf;

use arrow_array::cast::AsArray;
use arrow_array::types::UInt64Type;
use arrow_array::{Array, RecordBatch};
use serde::Serialize;

use super::error::CampaignError;
use super::folder::{Folder, RESULT, put};
use super::table::{Reader, Writer};

/// What a campaign found, in short.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Summary {
    /// Name of the plan.
    pub campaign: String,
    /// Runs.
    pub runs: u64,
    /// How many came to which end.
    pub fates: BTreeMap<String, u64>,
    /// Of them, those without a row of the interlock table; nothing of them is counted below.
    pub without_a_row: u64,
    /// Runs in which each hazard came to its accident level.
    pub accidents: BTreeMap<String, u64>,
    /// Of them, those that are not known to follow from one of their faults.
    pub unknown: BTreeMap<String, u64>,
    /// The command for the first such run of each hazard.
    pub replay: BTreeMap<String, String>,
    /// Runs in which the reaction came too late.
    pub late: u64,
    /// Runs in which the station did not come to rest after healing.
    pub stuck: u64,
    /// The command for the first of these.
    pub stuck_replay: Option<String>,
}

impl Summary {
    /// Nothing new harms, and the station came to rest wherever faults healed.
    pub fn held(&self) -> bool {
        self.unknown.is_empty() && self.stuck == 0
    }

    fn take(&mut self, batch: &RecordBatch) {
        let texts = |name: &str| batch.column_by_name(name).and_then(|column| column.as_string_opt::<i32>());
        let lists = |name: &str| batch.column_by_name(name).and_then(|column| column.as_list_opt::<i32>());
        let late = batch.column_by_name("in_budget").and_then(|column| column.as_boolean_opt());
        let replay = |row: usize| texts("replay").map(|all| all.value(row).to_owned()).unwrap_or_default();
        self.runs += batch.num_rows() as u64;
        for row in 0..batch.num_rows() {
            if texts("without").is_some_and(|all| !all.value(row).is_empty()) {
                self.without_a_row += 1;
                continue;
            }
            if let Some(fates) = texts("fate") {
                *self.fates.entry(fates.value(row).to_owned()).or_default() += 1;
            }
            for (name, to) in [("accident", &mut self.accidents), ("unknown_accident", &mut self.unknown)] {
                let Some(all) = lists(name) else { continue };
                let ids = all.value(row);
                for id in ids.as_string::<i32>().iter().flatten() {
                    *to.entry(id.to_owned()).or_default() += 1;
                    if name == "unknown_accident" {
                        self.replay.entry(id.to_owned()).or_insert_with(|| replay(row));
                    }
                }
            }
            self.late += u64::from(late.is_some_and(|all| all.is_valid(row) && !all.value(row)));
            if texts("stuck").is_some_and(|all| all.is_valid(row)) {
                self.stuck += 1;
                self.stuck_replay.get_or_insert_with(|| replay(row));
            }
        }
    }
}

/// Merges the shards of a campaign, which may lie in several folders, into the table of the first. `each` is told of every shard.
///
/// # Errors
/// A shard is missing, there twice with other content, or of another campaign.
pub fn merge(folders: &[Folder], each: &mut dyn FnMut(u64)) -> Result<Summary, CampaignError> {
    let Some(first) = folders.first() else {
        return Err(CampaignError::Folder("there is no folder to merge".into(), "name one".into()));
    };
    if let Some(other) = folders.iter().find(|one| one.head != first.head) {
        let what = format!("{} and {} are of two campaigns", first.path().display(), other.path().display());
        return Err(CampaignError::Folder(what, "merge folders of one plan and one version of the program".into()));
    }
    let shards = complete(folders)?;
    let facts = first.head.facts(&[("runs", first.head.runs.to_string()), ("plan", plan_of(first))]);
    let mut summary = Summary { campaign: first.head.campaign.clone(), ..Summary::default() };
    let mut failed = None;
    let done = put(&first.path().join(RESULT), |file| {
        let all = merged(first, &shards, &facts, file, &mut summary, each);
        all.map_err(|why| {
            let text = why.to_string();
            failed = Some(why);
            text
        })
    });
    match (done, failed) {
        (Err(_), Some(why)) => Err(why),
        (Err(why), None) => Err(why),
        (Ok(()), _) => Ok(summary),
    }
}

/// The plan as it was run; it stands in the result, so that this says itself what it is of.
fn plan_of(folder: &Folder) -> String {
    std::fs::read_to_string(folder.path().join("plan.toml")).unwrap_or_default()
}

fn merged(
    first: &Folder,
    shards: &[PathBuf],
    facts: &[(String, String)],
    to: &mut (impl std::io::Write + Send),
    summary: &mut Summary,
    each: &mut dyn FnMut(u64),
) -> Result<(), CampaignError> {
    let mut to = Some(to);
    let mut writer = None;
    let mut next = 0;
    for (number, path) in shards.iter().enumerate() {
        let table = Reader::open(path)?;
        first.is_mine(&table, number as u64).map_err(|why| CampaignError::at(path, &why))?;
        if let Some(to) = to.take() {
            writer = Some(Writer::copying(to, std::sync::Arc::clone(&table.schema), facts)?);
        }
        for batch in table {
            let batch = batch?;
            next = in_order(&batch, next).map_err(|why| CampaignError::at(path, &why))?;
            summary.take(&batch);
            if let Some(writer) = &mut writer {
                writer.batch(&batch)?;
            }
        }
        each(number as u64 + 1);
    }
    if next != first.head.runs {
        return Err(CampaignError::Table(format!("{next} rows of {} are there", first.head.runs)));
    }
    writer.map_or(Ok(()), |writer| writer.finish().map(drop))
}

/// Numbers of runs go on from `next` without a gap; gives the one behind the last.
fn in_order(batch: &RecordBatch, next: u64) -> Result<u64, String> {
    let numbers = batch.column_by_name("index").and_then(|column| column.as_primitive_opt::<UInt64Type>());
    let numbers = numbers.ok_or("it has no column of numbers of runs")?;
    let mut next = next;
    for number in numbers.iter() {
        if number != Some(next) {
            return Err(format!("run {next} is wanted, {number:?} is there"));
        }
        next += 1;
    }
    Ok(next)
}

/// The file of each shard. One that lies in two folders has to be the same, byte by byte.
fn complete(folders: &[Folder]) -> Result<Vec<PathBuf>, CampaignError> {
    let head = match folders.first() {
        Some(first) => &first.head,
        None => return Ok(Vec::new()),
    };
    let mut missing = Vec::new();
    let mut found = Vec::new();
    for folder in folders {
        for name in folder.tables()? {
            let number = name.strip_suffix(".parquet").and_then(|number| number.parse::<u64>().ok());
            if number
                .is_none_or(|number| number >= head.shards || folder.shard(number).file_name() != Some(name.as_ref()))
            {
                let what = format!("{}: `{name}` is no shard of this campaign", folder.path().display());
                return Err(CampaignError::Folder(what, "take it away".into()));
            }
        }
    }
    for number in 0..head.shards {
        let there: Vec<PathBuf> = folders.iter().map(|one| one.shard(number)).filter(|path| path.is_file()).collect();
        match there.split_first() {
            None => missing.push(number),
            Some((first, others)) => {
                same(first, others)?;
                found.push(first.clone());
            }
        }
    }
    if missing.is_empty() {
        return Ok(found);
    }
    let some: Vec<String> = missing.iter().take(10).map(ToString::to_string).collect();
    let more = if missing.len() > some.len() { ", ..." } else { "" };
    let what = format!("{} of {} shards are missing: {}{more}", missing.len(), head.shards, some.join(", "));
    Err(CampaignError::Folder(what, "run the campaign on into the same folder: whole shards are not run again".into()))
}

fn same(first: &PathBuf, others: &[PathBuf]) -> Result<(), CampaignError> {
    for other in others {
        let read = |path: &PathBuf| std::fs::read(path).map_err(|why| CampaignError::at(path, &why));
        if read(first)? != read(other)? {
            let what = format!("{} and {} are one shard with two contents", first.display(), other.display());
            let help = "the same plan gives the same bytes: find out which program made which, and take one away";
            return Err(CampaignError::Folder(what, help.into()));
        }
    }
    Ok(())
}
