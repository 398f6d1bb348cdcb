//! What may drive a station: a trait that the built-in core implements, and that any other controller can.
//!
//! A run gives a controller one frame a scan and takes its outputs and notices. It knows nothing else of it, unless it is the core
//! ([`Controller::core`]): what rests on the core's own state is then told, and left out for any other controller.

mod tape;

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Actuators, Outputs, RawFrame};
use valvewright_core::kept::Start;
use valvewright_core::station::Station;
use valvewright_core::talk::Notice;
use valvewright_core::units::{Instant, Millis};

use crate::board::compare::Difference;
use crate::board::spec::BoardError;

pub use tape::Tape;

/// A board drops to the safe state by hardware when its outputs were not renewed for this long ([`Outputs`]).
pub const HARDWARE_HOLDS: Millis = Millis(500);

/// A controller of a station.
///
/// ```
/// use valvewright_core::config::StationConfig;
/// use valvewright_core::frame::{Outputs, RawFrame};
/// use valvewright_core::kept::Start;
/// use valvewright_core::talk::Notice;
/// use valvewright_core::units::Instant;
/// use valvewright_sim::controller::{Controller, Scan, Trouble, Who};
///
/// /// Keeps everything shut.
/// #[derive(Clone)]
/// struct Idle;
///
/// impl Controller for Idle {
///     fn who(&self) -> Who {
///         Who::program("idle")
///     }
///     fn begin(&mut self, _: &StationConfig, _: &Start) -> Result<(), Trouble> {
///         Ok(())
///     }
///     fn scan(&mut self, _: Instant, _: &RawFrame, _: &mut Vec<Notice>) -> Result<Scan, Trouble> {
///         Ok(Scan::Done(Outputs::default()))
///     }
/// }
/// ```
pub trait Controller {
    /// Who it is, for results and reports.
    fn who(&self) -> Who;

    /// Begins anew, as after power-on, in the station that `config` describes, with what outlived the
    /// start before.
    ///
    /// # Errors
    /// It cannot be had: not started, not answering, of another format.
    fn begin(&mut self, config: &StationConfig, start: &Start) -> Result<(), Trouble>;

    /// One scan: the inputs of the time `now`, what came of them, and what is told, oldest first.
    ///
    /// # Errors
    /// It is no use to go on: it is not the controller that it should be ([`Trouble::Differs`]).
    fn scan(&mut self, now: Instant, frame: &RawFrame, notices: &mut Vec<Notice>) -> Result<Scan, Trouble>;

    /// The core, where this is it or a board that was held against it scan by scan.
    fn core(&self) -> Option<&Station> {
        None
    }
}

/// Who drives a station.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Who {
    /// What it calls itself.
    pub name: String,
    /// How it is joined: `built in`, `program`, `semihosting`, `uart`, `serial`.
    pub joined: &'static str,
}

impl Who {
    /// The built-in core.
    pub const BUILT_IN: &'static str = "valvewright-core";

    /// A Rust type in this process.
    pub fn program(name: &str) -> Self {
        Self { name: name.to_owned(), joined: "program" }
    }
}

/// What came of a scan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Scan {
    /// It was done.
    Done(Outputs),
    /// No answer yet: this stays on, until the hardware drops it after [`HARDWARE_HOLDS`] without a [`Scan::Done`].
    Held(Actuators),
    /// The controller is lost, or does not trust its line.
    Lost(Loss),
}

/// The end of a controller.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Loss {
    /// Why, in words that name what was seen.
    pub why: String,
    /// What is on from now on: the safe state, or what a board reads back from its pins.
    pub on: Actuators,
}

/// Why a controller cannot be used at all.
#[derive(Debug)]
pub enum Trouble {
    /// The far end of its line cannot be used.
    Board(BoardError),
    /// It did something else than the same core on the host.
    Differs(Difference),
}

impl From<BoardError> for Trouble {
    fn from(why: BoardError) -> Self {
        Self::Board(why)
    }
}

impl Controller for Station {
    fn who(&self) -> Who {
        Who { name: Who::BUILT_IN.to_owned(), joined: "built in" }
    }

    fn begin(&mut self, config: &StationConfig, start: &Start) -> Result<(), Trouble> {
        let (left_out, moved) = (self.interlocks().left_out(), self.interlocks().moved());
        *self = Self::wake(config.clone(), start);
        self.leave_out(left_out);
        for (watch, by) in moved {
            self.move_set_point(watch, by);
        }
        Ok(())
    }

    #[inline]
    fn scan(&mut self, now: Instant, frame: &RawFrame, notices: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        let outputs = self.tick(now, frame);
        notices.extend(std::iter::from_fn(|| self.take_notice()));
        Ok(Scan::Done(outputs))
    }

    fn core(&self) -> Option<&Station> {
        Some(self)
    }
}
