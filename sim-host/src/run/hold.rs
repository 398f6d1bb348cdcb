//! Actuators that do not do what they are told: stuck, welded, leaking by. Applied where outputs meet the plant.

use valvewright_core::frame::{ACTUATOR_COUNT, Actuator, Actuators};

/// How one actuator of the plant acts, whatever the controller says.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Hold {
    /// As it is told.
    #[default]
    Free,
    /// A valve stuck open, a contactor welded shut: on.
    On,
    /// A valve stuck shut, a contactor that does not pull, a motor that stands: off.
    Off,
    /// A valve that is never less open than this share of its full opening, 0 to 1.
    LeakBy(f64),
}

/// How all of them act; all free to begin with.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Holds {
    on: Actuators,
    off: Actuators,
    leak_by: [f64; ACTUATOR_COUNT],
}

impl Holds {
    /// Holds one actuator, or sets it free.
    pub fn set(&mut self, one: Actuator, hold: Hold) {
        let mine = Actuators::of(&[one]);
        let set = |all: Actuators, in_it: bool| if in_it { all.or(mine) } else { all.without(mine) };
        self.on = set(self.on, hold == Hold::On);
        self.off = set(self.off, hold == Hold::Off);
        let share = if let Hold::LeakBy(share) = hold { share.clamp(0.0, 1.0) } else { 0.0 };
        self.leak_by[one as usize] = share;
    }

    /// What is on in truth where the controller has `told` on.
    #[inline]
    pub fn acting(&self, told: Actuators) -> Actuators {
        told.or(self.on).without(self.off)
    }

    /// How far each actuator stays open when it is shut, by its place in [`Actuator::ALL`]; none where all shut tight.
    pub(super) fn leaks_by(&self) -> Option<[f64; ACTUATOR_COUNT]> {
        self.leak_by.iter().any(|share| *share > 0.0).then_some(self.leak_by)
    }

    /// How far a way through all of `series` is open, 0 to 1: the tightest decides.
    pub(super) fn opening(&self, series: Actuators, told: Actuators) -> f64 {
        let shut = series.without(self.acting(told));
        let among = Actuator::ALL.into_iter().filter(|one| shut.has(*one));
        among.map(|one| self.leak_by[one as usize]).fold(1.0, f64::min)
    }
}
