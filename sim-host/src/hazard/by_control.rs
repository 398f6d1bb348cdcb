//! What holds the outputs and remembers: H17 codes, H18 counters, H19 the clock, H20 stalls, H24 power that comes back.

use valvewright_core::frame::{Actuators, Outputs};

use crate::report::data::{Kind, What};

use super::limits;
use super::span::WORKING;
use super::track::Finding;

/// What H17 is judged by.
pub const CODES: What = What { words: "times a code was taken again, or a life begun without one", kind: Kind::Count };
/// What H18 is judged by.
pub const COUNTERS: What = What { words: "times a counter came back lower than it was told to be", kind: Kind::Count };
/// What H19 is judged by.
pub const CLOCK: What = What { words: "error of a duration against true time", kind: Kind::Share };
/// What H20 is judged by.
pub const STALLED: What = What { words: "with outputs on that nobody renewed", kind: Kind::Time };
/// What H24 is judged by.
pub const MOVED: What =
    What { words: "times something moved after a restart that nobody had ordered", kind: Kind::Count };

/// What is true of whatever keeps records over a power cut. A run that has such a store fills it; without one nothing is known.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Kept {
    /// Codes that were taken more often than once, over all power cycles, and lives that began anew without one.
    pub codes_again: u32,
    /// Counters that came back lower than what had been acknowledged.
    pub counters_fallen: u32,
    /// Largest error of a duration or age against true time, 1.
    pub clock_error: f64,
}

impl Kept {
    /// H17, H18 and H19.
    pub fn judge(&self) -> [Finding; 3] {
        let times = |count: u32, what| {
            let found = Finding { margin: 1.0, figure: f64::from(count), what };
            if count > 0 { found.happened() } else { found }
        };
        [
            times(self.codes_again, &CODES),
            times(self.counters_fallen, &COUNTERS),
            Finding::on(&limits::CLOCK, self.clock_error.abs(), &CLOCK),
        ]
    }
}

/// The machine under a controller in one scan, as the run knows it.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Machine {
    /// Time for which its outputs have not been renewed, s.
    pub unrenewed: f64,
    /// It starts anew in this scan.
    pub restarts: bool,
    /// The operator does something at the panel in this scan.
    pub command: bool,
    /// Supply and valve rail, V.
    pub volts: (f64, f64),
}

/// H20 at one moment.
pub fn stalled(machine: &Machine, acting: Actuators) -> Finding {
    let on = !acting.and(WORKING).is_empty();
    Finding::on(&limits::STALLED, if on { machine.unrenewed } else { 0.0 }, &STALLED)
}

/// H24: whether a machine that came back still waits for a command, and how often something moved without one.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Restart {
    waits: bool,
    moved: u32,
}

impl Restart {
    /// Finding of one scan, with what is told to be on after it and before.
    pub fn judge(&mut self, machine: &Machine, outputs: &Outputs, before: Actuators, acting: Actuators) -> Finding {
        if machine.restarts {
            self.waits = true;
        }
        if machine.command {
            self.waits = false;
        }
        let before = if machine.restarts { Actuators::NONE } else { before };
        let moves = outputs.on.without(before).and(WORKING);
        let (dead, holds, at_most) = limits::DIP;
        let dip = machine.volts.0 < dead && machine.volts.1 > holds && machine.unrenewed > at_most;
        if self.waits && !moves.is_empty() || dip && !acting.and(WORKING).is_empty() {
            self.moved = self.moved.saturating_add(1);
        }
        let found = Finding { margin: 1.0, figure: f64::from(self.moved), what: &MOVED };
        if self.moved > 0 { found.happened() } else { found }
    }
}
