//! What goes where it should not: H12 in on the word of a fouled identifier, H13 out into the air.

use crate::report::data::{Kind, What};

use super::limits;
use super::sight::{Field, Values};
use super::span::Span;
use super::track::Finding;

/// What H12 is judged by.
pub const TAKEN: What = What { words: "taken in while oil stood in the identifier", kind: Kind::Mass };
/// What H13 is judged by.
pub const VENTED: What = What { words: "let out by one opening of the purge or oil drain valve", kind: Kind::Mass };

/// A flow is none below this, kg/s: the plant's own rounding.
const NO_FLOW: f64 = 1e-7;

/// H12: taken in on this connection, kg. An identifier that was cleaned on it begins anew.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Fouled {
    taken: f64,
}

impl Fouled {
    /// Findings at both ends of a span.
    pub fn judge(&mut self, span: &Span<'_>) -> (Finding, Finding) {
        let before = self.taken;
        self.taken = if !(span.at.oil_film && span.at.coupled) {
            0.0
        } else if span.at.recovers() {
            before + span.moved(|v| v.get(Field::IntakeFlow).max(0.0))
        } else {
            before
        };
        let on = |mass: f64| Finding::on(&limits::FOULED, mass, &TAKEN);
        if self.taken > 0.0 { (on(before), on(self.taken)) } else { (on(0.0), on(0.0)) }
    }
}

/// H13: one event of each valve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vents {
    purge: Event,
    drain: Event,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Event {
    gone: f64,
    /// For how long nothing has gone, s.
    quiet: f64,
}

impl Event {
    const IDLE: Self = Self { gone: 0.0, quiet: f64::INFINITY };

    fn go(&mut self, moved: f64, length: f64) {
        if moved > NO_FLOW * length {
            let goes_on = self.quiet < limits::VENT_PAUSE;
            *self = Self { gone: moved + if goes_on { self.gone } else { 0.0 }, quiet: 0.0 };
        } else {
            self.quiet += length;
        }
    }

    fn now(self) -> f64 {
        if self.quiet < limits::VENT_PAUSE { self.gone } else { 0.0 }
    }
}

impl Default for Vents {
    fn default() -> Self {
        Self { purge: Event::IDLE, drain: Event::IDLE }
    }
}

impl Vents {
    /// Findings at both ends of a span.
    pub fn judge(&mut self, span: &Span<'_>) -> (Finding, Finding) {
        let on = |gone: f64| Finding::on(&limits::VENTED, gone, &VENTED);
        let before = self.purge.now().max(self.drain.now());
        let out = |field: Field| span.moved(|v: &Values| v.get(field).max(0.0));
        self.purge.go(out(Field::PurgeFlow), span.length());
        self.drain.go(out(Field::DrainFlow), span.length());
        (on(before), on(self.purge.now().max(self.drain.now())))
    }
}
