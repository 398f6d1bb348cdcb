//! Proves the cabinet's air flow before anything else may be energised (H01, H22).
//!
//! The flow switch must first be seen open and the speed down with the fan off, since a switch stuck closed, or a speed that does not
//! fall (F136), looks like air; then five air changes must pass with it closed, in scans that were not late: air nobody watched proves nothing.

use crate::frame::Switches;
use crate::units::*;

/// The switch must open within this time after the fan is switched off (coasting down).
const OPEN_MAX: Millis = Millis::from_secs(15);
/// And close within this time after it is switched on.
const CLOSE_MAX: Millis = Millis::from_secs(10);

/// State of the proof.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum AirProof {
    /// Nothing proven.
    #[default]
    Idle,
    /// Fan off, waiting for the switch to open.
    Stopping(Millis),
    /// Fan on, waiting for flow.
    Starting(Millis),
    /// Flow seen; counting air changes.
    Flushing(Millis),
    /// Done.
    Proven,
    /// The switch did not do what it must.
    Failed,
}

impl AirProof {
    /// Begins the proof.
    pub fn begin(&mut self) {
        *self = Self::Stopping(Millis(0));
    }
    /// Whether the fan must be off now for the test.
    pub const fn fan_off(&self) -> bool {
        matches!(self, Self::Stopping(_))
    }
    /// Whether a test is under way.
    pub const fn testing(&self) -> bool {
        matches!(self, Self::Stopping(_) | Self::Starting(_) | Self::Flushing(_))
    }
    /// Whether air is proven.
    pub const fn proven(&self) -> bool {
        matches!(self, Self::Proven)
    }
    /// One scan. `dt` is the time since the last one, `watched` what of it may count towards the air changes: none in a late
    /// scan. `turns` while ST-1 shows a fan that moves air.
    pub fn step(&mut self, dt: Millis, watched: Millis, switches: Switches, turns: bool, changes: Millis) {
        let flow = switches.closed(Switches::FSL1_FLOW);
        *self = match core::mem::take(self) {
            Self::Stopping(_) if !flow && !turns => Self::Starting(Millis(0)),
            Self::Stopping(t) if t > OPEN_MAX => Self::Failed,
            Self::Stopping(t) => Self::Stopping(t.plus(dt)),
            Self::Starting(_) if flow => Self::Flushing(Millis(0)),
            Self::Starting(t) if t > CLOSE_MAX => Self::Failed,
            Self::Starting(t) => Self::Starting(t.plus(dt)),
            Self::Flushing(_) if !flow => Self::Failed,
            Self::Flushing(t) if t >= changes => Self::Proven,
            Self::Flushing(t) => Self::Flushing(t.plus(watched)),
            other => other,
        };
    }
}
