//! What a board does of its own accord, whatever its station says: it watches the way of its program by the marks that each scan leaves.
//!
//! Two scans at one tick are a clock that stands (`valvewright_core::port::watchdog::Flow`): from then on a board keeps the safe state, and
//! feeds its watchdog no more, until it starts anew.

use valvewright_core::frame::{Actuators, Outputs};

/// That watch, as it is expected of a board.
#[derive(Debug, Clone, Copy, Default)]
pub struct OwnWatch {
    last: Option<u32>,
    astray: bool,
}

impl OwnWatch {
    /// Of a board that has just started.
    pub const fn new() -> Self {
        Self { last: None, astray: false }
    }

    /// A scan at this tick, ms, for which the station puts `outputs` out; whether the board has only the safe state on instead.
    pub fn scan(&mut self, ms: u32, outputs: &mut Outputs) -> bool {
        self.astray |= self.last.replace(ms) == Some(ms);
        if self.astray {
            outputs.on = Actuators::SAFE;
        }
        self.astray
    }
}
