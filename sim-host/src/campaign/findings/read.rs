//! Rows out of a merged table again: of a folder that is whole and of this version, or an error that says what to do.

use std::path::Path;

use arrow_array::cast::AsArray;
use arrow_array::types::{Float64Type, UInt64Type};
use arrow_array::{Array, RecordBatch};

use crate::campaign::error::CampaignError;
use crate::campaign::folder::RESULT;
use crate::campaign::row::{Fault, Hazard, Row, hazard_ids};
use crate::campaign::table::Reader;
use crate::report::data::HazardLevel;

/// Layouts that are read: the first had no column of rows left out.
const LAYOUTS: [&str; 2] = ["1", "2"];
/// Ways in which a run comes to its end.
const FATES: [&str; 6] = ["ended", "stands", "goes", "broken", "not_reached", "refused"];
/// Ways in which an order stands at the end.
const VERDICTS: [&str; 5] = ["pass", "refused", "failed", "aborted", "unfinished"];

/// A merged table.
pub struct Merged {
    table: Reader,
    path: std::path::PathBuf,
    /// Keys of scenarios that the campaign varied, in the order of their columns.
    keys: Vec<String>,
    /// Name of the plan.
    pub campaign: String,
    /// Digest of what was run.
    pub digest: String,
    /// Rows by the table's foot.
    pub count: u64,
}

impl Merged {
    /// Opens the result in a campaign's folder.
    ///
    /// # Errors
    /// There is none, it is no such table, of another version or not whole.
    pub fn open(folder: &Path) -> Result<Self, CampaignError> {
        let path = folder.join(RESULT);
        let wrong =
            |what: String, help: &str| CampaignError::Folder(format!("{}: {what}", path.display()), help.into());
        if !path.is_file() {
            let help = "give the folder of a campaign; where its shards are not merged yet: valvewright campaign --merge DIR...";
            return Err(wrong("there is no merged result".into(), help));
        }
        let again = "run the campaign anew, or merge its shards again: valvewright campaign --merge DIR...";
        let table = Reader::open(&path).map_err(|why| {
            let why = if let CampaignError::File(_, why) = why { why } else { why.to_string() };
            wrong(format!("it cannot be read as a table: {why}"), again)
        })?;
        let fact = |name: &str| table.fact(&format!("valvewright.{name}")).map(str::to_owned);
        let version = fact("schema").ok_or_else(|| wrong("it is no table of a campaign".into(), again))?;
        if !LAYOUTS.contains(&version.as_str()) {
            let what =
                format!("its layout is version {version}, this program reads versions {}", LAYOUTS.join(" and "));
            return Err(wrong(
                what,
                "report it with the program that made it, or run the campaign anew into a new folder",
            ));
        }
        let runs = fact("runs").and_then(|runs| runs.parse::<u64>().ok());
        if runs != Some(table.count) {
            let of = runs.map_or("an unknown number of".to_owned(), |runs| runs.to_string());
            return Err(wrong(format!("it has {} rows of {of} runs", table.count), again));
        }
        let keys = varied(&table);
        let (campaign, digest) = (fact("campaign").unwrap_or_default(), fact("digest").unwrap_or_default());
        Ok(Self { count: table.count, keys, campaign, digest, path, table })
    }

    /// Hands every row to `each`, in order.
    ///
    /// # Errors
    /// A row cannot be read.
    pub fn rows(self, each: &mut dyn FnMut(Row)) -> Result<(), CampaignError> {
        let path = self.path;
        for batch in self.table {
            let batch = batch?;
            for at in 0..batch.num_rows() {
                let row = row(&batch, at, &self.keys).ok_or_else(|| {
                    CampaignError::Folder(
                        format!("{}: a column is missing or of another kind", path.display()),
                        "merge its shards again: valvewright campaign --merge DIR...".into(),
                    )
                })?;
                each(row);
            }
        }
        Ok(())
    }
}

/// Columns between who a run is and its faults: what the campaign varied.
fn varied(table: &Reader) -> Vec<String> {
    let names = table.schema.fields().iter().map(|field| field.name().clone());
    names.skip_while(|name| name != "station").skip(1).take_while(|name| name != "fault").collect()
}

/// A batch and one of its rows.
#[derive(Clone, Copy)]
struct At<'a>(&'a RecordBatch, usize);

impl At<'_> {
    fn text(self, name: &str) -> Option<Option<String>> {
        let all = self.0.column_by_name(name)?.as_string_opt::<i32>()?;
        Some(all.is_valid(self.1).then(|| all.value(self.1).to_owned()))
    }

    fn words(self, name: &str) -> Option<String> {
        self.text(name).map(Option::unwrap_or_default)
    }

    fn number(self, name: &str) -> Option<Option<f64>> {
        let all = self.0.column_by_name(name)?.as_primitive_opt::<Float64Type>()?;
        Some(all.is_valid(self.1).then(|| all.value(self.1)))
    }

    fn whole(self, name: &str) -> Option<Option<u64>> {
        let all = self.0.column_by_name(name)?.as_primitive_opt::<UInt64Type>()?;
        Some(all.is_valid(self.1).then(|| all.value(self.1)))
    }

    fn flag(self, name: &str) -> Option<Option<bool>> {
        let all = self.0.column_by_name(name)?.as_boolean_opt()?;
        Some(all.is_valid(self.1).then(|| all.value(self.1)))
    }

    fn texts(self, name: &str) -> Option<Vec<String>> {
        let list = self.0.column_by_name(name)?.as_list_opt::<i32>()?.value(self.1);
        Some(list.as_string_opt::<i32>()?.iter().map(|one| one.unwrap_or_default().to_owned()).collect())
    }

    fn numbers(self, name: &str) -> Option<Vec<Option<f64>>> {
        let list = self.0.column_by_name(name)?.as_list_opt::<i32>()?.value(self.1);
        Some(list.as_primitive_opt::<Float64Type>()?.iter().collect())
    }
}

fn row(batch: &RecordBatch, at: usize, keys: &[String]) -> Option<Row> {
    let of = At(batch, at);
    let fate = of.words("fate")?;
    let verdict = of.text("verdict")?;
    let rows = of.texts("row")?.into_iter().zip(of.numbers("row_after_s")?);
    let changes = keys.iter().map(|key| Some(of.text(key)?.map(|value| (key.clone(), value))));
    Some(Row {
        index: of.whole("index")??,
        seed: of.whole("seed")??,
        scenario: of.words("scenario")?,
        station: of.words("station")?,
        changes: changes.collect::<Option<Vec<_>>>()?.into_iter().flatten().collect(),
        faults: faults(of)?,
        without: of.words("without").unwrap_or_default(),
        fate: FATES.into_iter().find(|word| *word == fate)?,
        refused: of.text("refused")?,
        verdict: match verdict {
            Some(word) => Some(VERDICTS.into_iter().find(|one| *one == word)?),
            None => None,
        },
        end: of.number("end_s")?,
        scans: of.whole("scans")?,
        rows: rows.map(|(id, after)| (id, after.unwrap_or(0.0))).collect(),
        safe_after: of.number("safe_after_s")?,
        safe_after_scans: of.whole("safe_after_scans")?,
        budget: of.number("budget_s")?,
        reaction: of.number("reaction_s")?,
        in_budget: of.flag("in_budget")?,
        hazards: hazard_ids().map(|id| hazard(of, &id.to_lowercase())).collect::<Option<_>>()?,
        unknown: of.texts("unknown_accident")?,
        rest_after: of.number("rest_after_s")?,
        stuck: of.text("stuck")?,
        hash: of.text("hash")?,
        replay: of.words("replay")?,
        ..Row::default()
    })
}

fn faults(of: At<'_>) -> Option<Vec<Fault>> {
    let (ids, modes, tags) = (of.texts("fault")?, of.texts("fault_mode")?, of.texts("fault_tag")?);
    let (severities, moments) = (of.texts("fault_severity")?, of.texts("fault_moment")?);
    let (at, began, ended) = (of.numbers("fault_at_s")?, of.numbers("fault_began_s")?, of.numbers("fault_ended_s")?);
    let one = |n: usize| {
        Some(Fault {
            id: ids.get(n)?.clone(),
            mode: modes.get(n)?.clone(),
            tag: tags.get(n)?.clone(),
            severity: severities.get(n)?.clone(),
            moment: moments.get(n)?.clone(),
            at: *at.get(n)?,
            began: *began.get(n)?,
            ended: *ended.get(n)?,
        })
    };
    (0..ids.len()).map(one).collect()
}

fn hazard(of: At<'_>, id: &str) -> Option<Hazard> {
    let level = match of.text(&format!("{id}_level"))?.as_deref() {
        None => None,
        Some("none") => Some(HazardLevel::None),
        Some("alert") => Some(HazardLevel::Alert),
        Some("accident") => Some(HazardLevel::Accident),
        Some(_) => return None,
    };
    let number = |end: &str| of.number(&format!("{id}_{end}"));
    Some(Hazard { level, margin: number("margin")?, alert: number("alert_s")?, accident: number("accident_s")? })
}
