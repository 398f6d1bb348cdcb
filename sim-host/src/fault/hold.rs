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
}

/// How all of them act; all free to begin with.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Holds {
    on: Actuators,
    off: Actuators,
    inverted: Actuators,
    /// Without current in front of their contacts: welded ones do not run on.
    unfed: Actuators,
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
        let share = if let Hold::LeakBy(share) = hold { share.clamp(0.0, 1.0) } else { 0.0 };
        self.leak_by[one as usize] = share;
    }

    /// These have no current in front of their contacts. A valve that is stuck open stays so whatever is cut off.
    pub fn cut(&mut self, unfed: Actuators) {
        self.unfed = unfed.without(Actuators::VALVES);
    }

    /// What is on in truth where these coils carry current.
    #[inline]
    pub fn acting(&self, coils: Actuators) -> Actuators {
        if self.inverted.or(self.unfed).is_empty() {
            return coils.or(self.on).without(self.off);
        }
        let position = coils.without(self.inverted).or(self.inverted.without(coils));
        position.or(self.on).without(self.unfed).without(self.off)
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
            unfed: self.unfed.or(other.unfed),
            leak_by,
        }
    }

    /// How far each actuator stays open when it is shut, by its place in [`Actuator::ALL`]; none where all shut tight.
    pub fn leaks_by(&self) -> Option<[f64; ACTUATOR_COUNT]> {
        self.leak_by.iter().any(|share| *share > 0.0).then_some(self.leak_by)
    }

    /// Every actuator that is not free.
    pub fn held(&self) -> Actuators {
        let leaks = Actuator::ALL.into_iter().filter(|one| self.leak_by[*one as usize] > 0.0);
        leaks.fold(self.on.or(self.off).or(self.inverted), Actuators::with)
    }

    /// How far a way through all of `series` is open, 0 to 1: the tightest decides.
    pub fn opening(&self, series: Actuators, told: Actuators) -> f64 {
        let shut = series.without(self.acting(told));
        let among = Actuator::ALL.into_iter().filter(|one| shut.has(*one));
        among.map(|one| self.leak_by[one as usize]).fold(1.0, f64::min)
    }
}
