//! What the shop does when a refused vehicle has left its gas in the hoses: it decontaminates them into an external cylinder.

use valvewright_core::kept::Hoses;
use valvewright_core::order::Procedure;

use super::run::{TURN, Years};
use super::service::BEGINS;
use crate::run::{RunError, Visit};
use crate::scenario::Scenario;
use crate::scenario::model::{Operator, Order, Phase, Sides, Vehicle, Volumes};

/// The cylinder, m3: 12 L in three parts, evacuated (own choice).
const CYLINDER: Volumes = Volumes { high_side: 5e-3, low_side: 5e-3, accumulator: 2e-3 };

impl Years {
    /// Where the record says that a foreign gas stands in the hoses; what does not succeed is tried again before the next service.
    pub(super) fn clean_hoses(&mut self, number: u32, ambient: f64) -> Result<(), RunError> {
        if self.outside.acknowledged.hoses != Hoses::Foreign {
            return Ok(());
        }
        let scenario = cylinder(&self.bay, ambient);
        let at = self.sim()?.time() + TURN;
        self.sim()?.stand_until(at, ambient)?;
        let visit = Visit::of(&scenario)?;
        self.comes(&visit)?;
        self.session(number, (&scenario, &visit), &[], TURN, true)?;
        self.goes()?;
        let clean = self.outside.acknowledged.hoses != Hoses::Foreign;
        self.month(at).cleanings[usize::from(!clean)] += 1;
        Ok(())
    }
}

/// An evacuated cylinder on both couplers, and the order.
fn cylinder(bay: &Scenario, ambient: f64) -> Scenario {
    Scenario {
        name: "cylinder".to_owned(),
        site: crate::scenario::model::Site { ambient, ..bay.site },
        vehicle: Vehicle {
            label: "External cylinder".to_owned(),
            content: 0.0,
            air: 0.0,
            volumes: CYLINDER,
            oil_amount: 1e-6,
            engine_bay: ambient,
            ..bay.vehicle.clone()
        },
        order: Order {
            phases: vec![Phase::Upkeep],
            charge: 0.0,
            sides: Sides::Both,
            upkeep: Some((Procedure::Decontaminate, 0.0)),
            ..bay.order.clone()
        },
        operator: Operator { begins: BEGINS, delay: 10.0, ..bay.operator.clone() },
        ..bay.clone()
    }
}
