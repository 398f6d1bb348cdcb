//! Digital pins: valves and motors, lamps, contacts; each with its own polarity.
//!
//! The pins of one group are of one type; most pin drivers can give up the pin's number for that ("erased" or "degraded"
//! pins). What a pin does before it is configured, in reset and with the processor dead, is not decided here: the board must
//! see to it with resistors that this is the unenergised state, whatever polarity is chosen.

use embedded_hal::digital::{InputPin, OutputPin};

use super::contract::{Actuate, Contacts, Indicate, PinFault};
use crate::frame::{ACTUATOR_COUNT, Actuator, Actuators, FEED_COUNT, Feed, Feeds, Lamp, Switches};

/// Which level of a pin means energised, lit or closed.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Polarity {
    /// The high level.
    #[default]
    ActiveHigh,
    /// The low level: a low-side driver, or a contact to ground under a pull-up.
    ActiveLow,
}

impl Polarity {
    #[inline]
    fn write<P: OutputPin>(self, pin: &mut P, active: bool) -> Result<(), P::Error> {
        if active == (self == Self::ActiveHigh) { pin.set_high() } else { pin.set_low() }
    }

    /// `false` where the pin can't be read.
    pub(super) fn read<P: InputPin>(self, pin: &mut P) -> bool {
        pin.is_high().is_ok_and(|high| high == (self == Self::ActiveHigh))
    }
}

/// Valves and motors in the order of [`Actuator::ALL`], and their common relays in the order of [`Feed::ALL`], whose active level
/// closes them: a pin that does nothing leaves them open.
///
/// Every pin is written in every scan, not only where something changes: a port that lost its levels to a disturbance
/// has them again one scan later.
#[derive(Clone, Debug)]
pub struct ActuatorPins<P> {
    pins: [P; ACTUATOR_COUNT],
    polarity: [Polarity; ACTUATOR_COUNT],
    relays: [(P, Polarity); FEED_COUNT],
}

impl<P: OutputPin> ActuatorPins<P> {
    /// Takes the pins; writes nothing yet, [`Board::new`](super) does.
    pub const fn new(
        pins: [P; ACTUATOR_COUNT],
        polarity: [Polarity; ACTUATOR_COUNT],
        relays: [(P, Polarity); FEED_COUNT],
    ) -> Self {
        Self { pins, polarity, relays }
    }

    /// Every relay open that is in `which`, or every one closed; the first that failed.
    fn relay(&mut self, which: Feeds, closed: bool) -> Option<Feed> {
        let mut failed = None;
        for ((pin, polarity), feed) in self.relays.iter_mut().zip(Feed::ALL) {
            if which.has(feed) && polarity.write(pin, closed).is_err() {
                failed = failed.or(Some(feed));
            }
        }
        failed
    }

    /// Every pin of `which` to `active`; the first that failed.
    fn write(&mut self, which: Actuators, active: bool) -> Option<Actuator> {
        // A bit that moves along, and no count: a sum that could overflow would hang on the optimiser to see that it does not.
        let (mut bit, mut failed) = (1, Actuators::NONE);
        for (pin, polarity) in self.pins.iter_mut().zip(&self.polarity) {
            if which.0 & bit != 0 && polarity.write(pin, active).is_err() {
                failed.0 |= bit;
            }
            bit <<= 1;
        }
        Actuator::ALL.get(failed.0.trailing_zeros() as usize).copied()
    }
}

impl<P: OutputPin> Actuate for ActuatorPins<P> {
    /// Where an output can't be switched off, nothing but the fan is switched on.
    fn set(&mut self, on: Actuators, dropped: Feeds) -> Result<(), PinFault> {
        let welded = self.relay(dropped, false);
        let stuck = self.write(Actuators::ALL.without(on), false);
        let on = if stuck.is_some() { on.and(Actuators::SAFE) } else { on };
        let dead = self.write(on, true);
        let open = if stuck.is_some() { None } else { self.relay(Feeds::ALL.without(dropped), true) };
        match (stuck, dead, welded.or(open)) {
            (Some(one), ..) => Err(PinFault::Off(one)),
            (None, Some(one), _) => Err(PinFault::On(one)),
            (None, None, Some(feed)) => Err(PinFault::Relay(feed)),
            (None, None, None) => Ok(()),
        }
    }
}

/// How many indicators there are: five lamps and the sounder.
pub const INDICATOR_COUNT: usize = 6;

/// Lamps in the order white, green, blue, yellow, red, then the sounder.
#[derive(Clone, Debug)]
pub struct IndicatorPins<P> {
    pins: [P; INDICATOR_COUNT],
    polarity: [Polarity; INDICATOR_COUNT],
    failed: bool,
}

impl<P: OutputPin> IndicatorPins<P> {
    /// Takes the pins; the first [`Indicate::show`] writes them.
    pub const fn new(pins: [P; INDICATOR_COUNT], polarity: [Polarity; INDICATOR_COUNT]) -> Self {
        Self { pins, polarity, failed: false }
    }

    /// Whether a pin could not be written when something was last shown.
    pub const fn failed(&self) -> bool {
        self.failed
    }
}

impl<P: OutputPin> Indicate for IndicatorPins<P> {
    /// Dark before light, so that two colours are never seen together.
    fn show(&mut self, lamp: Lamp, buzzer: bool) {
        let place = match lamp {
            Lamp::White => 0,
            Lamp::Green => 1,
            Lamp::Blue => 2,
            Lamp::Yellow => 3,
            Lamp::Red => 4,
        };
        let lit = 1u8 << place | u8::from(buzzer) << 5;
        self.failed = false;
        for active in [false, true] {
            let mut left = if active { lit } else { !lit };
            for (pin, polarity) in self.pins.iter_mut().zip(&self.polarity) {
                if left & 1 != 0 {
                    self.failed |= polarity.write(pin, active).is_err();
                }
                left >>= 1;
            }
        }
    }
}

/// How many contacts there are, in the bit order of [`Switches`].
pub const CONTACT_COUNT: usize = 9;

/// Samples in a row before a contact counts as closed, unless said otherwise: contacts bounce for some milliseconds
/// (common practice, no source), which four samples at 2-5 ms outlast.
pub const CLOSE_SAMPLES: u8 = 4;
/// Samples in a row before a contact counts as open, unless said otherwise.
pub const OPEN_SAMPLES: u8 = 1;

/// The switches, debounced.
///
/// A closed contact is leave to go on and an open one is a stop, so opening is never slower than closing: by default one
/// open sample opens, and a row of closed ones is needed to close again. The controller debounces on top of that: contacts that
/// trip a row at once open in the scan that shows them open, so one disturbed sample of those does stop. Every contact starts open, and one that can't be read is open.
#[derive(Clone, Debug)]
pub struct ContactPins<P, const N: usize = CONTACT_COUNT> {
    pins: [P; N],
    closed_at: [Polarity; N],
    close_samples: u8,
    open_samples: u8,
    /// Samples in a row that differ from the level.
    differing: [u8; N],
    levels: Switches,
}

impl<P: InputPin, const N: usize> ContactPins<P, N> {
    /// Takes the pins, in the bit order of [`Switches`], a tenth where the station has a flush port; `closed_at` is the level at which current flows.
    pub const fn new(pins: [P; N], closed_at: [Polarity; N]) -> Self {
        Self {
            pins,
            closed_at,
            close_samples: CLOSE_SAMPLES,
            open_samples: OPEN_SAMPLES,
            differing: [0; N],
            levels: Switches(0),
        }
    }

    /// With other numbers of samples in a row. Zero is taken as one, and `open` is held at or below `close`.
    #[must_use]
    pub const fn with_samples(mut self, close: u8, open: u8) -> Self {
        self.close_samples = if close == 0 { 1 } else { close };
        self.open_samples = match open {
            0 => 1,
            many if many > self.close_samples => self.close_samples,
            some => some,
        };
        self
    }
}

impl<P: InputPin, const N: usize> Contacts for ContactPins<P, N> {
    fn sample(&mut self) {
        let pins = self.pins.iter_mut().zip(self.closed_at).zip(&mut self.differing);
        for (bit, ((pin, closed_at), differing)) in (0u32..).zip(pins) {
            let mask = 1u16.wrapping_shl(bit);
            let closed = closed_at.read(pin);
            if closed == self.levels.closed(mask) {
                *differing = 0;
                continue;
            }
            *differing = differing.saturating_add(1);
            let needed = if closed { self.close_samples } else { self.open_samples };
            if *differing >= needed {
                *differing = 0;
                self.levels.0 ^= mask;
            }
        }
    }

    fn levels(&self) -> Switches {
        self.levels
    }
}
