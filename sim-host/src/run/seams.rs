//! What may sit at the seams of a run: a board in the controller's place, and something that breaks and mends devices.

use super::disturb::Disturb;
use crate::board::Remote;

/// Nothing sits there by default, and costs nothing.
#[derive(Default)]
pub(super) struct Seams<'a> {
    pub(super) board: Option<&'a mut dyn Remote>,
    pub(super) faults: Option<&'a mut dyn Disturb>,
}
