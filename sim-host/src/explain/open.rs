//! A stop that is not over, and what the operator's hands hold meanwhile.

use valvewright_core::interlock::RowSet;

use super::moments;
use crate::instrument::Truth;
use crate::report::data::{Cause, Moment, Stop};
use crate::say;

/// Outputs are looked at again so long after a stop began: what stops behind a valve has stopped by then, s (own choice).
const SETTLED: f64 = 5.0;
/// Moments of one stop that are taken down; what comes after them is counted only (own choice).
const MOMENTS: usize = 60;
/// A row that acts again so soon, for the same cause and in the same phase, belongs to the stop before, s (own choice).
const AGAIN: f64 = 600.0;

/// A stop that is not over.
#[derive(Default)]
pub struct Open {
    /// What is known of it.
    pub stop: Stop,
    /// Rows that are tripped.
    pub standing: RowSet,
    /// The job was held, or a phase was given up, since it began.
    pub held: bool,
    /// A phase was given up, and the work does not go on.
    pub gave_up: bool,
    /// When the outputs are looked at again, s.
    pub settles: Option<f64>,
    /// Moments beyond [`MOMENTS`].
    untold: usize,
}

impl Open {
    /// One that begins.
    pub fn at(stop: Stop) -> Self {
        Self { settles: Some(stop.t_s + SETTLED), stop, ..Self::default() }
    }

    /// One that goes on.
    pub fn again(stop: Stop) -> Self {
        Self { stop, ..Self::default() }
    }

    /// Takes down something that happened.
    pub fn moment(&mut self, one: Moment) {
        if self.stop.course.len() < MOMENTS {
            self.stop.course.push(one);
        } else {
            self.untold += 1;
        }
    }

    /// What is known at its end, and the rows that are still tripped then.
    pub fn over(self, t_s: f64) -> (Stop, RowSet) {
        let mut stop = self.stop;
        if self.untold > 0 {
            let text = say![format!("{} more were done or told", self.untold)];
            stop.course.push(Moment { t_s, who: moments::STATION, text });
        }
        (stop, self.standing)
    }
}

/// Whether a trip is the stop before going on: the same row for the same cause, soon, in the same job and phase, and nothing else in it.
pub fn goes_on(last: &Stop, one: &Cause, place: (usize, Option<&'static str>)) -> bool {
    let [known] = last.causes.as_slice() else { return false };
    let alike = (known.kind, known.row, &known.watch) == (one.kind, one.row, &one.watch);
    let soon = last.end_t_s.is_some_and(|end| one.t_s <= end + AGAIN);
    alike && soon && (last.job, last.phase) == place
}

/// What the operator's hands hold.
#[derive(Clone, Copy, PartialEq)]
pub struct Hands {
    stop: bool,
    door: bool,
    coupled: bool,
}

impl Hands {
    /// As it is now.
    pub const fn of(truth: &Truth) -> Self {
        Self { stop: truth.estop_pressed, door: truth.door_shut, coupled: truth.coupled }
    }

    /// What was done since.
    pub fn changes(self, now: Self) -> impl Iterator<Item = &'static str> {
        let all = [
            (self.stop, now.stop, "pressed the emergency stop (HS-1)", "pulled the emergency stop (HS-1) out again"),
            (self.door, now.door, "shut the service door", "opened the service door"),
            (self.coupled, now.coupled, "put the couplers on", "took the couplers off, or they came off"),
        ];
        let changed = all.into_iter().filter(|(before, now, ..)| before != now);
        changed.map(|(_, now, on, off)| if now { on } else { off })
    }
}
