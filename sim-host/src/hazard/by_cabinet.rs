//! The cabinet: H01 gas and what lights it, H22 air.

use valvewright_core::frame::{Actuator, Actuators};

use crate::report::data::{Kind, What};

use super::facts::Station;
use super::limits;
use super::sight::{Field, Values};
use super::span::{Positions, Span};
use super::track::Finding;

/// What can make a spark or a hot surface: motors and contactors. The fan is made for the zone or stands outside it.
const IGNITES: Actuators = Actuators::of(&[Actuator::C1, Actuator::P1, Actuator::H1, Actuator::H2]);

/// What H01 is judged by.
pub const GAS: What = What { words: "of the lower flammable limit in the cabinet", kind: Kind::Share };
/// What H22 is judged by.
pub const AIRLESS: What = What { words: "with something on and no air through the cabinet", kind: Kind::Time };

/// H01. Gas of any amount alerts at most while nothing is on that could light it.
pub fn gas(values: &Values, at: &Positions) -> Finding {
    let found = Finding::on(&limits::CABINET_GAS, values.get(Field::CabinetGas), &GAS);
    if at.acting.and(IGNITES).is_empty() { found.barred() } else { found }
}

/// H22: how long something has been on without air, s.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Airless {
    stood: f64,
}

impl Airless {
    /// Findings at both ends of a span.
    pub fn judge(&mut self, span: &Span<'_>, station: &Station) -> (Finding, Finding) {
        let moves = |v: &Values| station.fan.is_none_or(|design| v.get(Field::FanFlow) >= limits::AIRED_SHARE * design);
        let aired = span.at.fan_turns && span.at.door_shut && moves(span.a);
        let before = self.stood;
        self.stood = if aired || !span.at.works() { 0.0 } else { before + span.length() };
        let on = |stood: f64| Finding::on(&limits::AIRLESS, stood, &AIRLESS);
        if self.stood > 0.0 { (on(before), on(self.stood)) } else { (on(0.0), on(0.0)) }
    }
}
