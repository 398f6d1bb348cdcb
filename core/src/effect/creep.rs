//! Mass that moves while nothing is open is the scale's own doing (I20), but for what relief valves let through.

use crate::config::LETS_OFF;
use crate::frame::{Actuator, Actuators};
use crate::sense::Readings;
use crate::units::*;

/// I20: change of mass with every valve shut.
const CREEP: Milligram = Milligram(5_000);
/// The ten seconds of I20.
const CREEP_WINDOW: Millis = Millis::from_secs(10);
/// I20: change of mass over a whole rest: creep of the cell, 0.1 g/K and the hoses' force make 8 g at most, 1.1 g were the most in sound
/// jobs (own figures).
const REST_MOVED: Milligram = Milligram(12_000);
/// How long the mass must stand off to have moved: a knock is over sooner (F025: 2 s).
const CREEP_HELD: Millis = Millis(2_000);
/// Valves just shut and motors just stopped leave the platform ringing.
const CREEP_QUIET: Millis = Millis::from_secs(6);
/// A change while it rings that is no ringing: the flow's lag is 8 g (17 g/s x 0.45 s), vibration 3 g, hose force some 6 g
/// (own figures).
const RINGING: Milligram = Milligram(25_000);
/// What may be on while the vessel is watched: no motor that shakes the platform, and no XV-1 or XV-2, since the hoses pull at it with
/// their pressure.
const AT_REST: Actuators = Actuators::SAFE;
/// Ways by which the vessel's mass changes. While none is open, what it weighed before is still to be found afterwards.
const VESSEL_WAYS: Actuators =
    Actuators::of(&[Actuator::Xv4, Actuator::Xv5, Actuator::Xv7, Actuator::Xv10, Actuator::C1]);
/// A hose that stands so far above the vessel may be led into it by its own relief, NRV-3 or NRV-4: their 18 bar less what springs and two
/// gauges may be off (own choice).
const LETS_IN: AbsPa = AbsPa(1_700_000);

#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Creep {
    quiet: Millis,
    quiet_from: Option<Milligram>,
    /// What it weighed when this rest had become quiet.
    rest_from: Option<Milligram>,
    window: Millis,
    moved: Millis,
    found: bool,
}

impl Creep {
    pub(super) const fn found(&self) -> bool {
        self.found
    }

    /// Mass that moves while nothing is open.
    ///
    /// What a scale reads after it was shaken or lost is held against what it read before: a step shakes it too. Once found,
    /// it goes only by a quiet window at rest; opening a valve is none.
    pub(super) fn step(&mut self, dt: Millis, r: &Readings, on: Actuators) {
        let relieved = Self::let_through(r);
        if relieved || !on.without(AT_REST).is_empty() {
            (self.quiet, self.window, self.moved) = (Millis(0), Millis(0), Millis(0));
            self.rest_from = None;
            if relieved || !on.and(VESSEL_WAYS).is_empty() {
                self.quiet_from = None;
            }
            return;
        }
        let Some(m) = r.wt1.mass.usable() else { return };
        let off = m.minus(*self.quiet_from.get_or_insert(m)).0.saturating_abs();
        let ringing = self.quiet < CREEP_QUIET;
        let limit = if ringing { RINGING } else { CREEP };
        let in_all = self.rest_from.map_or(0, |from| m.minus(from).0.saturating_abs());
        self.moved = if off > limit.0 || in_all > REST_MOVED.0 { self.moved.plus(dt) } else { Millis(0) };
        if self.moved >= CREEP_HELD {
            self.found = true;
            (self.quiet_from, self.rest_from) = (Some(m), Some(m));
            (self.window, self.moved) = (Millis(0), Millis(0));
        } else if self.moved > Millis(0) {
            // Neither quiet nor moved yet.
        } else if ringing {
            self.quiet = self.quiet.plus(dt);
            if self.quiet >= CREEP_QUIET {
                (self.quiet_from, self.rest_from) = (Some(m), Some(m));
            }
        } else {
            self.window = self.window.plus(dt);
            if self.window >= CREEP_WINDOW {
                self.found = false;
                (self.quiet_from, self.window) = (Some(m), Millis(0));
            }
        }
    }

    /// A person changes the load, and says so: what was weighed before is no measure of what is weighed after.
    pub(super) fn moved_by_hand(&mut self) {
        *self = Self { found: self.found, ..Self::default() };
    }

    /// Whether a relief valve may be letting something out of the vessel or into it, which moves the mass and not the scale.
    fn let_through(r: &Readings) -> bool {
        let Some(p) = r.pt1.usable() else { return false };
        let above = |hose: Option<AbsPa>| hose.is_some_and(|hose| hose.minus(p) >= LETS_IN);
        p >= LETS_OFF || above(r.pt2.usable()) || above(r.pt3.usable())
    }
}
