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
    /// Its driver is shorted: its coil has voltage as long as there is any.
    Driven,
}

/// Actuators that stop without power even where their contacts are welded: what turns or heats, and the fan.
const MOTORS: Actuators = Actuators::ALL.without(Actuators::VALVES);

/// How all of them act; all free to begin with.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Holds {
    on: Actuators,
    off: Actuators,
    inverted: Actuators,
    next: Actuators,
    driven: Actuators,
    /// Without power: no coil of these pulls.
    dead: Actuators,
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
        self.driven = set(self.driven, hold == Hold::Driven);
        let share = if let Hold::LeakBy(share) = hold { share.clamp(0.0, 1.0) } else { 0.0 };
        self.leak_by[one as usize] = share;
    }

    /// These have no power. A valve that is stuck open stays so; one that is fitted the wrong way round opens.
    pub fn cut(&mut self, dead: Actuators) {
        self.dead = dead;
    }

    /// What is on in truth where the controller has `told` on.
    #[inline]
    pub fn acting(&self, told: Actuators) -> Actuators {
        if self.inverted.or(self.next).or(self.driven).or(self.dead).is_empty() {
            return told.or(self.on).without(self.off);
        }
        self.miswired(told)
    }

    #[cold]
    fn miswired(&self, told: Actuators) -> Actuators {
        let moved = Actuator::ALL.windows(2).filter(|pair| self.next.has(pair[0]) && told.has(pair[0]));
        let coils = moved.fold(told.without(self.next), |coils, pair| coils.with(pair[1]));
        let coils = coils.or(self.driven).without(self.dead);
        let position = coils.without(self.inverted).or(self.inverted.without(coils));
        let stuck = self.on.without(self.dead.and(MOTORS));
        position.or(stuck).without(self.off)
    }

    /// What is held here, on top of what is held there; of two on one actuator this one counts.
    #[must_use]
    pub fn over(&self, other: &Self) -> Self {
        let mine = self.held();
        let both = |mine_of: Actuators, theirs: Actuators| mine_of.or(theirs.without(mine));
        let mut leak_by = other.leak_by;
        for one in Actuator::ALL.into_iter().filter(|one| mine.has(*one)) {
            leak_by[one as usize] = self.leak_by[one as usize];
        }
        Self {
            on: both(self.on, other.on),
            off: both(self.off, other.off),
            inverted: both(self.inverted, other.inverted),
            next: both(self.next, other.next),
            driven: both(self.driven, other.driven),
            dead: self.dead.or(other.dead),
            leak_by,
        }
    }

    /// Every actuator that is not free.
    pub fn held(&self) -> Actuators {
        let leaks = Actuator::ALL.into_iter().filter(|one| self.leak_by[*one as usize] > 0.0);
        let held = self.on.or(self.off).or(self.inverted).or(self.next).or(self.driven);
        leaks.fold(held, Actuators::with)
    }

    /// How far a way through all of `series` is open, 0 to 1: the tightest decides.
    pub fn opening(&self, series: Actuators, told: Actuators) -> f64 {
        let shut = series.without(self.acting(told));
        let among = Actuator::ALL.into_iter().filter(|one| shut.has(*one));
        among.map(|one| self.leak_by[one as usize]).fold(1.0, f64::min)
    }
}
