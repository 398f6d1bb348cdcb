//! The loop that holds the core together: one frame in, one set of outputs out, each scan.
//!
//! `Station` is plain data: `Clone + Eq + Hash + Debug`. The same frames at the same instants give the same outputs, on any
//! machine; a snapshot is a copy.

mod facts;
mod obey;
mod show;
#[cfg(feature = "what-if")]
mod what_if;

use crate::air::AirProof;
use crate::config::StationConfig;
pub use crate::config::fill_limit;
use crate::connection::{Connection, UNWATCHED};
use crate::cross::{Cross, FAN_TURNS};
use crate::drive::{Drive, gate};
use crate::effect::Effects;
use crate::frame::{Actuator, Actuators, Feed, Feeds, Inhibits, Outputs, RawFrame, SCALE_COUNT, SerialChunk, Switches};
use crate::guard::Guards;
use crate::hoses::HoseRest;
use crate::interlock::Interlocks;
use crate::job::flow::{Job, JobState, View};
use crate::kept::{BRIDGES, Hoses, Keeper, Kept, Left, Memory, Scanned, Start};
use crate::machine::MachineWatch;
use crate::selftest::SelfTest;
use crate::sense::{Readings, Sense, identifier};
use crate::talk::{Answered, Notice, Notices, Refusal};
use crate::token::Part;
use crate::units::*;
use crate::upkeep::Exchange;

/// Highest temperature the fill limit reckons with where the wall temperature can't be read (fault F015).
const HOT_CASE: CentiKelvin = CentiKelvin::from_centi_celsius(6_000);
/// How long ET-2 may take to show the rail once its relay has closed: ten times its filter (own choice).
const RAIL_RISES: Millis = Millis(500);
/// A wall that has moved so far asks for the fill limit anew: it changes by 0.3 % a kelvin.
const ANEW: CentiKelvin = CentiKelvin(100);
/// Of the bridges, those of the vessel scale come first.
const VESSEL_BRIDGES: usize = 2;
const _: () = assert!(BRIDGES == SCALE_COUNT, "what is kept has a place for each bridge");
/// Outputs that nobody renewed for so long were dropped by hardware (I26): whoever scans again after that, with one on, is trusted as
/// little as one that the watchdog restarted.
const GAP_MOST: Millis = Millis(500);

/// The controller of one station.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Station {
    cfg: StationConfig,
    sense: Sense,
    cross: Cross,
    interlocks: Interlocks,
    drive: Drive,
    effects: Effects,
    hose_rest: HoseRest,
    guards: Guards,
    air: AirProof,
    job: Job,
    connection: Connection,
    readings: Readings,
    inhibits: Inhibits,
    on: Actuators,
    wanted: Actuators,
    last: Option<Instant>,
    late_scans: u32,
    coupled: Option<bool>,
    vessel_rest: Millis,
    fill_limit: Milligram,
    fill_limit_for: CentiKelvin,
    machine: MachineWatch,
    test: SelfTest,
    dropped: Feeds,
    /// How long the rail's relay has been closed, up to [`RAIL_RISES`].
    rail_for: Millis,
    keeper: Keeper,
    exchange: Exchange,
    notices: Notices,
}

impl Station {
    /// A station after commissioning, its self-test passed. `vessel_rest` is how long the vessel is known to have been left alone (zero
    /// if unknown).
    pub fn new(cfg: StationConfig, vessel_rest: Millis) -> Self {
        Self { test: SelfTest::Passed, ..Self::wake(cfg, &Start::first(vessel_rest)) }
    }

    /// A station at power-on or after a restart, with what outlived it. No trip is lost, nothing goes on by itself.
    pub fn wake(cfg: StationConfig, start: &Start) -> Self {
        let sense = Sense::new(&cfg.sense);
        let fill_limit = fill_limit(&cfg, HOT_CASE);
        let (mut cfg, mut differs) = (cfg, false);
        if let Memory::Sound(kept) = &start.memory {
            for (place, (scale, was)) in cfg.sense.scales.iter_mut().zip(kept.span).enumerate() {
                if was != 0 && scale.cal.span_differs(was) {
                    differs |= place < VESSEL_BRIDGES;
                } else {
                    scale.cal = scale.cal.with_gain(was);
                }
            }
        }
        let gains = cfg.sense.scales.each_ref().map(|scale| scale.cal.gain());
        let keeper = Keeper::waking(start, cfg.limits, gains, differs);
        let mut interlocks = Interlocks::new();
        interlocks.restore(keeper.kept().latched);
        let mut notices = Notices::default();
        if let Some((order, charged)) = keeper.interrupted() {
            notices.push(Notice::Interrupted(order, charged));
        }
        let vessel_rest = start.vessel_rest;
        Self {
            machine: MachineWatch::waking(keeper.kept().clock),
            test: SelfTest::waking(),
            dropped: Feeds::NONE,
            rail_for: Millis(0),
            exchange: Exchange::waking(&keeper),
            keeper,
            cfg,
            sense,
            cross: Cross::default(),
            interlocks,
            drive: Drive::new(),
            effects: Effects::default(),
            hose_rest: HoseRest::default(),
            guards: Guards::default(),
            air: AirProof::Idle,
            job: Job::default(),
            connection: Connection::default(),
            readings: Readings::default(),
            inhibits: Inhibits::default(),
            on: Actuators::NONE,
            wanted: Actuators::SAFE,
            last: None,
            late_scans: 0,
            coupled: None,
            vessel_rest,
            fill_limit,
            fill_limit_for: HOT_CASE,
            notices,
        }
    }

    /// The configuration.
    pub const fn config(&self) -> &StationConfig {
        &self.cfg
    }
    /// The job.
    pub const fn job(&self) -> &Job {
        &self.job
    }
    /// Facts of this connection.
    pub const fn connection(&self) -> &Connection {
        &self.connection
    }
    /// What must outlive power: to be stored whenever it has changed, and handed back to [`Station::wake`].
    pub const fn kept(&self) -> &Kept {
        self.keeper.kept()
    }
    /// The exchange of a part that is in hand.
    pub const fn exchange(&self) -> &Exchange {
        &self.exchange
    }
    /// What the controller finds out about its own machine.
    pub const fn machine(&self) -> &MachineWatch {
        &self.machine
    }
    /// The judged inputs of the last scan.
    pub const fn readings(&self) -> &Readings {
        &self.readings
    }
    /// The interlocks.
    pub const fn interlocks(&self) -> &Interlocks {
        &self.interlocks
    }
    /// Whether what was commanded follows.
    pub const fn effects(&self) -> &Effects {
        &self.effects
    }
    /// Highest mass the vessel may hold now.
    pub const fn fill_limit(&self) -> Milligram {
        self.fill_limit
    }
    /// What the job asked for in the last scan, before anything was taken from it: what would be on without interlocks and their order.
    pub const fn wanted(&self) -> Actuators {
        self.wanted
    }
    /// How many scans came late.
    pub const fn late_scans(&self) -> u32 {
        self.late_scans
    }
    /// Takes the oldest notice.
    pub fn take_notice(&mut self) -> Option<Notice> {
        self.notices.take()
    }
    /// How many notices were dropped because nobody took them; trips never are.
    pub const fn lost_notices(&self) -> u32 {
        self.notices.lost()
    }
    /// How many notices only repeated one that waited.
    pub const fn repeated_notices(&self) -> u32 {
        self.notices.repeated()
    }

    /// One scan. A late call is safe (it acts on `now`), is counted, and past five scan times trips.
    pub fn tick(&mut self, now: Instant, frame: &RawFrame) -> Outputs {
        let dt = self.last.map_or(Millis(0), |last| now.since(last));
        self.last = Some(now);
        let scan_late = self.lateness(dt);
        self.machine.step(dt, &frame.machine, self.on, self.dropped);
        self.sense.read_into(&mut self.readings, now, frame, &self.cfg.sense, self.cfg.heats());
        if !self.machine.facts().stale_image && self.keeper.hear_store(dt, frame.machine.stored) {
            self.notices.push(Notice::NotStored);
            if self.job.state() == JobState::Starting {
                self.keeper.lost_before_it_began();
            }
        }
        let held = self.inhibits.drop.has(Feed::Valves);
        if self.test.step(dt, self.readings.et2.usable(), held) && self.job.state() == JobState::Starting {
            self.air.begin();
        }
        self.rail_for =
            if self.dropped.has(Feed::Valves) { Millis(0) } else { self.rail_for.plus(dt).or_less(RAIL_RISES) };
        let turned = self.cross.step(dt, &mut self.readings, self.on, self.vessel_rest, &self.cfg);
        turned.into_iter().for_each(|notice| self.notices.push(notice));
        self.watch_couplers(dt);
        self.update_fill_limit();
        self.effects.step(dt, &self.readings, self.on, self.job.hanging(), &self.cfg);
        self.loads_by_hand();
        self.guards.step(dt, &self.readings, self.on, self.job.ledger.vehicle_runs, &self.cfg);
        if self.effects.carries_liquid() {
            self.readings.switches.0 &= !Switches::LS2_NOT_HIGH;
        }
        let (gap, pumped) = (Millis(self.cfg.scan.0.max(1).saturating_mul(5)), self.on.has(Actuator::Xv6));
        self.hose_rest.step(dt, gap, self.readings.service_pressure(), pumped);
        let before = self.air.clone();
        let watched = if scan_late { Millis(0) } else { dt };
        let turns = self.readings.st1.value >= FAN_TURNS;
        self.air.step(dt, watched, self.readings.switches, turns, self.cfg.air_changes);
        self.follow_air(&before);

        let (reset, answer) = self.obey(frame.command.as_ref());
        let given = self.exchange.step(dt, &mut self.keeper, &self.cfg.code_key, &mut self.notices);
        let facts = self.facts(scan_late);
        self.inhibits = self.interlocks.evaluate(now, &self.readings, &facts, reset);
        if let (true, Some(row)) = (reset, self.interlocks.latched().iter().next()) {
            // LC9: the press did not clear it, and the operator is told what still stands.
            self.notices.push(Notice::Refused(Refusal::Tripped(row)));
        }
        self.announce(now, &facts);

        let (want, sample) = self.step_job(now, dt, answer, given);
        self.wanted = if self.air.fan_off() { Actuators::NONE } else { want.and(self.cfg.fitted) };
        let ordered = self.drive.sequence(now, self.wanted, &self.inhibits, self.on);
        self.on = gate(ordered, &self.inhibits);
        self.dropped = Feeds(self.inhibits.drop.0 | self.test.drops().0);
        self.rest(dt);
        let (order, charged) = self.job.at_work();
        self.keeper.step(
            dt,
            &Scanned {
                latched: self.interlocks.latched(),
                pumping: self.on.has(Actuator::P1),
                clock: self.machine.clock(),
                order,
                charged,
                recovered: self.job.ledger.recovered.plus(self.job.ledger.filled),
                sampled: sample.is_some(),
            },
        );
        let identifier = sample.map_or_else(SerialChunk::new, |id| {
            self.sense.expect_sample(id);
            identifier::request(id)
        });
        Outputs {
            on: self.on,
            dropped: self.dropped,
            lamp: self.lamp(),
            buzzer: self.buzzer(),
            identifier,
            keep: self.keeper.kept().number,
        }
    }

    fn lateness(&mut self, dt: Millis) -> bool {
        let scan = self.cfg.scan.0.max(1);
        if dt.0.saturating_mul(2) > scan.saturating_mul(3) {
            self.late_scans = self.late_scans.saturating_add(1);
        }
        let trip = dt.0 > scan.saturating_mul(5);
        if trip {
            self.notices.push(Notice::LateScan(dt));
        }
        if dt > GAP_MOST && !self.on.without(Actuators::SAFE).is_empty() {
            self.keeper.stalled();
        }
        trip
    }

    /// Facts of a connection end when the couplers move, and with them the order that works on it and the gas sample that
    /// was asked for. Couplers that come on end no order: they were off before, and the order has no other vehicle.
    fn watch_couplers(&mut self, dt: Millis) {
        self.connection.age(dt);
        self.guards.couplers(&self.readings, self.on.or(self.wanted), self.job.busy());
        let coupled = self.readings.switches.closed(Switches::ZS2_COUPLED);
        let unwatched = dt > UNWATCHED;
        if self.coupled.is_some_and(|was| was != coupled) || unwatched {
            self.connection.moved();
            self.interlocks.connection_changed();
            self.sense.expect_no_sample();
            if !coupled || unwatched {
                self.job.couplers_moved(&mut self.notices);
            }
        }
        self.coupled = Some(coupled);
    }

    fn update_fill_limit(&mut self) {
        let wall = self.readings.tt1.usable().unwrap_or(HOT_CASE);
        if wall.minus(self.fill_limit_for).0.saturating_abs() >= ANEW.0 {
            self.fill_limit_for = wall;
            self.fill_limit = fill_limit(&self.cfg, wall);
        }
    }

    fn follow_air(&mut self, before: &AirProof) {
        if self.air == *before {
            return;
        }
        match self.air {
            AirProof::Starting(Millis(0)) => self.notices.push(Notice::ProvingAir),
            AirProof::Proven => {
                self.notices.push(Notice::AirProven);
                if self.job.air_proven(&mut self.notices) {
                    self.interlocks.phase_started();
                }
            }
            AirProof::Failed => {
                self.notices.push(Notice::AirNotProven);
                self.job.no_air(&mut self.notices);
            }
            _ => {}
        }
    }

    fn step_job(
        &mut self,
        now: Instant,
        dt: Millis,
        answer: Option<Answered>,
        given: Option<Part>,
    ) -> (Actuators, Option<u16>) {
        let phase = self.job.phase();
        let view = View {
            now,
            dt,
            r: &self.readings,
            cfg: &self.cfg,
            on: self.on,
            inhibited: self.inhibits.off,
            tripped: self
                .interlocks
                .newly_tripped()
                .iter()
                .fold(Actuators::NONE, |all, id| id.row().map_or(all, |row| all.or(row.trip.inhibits))),
            compressor_ready_in: self.drive.ready_in(now),
            may_come_off: self.guards.may_come_off(),
            vessel_rest: self.vessel_rest,
            fill_limit: self.fill_limit,
            answer,
            given,
            stored: self.keeper.is_stored(),
            lost: self.keeper.is_lost(),
            spans: self.keeper.kept().span,
        };
        let result = self.job.step(view, &mut self.connection, &mut self.notices);
        if self.job.phase() != phase {
            self.interlocks.phase_started();
        }
        if let Some(left) = self.job.take_kept() {
            self.leave(left);
        }
        if self.connection.foreign() && self.keeper.kept().hoses != Hoses::Foreign {
            self.leave(Left::Hoses(Hoses::Foreign));
        }
        result
    }

    /// The vessel rests while nothing enters, leaves or warms it.
    fn rest(&mut self, dt: Millis) {
        /// What moves or warms the vessel's content.
        const STIRS: Actuators =
            Actuators::of(&[Actuator::C1, Actuator::H1, Actuator::H2, Actuator::Xv4, Actuator::Xv5, Actuator::Xv10]);
        self.vessel_rest = if self.on.and(STIRS).is_empty() { self.vessel_rest.plus(dt) } else { Millis(0) };
    }
}
