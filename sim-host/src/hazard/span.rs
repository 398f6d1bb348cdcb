//! A span of time in which nothing switches and every figure of the plant runs straight: its two ends, and what is on in it.

use valvewright_core::frame::{ACTUATOR_COUNT, Actuator, Actuators};

use super::sight::Values;

/// Every output but the fan: what moves gas, oil or heat.
pub const WORKING: Actuators = Actuators::ALL.without(Actuators::of(&[Actuator::K1]));

/// What is open and on, and what it was told to be.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Positions {
    /// Put out by whoever drives the station.
    pub told: Actuators,
    /// On in truth: as told, or held against it.
    pub acting: Actuators,
    /// Couplers are on the vehicle.
    pub coupled: bool,
    /// The service door is shut.
    pub door_shut: bool,
    /// The cabinet's fan turns fast enough to move air.
    pub fan_turns: bool,
    /// Oil reaches the identifier.
    pub oil_film: bool,
}

impl Positions {
    /// Whether one actuator is on in truth.
    pub fn on(&self, one: Actuator) -> bool {
        self.acting.has(one)
    }

    /// Whether a service valve is open.
    pub fn service(&self) -> bool {
        self.on(Actuator::Xv1) || self.on(Actuator::Xv2)
    }

    /// Whether a way from the vessel's liquid to a hose is open.
    pub fn charges(&self) -> bool {
        self.on(Actuator::Xv5) && self.on(Actuator::Xv10) && self.service()
    }

    /// Whether a way from a hose into the station is open.
    pub fn recovers(&self) -> bool {
        self.on(Actuator::Xv3) && self.service()
    }

    /// Whether anything beside the fan is on.
    pub fn works(&self) -> bool {
        !self.acting.and(WORKING).is_empty()
    }

    /// Whether the way through all of `series` is open in truth, though one of them is told to be shut; `leak_by` is how far each one
    /// stays open when it is shut.
    pub fn open_against_order(&self, series: Actuators, leak_by: &[f64; ACTUATOR_COUNT]) -> bool {
        let members = || Actuator::ALL.into_iter().filter(|one| series.has(*one));
        let told_shut = members().any(|one| !self.told.has(one));
        let passes =
            |one: Actuator| self.acting.has(one) || leak_by.get(one as usize).is_some_and(|share| *share > 0.0);
        told_shut && members().all(passes)
    }
}

/// A span.
#[derive(Debug)]
pub struct Span<'a> {
    /// Its ends, s.
    pub time: (f64, f64),
    /// Figures at its start.
    pub a: &'a Values,
    /// Figures at its end.
    pub b: &'a Values,
    /// What is on in it.
    pub at: &'a Positions,
}

impl Span<'_> {
    /// How long it is, s.
    pub fn length(&self) -> f64 {
        self.time.1 - self.time.0
    }

    /// What a flow moved in it.
    pub fn moved(&self, flow: impl Fn(&Values) -> f64) -> f64 {
        0.5 * (flow(self.a) + flow(self.b)) * self.length()
    }
}
