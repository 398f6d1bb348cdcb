//! What a controller outside this process must be able to do to drive the plant.

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Actuators, RawFrame};
use valvewright_core::kept::Start;
use valvewright_core::port::link::{Answer, LinkFault};
use valvewright_core::units::{Instant, Millis};

use super::spec::BoardError;

/// A controller outside this process that drives the plant: the same core on a board.
pub trait Remote {
    /// How it is joined, for the result.
    fn name(&self) -> &'static str;
    /// Tells it what station it is.
    fn begin(&mut self, config: &StationConfig, start: &Start) -> Result<(), BoardError>;
    /// Its scans may lie so far apart from the next start on, beyond what its line bears: a machine that stands still gets none.
    fn bear(&mut self, apart: Millis);
    /// One scan.
    fn scan(&mut self, now: Instant, frame: &RawFrame) -> Result<Reply, BoardError>;
}

/// What came of a scan on a board.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reply {
    /// It was done.
    Answer(Box<Answer>),
    /// No answer yet: these outputs stand.
    Held(Actuators),
    /// The board does not trust its line, and has this on.
    Safe(LinkFault, Actuators),
}
