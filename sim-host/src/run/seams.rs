//! What may sit at the seams of a run: something that breaks and mends, and something that only looks. Nothing sits there by
//! default, and costs nothing.

use valvewright_core::frame::{Actuators, Outputs, RawFrame, SelfChecks};
use valvewright_core::job::PhaseKind;
use valvewright_core::kept::Boot;
use valvewright_core::station::Station;
use valvewright_core::talk::{Command, Notice};

use super::operator::Hand;
use super::store::Store;
use crate::fault::Holds;
use crate::instrument::{Instruments, Truth};
use crate::plant::Plant;

/// Lent to a scan.
#[derive(Default)]
pub struct Seams<'a> {
    /// Asked when the plant has come to the scan's time and before the frame is made.
    pub faults: Option<&'a mut dyn Disturb>,
    /// Shown the scan when it is done.
    pub observer: Option<&'a mut dyn Observe>,
}

/// What a disturbance sees of a scan, and what it may break.
pub struct Scene<'a> {
    /// Simulated time, s.
    pub t_s: f64,
    /// The running phase.
    pub phase: Option<PhaseKind>,
    /// What the controller had on in the last scan.
    pub on: Actuators,
    /// What the instruments will touch in this scan.
    pub truth: &'a Truth,
    /// The plant: any signal of it, and any parameter, to be changed.
    pub plant: &'a mut Plant,
    /// Loops, scales and contacts, to be broken and mended.
    pub instruments: &'a mut Instruments,
    /// Actuators, to be held and set free.
    pub holds: &'a mut Holds,
    /// What the operator does in this scan, to be changed.
    pub operator: &'a mut Acts,
    /// The machine under the controller, healthy again in each scan.
    pub platform: &'a mut Platform,
    /// What the station keeps over a power cut.
    pub store: &'a mut Store,
}

/// What the operator does in one scan.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Acts {
    /// On the panel.
    pub command: Option<Command>,
    /// By hand, beside what was done already in this scan.
    pub hands: Vec<Hand>,
}

/// What happens in one scan to the machine that the controller runs on.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Platform {
    /// It does nothing in this scan: its outputs stay as they are, until the hardware drops them after
    /// [`crate::controller::HARDWARE_HOLDS`].
    pub stalled: bool,
    /// It has no current: nothing is on, the fan neither.
    pub unpowered: bool,
    /// The valve rail has no volts, whatever its relay does.
    pub rail_lost: bool,
    /// It starts anew before this scan, with what its store gives back.
    pub restart: Option<Boot>,
    /// Its program leaves this scan out, and its outputs are renewed all the same.
    pub skipped: bool,
    /// It does this scan twice.
    pub repeated: bool,
    /// Its watchdog is dead: outputs that nobody renews stand.
    pub unwatched: bool,
    /// Its monotonic tick is so far ahead of the plant's time, ms.
    pub ahead_ms: u32,
    /// Its wall clock (KT-1) is so far ahead of the plant's time, s.
    pub clock_off_s: i32,
    /// Its inputs are those of the last scan.
    pub stale: bool,
    /// Self-checks that fail in this scan.
    pub failed: SelfChecks,
    /// Coils and contactors that carry current whatever it is told: a driver shorted, a wrong one driven.
    pub stray: Actuators,
    /// Coils and contactors that carry none.
    pub dead: Actuators,
    /// Commands that reach the coil next in number in place of their own.
    pub crossed: Actuators,
}

impl Platform {
    /// What happens where both happen.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            stalled: self.stalled || other.stalled,
            unpowered: self.unpowered || other.unpowered,
            rail_lost: self.rail_lost || other.rail_lost,
            restart: other.restart.or(self.restart),
            skipped: self.skipped || other.skipped,
            repeated: self.repeated || other.repeated,
            unwatched: self.unwatched || other.unwatched,
            ahead_ms: self.ahead_ms.wrapping_add(other.ahead_ms),
            clock_off_s: self.clock_off_s.wrapping_add(other.clock_off_s),
            stale: self.stale || other.stale,
            failed: self.failed.or(other.failed),
            stray: self.stray.or(other.stray),
            dead: self.dead.or(other.dead),
            crossed: self.crossed.or(other.crossed),
        }
    }
}

/// Breaks and mends while a job runs.
pub trait Disturb {
    /// Asked once a scan, also in the seconds after the order's end.
    fn scan(&mut self, scene: &mut Scene<'_>);
}

impl<F: FnMut(&mut Scene<'_>)> Disturb for F {
    fn scan(&mut self, scene: &mut Scene<'_>) {
        self(scene);
    }
}

/// One scan as it was.
pub struct Seen<'a> {
    /// Simulated time, s.
    pub t_s: f64,
    /// The running phase, by the controller's word.
    pub phase: Option<PhaseKind>,
    /// The plant at that time.
    pub plant: &'a Plant,
    /// What the instruments touched.
    pub truth: &'a Truth,
    /// What went into the controller.
    pub frame: &'a RawFrame,
    /// What came out.
    pub outputs: &'a Outputs,
    /// What was told, oldest first.
    pub notices: &'a [Notice],
    /// The core after the scan, where it drives.
    pub core: Option<&'a Station>,
}

/// Looks on while a job runs.
pub trait Observe {
    /// Shown every scan.
    fn scan(&mut self, seen: &Seen<'_>);
}

impl<F: FnMut(&Seen<'_>)> Observe for F {
    fn scan(&mut self, seen: &Seen<'_>) {
        self(seen);
    }
}
