//! Bridge converters of the scales: 24 bits in two's complement on SPI, with a pin that says when a conversion is new.
//!
//! Promises: the sequence moves by one with each conversion that was read whole, and with nothing else. A converter that
//! stops, or whose line fails, therefore looks frozen to the controller and is bad after the scans it allows for that.

use embedded_hal::digital::InputPin;
use embedded_hal::spi::SpiDevice;

use super::contract::Scales;
use super::pins::Polarity;
use crate::frame::{SCALE_COUNT, Scale, ScaleSample};

/// One bridge converter.
///
/// Assumed: three bytes, high byte first, clocked out without a command once the ready pin is active, and the pin goes
/// inactive when they are read (common practice for such converters, no source).
#[derive(Clone, Debug)]
pub struct BridgeAdc<D, R> {
    device: D,
    ready: R,
    ready_at: Polarity,
    last: ScaleSample,
}

impl<D: SpiDevice, R: InputPin> BridgeAdc<D, R> {
    /// A converter and its ready pin; `ready_at` is the level at which a conversion waits.
    pub const fn new(device: D, ready: R, ready_at: Polarity) -> Self {
        Self { device, ready, ready_at, last: ScaleSample { code: 0, sequence: 0 } }
    }

    /// The newest conversion, or the last one again.
    pub fn convert(&mut self) -> ScaleSample {
        let mut bytes = [0; 3];
        if self.ready_at.read(&mut self.ready) && self.device.read(&mut bytes).is_ok() {
            self.last = ScaleSample { code: signed(bytes), sequence: self.last.sequence.wrapping_add(1) };
        }
        self.last
    }
}

/// Four converters of one kind, in the order of [`Scale`].
impl<D: SpiDevice, R: InputPin> Scales for [BridgeAdc<D, R>; SCALE_COUNT] {
    fn convert(&mut self, which: Scale) -> ScaleSample {
        let [wt1a, wt1b, wt2, wt3] = self;
        match which {
            Scale::Wt1A => wt1a.convert(),
            Scale::Wt1B => wt1b.convert(),
            Scale::Wt2 => wt2.convert(),
            Scale::Wt3 => wt3.convert(),
        }
    }
}

/// Carries the sign of 24 bits up to 32.
const fn signed([high, middle, low]: [u8; 3]) -> i32 {
    i32::from_be_bytes([high, middle, low, 0]) >> 8
}
