//! What may never be seen at the outputs of a station, whatever is pressed, broken or moved: written from outside, without the controller's word
//! where that can be had.

use valvewright_core::drive::{DEAD_TIME, FORBIDDEN, RESTART_DELAY, VALVE_MIN};
use valvewright_core::frame::{ACTUATOR_COUNT, Actuator, Actuators, Switches};
use valvewright_core::job::flow::JobState;
use valvewright_core::job::{GiveUp, Outcome, PhaseKind};
use valvewright_core::kept::Hoses;

use super::bench::Bench;

/// Valves through which something gets into or out of the hoses.
const HOSES: Actuators =
    Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::Xv3, Actuator::Xv5, Actuator::Xv6, Actuator::Xv9]);
/// Scans after which a contact counts as moved: it is judged by the majority of three.
const MOVED: u8 = 3;

/// What is known of the past of a station.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Past {
    on: Actuators,
    /// How long each has been off, ms, up to [`LONG`].
    off_for: [u32; ACTUATOR_COUNT],
    at: u32,
    /// Scans since a job ran, and how long that is, ms.
    dark: (u8, u32),
    coupled: bool,
    /// Scans for which the couplers have shown another state.
    differs: u8,
    records: usize,
    identified: bool,
    tight: bool,
    /// Scans for which a foreign gas has been known to stand in the hoses, and how long that is, ms.
    foreign: (u8, u32),
    /// The order that runs is a decontamination.
    pub cleans: bool,
}

/// How long a valve may still be on behind what asked for it, ms: its shortest time, the scan in which it is seen, and one more.
const BEHIND: u32 = VALVE_MIN.0 + 100;
/// Ages are not told apart from here on, ms.
const LONG: u32 = RESTART_DELAY.0 + 1_000;

impl Past {
    /// A station as it stands. Of a job that is under way its records are believed.
    pub fn of(bench: &Bench) -> Self {
        let mut past = Self {
            on: bench.on(),
            off_for: Actuator::ALL.map(|one| if bench.on().has(one) { 0 } else { LONG }),
            at: bench.plant.now(),
            dark: (u8::MAX, LONG),
            coupled: true,
            differs: 0,
            records: 0,
            identified: false,
            tight: false,
            foreign: (0, 0),
            cleans: false,
        };
        past.follow(bench, 0);
        past
    }

    /// Takes in what one scan showed.
    ///
    /// # Errors
    /// What may not be seen, in words.
    pub fn look(&mut self, bench: &Bench) -> Result<(), String> {
        let (on, job) = (bench.on(), bench.station.job());
        let passed = bench.plant.now().wrapping_sub(self.at);
        self.at = bench.plant.now();
        self.follow(bench, passed);
        let inhibits = bench.station.interlocks().inhibits();
        let fail = |what: String| Err(format!("{what}, {:?} {:?}, on {on:?}", job.state(), job.phase()));
        if !on.and(inhibits.off).is_empty() || on.and(inhibits.force) != inhibits.force {
            return fail(format!("outputs against {inhibits:?}"));
        }
        if on.has(Actuator::C1) && !on.has(Actuator::Xv4) {
            return fail("C-1 against a shut discharge".to_owned());
        }
        if on.has(Actuator::Xv6) && !on.has(Actuator::P1) {
            return fail("XV-6 over a standing pump".to_owned());
        }
        let plant = &bench.plant;
        let stopped = plant.open & (Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED) & !plant.shut != 0;
        if stopped && !on.without(Actuators::SAFE).without(Actuators::of(&[Actuator::Xv4])).is_empty() {
            return fail("the emergency stop is open in this scan".to_owned());
        }
        self.order(on, passed).or_else(fail)?;
        self.job(bench).or_else(fail)?;
        for one in Actuator::ALL {
            let age = &mut self.off_for[one as usize];
            // From the scan on in which it went off.
            let off = !on.has(one) && !self.on.has(one);
            *age = if off { age.saturating_add(passed).min(LONG) } else { 0 };
        }
        self.on = on;
        Ok(())
    }

    /// Pairs, dead times, rests.
    fn order(&self, on: Actuators, passed: u32) -> Result<(), String> {
        let off_for = |one: Actuator| self.off_for[one as usize].saturating_add(passed);
        let rose = |one: Actuator| on.has(one) && !self.on.has(one);
        for (a, b, why) in FORBIDDEN {
            if on.has(*a) && on.has(*b) {
                return Err(format!("{} with {}: {why}", a.tag(), b.tag()));
            }
            for (one, other) in [(*a, *b), (*b, *a)] {
                if rose(one) && (self.on.has(other) || off_for(other) < DEAD_TIME.0) {
                    return Err(format!("{} follows {} too soon", one.tag(), other.tag()));
                }
            }
        }
        if rose(Actuator::C1) && off_for(Actuator::C1) < RESTART_DELAY.0 {
            return Err("C-1 had no rest".to_owned());
        }
        Ok(())
    }

    /// What is open belongs to the job, and to what was found out before.
    fn job(&self, bench: &Bench) -> Result<(), String> {
        let (on, phase) = (bench.on(), bench.station.job().phase());
        let valves = on.and(Actuators::VALVES).without(Actuators::of(&[Actuator::Xv4]));
        if over(self.dark) && !valves.is_empty() && !self.lags(on) {
            return Err("a valve without a running job".to_owned());
        }
        if over(self.foreign) && !self.cleans && !on.and(HOSES).is_empty() && !self.lags(on) {
            return Err("a valve of the hoses while a foreign gas stands in them".to_owned());
        }
        if phase == Some(PhaseKind::Upkeep) || self.dark.0 > 0 {
            return Ok(());
        }
        let pulls = on.has(Actuator::Xv3) && on.has(Actuator::C1);
        if pulls && phase == Some(PhaseKind::Recover) && !self.identified {
            return Err("recovery from a vehicle that was never identified".to_owned());
        }
        if on.has(Actuator::Xv5) && on.has(Actuator::Xv10) && !self.tight {
            return Err("a charge without a passed leak check of this vehicle".to_owned());
        }
        Ok(())
    }

    /// Only what may stand open for a while behind a charge, so that no line is locked full of liquid.
    fn lags(&self, on: Actuators) -> bool {
        let service = Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::Xv4]);
        on.and(Actuators::VALVES).without(service).is_empty() && self.off_for[Actuator::Xv5 as usize] <= 3_000
    }

    fn follow(&mut self, bench: &Bench, passed: u32) {
        let job = bench.station.job();
        if job.records().len() < self.records {
            self.records = 0;
        }
        for record in &job.records()[self.records..] {
            match (record.kind, record.outcome) {
                (PhaseKind::Identify, outcome) => self.identified = outcome == Outcome::Done,
                (PhaseKind::LeakCheck, Outcome::Done) => self.tight = true,
                (PhaseKind::LeakCheck, Outcome::Failed(GiveUp::Leaks)) => self.tight = false,
                _ => {}
            }
        }
        self.records = job.records().len();
        let more = |(scans, ms): (u8, u32)| (scans.saturating_add(1), ms.saturating_add(passed).min(LONG));
        self.dark = if job.state() == JobState::Running { (0, 0) } else { more(self.dark) };
        let coupled = bench.plant.open & Switches::ZS2_COUPLED & !bench.plant.shut == 0;
        self.differs = if coupled == self.coupled { 0 } else { self.differs + 1 };
        if self.differs > MOVED {
            (self.coupled, self.identified, self.tight) = (coupled, false, false);
            self.differs = 0;
        }
        let foreign = bench.station.kept().hoses == Hoses::Foreign;
        self.foreign = if foreign { more(self.foreign) } else { (0, 0) };
    }
}

/// So long that nothing may still be on behind it.
fn over((scans, ms): (u8, u32)) -> bool {
    scans > 2 && ms > BEHIND
}
