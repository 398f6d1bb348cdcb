//! One run as a value: plant, instruments, controller, operator and clock. It can be stepped, looked at, copied and gone on with;
//! a copy goes on as the original would have, to the same hash.

use std::sync::Arc;

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Actuators, Machine, Outputs, RawFrame};
use valvewright_core::job::PhaseKind;
use valvewright_core::kept::Start;
use valvewright_core::station::Station;
use valvewright_core::talk::Notice;
use valvewright_core::units::Millis;

use super::bind;
use super::codes::Codes;
use super::desk::Desk;
use super::error::RunError;
use super::inject::{self, Injector};
use super::marks::Marks;
use super::moves::Move;
use super::operator::{Hand, Operator};
use super::options::{RunOptions, RunOutcome};
use super::reach::Reach;
use super::record::Recorder;
use super::seams::Seams;
use super::setup::{instrument_spec, instruments, kept, millis, start, station_config, station_name, work_order};
use super::store::Store;
use super::told::{Shown, Told};
use super::turn::{Account, Turn};
use crate::controller::{Controller, Loss, Tape};
use crate::fault::Holds;
use crate::hazard::{self, Hazards};
use crate::instrument::{Instruments, Truth};
use crate::logic::Watch;
use crate::plant::{NetworkSpec, Plant, PlantError};
use crate::report::data::{JobResult, StationName};
use crate::scenario::Scenario;
use crate::scenario::model::Site;

/// The first order's number.
const FIRST: u16 = 1;

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
pub struct Simulation<C = Station> {
    pub(super) scenario: Arc<Scenario>,
    /// The job at hand as a scenario of its own, its place in the row, and when its order was given, s.
    pub(super) present: Arc<Scenario>,
    pub(super) job: usize,
    pub(super) began: f64,
    pub(super) turn: Turn,
    pub(super) config: Arc<StationConfig>,
    pub(super) plant: Plant,
    pub(super) signals: bind::Signals,
    pub(super) wiring: bind::Wiring,
    pub(super) reach: Reach,
    pub(super) instruments: Instruments,
    pub(super) controller: C,
    /// When and how the controller was lost.
    pub(super) lost: Option<(f64, Loss)>,
    /// How long the outputs have stood without being renewed.
    pub(super) unrenewed: Millis,
    pub(super) notices: Vec<Notice>,
    pub(super) told: Told,
    /// What was shown when the order ended.
    pub(super) ended: Option<Shown>,
    pub(super) operator: Operator,
    pub(super) holds: Holds,
    /// What of them is held from outside, through the seam.
    pub(super) held_outside: Holds,
    /// Outputs that nobody renews stand in this scan.
    pub(super) unwatched: bool,
    /// The scenario's faults.
    pub(super) injector: Injector,
    /// The air around without any fault.
    pub(super) usual_site: Site,
    pub(super) recorder: Recorder,
    /// The properties of the job at hand.
    pub(super) watch: Watch,
    pub(super) truth: Truth,
    /// What carries current, behind drivers and common relays.
    pub(super) coils: Actuators,
    pub(super) store: Store,
    /// What keeps records; none where a run is nobody's.
    pub(super) desk: Option<Box<Desk>>,
    pub(super) codes: Codes,
    /// The last frame's word of the machine.
    pub(super) machine: Machine,
    pub(super) frame: RawFrame,
    pub(super) outputs: Outputs,
    pub(super) hands: Vec<Hand>,
    /// Whether frames and moves are kept.
    pub(super) keep: bool,
    pub(super) tape: Tape,
    pub(super) moves: Vec<(u32, Move)>,
    pub(super) seed: u64,
    scan_ms: u32,
    pub(super) ticks: u64,
    pub(super) phases: usize,
    pub(super) marks: Marks,
    /// What is judged of the plant, whoever drives it; none where it is switched off.
    pub(super) hazards: Option<Box<Hazards>>,
    /// Jobs that are over.
    pub(super) jobs: Vec<JobResult>,
    pub(super) account: Account,
    /// The station's file.
    pub(super) station_name: StationName,
    pub(super) stand: Stand,
}

impl Simulation {
    /// At time 0, before the first scan, with the built-in controller.
    ///
    /// # Errors
    /// The scenario's network cannot be built, or lacks a part that a station needs.
    pub fn new(scenario: &Scenario, options: &RunOptions) -> Result<Self, RunError> {
        let mut controller = Station::wake(station_config(scenario).map_err(RunError::Network)?, &start(scenario));
        options.alter(&mut controller);
        Self::with(scenario, options, controller)
    }

    /// The built-in controller.
    pub const fn station(&self) -> &Station {
        &self.controller
    }
}

impl<C: Controller> Simulation<C> {
    /// At time 0, before the first scan, with this controller, which begins anew.
    ///
    /// # Errors
    /// As [`Simulation::new`], and where the controller cannot be had.
    pub fn with(scenario: &Scenario, options: &RunOptions, controller: C) -> Result<Self, RunError> {
        let whole = Store::holding(&kept(scenario));
        let store = if scenario.station.record.lost { whole.spoilt() } else { whole };
        Self::on_store(scenario, options, controller, &start(scenario), store)
    }

    /// The same on a store and around a plant that exist, with what a start on that store found.
    pub(super) fn around(
        scenario: &Scenario,
        options: &RunOptions,
        mut controller: C,
        start: &Start,
        store: Store,
        (spec, plant): (&NetworkSpec, Plant),
    ) -> Result<Self, RunError> {
        let usual_site = scenario.site;
        let scenario = &*inject::prepared(scenario);
        let names: Vec<&str> = spec.elements.iter().map(|e| e.name.as_str()).collect();
        let seed = options.seed.unwrap_or(scenario.seed);
        let signals = bind::Signals::find(&plant, spec, scenario)?;
        let config = station_config(scenario).map_err(RunError::Network)?;
        let wiring = bind::Wiring::find(&plant, &names, config.fitted)?;
        let order = work_order(scenario);
        let reach = Reach::find(&plant, &names, scenario);
        let config = Arc::new(config);
        let (name, title) = station_name(scenario).map_err(RunError::Network)?;
        let station_name = StationName { name, title };
        let phases = scenario.jobs().map(|job| job.order.phases.len()).sum::<usize>();
        controller.begin(&config, start)?;
        let marks = Marks::after(&Marks::default(), &signals, &plant);
        let mut hazards = (!options.no_hazards)
            .then(|| Box::new(Hazards::find(&plant, spec, scenario, &instrument_spec(&config), !options.no_samples)));
        if let (Some(hazards), true) = (&mut hazards, controller.core().is_some()) {
            // Only the core's counters and codes are known.
            hazards.keep_records(0.0, hazard::Kept { codes_again: Some(0), ..hazard::Kept::default() }.fell(0.0, 0.0));
        }
        let came = signals.vehicle_mass(&plant);
        let account = Account { start: signals.all_mass(&plant) - came, came, before: 0.0, exchanged: 0.0 };
        let shown = controller.core().is_none().then(|| Arc::clone(&config));
        let mut recorder = Recorder::new(&plant, shown, !options.no_samples);
        recorder.switched(0.0, Actuators::NONE, Actuators::SAFE);
        let rows = controller.core().is_some();
        let watch = Watch::new(&scenario.properties, &plant, &config, rows, scenario.station.scan);
        let whole = Arc::new(scenario.clone());
        let mut made = Self {
            present: Arc::clone(&whole),
            scenario: whole,
            job: 0,
            began: 0.0,
            turn: Turn::Served,
            reach,
            recorder,
            watch,
            signals,
            wiring,
            plant,
            instruments: instruments(&config, seed),
            config,
            controller,
            lost: None,
            unrenewed: Millis(0),
            notices: Vec::new(),
            told: Told::of(FIRST, 0),
            ended: None,
            operator: Operator::new(&scenario.operator, FIRST, order),
            holds: Holds::default(),
            held_outside: Holds::default(),
            unwatched: false,
            injector: Injector::new(seed),
            usual_site,
            truth: bind::first_truth(scenario),
            coils: Actuators::SAFE,
            store,
            desk: None,
            codes: Codes::default(),
            machine: Machine::default(),
            frame: RawFrame::default(),
            outputs: Outputs { on: Actuators::SAFE, ..Outputs::default() },
            hands: Vec::new(),
            keep: options.keep_frames,
            tape: Tape::default(),
            moves: Vec::new(),
            seed,
            scan_ms: millis(scenario.station.scan).0,
            ticks: 0,
            phases: phases.max(1),
            marks,
            hazards,
            jobs: Vec::new(),
            account,
            station_name,
            stand: Stand::Running,
        };
        made.plan_faults()?;
        Ok(made)
    }

    /// One scan.
    ///
    /// # Errors
    /// None with the built-in controller; with another one, what its [`Controller::scan`] says.
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
    pub fn fork(&self) -> Self
    where
        C: Clone,
    {
        self.clone()
    }

    /// Ends it here and judges what there is.
    pub fn finish(self) -> RunOutcome {
        let partial = self.stand != Stand::Over;
        self.judged(0.0, partial)
    }

    /// Where it stands.
    pub const fn stand(&self) -> Stand {
        self.stand
    }
    /// Time of the next scan, s.
    pub fn time(&self) -> f64 {
        // The tick begins again after seven weeks, the plant does not.
        (self.ticks * u64::from(self.scan_ms)) as f64 * 1e-3
    }
    /// How many scans were made.
    pub const fn scans(&self) -> u64 {
        self.ticks
    }
    /// The controller.
    pub const fn controller(&self) -> &C {
        &self.controller
    }
    /// The station as its controller knows it.
    pub fn config(&self) -> &StationConfig {
        &self.config
    }
    /// The plant.
    pub const fn plant(&self) -> &Plant {
        &self.plant
    }
    /// The instruments.
    pub const fn instruments(&self) -> &Instruments {
        &self.instruments
    }
    /// What the station keeps over a power cut.
    pub const fn store(&self) -> &Store {
        &self.store
    }
    /// Whether each fault of the job at hand acts in this scan, in the order of its plan.
    pub fn faults_acting(&self) -> Vec<bool> {
        self.injector.states(self.job)
    }
    /// How actuators are held, whatever the controller says.
    pub const fn holds(&self) -> &Holds {
        &self.holds
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
    /// What became of each hazard so far, in truth; none where they are not judged.
    pub fn hazards(&self) -> Option<&Hazards> {
        self.hazards.as_deref()
    }
    /// The running phase, by the state of the core or by the word of another controller.
    #[inline]
    pub fn phase(&self) -> Option<PhaseKind> {
        self.controller.core().map_or(self.told.phase, |core| core.job().phase())
    }
    /// A signal of the plant by its name, such as `vessel.p`, in SI units; `None` where the network has no such signal.
    pub fn signal(&self, name: &str) -> Option<f64> {
        self.plant.signal(name).map(|signal| self.plant.read(signal))
    }
    /// Changes a parameter of the plant by its name, such as `P-1.speed`, in SI units ([`Plant::set_param`]).
    ///
    /// # Errors
    /// The network has no such parameter.
    pub fn set_parameter(&mut self, name: &str, value: f64) -> Result<(), PlantError> {
        self.plant.set_param(name, value)
    }
    /// Digest of every frame and every output so far.
    pub fn hash(&self) -> String {
        self.recorder.hash()
    }

    /// One scan with what sits at the seams, and where it stands after it; nothing where it is over.
    ///
    /// # Errors
    /// As [`Simulation::step`].
    pub fn scan(&mut self, seams: &mut Seams<'_>) -> Result<Stand, RunError> {
        if self.stand != Stand::Running {
            return Ok(self.stand);
        }
        let t = self.time();
        self.tick(t, seams)?;
        if self.plant.fault().is_some() {
            self.stand = Stand::Broken;
            return Ok(self.stand);
        }
        self.stand = self.turn(t)?;
        Ok(self.stand)
    }

    pub(super) fn now_ms(&self) -> u32 {
        (self.ticks as u32).wrapping_mul(self.scan_ms)
    }

    pub(super) const fn scan_time(&self) -> Millis {
        Millis(self.scan_ms)
    }

    pub(super) fn note(&mut self, what: Move) {
        if self.keep {
            self.moves.push((self.now_ms(), what));
        }
    }
}
