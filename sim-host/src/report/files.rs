//! Results and traces as files for programs: JSON, CSV, Arrow IPC. The same run gives the same bytes, wall times in the result aside.

use std::collections::HashMap;
use std::io::Write;
use std::sync::Arc;

use arrow_array::builder::{BooleanBuilder, StringBuilder};
use arrow_array::{ArrayRef, Float32Array, Float64Array, RecordBatch};
use arrow_ipc::writer::FileWriter;
use arrow_schema::{ArrowError, DataType, Field, Schema};

use serde::Serialize;

use super::data::{ActuatorTrack, RunResult, Trace, UNITS};
use super::service::Service;

/// A result with what its papers say of station and vehicles: what a result file holds.
#[derive(Serialize)]
struct Filed<'a> {
    #[serde(flatten)]
    result: &'a RunResult,
    service: &'a Service,
}

/// The result file: result and service as indented JSON with a newline at its end.
pub fn filed(result: &RunResult, service: &Service) -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(&Filed { result, service }).map(|text| text + "\n")
}

/// The result as indented JSON with a newline at its end.
pub fn json(result: &RunResult) -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(result).map(|text| text + "\n")
}

/// Column of a channel: `pt2 [bar]`.
fn column(name: &str, unit: &str) -> String {
    if unit.is_empty() { name.to_owned() } else { format!("{name} [{unit}]") }
}

/// Walks the spans of a track along with rising times.
struct OnAt<'a> {
    track: &'a ActuatorTrack,
    next: usize,
}

impl OnAt<'_> {
    fn at(&mut self, t_s: f64) -> bool {
        while self.track.on.get(self.next).is_some_and(|span| span.end_s <= t_s) {
            self.next += 1;
        }
        self.track.on.get(self.next).is_some_and(|span| span.start_s <= t_s)
    }
}

fn walkers(trace: &Trace) -> Vec<OnAt<'_>> {
    trace.actuators.iter().map(|track| OnAt { track, next: 0 }).collect()
}

fn phase_at(trace: &Trace, t_s: f64) -> &str {
    let inside = |phase: &&super::data::PhaseSpan| phase.span.start_s <= t_s && t_s < phase.span.end_s;
    trace.phases.iter().find(inside).map_or("", |phase| &phase.name)
}

/// The trace as CSV: time, phase, one column per channel with its unit, one per actuator with 0 or 1. A missing value is an empty cell.
pub fn csv(trace: &Trace, out: impl Write) -> Result<(), csv::Error> {
    let mut writer = csv::Writer::from_writer(out);
    let channels = trace.channels.iter().map(|channel| column(&channel.spec.name, &channel.spec.unit));
    let tags = trace.actuators.iter().map(|track| track.tag.clone());
    writer.write_record(["time [s]".to_owned(), "phase".to_owned()].into_iter().chain(channels).chain(tags))?;
    let mut on = walkers(trace);
    for (row, t_s) in trace.time_s.iter().enumerate() {
        writer.write_field(t_s.to_string())?;
        writer.write_field(phase_at(trace, *t_s))?;
        for channel in &trace.channels {
            let value = channel.values.get(row).copied().filter(|value| value.is_finite());
            writer.write_field(value.map(|value| value.to_string()).unwrap_or_default())?;
        }
        for track in &mut on {
            writer.write_field(if track.at(*t_s) { "1" } else { "0" })?;
        }
        writer.write_record(None::<&[u8]>)?;
    }
    writer.flush()?;
    Ok(())
}

/// The trace as an Arrow IPC file with the columns of [`csv()`]. Units, labels and views stand in the metadata of the fields;
/// scenario, seed, trace hash and whether the run is partial in that of the file.
pub fn arrow(result: &RunResult, trace: &Trace, out: impl Write) -> Result<(), ArrowError> {
    let mut fields = vec![Field::new("time", DataType::Float64, false), Field::new("phase", DataType::Utf8, false)];
    let mut arrays: Vec<ArrayRef> = vec![Arc::new(Float64Array::from(trace.time_s.clone())), Arc::new(phases(trace))];
    for channel in &trace.channels {
        let view = serde_json::to_value(channel.spec.view).ok();
        let view = view.as_ref().and_then(|view| view.as_str()).unwrap_or_default().to_owned();
        let facts = [("unit", channel.spec.unit.clone()), ("label", channel.spec.label.clone()), ("view", view)];
        let facts = HashMap::from(facts.map(|(key, value)| (key.to_owned(), value)));
        fields.push(Field::new(&channel.spec.name, DataType::Float32, true).with_metadata(facts));
        let values = channel.values.iter().map(|value| value.is_finite().then_some(*value));
        arrays.push(Arc::new(Float32Array::from_iter(values)));
    }
    for mut track in walkers(trace) {
        fields.push(Field::new(&track.track.tag, DataType::Boolean, false));
        let mut states = BooleanBuilder::with_capacity(trace.time_s.len());
        for t_s in &trace.time_s {
            states.append_value(track.at(*t_s));
        }
        arrays.push(Arc::new(states.finish()));
    }
    let facts = [
        ("scenario", result.scenario.clone()),
        ("seed", result.seed.to_string()),
        ("controller", result.controller.name.clone()),
        ("station", result.station.name.clone()),
        ("trace_hash", result.trace_hash.clone()),
        ("partial", trace.partial.to_string()),
        ("units", UNITS.to_owned()),
    ];
    let facts = HashMap::from(facts.map(|(key, value)| (key.to_owned(), value)));
    let schema = Arc::new(Schema::new(fields).with_metadata(facts));
    let batch = RecordBatch::try_new(Arc::clone(&schema), arrays)?;
    let mut writer = FileWriter::try_new(out, &schema)?;
    writer.write(&batch)?;
    writer.finish()
}

fn phases(trace: &Trace) -> arrow_array::StringArray {
    let mut names = StringBuilder::with_capacity(trace.time_s.len(), trace.time_s.len() * 8);
    for t_s in &trace.time_s {
        names.append_value(phase_at(trace, *t_s));
    }
    names.finish()
}
