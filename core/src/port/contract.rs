//! What an assembled [`Board`](super) asks of its parts, one trait for each kind of wiring.
//!
//! The adapters of this room implement these; a board whose hardware is stranger implements them itself. Two rules hold
//! for every one of them: a call returns at once (nothing waits for a line), and what could not be read reads as the
//! faulty value (no current, open contact, stale conversion, no bytes), never as the last good one.

use crate::frame::{Actuator, Actuators, Analog, Feed, Feeds, Lamp, Scale, ScaleSample, SerialChunk, Switches};

/// The 4-20 mA loops.
pub trait Loops {
    /// The loop current of one input, in counts as in [`RawFrame::analog`]: 65 535 stand for 24 mA.
    ///
    /// A converter that does not answer gives 0 counts, which NAMUR NE 43 reads as a broken wire: bad within three scans.
    ///
    /// [`RawFrame::analog`]: crate::frame::RawFrame::analog
    fn counts(&mut self, input: Analog) -> u16;
}

/// The switches.
pub trait Contacts {
    /// Looks at every contact once. Called between scans, every 1-5 ms, and once more at the start of each scan.
    fn sample(&mut self);
    /// The levels behind the debouncing, as wired: a set bit is a closed contact.
    fn levels(&self) -> Switches;
}

/// The bridges of the scales.
pub trait Scales {
    /// The newest conversion of one scale; called once a scan for each. A bridge without a new conversion gives its last
    /// sample again with the sequence unchanged, which the controller reads as a frozen converter when it goes on.
    fn convert(&mut self, which: Scale) -> ScaleSample;
}

/// The serial line of the gas identifier.
pub trait IdentifierLine {
    /// What has arrived since the last call, up to 32 bytes; the rest waits for the next scan.
    fn receive(&mut self) -> SerialChunk;
    /// Takes bytes to send; `false` where the line could not take all of them. The request is then lost and the
    /// controller's own waiting time for a report runs out.
    fn send(&mut self, bytes: &[u8]) -> bool;
}

/// Valves and motors.
pub trait Actuate {
    /// Opens the common relays of `dropped` and closes the others, and makes exactly the outputs of `on` energised: relays that open
    /// first, then outputs going off, those coming on last.
    ///
    /// # Errors
    /// The first output that did not follow; those that were to go off have all been tried nevertheless. The board then
    /// sets [`Actuators::SAFE`] behind open relays, and again with every scan.
    fn set(&mut self, on: Actuators, dropped: Feeds) -> Result<(), PinFault>;
}

/// Lamps and sounder.
pub trait Indicate {
    /// Lights this lamp alone, and the sounder or not. A lamp that fails is no reason to stop: nobody relies on its
    /// absence, and the display says the same.
    fn show(&mut self, lamp: Lamp, buzzer: bool);
}

/// An output that could not be set. The pin's driver knows no more than that, so its state must be taken as unknown, and
/// only hardware that drops the rail (starved watchdog, PSH-1, emergency stop) can still be relied on.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum PinFault {
    /// This one could not be switched off and may still be energised: the watchdog must drop the rail.
    Off(Actuator),
    /// This one could not be switched on. Nothing is energised against the controller's will, but a driver that refuses
    /// once may refuse to switch off next: the board acts the same.
    On(Actuator),
    /// This common relay could not be set.
    Relay(Feed),
}

impl PinFault {
    /// The actuator it is about; none where it is a relay.
    pub const fn actuator(self) -> Option<Actuator> {
        match self {
            Self::Off(one) | Self::On(one) => Some(one),
            Self::Relay(_) => None,
        }
    }
}

/// Why a board keeps the safe state until it is restarted.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum BoardFault {
    /// The supply is going (told by [`Event::PowerFail`](super)). The board acts: all off but the fan, at once. The
    /// watchdog is still fed, so that what must be stored can be stored while the supply lasts.
    PowerFail,
    /// A stage of the scan was left out, done twice or out of order, or time stood still between two scans. The board
    /// acts, and the watchdog starves: the hardware restarts the processor.
    Flow,
    /// An output did not follow. The watchdog starves: the hardware drops the valve rail, the only thing that still can.
    Output(PinFault),
}
