//! All monitors together as one value that goes along with a run: shown every scan, they judge each span between two switches or two steps
//! of the plant at both its ends, so that nothing that the plant only looked ahead to counts.
//!
//! Limits: what rises and falls again between two scans is not seen; within a step the plant's figures run straight, and so do these.

use valvewright_core::frame::{ACTUATOR_COUNT, Actuators, RawFrame};

use crate::instrument::{InstrumentSpec, Truth};
use crate::plant::{NetworkSpec, Plant};
use crate::report::data::{HazardBand, HazardFigure, HazardResult, What};
use crate::scenario::Scenario;

use super::by_cabinet::{self, Airless};
use super::by_charge::{self, WrongOil};
use super::by_control::{self, Kept, Machine, Restart};
use super::by_line::{self, Against};
use super::by_machine::{self, Heat};
use super::by_reading::{self, Blind, Look, Weighing};
use super::by_vent::{self, Fouled, Vents};
use super::by_vessel::{self, Unseen};
use super::catalogue::{CATALOGUE, HAZARD_COUNT, Id};
use super::facts::{Station, Vehicle};
use super::limits;
use super::sight::{Field, Sight, Values};
use super::span::{Positions, Span};
use super::track::{Finding, Track};

/// Scans between two looks at readings: a second at the usual scan.
const LOOK_EVERY: u64 = 20;
/// Liquid that must have gone towards the hoses before something counts as charged, kg: more than a leaking seat gives in a job (own choice).
pub(super) const CHARGED: f64 = 1e-3;

/// One scan as the monitors see it, after whatever it switched.
#[derive(Debug)]
pub struct Scene<'a> {
    /// Simulated time, s.
    pub t: f64,
    /// How many scans were before it.
    pub tick: u64,
    /// The plant.
    pub plant: &'a Plant,
    /// What the instruments touch.
    pub truth: &'a Truth,
    /// What they gave.
    pub frame: &'a RawFrame,
    /// What it is told to have on: what was put out, less what common relays cut off.
    pub told: Actuators,
    /// What of it is on in truth.
    pub acting: Actuators,
    /// Speed of the fan in truth, rpm.
    pub fan_rpm: f64,
    /// The machine that put it out.
    pub machine: Machine,
}

/// States of the monitors that have one.
#[derive(Debug, Clone, Default)]
pub(super) struct States {
    airless: Airless,
    heat: Heat,
    against: Against,
    wrong_oil: WrongOil,
    fouled: Fouled,
    vents: Vents,
    unseen: Unseen,
    weighing: Weighing,
    blind: Blind,
    pub(super) restart: Restart,
    /// The machine stalls, or came back and waits for a command.
    watched: bool,
    /// Time for which nobody has renewed the outputs, s.
    unrenewed: f64,
    pub(super) charged: f64,
}

/// The monitors of a run.
#[derive(Debug, Clone)]
pub struct Hazards {
    sight: Sight,
    station: Station,
    pub(super) vehicle: Vehicle,
    pub(super) tracks: [Track; HAZARD_COUNT],
    pub(super) states: States,
    /// From when on nothing is judged yet, s.
    from: f64,
    /// The step in hand: its ends, s, and the figures there.
    step: ((f64, f64), Values, Values),
    pub(super) at: Positions,
    pub(super) leak_by: Option<[f64; ACTUATOR_COUNT]>,
    held_anew: bool,
    looked: f64,
    /// Time of the last scan, s.
    pub(super) last: f64,
    kept: Kept,
    keep: bool,
    /// Accidents since the job began, one bit each.
    accidents: u32,
}

impl Hazards {
    /// At the start. With `keep` the margins are kept over time.
    pub fn find(
        plant: &Plant,
        spec: &NetworkSpec,
        scenario: &Scenario,
        instruments: &InstrumentSpec,
        keep: bool,
    ) -> Self {
        let mut me = Self {
            sight: Sight::find(plant, spec),
            station: Station::of(spec, scenario, instruments),
            vehicle: Vehicle::of(scenario),
            tracks: std::array::from_fn(|at| Track::new(WHATS[at])),
            states: States::default(),
            from: plant.time(),
            step: ((0.0, 0.0), Values::BLANK, Values::BLANK),
            at: Positions { coupled: true, door_shut: true, fan_turns: true, ..Positions::default() },
            leak_by: None,
            held_anew: false,
            looked: plant.time(),
            last: plant.time(),
            kept: Kept::default(),
            keep,
            accidents: 0,
        };
        me.states.unseen.comes(&me.vehicle);
        me
    }

    /// Parts of the plant are about to go or come: its signals are found anew after it.
    pub fn parts_change(&mut self, plant: &Plant) {
        self.close(plant, plant.time());
    }

    /// They are there; the network is now this.
    pub fn found_anew(&mut self, plant: &Plant, spec: &NetworkSpec) {
        self.sight = Sight::find(plant, spec);
        self.from = self.from.max(plant.time());
        if let Some((step, a, b)) = self.sight.step(plant) {
            self.step = (step, a, b);
        }
    }

    /// Another vehicle has come, that of this job.
    pub fn vehicle_came(&mut self, scenario: &Scenario) {
        self.vehicle = Vehicle::of(scenario);
        self.states.unseen.comes(&self.vehicle);
        self.states.wrong_oil = WrongOil::default();
        self.states.charged = 0.0;
    }

    /// How far each actuator stays open when it is shut, from now on; none where all shut tight.
    pub fn hold(&mut self, leak_by: Option<[f64; ACTUATOR_COUNT]>) {
        self.held_anew = true;
        self.leak_by = leak_by;
    }

    /// What is true of the record store, where the run has one: at its start, and after each restart.
    pub fn keep_records(&mut self, t: f64, kept: Kept) {
        for (id, found) in kept.judge().into_iter().flatten() {
            self.note((t, t), id, found, found);
        }
        self.kept = kept;
    }

    /// What is known of the record store by now.
    pub const fn kept(&self) -> Kept {
        self.kept
    }

    /// Shown one scan.
    #[inline]
    pub fn scan(&mut self, scene: &Scene<'_>) {
        let now = Positions {
            told: scene.told,
            acting: scene.acting,
            coupled: scene.truth.coupled,
            door_shut: scene.truth.door_shut,
            fan_turns: scene.fan_rpm >= limits::AIRED_SHARE * self.station.fan_rpm,
            oil_film: scene.truth.gas.oil_film,
        };
        let before = self.at.told;
        let step = self.sight.step(scene.plant);
        if step.is_some() || now != self.at || self.held_anew {
            self.go_on(scene, step, now);
        }
        if scene.tick.is_multiple_of(LOOK_EVERY) {
            self.look(scene);
        }
        if !scene.machine.renewed || scene.machine.restarts || self.states.watched {
            self.machine(scene, before);
        }
        self.last = scene.t;
    }

    /// Another step of the plant, or something switched.
    fn go_on(&mut self, scene: &Scene<'_>, step: Option<((f64, f64), Values, Values)>, now: Positions) {
        self.station.barometer = scene.truth.barometer;
        if let Some((time, a, b)) = step {
            let ((_, end), _, _) = self.step;
            self.close(scene.plant, time.0.min(end));
            if time.0 > self.from {
                // Steps that came and went between two scans: straight from the end of the last one that was seen.
                let gone = (self.step.0.1, time.0);
                self.step = (gone, self.step.2, a);
                self.close(scene.plant, time.0);
            }
            self.step = (time, a, b);
        }
        if now != self.at || self.held_anew {
            self.close(scene.plant, scene.t);
            if now.coupled != self.at.coupled {
                let here = self.figures(scene.t);
                if let Some(found) = by_line::uncoupled(&here, &self.at, &now) {
                    self.note((scene.t, scene.t), Id::H25, found, found);
                    let over = Finding::calm(found.what);
                    self.note((scene.t, scene.t), Id::H25, over, over);
                }
            }
            self.at = now;
            self.held_anew = false;
        }
    }

    /// Figures at a time within the step in hand.
    fn figures(&self, t: f64) -> Values {
        let ((from, to), a, b) = &self.step;
        let share = if to > from { ((t - from) / (to - from)).clamp(0.0, 1.0) } else { 0.0 };
        Values::between(a, b, share)
    }

    /// Judges what is not judged yet, up to `t`.
    pub(super) fn close(&mut self, plant: &Plant, t: f64) {
        if t <= self.from {
            return;
        }
        let (a, b, at) = (self.figures(self.from), self.figures(t), self.at);
        let span = Span { time: (self.from, t), a: &a, b: &b, at: &at };
        self.from = t;
        self.judge(&span, plant);
    }

    fn judge(&mut self, span: &Span<'_>, plant: &Plant) {
        let Self { sight, station, vehicle, states, .. } = self;
        let (a, b, at) = (span.a, span.b, span.at);
        states.unseen.moves(span, vehicle);
        states.charged += span.moved(|v| v.get(Field::ChargeFlow).max(0.0));
        let (unseen, charged) = (states.unseen, states.charged > CHARGED);
        let both = |judge: &dyn Fn(&Values) -> Finding| (judge(a), judge(b));
        let found = [
            (
                Id::H01,
                if station.burns {
                    both(&|v| by_cabinet::gas(v, at))
                } else {
                    both(&|_| Finding::calm(&by_cabinet::GAS))
                },
            ),
            (Id::H02, both(&|v| by_vessel::liquid(v, station))),
            (Id::H03, both(&|v| by_line::locked(v, sight, plant))),
            (Id::H04, both(&|v| by_vessel::foreign(v, at, &unseen))),
            (Id::H05, both(&|v| by_vessel::air(v, at, station))),
            (Id::H06, both(&|v| by_charge::overcharged(v, vehicle, charged))),
            (Id::H07, both(&|v| by_machine::slug(v, at))),
            (Id::H08, both(&|v| by_machine::pump(v, at, station))),
            (Id::H09, states.heat.judge(span, sight.heated)),
            (Id::H10, both(&|v| by_charge::leaking(v, at, vehicle))),
            (Id::H11, states.wrong_oil.judge(span, vehicle)),
            (Id::H12, states.fouled.judge(span)),
            (Id::H13, states.vents.judge(span)),
            (Id::H14, states.against.judge(span, sight, plant, self.leak_by.as_ref())),
            (Id::H16, both(&by_vessel::water)),
            (Id::H22, states.airless.judge(span, station)),
            (Id::H23, both(&|v| by_vessel::relief(v, station))),
        ];
        for (id, (a, b)) in found {
            self.note(span.time, id, a, b);
        }
    }

    fn look(&mut self, scene: &Scene<'_>) {
        let since = scene.t - self.looked;
        self.looked = scene.t;
        let at = self.at;
        let look = Look { truth: scene.truth, frame: scene.frame, fan_rpm: scene.fan_rpm, at: &at, since };
        let scale = self.states.weighing.judge(&look, &self.station);
        let tracks = &self.tracks;
        let stands = |id: Id| tracks[id as usize].last.level() > crate::report::data::HazardLevel::None;
        let blind = self.states.blind.judge(&look, &self.station, stands);
        let time = (scene.t, scene.t);
        self.note(time, Id::H15, scale, scale);
        self.note(time, Id::H21, blind, blind);
    }

    #[cold]
    fn machine(&mut self, scene: &Scene<'_>, before: Actuators) {
        let time = (scene.t, scene.t);
        let states = &mut self.states;
        states.unrenewed = if scene.machine.renewed { 0.0 } else { states.unrenewed + scene.t - self.last };
        let unrenewed = states.unrenewed;
        let stalled = by_control::stalled(unrenewed, scene.acting);
        self.note(time, Id::H20, stalled, stalled);
        let moved = self.states.restart.judge(&scene.machine, unrenewed, scene.told, before);
        self.note(time, Id::H24, moved, moved);
        self.states.watched = unrenewed > 0.0 || self.states.restart != Restart::default();
    }

    fn note(&mut self, time: (f64, f64), id: Id, a: Finding, b: Finding) {
        if self.tracks[id as usize].note(time, a, b, self.keep) {
            self.accidents |= 1 << id as u32;
        }
    }

    /// The order is over at `t`; `told_done` says that its operator was told that all is done. Returns the accidents since the last call.
    pub fn job_ends(&mut self, plant: &Plant, t: f64, told_done: bool) -> Vec<&'static str> {
        self.close(plant, t);
        let (here, charged) = (self.figures(t), self.states.charged > CHARGED);
        if let Some(found) = by_charge::at_the_end(&here, &self.vehicle, told_done, charged) {
            self.note((t, t), Id::H06, found, found);
        }
        self.accidents(plant, t)
    }

    /// The accidents since the last call, up to `t`.
    pub fn accidents(&mut self, plant: &Plant, t: f64) -> Vec<&'static str> {
        self.close(plant, t);
        let reached = std::mem::take(&mut self.accidents);
        CATALOGUE.iter().enumerate().filter(|(at, _)| reached & 1 << at != 0).map(|(_, one)| one.id.word()).collect()
    }

    /// Every hazard and what became of it so far.
    pub fn results(&self) -> Vec<HazardResult> {
        let all = CATALOGUE.iter().zip(&self.tracks);
        all.map(|(one, track)| {
            let (worst_t_s, worst) = track.worst;
            HazardResult {
                id: one.id.word(),
                title: one.title,
                level: track.level(),
                alert_t_s: track.alert,
                accident_t_s: track.accident,
                worst_margin: worst.margin,
                worst_t_s,
                figure: HazardFigure::new(worst.what, worst.figure),
                not_judged: self.not_judged(one.id),
                unseen_t_s: track.unseen,
            }
        })
        .collect()
    }

    pub(super) fn not_judged(&self, id: Id) -> Option<&'static str> {
        match id {
            Id::H01 if !self.station.burns => Some("the station's gas does not burn"),
            Id::H17 if self.kept.codes_again.is_none() => Some("this controller's codes are not known"),
            Id::H18 if self.kept.counter_fell.is_none() => Some("this run keeps no counters"),
            Id::H19 if self.kept.clock_error.is_none() => Some("nothing in this run is reckoned from the wall clock"),
            Id::H23 if self.station.relief.is_none() => Some("the station has no relief valve"),
            _ => None,
        }
    }

    /// The margins over time, of the hazards that ever moved.
    pub fn bands(&self) -> Vec<HazardBand> {
        let moved = CATALOGUE.iter().zip(&self.tracks).filter(|(_, track)| track.history.len() > 1);
        moved.map(|(one, track)| HazardBand { id: one.id.word(), title: one.title, steps: track.over_time() }).collect()
    }
}

/// What each hazard is judged by at rest.
const WHATS: [&What; HAZARD_COUNT] = [
    &by_cabinet::GAS,
    &by_vessel::FULL_OF_LIQUID,
    &by_line::SHARE,
    &by_vessel::FOREIGN,
    &by_vessel::AIR_IN_VESSEL,
    &by_charge::AGAINST_ORDER,
    &by_machine::FULL,
    &by_machine::BLOWN,
    &by_machine::SKIN,
    &by_charge::LOST,
    &by_charge::OIL,
    &by_vent::TAKEN,
    &by_vent::VENTED,
    &by_line::PASSED,
    &by_reading::SCALE,
    &by_vessel::WATER,
    &by_control::CODES,
    &by_control::COUNTERS,
    &by_control::CLOCK,
    &by_control::STALLED,
    &by_reading::BLIND,
    &by_cabinet::AIRLESS,
    &by_vessel::VESSEL_PRESSURE,
    &by_control::MOVED,
    &by_line::HOSE,
];
