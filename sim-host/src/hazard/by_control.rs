//! What holds the outputs and remembers: H17 codes, H18 counters, H19 the clock, H20 stalls, H24 power that comes back.

use valvewright_core::frame::Actuators;

use crate::report::data::{Kind, What};

use super::catalogue::Id;
use super::limits;
use super::span::WORKING;
use super::track::Finding;

/// What H17 is judged by.
pub const CODES: What = What { words: "times a code was taken again, or a life begun without one", kind: Kind::Count };
/// What H18 is judged by.
pub const COUNTERS: What =
    What { words: "of a life by which a counter came back lower than it was stored", kind: Kind::Share };
/// What H19 is judged by.
pub const CLOCK: What = What { words: "error of a duration against true time", kind: Kind::Share };
/// What H20 is judged by.
pub const STALLED: What = What { words: "with outputs on that nobody renewed", kind: Kind::Time };
/// What H24 is judged by.
pub const MOVED: What =
    What { words: "times something moved after a restart that nobody had ordered", kind: Kind::Count };

/// What is true of whatever keeps records over a power cut, as far as a run has it: what it has not stays `None`, and nothing is known of it.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Kept {
    /// Codes that were taken more often than once, over all power cycles, and lives that began anew without one.
    pub codes_again: Option<u32>,
    /// By how much of a life a counter came back lower than what had been stored, 1.
    pub counter_fell: Option<f64>,
    /// Largest error of a duration or age against true time, 1.
    pub clock_error: Option<f64>,
}

impl Kept {
    /// Counters came back from a store lower than they were written by so much: refrigerant through the drier, kg, time of the pump, s.
    #[must_use]
    pub fn fell(self, drier: f64, pump: f64) -> Self {
        Self { counter_fell: Some((drier / limits::LIVES.0).max(pump / limits::LIVES.1)), ..self }
    }

    /// H17, H18 and H19, as far as they are known.
    pub fn judge(&self) -> [Option<(Id, Finding)>; 3] {
        let codes = self.codes_again.map(|count| {
            let found = Finding { margin: 1.0, figure: f64::from(count), what: &CODES };
            (Id::H17, if count > 0 { found.happened() } else { found })
        });
        let fell = self.counter_fell.map(|share| (Id::H18, Finding::on(&limits::COUNTER, share, &COUNTERS)));
        let clock = self.clock_error.map(|error| (Id::H19, Finding::on(&limits::CLOCK, error.abs(), &CLOCK)));
        [codes, fell, clock]
    }
}

/// The machine that holds the outputs in one scan, as the run knows it.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Machine {
    /// Its program renewed the outputs in this scan.
    pub renewed: bool,
    /// It starts anew in this scan.
    pub restarts: bool,
    /// The operator does something at the panel in this scan.
    pub command: bool,
    /// Supply and valve rail, V.
    pub volts: (f64, f64),
}

/// H20 after so long without being renewed, s.
pub fn stalled(unrenewed: f64, acting: Actuators) -> Finding {
    let on = !acting.and(WORKING).is_empty();
    Finding::on(&limits::STALLED, if on { unrenewed } else { 0.0 }, &STALLED)
}

/// H24: whether a machine that came back still waits for a command, and how often something moved without one.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Restart {
    waits: bool,
    moved: u32,
}

impl Restart {
    /// Finding of one scan, with what is told to be on after it and before.
    pub fn judge(&mut self, machine: &Machine, unrenewed: f64, told: Actuators, before: Actuators) -> Finding {
        if machine.restarts {
            self.waits = true;
        }
        if machine.command {
            self.waits = false;
        }
        let before = if machine.restarts { Actuators::NONE } else { before };
        let moves = told.without(before).and(WORKING);
        let (dead, holds, at_most) = limits::DIP;
        let dip = machine.volts.0 < dead && machine.volts.1 > holds && unrenewed > at_most;
        if self.waits && !moves.is_empty() || dip && !told.and(WORKING).is_empty() {
            self.moved = self.moved.saturating_add(1);
        }
        let found = Finding { margin: 1.0, figure: f64::from(self.moved), what: &MOVED };
        if self.moved > 0 { found.happened() } else { found }
    }
}
