//! 4-20 mA converters on SPI and I2C, described as data instead of by part.
//!
//! Promises: a 16-bit converter whose full scale is 24 mA passes its codes through unchanged; a converter that does not
//! answer reads 0 counts, which NAMUR NE 43 takes for a broken wire. An SPI line left open reads all zeros or all ones and
//! so lands in one of the fault bands too.
//!
//! Assumed: a conversion is always ready when asked for (the converter runs freely, or converts while it is read), with
//! its own noise filter against mains hum. Shunt and reference are as good as the board makes them: the calibration of a
//! transmitter is not the converter's.

use embedded_hal::i2c::I2c;
use embedded_hal::spi::SpiDevice;

use super::contract::Loops;
use crate::frame::{Analog, COUNTS_AT_24_MA};

/// Where the result stands in what a converter sends, and what it means.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Code {
    /// Place of the lowest bit of the result, 0 for a right-justified one; up to 63.
    pub low_bit: u8,
    /// Bits of the result with its sign, 1-24; more are taken as 24.
    pub bits: u8,
    /// Two's complement: what is negative reads 0 counts.
    pub signed: bool,
    /// Loop current at the highest code, in microampere; up to 1 A. 24 000 uses the whole range that NE 43 needs; less
    /// than 21 000 would hide a short circuit.
    pub full_scale: u32,
}

impl Code {
    /// A right-justified 16-bit result of 24 mA full scale: its codes are the controller's counts.
    pub const COUNTS: Self = Self { low_bit: 0, bits: 16, signed: false, full_scale: 24_000 };

    /// Counts for what was received, high byte first; rounded to the nearest, held at 65 535.
    ///
    /// ```
    /// use valvewright_core::port::loops::Code;
    /// // 12 bits, left-justified in two bytes, 25 mA at the top: 4 mA is code 655.2
    /// let code = Code { low_bit: 4, bits: 12, signed: false, full_scale: 25_000 };
    /// assert_eq!(code.counts(655 << 4), 10_919);
    /// assert_eq!(Code::COUNTS.counts(54_613), 54_613);
    /// ```
    pub const fn counts(&self, received: u64) -> u16 {
        let bits = if self.bits > 24 { 24 } else { self.bits as u32 };
        let Some(shifted) = received.checked_shr(self.low_bit as u32) else { return 0 };
        let field = shifted & ((1 << bits) - 1);
        let bits = if self.signed { bits.saturating_sub(1) } else { bits };
        let highest = (1u64 << bits) - 1;
        if field > highest {
            return 0;
        }
        let full_scale = if self.full_scale > 1_000_000 { 1_000_000 } else { self.full_scale as u64 };
        let unit = highest.saturating_mul(24_000);
        let per_code = full_scale.saturating_mul(COUNTS_AT_24_MA as u64);
        if per_code == unit {
            // One count per code: thirteen 64-bit divisions a scan are a fifth of it on a small processor.
            return field as u16;
        }
        // At most 2^24 x 10^6 x 2^16, which 64 bits hold.
        let scaled = field.saturating_mul(per_code);
        match scaled.saturating_add(unit / 2).checked_div(unit) {
            Some(counts) if counts < u16::MAX as u64 => counts as u16,
            Some(_) => u16::MAX,
            None => 0,
        }
    }
}

/// How a converter on SPI is asked: one request of `LEN` (up to 8) bytes for each of `CHANNELS` channels.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SpiLayout<const LEN: usize, const CHANNELS: usize> {
    /// The input on channel 0; the others follow in the order of [`Analog`].
    pub first: Analog,
    /// What is sent for each channel.
    pub requests: [[u8; LEN]; CHANNELS],
    /// The answer comes with the next exchange instead of the same one: each request is then sent twice.
    pub delayed: bool,
    /// What the `LEN` bytes received in the answer mean.
    pub code: Code,
}

/// Loop converter on SPI.
#[derive(Clone, Debug)]
pub struct SpiLoops<D, const LEN: usize, const CHANNELS: usize> {
    device: D,
    layout: SpiLayout<LEN, CHANNELS>,
}

impl<D: SpiDevice, const LEN: usize, const CHANNELS: usize> SpiLoops<D, LEN, CHANNELS> {
    /// A converter and how to talk to it.
    pub const fn new(device: D, layout: SpiLayout<LEN, CHANNELS>) -> Self {
        Self { device, layout }
    }
}

impl<D: SpiDevice, const LEN: usize, const CHANNELS: usize> Loops for SpiLoops<D, LEN, CHANNELS> {
    fn counts(&mut self, input: Analog) -> u16 {
        let Some(request) = channel(self.layout.first, input).and_then(|at| self.layout.requests.get(at)) else {
            return 0;
        };
        let mut bytes = *request;
        if self.layout.delayed {
            if self.device.transfer_in_place(&mut bytes).is_err() {
                return 0;
            }
            bytes = *request;
        }
        match self.device.transfer_in_place(&mut bytes) {
            Ok(()) => self.layout.code.counts(big_endian(&bytes)),
            Err(_) => 0,
        }
    }
}

/// How a converter on I2C is asked: one register of two bytes, high byte first, for each of `CHANNELS` channels.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct I2cLayout<const CHANNELS: usize> {
    /// The input on channel 0; the others follow in the order of [`Analog`].
    pub first: Analog,
    /// Seven-bit address.
    pub address: u8,
    /// Register that holds the newest conversion of each channel.
    pub registers: [u8; CHANNELS],
    /// What the two bytes mean.
    pub code: Code,
}

/// Loop converter on I2C.
#[derive(Clone, Debug)]
pub struct I2cLoops<B, const CHANNELS: usize> {
    bus: B,
    layout: I2cLayout<CHANNELS>,
}

impl<B: I2c, const CHANNELS: usize> I2cLoops<B, CHANNELS> {
    /// A converter and how to talk to it.
    pub const fn new(bus: B, layout: I2cLayout<CHANNELS>) -> Self {
        Self { bus, layout }
    }
}

impl<B: I2c, const CHANNELS: usize> Loops for I2cLoops<B, CHANNELS> {
    fn counts(&mut self, input: Analog) -> u16 {
        let Some(register) = channel(self.layout.first, input).and_then(|at| self.layout.registers.get(at)) else {
            return 0;
        };
        let mut bytes = [0; 2];
        match self.bus.write_read(self.layout.address, &[*register], &mut bytes) {
            Ok(()) => self.layout.code.counts(big_endian(&bytes)),
            Err(_) => 0,
        }
    }
}

/// Two converters: inputs before `split` are on `low`, those from `split` on are on `high`. Pairs nest.
#[derive(Clone, Debug)]
pub struct Pair<A, B> {
    /// Converter of the inputs before `split`.
    pub low: A,
    /// First input of the other; name the same one as `first` in its layout.
    pub split: Analog,
    /// Converter of `split` and what follows.
    pub high: B,
}

impl<A: Loops, B: Loops> Loops for Pair<A, B> {
    fn counts(&mut self, input: Analog) -> u16 {
        if input < self.split { self.low.counts(input) } else { self.high.counts(input) }
    }
}

fn channel(first: Analog, input: Analog) -> Option<usize> {
    (input as usize).checked_sub(first as usize)
}

fn big_endian(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0u64, |word, byte| word.wrapping_shl(8) | u64::from(*byte))
}
