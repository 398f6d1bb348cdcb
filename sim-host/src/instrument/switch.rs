//! Contacts with hysteresis, and the cabinet fan that moves one of them.

use super::spec::{FanSpec, SwitchSpec};
use super::transmitter::share_covered;

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
