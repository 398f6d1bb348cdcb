//! What a board tells of itself in each frame: that its inputs are fresh, another oscillator, the wall clock, the coils, and the checks
//! that software of class B makes of its own processor, one hook a scan, each within a budget of time.
//!
//! The hooks are named, and none is filled here: a march of the data memory or a checksum of the code memory is the board's own, and its
//! maker's proof. The core claims no certificate. Faults that each answers are those of IEC 60730-1 Annex H table H.1 (from memory).

use crate::frame::{Actuators, Machine, SelfCheck, SelfChecks};

/// Time for one hook in one scan, in microseconds: a hundredth of the shortest scan of 10 ms (own choice).
pub const BUDGET_US: u32 = 100;

/// What a hook found.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Found {
    /// The slice was sound.
    Sound,
    /// It was not: the station trips (I26).
    Failed,
}

/// The checks of the processor. Each call does one slice that takes no longer than `budget` microseconds and goes on with the next one
/// at the next call. What a board does not check stays [`Found::Sound`] by the default, and its maker says so.
pub trait ClassB {
    /// Data memory: a march over a few words, and the complement copy of what must not change unseen (F100).
    fn memory(&mut self, budget: u32) -> Found {
        let _ = budget;
        Found::Sound
    }
    /// Code memory: a running checksum against the one of the image (F101).
    fn code(&mut self, budget: u32) -> Found {
        let _ = budget;
        Found::Sound
    }
    /// Program flow: what the scan's own marks ([`super::watchdog::Flow`]) or a second monitor say (F102).
    fn flow(&mut self, budget: u32) -> Found {
        let _ = budget;
        Found::Sound
    }
    /// Stack: the paint below its deepest use (F103).
    fn stack(&mut self, budget: u32) -> Found {
        let _ = budget;
        Found::Sound
    }
    /// Queues of events: none was refused since the last call (F099).
    fn queue(&mut self, budget: u32) -> Found {
        let _ = budget;
        Found::Sound
    }
    /// Watchdog: that it bites, tried at power-on before the outputs are enabled (F098).
    fn watchdog(&mut self, budget: u32) -> Found {
        let _ = budget;
        Found::Sound
    }
    /// Monitor of the supply: it says good only where the converter reads enough (F082).
    fn supply(&mut self, budget: u32) -> Found {
        let _ = budget;
        Found::Sound
    }
}

/// Where a board's own state is read.
pub trait Sources {
    /// Milliseconds of an oscillator that the tick does not come from, such as the watchdog's; wraps at 65 536.
    fn beat(&mut self) -> u16;
    /// KT-1: seconds since its epoch; 0 where it was never set.
    fn clock(&mut self) -> u32;
    /// What carries current: coil currents behind the drivers, auxiliary contacts of the contactors.
    fn coils(&mut self) -> Actuators;
    /// NV-1: number of what was stored last and found again, as [`Machine::stored`] wants it; the number before while the store is at work.
    fn stored(&mut self) -> u32;
}

/// What tells a board's own state, once a scan.
pub trait Monitor {
    /// The state, read now.
    fn machine(&mut self) -> Machine;
}

/// A monitor of sources and hooks.
///
/// ```
/// use valvewright_core::frame::{Actuators, SelfCheck};
/// use valvewright_core::port::selfcheck::*;
/// struct Board;
/// impl Sources for Board {
///     fn beat(&mut self) -> u16 { 7 }
///     fn clock(&mut self) -> u32 { 0 }
///     fn coils(&mut self) -> Actuators { Actuators::SAFE }
///     fn stored(&mut self) -> u32 { 0 }
/// }
/// impl ClassB for Board {
///     fn code(&mut self, _budget: u32) -> Found { Found::Failed }
/// }
/// let mut monitor = SelfMonitor::new(Board);
/// assert!(monitor.machine().failed.is_empty()); // the memory's turn
/// assert!(monitor.machine().failed.has(SelfCheck::Code));
/// ```
#[derive(Clone, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SelfMonitor<T> {
    board: T,
    sequence: u8,
    turn: u8,
}

impl<T: Sources + ClassB> SelfMonitor<T> {
    /// Begins with the memory's hook.
    pub const fn new(board: T) -> Self {
        Self { board, sequence: 0, turn: 0 }
    }
}

impl<T: Sources + ClassB> Monitor for SelfMonitor<T> {
    fn machine(&mut self) -> Machine {
        self.sequence = self.sequence.wrapping_add(1);
        let (check, found) = match self.turn {
            0 => (SelfCheck::Memory, self.board.memory(BUDGET_US)),
            1 => (SelfCheck::Code, self.board.code(BUDGET_US)),
            2 => (SelfCheck::Flow, self.board.flow(BUDGET_US)),
            3 => (SelfCheck::Stack, self.board.stack(BUDGET_US)),
            4 => (SelfCheck::Queue, self.board.queue(BUDGET_US)),
            5 => (SelfCheck::Watchdog, self.board.watchdog(BUDGET_US)),
            _ => (SelfCheck::Supply, self.board.supply(BUDGET_US)),
        };
        self.turn = if self.turn >= 6 { 0 } else { self.turn.saturating_add(1) };
        let failed = if found == Found::Failed { SelfChecks::NONE.with(check) } else { SelfChecks::NONE };
        Machine {
            sequence: self.sequence,
            beat: self.board.beat(),
            clock: self.board.clock(),
            coils: self.board.coils(),
            failed,
            stored: self.board.stored(),
        }
    }
}
