//! Runs a rig: rows at fixed times and at the exact end of every step, as a series that writes itself as CSV.

use std::fmt::Write as _;

use super::balance::Balance;
use super::fault::PlantFault;
use super::network::{ElementId, Plant};
use super::rig::{Condition, RigSpec, Step, Test};
use super::signal::Signal;
use super::spec::Tolerance;
use super::{PlantError, StepCount};

/// Rounds a repeated step may take.
const MOST_ROUNDS: usize = 100_000;
/// Rows a series may hold.
const MOST_ROWS: usize = 5_000_000;

/// A column of a series.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Signal name, `<owner>.<field>`.
    pub name: String,
    /// Unit as written in the head: SI, temperatures in degC.
    pub unit: &'static str,
}

/// One row.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Time since the start of the run, s.
    pub time: f64,
    /// Name of the step.
    pub phase: String,
    /// Values in the order of the columns.
    pub values: Vec<f64>,
}

/// What a rig run gives.
#[derive(Debug, Clone)]
pub struct RigSeries {
    /// Columns of `rows`.
    pub columns: Vec<Column>,
    /// Rows in time order; a sweep puts its runs one after the other.
    pub rows: Vec<Row>,
    /// Steps and evaluations of all runs, the one that a fault ended among them.
    pub steps: StepCount,
    /// Simulated time of all runs, s.
    pub seconds: f64,
    /// Accounts at the end of the last run.
    pub balance: Balance,
    /// What stopped the last run before the schedule's end; the rows go up to there.
    pub fault: Option<PlantFault>,
    /// Where the runs went beyond what their tables cover, a sentence each, none twice.
    pub notes: Vec<String>,
}

impl RigSeries {
    /// Position of a column.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.columns.iter().position(|column| column.name == name)
    }

    /// Puts the next run of a sweep behind.
    fn append(&mut self, next: Self) {
        self.rows.extend(next.rows);
        self.seconds += next.seconds;
        self.steps.accepted += next.steps.accepted;
        self.steps.rejected += next.steps.rejected;
        self.steps.evaluations += next.steps.evaluations;
        self.balance = next.balance;
        self.fault = next.fault;
        for note in next.notes {
            if !self.notes.contains(&note) {
                self.notes.push(note);
            }
        }
    }

    /// The series as CSV: `time_s,phase,<signal>_<unit>,...`, nine digits.
    pub fn to_csv(&self) -> String {
        let mut text = String::from("time_s,phase");
        for column in &self.columns {
            let unit = column.unit.replace('/', "_per_");
            let unit = if unit == "1" { "share".to_owned() } else { unit };
            let _ = write!(text, ",{}_{unit}", column.name);
        }
        text.push('\n');
        for row in &self.rows {
            let phase = if row.phase.contains([',', '"', '\n']) {
                format!("\"{}\"", row.phase.replace('"', "\"\""))
            } else {
                row.phase.clone()
            };
            let _ = write!(text, "{},{phase}", nine(row.time));
            for value in &row.values {
                let _ = write!(text, ",{}", nine(*value));
            }
            text.push('\n');
        }
        text
    }
}

/// Nine significant digits, plain where that is short.
fn nine(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let size = value.abs();
    if !(1e-4..1e9).contains(&size) {
        return format!("{value:.8e}");
    }
    let before = size.log10().floor() as i32 + 1;
    let text = format!("{value:.*}", (9 - before).max(0) as usize);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// Runs a rig. `progress` gets the simulated time (s) after every internal step and returns `false` to stop; what was made so far is then returned.
pub fn run_rig(spec: &RigSpec, mut progress: impl FnMut(f64) -> bool) -> Result<RigSeries, PlantError> {
    let mut all: Option<RigSeries> = None;
    let runs: usize = spec.sweep.iter().map(|axis| axis.values.len()).product();
    for run in 0..runs.max(1) {
        let mut network = spec.network.clone();
        let mut rest = run;
        for axis in spec.sweep.iter().rev() {
            let value = axis.values[rest % axis.values.len()];
            rest /= axis.values.len();
            axis.what.apply(&mut network, &axis.volume, value);
        }
        let pressure = 2e2 * spec.tolerance;
        let plant = Plant::new(&network, Tolerance { relative: spec.tolerance, pressure, ..Tolerance::RIG })?;
        let mut runner = Runner::new(plant, &mut progress);
        if spec.steps.is_empty() {
            runner.row("start");
        }
        for step in &spec.steps {
            runner.step(step)?;
        }
        let ended = runner.ended();
        let made = runner.finish();
        match &mut all {
            None => all = Some(made),
            Some(all) => all.append(made),
        }
        if ended {
            break;
        }
    }
    all.ok_or_else(|| PlantError::new("the rig has nothing to run"))
}

struct Runner<'a> {
    plant: Plant,
    progress: &'a mut dyn FnMut(f64) -> bool,
    signals: Vec<Signal>,
    celsius: Vec<bool>,
    columns: Vec<Column>,
    rows: Vec<Row>,
    stopped: bool,
}

/// A condition bound to a plant.
struct Watch {
    signal: Signal,
    sign: f64,
    level: f64,
}

impl Watch {
    /// Below zero once the condition holds.
    fn distance(&self, plant: &mut Plant) -> f64 {
        plant.sharpen();
        self.sign * (plant.read(self.signal) - self.level)
    }
}

impl<'a> Runner<'a> {
    fn new(plant: Plant, progress: &'a mut dyn FnMut(f64) -> bool) -> Self {
        let mut made = Self {
            signals: Vec::new(),
            celsius: Vec::new(),
            columns: Vec::new(),
            rows: Vec::new(),
            stopped: false,
            plant,
            progress,
        };
        for (name, unit) in made.plant.signal_names() {
            if let Some(signal) = made.plant.signal(&name) {
                made.signals.push(signal);
                made.celsius.push(unit == "K");
                made.columns.push(Column { name, unit: if unit == "K" { "degC" } else { unit } });
            }
        }
        made
    }

    fn row(&mut self, phase: &str) {
        self.plant.sharpen();
        let values = self
            .signals
            .iter()
            .zip(&self.celsius)
            .map(|(signal, celsius)| self.plant.read(*signal) - if *celsius { 273.15 } else { 0.0 })
            .collect();
        self.rows.push(Row { time: self.plant.time(), phase: phase.to_owned(), values });
    }

    fn watch(&mut self, condition: &Condition) -> Result<Watch, PlantError> {
        let signal = self.plant.signal(&condition.signal).ok_or_else(|| {
            let known: Vec<String> = self.plant.signal_names().into_iter().map(|(name, _)| name).collect();
            PlantError::new(format!("this rig has no signal `{}`; it has {}", condition.signal, known.join(", ")))
        })?;
        self.plant.sharpen();
        let now = self.plant.read(signal);
        let (sign, level) = match condition.test {
            Test::Below => (1.0, condition.value),
            Test::Above => (-1.0, condition.value),
            Test::RisesBy => (-1.0, now + condition.value),
            Test::FallsBy => (1.0, now - condition.value),
        };
        Ok(Watch { signal, sign, level })
    }

    fn step(&mut self, step: &Step) -> Result<(), PlantError> {
        if self.ended() {
            return Ok(());
        }
        let watch = step.until.as_ref().map(|condition| self.watch(condition)).transpose()?;
        if let Some(watch) = &watch
            && watch.distance(&mut self.plant) <= 0.0
        {
            return Ok(());
        }
        for (name, on) in &step.set {
            let element: ElementId =
                self.plant.element(name).ok_or_else(|| PlantError::new(format!("this rig has no element `{name}`")))?;
            self.plant.set(element, *on);
        }
        for (name, value) in &step.change {
            self.plant.set_param(name, *value)?;
        }
        for (name, value) in &step.ramp {
            self.plant.ramp(name, *value, step.longest)?;
        }
        let start = self.plant.time();
        if step.round.is_empty() {
            return self.wait(step, watch.as_ref(), start);
        }
        for _ in 0..MOST_ROUNDS {
            for inner in &step.round {
                self.step(inner)?;
            }
            let met = watch.as_ref().is_some_and(|watch| watch.distance(&mut self.plant) <= 0.0);
            if met || self.ended() || self.plant.time() - start >= step.longest {
                return Ok(());
            }
        }
        Err(PlantError::new(format!("step `{}` repeated {MOST_ROUNDS} rounds without end; give it a `for`", step.name)))
    }

    /// Nothing more is to be run: the plant stands still, or nobody wants the rest.
    fn ended(&self) -> bool {
        self.stopped || self.plant.fault().is_some()
    }

    /// Whether the plant stands still; then a last row says how.
    fn faulted(&mut self, phase: &str) -> bool {
        if self.plant.fault().is_none() {
            return false;
        }
        if self.rows.last().is_none_or(|row| row.time < self.plant.time()) {
            self.row(phase);
        }
        true
    }

    /// Lets time run to the end of a plain step, writing rows.
    fn wait(&mut self, step: &Step, watch: Option<&Watch>, start: f64) -> Result<(), PlantError> {
        let end = start + step.longest;
        self.row(&step.name);
        let mut made = 1.0;
        let mut before = self.plant.time();
        while before < end && !self.ended() {
            let next_row = start + made * step.output;
            // Never farther than the step in hand, so that a condition met within can be found going back.
            let horizon = if self.plant.horizon() > before { self.plant.horizon() } else { self.plant.look_ahead() };
            let target = horizon.min(next_row).min(end);
            self.plant.advance(target);
            if self.faulted(&step.name) {
                return Ok(());
            }
            if let Some(watch) = watch
                && watch.distance(&mut self.plant) <= 0.0
            {
                self.settle(watch, before, target);
                self.row(&step.name);
                return Ok(());
            }
            if target >= next_row {
                self.row(&step.name);
                made += 1.0;
            } else if target >= end {
                self.row(&step.name);
            }
            before = target;
            if self.rows.len() > MOST_ROWS {
                return Err(PlantError::new(format!(
                    "step `{}` makes more than {MOST_ROWS} rows; lengthen `output`",
                    step.name
                )));
            }
            if target >= horizon {
                self.stopped = !(self.progress)(target);
            }
        }
        Ok(())
    }

    /// Puts the present time where the condition becomes true, between `low` (not met) and `high` (met).
    fn settle(&mut self, watch: &Watch, mut low: f64, mut high: f64) {
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if !(middle > low && middle < high) || high - low < 1e-9 {
                break;
            }
            self.plant.move_to(middle);
            if watch.distance(&mut self.plant) <= 0.0 { high = middle } else { low = middle }
        }
        self.plant.move_to(high);
    }

    fn finish(self) -> RigSeries {
        RigSeries {
            columns: self.columns,
            rows: self.rows,
            steps: self.plant.steps(),
            seconds: self.plant.time(),
            balance: self.plant.balance(),
            fault: self.plant.fault().cloned(),
            notes: self.plant.notes().to_vec(),
        }
    }
}
