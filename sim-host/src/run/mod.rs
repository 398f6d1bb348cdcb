//! The one place where plant, instruments and controller meet: the run loop.
//!
//! Once a scan: plant to now, truth to frame, frame to core, outputs to plant. Nothing here decides anything.

mod alone;
mod bind;
mod disturb;
mod error;
mod finish;
mod hold;
mod marks;
mod network;
mod operator;
mod reach;
mod reasons;
mod record;
mod remote;
mod setup;
pub mod words;

use std::time::Instant as Clock;

use valvewright_core::frame::{Actuators, Outputs, RawFrame};
use valvewright_core::job::PhaseKind;
use valvewright_core::job::flow::JobState;
use valvewright_core::port::link::LinkFault;
use valvewright_core::station::Station;
use valvewright_core::talk::Notice;

use crate::board::Remote;
use crate::instrument::Instruments;
use crate::plant::{Plant, Tolerance};
use crate::report::data::{RunResult, Trace};
use crate::scenario::Scenario;

pub use alone::{Move, PlantAlone};
pub use disturb::{Disturb, Scene, run_with_faults};
pub use error::{NetworkFault, RunError};
pub use hold::{Hold, Holds};
use marks::Marks;
pub use network::network_of;
pub use operator::Hand;
use operator::Operator;
use reach::Reach;
use record::Recorder;
use setup::{instrument_spec, millis};
pub use setup::{station_config, vessel_rest, work_order};

/// Scans between two words to the caller.
const PROGRESS_EVERY: u64 = 2_000;
/// The loop goes on this long after the order has ended or the board was lost, so that the end can be seen in the trace, s.
const AFTER: f64 = 5.0;

/// How to run.
#[derive(Debug, Clone, Default)]
pub struct RunOptions {
    /// Seed in place of the scenario's.
    pub seed: Option<u64>,
    /// Keep every frame that went into the core and everything done to the plant, for replay.
    pub keep_frames: bool,
    /// Nobody will look at the trace: it gets its spans, but no samples. The hash is not of the trace and stays the same.
    pub no_samples: bool,
}

/// Where a run stands.
#[derive(Debug, Clone, Copy)]
pub struct Progress<'a> {
    /// Simulated time, s.
    pub t_s: f64,
    /// Share of the order's phases that are behind, 0 to 1: an estimate.
    pub share: f64,
    /// The running phase.
    pub phase: Option<&'a str>,
}

/// What the caller wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Control {
    /// Go on.
    Continue,
    /// Stop here and hand over what there is.
    Stop,
}

/// What a run leaves.
#[derive(Debug)]
pub struct RunOutcome {
    /// Judged numbers.
    pub result: RunResult,
    /// Everything over time.
    pub trace: Trace,
    /// Every frame and its tick in ms, where kept.
    pub frames: Vec<(u32, RawFrame)>,
    /// Everything done to the plant and its tick in ms, where frames are kept.
    pub moves: Vec<(u32, Move)>,
}

/// Runs a scenario to its end, or until `each` says stop.
pub fn run_scenario(
    scenario: &Scenario,
    options: &RunOptions,
    each: &mut dyn FnMut(Progress<'_>) -> Control,
) -> Result<RunOutcome, RunError> {
    Bench::new(scenario, options)?.complete(scenario, each)
}

/// Runs a scenario with a board in place of the built-in core. Every scan is compared with the core on the host, to the last
/// bit of its state, so that what the result says of the controller holds for the board; a difference ends the run.
pub fn run_on_board(
    scenario: &Scenario,
    options: &RunOptions,
    board: &mut dyn Remote,
    each: &mut dyn FnMut(Progress<'_>) -> Control,
) -> Result<RunOutcome, RunError> {
    let mut bench = Bench::new(scenario, options)?;
    bench.join(board, scenario)?;
    bench.complete(scenario, each)
}

/// Plant, instruments, controller and operator of one run.
struct Bench<'a> {
    plant: Plant,
    signals: bind::Signals,
    wiring: bind::Wiring,
    reach: Reach,
    instruments: Instruments,
    /// The built-in core; beside a board, its twin.
    station: Station,
    board: Option<&'a mut dyn Remote>,
    /// When and why the board was lost.
    lost: Option<(f64, LinkFault)>,
    notices: Vec<Notice>,
    operator: Operator,
    faults: Option<&'a mut dyn Disturb>,
    holds: Holds,
    recorder: Recorder,
    truth: crate::instrument::Truth,
    frame: RawFrame,
    outputs: Outputs,
    hands: Vec<Hand>,
    /// Whether frames and moves are kept.
    keep: bool,
    frames: Vec<(u32, RawFrame)>,
    moves: Vec<(u32, Move)>,
    seed: u64,
    scan_ms: u32,
    limit: f64,
    ticks: u64,
    phases: usize,
    marks: Marks,
}

impl<'a> Bench<'a> {
    fn new(scenario: &Scenario, options: &RunOptions) -> Result<Self, RunError> {
        let spec = network_of(scenario).map_err(RunError::Network)?;
        let plant = Plant::new(&spec, Tolerance::STATION).map_err(|e| RunError::Plant(e.to_string()))?;
        let names: Vec<&str> = spec.elements.iter().map(|e| e.name.as_str()).collect();
        let seed = options.seed.unwrap_or(scenario.seed);
        let signals = bind::Signals::find(&plant, scenario)?;
        let wiring = bind::Wiring::find(&plant, &names)?;
        let order = work_order(scenario);
        let reach = Reach::find(&plant, &names, scenario);
        let config = station_config(scenario);
        let phases = order.phases.0.count_ones() as usize;
        let rest = vessel_rest(scenario);
        let marks = Marks { used_oil_start: signals.used_oil(&plant), ..Marks::default() };
        let mut recorder = Recorder::new(&plant, !options.no_samples);
        recorder.switched(0.0, Actuators::NONE, Actuators::SAFE);
        Ok(Self {
            reach,
            recorder,
            signals,
            wiring,
            plant,
            instruments: Instruments::new(&instrument_spec(&config), seed),
            station: Station::new(config, rest),
            board: None,
            lost: None,
            notices: Vec::new(),
            operator: Operator::new(&scenario.operator, order),
            faults: None,
            holds: Holds::default(),
            truth: bind::first_truth(scenario),
            frame: RawFrame::default(),
            outputs: Outputs { on: Actuators::SAFE, ..Outputs::default() },
            hands: Vec::new(),
            keep: options.keep_frames,
            frames: Vec::new(),
            moves: Vec::new(),
            seed,
            scan_ms: millis(scenario.station.scan).0,
            limit: scenario.time_limit,
            ticks: 0,
            phases: phases.max(1),
            marks,
        })
    }

    /// Runs it to its end, or until `each` says stop, and judges it.
    fn complete(
        mut self,
        scenario: &Scenario,
        each: &mut dyn FnMut(Progress<'_>) -> Control,
    ) -> Result<RunOutcome, RunError> {
        let started = Clock::now();
        let partial = self.run(each)?;
        let wall = started.elapsed().as_secs_f64();
        Ok(self.finish(scenario, wall, partial))
    }

    /// Returns whether the caller stopped it.
    fn run(&mut self, each: &mut dyn FnMut(Progress<'_>) -> Control) -> Result<bool, RunError> {
        let mut ended: Option<f64> = None;
        loop {
            let t = self.now_ms() as f64 * 1e-3;
            self.tick(t)?;
            if self.plant.fault().is_some() {
                return Ok(true);
            }
            let over = matches!(self.station.job().state(), JobState::Ended(_)) || self.lost.is_some();
            if ended.is_none() && over {
                ended = Some(t);
            }
            if ended.is_some_and(|end| t >= end + AFTER) || t >= self.limit {
                return Ok(false);
            }
            if self.ticks.is_multiple_of(PROGRESS_EVERY) {
                let behind = self.station.job().records().len() as f64;
                let phase = self.station.job().phase().map(PhaseKind::name);
                let share = (behind / self.phases as f64).min(1.0);
                if each(Progress { t_s: t, share, phase }) == Control::Stop {
                    return Ok(true);
                }
            }
        }
    }

    fn now_ms(&self) -> u32 {
        (self.ticks as u32).wrapping_mul(self.scan_ms)
    }

    /// One scan.
    fn tick(&mut self, t: f64) -> Result<(), RunError> {
        self.plant.advance(t);
        self.signals.fill(&self.plant, self.holds.acting(self.outputs.on), &mut self.truth);
        if self.ticks.is_multiple_of(20) {
            self.signals.sample(&self.plant, &mut self.truth.gas);
            self.recorder.absorb_truth(self.truth.m_vessel_kg);
        }
        let command = self.operator.act(t, &mut self.hands);
        self.reach.ends(&self.truth, &mut self.hands);
        for hand in std::mem::take(&mut self.hands) {
            self.note(Move::ByHand(hand));
            self.reach.act(hand, &mut self.plant, &mut self.truth);
        }
        self.disturb(t);
        let dt = f64::from(self.scan_ms) * 1e-3;
        self.instruments.frame(t, dt, &self.truth, &self.outputs, command, &mut self.frame);
        let ms = self.now_ms();
        let before = self.outputs.on;
        self.control(ms)?;
        let on = self.outputs.on;
        if on != before {
            self.switch(before, on);
            self.recorder.switched(t, before, on);
            self.note(Move::Switched(before, on));
        }
        self.recorder.absorb(&self.frame, &self.outputs);
        if self.keep {
            self.frames.push((ms, self.frame.clone()));
        }
        if !self.notices.is_empty() {
            for notice in std::mem::take(&mut self.notices) {
                self.hear(t, &notice);
            }
        }
        self.recorder.sample(self.ticks, t, &self.plant, &self.station, on != before);
        self.ticks += 1;
        Ok(())
    }

    fn hear(&mut self, t: f64, notice: &Notice) {
        let id = self.recorder.notice(t, notice);
        let asked = if let Notice::Asked(asked) = notice { Some(*asked) } else { None };
        self.operator.hear(t, id, asked);
        match notice {
            Notice::PhaseStarted(kind) => {
                self.operator.phase_begins(t, kind.name());
                if *kind == PhaseKind::Recover {
                    self.marks.before_recovery.get_or_insert(self.signals.station_mass(&self.plant));
                }
                if *kind == PhaseKind::Charge {
                    self.marks.charge_start = Some(self.signals.vehicle_mass(&self.plant));
                }
            }
            Notice::PhaseEnded(PhaseKind::Recover, _) => {
                self.marks.after_recovery = Some(self.signals.station_mass(&self.plant));
            }
            _ => {}
        }
    }

    fn note(&mut self, what: Move) {
        if self.keep {
            self.moves.push((self.now_ms(), what));
        }
    }
}
