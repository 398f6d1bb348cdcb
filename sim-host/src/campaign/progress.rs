//! After the faults have healed: a person at the panel resets what is latched, lets the job go on or ends it, and clears the hoses; the
//! station has to come to rest within a bound.

use valvewright_core::frame::Actuators;
use valvewright_core::job::flow::JobState;
use valvewright_core::job::{PhaseKind, Sides};
use valvewright_core::order::PhaseSet;
use valvewright_core::row::RowSet;
use valvewright_core::talk::{Command, Notice};

use crate::run::{Simulation, words, work_order};
use crate::scenario::Scenario;

/// From one press to the next, s: long enough to see what came of it (own choice).
const PATIENCE: f64 = 10.0;
/// So often the job is let go on before it is ended (own choice).
const TRIES: u32 = 6;
/// Hoses may come off at this pressure or below, Pa abs (the 1.3 bar of I31).
const FREE: f64 = 1.3e5;
/// Number of the order that clears the hoses: another than the job's.
const CLEARING: u16 = 2;

/// How the station came to rest, or did not.
#[derive(Clone, Debug, PartialEq)]
pub struct Rest {
    /// When, counted from healing, s; none where it did not.
    pub after: Option<f64>,
    /// Why it did not; empty where it did.
    pub why: String,
}

/// The person, from healing on.
pub struct Person<'a> {
    scenario: &'a Scenario,
    healed: f64,
    within: f64,
    held: f64,
    pressed: f64,
    last: Option<Command>,
    tries: u32,
    cleared: bool,
    heard: usize,
    refused: String,
}

impl<'a> Person<'a> {
    /// Comes at `healed` s; the job may be held for `within` s from then on.
    pub fn new(scenario: &'a Scenario, run: &Simulation, healed: f64, within: f64) -> Self {
        Self {
            scenario,
            healed,
            within,
            held: 0.0,
            pressed: healed - PATIENCE,
            last: None,
            tries: 0,
            cleared: false,
            heard: run.told_since(0).len(),
            refused: String::new(),
        }
    }

    /// What is pressed in the scan at `t`.
    pub fn press(&mut self, run: &Simulation, t: f64) -> Option<Command> {
        if t - self.pressed < PATIENCE {
            return None;
        }
        let core = run.station();
        let (state, blocked) = (core.job().state(), core.interlocks().blocking(None, RowSet::NONE).is_some());
        let command = if blocked && self.last != Some(Command::Reset) {
            Some(Command::Reset)
        } else if state == JobState::Paused {
            self.tries += 1;
            Some(if self.tries > TRIES { Command::Abort } else { Command::Resume })
        } else if blocked {
            Some(Command::Reset)
        } else if !core.job().busy() && !self.hoses_free(run) && !self.cleared {
            self.cleared = true;
            Some(self.clearing())
        } else {
            None
        };
        if command.is_some() {
            self.pressed = t;
            self.last.clone_from(&command);
        }
        command
    }

    /// The order that empties the hoses of this vehicle.
    fn clearing(&self) -> Command {
        let order = work_order(self.scenario);
        Command::Start {
            id: CLEARING,
            order: valvewright_core::job::WorkOrder { phases: PhaseSet::of(&[PhaseKind::ClearHoses]), ..order },
        }
    }

    /// Both hoses that are on the vehicle stand where they may come off.
    fn hoses_free(&self, run: &Simulation) -> bool {
        let truth = run.truth();
        let sides = self.scenario.order.sides;
        (sides == Sides::High || truth.p_low <= FREE) && (sides == Sides::Low || truth.p_high <= FREE)
    }

    /// Whether it came to rest in the scan at `t`, or is out of time; none where neither is so yet. `scan` is the scan's length, s.
    pub fn look(&mut self, run: &Simulation, t: f64, scan: f64) -> Option<Rest> {
        for (_, notice) in run.told_since(self.heard) {
            self.heard += 1;
            if let (Notice::Refused(why), true) = (notice, self.cleared) {
                self.refused = words::refusal(*why).to_string();
            }
        }
        let core = run.station();
        let still = run.outputs().on.without(Actuators::SAFE) == Actuators::NONE;
        let reset = core.interlocks().blocking(None, RowSet::NONE).is_none();
        if !core.job().busy() && still && reset && self.hoses_free(run) {
            return Some(Rest { after: Some(((t - self.healed).max(0.0) * 1e6).round() / 1e6), why: String::new() });
        }
        if core.job().state() != JobState::Running {
            self.held += scan;
        }
        let late = self.held > self.within || t - self.healed > self.within + super::one::LONGEST;
        late.then(|| Rest { after: None, why: self.why(run) })
    }

    /// In what it is stuck.
    pub fn why(&self, run: &Simulation) -> String {
        let core = run.station();
        let phase = core.job().phase().map_or("between phases", PhaseKind::name);
        let place = format!("{phase} {}", core.job().step_word());
        let mut why = match core.job().state() {
            JobState::Idle => "no order was taken".to_owned(),
            JobState::Starting => "air flow is not proven".to_owned(),
            JobState::Running => format!("still runs: {}", place.trim()),
            JobState::Paused => format!("held in {}", place.trim()),
            JobState::Ended(_) => "the order has ended".to_owned(),
        };
        let rows: Vec<&str> = core.interlocks().tripped().iter().map(|row| row.as_str()).collect();
        if !rows.is_empty() {
            why += &format!(", rows {}", rows.join(" "));
        }
        if let Some(row) = core.interlocks().blocking(None, RowSet::NONE) {
            why += &format!(", {} is latched", row.as_str());
        }
        if !self.hoses_free(run) {
            let p = run.truth().p_low.max(run.truth().p_high);
            why += &format!(", hoses at {:.1} bar abs", p * 1e-5);
        }
        if !self.refused.is_empty() {
            why += &format!(", clearing refused: {}", self.refused);
        }
        why
    }
}
