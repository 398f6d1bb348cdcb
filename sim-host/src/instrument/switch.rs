//! Contacts with hysteresis, and the cabinet fan that moves one of them.

use valvewright_core::frame::Switches;

use super::spec::{FanSpec, SwitchSpec};
use super::transmitter::share_covered;

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
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) struct Contacts {
    open: u16,
    closed: u16,
}

impl Contacts {
    /// Breaks or mends the contacts of `mask`.
    pub(super) fn set_health(&mut self, mask: u16, health: ContactHealth) {
        let set = |bits: u16, on: bool| if on { bits | mask } else { bits & !mask };
        self.open = set(self.open, health == ContactHealth::StuckOpen);
        self.closed = set(self.closed, health == ContactHealth::StuckClosed);
    }

    /// What is seen of contacts in this state.
    #[inline]
    pub(super) fn seen(self, real: u16) -> Switches {
        Switches((real | self.closed) & !self.open)
    }
}

/// A contact that opens on a high value.
#[derive(Clone, Debug)]
pub(super) struct HighSwitch {
    spec: SwitchSpec,
    closed: bool,
}

impl HighSwitch {
    pub(super) fn new(spec: &SwitchSpec) -> Self {
        Self { spec: *spec, closed: true }
    }

    /// Whether the contact is closed at this value; between the two set points it stays as it was.
    #[inline]
    pub(super) fn sample(&mut self, value: f64) -> bool {
        self.closed = if self.closed { value < self.spec.opens_at } else { value <= self.spec.closes_at };
        self.closed
    }
}

/// The rotor of K-1 and the vane of FSL-1 in its air flow.
#[derive(Clone, Debug)]
pub(super) struct Fan {
    spec: FanSpec,
    spin_alpha: f64,
    vane_alpha: f64,
    rpm: f64,
    vane_rpm: f64,
    closed: bool,
}

impl Fan {
    pub(super) fn new(spec: &FanSpec) -> Self {
        Self { spec: *spec, spin_alpha: 1.0, vane_alpha: 1.0, rpm: 0.0, vane_rpm: 0.0, closed: false }
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
        self.rpm += self.spin_alpha * (target_rpm - self.rpm);
        self.vane_rpm += self.vane_alpha * (self.rpm - self.vane_rpm);
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
