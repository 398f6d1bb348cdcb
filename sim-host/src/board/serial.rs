//! A board on a serial port: the same core, at the end of a real cable.

use valvewright_core::config::StationConfig;
use valvewright_core::frame::RawFrame;
use valvewright_core::kept::Start;
use valvewright_core::units::{Instant, Millis};

use super::far::FarEnd;
use super::fault::Fault;
use super::remote::{Remote, Reply};
use super::spec::{BoardError, Port};
use super::talk::Talk;

/// A board on a serial port.
#[derive(Debug)]
pub struct SerialBoard(Talk);

impl SerialBoard {
    /// How long a board may take for an answer, and how long it bears a silence, where nothing else is asked for.
    pub const PATIENCE: Millis = Millis(5_000);

    /// Opens the port.
    ///
    /// # Errors
    /// It cannot be opened.
    pub fn open(port: &Port, patience: Millis) -> Result<Self, BoardError> {
        Ok(Self(Talk::new(FarEnd::port(port)?, patience)))
    }
}

impl Remote for SerialBoard {
    fn name(&self) -> &'static str {
        self.0.far().joined()
    }

    fn begin(&mut self, config: &StationConfig, start: &Start) -> Result<(), BoardError> {
        self.0.set_up(config, start).map(|_name| ())
    }

    fn bear(&mut self, apart: Millis) {
        self.0.bear(apart);
    }

    fn scan(&mut self, now: Instant, frame: &RawFrame) -> Result<Reply, BoardError> {
        match self.0.scan(now, frame) {
            Ok(Ok(answer)) => Ok(Reply::Answer(answer)),
            Ok(Err((Fault::Distrusts(why), on))) => Ok(Reply::Safe(why, on)),
            Ok(Err((why, _))) | Err(why) => Err(BoardError::Line(why)),
        }
    }
}
