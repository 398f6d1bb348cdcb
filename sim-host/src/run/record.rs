//! Takes down what happened: samples for the trace, spans of phases and actuators, notices, trips, and the hash over it all.

use std::hash::Hasher;
use std::sync::Arc;

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{ANALOG_COUNT, Actuator, Actuators, Outputs, RawFrame, SCALE_COUNT};
use valvewright_core::interlock::table::Row;
use valvewright_core::interlock::{FirstOut, RowId};
use valvewright_core::job::GiveUp;
use valvewright_core::job::Outcome as CoreOutcome;
use valvewright_core::station::Station;
use valvewright_core::talk::Notice;
use xxhash_rust::xxh3::Xxh3;

use crate::matrix::Measure;
use crate::matrix::words::watch_id;
use crate::plant::{Plant, Step};
use crate::report::data::{InterlockRecord, Interval, NoticeRecord, Outcome, PhaseResult, PhaseSpan, Trace};

use super::channels::{Source, channels};
use super::words;

/// Scans between two samples of the trace.
const SAMPLE_EVERY: u64 = 10;
/// Samples that a trace has room for at once: some two hours.
const ROOM: usize = 16_000;
/// Bytes that are taken into the hash at once: few enough to stay in the nearest cache.
const BUFFER: usize = 1 << 12;
/// Bytes of a scan in the hash, beside what the identifier's line carries.
const LINE: usize = 2 * ANALOG_COUNT + 5 * SCALE_COUNT + 17;

/// The recorder of one run.
#[derive(Clone)]
pub struct Recorder {
    /// What was recorded.
    pub trace: Trace,
    sampling: bool,
    /// Notices in order, with their times, s. They are put into words when the run is over.
    pub notices: Vec<(f64, Notice)>,
    /// Trips in order.
    pub interlocks: Vec<InterlockRecord>,
    /// Phases in order.
    pub phases: Vec<PhaseResult>,
    sources: Vec<Source>,
    values: Vec<f32>,
    /// The plant's step in hand, and each source's line in it.
    step: Step,
    lines: Vec<(f64, f64)>,
    began: f64,
    finding: Option<Notice>,
    /// Trips of jobs that are over.
    judged: usize,
    hash: Xxh3,
    buffer: Vec<u8>,
}

impl Recorder {
    /// A recorder for this plant, with samples for the trace or without. With `raw`, what the instruments show is read from the frames
    /// by that configuration, because there is no core whose readings could be had.
    pub fn new(plant: &Plant, raw: Option<Arc<StationConfig>>, sampling: bool) -> Self {
        let (specs, sources): (Vec<_>, Vec<_>) = channels(plant, raw.as_ref()).into_iter().unzip();
        let tags: Vec<_> = Actuator::ALL.iter().map(|a| a.tag()).collect();
        let mut trace = Trace::new(specs, &tags);
        if sampling {
            trace.reserve(ROOM);
        }
        Self {
            trace,
            sampling,
            notices: Vec::new(),
            interlocks: Vec::new(),
            phases: Vec::new(),
            values: vec![0.0; sources.len()],
            step: Step::default(),
            lines: vec![(0.0, 0.0); sources.len()],
            sources,
            began: 0.0,
            finding: None,
            judged: 0,
            hash: Xxh3::new(),
            buffer: Vec::with_capacity(BUFFER),
        }
    }

    /// Finds the plant's signals anew, after a part of it was exchanged; what is no more there is recorded as missing.
    pub fn found_anew(&mut self, plant: &Plant) {
        let known = channels(plant, None);
        let specs = self.trace.channels.iter().map(|channel| &channel.spec.name);
        for (source, name) in self.sources.iter_mut().zip(specs) {
            if let Source::Plant(parts, ..) = source {
                match known.iter().find(|(spec, _)| spec.name == *name) {
                    Some((_, Source::Plant(found, ..))) => parts.clone_from(found),
                    _ => *source = Source::Shown(|_| f64::NAN),
                }
            }
        }
        self.step = Step::default();
    }

    /// Phases and the rows that tripped since the last call: those of a job.
    pub fn of_job(&mut self) -> (Vec<PhaseResult>, Vec<String>) {
        let mut trips: Vec<String> = self.interlocks.iter().skip(self.judged).map(|one| one.id.clone()).collect();
        self.judged = self.interlocks.len();
        trips.sort_unstable();
        trips.dedup();
        (std::mem::take(&mut self.phases), trips)
    }

    /// Phases that ended since the last job was closed; one that is still open then ends at `t` without an outcome.
    pub fn late_phases(&mut self, t: f64) -> Vec<PhaseResult> {
        self.finding = None;
        self.trace.phases.iter_mut().filter(|one| one.span.end_s == f64::INFINITY).for_each(|one| one.span.end_s = t);
        std::mem::take(&mut self.phases)
    }

    /// Takes the tick into the hash: everything that went in and out, bit for bit.
    #[inline]
    pub fn absorb(&mut self, frame: &RawFrame, outputs: &Outputs) {
        let b = &mut self.buffer;
        // Written where it stays: bytes that are put together elsewhere and copied at once have to wait for each other.
        b.resize(b.len() + LINE, 0);
        let Some(line) = b.last_chunk_mut::<LINE>() else { return };
        let (analog, rest) = line.split_at_mut(2 * ANALOG_COUNT);
        let (scales, rest) = rest.split_at_mut(5 * SCALE_COUNT);
        for (to, counts) in analog.as_chunks_mut().0.iter_mut().zip(frame.analog) {
            *to = counts.to_le_bytes();
        }
        for (to, scale) in scales.as_chunks_mut().0.iter_mut().zip(frame.scales) {
            let [a, b, c, d] = scale.code.to_le_bytes();
            *to = [a, b, c, d, scale.sequence];
        }
        let ([s0, s1], [o0, o1]) = (frame.switches.0.to_le_bytes(), outputs.on.0.to_le_bytes());
        let lamp = outputs.lamp as u8 | u8::from(outputs.buzzer) << 7;
        let ([c0, c1], m) = (frame.machine.coils.0.to_le_bytes(), &frame.machine);
        let ([b0, b1], [d0, d1, d2, d3]) = (m.beat.to_le_bytes(), m.clock.to_le_bytes());
        let command = u8::from(frame.command.is_some());
        rest.copy_from_slice(&[
            s0,
            s1,
            o0,
            o1,
            outputs.dropped.0,
            lamp,
            command,
            m.sequence,
            b0,
            b1,
            d0,
            d1,
            d2,
            d3,
            c0,
            c1,
            m.failed.0,
        ]);
        b.extend_from_slice(&frame.identifier);
        b.extend_from_slice(&outputs.identifier);
        if b.len() > BUFFER - 512 {
            self.hash.write(b);
            b.clear();
        }
    }

    /// Takes a number of the plant's truth into the hash.
    pub fn absorb_truth(&mut self, value: f64) {
        self.buffer.extend_from_slice(&value.to_bits().to_le_bytes());
    }

    /// The hash so far, hexadecimal.
    pub fn hash(&self) -> String {
        let mut hash = self.hash.clone();
        hash.write(&self.buffer);
        format!("{:016x}", hash.digest())
    }

    /// A sample at this tick, if one is due or something switched.
    #[inline]
    pub fn sample(
        &mut self,
        tick: u64,
        t: f64,
        plant: &Plant,
        core: Option<&Station>,
        frame: &RawFrame,
        changed: bool,
    ) {
        if !self.sampling || !tick.is_multiple_of(SAMPLE_EVERY) && !changed {
            return;
        }
        if self.step.is_new(plant) {
            for (line, source) in self.lines.iter_mut().zip(&self.sources) {
                if let Source::Plant(parts, scale, offset) = source {
                    let ends = parts.iter().map(|signal| plant.ends(*signal));
                    let (a, b) = ends.fold((0.0, 0.0), |sum, end| (sum.0 + end.0, sum.1 + end.1));
                    *line = self.step.line((a * scale + offset, b * scale + offset));
                }
            }
        }
        let since = self.step.since(plant);
        for ((value, source), (start, slope)) in self.values.iter_mut().zip(&self.sources).zip(&self.lines) {
            *value = match source {
                Source::Plant(..) => (start + slope * since) as f32,
                Source::Shown(read) => core.map_or(f32::NAN, |core| read(core) as f32),
                Source::Raw(input) => input.read(frame) as f32,
            };
        }
        self.trace.record(t, &self.values);
    }

    /// Notes which actuators went on or off.
    pub fn switched(&mut self, t: f64, before: Actuators, now: Actuators) {
        for (at, actuator) in Actuator::ALL.into_iter().enumerate() {
            if before.has(actuator) != now.has(actuator) {
                self.trace.switch(at, t, now.has(actuator));
            }
        }
    }

    /// Takes down a notice and what it says of phases and trips.
    pub fn notice(&mut self, t: f64, notice: &Notice) -> &'static str {
        match *notice {
            Notice::PhaseStarted(kind) => {
                self.began = t;
                self.finding = None;
                let span = Interval { start_s: t, end_s: f64::INFINITY };
                let name = kind.name().to_owned();
                self.trace.phases.push(PhaseSpan { name, span, outcome: Outcome::Unfinished });
            }
            Notice::PhaseEnded(kind, core) => self.phase_ended(t, kind.name(), core),
            Notice::Tripped(row, first) => self.tripped(t, row, first),
            Notice::Cleared(row) => {
                let open = self.interlocks.iter_mut().rev().find(|r| r.id == row.as_str() && r.cleared_t_s.is_none());
                if let Some(record) = open {
                    record.cleared_t_s = Some(t);
                }
            }
            Notice::Purged(_)
            | Notice::Gas(_)
            | Notice::Recovered(_)
            | Notice::OilDrained(_)
            | Notice::Vacuum(_)
            | Notice::Leak(_)
            | Notice::OilInjected(_)
            | Notice::Charged(_)
            | Notice::StaticPressure(..)
            | Notice::HosesCleared(_) => self.finding = Some(*notice),
            _ => {}
        }
        self.notices.push((t, *notice));
        words::notice_id(notice)
    }

    /// The notices in words; the recorder then has none.
    pub fn told(&mut self) -> Vec<NoticeRecord> {
        let told = |(t_s, notice): (f64, Notice)| {
            let (id, text) = words::notice(&notice);
            NoticeRecord { t_s, id: id.to_owned(), text, notice: Some(notice) }
        };
        std::mem::take(&mut self.notices).into_iter().map(told).collect()
    }

    fn phase_ended(&mut self, t: f64, name: &str, core: CoreOutcome) {
        let outcome = outcome(core);
        let open = self.trace.phases.last_mut().filter(|p| p.name == name && p.span.end_s == f64::INFINITY);
        let judged = self.phases.iter_mut().rev().find(|p| p.name == name && p.outcome == Outcome::Pass);
        if let (None, Some(judged)) = (&open, judged) {
            // A charge that had met its plan, judged anew at the end of the order.
            (judged.outcome, judged.detail) = (outcome, words::outcome(core));
            if let Some(span) = self.trace.phases.iter_mut().rev().find(|p| p.name == name) {
                span.outcome = outcome;
            }
            return;
        }
        let seconds = open.map_or(0.0, |span| {
            (span.span.end_s, span.outcome) = (t, outcome);
            t - self.began
        });
        // A phase that met its plan is told by what it found, one that did not by its reason.
        let detail = match (core, self.finding.take()) {
            (CoreOutcome::Done, Some(finding)) => words::notice(&finding).1,
            _ => words::outcome(core),
        };
        self.phases.push(PhaseResult { name: name.to_owned(), outcome, seconds, detail });
    }

    fn tripped(&mut self, t: f64, row: RowId, first: Option<FirstOut>) {
        let of_row = |text: fn(&Row) -> &'static str| row.row().map_or_else(String::new, |row| text(row).to_owned());
        self.interlocks.push(InterlockRecord {
            t_s: t,
            id: row.as_str().to_owned(),
            cause: of_row(|row| row.why.text()),
            reading: words::first_reading(first),
            watch: first.map(|first| watch_id(first.watch)),
            quality: first.map(|first| if first.bad { "bad" } else { "good" }),
            value: first.and_then(|first| Measure::of(words::read(first.watch, first.value))),
            trip: first.and_then(|first| Measure::of(words::condition(row, first.watch)?.trip)),
            waits_for: words::waits_for(row, first),
            to_clear: of_row(|row| row.reset.text()),
            cleared_t_s: None,
        });
    }
}

/// The result's word for what the core calls an outcome.
pub fn outcome(core: CoreOutcome) -> Outcome {
    match core {
        CoreOutcome::Done => Outcome::Pass,
        CoreOutcome::Skipped(_) => Outcome::Skipped,
        CoreOutcome::Failed(
            GiveUp::NoLeakVerdict
            | GiveUp::NotReached(_)
            | GiveUp::NoIdentity
            | GiveUp::GasRefused(_)
            | GiveUp::RefusalStands(_)
            | GiveUp::VesselLow { .. }
            | GiveUp::NoRoom { .. },
        ) => Outcome::Refused,
        CoreOutcome::Failed(_) => Outcome::Failed,
        CoreOutcome::Aborted => Outcome::Aborted,
    }
}
