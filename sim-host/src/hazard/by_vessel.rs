//! The vessel and what came into it: H02 liquid, H04 foreign gas, H05 air, H16 water, H23 relief.

use valvewright_core::frame::Actuator;

use crate::report::data::{Kind, What};

use super::facts::{Station, Vehicle};
use super::limits;
use super::sight::{Field, Values};
use super::span::{Positions, Span};
use super::track::Finding;

/// Molar masses of air and refrigerant, g/mol: both refrigerants stand within 6 % of 108 (from memory).
const MOLAR: (f64, f64) = (29.0, 108.0);
/// A flow, kg/s, and a pressure difference that would make one are none below this: the plant's own rounding.
const NO_FLOW: f64 = 1e-6;
/// Below this content no share of it is worth a word, kg.
const WORTH_A_WORD: f64 = 1e-3;

/// What H02 is judged by.
pub const FULL_OF_LIQUID: What = What { words: "of the vessel full of liquid", kind: Kind::Share };
/// What H04 is judged by.
pub const FOREIGN: What = What { words: "of another gas in the vessel", kind: Kind::Share };
/// The same while it comes.
const COMING: What = What { words: "of another gas in what the open recovery way draws from", kind: Kind::Share };
/// What H05 is judged by.
pub const AIR_IN_VESSEL: What = What { words: "of air in the vessel, by mass", kind: Kind::Trace };
/// The same at the compressor.
const AT_COMPRESSOR: What = What { words: "of air by volume in what C-1 draws", kind: Kind::Share };
/// What H16 is judged by.
pub const WATER: What = What { words: "of water in the vessel, by mass", kind: Kind::Trace };
/// What H23 is judged by.
pub const VESSEL_PRESSURE: What = What { words: "in the vessel", kind: Kind::Pressure };

fn share(part: f64, whole: f64) -> f64 {
    if whole > WORTH_A_WORD { part / whole } else { 0.0 }
}

/// H02. Filled beyond the rule alerts, however cold the vessel now is.
pub fn liquid(values: &Values, station: &Station) -> Finding {
    let found = Finding::on(&limits::VESSEL_LIQUID, values.get(Field::VesselLevel), &FULL_OF_LIQUID);
    let filled = station.filled(values.get(Field::VesselM));
    match filled.is_nan() {
        true => Finding { figure: f64::NAN, ..found },
        false if filled >= limits::FULL_BY_RULE => found.alerted(),
        false => found,
    }
}

/// Foreign gas that the plant does not tell from its own, in the vehicle and in the vessel.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Unseen {
    /// By mass in the vehicle's gas, 1.
    pub vehicle: f64,
    /// In the vessel, kg.
    pub vessel: f64,
}

impl Unseen {
    /// A vehicle has come.
    pub fn comes(&mut self, vehicle: &Vehicle) {
        self.vehicle = vehicle.unseen_foreign;
    }

    /// What of it a span moved. A vehicle that is down to a tenth of what it came with has given it up.
    pub fn moves(&mut self, span: &Span<'_>, vehicle: &Vehicle) {
        if self.vehicle > 0.0 {
            self.vessel += self.vehicle * span.moved(|v| v.get(Field::IntakeFlow).max(0.0));
            if span.b.get(Field::VehicleM) < 0.1 * vehicle.content {
                self.vehicle = 0.0;
            }
        }
    }
}

/// H04.
pub fn foreign(values: &Values, at: &Positions, unseen: &Unseen) -> Finding {
    let mass = values.get(Field::VesselM);
    let vessel = share(values.get(Field::VesselSecond) + unseen.vessel, mass);
    let found = Finding::on(&limits::VESSEL_FOREIGN, vessel, &FOREIGN);
    if !(at.recovers() && at.coupled && values.get(Field::IntakeFlow) > NO_FLOW) {
        return found;
    }
    let second = share(values.get(Field::VehicleSecond), values.get(Field::VehicleM));
    let coming = second + unseen.vehicle * (1.0 - second);
    if coming > limits::FOREIGN_GAS { found.or(Finding { margin: 0.5, figure: coming, what: &COMING }) } else { found }
}

/// H05.
pub fn air(values: &Values, at: &Positions, station: &Station) -> Finding {
    let vessel = Finding::on(
        &limits::VESSEL_AIR,
        share(values.get(Field::VesselAir), values.get(Field::VesselM)),
        &AIR_IN_VESSEL,
    );
    if !at.on(Actuator::C1) {
        return vessel;
    }
    let (air, gas) = (values.get(Field::SeparatorAir) / MOLAR.0, values.get(Field::SeparatorVapour).max(0.0) / MOLAR.1);
    let by_volume = if air + gas > 0.0 { air / (air + gas) } else { 0.0 };
    let drawn = Finding::on(&limits::SUCTION_AIR, by_volume, &AT_COMPRESSOR);
    // Without pressure behind it nothing is compressed.
    let pressed = values.get(Field::DischargeP) > station.barometer;
    vessel.or(if pressed { drawn } else { drawn.barred() })
}

/// H16.
pub fn water(values: &Values) -> Finding {
    Finding::on(&limits::VESSEL_WATER, share(values.get(Field::VesselWater), values.get(Field::VesselM)), &WATER)
}

/// H23.
pub fn relief(values: &Values, station: &Station) -> Finding {
    let pressure = values.get(Field::VesselP);
    let Some(set) = station.relief else { return Finding { figure: pressure, ..Finding::calm(&VESSEL_PRESSURE) } };
    let found = Finding { figure: pressure, ..Finding::on(&limits::RELIEF, pressure / set, &VESSEL_PRESSURE) };
    if values.get(Field::ReliefFlow) > NO_FLOW { found.happened() } else { found }
}
