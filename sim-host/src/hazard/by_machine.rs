//! The machines: H07 liquid into the compressor, H08 pressure before the vacuum pump, H09 heat and dead ends.

use valvewright_core::frame::Actuator;

use crate::report::data::{Kind, What};

use super::facts::Station;
use super::limits;
use super::sight::{Field, Values};
use super::span::{Positions, Span};
use super::track::Finding;

/// What H07 is judged by.
pub const FULL: What = What { words: "of the oil separator full of liquid", kind: Kind::Share };
/// What H08 is judged by.
pub const BLOWN: What = What { words: "before the open valve of the vacuum pump", kind: Kind::OverBarometer };
/// The same at the other end.
const EXHAUST: What = What { words: "of refrigerant out of the vacuum pump", kind: Kind::Flow };
/// What H09 is judged by.
pub const SKIN: What = What { words: "at the skin of the heater", kind: Kind::Temperature };
/// The same behind the compressor.
pub const HOT_GAS: What = What { words: "in the gas behind C-1", kind: Kind::Temperature };
/// The same.
const PIPE: What = What { words: "in the pipe behind C-1", kind: Kind::Pressure };
/// The same.
const DEAD_ENDED: What = What { words: "of C-1 against a shut XV-4", kind: Kind::Time };

/// H07. A full separator before a standing compressor alerts: the next start draws from it.
pub fn slug(values: &Values, at: &Positions) -> Finding {
    let found = Finding::on(&limits::SEPARATOR, values.get(Field::SeparatorLevel), &FULL);
    if at.on(Actuator::C1) { found } else { found.barred() }
}

/// H08.
pub fn pump(values: &Values, at: &Positions, station: &Station) -> Finding {
    let exhaust = Finding::on(&limits::PUMP_EXHAUST, values.get(Field::PumpExhaust), &EXHAUST);
    let before = if at.on(Actuator::Xv6) {
        Finding::on(&limits::PUMP_PRESSURE, values.get(Field::ManifoldP) - station.barometer, &BLOWN)
    } else {
        Finding::calm(&BLOWN)
    };
    before.or(exhaust)
}

/// H09: how long C-1 has worked against a shut XV-4, s.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Heat {
    dead: f64,
}

impl Heat {
    /// Findings at both ends of a span.
    pub fn judge(&mut self, span: &Span<'_>, heated: bool) -> (Finding, Finding) {
        let runs = span.at.on(Actuator::C1);
        let against = runs && !span.at.on(Actuator::Xv4);
        let before = self.dead;
        self.dead = if against { before + span.length() } else { 0.0 };
        let at = |values: &Values, dead: f64| {
            let mut found = Finding::on(&limits::DISCHARGE_PRESSURE, values.get(Field::DischargeP), &PIPE);
            if runs {
                found = found.or(Finding::on(&limits::DISCHARGE_HEAT, values.get(Field::DischargeT), &HOT_GAS));
            }
            if heated {
                found = found.or(Finding::on(&limits::HEATER_SKIN, values.get(Field::HeaterSkin), &SKIN));
            }
            if dead > limits::DEAD_HEAD {
                found.or(Finding { margin: 0.5, figure: dead, what: &DEAD_ENDED })
            } else {
                found
            }
        };
        (at(span.a, if against { before } else { 0.0 }), at(span.b, self.dead))
    }
}
