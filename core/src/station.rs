//! The loop that holds the core together: one frame in, one set of outputs out, each scan.
//!
//! `Station` is plain data: `Clone + Eq + Hash + Debug`. The same frames at the same instants give the same outputs, on any
//! machine; a snapshot is a copy.

use crate::air::AirProof;
use crate::config::StationConfig;
use crate::connection::{Connection, UNWATCHED};
use crate::drive::{Drive, gate};
use crate::effect::Effects;
use crate::frame::{Actuator, Actuators, Inhibits, Lamp, Outputs, RawFrame, SerialChunk, Switches};
use crate::hoses::HoseRest;
use crate::interlock::{Facts, Interlocks};
use crate::job::flow::{Job, JobState, View};
use crate::job::purge;
use crate::order::{PhaseKind, WorkOrder};
use crate::sense::{Readings, Sense, identifier};
use crate::talk::{Answered, Command, Notice, Notices, Refusal};
use crate::units::*;

/// Highest temperature the fill limit reckons with where the wall temperature can't be read (fault F015).
const HOT_CASE: CentiKelvin = CentiKelvin::from_centi_celsius(6_000);
/// Bits of the tick that are zero while the sounder calls for an answer: a quarter of a second in every four (own choice).
const CALLS: u32 = 0x0F00;
/// Filling limits are stated at 21 degC (40 CFR 82 Subpart B App. C 7.2).
const RATED_AT: CentiKelvin = CentiKelvin::from_centi_celsius(2_100);
/// A wall that has moved so far asks for the fill limit anew: it changes by 0.3 % a kelvin.
const ANEW: CentiKelvin = CentiKelvin(100);

/// The controller of one station.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Station {
    cfg: StationConfig,
    sense: Sense,
    interlocks: Interlocks,
    drive: Drive,
    effects: Effects,
    hose_rest: HoseRest,
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
    notices: Notices,
}

impl Station {
    /// A station at power-on. `vessel_rest` is how long the vessel is known to have been left alone (zero if unknown).
    pub fn new(cfg: StationConfig, vessel_rest: Millis) -> Self {
        let sense = Sense::new(&cfg.sense);
        let fill_limit = fill_limit(&cfg, HOT_CASE);
        Self {
            cfg,
            sense,
            interlocks: Interlocks::new(),
            drive: Drive::new(),
            effects: Effects::default(),
            hose_rest: HoseRest::default(),
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
            notices: Notices::default(),
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
    /// The judged inputs of the last scan.
    pub const fn readings(&self) -> &Readings {
        &self.readings
    }
    /// The interlocks.
    pub const fn interlocks(&self) -> &Interlocks {
        &self.interlocks
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
        let dt = self.last.replace(now).map_or(Millis(0), |last| now.since(last));
        let scan_late = self.lateness(dt);
        self.sense.read_into(&mut self.readings, now, frame, &self.cfg.sense, self.cfg.heats());
        self.watch_couplers(dt);
        self.update_fill_limit();
        self.effects.step(dt, &self.readings, self.on, &self.cfg);
        let (gap, pumped) = (Millis(self.cfg.scan.0.max(1).saturating_mul(5)), self.on.has(Actuator::Xv6));
        self.hose_rest.step(dt, gap, self.readings.service_pressure(), pumped);
        let before = self.air.clone();
        self.air.step(dt, if scan_late { Millis(0) } else { dt }, self.readings.switches, self.cfg.air_changes);
        self.follow_air(&before);

        let (reset, answer) = self.obey(frame.command.as_ref());
        let facts = self.facts(scan_late);
        self.inhibits = self.interlocks.evaluate(now, &self.readings, &facts, reset);
        if let (true, Some(row)) = (reset, self.interlocks.latched().iter().next()) {
            // Law 9 of the design: the press did not clear it, and the operator is told what still stands.
            self.notices.push(Notice::Refused(Refusal::Tripped(row)));
        }
        self.announce(now, &facts);

        let (want, sample) = self.step_job(now, dt, answer);
        self.wanted = if self.air.fan_off() { Actuators::NONE } else { want.and(self.cfg.fitted) };
        self.on = gate(self.drive.sequence(now, self.wanted, &self.inhibits, self.on), &self.inhibits);
        self.rest(dt);
        let identifier = sample.map_or_else(SerialChunk::new, |id| {
            self.sense.expect_sample(id);
            identifier::request(id)
        });
        Outputs { on: self.on, lamp: self.lamp(), buzzer: self.buzzer(), identifier }
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
        trip
    }

    /// Facts of a connection end when the couplers move, and with them the order that works on it and the gas sample that
    /// was asked for. Couplers that come on end no order: they were off before, and the order has no other vehicle.
    fn watch_couplers(&mut self, dt: Millis) {
        self.connection.age(dt);
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

    /// Carries out a command; returns whether reset was pressed, and the answer to an open question.
    fn obey(&mut self, command: Option<&Command>) -> (bool, Option<Answered>) {
        let Some(command) = command else { return (false, None) };
        let result = match command {
            Command::Start { id, order } => self.start(*id, order),
            Command::Pause => self.hold(),
            Command::Resume => match self.interlocks.blocking() {
                Some(row) => Err(Refusal::Tripped(row)),
                None => self.go_on(),
            },
            Command::Abort => self.job.abort(&mut self.notices),
            Command::Confirm(number) | Command::Decline(number) => match self.job.asked() {
                None => Err(Refusal::NoQuestion),
                Some(asked) if asked.number != *number => Err(Refusal::QuestionClosed),
                Some(asked) => {
                    let yes = matches!(command, Command::Confirm(_));
                    return (false, Some(Answered { question: asked.question, yes }));
                }
            },
            Command::Reset => {
                if self.interlocks.latched().is_empty() {
                    Err(Refusal::NothingToReset)
                } else {
                    return (true, None);
                }
            }
        };
        if let Err(refusal) = result {
            self.notices.push(Notice::Refused(refusal));
        }
        (false, None)
    }

    fn start(&mut self, id: u16, order: &WorkOrder) -> Result<(), Refusal> {
        order.check(&self.cfg)?;
        if let Some(row) = self.interlocks.blocking() {
            return Err(Refusal::Tripped(row));
        }
        self.job.start(id, order.clone())?;
        self.notices.push(Notice::OrderStarted(id));
        self.air.begin();
        Ok(())
    }

    /// Holds the job. Before its first phase the proof of air is given up with it: the fan is not left off for its test.
    fn hold(&mut self) -> Result<(), Refusal> {
        self.job.pause(&mut self.notices)?;
        if self.job.phase().is_none() {
            self.air = AirProof::Idle;
        }
        Ok(())
    }

    fn go_on(&mut self) -> Result<(), Refusal> {
        self.job.resume(&mut self.notices)?;
        if self.job.state() == JobState::Starting {
            self.air.begin();
        }
        Ok(())
    }

    fn facts(&self, scan_late: bool) -> Facts {
        let known = &self.connection;
        // What began on a fresh verdict may go on past its age.
        let (identity_pass, leak_pass) = match self.job.phase() {
            Some(PhaseKind::Recover) => (known.pure(), known.freshly_tight()),
            // After a charge the hoses hold what came out of the vessel.
            Some(PhaseKind::ClearHoses) => (known.pure() || known.charged(), known.freshly_tight()),
            Some(PhaseKind::Charge) => (known.may_recover(), known.tight()),
            _ => (known.may_recover(), known.freshly_tight()),
        };
        Facts {
            identity_pass,
            circuit_empty: known.circuit_empty(),
            hoses_stand: self.hose_rest.stands(),
            barometer: self.cfg.barometer,
            leak_pass,
            purge_permitted: self.job.phase() == Some(PhaseKind::Purge)
                && purge::permitted(&self.readings, self.vessel_rest),
            charge_flow_wrong: self.effects.flow_wrong(),
            effect_mismatch: self.effects.mismatch(),
            scale_creep: self.effects.creeping(),
            heats_nothing: self.effects.heats_nothing(),
            heater_welded: self.effects.heater_welded(),
            no_heater: !self.cfg.heats(),
            scan_late,
            air_proven: self.air.proven(),
            air_test: self.air.testing(),
            fill_limit: self.fill_limit,
            applied: self.on,
            wanted: self.wanted,
        }
    }

    /// Says what tripped and what cleared; a latched trip holds the job.
    fn announce(&mut self, now: Instant, facts: &Facts) {
        for row in self.interlocks.newly_tripped().iter() {
            let cause = self.interlocks.cause(now, row, &self.readings, facts);
            self.notices.push(Notice::Tripped(row, cause));
        }
        for row in self.interlocks.newly_cleared().iter() {
            self.notices.push(Notice::Cleared(row));
        }
        if self.interlocks.blocking().is_some() && matches!(self.job.state(), JobState::Starting | JobState::Running) {
            // Refused only when nothing runs, which was just checked.
            let _running = self.hold();
        }
    }

    fn step_job(&mut self, now: Instant, dt: Millis, answer: Option<Answered>) -> (Actuators, Option<u16>) {
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
            vessel_rest: self.vessel_rest,
            fill_limit: self.fill_limit,
            answer,
        };
        let result = self.job.step(view, &mut self.connection, &mut self.notices);
        if self.job.phase() != phase {
            self.interlocks.phase_started();
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

    fn lamp(&self) -> Lamp {
        if !self.interlocks.latched().is_empty() {
            Lamp::Red
        } else if self.job.question().is_some() {
            Lamp::Blue
        } else {
            match self.job.state() {
                // A trip that clears by itself is no normal running either.
                _ if !self.interlocks.tripped().is_empty() => Lamp::Yellow,
                JobState::Paused | JobState::Ended(false) => Lamp::Yellow,
                JobState::Starting | JobState::Running => Lamp::Green,
                JobState::Idle | JobState::Ended(true) => Lamp::White,
            }
        }
    }

    fn buzzer(&self) -> bool {
        !self.interlocks.newly_tripped().is_empty()
            || self.job.question().is_some() && self.last.unwrap_or_default().0 & CALLS == 0
    }
}

/// 80 % liquid by volume, at 21 degC or at the wall temperature, whichever allows less, and never more than the rating.
///
/// ```
/// use valvewright_core::{config::StationConfig, fluid::Refrigerant, station::fill_limit, units::*};
/// let cfg = StationConfig { vessel: Microlitre(12_000_000), vessel_rated: Milligram::MAX, ..StationConfig::reference(Refrigerant::R1234yf) };
/// // 12 L: 10.62 kg of liquid at 21 degC (worked with CoolProp 8.0.0)
/// let limit = fill_limit(&cfg, CentiKelvin::from_centi_celsius(1_000));
/// assert!((10_600_000..10_640_000).contains(&limit.0), "{limit:?}");
/// ```
pub fn fill_limit(cfg: &StationConfig, wall: CentiKelvin) -> Milligram {
    // microgram per millilitre x microlitre x 0.8
    let density = i64::from(cfg.refrigerant.liquid_density(wall.or_more(RATED_AT)));
    let mg = i64::from(cfg.vessel.0).saturating_mul(density).saturating_mul(8) / 10_000_000;
    Milligram(i32::try_from(mg).unwrap_or(i32::MAX)).or_less(cfg.vessel_rated)
}
