//! The properties of a job while it runs: what they look at is read once a scan, each is held against it, and at the end each is judged.

use std::sync::Arc;

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{COUNTS_AT_24_MA, Outputs, RawFrame};
use valvewright_core::order::PhaseKind;
use valvewright_core::row::RowSet;
use valvewright_core::sense::scale::ScaleCal;
use valvewright_core::talk::Notice;

use super::formula::{Atom, Fact, Parsed, Signal};
use super::monitor::{Finding, Monitor};
use super::property::{NotJudged, Property};
use crate::instrument::Truth;
use crate::plant::{Plant, Signal as PlantSignal, Step};
use crate::run::words;
use crate::station::transmitter;

/// One scan, as far as a property may look.
pub struct View<'a> {
    /// The plant at the time of the scan.
    pub plant: &'a Plant,
    /// What the instruments touched.
    pub truth: &'a Truth,
    /// What went into the controller.
    pub frame: &'a RawFrame,
    /// What came out.
    pub outputs: &'a Outputs,
    /// What was told.
    pub notices: &'a [Notice],
    /// The running phase, by the controller's word.
    pub phase: Option<PhaseKind>,
    /// Tripped rows, of the core.
    pub rows: RowSet,
    /// Rows that withhold their permission.
    pub withheld: RowSet,
    /// Whether each fault of the scenario acts, in the order in which the names were given.
    pub faults: &'a [bool],
}

/// Where a value is read.
#[derive(Clone, Debug)]
enum Source {
    Plant {
        signal: PlantSignal,
        start: f64,
        slope: f64,
    },
    /// Place, value at no counts, value of a count, SI.
    Loop(usize, f64, f64),
    Bridge(usize, ScaleCal),
    /// The plant has it no more.
    Gone,
}

/// A comparison with its signals found.
#[derive(Clone, Debug)]
enum Margin {
    Compare { terms: Vec<(f64, usize)>, below: bool, strict: bool, limit: f64, per: f64 },
    Is(Fact),
}

/// A property and how far it has come.
#[derive(Clone, Debug)]
struct Watched {
    atoms: Arc<[Margin]>,
    margins: Vec<f64>,
    monitor: Monitor,
}

/// The properties of a job.
#[derive(Clone, Debug, Default)]
pub struct Watch {
    sources: Vec<Source>,
    names: Vec<Signal>,
    values: Vec<f64>,
    step: Step,
    list: Vec<Result<Watched, NotJudged>>,
}

impl Watch {
    /// Before the first scan of a job, with scans of this period, s; `rows` where the controller has rows.
    pub fn new(properties: &[Property], plant: &Plant, config: &StationConfig, rows: bool, period: f64) -> Self {
        let mut watch = Self::default();
        watch.list = properties.iter().map(|one| watch.begin(&one.parsed, plant, config, rows, period)).collect();
        watch.values = vec![f64::NAN; watch.sources.len()];
        watch
    }

    fn begin(
        &mut self,
        parsed: &Parsed,
        plant: &Plant,
        config: &StationConfig,
        rows: bool,
        period: f64,
    ) -> Result<Watched, NotJudged> {
        if parsed.asks_for_rows() && !rows {
            return Err(NotJudged::NoRows);
        }
        let monitor = Monitor::new(&parsed.formula, period).map_err(|_| NotJudged::BetweenScans)?;
        let mut atoms = Vec::new();
        for look in &parsed.atoms {
            atoms.push(match &look.atom {
                Atom::Is(fact) => Margin::Is(fact.clone()),
                Atom::Compare { terms, below, strict, limit, scale, .. } => {
                    let mut found = Vec::new();
                    for (off, signal) in terms {
                        found.push((if *off { -1.0 } else { 1.0 }, self.source(signal, plant, config)?));
                    }
                    Margin::Compare { terms: found, below: *below, strict: *strict, limit: *limit, per: 1.0 / scale }
                }
            });
        }
        Ok(Watched { margins: vec![f64::NAN; atoms.len()], atoms: atoms.into(), monitor })
    }

    /// The place of a signal, found once.
    fn source(&mut self, signal: &Signal, plant: &Plant, config: &StationConfig) -> Result<usize, NotJudged> {
        if let Some(at) = self.names.iter().position(|one| one == signal) {
            return Ok(at);
        }
        let source = match signal {
            Signal::Plant(name) => {
                let signal = plant.signal(name).ok_or_else(|| NotJudged::NoSignal(name.clone()))?;
                Source::Plant { signal, start: f64::NAN, slope: 0.0 }
            }
            Signal::Loop(input) => {
                let place = *input as usize;
                let of = transmitter(*input);
                let channel = config.sense.channels[place];
                let si = |reading: i32| f64::from(reading) / of.core_per_truth / of.truth_per_si;
                let (low, high) = (si(channel.low()), si(channel.high()));
                // 4 to 20 mA over the range.
                let per_milliamp = (high - low) / 16.0;
                let per_count = per_milliamp * 24.0 / f64::from(COUNTS_AT_24_MA);
                Source::Loop(place, low - 4.0 * per_milliamp, per_count)
            }
            Signal::Bridge(bridge) => Source::Bridge(*bridge as usize, config.sense.scales[*bridge as usize].cal),
        };
        self.sources.push(source);
        self.names.push(signal.clone());
        Ok(self.sources.len() - 1)
    }

    /// One formula, of which only what it looks at is wanted.
    ///
    /// # Errors
    /// It looks at something that the run does not have.
    pub(super) fn alone(parsed: &Parsed, plant: &Plant, config: &StationConfig, rows: bool) -> Result<Self, NotJudged> {
        let mut watch = Self::default();
        // Without times any period does.
        let one = watch.begin(parsed, plant, config, rows, 1.0)?;
        watch.values = vec![f64::NAN; watch.sources.len()];
        watch.list.push(Ok(one));
        Ok(watch)
    }

    /// How far each comparison of the first formula holds in this scan.
    pub(super) fn margins(&mut self, view: &View<'_>) -> &[f64] {
        self.read(view);
        let Some(Ok(watched)) = self.list.first_mut() else { return &[] };
        for (margin, atom) in watched.margins.iter_mut().zip(watched.atoms.iter()) {
            *margin = atom.of(&self.values, view);
        }
        &watched.margins
    }

    /// The plant's network was made anew: its signals are found in it.
    pub fn found_anew(&mut self, plant: &Plant) {
        for (source, name) in self.sources.iter_mut().zip(&self.names) {
            if let Signal::Plant(name) = name {
                let found = plant.signal(name);
                *source = found.map_or(Source::Gone, |signal| Source::Plant { signal, start: f64::NAN, slope: 0.0 });
            }
        }
        self.step = Step::default();
    }

    /// Whether nothing is watched.
    #[inline]
    pub const fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// Looks at one scan.
    pub fn see(&mut self, view: &View<'_>) {
        self.read(view);
        for watched in self.list.iter_mut().flatten() {
            for (margin, atom) in watched.margins.iter_mut().zip(watched.atoms.iter()) {
                *margin = atom.of(&self.values, view);
            }
            watched.monitor.scan(&watched.margins);
        }
    }

    /// Values of the signals; those of the plant run straight within a step of it.
    fn read(&mut self, view: &View<'_>) {
        if self.step.is_new(view.plant) {
            for source in &mut self.sources {
                if let Source::Plant { signal, start, slope } = source {
                    (*start, *slope) = self.step.line(view.plant.ends(*signal));
                }
            }
        }
        let since = self.step.since(view.plant);
        for (value, source) in self.values.iter_mut().zip(&self.sources) {
            *value = match source {
                Source::Plant { start, slope, .. } => start + slope * since,
                Source::Loop(place, at_none, per_count) => at_none + per_count * f64::from(view.frame.analog[*place]),
                Source::Gone => f64::NAN,
                Source::Bridge(place, cal) => f64::from(cal.net(view.frame.scales[*place].code).0) * 1e-6,
            };
        }
    }

    /// Of each whether it would hold if the job ended now, and whether that can change no more.
    pub fn so_far(&self) -> Vec<(bool, bool)> {
        let one = |watched: &Watched| {
            let certain = watched.monitor.verdict();
            let holds = certain.unwrap_or_else(|| watched.monitor.clone().finish().value.degree.holds());
            (holds, certain.is_some())
        };
        self.list.iter().map(|watched| watched.as_ref().map_or((false, true), one)).collect()
    }

    /// What came of each, the job being over.
    pub fn finish(self) -> Vec<Result<Finding, NotJudged>> {
        self.list.into_iter().map(|one| one.map(|watched| watched.monitor.finish())).collect()
    }
}

impl Margin {
    /// How far it holds; of what is so or not so without measure.
    #[inline]
    fn of(&self, values: &[f64], view: &View<'_>) -> f64 {
        match self {
            Self::Compare { terms, below, strict, limit, per } => {
                let mut value = 0.0;
                for (sign, at) in terms {
                    value += sign * values.get(*at).copied().unwrap_or(f64::NAN);
                }
                let over = if *below { limit - value } else { value - limit };
                // At the limit itself the sign of zero is the truth.
                if over == 0.0 { if *strict { -0.0 } else { 0.0 } } else { over * per }
            }
            Self::Is(fact) => {
                if is(fact, view) {
                    f64::INFINITY
                } else {
                    f64::NEG_INFINITY
                }
            }
        }
    }
}

fn is(fact: &Fact, view: &View<'_>) -> bool {
    match fact {
        Fact::On(output) => view.outputs.dropped.leave(view.outputs.on).has(*output),
        Fact::Closed(mask) => view.frame.switches.closed(*mask),
        Fact::Lamp(colour) => view.outputs.lamp == *colour,
        Fact::Buzzer => view.outputs.buzzer,
        Fact::Phase(phase) => view.phase == *phase,
        Fact::Row(row) => view.rows.has(*row),
        Fact::Withheld(row) => view.withheld.has(*row),
        Fact::Told(id) => {
            let id = words::IDS.get(*id);
            view.notices.iter().any(|notice| Some(&words::notice_id(notice)) == id)
        }
        Fact::Fault(place) => view.faults.get(*place).copied().unwrap_or(false),
        Fact::DoorShut => view.truth.door_shut,
        Fact::Coupled => view.truth.coupled,
        Fact::Stop => view.truth.estop_pressed,
    }
}
