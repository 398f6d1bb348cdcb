//! What can keep a run from starting or from going on, in words that say what to do.

use std::fmt;

use crate::board::BoardError;
use crate::board::compare::Difference;
use crate::controller::Trouble;

/// What can keep a run from starting.
#[derive(Debug)]
pub enum RunError {
    /// The network has no such signal.
    MissingSignal(String),
    /// The network has no element for this actuator.
    MissingElement(String),
    /// The plant could not be built.
    Plant(String),
    /// The network file could not be used.
    Network(NetworkFault),
    /// A fault of the scenario cannot come in it.
    Fault(String),
    /// The board that was to drive the plant cannot be used.
    Board(BoardError),
    /// The board did something else than the same core on the host.
    Differs(Difference),
}

impl fmt::Display for RunError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::MissingSignal(name) if name.starts_with("H-1+H-2.") => {
                write!(
                    f,
                    "the network has no element `H-1+H-2`: the heater stands behind two contactors in series; write \
                     `[element.\"H-1+H-2\"]` where a file of before says `[element.\"H-1\"]`"
                )
            }
            Self::MissingSignal(name) => {
                write!(f, "the network has no signal `{name}`: add the volume or element of that name")
            }
            Self::MissingElement(tag) => {
                write!(f, "the network has no element `{tag}`: each actuator needs an element of its tag")
            }
            Self::Plant(why) => write!(f, "the plant could not be built: {why}"),
            Self::Network(why) => write!(f, "{why}"),
            Self::Fault(why) => write!(f, "{why}"),
            Self::Board(why) => write!(f, "{why}"),
            Self::Differs(what) => {
                write!(f, "the board does not do what the host does: {what}. `valvewright replay` follows it further")
            }
        }
    }
}

impl std::error::Error for RunError {}

impl From<Trouble> for RunError {
    fn from(why: Trouble) -> Self {
        match why {
            Trouble::Board(why) => Self::Board(why),
            Trouble::Differs(what) => Self::Differs(what),
        }
    }
}

/// Why a network could not be used.
#[derive(Debug, Clone)]
pub struct NetworkFault(pub String);

impl fmt::Display for NetworkFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
