//! What leaves the vessel: through the purge valve (I18) and where nothing is open (I29).

use crate::frame::{Actuator, Actuators};
use crate::row::{Watch, WatchSet};
use crate::sense::Readings;
use crate::units::{Milligram, Millis};

/// How long XV-7 may be open in a day: ninety pulses of 2 s with their strokes, which is one whole purge (own choice).
const PURGE_MOST: Millis = Millis::from_secs(200);
/// The day begins with the first opening.
const DAY: Millis = Millis::from_secs(24 * 3600);
/// The 20 g of I18, by one opening: a pulse passes 4 to 12 g (own figures).
const VENT_MOST: Milligram = Milligram(20_000);
/// So long after XV-7 has shut what is missing has gone through it; the next pulse comes then at the soonest (own choice).
const VENT_WATCHED: Millis = Millis::from_secs(30);
/// What else moves the vessel's mass.
const MOVES: Actuators = Actuators::of(&[Actuator::Xv4, Actuator::Xv5, Actuator::Xv10, Actuator::C1]);
/// A platform rings on after the last valve or motor (own figure).
const QUIET: Millis = Millis::from_secs(6);
/// A fall is judged over windows of this length,
const WINDOW: Millis = Millis::from_secs(10);
/// in each of which it is more than this, which is above what the scale's own noise and drift do (own figure),
const STEP: Milligram = Milligram(500);
/// for at least so many in a row: a load taken off falls in one of them,
const STEPS: u8 = 3;
/// and by this in all (own choice: half of what the bridges bear each other, and a seat that passes 0.05 g/s needs 200 s for it).
const LOSS: Milligram = Milligram(10_000);

/// What is known of its losses.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Vessel {
    /// Time for which XV-7 was open in this day, and since when this day runs.
    open: Millis,
    day: Millis,
    /// Mass when XV-7 opened last, and how long it has been shut.
    vent_from: Option<Milligram>,
    vent_shut: Millis,
    vented: bool,
    rest: Millis,
    window: Millis,
    from: Milligram,
    steps: u8,
    fell: Milligram,
}

impl Vessel {
    pub(super) fn step(&mut self, dt: Millis, watched: Millis, r: &Readings, on: Actuators) {
        let open = on.has(Actuator::Xv7);
        if open || self.open > Millis(0) {
            self.purge(dt, r, on, open);
        }
        self.rest(watched, r, on);
    }

    fn purge(&mut self, dt: Millis, r: &Readings, on: Actuators, open: bool) {
        self.day = self.day.plus(dt);
        let mass = r.wt1.mass.usable();
        if open {
            self.open = self.open.plus(dt);
            if self.vent_shut > Millis(0) || self.vent_from.is_none() {
                (self.vent_from, self.vent_shut) = (mass, Millis(0));
            }
        } else {
            self.vent_shut = self.vent_shut.plus(dt);
            if self.day >= DAY {
                (self.open, self.day) = (Millis(0), Millis(0));
            }
        }
        if !on.and(MOVES).is_empty() || self.vent_shut > VENT_WATCHED {
            self.vent_from = None;
        }
        self.vented = matches!((self.vent_from, mass), (Some(from), Some(mass)) if from.minus(mass) > VENT_MOST);
    }

    /// A fall goes on from window to window; a load that is taken off, or a knock, does not.
    fn rest(&mut self, watched: Millis, r: &Readings, on: Actuators) {
        let Some(mass) = r.wt1.mass.usable().filter(|_| on.without(Actuators::SAFE).is_empty()) else {
            (self.rest, self.window, self.steps, self.fell) = (Millis(0), Millis(0), 0, Milligram(0));
            return;
        };
        if self.rest < QUIET {
            (self.rest, self.from) = (self.rest.plus(watched), mass);
            return;
        }
        self.window = self.window.plus(watched);
        if self.window < WINDOW {
            return;
        }
        let step = self.from.minus(mass);
        (self.window, self.from) = (Millis(0), mass);
        (self.steps, self.fell) =
            if step >= STEP { (self.steps.saturating_add(1), self.fell.plus(step)) } else { (0, Milligram(0)) };
    }

    pub(super) fn well(&self) -> WatchSet {
        let one = |well: bool, watch: Watch| if well { WatchSet::NONE.with(watch) } else { WatchSet::NONE };
        one(self.open < PURGE_MOST, Watch::PurgeSpent)
            .or(one(!self.vented, Watch::PurgeLoss))
            .or(one(self.steps < STEPS || self.fell < LOSS, Watch::VesselLoses))
    }
}
