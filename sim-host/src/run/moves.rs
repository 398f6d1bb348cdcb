//! What was done to the plant of a run, for moving it again without the rest.

use valvewright_core::frame::Actuators;

use super::operator::Hand;
use crate::fault::Holds;

/// What was done to the plant at one scan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Move {
    /// The outputs went from the first to the second.
    Switched(Actuators, Actuators),
    /// The operator did something by hand.
    ByHand(Hand),
    /// The vehicle left and the next one came.
    Vehicle,
    /// Actuators were held or set free: all holds from now on.
    Held(Holds),
}
