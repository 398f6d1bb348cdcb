//! Rows to a Parquet file and batches out of one.

use std::fs::File;
use std::io::Write;
use std::path::Path;
use std::sync::Arc;

use arrow_array::builder::{BooleanBuilder, Float64Builder, ListBuilder, StringBuilder, UInt64Builder};
use arrow_array::{ArrayRef, RecordBatch};
use arrow_schema::{DataType, Field, Schema};
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::{ParquetRecordBatchReader, ParquetRecordBatchReaderBuilder};
use parquet::basic::Compression;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;

use super::columns::{Cell, Column, Kind};
use crate::campaign::error::CampaignError;
use crate::campaign::row::Row;

/// Rows of a row group: what a writer holds in memory.
const GROUP: usize = 10_000;
/// Rows of a batch that is read.
const BATCH: usize = 1_000;

fn table(why: impl std::fmt::Display) -> CampaignError {
    CampaignError::Table(why.to_string())
}

fn data_type(of: Kind) -> DataType {
    let list = |item: DataType| DataType::List(Arc::new(Field::new_list_field(item, true)));
    match of {
        Kind::Whole => DataType::UInt64,
        Kind::Number => DataType::Float64,
        Kind::Text => DataType::Utf8,
        Kind::Flag => DataType::Boolean,
        Kind::Texts => list(DataType::Utf8),
        Kind::Numbers => list(DataType::Float64),
    }
}

fn schema(columns: &[Column]) -> Arc<Schema> {
    Arc::new(Schema::new(
        columns.iter().map(|one| Field::new(&one.name, data_type(one.kind), true)).collect::<Vec<_>>(),
    ))
}

fn array(of: &Column, rows: &[Row]) -> ArrayRef {
    let cells = rows.iter().map(|row| of.cell(row));
    match of.kind {
        Kind::Whole => {
            let mut made = UInt64Builder::new();
            cells.for_each(|cell| made.append_option(if let Cell::Whole(value) = cell { value } else { None }));
            Arc::new(made.finish())
        }
        Kind::Number => {
            let mut made = Float64Builder::new();
            cells.for_each(|cell| made.append_option(if let Cell::Number(value) = cell { value } else { None }));
            Arc::new(made.finish())
        }
        Kind::Text => {
            let mut made = StringBuilder::new();
            cells.for_each(|cell| made.append_option(if let Cell::Text(value) = cell { value } else { None }));
            Arc::new(made.finish())
        }
        Kind::Flag => {
            let mut made = BooleanBuilder::new();
            cells.for_each(|cell| made.append_option(if let Cell::Flag(value) = cell { value } else { None }));
            Arc::new(made.finish())
        }
        Kind::Texts => {
            let mut made = ListBuilder::new(StringBuilder::new());
            for cell in cells {
                let list = if let Cell::Texts(list) = cell { list } else { Vec::new() };
                list.iter().for_each(|one| made.values().append_value(one));
                made.append(true);
            }
            Arc::new(made.finish())
        }
        Kind::Numbers => {
            let mut made = ListBuilder::new(Float64Builder::new());
            for cell in cells {
                let list = if let Cell::Numbers(list) = cell { list } else { Vec::new() };
                list.into_iter().for_each(|one| made.values().append_option(one));
                made.append(true);
            }
            Arc::new(made.finish())
        }
    }
}

/// Writes a table.
pub struct Writer<W: Write + Send> {
    columns: Vec<Column>,
    schema: Arc<Schema>,
    to: ArrowWriter<W>,
}

impl<W: Write + Send> Writer<W> {
    /// A table with these columns, and with these facts in the file's metadata, in their order.
    ///
    /// # Errors
    /// The head cannot be written.
    pub fn new(to: W, columns: Vec<Column>, facts: &[(String, String)]) -> Result<Self, CampaignError> {
        let schema = schema(&columns);
        Ok(Self { columns, ..Self::copying(to, schema, facts)? })
    }

    /// A table for batches of this layout.
    ///
    /// # Errors
    /// As [`Writer::new`].
    pub fn copying(to: W, schema: Arc<Schema>, facts: &[(String, String)]) -> Result<Self, CampaignError> {
        let facts = facts.iter().map(|(key, value)| KeyValue::new(key.clone(), value.clone())).collect();
        let properties = WriterProperties::builder()
            .set_compression(Compression::SNAPPY)
            .set_max_row_group_row_count(Some(GROUP))
            .set_key_value_metadata(Some(facts))
            .build();
        let to = ArrowWriter::try_new(to, Arc::clone(&schema), Some(properties)).map_err(table)?;
        Ok(Self { columns: Vec::new(), schema, to })
    }

    /// Adds rows.
    ///
    /// # Errors
    /// They cannot be written.
    pub fn rows(&mut self, rows: &[Row]) -> Result<(), CampaignError> {
        let arrays = self.columns.iter().map(|column| array(column, rows)).collect();
        let batch = RecordBatch::try_new(Arc::clone(&self.schema), arrays).map_err(table)?;
        self.batch(&batch)
    }

    /// Adds rows that were read from another table of the same columns.
    ///
    /// # Errors
    /// They are of other columns, or cannot be written.
    pub fn batch(&mut self, batch: &RecordBatch) -> Result<(), CampaignError> {
        self.to.write(batch).map_err(table)
    }

    /// Writes the foot and gives back what was written to.
    ///
    /// # Errors
    /// It cannot be written.
    pub fn finish(self) -> Result<W, CampaignError> {
        self.to.into_inner().map_err(table)
    }
}

/// Reads a table batch by batch.
pub struct Reader {
    batches: ParquetRecordBatchReader,
    /// Rows by its foot.
    pub count: u64,
    /// Facts in its metadata.
    pub facts: Vec<(String, String)>,
    /// Its layout.
    pub schema: Arc<Schema>,
}

impl Reader {
    /// Opens a table.
    ///
    /// # Errors
    /// It cannot be read: it is missing, cut off, or none.
    pub fn open(path: &Path) -> Result<Self, CampaignError> {
        let wrong = |why: &dyn std::fmt::Display| CampaignError::at(path, &why);
        let file = File::open(path).map_err(|why| wrong(&why))?;
        let builder = ParquetRecordBatchReaderBuilder::try_new(file).map_err(|why| wrong(&why))?;
        let foot = builder.metadata().file_metadata();
        let count = u64::try_from(foot.num_rows()).unwrap_or(0);
        let facts = foot.key_value_metadata().cloned().unwrap_or_default();
        let facts = facts.into_iter().map(|one| (one.key, one.value.unwrap_or_default())).collect();
        let schema = Arc::clone(builder.schema());
        let batches = builder.with_batch_size(BATCH).build().map_err(|why| wrong(&why))?;
        Ok(Self { batches, count, facts, schema })
    }

    /// The fact of this name.
    pub fn fact(&self, name: &str) -> Option<&str> {
        self.facts.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
    }
}

impl Iterator for Reader {
    type Item = Result<RecordBatch, CampaignError>;

    fn next(&mut self) -> Option<Self::Item> {
        self.batches.next().map(|batch| batch.map_err(table))
    }
}

/// What stands in the metadata of a table of this campaign, its own facts behind.
pub fn facts_of(schema: &str, campaign: (&str, &str), own: &[(&str, String)]) -> Vec<(String, String)> {
    let head =
        [("valvewright.schema", schema), ("valvewright.campaign", campaign.0), ("valvewright.digest", campaign.1)];
    let head = head.map(|(key, value)| (key.to_owned(), value.to_owned()));
    head.into_iter().chain(own.iter().map(|(key, value)| (format!("valvewright.{key}"), value.clone()))).collect()
}
