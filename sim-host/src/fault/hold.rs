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
    /// The other way round: off while it is told on.
    Inverted,
    /// Its command reaches the actuator next in order, and none reaches it.
    Next,
}

/// How all of them act; all free to begin with.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Holds {
    on: Actuators,
    off: Actuators,
    inverted: Actuators,
    next: Actuators,
    leak_by: [f64; ACTUATOR_COUNT],
}

impl Holds {
    /// Holds one actuator, or sets it free.
    pub fn set(&mut self, one: Actuator, hold: Hold) {
        let mine = Actuators::of(&[one]);
        let set = |all: Actuators, in_it: bool| if in_it { all.or(mine) } else { all.without(mine) };
        self.on = set(self.on, hold == Hold::On);
        self.off = set(self.off, hold == Hold::Off);
        self.inverted = set(self.inverted, hold == Hold::Inverted);
        self.next = set(self.next, hold == Hold::Next);
        let share = if let Hold::LeakBy(share) = hold { share.clamp(0.0, 1.0) } else { 0.0 };
        self.leak_by[one as usize] = share;
    }

    /// What is on in truth where the controller has `told` on.
    #[inline]
    pub fn acting(&self, told: Actuators) -> Actuators {
        if self.inverted.or(self.next).is_empty() {
            return told.or(self.on).without(self.off);
        }
        self.miswired(told).or(self.on).without(self.off)
    }

    #[cold]
    fn miswired(&self, told: Actuators) -> Actuators {
        let mut acting = told.without(self.next);
        let moved = Actuator::ALL.windows(2).filter(|pair| self.next.has(pair[0]) && told.has(pair[0]));
        acting = moved.fold(acting, |acting, pair| acting.with(pair[1]));
        acting.without(self.inverted).or(self.inverted.without(acting))
    }

    /// What is held here, on top of what is held there; of two on one actuator this one counts.
    #[must_use]
    pub fn over(&self, other: &Self) -> Self {
        let mine = self.held();
        let both = |mine: Actuators, theirs: Actuators, held: Actuators| mine.or(theirs.without(held));
        let mut leak_by = other.leak_by;
        for one in Actuator::ALL.into_iter().filter(|one| mine.has(*one)) {
            leak_by[one as usize] = self.leak_by[one as usize];
        }
        Self {
            on: both(self.on, other.on, mine),
            off: both(self.off, other.off, mine),
            inverted: both(self.inverted, other.inverted, mine),
            next: both(self.next, other.next, mine),
            leak_by,
        }
    }

    /// Every actuator that is not free.
    pub fn held(&self) -> Actuators {
        let leaks = Actuator::ALL.into_iter().filter(|one| self.leak_by[*one as usize] > 0.0);
        leaks.fold(self.on.or(self.off).or(self.inverted).or(self.next), Actuators::with)
    }

    /// How far a way through all of `series` is open, 0 to 1: the tightest decides.
    pub fn opening(&self, series: Actuators, told: Actuators) -> f64 {
        let shut = series.without(self.acting(told));
        let among = Actuator::ALL.into_iter().filter(|one| shut.has(*one));
        among.map(|one| self.leak_by[one as usize]).fold(1.0, f64::min)
    }
}
