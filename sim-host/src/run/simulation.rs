//! One run as a value: plant, instruments, controller, operator and clock. It can be stepped, looked at, copied and gone on with;
//! a copy goes on as the original would have, to the same hash.

use std::sync::Arc;

use valvewright_core::frame::{Actuators, Outputs, RawFrame};
use valvewright_core::job::PhaseKind;
use valvewright_core::job::flow::JobState;
use valvewright_core::port::link::LinkFault;
use valvewright_core::station::Station;
use valvewright_core::talk::Notice;

use super::bind;
use super::error::RunError;
use super::hold::Holds;
use super::marks::Marks;
use super::moves::Move;
use super::network::network_of;
use super::operator::{Hand, Operator};
use super::options::{RunOptions, RunOutcome};
use super::reach::Reach;
use super::record::Recorder;
use super::seams::Seams;
use super::setup::{instruments, millis, station_config, vessel_rest, work_order};
use crate::instrument::{Instruments, Truth};
use crate::plant::{Plant, Tolerance};
use crate::scenario::Scenario;

/// The run goes on this long after the order has ended or the board was lost, so that the end can be seen in the trace, s.
const AFTER: f64 = 5.0;

/// Where a simulation stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stand {
    /// It goes on.
    Running,
    /// The order has ended, or the scenario's time limit is reached.
    Over,
    /// The plant could not be reckoned any further: [`Plant::fault`] of [`Simulation::plant`] says why.
    Broken,
}

/// A run of one scenario, between two scans.
///
/// ```
/// use valvewright_sim::run::{RunOptions, Simulation, Stand};
/// use valvewright_sim::scenario::{parse, shipped};
/// let scenario = parse::read(&shipped::source("mild_hatchback").unwrap()).unwrap();
/// let mut job = Simulation::new(&scenario, &RunOptions::default()).unwrap();
/// job.run_until(120.0).unwrap();
/// let mut other = job.fork();
/// assert_eq!(job.run_until(180.0).unwrap(), Stand::Running);
/// other.run_until(180.0).unwrap();
/// assert_eq!(job.hash(), other.hash());
/// assert!(job.signal("vessel.p").unwrap() > 5e5);
/// ```
#[derive(Clone)]
pub struct Simulation {
    pub(super) scenario: Arc<Scenario>,
    pub(super) plant: Plant,
    pub(super) signals: bind::Signals,
    pub(super) wiring: bind::Wiring,
    pub(super) reach: Reach,
    pub(super) instruments: Instruments,
    /// The built-in core; beside a board, its twin.
    pub(super) station: Station,
    /// When and why a board was lost.
    pub(super) lost: Option<(f64, LinkFault)>,
    pub(super) notices: Vec<Notice>,
    operator: Operator,
    pub(super) holds: Holds,
    pub(super) recorder: Recorder,
    pub(super) truth: Truth,
    pub(super) frame: RawFrame,
    pub(super) outputs: Outputs,
    hands: Vec<Hand>,
    /// Whether frames and moves are kept.
    keep: bool,
    pub(super) frames: Vec<(u32, RawFrame)>,
    pub(super) moves: Vec<(u32, Move)>,
    pub(super) seed: u64,
    scan_ms: u32,
    pub(super) ticks: u64,
    phases: usize,
    pub(super) marks: Marks,
    /// When the order ended or the board was lost, s.
    ended: Option<f64>,
    stand: Stand,
}

impl Simulation {
    /// At time 0, before the first scan.
    ///
    /// # Errors
    /// The scenario's network cannot be built, or lacks a part that a station needs.
    pub fn new(scenario: &Scenario, options: &RunOptions) -> Result<Self, RunError> {
        let spec = network_of(scenario).map_err(RunError::Network)?;
        let plant = Plant::new(&spec, Tolerance::STATION).map_err(|e| RunError::Plant(e.to_string()))?;
        let names: Vec<&str> = spec.elements.iter().map(|e| e.name.as_str()).collect();
        let seed = options.seed.unwrap_or(scenario.seed);
        let signals = bind::Signals::find(&plant, &spec, scenario)?;
        let config = station_config(scenario).map_err(RunError::Network)?;
        let wiring = bind::Wiring::find(&plant, &names, config.fitted)?;
        let order = work_order(scenario);
        let reach = Reach::find(&plant, &names, scenario);
        let phases = order.phases.0.count_ones() as usize;
        let rest = vessel_rest(scenario);
        let marks = Marks { used_oil_start: signals.used_oil(&plant), ..Marks::default() };
        let mut recorder = Recorder::new(&plant, !options.no_samples);
        recorder.switched(0.0, Actuators::NONE, Actuators::SAFE);
        Ok(Self {
            scenario: Arc::new(scenario.clone()),
            reach,
            recorder,
            signals,
            wiring,
            plant,
            instruments: instruments(&config, seed),
            station: Station::new(config, rest),
            lost: None,
            notices: Vec::new(),
            operator: Operator::new(&scenario.operator, order),
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
            ticks: 0,
            phases: phases.max(1),
            marks,
            ended: None,
            stand: Stand::Running,
        })
    }

    /// One scan.
    ///
    /// # Errors
    /// None with the built-in controller.
    pub fn step(&mut self) -> Result<Stand, RunError> {
        self.scan(&mut Seams::default())
    }

    /// Scans until `t` s are reached, or until it is over.
    ///
    /// # Errors
    /// As [`Simulation::step`].
    pub fn run_until(&mut self, t: f64) -> Result<Stand, RunError> {
        while self.stand == Stand::Running && self.time() < t {
            self.step()?;
        }
        Ok(self.stand)
    }

    /// A copy that goes on by itself. Without samples for a trace ([`RunOptions::no_samples`]) it is a matter of microseconds.
    #[must_use]
    pub fn fork(&self) -> Self {
        self.clone()
    }

    /// Ends it here and judges what there is.
    pub fn finish(self) -> RunOutcome {
        let partial = self.stand != Stand::Over;
        self.judged(None, 0.0, partial)
    }

    /// Where it stands.
    pub const fn stand(&self) -> Stand {
        self.stand
    }
    /// Time of the next scan, s.
    pub fn time(&self) -> f64 {
        f64::from(self.now_ms()) * 1e-3
    }
    /// How many scans were made.
    pub const fn scans(&self) -> u64 {
        self.ticks
    }
    /// The controller.
    pub const fn station(&self) -> &Station {
        &self.station
    }
    /// The plant.
    pub const fn plant(&self) -> &Plant {
        &self.plant
    }
    /// What the instruments touched in the last scan.
    pub const fn truth(&self) -> &Truth {
        &self.truth
    }
    /// What went into the controller in the last scan.
    pub const fn frame(&self) -> &RawFrame {
        &self.frame
    }
    /// What the controller put out in the last scan.
    pub const fn outputs(&self) -> &Outputs {
        &self.outputs
    }
    /// The running phase.
    pub fn phase(&self) -> Option<PhaseKind> {
        self.station.job().phase()
    }
    /// A signal of the plant by its name, such as `vessel.p`, in SI units; `None` where the network has no such signal.
    pub fn signal(&self, name: &str) -> Option<f64> {
        self.plant.signal(name).map(|signal| self.plant.read(signal))
    }
    /// Digest of every frame and every output so far.
    pub fn hash(&self) -> String {
        self.recorder.hash()
    }

    /// Share of the order's phases that are behind, 0 to 1: an estimate.
    pub(super) fn share(&self) -> f64 {
        (self.station.job().records().len() as f64 / self.phases as f64).min(1.0)
    }

    /// One scan with what sits at the seams, and where it stands after it; nothing where it is over.
    pub(super) fn scan(&mut self, seams: &mut Seams<'_>) -> Result<Stand, RunError> {
        if self.stand != Stand::Running {
            return Ok(self.stand);
        }
        let t = self.time();
        self.tick(t, seams)?;
        if self.plant.fault().is_some() {
            self.stand = Stand::Broken;
            return Ok(self.stand);
        }
        if matches!(self.station.job().state(), JobState::Ended(_)) || self.lost.is_some() {
            self.ended.get_or_insert(t);
        }
        if self.ended.is_some_and(|end| t >= end + AFTER) || t >= self.scenario.time_limit {
            self.stand = Stand::Over;
        }
        Ok(self.stand)
    }

    pub(super) fn now_ms(&self) -> u32 {
        (self.ticks as u32).wrapping_mul(self.scan_ms)
    }

    fn tick(&mut self, t: f64, seams: &mut Seams<'_>) -> Result<(), RunError> {
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
        self.disturb(t, seams);
        let dt = f64::from(self.scan_ms) * 1e-3;
        self.instruments.frame(t, dt, &self.truth, &self.outputs, command, &mut self.frame);
        let ms = self.now_ms();
        let before = self.outputs.on;
        self.control(ms, seams)?;
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

    pub(super) fn note(&mut self, what: Move) {
        if self.keep {
            self.moves.push((self.now_ms(), what));
        }
    }
}
