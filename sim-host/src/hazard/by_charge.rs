//! The vehicle: H06 its charge, H10 its leak, H11 its oil.

use valvewright_core::frame::Actuator;

use crate::report::data::{Kind, What};

use super::facts::Vehicle;
use super::limits;
use super::sight::{Field, Values};
use super::span::{Positions, Span};
use super::track::Finding;

/// What H06 is judged by.
pub const AGAINST_ORDER: What = What { words: "in the vehicle against what was ordered", kind: Kind::MassDifference };
/// What H10 is judged by.
pub const LOST: What = What { words: "through the hole of a circuit that is charged", kind: Kind::Loss };
/// What H11 is judged by.
pub const OIL: What = What { words: "of oil of another kind than the vehicle takes", kind: Kind::Mass };

/// H06 while a job runs: too much in the vehicle after something was charged. It may still be taken out, so it is no accident yet.
pub fn overcharged(values: &Values, vehicle: &Vehicle, charged: bool) -> Finding {
    match vehicle.target.filter(|_| charged) {
        Some(target) => {
            let over = (values.get(Field::VehicleM) - target).max(0.0);
            Finding { figure: over, ..Finding::on(&limits::CHARGE_OFF, over, &AGAINST_ORDER).barred() }
        }
        None => Finding::calm(&AGAINST_ORDER),
    }
}

/// H06 when the order is over. What is too much stays in the vehicle, whatever was told. What is missing is an accident where the operator
/// was told that all is done, for that is how a vehicle is handed over; else it is known.
pub fn at_the_end(values: &Values, vehicle: &Vehicle, told_done: bool, charged: bool) -> Option<Finding> {
    let target = vehicle.target.filter(|_| told_done || charged)?;
    let off = values.get(Field::VehicleM) - target;
    let found = Finding { figure: off, ..Finding::on(&limits::CHARGE_OFF, off.abs(), &AGAINST_ORDER) };
    Some(if told_done || off > 0.0 { found } else { found.barred() })
}

/// H10.
pub fn leaking(values: &Values, at: &Positions, vehicle: &Vehicle) -> Finding {
    if !(at.charges() && at.coupled) {
        return Finding::calm(&LOST);
    }
    let share = vehicle.hole / limits::LEAK_HOLE;
    let loss = (limits::LEAK.accident * share * share).max(values.get(Field::LeakFlow));
    Finding::on(&limits::LEAK, loss, &LOST)
}

/// H11: wrong oil that went into this vehicle, kg.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct WrongOil {
    gone: f64,
}

impl WrongOil {
    /// Findings at both ends of a span. A vehicle without high voltage takes harm slowly: it alerts.
    pub fn judge(&mut self, span: &Span<'_>, vehicle: &Vehicle) -> (Finding, Finding) {
        let before = self.gone;
        if vehicle.other_oil && span.at.coupled && span.at.service() && span.at.on(Actuator::Xv9) {
            self.gone += (span.a.get(Field::NewOil) - span.b.get(Field::NewOil)).max(0.0);
        }
        let on = |mass: f64| {
            let found = Finding::on(&limits::WRONG_OIL, mass, &OIL);
            if vehicle.high_voltage { found } else { found.barred() }
        };
        (on(before), on(self.gone))
    }
}
