//! Contacts with hysteresis, and the cabinet fan that moves one of them.

use valvewright_core::frame::Switches;

use super::lag::share_covered;
use super::spec::{FanSpec, SwitchSpec};

/// What is wrong with a contact.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum ContactHealth {
    /// Nothing.
    #[default]
    Good,
    /// Never closed: a broken wire, a burnt contact.
    StuckOpen,
    /// Never open: a welded contact, a bridged plug.
    StuckClosed,
}

/// Contacts that do not follow; what moves them goes on.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Contacts {
    open: u16,
    closed: u16,
    /// Whose ill, which contacts, and how; of two on one contact the later one counts.
    ills: Vec<(u32, u16, ContactHealth)>,
}

impl Contacts {
    /// Breaks the contacts of `mask`.
    pub(super) fn ail(&mut self, key: u32, mask: u16, health: ContactHealth) {
        if health != ContactHealth::Good {
            self.ills.push((key, mask, health));
            self.settle();
        }
    }

    /// Takes the contacts of `mask` out of what belongs to `key`.
    pub(super) fn mend(&mut self, key: u32, mask: u16) {
        self.ills.iter_mut().filter(|one| one.0 == key).for_each(|one| one.1 &= !mask);
        self.ills.retain(|one| one.1 != 0);
        self.settle();
    }

    fn settle(&mut self) {
        (self.open, self.closed) = (0, 0);
        for &(_, mask, health) in &self.ills {
            let set = |bits: u16, on: bool| if on { bits | mask } else { bits & !mask };
            self.open = set(self.open, health == ContactHealth::StuckOpen);
            self.closed = set(self.closed, health == ContactHealth::StuckClosed);
        }
    }

    /// What is seen of contacts in this state.
    #[inline]
    pub(super) fn seen(&self, real: u16) -> Switches {
        Switches((real | self.closed) & !self.open)
    }
}

/// A contact that opens on a high value.
#[derive(Clone, Debug)]
pub(super) struct HighSwitch {
    spec: SwitchSpec,
    closed: bool,
    /// Whose ill, and at which share of its set points it moves; the last one counts.
    early: Vec<(u32, f64)>,
}

impl HighSwitch {
    pub(super) fn new(spec: &SwitchSpec) -> Self {
        Self { spec: *spec, closed: true, early: Vec::new() }
    }

    /// It moves at this share of its set points.
    pub(super) fn ail(&mut self, key: u32, share: f64) {
        self.early.push((key, share));
    }

    pub(super) fn mend(&mut self, key: u32) {
        self.early.retain(|one| one.0 != key);
    }

    /// Whether the contact is closed at this value; between the two set points it stays as it was.
    #[inline]
    pub(super) fn sample(&mut self, value: f64) -> bool {
        let value = if self.early.is_empty() { value } else { self.sooner(value) };
        self.closed = if self.closed { value < self.spec.opens_at } else { value <= self.spec.closes_at };
        self.closed
    }

    #[cold]
    fn sooner(&self, value: f64) -> f64 {
        self.early.last().map_or(value, |(_, share)| value / share)
    }
}

/// A fan that moves no air at all runs faster by this share (own choice: it has less to carry).
const UNLOADED: f64 = 0.05;

/// The rotor of K-1 and the vane of FSL-1 in its air flow.
#[derive(Clone, Debug)]
pub(super) struct Fan {
    spec: FanSpec,
    spin_alpha: f64,
    vane_alpha: f64,
    rpm: f64,
    vane_rpm: f64,
    closed: bool,
    /// Whose ill, and which share of the air flow is left; the last one counts.
    blocked: Vec<(u32, f64)>,
}

impl Fan {
    pub(super) fn new(spec: &FanSpec) -> Self {
        Self {
            spec: *spec,
            spin_alpha: 1.0,
            vane_alpha: 1.0,
            rpm: 0.0,
            vane_rpm: 0.0,
            closed: false,
            blocked: Vec::new(),
        }
    }

    /// Its duct lets this share of the air through.
    pub(super) fn ail(&mut self, key: u32, share: f64) {
        self.blocked.push((key, share));
    }

    pub(super) fn mend(&mut self, key: u32) {
        self.blocked.retain(|one| one.0 != key);
    }

    #[cold]
    fn air(&self) -> f64 {
        self.blocked.last().map_or(1.0, |one| one.1)
    }

    pub(super) fn settle(&mut self, rpm: f64) {
        self.rpm = rpm;
        self.vane_rpm = rpm;
    }

    pub(super) fn set_step(&mut self, dt_s: f64) {
        self.spin_alpha = share_covered(dt_s, self.spec.spin_s);
        self.vane_alpha = share_covered(dt_s, self.spec.vane_s);
    }

    /// Moves rotor and vane towards `target_rpm`; tells whether the contact is closed.
    #[inline]
    pub(super) fn sample(&mut self, target_rpm: f64) -> bool {
        let (target_rpm, air) = if self.blocked.is_empty() {
            (target_rpm, 1.0)
        } else {
            (target_rpm * (1.0 + UNLOADED * (1.0 - self.air())), self.air())
        };
        self.rpm += self.spin_alpha * (target_rpm - self.rpm);
        self.vane_rpm += self.vane_alpha * (self.rpm * air - self.vane_rpm);
        let edge = if self.closed { self.spec.opens_at } else { self.spec.closes_at };
        self.closed = self.vane_rpm > edge * self.spec.nominal_rpm;
        self.closed
    }

    /// Rotor speed in rpm.
    #[inline]
    pub(super) fn rpm(&self) -> f64 {
        self.rpm
    }
}
