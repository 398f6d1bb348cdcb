//! What the operator's hand reaches in the plant: couplers, the vehicle's own compressor, nitrogen in and out, door and stop.

use valvewright_core::job::Sides;
use valvewright_core::order::Procedure;

use super::operator::Hand;
use crate::instrument::Truth;
use crate::plant::{ElementId, Plant};
use crate::scenario::Scenario;

/// Heat transfer of condenser and evaporator while the vehicle's A/C runs: fans outside, streaming gas and liquid inside,
/// W/K (own choice, a small car at idle).
const VEHICLE_FANS: &[(&str, f64)] = &[
    ("vehicle_high.to_ambient", 300.0),
    ("vehicle_high.wet", 400.0),
    ("vehicle_high.dry", 100.0),
    ("vehicle_low.to_ambient", 80.0),
    ("vehicle_low.wet", 150.0),
];
/// A person shuts the way out when nothing is heard any more, Pa over the barometer.
const QUIET: f64 = 300.0;

/// Test gas at AT-2, as a share of the lower flammable limit (own choice: beyond the set point of I01, so that the row is tried with it).
const TEST_GAS: f64 = 0.2;
/// What a hand pump puts on PSH-1, Pa: beyond every set point of it (own choice).
const HAND_PUMP: f64 = 30e5;

/// Where a reference weight goes, and what it weighs.
fn weight(scenario: &Scenario) -> (usize, f64) {
    let (of, mass) = scenario.order.upkeep.unwrap_or_default();
    let scale = match of {
        Procedure::UsedOilScale => 1,
        Procedure::NewOilScale => 2,
        _ => 0,
    };
    (scale, scenario.operator.weight.unwrap_or(mass))
}

/// Elements that nobody but the operator moves.
#[derive(Debug, Clone, Default)]
pub struct Reach {
    /// Of the couplers that the vehicle has.
    couplers: Vec<ElementId>,
    high_coupler: Vec<ElementId>,
    vehicle_compressor: Option<ElementId>,
    nitrogen: Option<ElementId>,
    release: Option<ElementId>,
    /// Pressure to which nitrogen is let in, Pa.
    test: f64,
    /// Pressure to which it is let out, Pa.
    open: f64,
    filling: bool,
    releasing: bool,
    /// The scale that a reference weight is put on, and the weight, kg.
    weight: (usize, f64),
}

impl Reach {
    /// Finds them; what a network lacks is not there to be moved.
    pub fn find(plant: &Plant, names: &[&str], scenario: &Scenario) -> Self {
        let by_hand = |prefix: &str| {
            let mine = names.iter().filter(|n| n.starts_with(prefix));
            mine.filter_map(|n| plant.element(n)).collect::<Vec<_>>()
        };
        let couplers = match scenario.order.sides {
            Sides::Both => by_hand("coupler"),
            Sides::Low => by_hand("coupler_low"),
            Sides::High => by_hand("coupler_high"),
        };
        Self {
            couplers,
            high_coupler: by_hand("coupler_high"),
            vehicle_compressor: plant.element("vehicle_compressor"),
            nitrogen: plant.element("nitrogen"),
            release: plant.element("release"),
            test: scenario.site.barometer + scenario.order.test_over,
            open: scenario.site.barometer + QUIET,
            filling: false,
            releasing: false,
            weight: weight(scenario),
        }
    }

    /// The same, found anew in a network that changed about it.
    pub fn again(&self, plant: &Plant, names: &[&str], scenario: &Scenario) -> Self {
        Self { filling: self.filling, releasing: self.releasing, ..Self::find(plant, names, scenario) }
    }

    /// Shuts bottle or outlet when the pressure is what it should be.
    pub fn ends(&self, truth: &Truth, hands: &mut Vec<Hand>) {
        if self.filling && truth.p_high.max(truth.p_low) >= self.test {
            hands.push(Hand::ShutNitrogen);
        }
        if self.releasing && truth.p_high.max(truth.p_low) <= self.open {
            hands.push(Hand::ShutRelease);
        }
    }

    /// Does one thing by hand.
    pub fn act(&mut self, hand: Hand, plant: &mut Plant, truth: &mut Truth) {
        let mut set = |elements: &[ElementId], opening: f64| {
            elements.iter().for_each(|element| plant.set(*element, opening));
        };
        match hand {
            Hand::Weight(on) => {
                let (scale, kg) = self.weight;
                truth.extra_kg = [0.0; 3];
                truth.extra_kg[scale] = if on { kg } else { 0.0 };
            }
            Hand::TestGas(on) => truth.test_gas = if on { TEST_GAS } else { 0.0 },
            // The network is another with it: the run does that.
            Hand::ChangeVessel => {}
            Hand::PumpUp(on) => truth.p_hand_pump = if on { HAND_PUMP } else { 0.0 },
            Hand::Stop(pressed) => truth.estop_pressed = pressed,
            Hand::Door(open) => truth.door_shut = !open,
            Hand::Coupled(on) => {
                truth.coupled = on;
                set(&self.couplers, if on { 1.0 } else { 0.0 });
            }
            Hand::ShutCouplers => {
                set(&self.couplers, 0.0);
                set(self.vehicle_compressor.as_slice(), 0.0);
            }
            Hand::FillNitrogen | Hand::ShutNitrogen => {
                self.filling = hand == Hand::FillNitrogen;
                set(self.nitrogen.as_slice(), if self.filling { 1.0 } else { 0.0 });
            }
            Hand::Release | Hand::ShutRelease => {
                self.releasing = hand == Hand::Release;
                set(self.release.as_slice(), if self.releasing { 1.0 } else { 0.0 });
            }
            Hand::VehicleCompressor => {
                set(&self.high_coupler, 0.0);
                set(self.vehicle_compressor.as_slice(), 1.0);
                for (parameter, conductance) in VEHICLE_FANS {
                    // A network without that wall has no fan to run.
                    let _absent = plant.set_param(parameter, *conductance);
                }
            }
        }
    }
}
