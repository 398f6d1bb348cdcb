//! The supply as faults make it: its voltage, the valve rail behind its supervisor, and whether the machine lives.

use valvewright_core::frame::{Actuator, Actuators, SelfCheck, SelfChecks};
use valvewright_core::kept::Boot;

use super::Injector;
use crate::fault::{Effect, Power};
use crate::run::seams::Platform;

/// A good supply, V.
const GOOD: f64 = 24.0;
/// Below this the supervisor opens the rail of valves and contactors: three quarters of it, where a coil may let go (own choice).
const RAIL: f64 = 18.0;
/// Below this a valve that has still a rail lets go (own choice: a third, as spring-closed valves hold; from memory).
const HOLDS: f64 = 8.0;
/// Below this the machine is dead (own choice: what a regulator to 5 V needs with some room).
const MACHINE: f64 = 9.0;
/// A supply bridges so much of a gap in the mains, s (20 ms is common, from memory).
const BRIDGES: f64 = 0.020;

/// The supply in a scan.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Supply {
    pub(super) volts: f64,
    /// The mains are off: what turns on them stands, the fan too.
    pub(super) mains_off: bool,
    rail_lost: bool,
    /// The monitor says good and the voltage is not.
    unseen: bool,
    boot: Boot,
}

impl Supply {
    fn dead(&self) -> bool {
        self.volts < MACHINE
    }

    /// What has no current in front of its contacts.
    pub(super) fn unfed(&self) -> Actuators {
        if self.mains_off { Actuators::ALL } else { Actuators::NONE }
    }
}

/// What all that acts makes of the supply at `t`.
pub(super) fn state(injector: &Injector, t: f64) -> Supply {
    let mut state = Supply { volts: GOOD, mains_off: false, rail_lost: false, unseen: false, boot: Boot::BrownOut };
    let mut stuck = false;
    for (slot, effect) in injector.acting() {
        let power = match effect {
            Effect::Power(power) => *power,
            // The mains are cut at a write.
            Effect::Store(_) if slot.mark.is_finite() && t < slot.mark => Power::Off,
            _ => continue,
        };
        let since = t - slot.since();
        match power {
            Power::Off => (state.volts, state.mains_off, state.boot) = (0.0, true, Boot::PowerOn),
            Power::Sag { to, rate } => state.volts = state.volts.min((GOOD - rate * since).max(to * GOOD)),
            Power::Dips { length, every } => {
                if since % every < length - BRIDGES {
                    (state.volts, state.mains_off) = (0.0, true);
                }
            }
            Power::RailOff => state.rail_lost = true,
            Power::MonitorStuck => stuck = true,
        }
    }
    let low = state.volts < RAIL;
    state.unseen = stuck && low;
    state.rail_lost |= if stuck { state.volts < HOLDS } else { low };
    state
}

impl Injector {
    /// What the supply does to the machine and its outputs in this scan; its volts are returned.
    pub(super) fn supply(&mut self, t: f64, platform: &mut Platform) -> f64 {
        let state = state(self, t);
        platform.rail_lost |= state.rail_lost;
        if state.rail_lost {
            // A rail that is lost alone feeds the valves; a supply that is too low pulls no contactor either.
            let low = state.volts < RAIL;
            let fan = Actuators::of(&[Actuator::K1]);
            platform.dead = platform.dead.or(if low { Actuators::ALL.without(fan) } else { Actuators::VALVES });
        }
        if state.unseen {
            platform.failed = platform.failed.or(SelfChecks::of(&[SelfCheck::Supply]));
        }
        platform.unpowered |= state.mains_off && state.dead();
        platform.stalled |= state.dead();
        if let Some(boot) = self.dead.filter(|_| !state.dead()) {
            platform.restart = Some(boot);
        }
        self.dead = state.dead().then_some(self.dead.filter(|boot| *boot == Boot::PowerOn).unwrap_or(state.boot));
        state.volts
    }
}
