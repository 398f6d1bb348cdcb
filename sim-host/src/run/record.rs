//! Takes down what happened: samples for the trace, spans of phases and actuators, notices, trips, and the hash over it all.

use std::hash::Hasher;

use valvewright_core::frame::{ANALOG_COUNT, Actuator, Actuators, Outputs, RawFrame, SCALE_COUNT};
use valvewright_core::interlock::table::Row;
use valvewright_core::interlock::{FirstOut, RowId};
use valvewright_core::job::GiveUp;
use valvewright_core::job::Outcome as CoreOutcome;
use valvewright_core::station::Station;
use valvewright_core::talk::Notice;
use xxhash_rust::xxh3::Xxh3;

use crate::display::Sentence;
use crate::matrix::Measure;
use crate::matrix::words::watch_id;
use crate::plant::{Plant, Signal};
use crate::report::data::{
    ChannelSpec, Group, InterlockRecord, Interval, NoticeRecord, Outcome, PhaseResult, PhaseSpan, Trace, View,
};

use super::bind::Step;
use super::words;

/// Scans between two samples of the trace.
const SAMPLE_EVERY: u64 = 10;
/// Samples that a trace has room for at once: some two hours.
const ROOM: usize = 16_000;
/// Bytes of a scan in the hash, beside what the identifier's line carries.
const LINE: usize = 2 * ANALOG_COUNT + 5 * SCALE_COUNT + 6;

/// How a channel is read: from a plant signal or from a judged input of the station.
#[derive(Clone)]
enum Source {
    /// Sum of the signals, times a scale, plus an offset.
    Plant(Vec<Signal>, f64, f64),
    Shown(fn(&Station) -> f64),
}

/// The recorder of one run.
#[derive(Clone)]
pub struct Recorder {
    /// What was recorded.
    pub trace: Trace,
    sampling: bool,
    /// Notices in order.
    pub notices: Vec<NoticeRecord>,
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
    finding: Option<Sentence>,
    hash: Xxh3,
    buffer: Vec<u8>,
}

const BAR: (f64, f64) = (1e-5, 0.0);
const CELSIUS: (f64, f64) = (1.0, -273.15);
const GRAM: (f64, f64) = (1e3, 0.0);

/// Refrigerant in all the oil of the vehicle.
const DISSOLVED: &str = "vehicle_high.m_dissolved + vehicle_low.m_dissolved + accumulator.m_dissolved";
/// Plant signals that are recorded where the network has them: signal (or a sum, set apart by " + "), name, label, unit,
/// lane, scale and offset.
type TrueChannel = (&'static str, &'static str, &'static str, &'static str, Group, (f64, f64));
const TRUE: &[TrueChannel] = &[
    ("vessel.p", "pt1_true", "Vessel", "bar", Group::Pressure, BAR),
    ("vehicle_high.p", "vehicle_high_p", "Vehicle high side", "bar", Group::Pressure, BAR),
    ("vehicle_low.p", "vehicle_low_p", "Vehicle low side", "bar", Group::Pressure, BAR),
    ("vehicle_low.p", "vehicle_vacuum", "Vehicle low side", "mbar", Group::Vacuum, (1e-2, 0.0)),
    ("vessel.t", "vessel_t", "Vessel content", "degC", Group::Temperature, CELSIUS),
    ("accumulator.t", "accumulator_t", "Accumulator content", "degC", Group::Temperature, CELSIUS),
    ("vehicle_high.t", "vehicle_high_t", "Vehicle high side", "degC", Group::Temperature, CELSIUS),
    ("vehicle_high.m", "vehicle_high_m", "In vehicle, high side", "g", Group::Mass, GRAM),
    ("vehicle_low.m", "vehicle_low_m", "In vehicle, low side", "g", Group::Mass, GRAM),
    ("accumulator.m", "accumulator_m", "In vehicle, accumulator", "g", Group::Mass, GRAM),
    ("discharge.m", "discharge_m", "In discharge pipe", "g", Group::Mass, GRAM),
    ("condenser.m", "condenser_m", "In condenser", "g", Group::Mass, GRAM),
    ("interstage.m", "interstage_m", "Between the stages of C-1", "g", Group::Mass, GRAM),
    ("hose_low.m", "hose_low_m", "In hose, low side", "g", Group::Mass, GRAM),
    ("hose_high.m", "hose_high_m", "In hose, high side", "g", Group::Mass, GRAM),
    ("manifold.m", "manifold_m", "In manifold", "g", Group::Mass, GRAM),
    ("hose_low.t", "hose_low_t", "Hose, low side", "degC", Group::Temperature, CELSIUS),
    ("separator.m", "separator_m", "In separator", "g", Group::Mass, GRAM),
    (DISSOLVED, "dissolved_m", "Dissolved in oil", "g", Group::Mass, GRAM),
    ("C-1.flow", "c1_flow", "C-1", "g/s", Group::Flow, GRAM),
    ("XV-5+XV-10+XV-1.flow", "charge_low_flow", "Charge, low side", "g/s", Group::Flow, GRAM),
    ("XV-5+XV-10+XV-2.flow", "charge_high_flow", "Charge, high side", "g/s", Group::Flow, GRAM),
];

const fn pascal(r: &valvewright_core::sense::Reading<valvewright_core::units::AbsPa>) -> f64 {
    r.value.0 as f64
}

/// Station readings that are recorded.
type ShownChannel = (&'static str, &'static str, &'static str, Group, fn(&Station) -> f64);
const SHOWN: &[ShownChannel] = &[
    ("pt1", "PT-1 vessel", "bar", Group::Pressure, |s| pascal(&s.readings().pt1) * 1e-5),
    ("pt2", "PT-2 low side", "bar", Group::Pressure, |s| pascal(&s.readings().pt2) * 1e-5),
    ("pt3", "PT-3 high side", "bar", Group::Pressure, |s| pascal(&s.readings().pt3) * 1e-5),
    ("pt4", "PT-4 vacuum", "mbar", Group::Vacuum, |s| pascal(&s.readings().pt4) * 1e-2),
    ("tt1", "TT-1 vessel wall", "degC", Group::Temperature, |s| f64::from(s.readings().tt1.value.0) * 1e-2 - 273.15),
    ("tt2", "TT-2 discharge", "degC", Group::Temperature, |s| f64::from(s.readings().tt2.value.0) * 1e-2 - 273.15),
    ("tt4", "TT-4 ambient", "degC", Group::Temperature, |s| f64::from(s.readings().tt4.value.0) * 1e-2 - 273.15),
    ("wt1", "WT-1 vessel", "g", Group::Mass, |s| f64::from(s.readings().wt1.mass.value.0) * 1e-3),
    ("wt1_rate", "WT-1 rate", "g/s", Group::Flow, |s| f64::from(s.readings().wt1.rate.0) * 1e-3),
];

impl Recorder {
    /// A recorder for this plant, with samples for the trace or without.
    pub fn new(plant: &Plant, sampling: bool) -> Self {
        let (mut specs, mut sources) = (Vec::new(), Vec::new());
        for (name, label, unit, group, read) in SHOWN {
            specs.push(ChannelSpec::new(name, label, unit, *group, View::Shown));
            sources.push(Source::Shown(*read));
        }
        for (signal, name, label, unit, group, (scale, offset)) in TRUE {
            let parts: Vec<_> = signal.split(" + ").filter_map(|one| plant.signal(one)).collect();
            if !parts.is_empty() {
                specs.push(ChannelSpec::new(name, label, unit, *group, View::True));
                sources.push(Source::Plant(parts, *scale, *offset));
            }
        }
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
            hash: Xxh3::new(),
            buffer: Vec::with_capacity(1 << 16),
        }
    }

    /// Takes the tick into the hash: everything that went in and out, bit for bit.
    #[inline]
    pub fn absorb(&mut self, frame: &RawFrame, outputs: &Outputs) {
        let mut line = [0; LINE];
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
        rest.copy_from_slice(&[s0, s1, o0, o1, lamp, u8::from(frame.command.is_some())]);
        let b = &mut self.buffer;
        b.extend_from_slice(&line);
        b.extend_from_slice(&frame.identifier);
        b.extend_from_slice(&outputs.identifier);
        if b.len() > (1 << 16) - 512 {
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
    pub fn sample(&mut self, tick: u64, t: f64, plant: &Plant, station: &Station, changed: bool) {
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
                Source::Shown(read) => read(station) as f32,
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
        let (id, text) = words::notice(notice);
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
            | Notice::HosesCleared(_) => self.finding = Some(text.clone()),
            _ => {}
        }
        self.notices.push(NoticeRecord { t_s: t, id: id.to_owned(), text });
        id
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
            (CoreOutcome::Done, Some(finding)) => finding,
            _ => words::outcome(core),
        };
        self.phases.push(PhaseResult { name: name.to_owned(), outcome, seconds, detail });
    }

    fn tripped(&mut self, t: f64, row: RowId, first: Option<FirstOut>) {
        let of_row = |text: fn(&Row) -> &'static str| row.row().map_or_else(String::new, |row| text(row).to_owned());
        self.interlocks.push(InterlockRecord {
            t_s: t,
            id: row.as_str().to_owned(),
            cause: of_row(|row| row.why),
            reading: words::first_reading(first),
            watch: first.map(|first| watch_id(first.watch)),
            quality: first.map(|first| if first.bad { "bad" } else { "good" }),
            value: first.and_then(|first| Measure::of(words::read(first.watch, first.value))),
            trip: first.and_then(|first| Measure::of(words::condition(row, first.watch)?.trip)),
            waits_for: words::waits_for(row, first),
            to_clear: of_row(|row| row.reset),
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
