//! The supply as faults make it: its voltage, the valve rail behind its supervisor, and whether the machine lives.

use valvewright_core::frame::{Actuator, Actuators};

use super::Injector;
use crate::fault::{Effect, Power};

/// A good supply, V.
const GOOD: f64 = 24.0;
/// Below this the supervisor opens the rail of valves and contactors: three quarters of it, where a coil may let go (own choice).
const RAIL: f64 = 18.0;
/// Below this the machine is dead (own choice: what a regulator to 5 V needs with some room).
const MACHINE: f64 = 9.0;
/// A supply bridges so much of a gap in the mains, s (20 ms is common, from memory).
const BRIDGES: f64 = 0.020;

/// The supply in a scan.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Supply {
    pub(super) supply: f64,
    pub(super) rail: f64,
    /// The mains are off: what turns on them stands.
    pub(super) mains_off: bool,
}

impl Supply {
    pub(super) fn dead(&self) -> bool {
        self.supply < MACHINE
    }

    /// What no coil is pulled of.
    pub(super) fn without(&self) -> Actuators {
        // The fan has a supply of its own, from the same mains.
        let rail =
            if self.rail < RAIL { Actuators::ALL.without(Actuators::of(&[Actuator::K1])) } else { Actuators::NONE };
        if self.mains_off { Actuators::ALL } else { rail }
    }

    /// It is not what it was, or the machine is dead or just was.
    pub(super) fn changes(&self, supply: f64, rail: f64, was_dead: bool) -> bool {
        (self.supply, self.rail) != (supply, rail) || self.dead() || was_dead
    }
}

/// What all that acts makes of the supply at `t`.
pub(super) fn state(injector: &Injector, t: f64) -> Supply {
    let mut state = Supply { supply: GOOD, rail: GOOD, mains_off: false };
    let mut rail_off = false;
    for (slot, effect) in injector.acting() {
        let Effect::Power(power) = effect else { continue };
        let since = t - slot.since();
        match *power {
            Power::Off => (state.supply, state.mains_off) = (0.0, true),
            Power::Sag { to, rate } => state.supply = state.supply.min((GOOD - rate * since).max(to * GOOD)),
            Power::Dips { length, every } => {
                if since % every < length - BRIDGES {
                    (state.supply, state.mains_off) = (0.0, true);
                }
            }
            Power::RailOff => rail_off = true,
        }
    }
    state.rail = if rail_off || state.supply < RAIL { 0.0 } else { state.supply };
    state
}
